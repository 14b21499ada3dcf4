/**
 * The works' own limits where the trade has habits rather than rules: a card of its own, edited on the drawing board.
 *
 * @typedef {import("./types.js").Problem} Problem
 * @typedef {import("./words.js").Words} Words
 */
import { hook } from "./dom.js";
import { fileName, save } from "./files.js";
import { Form } from "./form.js";
import { ProblemList } from "./problems.js";
import { SheetDocument } from "./sheet-document.js";

export class HabitsDesk {
  #card = new SheetDocument();
  #form;
  #problems;
  #onChange;

  /**
   * @param {object} parts
   * @param {object} parts.schema
   * @param {Words} parts.words
   * @param {object} parts.trade the card as the trade has it
   * @param {(text: string) => void} parts.onChange takes the card as text
   */
  constructor({ schema, words, trade, onChange }) {
    this.#onChange = onChange;
    this.#form = new Form({
      root: hook("habits-form", HTMLElement),
      name: "habits",
      schema,
      words,
      document: this.#card,
      onEdit: () => onChange(this.#card.text()),
    });
    this.#problems = new ProblemList(hook("habits-problems", HTMLElement), words, (field) => this.#form.focus(field));
    hook("habits-reset", HTMLButtonElement).addEventListener("click", () => this.load(trade));
    hook("save-habits", HTMLButtonElement).addEventListener("click", () =>
      save(fileName(String(this.#card.get("name") ?? ""), "habits.json"), this.#card.text()),
    );
    this.#card.load(trade);
    this.#form.show();
  }

  /** Takes over a card. @param {object} card */
  load(card) {
    this.#card.load(card);
    this.#form.show();
    this.#onChange(this.#card.text());
  }

  /** @param {readonly Problem[]} problems */
  showProblems(problems) {
    this.#problems.show(problems, this.#form.showProblems(problems));
  }
}

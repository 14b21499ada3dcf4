/**
 * The works' own limits where the trade has habits rather than rules: a card of its own, edited on the drawing board.
 *
 * @typedef {import("./types.js").Problem} Problem
 * @typedef {import("./words.js").Words} Words
 * @typedef {import("./sheet-document.js").SheetDocument} SheetDocument
 */
import { hook } from "./dom.js";
import { fileName, save } from "./files.js";
import { Form } from "./form.js";
import { ProblemList } from "./problems.js";

export class HabitsDesk {
  #form;
  #problems;

  /**
   * @param {object} parts
   * @param {object} parts.schema
   * @param {Words} parts.words
   * @param {SheetDocument} parts.card is changed by edits, before `onChange` is called
   * @param {object} parts.trade the card as the trade has it
   * @param {(what: string) => void} parts.onChange is told what was changed
   */
  constructor({ schema, words, card, trade, onChange }) {
    this.#form = new Form({
      root: hook("habits-form", HTMLElement),
      name: "habits",
      schema,
      words,
      document: card,
      onEdit: (path) => onChange(`habits ${path}`),
    });
    this.#problems = new ProblemList(hook("habits-problems", HTMLElement), words, (field) => this.#form.focus(field));
    hook("habits-reset", HTMLButtonElement).addEventListener("click", () => {
      card.load(trade);
      this.show();
      onChange("habits");
    });
    hook("save-habits", HTMLButtonElement).addEventListener("click", () =>
      save(fileName(String(card.get("name") ?? ""), "habits.json"), card.text()),
    );
    card.load(trade);
    this.show();
  }

  /** Shows the card's values. */
  show() {
    this.#form.show();
  }

  /** The measures changed. */
  rebuild() {
    this.#form.rebuild();
  }

  /** @param {readonly Problem[]} problems */
  showProblems(problems) {
    this.#problems.show(problems, this.#form.showProblems(problems));
  }
}

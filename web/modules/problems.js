/**
 * What is wrong with a sheet or card as typed: how many faults, links to their fields, and in full those that have no
 * field of their own.
 *
 * @typedef {import("./types.js").Problem} Problem
 * @typedef {import("./words.js").Words} Words
 */
import { make } from "./dom.js";
import { fieldTrail } from "./field-names.js";

export class ProblemList {
  #root;
  #words;
  #onGo;

  /** @param {HTMLElement} root @param {Words} words @param {(field: string) => void} onGo to a field */
  constructor(root, words, onGo) {
    this.#root = root;
    this.#words = words;
    this.#onGo = onGo;
  }

  /** @param {readonly Problem[]} problems @param {readonly Problem[]} homeless those without a field on the form */
  show(problems, homeless) {
    this.#root.hidden = problems.length === 0;
    if (problems.length === 0) {
      this.#root.replaceChildren();
      return;
    }
    const fields = [...new Set(problems.filter((problem) => !homeless.includes(problem)).map(({ field }) => field))];
    const list = make("ul", {});
    for (const field of fields) {
      const go = make("button", { type: "button", class: "link" }, fieldTrail(this.#words, field));
      go.addEventListener("click", () => this.#onGo(field));
      list.append(make("li", {}, go));
    }
    for (const { field, message } of homeless) {
      const where = field === "" ? "" : `${fieldTrail(this.#words, field)}: `;
      list.append(make("li", {}, where + this.#words.message(message)));
    }
    this.#root.replaceChildren(make("p", {}, this.#words.text("page.form.last_good")), list);
  }
}

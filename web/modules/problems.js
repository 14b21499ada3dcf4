/**
 * What is wrong with a sheet or card as typed: every fault in full, with a link to its field where the form
 * has it.
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
  #head;

  /**
   * @param {HTMLElement} root
   * @param {Words} words
   * @param {(field: string) => void} onGo to a field
   * @param {string} [head] key of what stands above them
   */
  constructor(root, words, onGo, head = "page.form.last_good") {
    this.#root = root;
    this.#words = words;
    this.#onGo = onGo;
    this.#head = head;
  }

  /** @param {readonly Problem[]} problems @param {readonly Problem[]} homeless those without a field on the form */
  show(problems, homeless) {
    this.#root.hidden = problems.length === 0;
    if (problems.length === 0) {
      this.#root.replaceChildren();
      return;
    }
    const list = make("ul", {});
    for (const problem of problems) {
      const { field } = problem;
      const text = problemText(this.#words, problem);
      if (homeless.includes(problem)) {
        list.append(make("li", {}, text));
        continue;
      }
      const go = make("button", { type: "button", class: "link" }, text);
      go.addEventListener("click", () => this.#onGo(field));
      list.append(make("li", {}, go));
    }
    this.#root.replaceChildren(make("p", {}, this.#words.text(this.#head)), list);
  }
}

/** A fault in full: field and sentence. @param {Words} words @param {Problem} problem */
export function problemText(words, { field, message }) {
  const where = field === "" ? "" : `${fieldTrail(words, field)}: `;
  return where + words.message(message);
}

/**
 * While the sheet has mistakes in it, what is shown is the last good sack: a banner says so in every place, and what
 * is shown of that sack is dimmed and described as such.
 */
import { hook } from "./dom.js";

export class StaleMark {
  #words;
  #banner = hook("stale", HTMLElement);
  #text = hook("stale-text", HTMLElement);
  #count = 0;

  /** @param {import("./words.js").Words} words @param {() => void} onGo to the mistakes */
  constructor(words, onGo) {
    this.#words = words;
    hook("stale-go", HTMLButtonElement).addEventListener("click", onGo);
  }

  /** @param {number} count of mistakes @returns {string | undefined} what to announce, when it is news */
  show(count) {
    if (count === this.#count) return undefined;
    this.#count = count;
    const stale = count > 0;
    const key = count === 0 ? "none" : count === 1 ? "one" : "many";
    const text = this.#words.text(`page.stale.${key}`, { count: String(count) });
    this.#banner.hidden = !stale;
    this.#text.textContent = stale ? text : "";
    for (const part of document.querySelectorAll("[data-of-sack]")) {
      part.classList.toggle("stale", stale);
      if (stale) part.setAttribute("aria-describedby", this.#text.id);
      else part.removeAttribute("aria-describedby");
    }
    return text;
  }
}

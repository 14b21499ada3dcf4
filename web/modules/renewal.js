/**
 * The mark on what is being computed anew: the last answer stays and is marked, and a bar says how far the next has come.
 */
import { make } from "./dom.js";

export class Renewal {
  #root;
  #bar;
  #state;

  /** @param {HTMLElement} root of what is marked @param {string} name of what is computed, for those who hear the page */
  constructor(root, name) {
    this.#root = root;
    this.#bar = make("progress", { max: 1, "aria-label": name });
    this.#state = make("p", { class: "renewal" }, this.#bar, make("span", { "aria-hidden": "true" }, name));
    this.#state.hidden = true;
    root.after(this.#state);
  }

  /** @param {number} share 0 to 1 */
  show(share) {
    this.#root.classList.add("renewing");
    this.#root.setAttribute("aria-busy", "true");
    this.#state.hidden = false;
    this.#bar.value = share;
  }

  hide() {
    this.#root.classList.remove("renewing");
    this.#root.removeAttribute("aria-busy");
    this.#state.hidden = true;
  }
}

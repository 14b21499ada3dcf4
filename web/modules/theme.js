/** Light or dark: as the system has it, or as a person chose it here. */
import { recall, remember } from "./memory.js";

/** @typedef {"system" | "light" | "dark"} Choice */

export class Theme {
  #system = matchMedia("(prefers-color-scheme: dark)");
  #choice;
  #onChange;

  /**
   * @param {HTMLSelectElement} select with the three choices as values
   * @param {() => void} onChange
   */
  constructor(select, onChange) {
    this.#onChange = onChange;
    this.#choice = asChoice(recall("theme"));
    select.value = this.#choice;
    select.addEventListener("change", () => this.#choose(asChoice(select.value)));
    this.#system.addEventListener("change", () => this.#onChange());
  }

  get dark() {
    return this.#choice === "system" ? this.#system.matches : this.#choice === "dark";
  }

  /** @param {Choice} choice */
  #choose(choice) {
    this.#choice = choice;
    remember("theme", choice === "system" ? undefined : choice);
    if (choice === "system") delete document.documentElement.dataset.theme;
    else document.documentElement.dataset.theme = choice;
    this.#onChange();
  }
}

/** @param {string | undefined} value @returns {Choice} */
function asChoice(value) {
  return value === "light" || value === "dark" ? value : "system";
}

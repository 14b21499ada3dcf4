/**
 * Which findings are shown: those of one weight, of one matter, at one place on the sack, or all.
 *
 * @typedef {import("./types.js").Finding} Finding
 * @typedef {import("./words.js").Words} Words
 * @typedef {"severity" | "topic" | "place"} Trait
 */
import { make } from "./dom.js";

/** What is worst, or comes first in a works, stands first. @type {Record<Trait, readonly string[]>} */
const CHOICES = {
  severity: ["stop", "look", "good"],
  topic: ["line", "make", "fill", "pallet", "care"],
  place: [],
};

export class FindingFilter {
  #words;
  /** @type {Map<Trait, HTMLSelectElement>} */
  #selects = new Map();
  #all;
  /** What a finding must have. @type {[Trait, string][]} */
  #wanted = [];
  /** The places that are offered, as text. */
  #offered = "";

  /** @param {HTMLElement} root @param {Words} words @param {() => void} onChange */
  constructor(root, words, onChange) {
    this.#words = words;
    for (const trait of /** @type {Trait[]} */ (["severity", "topic", "place"])) {
      const select = make("select", { id: `filter-${trait}`, "data-hook": `filter-${trait}` });
      select.append(make("option", { value: "" }, words.text(`page.findings.filter.any_${trait}`)));
      for (const value of CHOICES[trait]) select.append(this.#option(trait, value));
      select.addEventListener("change", () => {
        this.#showAll();
        onChange();
      });
      this.#selects.set(trait, select);
      const label = make("label", { for: select.id }, words.text(`page.findings.filter.${trait}`));
      root.append(make("div", {}, label, select));
    }
    this.#all = make(
      "button",
      { type: "button", class: "link", hidden: true, "data-hook": "filter-all" },
      words.text("page.findings.filter.all"),
    );
    this.#all.addEventListener("click", () => {
      this.reset();
      // The button goes; the focus must not get lost with it.
      this.#selects.get("severity")?.focus();
      onChange();
    });
    root.append(this.#all);
  }

  /** Leaves nothing out. */
  reset() {
    for (const select of this.#selects.values()) select.value = "";
    this.#showAll();
  }

  /** Whether anything may be left out. */
  get active() {
    return this.#wanted.length > 0;
  }

  /** The value that a trait must have; "": any. @param {Trait} trait */
  chosen(trait) {
    return this.#selects.get(trait)?.value ?? "";
  }

  /** @param {Finding} finding */
  passes(finding) {
    return this.#wanted.every(([trait, value]) => finding[trait] === value);
  }

  /** Offers the places where there are findings, and the one that is chosen. @param {readonly Finding[]} findings */
  offer(findings) {
    const select = this.#selects.get("place");
    if (!select) return;
    const { value } = select;
    const names = new Map(
      findings.map(({ place }) => [place, this.#words.text(`page.findings.at.${place}`)]),
    );
    if (value !== "") names.set(value, this.#words.text(`page.findings.at.${value}`));
    const offered = [...names.keys()].sort().join(" ");
    if (offered === this.#offered) return;
    this.#offered = offered;
    const places = [...names].sort(([, a], [, b]) => a.localeCompare(b, this.#words.language));
    const [any] = select.options;
    select.replaceChildren(...(any ? [any] : []), ...places.map(([place]) => this.#option("place", place)));
    select.value = value;
  }

  #showAll() {
    this.#wanted = [...this.#selects].flatMap(([trait, { value }]) => (value === "" ? [] : [[trait, value]]));
    this.#all.hidden = !this.active;
  }

  /** @param {Trait} trait @param {string} value */
  #option(trait, value) {
    const key = { severity: "severity", topic: "topic", place: "at" }[trait];
    return make("option", { value }, this.#words.text(`page.findings.${key}.${value}`));
  }
}

/**
 * What there is to choose from: sacks as cards with an outline and by name, what they are held against in lists.
 *
 * @typedef {import("./examples.js").Example} Example
 * @typedef {import("./words.js").Words} Words
 */
import { make } from "./dom.js";
import { sackIcon } from "./sack-icon.js";

export class SackChooser {
  #root;
  #menu;
  #words;
  #onChoose;
  /** @type {[string, HTMLButtonElement][]} */
  #buttons = [];
  /** @type {readonly Example[]} */
  #examples = [];

  /**
   * @param {HTMLElement} root of the cards
   * @param {HTMLDetailsElement} menu of the names, by the sack's own
   * @param {Words} words
   * @param {(example: Example) => void} onChoose
   */
  constructor(root, menu, words, onChoose) {
    this.#root = root;
    this.#menu = menu;
    this.#words = words;
    this.#onChoose = onChoose;
    menu.addEventListener("keydown", (event) => {
      if (event.key === "Escape") this.#close();
    });
    menu.addEventListener("focusout", ({ relatedTarget }) => {
      if (relatedTarget instanceof Node && !menu.contains(relatedTarget)) menu.open = false;
    });
  }

  /** @param {readonly Example[]} [examples] those of before when there are no others */
  show(examples = this.#examples) {
    this.#examples = examples;
    this.#buttons = [];
    this.#root.replaceChildren(
      ...examples.map((example) => {
        const { value } = example;
        const button = make(
          "button",
          {
            type: "button",
            class: "sack-card",
            "data-hook": "preset",
            "data-path": example.path,
            "aria-pressed": "false",
          },
          sackIcon(value),
          make("span", { class: "sack-card-name" }, String(value.name)),
          make("span", { class: "sack-card-size" }, `${this.#words.size(value)} ${this.#words.unit("mm")}`),
        );
        button.addEventListener("click", () => this.#onChoose(example));
        this.#buttons.push([example.path, button]);
        return make("li", {}, button);
      }),
    );
    this.#menu.querySelector("ul")?.replaceChildren(
      ...examples.map((example) => {
        const name = String(example.value.name);
        const button = make("button", { type: "button", "data-hook": "other-sack", "aria-pressed": "false" }, name);
        button.addEventListener("click", () => {
          this.#close();
          this.#onChoose(example);
        });
        this.#buttons.push([example.path, button]);
        return make("li", {}, button);
      }),
    );
  }

  #close() {
    this.#menu.open = false;
    this.#menu.querySelector("summary")?.focus();
  }

  /** @param {string | undefined} path of the example on the table; undefined when it is no example any more */
  mark(path) {
    for (const [known, button] of this.#buttons) button.setAttribute("aria-pressed", String(known === path));
  }
}

/** Cards (filling lines, works, pallets) in lists that all show the same choice. */
export class CardChooser {
  #selects;
  #none;

  /**
   * @param {HTMLSelectElement[]} selects
   * @param {string} none what stands for no card
   * @param {(number: number | undefined) => void} onChoose
   */
  constructor(selects, none, onChoose) {
    this.#selects = selects;
    this.#none = none;
    for (const select of selects) {
      select.addEventListener("change", () => onChoose(select.value === "" ? undefined : Number(select.value)));
    }
    this.show([], undefined);
  }

  /** @param {readonly {name: string}[]} cards @param {number | undefined} chosen */
  show(cards, chosen) {
    for (const select of this.#selects) {
      select.replaceChildren(
        make("option", { value: "" }, this.#none),
        ...cards.map(({ name }, number) => make("option", { value: number }, name)),
      );
      select.value = chosen === undefined ? "" : String(chosen);
    }
  }
}

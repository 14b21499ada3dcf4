/**
 * What there is to choose from: sacks as cards with an outline and by name, filling lines in a list.
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

  /** @param {readonly Example[]} examples */
  show(examples) {
    this.#buttons = [];
    this.#root.replaceChildren(
      ...examples.map((example) => {
        const { value } = example;
        const size = [value.face_width_mm, value.length_mm, value.valve_end?.bottom_width_mm]
          .map((side) => this.#words.number(Number(side), 1))
          .join(" \u00d7 ");
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
          make("span", { class: "sack-card-size" }, `${size} ${this.#words.unit("mm")}`),
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

/** A filling line to choose from. @typedef {{name: string, text: string}} LineCard */

export class LineChooser {
  #selects;
  #words;
  /** @type {LineCard[]} */
  #cards = [];

  /**
   * @param {HTMLSelectElement[]} selects all show the same choice
   * @param {Words} words
   * @param {(card: LineCard | undefined) => void} onChoose
   */
  constructor(selects, words, onChoose) {
    this.#selects = selects;
    this.#words = words;
    for (const select of selects) {
      select.addEventListener("change", () => {
        for (const other of selects) other.value = select.value;
        onChoose(select.value === "" ? undefined : this.#cards[Number(select.value)]);
      });
    }
    this.#show();
  }

  /** @param {LineCard} card @returns {number} its number */
  add(card) {
    const known = this.#cards.findIndex(({ name }) => name === card.name);
    const number = known < 0 ? this.#cards.length : known;
    this.#cards[number] = card;
    const chosen = this.#selects[0]?.value ?? "";
    this.#show();
    this.choose(chosen === "" ? undefined : Number(chosen));
    return number;
  }

  /** Takes over what was edited in the chosen card. @param {LineCard} card */
  change(card) {
    const chosen = this.#selects[0]?.value ?? "";
    if (chosen === "") return;
    this.#cards[Number(chosen)] = card;
    this.#show();
    this.choose(Number(chosen));
  }

  /** @param {number | undefined} number @returns {LineCard | undefined} the card that is chosen now */
  choose(number) {
    for (const select of this.#selects) select.value = number === undefined ? "" : String(number);
    return number === undefined ? undefined : this.#cards[number];
  }

  #show() {
    for (const select of this.#selects) {
      select.replaceChildren(
        make("option", { value: "" }, this.#words.text("page.line.none")),
        ...this.#cards.map(({ name }, number) => make("option", { value: number }, name)),
      );
    }
  }
}

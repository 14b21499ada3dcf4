/**
 * Cards of one kind to choose from, and the chosen one as it is being edited. Pure state without a page.
 *
 * @typedef {ReturnType<SheetDocument["snapshot"]>} Snapshot
 * @typedef {{name: string, text: string}} Card a card's file
 * @typedef {{list: readonly Card[], chosen: number | undefined, edited: boolean, snapshot: Snapshot}} RackState
 */
import { SheetDocument, parseFile } from "./sheet-document.js";

/** What a sack is held against. @typedef {"line" | "works" | "pallet"} CardKind @type {readonly CardKind[]} */
export const CARD_KINDS = ["line", "works", "pallet"];

export class CardRack {
  /** The chosen card. */
  card = new SheetDocument();
  /** Whether some card was edited and not saved since. */
  edited = false;
  /** @type {readonly Card[]} */
  #list = [];
  /** @type {number | undefined} */
  #chosen;

  /** Everything as it is now; what `restore` takes. @returns {RackState} */
  state() {
    return { list: this.#list, chosen: this.#chosen, edited: this.edited, snapshot: this.card.snapshot() };
  }

  /** @param {RackState} [state] an empty rack without one */
  restore({ list, chosen, edited, snapshot } = { list: [], chosen: undefined, edited: false, snapshot: { value: {}, typed: [] } }) {
    this.#list = list;
    this.#chosen = chosen;
    this.edited = edited;
    this.card.restore(snapshot);
  }

  get list() {
    return this.#list;
  }

  get chosen() {
    return this.#chosen;
  }

  /** The chosen card's file as it is being edited; undefined: none is chosen. */
  get text() {
    return this.#chosen === undefined ? undefined : this.card.text();
  }

  /** The chosen card's file as it was when it was good last. */
  get good() {
    return this.#chosen === undefined ? undefined : this.#list[this.#chosen];
  }

  /** A card to choose from; one of the same name is replaced. @param {Card} card @returns {number} its number */
  add(card) {
    const known = this.#list.findIndex(({ name }) => name === card.name);
    const number = known < 0 ? this.#list.length : known;
    this.#put(number, card);
    return number;
  }

  /** A card beside those that are there, not saved yet, and chosen. @param {Record<string, unknown>} value */
  start(value) {
    this.choose(this.add({ name: String(value.name), text: JSON.stringify(value, undefined, 2) }));
    this.edited = true;
  }

  /** @param {number | undefined} number */
  choose(number) {
    const card = number === undefined ? undefined : this.#list[number];
    this.#chosen = card && number;
    if (card) this.card.load(parseFile(card.text));
  }

  /** Takes what was edited in the chosen card, which is good, over into the list. */
  keep() {
    if (this.#chosen !== undefined) this.#put(this.#chosen, { name: String(this.card.get("name")), text: this.card.text() });
  }

  /** @param {number} number @param {Card} card */
  #put(number, card) {
    const list = [...this.#list];
    list[number] = card;
    this.#list = list;
  }
}

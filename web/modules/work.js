/**
 * What is being worked on: the open sheets, the cards and the habits, with undo and redo over all of it.
 * Pure state without a page. Edits are made in the documents and then recorded.
 *
 * @typedef {ReturnType<SheetDocument["snapshot"]>} Snapshot
 * @typedef {{id: number, snapshot: Snapshot, kept: string, example: string | undefined}} OpenSheet `kept`: as it was
 *   opened or saved last; `example`: the path of the example that it was then
 * @typedef {Record<import("./card-rack.js").CardKind, import("./card-rack.js").RackState>} Racks
 * @typedef {{sheets: readonly OpenSheet[], current: number, racks: Racks, habits: Snapshot,
 *   order: Snapshot | undefined, way?: string | undefined}} State `order`: when a person has changed it; `way`: of stacking, likewise
 */
import { CARD_KINDS, CardRack } from "./card-rack.js";
import { History } from "./history.js";
import { SheetDocument } from "./sheet-document.js";

export class Work {
  /** The current sheet. */
  sheet = new SheetDocument();
  /** The cards to hold it against. */
  racks = { line: new CardRack(), works: new CardRack(), pallet: new CardRack() };
  /** The works' habits. */
  habits = new SheetDocument();
  /** What sizes are looked for. */
  order = new SheetDocument();
  /** Whether a person has changed that; else it follows the sheet and the cards. */
  ordered = false;
  /** The way to stack the layers that a person chose; undefined: the one that binds best. @type {string | undefined} */
  way;

  /** @type {readonly OpenSheet[]} */
  #sheets = [];
  #current = 0;
  #nextId = 1;
  /** @type {History<State>} */
  #history = new History(this.state());

  /** Everything as it is now; what `restore` takes. @returns {State} */
  state() {
    const snapshot = this.sheet.snapshot();
    return {
      sheets: this.#sheets.map((sheet) => (sheet.id === this.#current ? { ...sheet, snapshot } : sheet)),
      current: this.#current,
      racks: { line: this.racks.line.state(), works: this.racks.works.state(), pallet: this.racks.pallet.state() },
      habits: this.habits.snapshot(),
      order: this.ordered ? this.order.snapshot() : undefined,
      way: this.way,
    };
  }

  /** @param {State} state */
  restore({ sheets, current, racks, habits, order, way }) {
    this.#sheets = sheets;
    this.#current = current;
    this.#nextId = Math.max(this.#nextId, ...sheets.map(({ id }) => id + 1));
    // What an earlier version of the page kept has none of some kinds.
    for (const kind of CARD_KINDS) this.racks[kind].restore(racks?.[kind]);
    const sheet = sheets.find(({ id }) => id === current);
    if (sheet) this.sheet.restore(sheet.snapshot);
    this.habits.restore(habits);
    this.ordered = order !== undefined;
    if (order) this.order.restore(order);
    this.way = way;
  }

  /** What is now can't be undone. */
  begin() {
    this.#history = new History(this.state());
  }

  /** Notes a change that was made. @param {string} what changes of the same thing, one after the other, are one */
  record(what) {
    this.#history.record(this.state(), what);
  }

  /** What comes next is a change of its own. */
  settle() {
    this.#history.settle();
  }

  get canUndo() {
    return this.#history.canUndo;
  }

  get canRedo() {
    return this.#history.canRedo;
  }

  /** Tells one moment of the work from another: the same until something is changed. @returns {unknown} */
  get moment() {
    return this.#history.present;
  }

  /** @returns {boolean} whether there was something to undo */
  undo() {
    return this.#go(this.#history.undo());
  }

  /** @returns {boolean} */
  redo() {
    return this.#go(this.#history.redo());
  }

  /** The open sheets; the current one is being edited, and is here as it was when it was turned to. */
  get sheets() {
    return this.#sheets;
  }

  get current() {
    return this.#current;
  }

  /** The example that the current sheet is, while it is unchanged. @returns {string | undefined} */
  get example() {
    const sheet = this.#sheets.find(({ id }) => id === this.#current);
    return sheet && this.sheet.text() === sheet.kept ? sheet.example : undefined;
  }

  /**
   * Opens a sheet. It takes the place of an example that nobody changed, else it comes beside what is open.
   * @param {object} value
   * @param {string} [example] its path, when it is one
   */
  open(value, example) {
    const replaced = this.example === undefined ? undefined : this.#current;
    this.#leave();
    this.sheet.load(value);
    this.#add({ kept: this.sheet.text(), example }, replaced);
  }

  /** Opens a copy of the current sheet beside it. @param {string} name of the copy */
  copy(name) {
    this.#leave();
    const kept = this.sheet.text();
    this.sheet.set("name", name);
    this.#add({ kept, example: undefined });
  }

  /** Goes over to another open sheet. @param {number} id */
  turnTo(id) {
    const sheet = this.#sheets.find((other) => other.id === id);
    if (!sheet) return;
    this.#leave();
    this.#current = id;
    this.sheet.restore(sheet.snapshot);
    // Looking at another sheet is no change, but what is changed next is one of its own.
    this.#history.amend(this.state());
  }

  /** Closes a sheet; the last one stays. @param {number} id */
  close(id) {
    const index = this.#sheets.findIndex((sheet) => sheet.id === id);
    if (index < 0 || this.#sheets.length === 1) return;
    this.#leave();
    this.#sheets = this.#sheets.filter((sheet) => sheet.id !== id);
    const next = this.#sheets[Math.min(index, this.#sheets.length - 1)];
    if (id !== this.#current || !next) return;
    this.#current = next.id;
    this.sheet.restore(next.snapshot);
  }

  /** The current sheet is saved as it is. */
  keep() {
    const kept = this.sheet.text();
    this.#sheets = this.#sheets.map((sheet) => (sheet.id === this.#current ? { ...sheet, kept } : sheet));
  }

  /** Whether some sheet differs from what was opened or saved last. */
  get unsaved() {
    return this.state().sheets.some(({ snapshot, kept }) => textOf(snapshot) !== kept);
  }

  /** Whether some card was edited and not saved since. */
  get cardsEdited() {
    return CARD_KINDS.some((kind) => this.racks[kind].edited);
  }

  /** @param {State | undefined} state */
  #go(state) {
    if (state) this.restore(state);
    return state !== undefined;
  }

  /** Keeps what the current sheet is now, before another one becomes current. */
  #leave() {
    this.#sheets = this.state().sheets;
  }

  /** @param {{kept: string, example: string | undefined}} of @param {number} [place] id of the sheet that it replaces */
  #add(of, place) {
    const sheet = { id: this.#nextId, snapshot: this.sheet.snapshot(), ...of };
    this.#nextId += 1;
    this.#current = sheet.id;
    const index = this.#sheets.findIndex(({ id }) => id === place);
    this.#sheets = replaced(this.#sheets, index < 0 ? this.#sheets.length : index, sheet);
  }
}

/** A sheet as it stands in a file. @param {Snapshot} snapshot */
export function textOf(snapshot) {
  return JSON.stringify(snapshot.value, undefined, 2);
}

/** @template T @param {readonly T[]} list @param {number} index @param {T} item @returns {T[]} */
function replaced(list, index, item) {
  const copy = [...list];
  copy[index] = item;
  return copy;
}

/**
 * Undo and redo: states as they were, one per change that a person would call one.
 * @template State
 */
export class History {
  /** @type {State[]} */
  #past = [];
  /** @type {State[]} */
  #future = [];
  #present;
  /** @type {string | undefined} */
  #lastWhat;

  static #MOST = 200;

  /** @param {State} present */
  constructor(present) {
    this.#present = present;
  }

  get canUndo() {
    return this.#past.length > 0;
  }

  get canRedo() {
    return this.#future.length > 0;
  }

  /** What is now; another after every change. */
  get present() {
    return this.#present;
  }

  /** Changes of the same thing, one after the other, are one until `settle`. @param {State} state after the change @param {string} what was changed */
  record(state, what) {
    if (what !== this.#lastWhat) {
      this.settle();
      this.#past.push(this.#present);
    }
    if (this.#past.length > History.#MOST) this.#past.shift();
    this.#present = state;
    this.#future = [];
    this.#lastWhat = what;
  }

  /** The present is looked at in another way: no change, nothing to undo. @param {State} state */
  amend(state) {
    this.#present = state;
    this.settle();
  }

  /** What comes next is a change of its own: the hand has left the field. A change that was taken back by hand is none. */
  settle() {
    const before = this.#past.at(-1);
    if (before !== undefined && isSame(before, this.#present)) this.#past.pop();
    this.#lastWhat = undefined;
  }

  /** @returns {State | undefined} the state to show */
  undo() {
    return this.#go(this.#past, this.#future);
  }

  /** @returns {State | undefined} */
  redo() {
    return this.#go(this.#future, this.#past);
  }

  /** @param {State[]} from @param {State[]} to */
  #go(from, to) {
    this.settle();
    const state = from.pop();
    if (state === undefined) return undefined;
    to.push(this.#present);
    this.#present = state;
    return state;
  }
}

/**
 * Whether two states, plain data, say the same, however it was typed.
 * @param {unknown} one @param {unknown} other
 */
function isSame(one, other) {
  const said = (/** @type {unknown} */ state) => JSON.stringify(state, (key, value) => (key === "typed" ? undefined : value));
  return one === other || said(one) === said(other);
}

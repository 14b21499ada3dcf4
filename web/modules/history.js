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
    if (what !== this.#lastWhat) this.#past.push(this.#present);
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

  /** What comes next is a change of its own: the hand has left the field. */
  settle() {
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
    const state = from.pop();
    if (state === undefined) return undefined;
    to.push(this.#present);
    this.#present = state;
    this.settle();
    return state;
  }
}

/**
 * A sheet or card as a person is editing it: the values as given, and beside them what was typed where that says more
 * than the value does ("12,50", or a text that is no number). Paths have dots: `plies.0.grammage_g_m2`.
 *
 * @typedef {import("./measures.js").System} System
 * @typedef {{text: string, system: System}} Typed what was typed, and in which measures
 */
export class SheetDocument {
  /** Never changed in place: a snapshot shares it. @type {Record<string, unknown>} */
  #value = {};
  /** @type {Map<string, Typed>} */
  #typed = new Map();

  /** @param {object} value a plain object; it is copied */
  load(value) {
    this.#value = structuredClone(/** @type {Record<string, unknown>} */ (value));
    this.#typed.clear();
  }

  /** @param {string} path @returns {unknown} */
  get(path) {
    /** @type {unknown} */
    let at = this.#value;
    for (const step of path.split(".")) {
      if (typeof at !== "object" || at === null || !Object.hasOwn(at, step)) return undefined;
      at = /** @type {Record<string, unknown>} */ (at)[step];
    }
    return at;
  }

  /** What was typed, if it still says what the field should show. @param {string} path @param {System} system that is shown */
  typed(path, system) {
    const typed = this.#typed.get(path);
    return typed && (typed.system === system || typeof this.get(path) !== "number") ? typed.text : undefined;
  }

  /**
   * @param {string} path
   * @param {unknown} value undefined takes the field out
   * @param {Typed} [typed] what stands in the field
   */
  set(path, value, typed) {
    this.#value = /** @type {Record<string, unknown>} */ (withChange(this.#value, path.split("."), value));
    for (const known of this.#typed.keys()) {
      if (known === path || known.startsWith(`${path}.`)) this.#typed.delete(known);
    }
    if (typed !== undefined) this.#typed.set(path, typed);
  }

  /** @param {string} path of a list @param {number} index @param {unknown} item */
  insert(path, index, item) {
    this.#change(path, (list, typed) => {
      list.splice(index, 0, structuredClone(item));
      typed.splice(index, 0, new Map());
    });
  }

  /** @param {string} path of a list @param {number} index */
  remove(path, index) {
    this.#change(path, (list, typed) => {
      list.splice(index, 1);
      typed.splice(index, 1);
    });
  }

  /** @param {string} path of a list @param {number} from @param {number} to */
  move(path, from, to) {
    this.#change(path, (list, typed) => {
      list.splice(to, 0, ...list.splice(from, 1));
      typed.splice(to, 0, ...typed.splice(from, 1));
    });
  }

  /** The file as JSON text, two spaces deep. */
  text() {
    return JSON.stringify(this.#value, undefined, 2);
  }

  /** @returns {{value: object, typed: [string, Typed][]}} what `restore` takes */
  snapshot() {
    return { value: this.#value, typed: [...this.#typed] };
  }

  /** @param {{value: object, typed: [string, Typed][]}} snapshot */
  restore({ value, typed }) {
    this.load(value);
    this.#typed = new Map(typed);
  }

  /**
   * Changes a list together with what was typed into its items.
   * @param {string} path
   * @param {(list: unknown[], typed: Map<string, Typed>[]) => void} change
   */
  #change(path, change) {
    const before = this.get(path);
    const list = Array.isArray(before) ? [...before] : [];
    const typed = list.map((_, index) => this.#takeTyped(`${path}.${index}.`));
    change(list, typed);
    this.set(path, list);
    for (const [index, entries] of typed.entries()) {
      for (const [rest, text] of entries) this.#typed.set(`${path}.${index}.${rest}`, text);
    }
  }

  /** @param {string} prefix */
  #takeTyped(prefix) {
    const taken = new Map();
    for (const [path, text] of this.#typed) {
      if (path.startsWith(prefix)) taken.set(path.slice(prefix.length), text);
    }
    return taken;
  }
}

/**
 * A value with another one at the end of a way into it; what lies off the way is shared with it.
 * @param {unknown} at @param {readonly string[]} steps @param {unknown} value undefined takes what is there out
 * @returns {unknown}
 */
function withChange(at, [step = "", ...rest], value) {
  if ((typeof at !== "object" || at === null) && value === undefined) return at;
  const copy = /** @type {Record<string, unknown>} */ (Array.isArray(at) ? [...at] : typeof at === "object" ? { ...at } : {});
  const inner = rest.length > 0 ? withChange(copy[step], rest, value) : value;
  if (inner === undefined) delete copy[step];
  else copy[step] = inner;
  return copy;
}

/** The text of a sheet's or card's file that the core has taken, as a value. @param {string} text @returns {import("./types.js").Plain} */
export function parseFile(text) {
  // Some editors put a byte order mark before it.
  return JSON.parse(text.replace(/^\ufeff/, ""));
}

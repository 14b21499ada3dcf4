/**
 * Findings that hang on the filled sack, while it is being computed: they stay as they were and are marked as waiting, so that
 * the list does not flicker while a length is dragged.
 *
 * @typedef {import("./types.js").Report} Report
 * @typedef {import("./types.js").Finding & {waiting?: true}} Finding
 * @typedef {Report["silent"]} Silent
 */

/** Why a rule says nothing when only the filled sack, or the stack of it, is not there yet. */
const AWAITED = new Set(["silent.filled", "silent.stack"]);

export class Waiting {
  /** @type {readonly Finding[]} */
  #last = [];
  /** Findings as they stand while they wait: the same one every time. @type {WeakMap<Finding, Finding>} */
  #waiting = new WeakMap();

  /**
   * @param {Report} report
   * @param {boolean} awaited whether the filled sack is still to come
   * @returns {{findings: readonly Finding[], silent: Silent}}
   */
  merge({ findings, silent }, awaited) {
    if (!awaited) {
      this.#last = findings;
      return { findings, silent };
    }
    const lacking = new Set(silent.flatMap(({ rule, message }) => (AWAITED.has(message.key) ? [rule] : [])));
    const kept = this.#last.filter(({ rule }) => lacking.has(rule)).map((finding) => this.#asWaiting(finding));
    const order = new Map(this.#last.map((finding, at) => [keyOf(finding), at]));
    const merged = [...findings, ...kept]
      .map((finding) => ({ finding, at: order.get(keyOf(finding)) ?? order.size }))
      .sort((a, b) => a.at - b.at)
      .map(({ finding }) => finding);
    this.#last = merged;
    const known = new Set(kept.map(({ rule }) => rule));
    return { findings: merged, silent: silent.filter(({ rule }) => !known.has(rule)) };
  }

  /** @param {Finding} finding @returns {Finding} */
  #asWaiting(finding) {
    if (finding.waiting) return finding;
    const waiting = this.#waiting.get(finding) ?? { ...finding, waiting: true };
    this.#waiting.set(finding, waiting);
    return waiting;
  }
}

/** @param {Finding} finding */
function keyOf({ rule, place }) {
  return `${rule} ${place}`;
}

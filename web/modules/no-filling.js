/**
 * Why the filling is no stage of the timeline, said where it is missed, and the way to what would cure that.
 *
 * @typedef {import("./types.js").FillAnswer} FillAnswer
 * @typedef {import("./types.js").Plain} Plain
 * @typedef {import("./words.js").Words} Words
 * @typedef {"unknown" | "over" | "taut" | "slack" | "restless" | "trouble"} Why
 */
import { hook, write } from "./dom.js";

/** Which rule's finding tells more, and has the cure. */
const RULES = /** @type {Partial<Record<Why, string>>} */ ({ over: "capacity", taut: "headroom", slack: "headroom" });

export class NoFilling {
  #words;
  #root = hook("no-filling", HTMLElement);
  #why = hook("no-filling-why", HTMLElement);
  #go = hook("no-filling-go", HTMLButtonElement);
  /** @type {Why | undefined} */
  #now;

  /**
   * @param {object} options
   * @param {Words} options.words
   * @param {(rule: string) => void} options.onRule leads to a rule's finding
   * @param {() => void} options.onContents leads to where the sheet says what goes in
   */
  constructor({ words, onRule, onContents }) {
    this.#words = words;
    this.#go.addEventListener("click", () => {
      const rule = this.#now && RULES[this.#now];
      if (rule) onRule(rule);
      else onContents();
    });
  }

  /** @param {FillAnswer} answer @param {string} text the sheet that it is of */
  show({ filled: { content, capacity, bottoms } }, text) {
    if (content?.filling.lying) return this.#say(undefined);
    const sheet = /** @type {Plain} */ (JSON.parse(text));
    if (!content || !sheet.contents) return this.#say("unknown");
    const { share, asked } = content.headroom;
    const { volume_l, ratio } = content.filling;
    this.#say(share < 0 ? "over" : share < asked.least ? "taut" : share > asked.most ? "slack" : "restless", {
      mass: { kind: "mass", value: Number(sheet.contents.mass_kg) },
      product: String(sheet.contents.product),
      volume: { kind: "volume", value: volume_l },
      holds: { kind: "volume", value: bottoms === "stiff" ? capacity.stiff_l : capacity.free_l },
      full: { kind: "ratio", value: ratio },
    });
  }

  /** It could not be computed. */
  trouble() {
    this.#say("trouble");
  }

  /** @param {Why | undefined} why @param {Record<string, import("./types.js").Arg | string>} [args] */
  #say(why, args) {
    this.#now = why;
    this.#root.hidden = why === undefined;
    if (why === undefined) return;
    write(this.#why, this.#words.text(`page.no_filling.${why}`, args));
    this.#go.hidden = why === "restless" || why === "trouble";
    write(this.#go, this.#words.text(`page.no_filling.${why === "unknown" ? "say" : "cure"}`));
  }
}

/**
 * The filled sack: asks the desk for it on every good change of the sheet, keeps the last answer until a newer one is
 * there, and shows it on the meeting table and on the drawing board.
 *
 * @typedef {import("./types.js").Report} Report
 * @typedef {import("./types.js").FillAnswer} FillAnswer
 * @typedef {import("./words.js").Words} Words
 * @typedef {import("./desk.js").Desk} Desk
 */
import { FilledAnswer } from "./filled-answer.js";
import { FilledFigures } from "./filled-figures.js";
import { Renewal } from "./renewal.js";

/** Changes that follow each other as closely are those of a hand that drags or types. */
const HAND_MS = 300;
/** How long the hand rests before the fine answer, and all that waits for that, is worked at. */
const REST_MS = 150;

/** What of a sheet shapes the filled sack and what goes into it. */
const SHAPES = /** @type {const} */ ([
  "face_width_mm",
  "length_mm",
  "valve_end.bottom_width_mm",
  "plain_end.bottom_width_mm",
  "contents",
]);

export class FilledSack {
  #desk;
  #views;
  #renewals;
  #onAnswer;
  #onTrouble;
  /** What was asked last, to tell whether anything changed. */
  #asked = "";
  /** The fine answer to it, once it is there. @type {FillAnswer | undefined} */
  #answer;
  /** Whether the coarse answer to it is there. */
  #outlined = false;
  /** When it was asked, as `performance.now()` has it. */
  #at = -Infinity;
  /** @type {ReturnType<typeof setTimeout> | undefined} */
  #rest;

  /**
   * @param {object} options
   * @param {Desk} options.desk
   * @param {Words} options.words
   * @param {(answer: FillAnswer, sheet: string) => void} options.onAnswer the fine answer; `sheet`: that of it, as text
   * @param {() => void} options.onTrouble there will be none
   */
  constructor({ desk, words, onAnswer, onTrouble }) {
    this.#desk = desk;
    this.#onTrouble = onTrouble;
    this.#onAnswer = onAnswer;
    this.#views = [new FilledAnswer(words), new FilledFigures(words)];
    this.#renewals = this.#views.map(({ root }) => new Renewal(root, words.text("page.filled.renewing")));
  }

  /** The fine answer to the last sheet, once it is there. */
  get answer() {
    return this.#answer;
  }

  /** Whether the filled sack of the last sheet is still to come. */
  get awaited() {
    return this.#asked !== "" && this.#answer === undefined;
  }

  /**
   * Takes a sheet that is good.
   * @param {NonNullable<Report["sheet"]>} sheet
   * @returns {FillAnswer | undefined} what is known of it already
   */
  take(sheet) {
    const shape = JSON.stringify(SHAPES.map((path) => path.split(".").reduce((at, step) => at?.[step], sheet)));
    if (shape === this.#asked) {
      // The measures may be others.
      if (this.#answer) for (const view of this.#views) view.show(this.#answer, sheet);
      return this.#answer;
    }
    this.#asked = shape;
    this.#answer = undefined;
    this.#outlined = false;
    for (const renewal of this.#renewals) renewal.show(0);
    clearTimeout(this.#rest);
    const before = this.#at;
    this.#at = performance.now();
    if (this.#at - before > HAND_MS) this.#ask(sheet, ["coarse", "fine"]);
    else {
      // The coarse figures follow the hand. What the fine ones set going would be overtaken, and hold it up.
      this.#rest = setTimeout(() => this.#ask(sheet, this.#outlined ? ["fine"] : ["coarse", "fine"]), REST_MS);
      // Trouble can come at once, and then nothing more is asked.
      this.#ask(sheet, ["coarse"]);
    }
    return undefined;
  }

  /**
   * @param {NonNullable<Report["sheet"]>} sheet
   * @param {readonly import("./types.js").Detail[]} details
   */
  #ask(sheet, details) {
    const text = JSON.stringify(sheet);
    this.#desk.ask(
      "fill",
      { sheet: text, details },
      {
        onProgress: (share) => {
          for (const renewal of this.#renewals) renewal.show(share);
        },
        onPart: (answer) => {
          for (const view of this.#views) view.show(answer, sheet);
          this.#outlined = true;
          // Judging takes longer than the coarse answer: while a length is dragged, findings wait.
          if (answer.detail !== "fine") return;
          this.#answer = answer;
          this.#onAnswer(answer, text);
        },
        onDone: () => {
          if (!this.#answer) return;
          for (const renewal of this.#renewals) renewal.hide();
        },
        onTrouble: () => {
          // A like sheet may be asked for again.
          this.#asked = "";
          clearTimeout(this.#rest);
          for (const renewal of this.#renewals) renewal.hide();
          for (const view of this.#views) view.trouble();
          this.#onTrouble();
        },
      },
    );
  }
}

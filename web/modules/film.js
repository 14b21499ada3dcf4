/**
 * The filling of the sack as a film, the last stage of the fold: asked of the desk once the filled sack is known, kept
 * frame by frame as it comes.
 *
 * @typedef {import("./types.js").FilmFrame} FilmFrame
 * @typedef {import("./types.js").FilledMesh} FilledMesh
 * @typedef {{at: number, positions: Float32Array, spout: Float32Array | null}} Shot a frame, `at` a fraction of the stage
 * @typedef {import("./desk.js").Desk} Desk
 */

/** The stage's name, beside the core's stages of the fold. */
export const FILL = "fill";

export class Film {
  #desk;
  #onFrame;
  #onTrouble;
  /** What the frames have in common. @type {FilmFrame["common"]} */
  common = null;
  /** @type {Shot[]} */
  #frames = [];
  #count = 0;
  /** Whether it is that of a sack before. */
  old = false;

  /** @param {Desk} desk @param {(index: number) => void} onFrame one more frame is there @param {() => void} onTrouble there will be none */
  constructor(desk, onFrame, onTrouble) {
    this.#desk = desk;
    this.#onFrame = onFrame;
    this.#onTrouble = onTrouble;
  }

  /** The sack has changed: no more frames of this one. */
  expire() {
    this.#desk.cancel("film");
    this.old = true;
  }

  /** Has the film of a sheet made; the frames of the one before stay until the first of it is there. @param {string} sheet as text */
  make(sheet) {
    this.#desk.ask(
      "film",
      { sheet },
      {
        onPart: (frame) => this.#take(frame),
        onTrouble: () => {
          this.drop();
          this.#onTrouble();
        },
      },
    );
  }

  /** There is no filling to be seen. */
  drop() {
    this.#desk.cancel("film");
    this.common = null;
    this.#frames = [];
    this.#count = 0;
    this.old = false;
  }

  /**
   * The stages with the filling behind them, when there is one to be seen.
   * @param {readonly import("./types.js").Stage[]} stages of the fold
   * @param {import("./types.js").Plain | null} sheet
   * @returns {readonly import("./types.js").Stage[]}
   */
  stages(stages, sheet) {
    if (!this.common || !sheet?.contents) return stages;
    const told = (/** @type {string} */ part) => `caption.fill.contents.${part}`;
    return [...stages, { name: FILL, captions: { what: told("what"), why: told("why"), watch: told("watch") } }];
  }

  /** What the filling's captions name. @param {import("./types.js").Plain | null} sheet @returns {Record<string, import("./types.js").Arg>} */
  figures(sheet) {
    if (!sheet?.contents) return {};
    const { mass_kg, product } = sheet.contents;
    return { mass: { kind: "mass", value: Number(mass_kg) }, product: { kind: "text", text: String(product) } };
  }

  /** Whether every frame is there. */
  get whole() {
    return this.#count > 0 && !this.old && this.#frames.length === this.#count;
  }

  /** The frame nearest to a fraction of the stage, of those that are there. @param {number} at 0 to 1 @returns {Shot | undefined} */
  at(at) {
    const wanted = Math.round(at * (this.#count - 1));
    return this.#frames[Math.min(wanted, this.#frames.length - 1)];
  }

  /** @param {FilmFrame} frame */
  #take({ index, frames, positions, spout, common }) {
    if (common) {
      this.common = common;
      this.old = false;
      this.#frames = [];
      this.#count = frames;
    }
    this.#frames[index] = { at: index / (frames - 1), positions, spout };
    this.#onFrame(index);
  }
}

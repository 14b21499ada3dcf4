/**
 * The filling of the sack as a film, the last stage of the fold: asked of the desk once the filled sack is known, kept
 * frame by frame as it comes.
 *
 * @typedef {import("./types.js").FilmFrame} FilmFrame
 * @typedef {import("./types.js").FilledMesh} FilledMesh
 * @typedef {import("./desk.js").Desk} Desk
 */

/** The stage's name, beside the core's stages of the fold. */
export const FILL = "fill";

export class Film {
  #desk;
  #onFrame;
  /** What the frames have in common, as it is in the first and, once the last is there, as far as all of them reach. @type {FilledMesh | undefined} */
  mesh;
  /** @type {FilledMesh | undefined} */
  filled;
  /** Positions by frame. @type {Float32Array[]} */
  #frames = [];
  #count = 0;
  /** Whether it is that of a sack before. */
  old = false;

  /** @param {Desk} desk @param {(index: number) => void} onFrame one more frame is there */
  constructor(desk, onFrame) {
    this.#desk = desk;
    this.#onFrame = onFrame;
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
        onTrouble: () => this.drop(),
      },
    );
  }

  /** There is no filling to be seen. */
  drop() {
    this.#desk.cancel("film");
    this.mesh = undefined;
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
    if (!this.mesh || !sheet?.contents) return stages;
    const { mass_kg, product } = sheet.contents;
    /** @type {import("./types.js").Message["args"]} */
    const args = { mass: { kind: "mass", value: Number(mass_kg) }, product: { kind: "text", text: String(product) } };
    const told = (/** @type {string} */ part) => ({ key: `caption.fill.contents.${part}`, args });
    return [...stages, { name: FILL, captions: { what: told("what"), why: told("why"), watch: told("watch") } }];
  }

  /** Whether every frame is there. */
  get whole() {
    return this.#count > 0 && !this.old && this.#frames.length === this.#count;
  }

  /** The frame nearest to a fraction of the stage, of those that are there. @param {number} at 0 to 1 @returns {Float32Array | undefined} */
  at(at) {
    const wanted = Math.round(at * (this.#count - 1));
    return this.#frames[Math.min(wanted, this.#frames.length - 1)];
  }

  /** @param {FilmFrame} frame */
  #take({ index, frames, positions, mesh }) {
    if (mesh) {
      this.mesh = mesh;
      this.old = false;
      this.#frames = [];
      this.#count = frames;
    }
    this.#frames[index] = positions;
    if (this.mesh && this.whole) this.filled = { ...this.mesh, positions: reaching(positions, this.#frames) };
    this.#onFrame(index);
  }
}

/**
 * Positions whose first two vertices are moved to the corners of the box that all frames lie in: a view fitted to them shows
 * every moment.
 * @param {Float32Array} last @param {readonly Float32Array[]} frames
 */
function reaching(last, frames) {
  const low = [Infinity, Infinity, Infinity];
  const high = [-Infinity, -Infinity, -Infinity];
  for (const positions of frames)
    for (const [index, value] of positions.entries()) {
      const axis = index % 3;
      if (value < low[axis]) low[axis] = value;
      if (value > high[axis]) high[axis] = value;
    }
  const reach = last.slice();
  reach.set([...low, ...high]);
  return reach;
}

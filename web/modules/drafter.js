/**
 * Drawings and files, made on the page's own thread by a wasm of their own: they follow a drag. It is fetched with the
 * first thing that is asked of it.
 *
 * @typedef {import("./words.js").Words} Words
 * @typedef {import("./types.js").FilledMesh} FilledMesh
 * @typedef {import("../pkg/sackwright_draft.js").Drafter} Core
 * @typedef {"sack" | "valve-bottom" | "plain-bottom" | "lap" | "webs" | "artwork"} What
 * @typedef {[unit: string, date: string, revision: string, message: (message: any) => string, number: (mm: number) => string]} Told
 * @typedef {{sheet: string, line: string | undefined, habits: string}} Given what is drawn, as files
 */

export class Drafter {
  #words;
  /** @type {Core | undefined} */
  #core;
  /** @type {Promise<Core> | undefined} */
  #coming;
  /** @type {Given | undefined} */
  #given;
  #fresh = false;

  /** @param {Words} words */
  constructor(words) {
    this.#words = words;
  }

  /** @param {Given} given the files of a good sheet, the line in use and the habits */
  take(given) {
    const before = this.#given;
    if (given.sheet === before?.sheet && given.line === before.line && given.habits === before.habits) return;
    this.#given = given;
    this.#fresh = false;
  }

  /** Whether an answer can be had at once. */
  get ready() {
    return this.#core !== undefined;
  }

  /** Fetches the core, once. @returns {Promise<void>} */
  async prepare() {
    this.#coming ??= this.#fetch();
    try {
      this.#core = await this.#coming;
    } catch (error) {
      this.#coming = undefined;
      throw error;
    }
  }

  /** A drawing at 1:1 as a file. @param {What} what @param {"svg" | "dxf"} format */
  drawing(what, format) {
    return this.#held().drawing(what, format, ...this.#told());
  }

  /** A drawing fitted to a page, or to two where its letters would be too small on one, as SVG. @param {What} what */
  fitted(what) {
    return this.#held().fitted(what, ...this.#told());
  }

  /** A drawing at 1:1 as it falls onto sheets of paper that are joined, as SVG. @param {What} what @param {import("../pkg/sackwright_draft.js").Tiling} tiling */
  joined(what, { title_block_by_mm }) {
    return this.#held().joined(what, ...title_block_by_mm, ...this.#told());
  }

  /** How a drawing at 1:1 falls onto sheets of paper. @param {What} what @param {readonly {width: number, height: number}[]} windows mm, of which one is printed on every sheet @param {number} overlap mm @param {string} [part] name of what of the drawing is printed alone */
  tiles(what, windows, overlap, part) {
    const sizes = new Float64Array(windows.flatMap(({ width, height }) => [width, height]));
    return this.#held().tiles(what, sizes, overlap, part, ...this.#told());
  }

  /** The valve sleeve in its bottom; null without one. @param {number} [depth] mm that the spout is slid in; its reach when left out */
  placing(depth) {
    return this.#held().placing(depth);
  }

  /** The line's spout as a solid, slid in as for `placing`; undefined without sleeve or line. @param {number} [depth] mm */
  spout(depth) {
    return this.#held().spout(depth);
  }

  /** The model at a point of the fold as a file. @param {"glb" | "stl"} format @param {string} stage @param {number} at */
  model(format, stage, at) {
    return this.#held().model(format, stage, at);
  }

  /** A frame of the filling as a file. @param {"glb" | "stl"} format @param {Float32Array} positions @param {FilledMesh} mesh */
  filled(format, positions, { panels, triangles }) {
    return this.#held().filled(format, positions, panels, triangles);
  }

  /** A loaded pallet as a file, every sack in its place. @param {"glb" | "stl"} format @param {import("./pallets.js").Loaded} loaded */
  stacked(format, { mesh, placements, board }) {
    const { positions, panels, triangles } = mesh;
    const { length_mm, width_mm, height_mm } = board;
    return this.#held().stacked(format, positions, panels, triangles, placements, length_mm, width_mm, height_mm);
  }

  /** The whole fold as an animated GLB. */
  film() {
    return this.#held().film();
  }

  /** The outermost ply's crease pattern as a FOLD file. */
  pattern() {
    return this.#held().pattern();
  }

  /** The figures as CSV. */
  figures() {
    return this.#held().figures();
  }

  /** The core with what is drawn in it. */
  #held() {
    const core = this.#core;
    if (!core || !this.#given) throw new Error("the drafter has nothing to draw yet");
    if (!this.#fresh) {
      core.setSheet(this.#given.sheet);
      core.setLine(this.#given.line);
      core.setHabits(this.#given.habits);
      this.#fresh = true;
    }
    return core;
  }

  /** What a drawing's texts are made by: unit, date and revision, and the page's words and numbers. @returns {Told} */
  #told() {
    const words = this.#words;
    const { date, mark } = this.#issue();
    return [
      words.system === "imperial" ? "in" : "mm",
      date,
      mark,
      (/** @type {import("./types.js").Message} */ message) => words.message(message),
      (/** @type {number} */ value) => words.plain("length", value),
    ];
  }

  /** Date and mark of the sheet's last revision. */
  #issue() {
    /** @type {{date?: string, mark?: string}[]} */
    const revisions = JSON.parse(this.#given?.sheet ?? "{}").revisions ?? [];
    return { date: revisions.at(-1)?.date ?? "", mark: revisions.at(-1)?.mark ?? "" };
  }

  async #fetch() {
    const glue = await import("../pkg/sackwright_draft.js");
    await glue.default({ module_or_path: new URL("../pkg/sackwright_draft_bg.wasm", import.meta.url) });
    return new glue.Drafter();
  }
}

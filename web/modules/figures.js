/**
 * The derived figures as tables: the sack, its two ends, its plies.
 *
 * @typedef {import("./types.js").Figures} Figures
 * @typedef {import("./words.js").Words} Words
 */
import { put, sketch } from "./dom.js";

/** Figures of the whole sack, in reading order. */
const WHOLE = /** @type {const} */ ([
  ["tube_length_mm", "length"],
  ["bottom_centre_distance_mm", "length"],
  ["box_mm", "length"],
  ["box_volume_l", "volume"],
  ["empty_sack_mass_g", "mass_small"],
  ["paper_per_1000_kg", "mass"],
  ["paste_per_1000_kg", "mass"],
]);
const ENDS = /** @type {const} */ (["valve_end", "plain_end"]);
const OF_END = /** @type {const} */ ([
  ["opening_depth_mm", "length"],
  ["flap_depth_mm", "length"],
  ["corner_cover_mm", "length"],
  ["pocket_gap_mm", "length"],
  ["edge_to_pocket_rim_mm", "length"],
  ["free_sleeve_mm", "length"],
  ["edge_to_far_pocket_mm", "length"],
  ["spout_fit", "ratio"],
]);
const OF_PLY = /** @type {const} */ ([
  ["web_width_mm", "length"],
  ["cut_area_mm2", "area"],
  ["mass_g", "mass_small"],
]);

export class FigureTables {
  #root;
  #words;
  /** The rows as they are, by figure, with what they say: most stay while one length is dragged. @type {Map<string, {said: string, row: import("./dom.js").Sketch}>} */
  #rows = new Map();

  /** @param {HTMLElement} root @param {Words} words */
  constructor(root, words) {
    this.#root = root;
    this.#words = words;
  }

  /** @param {Figures | null | undefined} figures */
  show(figures) {
    put(this.#root, ...(figures ? [this.#whole(figures), this.#ends(figures), this.#plies(figures)] : []));
  }

  /** @param {Figures} figures */
  #whole(figures) {
    const rows = WHOLE.flatMap(([key, kind]) => {
      const value = figures[key];
      const text = Array.isArray(value) ? this.#box(value) : this.#value(value, kind);
      return text === undefined ? [] : [this.#row(key, [text])];
    });
    return this.#table("page.figures.whole", [], rows);
  }

  /** @param {Figures} figures */
  #ends(figures) {
    const head = ENDS.map((end) => sketch("th", { scope: "col" }, this.#words.text(`page.end.${end}`)));
    const rows = OF_END.flatMap(([key, kind]) => {
      const texts = ENDS.map((end) => this.#value(figures[end]?.[key], kind));
      return texts.every((text) => text === undefined) ? [] : [this.#row(key, texts)];
    });
    return this.#table("page.figures.ends", [sketch("td"), ...head], rows);
  }

  /** @param {Figures} figures */
  #plies(figures) {
    const head = OF_PLY.map(([key]) => sketch("th", { scope: "col" }, this.#words.text(`figure.${key}`)));
    const rows = figures.plies.map((ply) => {
      const cells = OF_PLY.map(([key, kind]) => sketch("td", {}, this.#value(ply[key], kind) ?? "\u2013"));
      return sketch("tr", {}, sketch("th", { scope: "row" }, String(ply.index + 1)), ...cells);
    });
    return this.#table("page.figures.plies", [sketch("th", { scope: "col" }, this.#words.text("page.figures.ply")), ...head], rows);
  }

  /** @param {string} caption @param {readonly import("./dom.js").Sketch[]} head its cells @param {readonly import("./dom.js").Sketch[]} rows */
  #table(caption, head, rows) {
    const heads = head.length > 0 ? [sketch("thead", {}, sketch("tr", {}, ...head))] : [];
    return sketch("table", {}, sketch("caption", {}, this.#words.text(caption)), ...heads, sketch("tbody", {}, ...rows));
  }

  /** @param {string} key @param {readonly (string | undefined)[]} texts */
  #row(key, texts) {
    const said = texts.join("\n");
    const known = this.#rows.get(key);
    if (known?.said === said) return known.row;
    const name = sketch("th", { scope: "row" }, this.#words.text(`figure.${key}`));
    const row = sketch("tr", { "data-figure": key }, name, ...texts.map((text) => sketch("td", {}, text ?? "\u2013")));
    this.#rows.set(key, { said, row });
    return row;
  }

  /** @param {unknown} value @param {import("./types.js").Quantity} kind */
  #value(value, kind) {
    return typeof value === "number" ? this.#words.quantity(kind, value) : undefined;
  }

  /** @param {number[]} sides mm */
  #box(sides) {
    const numbers = sides.map((side) => this.#words.bare("length", side)).join(" \u00d7 ");
    return `${numbers}\u00a0${this.#words.unit("mm")}`;
  }
}

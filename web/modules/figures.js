/**
 * The derived figures as tables: the sack, its two ends, its plies.
 *
 * @typedef {import("./types.js").Figures} Figures
 * @typedef {import("./words.js").Words} Words
 */
import { make, renew } from "./dom.js";

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

  /** @param {HTMLElement} root @param {Words} words */
  constructor(root, words) {
    this.#root = root;
    this.#words = words;
  }

  /** @param {Figures | null | undefined} figures */
  show(figures) {
    renew(this.#root, ...(figures ? [this.#whole(figures), this.#ends(figures), this.#plies(figures)] : []));
  }

  /** @param {Figures} figures */
  #whole(figures) {
    const body = make("tbody");
    for (const [key, kind] of WHOLE) {
      const value = figures[key];
      const text = Array.isArray(value) ? this.#box(value) : this.#value(value, kind);
      if (text === undefined) continue;
      body.append(make("tr", { "data-figure": key }, this.#name(key), make("td", {}, text)));
    }
    return this.#table("page.figures.whole", undefined, body);
  }

  /** @param {Figures} figures */
  #ends(figures) {
    const head = make("tr", {}, make("td"));
    for (const end of ENDS) head.append(make("th", { scope: "col" }, this.#words.text(`page.end.${end}`)));
    const body = make("tbody");
    for (const [key, kind] of OF_END) {
      const texts = ENDS.map((end) => this.#value(figures[end]?.[key], kind));
      if (texts.every((text) => text === undefined)) continue;
      body.append(
        make("tr", { "data-figure": key }, this.#name(key), ...texts.map((text) => make("td", {}, text ?? "\u2013"))),
      );
    }
    return this.#table("page.figures.ends", head, body);
  }

  /** @param {Figures} figures */
  #plies(figures) {
    const head = make("tr", {}, make("th", { scope: "col" }, this.#words.text("page.figures.ply")));
    for (const [key] of OF_PLY) head.append(make("th", { scope: "col" }, this.#words.text(`figure.${key}`)));
    const body = make("tbody");
    for (const ply of figures.plies) {
      const row = make("tr", {}, make("th", { scope: "row" }, String(ply.index + 1)));
      for (const [key, kind] of OF_PLY) row.append(make("td", {}, this.#value(ply[key], kind) ?? "\u2013"));
      body.append(row);
    }
    return this.#table("page.figures.plies", head, body);
  }

  /** @param {string} caption @param {HTMLElement | undefined} head @param {HTMLElement} body */
  #table(caption, head, body) {
    const table = make("table", {}, make("caption", {}, this.#words.text(caption)));
    if (head) table.append(make("thead", {}, head));
    table.append(body);
    return table;
  }

  /** @param {string} key */
  #name(key) {
    return make("th", { scope: "row" }, this.#words.text(`figure.${key}`));
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

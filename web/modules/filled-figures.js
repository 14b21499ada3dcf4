/**
 * The drawing board's figures of the filled sack, as filled and as settled, and how far they are to be trusted.
 *
 * @typedef {import("./types.js").FillAnswer} FillAnswer
 * @typedef {import("./types.js").Rest} Rest
 * @typedef {import("./types.js").Arg} Arg
 * @typedef {import("./words.js").Words} Words
 * @typedef {import("./dom.js").Sketch} Sketch
 */
import { hook, put, sketch } from "./dom.js";

/** A row: its name, and what it shows of an amount at rest. @typedef {[string, (rest: Rest) => Arg | undefined]} Row */

/** @type {(value: number | undefined) => Arg | undefined} */
const mm = (value) => (value === undefined ? undefined : { kind: "length", value });
/** Contact areas are in cm2, areas in words in mm2. @type {(value: number | undefined) => Arg | undefined} */
const area = (value) => (value === undefined ? undefined : { kind: "area", value: value * 100 });
/** @type {(value: number | undefined) => Arg | undefined} */
const ratio = (value) => (value === undefined ? undefined : { kind: "ratio", value });

/** @type {(name: string) => Arg} */
const panel = (name) => ({ kind: "word", key: `page.filled.panel.${name}` });

/** @type {Row[]} */
const ROWS = [
  ["volume", ({ amount }) => ({ kind: "volume", value: amount.volume_l })],
  ["ratio", ({ amount }) => ratio(amount.ratio)],
  ["lying_thickness", ({ lying }) => mm(lying?.thickness_mm)],
  ["lying_length", ({ lying }) => mm(lying?.length_mm)],
  ["lying_width", ({ lying }) => mm(lying?.width_mm)],
  ["lying_contact", ({ lying }) => area(lying?.contact_cm2)],
  ["lying_head", ({ lying }) => mm(lying?.head_mm)],
  ["lying_wrinkled", ({ lying }) => ratio(lying?.wrinkled_share)],
  ["lying_tightest", ({ lying }) => (lying ? panel(lying.tightest.panel) : undefined)],
  ["pressed_gap", ({ pressed }) => mm(pressed?.gap_mm)],
  ["pressed_length", ({ pressed }) => mm(pressed?.length_mm)],
  ["pressed_width", ({ pressed }) => mm(pressed?.width_mm)],
  ["pressed_contact", ({ pressed }) => area(pressed?.contact_cm2)],
];

export class FilledFigures {
  #words;
  root = hook("filled-figures", HTMLElement);

  /** @param {Words} words */
  constructor(words) {
    this.#words = words;
  }

  trouble() {
    put(this.root, sketch("p", {}, this.#words.text("page.filled.trouble")));
  }

  /** @param {FillAnswer} answer */
  show(answer) {
    this.root.dataset.detail = answer.detail;
    const rests = answer.rests.length > 0 ? [this.#rests(answer.rests)] : [];
    put(this.root, this.#capacity(answer), ...rests, ...this.#upright(answer), this.#trust(answer));
  }

  /** @param {FillAnswer} answer */
  #capacity({ filled: { capacity }, full }) {
    return this.#table("capacity", undefined, [
      this.#row("capacity_stiff", [{ kind: "volume", value: capacity.stiff_l }]),
      this.#row("capacity_free", [{ kind: "volume", value: capacity.free_l }]),
      this.#row("full_wrinkled", [ratio(full.wrinkled_share)]),
      this.#row("full_tightest", [panel(full.tightest.panel)]),
    ]);
  }

  /** @param {readonly Rest[]} rests as filled, and as settled when that differs */
  #rests(rests) {
    const names = rests.map(({ name }) => this.#words.text(`page.filled.${rests.length > 1 ? name : "both"}`));
    const head = sketch("tr", {}, sketch("td"), ...names.map((name) => sketch("th", { scope: "col" }, name)));
    const rows = ROWS.map(([name, value]) => [name, rests.map(value)]);
    return this.#table(
      "contents",
      head,
      rows.flatMap(([name, values]) => {
        const args = /** @type {(Arg | undefined)[]} */ (values);
        return args.every((arg) => arg === undefined) ? [] : [this.#row(/** @type {string} */ (name), args)];
      }),
    );
  }

  /** @param {FillAnswer} answer */
  #upright({ filled: { content } }) {
    const { standing, hanging } = content ?? {};
    /** @param {string} way @param {import("./types.js").Upright} upright */
    const rows = (way, { length_mm, width_mm, thickness_mm, level_mm }) => [
      this.#row(`${way}_length`, [mm(length_mm)]),
      this.#row(`${way}_width`, [mm(width_mm)]),
      this.#row(`${way}_thickness`, [mm(thickness_mm)]),
      this.#row(`${way}_level`, [mm(level_mm)]),
    ];
    const both = [...(hanging ? rows("hanging", hanging) : []), ...(standing ? rows("standing", standing) : [])];
    return both.length > 0 ? [this.#table("upright", undefined, both)] : [];
  }

  /** @param {FillAnswer} answer */
  #trust({ filled: { trust }, detail }) {
    const words = this.#words;
    const rows = [
      this.#row("lower_bound", [{ kind: "volume", value: trust.lower_bound_l }]),
      this.#row("largest_stretch", [this.#fine(trust.largest_stretch - 1)]),
      this.#row("volume_residual", [this.#fine(trust.volume_residual)]),
      this.#row("mesh", [mm(trust.mesh_mm)]),
      this.#row("vertices", [{ kind: "count", value: trust.vertices }]),
      this.#row("iterations", [{ kind: "count", value: trust.iterations }]),
    ];
    if (trust.change_from_coarser !== null)
      rows.push(this.#row("change_from_coarser", [this.#fine(trust.change_from_coarser)]));
    const table = this.#table("trust", undefined, rows);
    const settled = trust.converged ? `settled_${detail}` : "not_settled";
    return sketch(
      "div",
      { class: "trust" },
      sketch("p", { class: "help", "data-settled": trust.converged }, words.text(`page.filled.${settled}`)),
      table,
      sketch("p", { class: "help" }, words.text("page.filled.plain")),
    );
  }

  /** A share in percent, to a thousandth. @param {number} share @returns {Arg} */
  #fine(share) {
    return { kind: "text", text: `${this.#words.number(share * 100, 3)}\u00a0${this.#words.unit("percent")}` };
  }

  /** @param {string} caption @param {Sketch | undefined} head @param {readonly Sketch[]} rows */
  #table(caption, head, rows) {
    const name = sketch("caption", {}, this.#words.text(`page.filled.${caption}_title`));
    return sketch("table", {}, name, ...(head ? [sketch("thead", {}, head)] : []), sketch("tbody", {}, ...rows));
  }

  /** @param {string} name @param {readonly (Arg | undefined)[]} values */
  #row(name, values) {
    const areas = values.flatMap((arg) => (arg?.kind === "area" ? [arg.value] : []));
    const told = areas.length === values.length ? this.#words.areas(areas) : values;
    return sketch(
      "tr",
      { "data-figure": name },
      sketch("th", { scope: "row" }, this.#words.text(`page.filled.row.${name}`)),
      ...told.map((arg) => sketch("td", {}, arg ? this.#words.arg(arg) : "\u2013")),
    );
  }
}

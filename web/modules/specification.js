/**
 * The specification: one document with all that a sack is ordered and made by, in the order in which a paper sack is
 * specified, with its drawings and with the findings and who accepted them. On the screen and on paper.
 *
 * @typedef {import("./types.js").Report} Report
 * @typedef {import("./types.js").Finding} Finding
 * @typedef {import("./types.js").Plain} Plain
 * @typedef {import("./words.js").Words} Words
 * @typedef {import("./drawings.js").Drawings} Drawings
 */
import { hook, make } from "./dom.js";
import { DRAWINGS } from "./drawings.js";
import { FigureTables } from "./figures.js";
import { print, printsItself } from "./paper.js";
import { unitOf } from "./quantities.js";

/** A finding that somebody accepted. @typedef {{rule: string, place: string, by: string, date: string, note: string}} Acceptance */

/** Fields of a sheet in the order of an order, by part. */
const CONTENTS = ["product", "mass_kg", "bulk_density_kg_m3", "aerated_density_kg_m3", "dusty", "dangerous_goods"];
const SEAM = ["lap_mm", "offset_from_middle_mm", "stagger_mm"];
const PLY = ["paper", "grammage_g_m2", "thickness_mm", "tea_md_j_m2", "tea_cd_j_m2", "air_resistance_gurley_s"];
const END = ["bottom_width_mm", "lap_mm"];
const PATCH = ["length_mm", "width_mm", "offset_mm", "grammage_g_m2"];
const VALVE = ["side", "sleeve", "flat_width_mm", "length_mm", "outer_end_mm", "offset_from_centre_mm", "skew_deg"];
const ARTWORK = ["front", "back", "valve_patch", "plain_patch", "repeat_mm"];
const BARCODE = ["width_mm", "height_mm", "offset_from_middle_mm", "from_plain_end_mm", "on_back", "bars_across"];
const LINE = ["name", "packer", "rate_sacks_per_h"];
const ENDS = /** @type {const} */ (["valve_end", "plain_end"]);
/** Decimals of what is 1 or more of the core's unit, in inches and pounds: how many it would have in the core's unit. */
const IMPERIAL_DECIMALS = /** @type {Record<string, number>} */ ({ mm: 2, kg: 2, kg_m3: 0 });

export class Specification {
  #dialog = hook("spec", HTMLDialogElement);
  #words;
  #drawings;
  #report;
  #prepare;
  #onAccept;

  /**
   * @param {object} options
   * @param {Words} options.words
   * @param {Drawings} options.drawings
   * @param {() => Promise<void>} options.prepare makes drawings possible
   * @param {() => Report} options.report what the core says now
   * @param {(accepted: Acceptance[]) => void} options.onAccept the sheet's accepted findings, anew
   */
  constructor({ words, drawings, prepare, report, onAccept }) {
    this.#words = words;
    this.#drawings = drawings;
    this.#prepare = prepare;
    this.#report = report;
    this.#onAccept = onAccept;
    hook("spec-open", HTMLButtonElement).addEventListener("click", () => void this.#open());
    printsItself(
      this.#dialog,
      () => this.#document(false),
      () => ({ foot: this.#foot() }),
    );
  }

  async #open() {
    const { sheet } = this.#report();
    if (!sheet) return;
    await this.#prepare().catch((error) => console.error(error));
    const tool = (/** @type {"print" | "close"} */ name, /** @type {() => void} */ press) => {
      const button = make(
        "button",
        { type: "button", class: name === "print" ? "strong" : "quiet", "data-hook": `spec-${name}` },
        this.#words.text(`page.spec.${name}`),
      );
      button.addEventListener("click", press);
      return button;
    };
    this.#dialog.replaceChildren(
      make(
        "div",
        { class: "spec-tools" },
        tool("print", () => print(this.#document(false), { foot: this.#foot() })),
        tool("close", () => this.#dialog.close()),
      ),
      this.#document(true),
    );
    this.#dialog.showModal();
    this.#dialog.scrollTop = 0;
  }

  /** What stands at the foot of every page on paper: whose it is. */
  #foot() {
    const sheet = /** @type {Plain} */ (this.#report().sheet);
    const last = sheet.revisions?.at(-1);
    const revision = `${this.#words.text("page.spec.revision")}: ${last?.mark ?? this.#words.text("page.spec.first")}`;
    return [sheet.name, revision, last?.date].filter(isGiven).join(" \u00b7 ");
  }

  /** @param {boolean} live findings can be accepted in it */
  #document(live) {
    const report = this.#report();
    const sheet = /** @type {Plain} */ (report.sheet);
    const words = this.#words;
    const figures = make("div", { class: "figures" });
    new FigureTables(figures, words).show(/** @type {import("./types.js").Figures | null} */ (report.figures));
    return make(
      "article",
      { class: "spec-sheet", "data-hook": "spec-sheet" },
      this.#head(sheet, live),
      this.#part("contents", sheet.contents ? this.#list("contents", sheet.contents, CONTENTS) : this.#none()),
      this.#part("size", this.#size(sheet)),
      this.#part("plies", this.#plies(sheet)),
      this.#part("seam", this.#list("seam", sheet.seam, SEAM)),
      this.#part("ends", this.#ends(sheet)),
      ...(sheet.artwork ? [this.#part("artwork", this.#artwork(sheet.artwork))] : []),
      ...(report.line ? [this.#part("line", this.#line(report.line))] : []),
      this.#part("figures", figures),
      this.#part("findings", this.#findings(report.findings, sheet.accepted ?? [], live)),
      this.#part("care", this.#care(report.findings)),
      this.#part("open_points", make("p", {}, words.text("page.spec.open_list"))),
      ...(sheet.revisions?.length > 0 ? [this.#part("revisions", this.#revisions(sheet.revisions))] : []),
      make("footer", {}, make("p", {}, words.text("page.spec.footer"))),
      this.#part("drawings", ...this.#sheets()),
    );
  }

  /** @param {Plain} sheet @param {boolean} live */
  #head(sheet, live) {
    const words = this.#words;
    const last = sheet.revisions?.at(-1);
    const facts = make(
      "dl",
      {},
      ...this.#entry(words.text("page.spec.revision"), last?.mark ?? words.text("page.spec.first")),
      ...(last?.date ? this.#entry(words.text("page.spec.date"), last.date) : []),
      ...(sheet.customer_note ? this.#entry(words.text("page.spec.note"), sheet.customer_note) : []),
    );
    // The one title that names the dialog.
    const id = live ? "spec-title" : undefined;
    return make("header", {}, make("p", {}, words.text("page.spec.name")), make("h2", { id }, sheet.name), facts);
  }

  /** @param {string} name @param {...Node} content */
  #part(name, ...content) {
    return make("section", { class: `spec-${name}` }, make("h3", {}, this.#words.text(`page.spec.${name}`)), ...content);
  }

  /** @param {Plain} sheet */
  #size(sheet) {
    const words = this.#words;
    const cut = words.text(`field.cut.kind.choice.${sheet.cut.kind}`);
    return make(
      "dl",
      {},
      ...this.#entry(words.text("page.spec.type"), words.text("page.spec.type_valved")),
      ...this.#entry(words.sizeOrder(sheet), `${words.size(sheet)}\u00a0${words.unit("mm")}`),
      ...this.#entry(words.text("field.cut.label"), cut),
      ...(typeof sheet.cut.step_mm === "number" ? this.#entries("cut", sheet.cut, ["step_mm"]) : []),
    );
  }

  /** @param {Plain} sheet */
  #plies(sheet) {
    const words = this.#words;
    const keys = PLY.filter((key) => sheet.plies.some((/** @type {Plain} */ ply) => isGiven(ply[key])));
    const head = make("tr", {}, make("th", { scope: "col" }, words.text("page.figures.ply")));
    for (const key of keys) {
      const unit = unitOf(key);
      const label = words.text(`field.plies.${key}.label`);
      head.append(make("th", { scope: "col" }, unit === "" ? label : `${label}, ${words.unit(unit)}`));
    }
    const rows = sheet.plies.map((/** @type {Plain} */ ply, /** @type {number} */ index) =>
      make(
        "tr",
        {},
        make("th", { scope: "row" }, String(index + 1)),
        ...keys.map((key) => make("td", {}, isGiven(ply[key]) ? this.#bare(key, ply[key]) : "\u2013")),
      ),
    );
    return make("table", {}, make("thead", {}, head), make("tbody", {}, ...rows));
  }

  /** @param {Plain} sheet */
  #ends(sheet) {
    const words = this.#words;
    return make(
      "div",
      { class: "spec-columns" },
      ...ENDS.map((end) =>
        make(
          "div",
          {},
          make("h4", {}, words.text(`page.end.${end}`)),
          make(
            "dl",
            {},
            ...this.#entries(end, sheet[end], END),
            ...this.#group(`${end}.patch`, sheet[end].patch, PATCH),
          ),
        ),
      ),
      make(
        "div",
        {},
        make("h4", {}, words.text("field.valve_end.valve.label")),
        this.#list("valve_end.valve", sheet.valve_end.valve, VALVE),
      ),
    );
  }

  /** @param {Plain} artwork */
  #artwork(artwork) {
    return make(
      "dl",
      {},
      ...this.#entries("artwork", artwork, ARTWORK),
      ...(artwork.barcode ? this.#group("artwork.barcode", artwork.barcode, BARCODE) : []),
    );
  }

  /** @param {Plain} line */
  #line(line) {
    const words = this.#words;
    const { spout } = line;
    const list = make("dl", {}, ...this.#entries("", line, LINE));
    for (const key of ["outside_diameter_mm", "width_mm", "height_mm", "reach_mm"]) {
      if (isGiven(spout[key])) list.append(...this.#entries("spout", spout, [key]));
    }
    const { min, max } = line.spout_to_saddle_mm ?? {};
    const range = [min, max].map((end) => (isGiven(end) ? words.bare("length", end) : "\u2026")).join("\u2013");
    if (isGiven(min) || isGiven(max))
      list.append(...this.#entry(words.text("field.spout_to_saddle_mm.label"), `${range}\u00a0${words.unit("mm")}`));
    return list;
  }

  #sheets() {
    try {
      return DRAWINGS.flatMap((what) => this.#drawings.fitted(what));
    } catch (error) {
      console.error(error);
      return [make("p", {}, this.#words.text("page.drawings.trouble"))];
    }
  }

  /** @param {readonly Finding[]} findings @param {readonly Acceptance[]} accepted @param {boolean} live */
  #findings(findings, accepted, live) {
    const words = this.#words;
    const open = findings.filter(({ severity, topic }) => severity !== "good" && topic !== "care");
    if (open.length === 0) return make("p", {}, words.text("page.spec.none"));
    const heads = ["finding", "accepted", "accepted_why"].map((name) =>
      make("th", { scope: "col" }, words.text(`page.spec.${name}`)),
    );
    return make(
      "table",
      {},
      make("thead", {}, make("tr", {}, ...heads)),
      make("tbody", {}, ...open.map((finding) => this.#finding(finding, accepted, live))),
    );
  }

  /** @param {Finding} finding @param {readonly Acceptance[]} accepted @param {boolean} live */
  #finding(finding, accepted, live) {
    const words = this.#words;
    const known = accepted.find(({ rule, place }) => rule === finding.rule && place === finding.place);
    const said = make(
      "td",
      {},
      make("strong", {}, `${words.text(`page.findings.severity.${finding.severity}`)}: `),
      words.message(finding.message),
      make("span", { class: "source" }, ` ${words.text(finding.source)}`),
    );
    if (!live) return make("tr", {}, said, make("td", {}, known?.by ?? ""), make("td", {}, known?.note ?? ""));
    const field = (/** @type {"by" | "note"} */ key) => {
      const label = words.text(`page.spec.${key === "by" ? "accepted" : "accepted_why"}`);
      const input = make("input", {
        type: "text",
        value: known?.[key] ?? "",
        "aria-label": `${label}: ${words.text(`rule.${finding.rule}`)}`,
        "data-hook": `accept-${key}`,
      });
      input.addEventListener("change", () => this.#accept(finding, key, input.value.trim()));
      return make("td", {}, input);
    };
    return make("tr", {}, said, field("by"), field("note"));
  }

  /** @param {Finding} finding @param {"by" | "note"} key @param {string} text */
  #accept({ rule, place }, key, text) {
    const accepted = /** @type {Acceptance[]} */ (/** @type {Plain} */ (this.#report().sheet).accepted ?? []);
    const before = accepted.find((one) => one.rule === rule && one.place === place);
    const others = accepted.filter((one) => one !== before);
    const after = { rule, place, by: "", note: "", ...before, [key]: text, date: new Date().toISOString().slice(0, 10) };
    this.#onAccept(after.by === "" && after.note === "" ? others : [...others, after]);
  }

  /** @param {readonly Finding[]} findings */
  #care(findings) {
    const care = findings.filter(({ topic }) => topic === "care");
    return make("ul", {}, ...care.map((finding) => make("li", {}, this.#words.finding(finding))));
  }

  /** @param {readonly Plain[]} revisions */
  #revisions(revisions) {
    const keys = ["mark", "date", "by", "note"];
    const heads = keys.map((key) => make("th", { scope: "col" }, this.#words.text(`field.revisions.${key}.label`)));
    const rows = revisions.map((revision) => make("tr", {}, ...keys.map((key) => make("td", {}, revision[key] ?? ""))));
    return make("table", {}, make("thead", {}, make("tr", {}, ...heads)), make("tbody", {}, ...rows));
  }

  /** @param {string} path @param {Plain} of @param {readonly string[]} keys */
  #list(path, of, keys) {
    return make("dl", {}, ...this.#entries(path, of, keys));
  }

  /** A part that may be missing. @param {string} path @param {Plain | undefined | null} of @param {readonly string[]} keys */
  #group(path, of, keys) {
    const label = this.#words.text(`field.${path}.label`);
    if (!of) return this.#entry(label, "\u2013");
    return [make("div", { class: "spec-group" }, make("dt", {}, label), make("dd", {}, this.#list(path, of, keys)))];
  }

  /** @param {string} path @param {Plain} of @param {readonly string[]} keys */
  #entries(path, of, keys) {
    return keys
      .filter((key) => isGiven(of[key]))
      .flatMap((key) => {
        const field = path === "" ? key : `${path}.${key}`;
        return this.#entry(this.#words.text(`field.${field}.label`), this.#value(field, key, of[key]));
      });
  }

  /** @param {string} name @param {string} text */
  #entry(name, text) {
    return [make("div", {}, make("dt", {}, name), make("dd", {}, text))];
  }

  /** @param {string} field @param {string} key @param {unknown} value */
  #value(field, key, value) {
    const words = this.#words;
    if (typeof value === "boolean") return words.text(value ? "page.spec.yes" : "page.spec.no");
    if (typeof value === "string" && words.has(`field.${field}.choice.${value}`))
      return words.text(`field.${field}.choice.${value}`);
    const unit = unitOf(key);
    if (unit === "deg" && typeof value === "number") return words.quantity("angle", value);
    return unit === "" || typeof value !== "number" ? this.#bare(key, value) : `${this.#bare(key, value)}\u00a0${words.unit(unit)}`;
  }

  /** @param {string} key @param {unknown} value */
  #bare(key, value) {
    if (typeof value !== "number") return String(value);
    const unit = unitOf(key);
    const words = this.#words;
    // As exact as somebody typed it; in inches and pounds, which mostly nobody typed, as exact as it can be made.
    const decimals = words.system === "imperial" && value >= 1 ? (IMPERIAL_DECIMALS[unit] ?? 3) : 3;
    return words.measure(value, unit, decimals);
  }

  #none() {
    return make("p", {}, "\u2013");
  }
}

/** @param {unknown} value */
function isGiven(value) {
  return value !== undefined && value !== null && value !== "";
}

/**
 * The list of the open sheets, side by side with what the core says of each: size, weight empty, findings.
 *
 * @typedef {import("./work.js").State} State
 * @typedef {import("./work.js").OpenSheet} OpenSheet
 * @typedef {import("./words.js").Words} Words
 * @typedef {import("./types.js").Report} Report
 */
import { hook, put, sketch } from "./dom.js";
import { textOf } from "./work.js";

export class OpenSheets {
  #root = hook("open-sheets", HTMLElement);
  #words;
  #judge;
  /** What was found of a sheet, as long as it is held against the same cards. @type {Map<number, {snapshot: object, report: Report}>} */
  #known = new Map();
  #cards = "";

  /**
   * @param {object} options
   * @param {import("./core.js").Workshop} options.judge a workshop of its own
   * @param {Words} options.words
   * @param {(id: number) => void} options.onTurn
   * @param {(id: number) => void} options.onClose
   */
  constructor({ judge, words, onTurn, onClose }) {
    this.#judge = judge;
    this.#words = words;
    this.#root.addEventListener("click", ({ target }) => {
      const button = target instanceof Element ? target.closest("button") : null;
      const id = Number(button?.closest("li")?.dataset.id);
      if (button) (button.dataset.hook === "close-sheet" ? onClose : onTurn)(id);
    });
  }

  /**
   * @param {State} state
   * @param {Record<import("./card-rack.js").CardKind, {text: string | undefined}>} racks the cards in use
   * @param {Report} shown what was found of the current sheet
   */
  show({ sheets, current, habits }, racks, shown) {
    this.#hold(racks.line.text, racks.works.text, racks.pallet.text, textOf(habits));
    put(
      this.#root,
      ...sheets.map((sheet) => this.#row(sheet, sheet.id === current, sheet.id === current ? shown : this.#report(sheet), sheets.length)),
    );
  }

  /** @param {OpenSheet} sheet @param {boolean} current @param {Report} report @param {number} count */
  #row(sheet, current, report, count) {
    const words = this.#words;
    const value = /** @type {import("./types.js").Plain} */ (sheet.snapshot.value);
    const name = String(value.name ?? "");
    const turn = sketch(
      "button",
      { type: "button", class: "open-sheet", "data-hook": "open-sheet", "aria-current": current ? "true" : undefined },
      sketch("span", { class: "open-sheet-name" }, name),
      sketch("span", { class: "open-sheet-facts" }, this.#facts(report)),
    );
    const close = sketch(
      "button",
      {
        type: "button",
        class: "icon quiet",
        disabled: count === 1,
        "data-hook": "close-sheet",
        "aria-label": words.text("page.sheets.close", { name }),
      },
      sketch("span", { "aria-hidden": "true" }, "\u00d7"),
    );
    return sketch("li", { "data-id": sheet.id, "data-verdict": verdict(report) }, turn, close);
  }

  /** @param {Report} report */
  #facts(report) {
    const words = this.#words;
    const { sheet, figures, findings, problems } = report;
    if (problems.length > 0 || !sheet) return words.text("page.sheets.mistakes", { count: String(problems.length) });
    const parts = [words.size(sheet)];
    const empty = figures?.empty_sack_mass_g;
    if (typeof empty === "number") parts.push(words.quantity("mass_small", empty));
    for (const severity of /** @type {const} */ (["stop", "look"])) {
      const count = findings.filter((finding) => finding.severity === severity && finding.topic !== "care").length;
      if (count > 0) parts.push(words.text(`page.findings.count.${severity}`, { count: String(count) }));
    }
    return parts.join(" \u00b7 ");
  }

  /** @param {OpenSheet} sheet */
  #report({ id, snapshot }) {
    const known = this.#known.get(id);
    if (known?.snapshot === snapshot) return known.report;
    this.#judge.setSheet(textOf(snapshot));
    const report = this.#judge.report();
    this.#known.set(id, { snapshot, report });
    return report;
  }

  /** @param {string | undefined} line @param {string | undefined} works @param {string | undefined} pallet @param {string} habits */
  #hold(line, works, pallet, habits) {
    const cards = [line, works, pallet, habits].join("\n");
    if (cards === this.#cards) return;
    this.#cards = cards;
    this.#known.clear();
    this.#judge.setLine(line);
    this.#judge.setWorks(works);
    this.#judge.setPallet(pallet);
    this.#judge.setHabits(habits);
  }
}

/** @param {Report} report */
function verdict({ findings, problems }) {
  const worst = (/** @type {string} */ severity) =>
    findings.some((finding) => finding.severity === severity && finding.topic !== "care");
  return problems.length > 0 || worst("stop") ? "stop" : worst("look") ? "look" : "good";
}

/**
 * The list of the open sheets, side by side with what the core says of each: size, weight empty, findings.
 *
 * @typedef {import("./work.js").Work} Work
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
   * @param {Work} work
   * @param {Report} shown what was found of the current sheet
   */
  show({ sheets, current, sheet, racks, habits }, shown) {
    this.#hold(racks.line.text, racks.works.text, racks.pallet.text, habits.text());
    const row = (/** @type {OpenSheet} */ { id, snapshot }) =>
      id === current
        ? this.#row(id, sheet.get("name"), true, shown, sheets.length)
        : this.#row(id, Object(snapshot.value).name, false, this.#report({ id, snapshot }), sheets.length);
    put(this.#root, ...sheets.map(row));
  }

  /** @param {number} id @param {unknown} named @param {boolean} current @param {Report} report @param {number} count */
  #row(id, named, current, report, count) {
    const words = this.#words;
    const name = String(named ?? "");
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
    return sketch("li", { "data-id": id, "data-verdict": verdict(report) }, turn, close);
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

  /** @param {Pick<OpenSheet, "id" | "snapshot">} sheet */
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

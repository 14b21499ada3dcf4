/**
 * A proposal for the customer on one page: the picture as it is seen, the sack's size and paper, how it fills and sits on the
 * pallet, what is still open in plain words, and room to accept it.
 *
 * @typedef {import("./types.js").Report} Report
 * @typedef {import("./types.js").Finding} Finding
 * @typedef {import("./types.js").FillAnswer} FillAnswer
 * @typedef {import("./types.js").Plain} Plain
 * @typedef {import("./types.js").Stacked} Stacked
 * @typedef {import("./words.js").Words} Words
 * @typedef {{url: string, shows: string}} Seen a picture, and what it shows in words
 */
import { pliesOf, valveOf } from "./answers.js";
import { hook, make } from "./dom.js";
import { capacityOf, holds, sizeAtRest } from "./filled-answer.js";
import { overhang, stackArgs } from "./pallets.js";
import { print, printsItself } from "./paper.js";

/** Sizes of the text, pt, from the best to the smallest that reads easily. */
const SIZES_PT = [10, 9.5, 9, 8.5, 8];

export class Proposal {
  #dialog = hook("proposal", HTMLDialogElement);
  #words;
  #report;
  #filled;
  #stacked;
  #seen;
  /** The picture as it was when the dialog was opened. @type {Seen | undefined} */
  #picture;

  /**
   * @param {object} options
   * @param {Words} options.words
   * @param {() => Report} options.report what the core says now
   * @param {() => FillAnswer | undefined} options.filled the filled sack; undefined: still to come
   * @param {() => Stacked | string} options.stacked the loaded pallet, or the words' key for why there is none
   * @param {() => Seen | undefined} options.seen the picture as it is now; undefined: there is none
   */
  constructor({ words, report, filled, stacked, seen }) {
    this.#words = words;
    this.#report = report;
    this.#filled = filled;
    this.#stacked = stacked;
    this.#seen = seen;
    hook("proposal-open", HTMLButtonElement).addEventListener("click", () => this.#open());
    printsItself(this.#dialog, () => this.#onPaper());
  }

  /** Something else is known: what is shown follows. */
  renew() {
    const before = this.#dialog.querySelector(".proposal");
    if (!this.#dialog.open || !before) return;
    before.replaceWith(this.#document());
    this.#fit();
  }

  #open() {
    if (!this.#report().sheet) return;
    this.#picture = this.#seen();
    const tool = (/** @type {"print" | "close"} */ name, /** @type {() => void} */ press) => {
      const button = make(
        "button",
        { type: "button", class: name === "print" ? "strong" : "quiet", "data-hook": `proposal-${name}` },
        this.#words.text(`page.spec.${name}`),
      );
      button.addEventListener("click", press);
      return button;
    };
    this.#dialog.replaceChildren(
      make("div", { class: "spec-tools" }, tool("print", () => print(this.#onPaper())), tool("close", () => this.#dialog.close())),
      make("div", { class: "proposal-desk" }, this.#document()),
    );
    this.#dialog.showModal();
    this.#fit();
    this.#dialog.scrollTop = 0;
  }

  /** What is printed: as it is shown, which is as it was fitted. */
  #onPaper() {
    const copy = /** @type {HTMLElement} */ (hook("proposal-sheet", HTMLElement).cloneNode(true));
    copy.removeAttribute("data-hook");
    return copy;
  }

  /** Makes it one page: smaller text first, then the least grave of what is open goes, and how much went is said. */
  #fit() {
    const sheet = hook("proposal-sheet", HTMLElement);
    const tooLong = () => sheet.scrollHeight > sheet.clientHeight + 1;
    for (const size of SIZES_PT) {
      sheet.style.fontSize = `${size}pt`;
      if (!tooLong()) return;
    }
    const points = [...sheet.querySelectorAll(".proposal-open li")];
    const more = make("li", {});
    for (let left = points.length - 1; left >= 0 && tooLong(); left -= 1) {
      points[left]?.remove();
      more.textContent = this.#words.text("page.proposal.more", { count: String(points.length - left) });
      sheet.querySelector(".proposal-open ul")?.append(more);
    }
  }

  #document() {
    const report = this.#report();
    const sheet = /** @type {Plain} */ (report.sheet);
    return make(
      "article",
      { class: "proposal", "data-hook": "proposal-sheet" },
      this.#head(sheet),
      ...(this.#picture ? [this.#figure(this.#picture)] : []),
      make(
        "div",
        { class: "proposal-columns" },
        this.#part("sack", this.#sack(sheet, report)),
        this.#part("filled", this.#filling(sheet)),
        this.#part("pallet", this.#pallet()),
      ),
      this.#part("open", this.#points(report.findings, sheet.accepted ?? [])),
      make("p", { class: "proposal-care" }, this.#care(report.findings)),
      this.#acceptance(),
    );
  }

  /** @param {Plain} sheet */
  #head(sheet) {
    const words = this.#words;
    const last = sheet.revisions?.at(-1);
    const facts = [
      words.text("page.proposal.date", { date: new Date().toISOString().slice(0, 10) }),
      `${words.text("page.spec.revision")}: ${last?.mark ?? words.text("page.spec.first")}`,
    ];
    return make(
      "header",
      {},
      make("p", {}, words.text("page.proposal.name")),
      make("h2", { id: "proposal-title" }, String(sheet.name)),
      make("p", {}, facts.join(" \u00b7 ")),
    );
  }

  /** @param {Seen} seen */
  #figure({ url, shows }) {
    const caption = make("figcaption", {}, shows);
    return make("figure", {}, make("img", { src: url, alt: this.#words.text("page.picture.name") }), caption);
  }

  /** @param {string} name @param {Node} content */
  #part(name, content) {
    const heading = make("h3", {}, this.#words.text(`page.proposal.${name}`));
    return make("section", { class: `proposal-${name}` }, heading, content);
  }

  /** @param {readonly (readonly [string, string])[]} entries */
  #list(entries) {
    return make("dl", {}, ...entries.map(([name, text]) => make("div", {}, make("dt", {}, name), make("dd", {}, text))));
  }

  /** @param {Plain} sheet @param {Report} report */
  #sack(sheet, { figures, line }) {
    const words = this.#words;
    const papers = sheet.plies.map((/** @type {Plain} */ { paper }) => paper).filter((/** @type {unknown} */ paper) => paper);
    return this.#list([
      [words.sizeOrder(sheet), `${words.size(sheet)}\u00a0${words.unit("mm")}`],
      [words.text("page.table.plies_name"), pliesOf(words, sheet)],
      ...(papers.length > 0 ? [/** @type {const} */ ([words.text("page.proposal.papers"), [...new Set(papers)].join(", ")])] : []),
      [words.text("page.table.valve_name"), valveOf(words, sheet)],
      ...(typeof figures?.empty_sack_mass_g === "number"
        ? [/** @type {const} */ ([words.text("page.table.empty_name"), words.quantity("mass_small", figures.empty_sack_mass_g)])]
        : []),
      ...(line ? [/** @type {const} */ ([words.text("page.line.name"), String(line.name)])] : []),
    ]);
  }

  /** @param {Plain} sheet */
  #filling(sheet) {
    const words = this.#words;
    const answer = this.#filled();
    if (!answer) return make("p", {}, words.text("page.filled.renewing"));
    const { content, capacity } = answer.filled;
    const amount = content?.settled ?? content?.filling;
    /** @type {[string, string][]} */
    const entries = content ? [[words.text("page.proposal.goes_in"), holds(words, answer.filled, sheet).text]] : [];
    entries.push([words.text("page.filled.capacity_name"), capacityOf(words, capacity)]);
    if (amount?.lying) entries.push([words.text("page.filled.lying_name"), sizeAtRest(words, amount.lying)]);
    if (amount?.pressed) entries.push([words.text("page.filled.pressed_name"), sizeAtRest(words, amount.pressed)]);
    return this.#list(entries);
  }

  #pallet() {
    const words = this.#words;
    const stacked = this.#stacked();
    if (typeof stacked === "string") return make("p", {}, words.text(stacked === "page.pallet.choose" ? "page.proposal.no_pallet" : stacked));
    if (stacked.stack.sacks === 0) return make("p", {}, words.text("page.pallet.no_room", stackArgs(words, stacked)));
    const { stack, pallet } = stacked;
    /** @param {string} row @param {import("./types.js").Arg} arg */
    const row = (row, arg) => /** @type {const} */ ([words.text(`page.pallet.row.${row}`), words.arg(arg)]);
    return this.#list([
      [words.text("page.pallet.name"), String(pallet.name)],
      row("sacks", { kind: "count", value: stack.sacks }),
      [words.text("page.pallet.row.layers"), words.text("page.proposal.layers", stackArgs(words, stacked))],
      row("gross", words.round("mass", stack.gross_mass_kg)),
      row("height", words.round("length", stack.total_height_mm)),
      row("over_ends", overhang(words, stack.overhang_mm.length_mm)),
      row("over_sides", overhang(words, stack.overhang_mm.width_mm)),
    ]);
  }

  /** @param {readonly Finding[]} findings @param {readonly {rule: string, place: string, by: string}[]} accepted */
  #points(findings, accepted) {
    const words = this.#words;
    const isAccepted = (/** @type {Finding} */ finding) =>
      accepted.some(({ rule, place, by }) => by !== "" && rule === finding.rule && place === finding.place);
    const of = (/** @type {Finding["severity"]} */ severity) =>
      findings.filter((finding) => finding.severity === severity && finding.topic !== "care" && !isAccepted(finding));
    const points = [...of("stop"), ...of("look")].map((finding) =>
      make("li", {}, make("strong", {}, words.text(`page.proposal.${finding.severity}`)), ` ${words.finding(finding)}`),
    );
    const agree = make("p", {}, words.text("page.proposal.agree"));
    if (points.length === 0) return make("div", {}, make("p", {}, words.text("page.spec.none")), agree);
    return make("div", {}, make("ul", {}, ...points), agree);
  }

  /** @param {readonly Finding[]} findings */
  #care(findings) {
    const words = this.#words;
    const told = findings.filter(({ topic }) => topic === "care").map(({ message }) => words.message(message));
    return [...told, words.text("page.spec.footer")].join(" ");
  }

  #acceptance() {
    const fields = ["accepted_by", "accepted_on", "signature"].map((name) => make("p", {}, this.#words.text(`page.proposal.${name}`)));
    return make("div", { class: "proposal-acceptance" }, ...fields);
  }
}

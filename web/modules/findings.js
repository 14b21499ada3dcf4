/**
 * The findings: those to stop or look at in sight, worst first, those that hold behind a fold; each with its figure,
 * limit, source and cure.
 *
 * @typedef {import("./types.js").Finding} Finding
 * @typedef {import("./words.js").Words} Words
 */
import { make } from "./dom.js";

/** @type {readonly import("./types.js").Severity[]} */
export const SEVERITIES = ["stop", "look", "good"];
const SIGNS = { stop: "\u2716", look: "!", good: "\u2713" };

export class FindingsList {
  #list;
  #good;
  #goodCount;
  #summary;
  #words;
  #onPoint;
  #onCure;

  /**
   * @param {object} options
   * @param {HTMLElement} options.list of those to stop or look at
   * @param {HTMLElement} options.good list of those that hold
   * @param {HTMLElement} options.goodCount says how many hold
   * @param {HTMLElement} options.summary says how many there are of each kind
   * @param {Words} options.words
   * @param {(finding: Finding | undefined) => void} options.onPoint a finding is pointed at, or none any more
   * @param {(finding: Finding) => void} options.onCure its cure is to be applied
   */
  constructor({ list, good, goodCount, summary, words, onPoint, onCure }) {
    this.#list = list;
    this.#good = good;
    this.#goodCount = goodCount;
    this.#summary = summary;
    this.#words = words;
    this.#onPoint = onPoint;
    this.#onCure = onCure;
  }

  /** @param {readonly Finding[]} findings */
  show(findings) {
    const focused = document.activeElement?.closest("[data-rule]");
    const rule = focused?.getAttribute("data-rule");
    const place = focused?.getAttribute("data-place");
    const sorted = [...findings].sort((a, b) => SEVERITIES.indexOf(a.severity) - SEVERITIES.indexOf(b.severity));
    const good = sorted.filter(({ severity }) => severity === "good");
    this.#list.replaceChildren(
      ...sorted.filter((finding) => !good.includes(finding)).map((finding) => this.#item(finding)),
    );
    this.#good.replaceChildren(...good.map((finding) => this.#item(finding)));
    this.#goodCount.textContent = this.#words.text("page.findings.holds", { count: String(good.length) });
    const counts = SEVERITIES.map((severity) => {
      const count = findings.filter((finding) => finding.severity === severity).length;
      return this.#words.text(`page.findings.count.${severity}`, { count: String(count) });
    });
    this.#summary.textContent = counts.join(" \u00b7 ");
    if (rule) this.#focus(`[data-rule="${rule}"][data-place="${place}"]`);
  }

  /** Back to the finding that had the focus, or to what holds when it has gone there. @param {string} selector */
  #focus(selector) {
    const item = this.#list.querySelector(selector);
    const next = item instanceof HTMLElement ? item : this.#goodCount;
    next.focus();
  }

  /** @param {Finding} finding */
  #item(finding) {
    const words = this.#words;
    const facts = make("dl", { class: "facts" });
    /** @param {string} name @param {string} text */
    const fact = (name, text) =>
      facts.append(make("div", {}, make("dt", {}, words.text(`page.findings.${name}`)), make("dd", {}, text)));
    if (finding.value) fact("figure", words.arg(finding.value));
    if (finding.limit) fact("limit", words.arg(finding.limit));
    fact("source", words.text(finding.source));
    const item = make(
      "li",
      {
        class: "finding",
        tabindex: 0,
        "data-hook": "finding",
        "data-rule": finding.rule,
        "data-severity": finding.severity,
        "data-place": finding.place,
      },
      make(
        "p",
        { class: "finding-head" },
        make("span", { class: "sign", "aria-hidden": "true" }, SIGNS[finding.severity]),
        make("span", { class: "severity" }, words.text(`page.findings.severity.${finding.severity}`)),
        make("span", { class: "rule" }, words.text(`rule.${finding.rule}`)),
      ),
      make("p", { class: "finding-text" }, words.message(finding.message)),
      facts,
    );
    if (finding.cure) item.append(this.#cure(finding, finding.cure));
    const point = () => this.#onPoint(finding);
    const leave = () => {
      if (!item.matches(":hover, :focus-within")) this.#onPoint(undefined);
    };
    item.addEventListener("pointerenter", point);
    item.addEventListener("focusin", point);
    item.addEventListener("pointerleave", leave);
    item.addEventListener("focusout", () => queueMicrotask(leave));
    return item;
  }

  /** @param {Finding} finding @param {import("./types.js").Cure} cure */
  #cure(finding, cure) {
    const line = make("div", { class: "cure" }, make("p", {}, this.#words.message(cure.message)));
    if (cure.set.length > 0) {
      const apply = make(
        "button",
        { type: "button", class: "quiet", "data-hook": "apply" },
        this.#words.text("page.findings.apply"),
      );
      apply.addEventListener("click", () => this.#onCure(finding));
      line.append(apply);
    }
    return line;
  }
}

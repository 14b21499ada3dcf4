/**
 * The findings: those to stop or look at in sight, worst first, those that hold behind a fold; each with its figure,
 * limit, source and cure. Cautions (what to take care of in handling) stand apart and are not counted.
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
  #care;
  #heading;
  #summary;
  #strip;
  #words;
  #onPoint;
  #onCure;

  /**
   * @param {object} options
   * @param {HTMLElement} options.list of those to stop or look at
   * @param {HTMLElement} options.good list of those that hold
   * @param {HTMLElement} options.goodCount says how many hold
   * @param {HTMLElement} options.care list of the cautions, in a part of its own
   * @param {HTMLElement} options.heading of all findings
   * @param {HTMLElement} options.summary says how many there are of each kind
   * @param {HTMLElement} options.strip says the same on a phone and leads to the findings
   * @param {Words} options.words
   * @param {(finding: Finding | undefined, title: string) => void} options.onPoint a finding is pointed at, or none any more
   * @param {(finding: Finding) => void} options.onCure its cure is to be applied
   */
  constructor({ list, good, goodCount, care, heading, summary, strip, words, onPoint, onCure }) {
    this.#list = list;
    this.#good = good;
    this.#goodCount = goodCount;
    this.#care = care;
    this.#heading = heading;
    this.#summary = summary;
    this.#strip = strip;
    this.#words = words;
    strip.addEventListener("click", () => {
      heading.scrollIntoView();
      heading.focus();
    });
    this.#onPoint = onPoint;
    this.#onCure = onCure;
  }

  /** @param {readonly Finding[]} all @param {boolean} stale of a sack that is not what the sheet says: no cure can be applied */
  show(all, stale) {
    const focused = document.activeElement?.closest("[data-rule]");
    const at = focused ? [...this.#list.children].indexOf(focused) : -1;
    const rule = focused?.getAttribute("data-rule");
    const place = focused?.getAttribute("data-place");
    const cautions = all.filter(({ topic }) => topic === "care");
    const findings = all.filter(({ topic }) => topic !== "care");
    const item = (/** @type {Finding} */ finding) => this.#item(finding, this.#title(finding, all), stale);
    const sorted = [...findings].sort((a, b) => SEVERITIES.indexOf(a.severity) - SEVERITIES.indexOf(b.severity));
    const good = sorted.filter(({ severity }) => severity === "good");
    this.#list.replaceChildren(...sorted.filter((finding) => !good.includes(finding)).map(item));
    this.#good.replaceChildren(...good.map(item));
    this.#care.replaceChildren(...cautions.map(item));
    if (this.#care.parentElement) this.#care.parentElement.hidden = cautions.length === 0;
    this.#goodCount.textContent = this.#words.text("page.findings.holds", { count: String(good.length) });
    const counts = SEVERITIES.map((severity) => {
      const count = findings.filter((finding) => finding.severity === severity).length;
      return this.#words.text(`page.findings.count.${severity}`, { count: String(count) });
    });
    this.#summary.textContent = counts.join(" \u00b7 ");
    this.#strip.textContent = this.#summary.textContent;
    this.#strip.dataset.severity = sorted[0]?.severity ?? "good";
    if (rule) this.#focus(`[data-rule="${rule}"][data-place="${place}"]`, at);
  }

  /**
   * Back to the finding that had the focus; when it has left the list, to the next one, or to the heading.
   * @param {string} selector
   * @param {number} at where in the list it was; -1: not in it
   */
  #focus(selector, at) {
    const lists = at < 0 ? [this.#list, this.#care, this.#good] : [this.#list];
    const same = lists.map((list) => list.querySelector(selector)).find((item) => item !== null);
    const next = same ?? this.#list.children[at];
    if (next instanceof HTMLElement) next.focus();
    else this.#heading.focus();
  }

  /** The rule's name, with the end where both ends have it. @param {Finding} finding @param {readonly Finding[]} all */
  #title({ rule, place }, all) {
    const title = this.#words.text(`rule.${rule}`);
    const [, end] = /^(valve|plain)-end-/.exec(place) ?? [];
    if (!end || all.filter((other) => other.rule === rule).length < 2) return title;
    return this.#words.text(`page.findings.at_${end}_end`, { rule: title });
  }

  /** @param {Finding} finding @param {string} title @param {boolean} stale */
  #item(finding, title, stale) {
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
        finding.topic === "care"
          ? ""
          : make("span", { class: "severity" }, words.text(`page.findings.severity.${finding.severity}`)),
        make("span", { class: "rule" }, title),
      ),
      make("p", { class: "finding-text" }, words.message(finding.message)),
      facts,
    );
    if (finding.cure) item.append(this.#cure(finding, finding.cure, stale));
    const point = () => this.#onPoint(finding, title);
    const leave = () => {
      if (!item.matches(":hover, :focus-within")) this.#onPoint(undefined, "");
    };
    item.addEventListener("pointerenter", point);
    item.addEventListener("focusin", point);
    item.addEventListener("pointerleave", leave);
    item.addEventListener("focusout", () => queueMicrotask(leave));
    return item;
  }

  /** @param {Finding} finding @param {import("./types.js").Cure} cure @param {boolean} stale */
  #cure(finding, cure, stale) {
    const line = make("div", { class: "cure" }, make("p", {}, this.#words.message(cure.message)));
    if (cure.set.length > 0) {
      const apply = make(
        "button",
        { type: "button", class: "quiet", disabled: stale, "data-hook": "apply" },
        this.#words.text("page.findings.apply"),
      );
      apply.addEventListener("click", () => this.#onCure(finding));
      line.append(apply);
    }
    return line;
  }
}

/**
 * The findings: those to stop or look at in sight, worst first, those that hold behind a fold; each with its figure,
 * limit, source, how sure that is, and cure. Cautions (what to take care of in handling) stand apart and are not counted.
 * Behind a fold at the end: what was not judged, and what it lacks. A filter leaves those of one kind.
 *
 * @typedef {import("./waiting.js").Finding} Finding
 * @typedef {import("./types.js").Silent} Silent
 * @typedef {import("./words.js").Words} Words
 * @typedef {{element: HTMLElement, finding: Finding, title: string, said: readonly unknown[]}} Item `said`: what it was said from
 */
import { make, put, sketch, write } from "./dom.js";
import { FindingFilter } from "./finding-filter.js";

/** @type {readonly import("./types.js").Severity[]} */
export const SEVERITIES = ["stop", "look", "good"];
const SIGNS = { stop: "\u2716", look: "!", good: "\u2713" };
/** Cures that are no one change of the sheet, where another size would do. */
const OF_SIZE = new Set(["cure.fill_less", "cure.smaller_sack", "cure.spout_diameter_most", "cure.spout_girth_most"]);

export class FindingsList {
  #list;
  #good;
  #goodCount;
  #care;
  #silent;
  #silentCount;
  #filter;
  #shown;
  /** What was shown last. @type {[readonly Finding[], boolean]} */
  #last = [[], false];
  #heading;
  #summary;
  #strip;
  #words;
  #onPoint;
  #onCure;
  #onSize;
  /** What is in the lists, by rule and place. @type {Map<string, Item>} */
  #items = new Map();
  /** What is said of the rules that say nothing, and in which measures. @type {readonly unknown[]} */
  #silence = [];

  /**
   * @param {object} options
   * @param {HTMLElement} options.list of those to stop or look at
   * @param {HTMLElement} options.good list of those that hold
   * @param {HTMLElement} options.goodCount says how many hold
   * @param {HTMLElement} options.care list of the cautions, in a part of its own
   * @param {HTMLElement} options.silent list of the rules that say nothing
   * @param {HTMLElement} options.silentCount says how many those are
   * @param {HTMLElement} options.filter where the filter goes
   * @param {HTMLElement} options.shown says how many the filter leaves
   * @param {HTMLElement} options.heading of all findings
   * @param {HTMLElement} options.summary says how many there are of each kind
   * @param {HTMLElement} options.strip says the same on a phone and leads to the findings
   * @param {Words} options.words
   * @param {(finding: Finding | undefined, title: string) => void} options.onPoint a finding is pointed at, or none any more
   * @param {(finding: Finding) => void} options.onCure its cure is to be applied
   * @param {() => void} options.onSize another size is to be looked for
   */
  constructor(options) {
    const { list, good, goodCount, care, heading, summary, strip, words, onPoint, onCure, onSize } = options;
    const { silent, silentCount, filter, shown } = options;
    this.#list = list;
    this.#good = good;
    this.#goodCount = goodCount;
    this.#care = care;
    this.#silent = silent;
    this.#silentCount = silentCount;
    this.#shown = shown;
    this.#filter = new FindingFilter(filter, words, () => this.#draw());
    this.#heading = heading;
    this.#summary = summary;
    this.#strip = strip;
    this.#words = words;
    const holding = good.parentElement;
    if (holding instanceof HTMLDetailsElement) holding.addEventListener("toggle", () => holding.open && this.#draw());
    strip.addEventListener("click", () => {
      heading.scrollIntoView();
      heading.focus();
    });
    this.#onPoint = onPoint;
    this.#onCure = onCure;
    this.#onSize = onSize;
  }

  /**
   * @param {readonly Finding[]} all
   * @param {readonly Silent[]} silent
   * @param {boolean} stale of a sack that is not what the sheet says: no cure can be applied
   */
  show(all, silent, stale) {
    this.#last = [all, stale];
    this.#filter.offer(all);
    this.#showSilent(silent);
    this.#draw();
  }

  /** Leads to a rule's finding, and to its cure where one can be applied; to the heading when there is none. @param {string} rule */
  lead(rule) {
    this.#filter.reset();
    this.#draw();
    const item = this.#list.querySelector(`[data-rule="${rule}"]`);
    const to = item?.querySelector('[data-hook="apply"]:enabled, [data-hook="find-size"]') ?? item ?? this.#heading;
    item?.scrollIntoView({ block: "center" });
    if (to instanceof HTMLElement) to.focus({ preventScroll: item !== null });
  }

  /** Those of the last findings that the filter leaves. */
  #draw() {
    const [all, stale] = this.#last;
    const focused = document.activeElement?.closest("[data-rule]");
    const at = focused ? [...this.#list.children].indexOf(focused) : -1;
    const rule = focused?.getAttribute("data-rule");
    const place = focused?.getAttribute("data-place");
    const left = (/** @type {Finding} */ finding) => this.#filter.passes(finding);
    const cautions = all.filter(({ topic }) => topic === "care").filter(left);
    const findings = all.filter(({ topic }) => topic !== "care");
    // Most findings stay as they are from one change to the next, and so do their elements.
    const before = this.#items;
    this.#items = new Map();
    /** @type {Map<string, number>} */
    const counts = new Map();
    for (const { rule } of all) counts.set(rule, (counts.get(rule) ?? 0) + 1);
    const item = (/** @type {Finding} */ finding) => {
      const title = this.#title(finding, counts.get(finding.rule) ?? 0);
      let key = `${finding.rule} ${finding.place}`;
      while (this.#items.has(key)) key += "+";
      const known = before.get(key) ?? this.#item(finding, title);
      this.#items.set(key, known);
      const from = [finding, title, stale, this.#words.system];
      if (!isSame(known.said, from)) this.#say(Object.assign(known, { finding, title, said: from }), stale || finding.waiting === true);
      return known.element;
    };
    const sorted = [...findings].sort((a, b) => SEVERITIES.indexOf(a.severity) - SEVERITIES.indexOf(b.severity));
    const shown = sorted.filter(left);
    const good = shown.filter(({ severity }) => severity === "good");
    fill(this.#list, shown.filter((finding) => !good.includes(finding)).map(item));
    const holding = this.#good.parentElement;
    if (holding instanceof HTMLDetailsElement) {
      holding.hidden = good.length === 0;
      // Who asks for what holds wants to see it.
      if (this.#filter.chosen("severity") === "good") holding.open = true;
      // Most findings hold; while nobody looks at them they need not be written.
      if (holding.open) fill(this.#good, good.map(item));
    }
    const passing = { shown: String(shown.length + cautions.length), all: String(all.length) };
    write(this.#shown, this.#filter.active ? this.#words.text("page.findings.shown", passing) : "");
    fill(this.#care, cautions.map(item));
    if (this.#care.parentElement) this.#care.parentElement.hidden = cautions.length === 0;
    write(this.#goodCount, this.#words.text("page.findings.holds", { count: String(good.length) }));
    const sums = SEVERITIES.map((severity) => {
      const count = findings.filter((finding) => finding.severity === severity).length;
      return this.#words.text(`page.findings.count.${severity}`, { count: String(count) });
    });
    write(this.#summary, sums.join(" \u00b7 "));
    write(this.#strip, sums.join(" \u00b7 "));
    this.#strip.dataset.severity = sorted[0]?.severity ?? "good";
    if (rule) this.#focus(`[data-rule="${rule}"][data-place="${place}"]`, at);
  }

  /** What was not judged, rules with the same reason together, those that lack something first. @param {readonly Silent[]} silent */
  #showSilent(silent) {
    const words = this.#words;
    const from = [...silent, words.system];
    if (isSame(from, this.#silence)) return;
    this.#silence = from;
    /** @type {Map<string, {kind: Silent["kind"], names: string[]}>} */
    const reasons = new Map();
    for (const { rule, kind, message } of silent) {
      const reason = words.message(message);
      const { names } = reasons.get(reason) ?? { names: [] };
      reasons.set(reason, { kind, names: [...names, words.text(`rule.${rule}`)] });
    }
    const items = [...reasons].map(([reason, { kind, names }]) =>
      make(
        "li",
        { "data-hook": "silent", "data-kind": kind },
        make("p", {}, reason),
        make("p", { class: "silent-rules" }, names.join(", ")),
      ),
    );
    this.#silent.replaceChildren(...items);
    this.#silentCount.textContent = words.text("page.findings.silent", { count: String(silent.length) });
    if (this.#silent.parentElement) this.#silent.parentElement.hidden = silent.length === 0;
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

  /** The rule's name, with the end where both ends have it. @param {Finding} finding @param {number} count of the rule's findings */
  #title({ rule, place }, count) {
    const title = this.#words.text(`rule.${rule}`);
    const [, end] = /^(valve|plain)-end-/.exec(place) ?? [];
    if (!end || count < 2) return title;
    return this.#words.text(`page.findings.at_${end}_end`, { rule: title });
  }

  /** An item that says nothing yet. @param {Finding} finding @param {string} title @returns {Item} */
  #item(finding, title) {
    const element = make("li", { class: "finding", tabindex: 0, "data-hook": "finding" });
    const item = { element, finding, title, said: [] };
    const point = () => this.#onPoint(item.finding, item.title);
    const leave = () => {
      if (!element.matches(":hover, :focus-within")) this.#onPoint(undefined, "");
    };
    element.addEventListener("pointerenter", point);
    element.addEventListener("focusin", point);
    element.addEventListener("pointerleave", leave);
    element.addEventListener("focusout", () => queueMicrotask(leave));
    element.addEventListener("click", ({ target }) => {
      if (!(target instanceof Element)) return;
      if (target.closest('[data-hook="apply"]')) this.#onCure(item.finding);
      if (target.closest('[data-hook="find-size"]')) this.#onSize();
    });
    return item;
  }

  /** Has an item say what its finding says. @param {Item} item @param {boolean} stale */
  #say({ element, finding, title }, stale) {
    const words = this.#words;
    const { rule, severity, place, topic, value, limit, certainty, source, message, cure } = finding;
    Object.assign(element.dataset, { rule, severity, place });
    const fact = (/** @type {string} */ name, /** @type {string} */ text) =>
      sketch("div", {}, sketch("dt", {}, words.text(`page.findings.${name}`)), sketch("dd", {}, text));
    put(
      element,
      sketch(
        "p",
        { class: "finding-head" },
        sketch("span", { class: "sign", "aria-hidden": "true" }, SIGNS[severity]),
        ...(topic === "care"
          ? []
          : [sketch("span", { class: "severity" }, words.text(`page.findings.severity.${severity}`))]),
        sketch("span", { class: "rule" }, title),
      ),
      sketch("p", { class: "finding-text" }, words.message(message)),
      sketch(
        "dl",
        { class: "facts" },
        ...(value ? [fact("figure", words.arg(value))] : []),
        ...(limit ? [fact("limit", words.arg(limit))] : []),
        fact("certainty", words.text(`certainty.${certainty}`)),
        fact("source", words.text(source)),
      ),
      ...(cure ? [this.#cure(cure, stale)] : []),
    );
  }

  /** @param {import("./types.js").Cure} cure @param {boolean} stale */
  #cure(cure, stale) {
    const { message, worsens, set } = cure;
    const words = this.#words;
    const worse = worsens.map(({ rule, severity }) =>
      words.text("page.findings.worse", {
        rule: words.text(`rule.${rule}`),
        severity: words.text(`page.findings.severity.${severity}`),
      }),
    );
    const apply = { type: "button", class: "quiet", disabled: stale, "data-hook": "apply" };
    return sketch(
      "div",
      { class: "cure" },
      sketch("p", {}, words.cure(cure)),
      ...(worse.length > 0
        ? [sketch("p", { class: "worsens" }, words.text("page.findings.worsens", { findings: worse.join(", ") }))]
        : []),
      ...(set.length > 0 ? [sketch("button", apply, words.text("page.findings.apply"))] : []),
      ...(OF_SIZE.has(message.key)
        ? [sketch("button", { type: "button", class: "quiet", "data-hook": "find-size" }, words.text("page.sizing.open_table"))]
        : []),
    );
  }
}

/** @param {readonly unknown[]} a @param {readonly unknown[]} b */
function isSame(a, b) {
  return a.length === b.length && a.every((one, at) => one === b[at]);
}

/** @param {HTMLElement} list @param {readonly HTMLElement[]} items */
function fill(list, items) {
  if (!isSame(items, [...list.children])) list.replaceChildren(...items);
}

/**
 * The plain answers of the meeting table: what a customer asks, in words.
 *
 * @typedef {import("./types.js").Report} Report
 * @typedef {import("./types.js").Finding} Finding
 * @typedef {import("./words.js").Words} Words
 */
import { hook, make } from "./dom.js";

export class Answers {
  #words;
  #size = hook("answer-size", HTMLElement);
  #order = hook("answer-order", HTMLElement);
  #list = hook("answers", HTMLElement);
  #line = hook("answer-line", HTMLElement);
  #make = hook("answer-make", HTMLElement);
  #fill = hook("answer-fill", HTMLElement);
  #care = hook("care", HTMLElement);
  #careText = hook("care-text", HTMLElement);

  /** @param {Words} words */
  constructor(words) {
    this.#words = words;
  }

  /** @param {Report} report */
  show(report) {
    const { sheet, figures, findings, line, silent } = report;
    if (!sheet) return;
    const words = this.#words;
    this.#size.replaceChildren(
      words.size(sheet),
      make("span", { class: "unit" }, `\u00a0${words.unit("mm")}`),
    );
    this.#order.textContent = words.sizeOrder(sheet);
    this.#list.replaceChildren();
    this.#answer("plies", pliesOf(words, sheet));
    this.#answer("valve", valveOf(words, sheet));
    if (sheet.contents) {
      this.#answer(
        "contents",
        words.text("page.table.contents", {
          product: sheet.contents.product,
          mass: { kind: "mass", value: sheet.contents.mass_kg },
        }),
      );
      if (sheet.contents.mass_kg > 0 && sheet.contents.bulk_density_kg_m3 > 0) {
        const litres = (1000 * sheet.contents.mass_kg) / sheet.contents.bulk_density_kg_m3;
        this.#answer("room", words.text("page.table.room", { volume: { kind: "volume", value: litres } }));
      }
    }
    if (typeof figures?.empty_sack_mass_g === "number")
      this.#answer("empty", words.quantity("mass_small", figures.empty_sack_mass_g));
    /** @param {Finding["topic"]} about */
    const of = (about) => findings.filter(({ topic }) => topic === about);
    if (line) this.#verdict(this.#line, "line", of("line"));
    else this.#none(this.#line);
    // Without a works nobody has asked its machines.
    const isOpen = silent.some(({ message }) => message.key === "silent.works");
    this.#verdict(this.#make, "make", of("make"), isOpen ? "open" : "good");
    // Whether the product goes in can be told only once something is known of it.
    const told = of("fill");
    if (this.#fill.parentElement) this.#fill.parentElement.hidden = told.length === 0;
    this.#verdict(this.#fill, "fill", told);
    this.#caution(of("care"));
  }

  /** @param {string} name @param {string} text */
  #answer(name, text) {
    this.#list.append(
      make(
        "div",
        { "data-answer": name },
        make("dt", {}, this.#words.text(`page.table.${name}_name`)),
        make("dd", {}, text),
      ),
    );
  }

  /**
   * @param {HTMLElement} root
   * @param {"line" | "make" | "fill"} about
   * @param {readonly Finding[]} findings
   * @param {"good" | "open"} [sound] what holds where there is nothing to look at
   */
  #verdict(root, about, findings, sound = "good") {
    const stops = findings.filter(({ severity }) => severity === "stop");
    const looks = findings.filter(({ severity }) => severity === "look");
    const verdict = stops.length > 0 ? "stop" : looks.length > 0 ? "look" : sound;
    root.dataset.verdict = verdict;
    const reasons = [...stops, ...looks].map((finding) => {
      const lines = [make("span", {}, this.#words.message(finding.message))];
      if (finding.cure) lines.push(make("span", { class: "cure-words" }, this.#words.cure(finding.cure)));
      return make("li", {}, ...lines);
    });
    root.replaceChildren(make("p", { class: "verdict" }, this.#words.text(`page.table.${about}_${verdict}`)));
    if (reasons.length > 0) root.append(make("ul", { class: "reasons" }, ...reasons));
  }

  /** @param {HTMLElement} root */
  #none(root) {
    root.dataset.verdict = "none";
    root.replaceChildren(make("p", { class: "verdict" }, this.#words.text("page.table.line_none")));
  }

  /** @param {readonly Finding[]} findings */
  #caution(findings) {
    const words = this.#words;
    this.#care.hidden = findings.length === 0;
    this.#careText.replaceChildren(
      ...findings.map(({ message, cure, source }) => {
        const sentences = [words.message(message), cure ? words.cure(cure) : "", words.text(source)];
        return make("p", {}, sentences.filter((sentence) => sentence !== "").join(" "));
      }),
    );
  }
}

/** How many plies, and of which grammage. @param {Words} words @param {import("./types.js").Plain} sheet */
export function pliesOf(words, sheet) {
  const plies = /** @type {{grammage_g_m2: number}[]} */ (sheet.plies ?? []);
  const grammages = plies.map(({ grammage_g_m2 }) => words.number(grammage_g_m2, 1)).join(" + ");
  return words.text("page.table.plies", { count: String(plies.length), grammages, unit: words.unit("g_m2") });
}

/** The valve: sleeve, side and width. @param {Words} words @param {import("./types.js").Plain} sheet */
export function valveOf(words, sheet) {
  const valve = sheet.valve_end?.valve;
  if (!valve) return words.text("page.table.no_valve");
  return words.text("page.table.valve", {
    side: words.text(`field.valve_end.valve.side.choice.${valve.side}`),
    sleeve: words.text(`field.valve_end.valve.sleeve.choice.${valve.sleeve}`),
    width: { kind: "length", value: valve.flat_width_mm },
  });
}

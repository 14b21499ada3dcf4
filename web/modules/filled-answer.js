/**
 * The meeting table's answer to "how much does it hold", in plain words.
 *
 * @typedef {import("./types.js").FillAnswer} FillAnswer
 * @typedef {import("./types.js").Plain} Plain
 * @typedef {import("./words.js").Words} Words
 */
import { hook, put, sketch } from "./dom.js";

export class FilledAnswer {
  #words;
  root = hook("answer-holds", HTMLElement);

  /** @param {Words} words */
  constructor(words) {
    this.#words = words;
  }

  trouble() {
    this.root.dataset.verdict = "none";
    put(this.root, sketch("p", { class: "verdict" }, this.#words.text("page.filled.trouble")));
  }

  /** @param {FillAnswer} answer @param {Plain} sheet */
  show({ filled, detail }, sheet) {
    const { content, capacity } = filled;
    const { verdict, text } = content ? this.#verdict(filled, sheet) : { verdict: "none", text: "" };
    this.root.dataset.verdict = verdict;
    this.root.dataset.detail = detail;
    const amount = content?.settled ?? content?.filling;
    const answers = [this.#answer("capacity", this.#capacity(capacity))];
    if (amount?.lying) answers.push(this.#answer("lying", this.#size(amount.lying)));
    if (amount?.pressed) answers.push(this.#answer("pressed", this.#size(amount.pressed)));
    const list = sketch("dl", { class: "answers" }, ...answers);
    put(this.root, ...(content ? [sketch("p", { class: "verdict" }, text)] : []), list);
  }

  /** @param {FillAnswer["filled"]} filled @param {Plain} sheet */
  #verdict({ content, capacity, bottoms }, sheet) {
    if (!content) return { verdict: "none", text: "" };
    const { share, asked } = content.headroom;
    const verdict = share < 0 ? "stop" : asked.least <= share && share <= asked.most ? "good" : "look";
    const key = share < 0 ? "over" : share < asked.least ? "tight" : share > asked.most ? "roomy" : "good";
    const text = this.#words.text(`page.filled.holds_${key}`, {
      mass: { kind: "mass", value: content.mass_kg ?? 0 },
      product: String(sheet.contents?.product ?? ""),
      volume: { kind: "volume", value: content.filling.volume_l },
      full: { kind: "ratio", value: content.filling.ratio },
      holds: { kind: "volume", value: bottoms === "stiff" ? capacity.stiff_l : capacity.free_l },
      least: { kind: "ratio", value: 1 - asked.most },
      most: { kind: "ratio", value: 1 - asked.least },
    });
    return { verdict, text };
  }

  /** @param {FillAnswer["filled"]["capacity"]} capacity */
  #capacity({ stiff_l, free_l }) {
    return this.#words.text("page.filled.capacity", {
      stiff: { kind: "volume", value: stiff_l },
      free: { kind: "volume", value: free_l },
    });
  }

  /** @param {import("./types.js").AtRest} rest */
  #size({ thickness_mm, length_mm, width_mm }) {
    return this.#words.text("page.filled.size", {
      thickness: { kind: "length", value: Math.round(thickness_mm) },
      length: { kind: "length", value: Math.round(length_mm) },
      width: { kind: "length", value: Math.round(width_mm) },
    });
  }

  /** @param {string} name @param {string} text */
  #answer(name, text) {
    const title = sketch("dt", {}, this.#words.text(`page.filled.${name}_name`));
    return sketch("div", { "data-answer": name }, title, sketch("dd", {}, text));
  }
}

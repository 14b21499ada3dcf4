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
    const { verdict, text } = holds(this.#words, filled, sheet);
    this.root.dataset.verdict = verdict;
    this.root.dataset.detail = detail;
    const amount = content?.settled ?? content?.filling;
    const answers = [this.#answer("capacity", capacityOf(this.#words, capacity))];
    if (amount?.lying) answers.push(this.#answer("lying", sizeAtRest(this.#words, amount.lying)));
    if (amount?.pressed) answers.push(this.#answer("pressed", sizeAtRest(this.#words, amount.pressed)));
    const list = sketch("dl", { class: "answers" }, ...answers);
    put(this.root, ...(content ? [sketch("p", { class: "verdict" }, text)] : []), list);
  }

  /** @param {string} name @param {string} text */
  #answer(name, text) {
    const title = sketch("dt", {}, this.#words.text(`page.filled.${name}_name`));
    return sketch("div", { "data-answer": name }, title, sketch("dd", {}, text));
  }
}

/** Whether the contents go in, and in which words. @param {Words} words @param {FillAnswer["filled"]} filled @param {Plain} sheet */
export function holds(words, { content, capacity, bottoms }, sheet) {
  if (!content) return { verdict: "none", text: "" };
  const { share, asked } = content.headroom;
  const verdict = share < 0 ? "stop" : asked.least <= share && share <= asked.most ? "good" : "look";
  const key = share < 0 ? "over" : share < asked.least ? "tight" : share > asked.most ? "roomy" : "good";
  const text = words.text(`page.filled.holds_${key}`, {
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

/** How much goes in at most, with both limits of the bottoms. @param {Words} words @param {FillAnswer["filled"]["capacity"]} capacity */
export function capacityOf(words, { stiff_l, free_l }) {
  return words.text("page.filled.capacity", {
    stiff: { kind: "volume", value: stiff_l },
    free: { kind: "volume", value: free_l },
  });
}

/** How large a filled sack is that lies or is pressed. @param {Words} words @param {import("./types.js").AtRest} rest */
export function sizeAtRest(words, { thickness_mm, length_mm, width_mm }) {
  return words.text("page.filled.size", {
    thickness: words.round("length", thickness_mm),
    length: words.round("length", length_mm),
    width: words.round("length", width_mm),
  });
}

/**
 * The training bench: each stage with what happens, why, and what to watch; the parts by name.
 *
 * @typedef {import("./types.js").Stage} Stage
 * @typedef {import("./words.js").Words} Words
 * @typedef {{part: string, word: string, end?: string | null, ply?: number | null, side: string}} Picked
 */
import { hook, make, write } from "./dom.js";

/** Parts to light up: what the viewer calls them, in the order one meets them in folding. */
const PARTS = [
  "body-a",
  "body-b",
  "seam",
  "half-a",
  "half-b",
  "flap-a",
  "flap-b",
  "valve-end-pockets",
  "plain-end-pockets",
  "sleeve",
  "valve-end-patch",
  "plain-end-patch",
];
/** Stages after which there is something to take care of beyond the machine's moving parts. */
const CARE = /** @type {Record<string, string>} */ ({
  tube: "knives",
  "open-mouth": "machine",
  "press-pockets": "nips",
  "insert-valve": "machine",
  "fold-flaps": "jam",
  "lay-patch": "pile",
  fill: "filling",
});

/** Parts that the flat tube has not yet: the stage each comes at. */
const COMES = /** @type {Record<string, string>} */ ({
  "valve-end-pockets": "open-mouth",
  "plain-end-pockets": "open-mouth",
  sleeve: "insert-valve",
  "valve-end-patch": "lay-patch",
  "plain-end-patch": "lay-patch",
});
/** Parts that a sack may lack, and the ends that would have them. */
const OPTIONAL = /** @type {Record<string, import("./types.js").End>} */ ({
  "valve-end-patch": "valve_end",
  "plain-end-patch": "plain_end",
});

export class Lesson {
  #words;
  #onPart;
  /** @type {readonly Stage[]} */
  #stages = [];
  /** @type {Record<string, import("./types.js").Arg>} */
  #figures = {};
  /** The sack's sheet. @type {import("./types.js").Plain | null} */
  #sheet = null;
  #title = hook("lesson-title", HTMLElement);
  #number = hook("lesson-number", HTMLElement);
  #what = hook("caption-what", HTMLElement);
  #why = hook("caption-why", HTMLElement);
  #watch = hook("caption-watch", HTMLElement);
  #care = hook("caption-care", HTMLElement);
  #next = hook("lesson-next", HTMLButtonElement);
  #back = hook("lesson-back", HTMLButtonElement);
  #steps = hook("lesson-steps", HTMLElement);
  #parts = hook("parts", HTMLElement);

  /**
   * @param {object} options
   * @param {Words} options.words
   * @param {() => void} options.onNext
   * @param {() => void} options.onBack
   * @param {(stage: string) => void} options.onStage a stage is chosen by name
   * @param {(part: string | undefined) => void} options.onPart a part is pointed at by name, or none any more
   */
  constructor({ words, onNext, onBack, onStage, onPart }) {
    this.#words = words;
    this.#onPart = onPart;
    this.#next.addEventListener("click", onNext);
    this.#back.addEventListener("click", onBack);
    this.#steps.addEventListener("click", (event) => {
      const stage =
        event.target instanceof Element ? event.target.closest("[data-stage]")?.getAttribute("data-stage") : undefined;
      if (stage) onStage(stage);
    });
    this.#parts.append(...PARTS.map((part) => make("li", {}, this.#part(part))));
  }

  /**
   * @param {readonly Stage[]} stages
   * @param {Record<string, import("./types.js").Arg>} figures that captions name
   * @param {import("./types.js").Plain | null} sheet
   */
  showStages(stages, figures, sheet) {
    const same = stages.length === this.#stages.length && stages.every(({ name }, i) => name === this.#stages[i]?.name);
    this.#stages = stages;
    this.#figures = figures;
    this.#sheet = sheet;
    if (same) return;
    this.#steps.replaceChildren(
      ...stages.map(({ name }, index) =>
        make(
          "li",
          {},
          make(
            "button",
            {
              type: "button",
              "data-stage": name,
              "data-hook": "lesson-step",
              "aria-label": this.#words.text("page.bench.step", {
                number: String(index + 1),
                stage: this.#words.text(`stage.${name}`),
              }),
            },
            String(index + 1),
          ),
        ),
      ),
    );
  }

  /** @param {number} index of the stage @param {boolean} begun @param {boolean} finished */
  show(index, begun, finished) {
    const stage = this.#stages[index];
    if (!stage) return;
    const words = this.#words;
    this.#number.textContent = words.text("page.bench.number", {
      number: String(index + 1),
      count: String(this.#stages.length),
    });
    write(this.#title, words.text(`stage.${stage.name}`));
    write(this.#what, words.text(stage.captions.what, this.#figures));
    write(this.#why, words.text(stage.captions.why, this.#figures));
    write(this.#watch, words.text(stage.captions.watch, this.#figures));
    const care = CARE[stage.name];
    write(this.#care, care === undefined ? "" : words.text(`page.care.${care}`));
    this.#back.disabled = index === 0 && !begun;
    write(this.#next, words.text(finished ? "page.bench.restart" : "page.bench.next"));
    this.#showParts(index);
    for (const [i, step] of [...this.#steps.querySelectorAll("button")].entries()) {
      if (i === index) step.setAttribute("aria-current", "step");
      else step.removeAttribute("aria-current");
    }
  }

  /** What a screen reader is told of a stage. @param {number} index @param {boolean} whole caption and all */
  spoken(index, whole) {
    const stage = this.#stages[index];
    if (!stage) return "";
    const name = this.#words.text("page.bench.step", {
      number: String(index + 1),
      stage: this.#words.text(`stage.${stage.name}`),
    });
    return whole ? `${name}. ${this.#words.text(stage.captions.what, this.#figures)}` : name;
  }

  /** Says of each part that is not there when it comes, or that this sack has none. @param {number} index of the stage */
  #showParts(index) {
    for (const [part, name] of Object.entries(COMES)) {
      const place = this.#parts.querySelector(`[data-part="${part}"] .part-when`);
      if (!place) continue;
      const end = OPTIONAL[part];
      const comes = this.#stages.findIndex((stage) => stage.name === name);
      const none = end !== undefined && this.#sheet !== null && !this.#sheet[end]?.patch;
      const args = { number: String(comes + 1), stage: this.#words.text(`stage.${name}`) };
      const text = none
        ? this.#words.text("page.bench.part_none")
        : index < comes
          ? this.#words.text("page.bench.part_comes", args)
          : "";
      if (place.textContent !== text) place.textContent = text;
    }
  }

  /** A part's name in full: "Pocket, wall A, left; valve end; outermost ply, outer side". @param {Picked} picked */
  partName(picked) {
    const words = this.#words;
    const [, wall, side] = /-(a|b)(?:-(left|right))?$/.exec(picked.part) ?? [];
    const first = [words.text(picked.word)];
    if (wall) first.push(words.text(`page.pick.wall_${wall}`));
    if (side) first.push(words.text(`page.pick.${side}`));
    const rest = [];
    if (picked.end) rest.push(words.text(`page.end.${picked.end}`));
    if (typeof picked.ply === "number")
      rest.push(
        words.text(picked.ply === 0 ? "page.pick.outermost" : "page.pick.ply", { number: String(picked.ply + 1) }),
      );
    rest.push(words.text(`page.pick.side_${picked.side}`));
    return [first.join(", "), ...rest].join(" \u00b7 ");
  }

  /** @param {string} part */
  #part(part) {
    const button = make(
      "button",
      { type: "button", class: "part-name", "data-hook": "part", "data-part": part },
      make("span", { class: "part-word" }, this.#words.text(`page.bench.part.${part}.name`)),
      make("span", { class: "part-what" }, this.#words.text(`page.bench.part.${part}.what`)),
      make("span", { class: "part-when" }),
    );
    const leave = () => {
      if (!button.matches(":hover, :focus")) this.#onPart(undefined);
    };
    button.addEventListener("pointerenter", () => this.#onPart(part));
    button.addEventListener("focus", () => this.#onPart(part));
    button.addEventListener("click", () => this.#onPart(part));
    button.addEventListener("pointerleave", leave);
    button.addEventListener("blur", () => queueMicrotask(leave));
    return button;
  }
}

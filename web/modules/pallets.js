/**
 * The sack on a pallet: asked of the desk once the filled sack is known, and shown as a plain answer on the meeting table,
 * layer by layer on the drawing board.
 *
 * @typedef {import("./types.js").StackAnswer} StackAnswer
 * @typedef {import("./types.js").Stacked} Stacked
 * @typedef {import("./types.js").Plain} Plain
 * @typedef {import("./types.js").FilledMesh} FilledMesh
 * @typedef {import("../pkg/sackwright_page.js").Board} Board
 * @typedef {import("./desk.js").Desk} Desk
 * @typedef {import("./words.js").Words} Words
 */
import { hook, make, put, sketch } from "./dom.js";
import { layerPlan } from "./layer-plan.js";
import { Renewal } from "./renewal.js";

/** @typedef {Stacked["stack"]} Stack */
/** A loaded pallet as the viewer takes it. @typedef {{mesh: FilledMesh, placements: Float32Array, board: Board}} Loaded */

export class Pallets {
  #desk;
  #words;
  #way;
  #onWay;
  #onStack;
  #answer = hook("answer-pallet", HTMLElement);
  #body = hook("pallet-body", HTMLElement);
  #why = hook("pallet-why", HTMLElement);
  #plan = hook("pallet-plan", HTMLElement);
  #figures = hook("pallet-figures", HTMLElement);
  #layerNow = hook("pallet-layer-now", HTMLElement);
  #down = hook("pallet-layer-down", HTMLButtonElement);
  #up = hook("pallet-layer-up", HTMLButtonElement);
  #renewals;
  /** The card in use, as text. @type {string | undefined} */
  #card;
  /** The sheet whose filled sack is known, as text. @type {string | undefined} */
  #sheet;
  /** The stack in use. @type {Stacked | undefined} */
  #stack;
  /** All that the desk offers. @type {StackAnswer | undefined} */
  #offered;
  #ways = hook("pallet-ways", HTMLElement);
  #layer = 0;
  /** The words' key for why there is no stack, when there is none. */
  why = "page.pallet.choose";

  /**
   * @param {object} options
   * @param {Desk} options.desk
   * @param {Words} options.words
   * @param {() => string | undefined} options.way the one that a person chose, as `wayOf` tells it
   * @param {(way: string | undefined) => void} options.onWay is told of a choice, before the stack is
   * @param {(stack: Stacked | undefined) => void} options.onStack
   */
  constructor({ desk, words, way, onWay, onStack }) {
    this.#desk = desk;
    this.#words = words;
    this.#way = way;
    this.#onWay = onWay;
    this.#onStack = onStack;
    this.#renewals = [this.#answer, this.#figures].map((root) => new Renewal(root, words.text("page.pallet.renewing")));
    this.#down.addEventListener("click", () => this.#show(this.#layer - 1));
    this.#up.addEventListener("click", () => this.#show(this.#layer + 1));
    this.#say("page.pallet.choose");
  }

  /** Takes a pallet's card, which is a good one, or none. @param {string | undefined} card as text */
  hold(card) {
    if (card === this.#card) return;
    this.#card = card;
    this.#ask();
  }

  /** Takes a sheet whose filled sack is known. @param {string} sheet as text */
  take(sheet) {
    this.#sheet = sheet;
    this.#ask();
  }

  /** The stack that is shown; undefined: there is none. @returns {Stacked | undefined} */
  get stacked() {
    return this.#stack;
  }

  /** Shows the way that is chosen now, which may be another than before. */
  follow() {
    const offered = this.#offered;
    const stack = offered && this.#chosen(offered);
    if (!offered || !stack || stack === this.#stack?.stack) return;
    const at = offered.stacks.indexOf(stack);
    for (const [index, input] of this.#ways.querySelectorAll("input").entries()) input.checked = index === at;
    this.#use({ ...offered, stack });
  }

  #ask() {
    const pallet = this.#card;
    if (pallet === undefined) {
      this.#desk.cancel("pallet");
      this.#nothing("page.pallet.choose");
      return;
    }
    if (this.#sheet === undefined) return;
    for (const renewal of this.#renewals) renewal.show(0);
    this.#desk.ask(
      "pallet",
      { sheet: this.#sheet, pallet },
      {
        onPart: (answer) => this.#take(answer),
        onDone: () => {
          for (const renewal of this.#renewals) renewal.hide();
        },
        onTrouble: () => this.#nothing("page.pallet.trouble"),
      },
    );
  }

  /** @param {string} key why there is no stack */
  #nothing(key) {
    for (const renewal of this.#renewals) renewal.hide();
    this.#offered = undefined;
    if (this.#stack) {
      this.#stack = undefined;
      this.#onStack(undefined);
    }
    this.#say(key);
  }

  /** @param {string} key why there is no stack */
  #say(key) {
    this.why = key;
    this.#answer.dataset.verdict = "none";
    const text = this.#words.text(key);
    put(this.#answer, sketch("p", { class: "verdict" }, text));
    this.#none(text);
  }

  /** @param {string} why the drawing board shows no stack */
  #none(why) {
    this.#body.hidden = true;
    this.#why.hidden = false;
    this.#why.textContent = why;
  }

  /** @param {StackAnswer} answer */
  #take(answer) {
    const stack = this.#chosen(answer);
    if (!stack) {
      this.#nothing(`page.pallet.${answer.why ?? "trouble"}`);
      return;
    }
    this.#offered = answer;
    this.#offerWays(answer, stack);
    this.#use({ ...answer, stack });
  }

  /** The stack of the way that was chosen, else the one that binds best; none when nothing can be stacked. @param {StackAnswer} answer */
  #chosen({ stacks }) {
    const way = this.#way();
    return stacks.find((stack) => wayOf(stack) === way) ?? stacks[0];
  }

  /** Shows one way to stack, and has everything follow it. @param {Stacked} stacked */
  #use(stacked) {
    const words = this.#words;
    this.#stack = stacked;
    this.#onStack(stacked);
    const { stack } = stacked;
    const sits = stack.sacks > 0;
    this.#answer.dataset.verdict = sits ? "good" : "stop";
    put(
      this.#answer,
      sketch("p", { class: "verdict" }, words.text(`page.pallet.${sits ? "sits" : "no_room"}`, stackArgs(words, stacked))),
      ...(sits ? [sketch("p", { class: "help" }, words.text("page.pallet.plain"))] : []),
    );
    if (!sits) {
      this.#none(words.text("page.pallet.no_room", stackArgs(words, stacked)));
      return;
    }
    this.#body.hidden = false;
    this.#why.hidden = true;
    put(this.#figures, this.#table(stacked));
    this.#show(Math.min(this.#layer, stack.layers.length - 1));
  }

  /** The ways to stack, each in small, to choose from. @param {StackAnswer} answer @param {Stack} chosen one of them */
  #offerWays(answer, chosen) {
    const words = this.#words;
    const { stacks, pallet } = answer;
    const deck = { length_mm: Number(pallet.length_mm), width_mm: Number(pallet.width_mm) };
    this.#ways.hidden = stacks.length < 2;
    this.#ways.replaceChildren(
      make("legend", {}, words.text("page.pallet.ways", { count: String(stacks.length) })),
      ...stacks.map((stack, at) => {
        const input = make("input", { type: "radio", name: "pallet-way", value: at, "data-hook": "pallet-way" });
        input.checked = stack === chosen;
        input.addEventListener("change", () => {
          this.#onWay(at === 0 ? undefined : wayOf(stack));
          this.#use({ ...answer, stack });
        });
        const alike = stack.patterns.length < 2;
        const text = words.text(`page.pallet.${alike ? "way_alike" : "way"}`, { binding: { kind: "ratio", value: stack.binding } });
        const plans = stack.patterns.map((_, layer) => {
          const plan = layerPlan(stack, deck, layer, "");
          plan.setAttribute("aria-hidden", "true");
          return plan;
        });
        return make("label", { class: "way" }, input, make("span", { class: "way-plans" }, ...plans), make("span", {}, text));
      }),
    );
  }

  /** @param {Stacked} stacked */
  #table({ stack }) {
    const words = this.#words;
    const { looked_mm, longer_mm, wider_mm, shorter_mm, narrower_mm } = stack.leeway;
    /** @type {[string, import("./types.js").Arg][]} */
    const rows = [
      ["sacks", { kind: "count", value: stack.sacks }],
      ["per_layer", { kind: "count", value: stack.sacks_per_layer }],
      ["most_per_layer", { kind: "count", value: stack.most_per_layer }],
      ["layers", { kind: "count", value: stack.layers.length }],
      ["ended_by", { kind: "word", key: `page.pallet.ended.${stack.ended_by}` }],
      ["load", { kind: "mass", value: stack.load_kg }],
      ["gross", { kind: "mass", value: stack.gross_mass_kg }],
      ["height", { kind: "length", value: stack.total_height_mm }],
      ["over_ends", overhang(words, stack.overhang_mm.length_mm)],
      ["over_sides", overhang(words, stack.overhang_mm.width_mm)],
      ["area_used", { kind: "ratio", value: stack.area_used }],
      ["binding", { kind: "ratio", value: stack.binding }],
      ["thickness", { kind: "length", value: stack.sack.gap_mm }],
      ["longer", this.#told("or_more", longer_mm < looked_mm ? longer_mm : null, looked_mm)],
      ["wider", this.#told("or_more", wider_mm < looked_mm ? wider_mm : null, looked_mm)],
      ["shorter", this.#told("not_near", shorter_mm, looked_mm)],
      ["narrower", this.#told("not_near", narrower_mm, looked_mm)],
    ];
    return sketch(
      "table",
      {},
      sketch("caption", {}, words.text("page.pallet.figures")),
      sketch(
        "tbody",
        {},
        ...rows.map(([name, arg]) =>
          sketch(
            "tr",
            { "data-figure": name },
            sketch("th", { scope: "row" }, words.text(`page.pallet.row.${name}`)),
            sketch("td", {}, words.arg(arg)),
          ),
        ),
      ),
    );
  }

  /**
   * @param {"or_more" | "not_near"} beyond the words for what is farther than was looked
   * @param {number | null} by mm; null: farther
   * @param {number} looked mm
   * @returns {import("./types.js").Arg}
   */
  #told(beyond, by, looked) {
    if (by !== null) return { kind: "length", value: by };
    return { kind: "text", text: this.#words.text(`page.pallet.${beyond}`, { by: { kind: "length", value: looked } }) };
  }

  /** @param {number} layer from below, from 0 */
  #show(layer) {
    const { stack, pallet } = this.#stack ?? {};
    if (!stack || !pallet) return;
    this.#layer = layer;
    const text = this.#words.text("page.pallet.layer", {
      number: String(layer + 1),
      count: String(stack.layers.length),
      each: String(stack.sacks_per_layer),
    });
    this.#layerNow.textContent = text;
    this.#down.disabled = layer === 0;
    this.#up.disabled = layer === stack.layers.length - 1;
    const deck = { length_mm: Number(pallet.length_mm), width_mm: Number(pallet.width_mm) };
    this.#plan.replaceChildren(layerPlan(stack, deck, layer, text));
  }
}

/** What a stack is told with. @param {Words} words @param {Stacked} stacked @returns {Record<string, import("./types.js").Arg>} */
export function stackArgs(words, { stack, pallet }) {
  return {
    sacks: { kind: "count", value: stack.sacks },
    layers: { kind: "count", value: stack.layers.length },
    each: { kind: "count", value: stack.sacks_per_layer },
    mass: words.round("mass", stack.gross_mass_kg),
    height: words.round("length", stack.total_height_mm),
    pallet: { kind: "text", text: String(pallet.name) },
  };
}

/** How far a stack hangs over. @param {Words} words @param {number} over mm; negative: it stays within @returns {import("./types.js").Arg} */
export function overhang(words, over) {
  if (over >= 0) return { kind: "length", value: over };
  return { kind: "text", text: words.text("page.pallet.within", { by: { kind: "length", value: -over } }) };
}

/**
 * What a way to stack is told by, so that it is found again for a sack of another size: how many sacks lie how in every
 * pattern, in the order of their places.
 * @param {Stack} stack
 */
function wayOf({ patterns }) {
  return patterns.map((pattern) => pattern.map(({ quarter_turns }) => quarter_turns).join("")).join(" ");
}

/**
 * Every sack of a stack where it stands, for the viewer: the pallet's middle is the origin and its top is z = 0; the mesh has its
 * valve end towards +y and its middle at z = 0.
 * @param {Stacked} stacked
 * @returns {Loaded | undefined}
 */
export function loaded({ stack, pallet, mesh }) {
  if (!mesh) return undefined;
  const board = {
    length_mm: Number(pallet.length_mm),
    width_mm: Number(pallet.width_mm),
    height_mm: Number(pallet.height_mm),
  };
  const placements = stack.layers.flatMap(({ pattern, z_mm }) =>
    (stack.patterns[pattern] ?? []).flatMap(({ x_mm, y_mm, quarter_turns }) => [
      x_mm - board.length_mm / 2,
      y_mm - board.width_mm / 2,
      z_mm - board.height_mm + stack.sack.gap_mm / 2,
      // A stack counts from lying along x, the mesh lies along y.
      (quarter_turns + 3) % 4,
    ]),
  );
  return { mesh, placements: new Float32Array(placements), board };
}

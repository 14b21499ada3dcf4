/**
 * The drawings on the drawing board: chosen by name, moved and brought nearer, saved and printed. A dimension that is
 * touched shows its place on the model, and the other way round.
 *
 * @typedef {import("./words.js").Words} Words
 * @typedef {import("./drafter.js").Drafter} Drafter
 * @typedef {import("./drafter.js").What} What
 * @typedef {import("./placing.js").Placing} Placing
 */
import { hook, make } from "./dom.js";
import { fieldKey, fieldTrail } from "./field-names.js";
import { fileName, save } from "./files.js";
import { PanZoom } from "./pan-zoom.js";
import { fittedFigure, print } from "./paper.js";
import { OVERLAP, PAPERS, sheets, ways, windowOf } from "./tiles.js";

/** @type {readonly What[]} */
export const DRAWINGS = ["sack", "valve-bottom", "plain-bottom", "lap", "webs", "artwork"];
const LAPS = "laps";
const PLACING = "placing";

export class Drawings {
  #drafter;
  #words;
  #placing;
  #onPoint;
  #choice = hook("drawing-choice", HTMLSelectElement);
  #root = hook("drawing", HTMLElement);
  #laps = hook("laps-view", HTMLElement);
  #place = hook("placing", HTMLElement);
  #tools = hook("drawing-tools", HTMLElement);
  #out = hook("drawing-out", HTMLElement);
  #message = hook("drawing-message", HTMLElement);
  #printSize = hook("print-size", HTMLSelectElement);
  #printPart = hook("print-part", HTMLSelectElement);
  #printSheets = hook("print-sheets", HTMLElement);
  #view = new PanZoom(this.#root);
  #name = "";
  /** What the drawing on show was made from and is of. */
  #shown = "";

  /**
   * @param {object} options
   * @param {Drafter} options.drafter
   * @param {Words} options.words
   * @param {Placing} options.placing
   * @param {(place: string | undefined, title: string) => void} options.onPoint
   * @param {() => void} options.onPlacing the placing of the valve was chosen
   */
  constructor({ drafter, words, placing, onPoint, onPlacing }) {
    this.#drafter = drafter;
    this.#words = words;
    this.#placing = placing;
    this.#onPoint = onPoint;
    this.#choice.replaceChildren(
      ...[LAPS, PLACING, ...DRAWINGS].map((what) => make("option", { value: what }, words.text(`page.drawings.what.${what}`))),
    );
    this.#choice.addEventListener("change", () => {
      if (this.#choice.value === PLACING) onPlacing();
      void this.#turn();
    });
    hook("drawing-nearer", HTMLButtonElement).addEventListener("click", () => this.#view.step(1));
    hook("drawing-farther", HTMLButtonElement).addEventListener("click", () => this.#view.step(-1));
    hook("drawing-whole", HTMLButtonElement).addEventListener("click", () => this.#view.whole());
    hook("drawing-larger", HTMLButtonElement).addEventListener("click", () => this.#enlarge());
    for (const format of /** @type {const} */ (["svg", "dxf"])) {
      hook(`save-${format}`, HTMLButtonElement).addEventListener("click", () => this.#save(format));
    }
    hook("print-drawing", HTMLButtonElement).addEventListener("click", () => this.#print());
    this.#printSize.addEventListener("change", () => this.#countSheets());
    this.#printPart.addEventListener("change", () => this.#countSheets());
    for (const event of /** @type {const} */ (["pointerover", "pointerout"])) {
      this.#root.addEventListener(event, ({ target }) => this.#hover(event === "pointerover" ? target : null));
    }
    void this.#turn();
  }

  /** Shows the sack anew, when a drawing is in sight. @param {string} name of the sack */
  show(name) {
    this.#name = name;
    if (this.#what && this.#drafter.ready && this.#root.checkVisibility()) this.#draw(true);
    else this.#shown = "";
    this.#placing.show();
  }

  /** Another place to work was entered: what of the valve is to be seen on the model is another. */
  entered() {
    this.#placing.show();
  }

  /** Lights the dimensions of a place. @param {string | undefined} place */
  light(place) {
    for (const dimension of this.#root.querySelectorAll("[data-place]")) {
      dimension.classList.toggle("lit", place !== undefined && dimension.getAttribute("data-place") === place);
    }
  }

  /** A drawing fitted to a page, or to two. @param {What} what */
  fitted(what) {
    return this.#drafter.fitted(what).map((text) => fittedFigure(elementOf(text), this.#words));
  }

  /** @returns {What | undefined} */
  get #what() {
    return DRAWINGS.find((what) => what === this.#choice.value);
  }

  async #turn() {
    const what = this.#what;
    const isPlacing = this.#choice.value === PLACING;
    this.#laps.hidden = what !== undefined || isPlacing;
    this.#place.hidden = !isPlacing;
    this.#root.hidden = what === undefined;
    this.#tools.hidden = what === undefined;
    this.#out.hidden = what === undefined;
    this.#message.hidden = true;
    this.#printSheets.hidden = true;
    this.#printPart.hidden = true;
    this.#placing.show();
    if (!what && !isPlacing) return;
    if (!this.#drafter.ready) {
      this.#say("coming");
      try {
        await this.#drafter.prepare();
      } catch (error) {
        console.error(error);
        this.#say("trouble");
        return;
      }
    }
    this.#message.hidden = true;
    if (isPlacing) this.#placing.show();
    else if (what === this.#what) this.#draw(false);
  }

  /** @param {boolean} keep what is seen of it */
  #draw(keep) {
    const what = this.#what;
    if (!what) return;
    try {
      const svg = elementOf(this.#drafter.drawing(what, "svg"));
      svg.removeAttribute("width");
      svg.removeAttribute("height");
      this.#root.replaceChildren(svg);
      this.#view.show(svg, keep && this.#shown === what);
      this.#shown = what;
      this.#message.hidden = true;
      this.#countSheets();
    } catch (error) {
      console.error(error);
      this.#say("trouble");
    }
  }

  /** @param {"coming" | "trouble"} what */
  #say(what) {
    this.#message.textContent = this.#words.text(`page.drawings.${what}`);
    this.#message.hidden = false;
  }

  /** @param {EventTarget | null} target */
  #hover(target) {
    const dimension = target instanceof Element ? target.closest("[data-dim]") : null;
    this.#onPoint(dimension?.getAttribute("data-place") ?? undefined, dimension ? this.#told(dimension) : "");
  }

  /** What a dimension measures, where the words know it, and its value. @param {Element} dimension */
  #told(dimension) {
    const words = this.#words;
    const measures = dimension.getAttribute("data-measures") ?? "";
    const value = words.quantity(measures.endsWith("_deg") ? "angle" : "length", Number(dimension.getAttribute("data-value")));
    const figure = `figure.${measures.split(".").at(-1)}`;
    const name = words.has(`field.${fieldKey(measures)}.label`)
      ? fieldTrail(words, measures)
      : words.has(figure) && words.text(figure);
    return name ? words.text("page.drawings.dimension", { name, value }) : value;
  }

  #enlarge() {
    const box = this.#root.closest(".laps-box");
    const larger = box?.classList.toggle("larger") ?? false;
    hook("drawing-larger", HTMLButtonElement).textContent = this.#words.text(
      `page.drawings.${larger ? "smaller" : "larger"}`,
    );
  }

  /** @param {"svg" | "dxf"} format */
  #save(format) {
    const what = this.#what;
    if (what) save(fileName(`${this.#name} ${what}`, format), this.#drafter.drawing(what, format), TYPES[format]);
  }

  #print() {
    const what = this.#what;
    if (!what) return;
    const size = this.#printSize.value;
    if (size === "fit") {
      const figures = document.createDocumentFragment();
      figures.append(...this.fitted(what));
      print(figures);
      return;
    }
    if (size === "full") {
      const svg = elementOf(this.#drafter.drawing(what, "svg"));
      const { width, height } = svg.viewBox.baseVal;
      print(svg, { size: { width_mm: width, height_mm: height } });
    } else {
      const tiled = this.#tiled(what);
      if (!tiled) return;
      const { tiling, paper } = tiled;
      const svg = elementOf(this.#drafter.joined(what, tiling));
      const part = this.#printPart.selectedOptions[0]?.value === "all" ? undefined : this.#printPart.selectedOptions[0]?.text;
      print(sheets({ svg, tiling, paper, sack: this.#name, part }, this.#words), {
        size: { width_mm: paper.width, height_mm: paper.height },
      });
    }
  }

  /** How a drawing falls onto the sheets that are chosen; undefined when it goes onto one. @param {What} what */
  #tiled(what) {
    const paper = Object.keys(PAPERS).find((name) => name === this.#printSize.value);
    if (!paper) return undefined;
    const both = ways(/** @type {import("./tiles.js").Paper} */ (paper));
    const tiling = this.#drafter.tiles(what, both.map(windowOf), OVERLAP, this.#printPart.value);
    const lies = both[tiling.window];
    return lies && { tiling, paper: lies };
  }

  /** Offers the parts that can be printed alone; keeps what is chosen. @param {readonly string[]} names */
  #offerParts(names) {
    const words = this.#words;
    const chosen = this.#printPart.value;
    const option = (/** @type {string} */ value) => {
      const [, number, ends] = /^ply-(\d+)(-ends)?$/.exec(value) ?? [];
      const text = number
        ? words.text(`page.drawings.print_ply${ends ? "_ends" : ""}`, { number })
        : words.text(`page.drawings.print_${value.replace("-", "_")}`);
      return make("option", { value }, text);
    };
    this.#printPart.replaceChildren(...["all", ...names].map(option));
    if (names.includes(chosen)) this.#printPart.value = chosen;
  }

  /** Says how many sheets a print takes, before it is made. */
  #countSheets() {
    const tiled = this.#what && this.#drafter.ready ? this.#tiled(this.#what) : undefined;
    this.#printSheets.hidden = tiled === undefined;
    const parts = tiled?.tiling.parts ?? [];
    this.#printPart.hidden = parts.length === 0;
    this.#offerParts(parts);
    if (!tiled) return;
    const count = { kind: /** @type {const} */ ("count"), value: tiled.tiling.tiles.length };
    this.#printSheets.textContent = this.#words.text("page.drawings.tiles.count", { count });
  }
}

/** The drawing in the text of an SVG file. @param {string} text @returns {SVGSVGElement} */
function elementOf(text) {
  const { documentElement } = new DOMParser().parseFromString(text, "image/svg+xml");
  if (!(documentElement instanceof SVGSVGElement)) throw new Error("a drawing is no SVG");
  return document.adoptNode(documentElement);
}

const TYPES = { svg: "image/svg+xml", dxf: "image/vnd.dxf" };

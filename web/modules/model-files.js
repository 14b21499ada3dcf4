/**
 * The files of the model: what is shown as a solid, the sack or the loaded pallet, the whole fold as a film, crease pattern and figures. Each is made when
 * it is asked for.
 *
 * @typedef {import("./words.js").Words} Words
 * @typedef {import("./drafter.js").Drafter} Drafter
 * @typedef {import("./film.js").Film} Film
 * @typedef {"model" | "film" | "pattern" | "figures"} What
 * @typedef {keyof typeof TYPES} Ending
 */
import { hook, make } from "./dom.js";
import { fileName, save } from "./files.js";
import { FILL } from "./film.js";

/** Media types by the file's ending. */
const TYPES = { glb: "model/gltf-binary", stl: "model/stl", fold: "application/json", csv: "text/csv" };
/** @type {readonly [What, readonly Ending[]][]} */
const FILES = [
  ["model", ["glb", "stl"]],
  ["film", ["glb"]],
  ["pattern", ["fold"]],
  ["figures", ["csv"]],
];

export class ModelFiles {
  #drafter;
  #words;
  #film;
  #name;
  #shown;
  #stack;
  #onTrouble;

  /**
   * @param {object} options
   * @param {Drafter} options.drafter
   * @param {Words} options.words
   * @param {Film} options.film of the filling
   * @param {() => string} options.name of the sack
   * @param {() => {stage: string, at: number}} options.shown where the fold stands
   * @param {() => import("./pallets.js").Loaded | undefined} options.stack the loaded pallet while it is shown
   * @param {(text: string) => void} options.onTrouble
   */
  constructor({ drafter, words, film, name, shown, stack, onTrouble }) {
    this.#drafter = drafter;
    this.#words = words;
    this.#film = film;
    this.#name = name;
    this.#shown = shown;
    this.#stack = stack;
    this.#onTrouble = onTrouble;
    hook("model-files", HTMLElement).replaceChildren(
      ...FILES.map(([what, endings]) => {
        const text = words.text(`page.files.${what}`);
        return make("li", {}, make("span", {}, text), ...endings.map((ending) => this.#button(what, ending, text)));
      }),
    );
  }

  /** @param {What} what @param {Ending} ending @param {string} text */
  #button(what, ending, text) {
    const shown = ending.toUpperCase();
    const button = make(
      "button",
      { type: "button", class: "quiet", "aria-label": `${text}: ${shown}`, "data-hook": `save-${what}-${ending}` },
      shown,
    );
    button.addEventListener("click", () => void this.#save(what, ending));
    return button;
  }

  /** @param {What} what @param {Ending} ending */
  async #save(what, ending) {
    const { stage, at } = this.#shown();
    const loaded = what === "model" ? this.#stack() : undefined;
    const shown = loaded ? "pallet" : stage;
    const name = fileName(`${this.#name()} ${what === "model" ? shown : what}`, ending);
    const refuse = (/** @type {string} */ why) => this.#onTrouble(this.#words.text(`page.files.${why}`, { file: name }));
    try {
      await this.#drafter.prepare();
      const content = loaded
        ? this.#drafter.stacked(ending === "stl" ? "stl" : "glb", loaded)
        : this.#make(what, ending, stage, at);
      if (content === undefined) refuse("awaited");
      else save(name, content, TYPES[ending]);
    } catch (error) {
      console.error(error);
      refuse("trouble");
    }
  }

  /** What stands in the file; undefined while the picture is that of a sack before. @param {What} what @param {Ending} ending @param {string} stage @param {number} at */
  #make(what, ending, stage, at) {
    const drafter = this.#drafter;
    if (what === "film") return drafter.film();
    if (what === "pattern") return drafter.pattern();
    if (what === "figures") return drafter.figures();
    const format = ending === "stl" ? "stl" : "glb";
    if (stage !== FILL) return drafter.model(format, stage, at);
    const { common, old } = this.#film;
    const shot = this.#film.at(at);
    return common && shot && !old ? drafter.filled(format, shot.positions, common.mesh) : undefined;
  }
}

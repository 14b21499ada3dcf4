/**
 * The button that shows the loaded pallet in the picture instead of the sack, and the sack again.
 *
 * @typedef {import("./pallets.js").Loaded} Loaded
 */
import { hook } from "./dom.js";

export class StackPicture {
  #button = hook("show-stack", HTMLButtonElement);
  #onShow;
  #onHide;
  /** @type {Loaded | undefined} */
  #loaded;
  shown = false;

  /** What is in the picture; undefined while it is the sack. */
  get seen() {
    return this.shown ? this.#loaded : undefined;
  }

  /**
   * @param {object} options
   * @param {(loaded: Loaded) => void} options.onShow
   * @param {() => void} options.onHide
   */
  constructor({ onShow, onHide }) {
    this.#onShow = onShow;
    this.#onHide = onHide;
    this.#button.addEventListener("click", () => {
      if (this.shown) this.hide();
      else this.#show();
    });
  }

  /** @param {Loaded | undefined} loaded none: there is no stack */
  take(loaded) {
    this.#loaded = loaded;
    // It keeps its place: what lies below must not jump when the stack is there.
    this.#button.disabled = loaded === undefined;
    if (!this.shown) return;
    if (loaded) this.#onShow(loaded);
    else this.hide();
  }

  hide() {
    if (!this.shown) return;
    this.#set(false);
    this.#onHide();
  }

  #show() {
    if (!this.#loaded) return;
    this.#set(true);
    this.#onShow(this.#loaded);
  }

  /** @param {boolean} shown */
  #set(shown) {
    this.shown = shown;
    this.#button.setAttribute("aria-pressed", String(shown));
  }
}

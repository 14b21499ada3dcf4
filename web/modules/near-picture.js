/**
 * Where the parts of a place stand one below the other, as on a phone, the picture of the sack goes along as a strip at the
 * top while the valve is moved in its plan: the move and what comes of it are seen together.
 */
import { hook } from "./dom.js";

export class NearPicture {
  #stage = hook("stage", HTMLElement);
  #plan = hook("placing-plan", HTMLElement);
  /** @type {Map<Element, boolean>} */
  #inSight = new Map();
  /** @type {(() => void) | undefined} */
  #onFirst;

  /** @param {() => void} onFirst the picture goes along for the first time */
  constructor(onFirst) {
    this.#onFirst = onFirst;
    const observer = new IntersectionObserver((entries) => {
      for (const { target, isIntersecting } of entries) this.#inSight.set(target, isIntersecting);
      this.#follow();
    });
    observer.observe(this.#stage);
    observer.observe(this.#plan);
  }

  #follow() {
    const isNear = this.#inSight.get(this.#plan) === true && this.#inSight.get(this.#stage) === false;
    if (isNear === this.#stage.classList.contains("near")) return;
    // The picture leaves no gap that the page below would move into.
    this.#stage.style.minHeight = isNear ? `${this.#stage.getBoundingClientRect().height}px` : "";
    this.#stage.classList.toggle("near", isNear);
    if (isNear) {
      this.#onFirst?.();
      this.#onFirst = undefined;
    }
  }
}

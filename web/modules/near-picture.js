/**
 * Where the parts of a place stand one below the other, as on a phone, the picture of the sack goes along as a strip at the
 * top while something is worked with that it belongs to: the valve that is moved in its plan, a stage and the parts' names on
 * the training bench. What is done and what comes of it are seen together.
 */
import { hook } from "./dom.js";

/** What the picture goes along with. onFirst: it does so for the first time. @typedef {{part: HTMLElement, onFirst?: () => void}} Company */

/** The picture is in sight as long as so much of its place is. */
const ENOUGH = 0.15;

export class NearPicture {
  #stage = hook("stage", HTMLElement);
  #place = hook("picture-place", HTMLElement);
  #companies;
  /** @type {Map<Element, boolean>} */
  #inSight = new Map();

  /** @param {readonly Company[]} companies */
  constructor(companies) {
    this.#companies = companies;
    const note = (/** @type {IntersectionObserverEntry[]} */ entries) => {
      for (const { target, isIntersecting, intersectionRatio } of entries)
        this.#inSight.set(target, target === this.#place ? intersectionRatio >= ENOUGH : isIntersecting);
      this.#follow();
    };
    const observer = new IntersectionObserver(note, { threshold: [0, ENOUGH] });
    observer.observe(this.#place);
    for (const { part } of companies) observer.observe(part);
  }

  #follow() {
    const company = this.#companies.find(({ part }) => this.#inSight.get(part) === true);
    const isNear = company !== undefined && this.#inSight.get(this.#place) === false;
    this.#stage.classList.toggle("near", isNear);
    if (!isNear) return;
    company.onFirst?.();
    delete company.onFirst;
  }
}

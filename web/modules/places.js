/**
 * The three places to work, as real navigation: the place is the address's fragment, links lead there.
 *
 * @typedef {import("./types.js").Place} Place
 */
import { hook } from "./dom.js";

const PLACES = /** @type {const} */ (["table", "board", "bench"]);

export class Places {
  #words;
  #onChange;
  /** @type {Place} */
  current = "table";

  /** @param {import("./words.js").Words} words @param {(place: Place) => void} onChange */
  constructor(words, onChange) {
    this.#words = words;
    this.#onChange = onChange;
    addEventListener("hashchange", () => this.follow());
    this.follow();
  }

  /** @param {Place} place */
  go(place) {
    location.hash = place;
    this.follow();
  }

  /** Goes where the address leads. */
  follow() {
    const wanted = location.hash.slice(1);
    // Other fragments lead to a spot on the page, not to another place.
    const place = PLACES.find((name) => name === wanted) ?? (wanted === "" ? "table" : this.current);
    this.current = place;
    hook("main", HTMLElement).dataset.place = place;
    for (const panel of document.querySelectorAll("[data-place-panel]")) {
      if (panel instanceof HTMLElement) panel.hidden = panel.dataset.placePanel !== place;
    }
    for (const link of document.querySelectorAll("[data-place-link]")) {
      if (link.getAttribute("data-place-link") === place) link.setAttribute("aria-current", "page");
      else link.removeAttribute("aria-current");
    }
    const title = this.#words.text(`page.place.${place}`);
    hook("place-title", HTMLElement).textContent = title;
    document.title = this.#words.text("page.title", { place: title });
    this.#onChange(place);
  }
}

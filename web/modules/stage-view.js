/**
 * The picture with what lies over it: viewer, hands, mark, tip, look and views. Without WebGL2 it says so and the
 * rest of the page works on.
 *
 * @typedef {import("./core.js").Viewer} Viewer
 * @typedef {import("./core.js").Workshop} Workshop
 * @typedef {import("./words.js").Words} Words
 * @typedef {import("./canvas.js").Point} Point
 * @typedef {import("./film.js").Film} Film
 * @typedef {import("./types.js").FilledMesh} FilledMesh
 * @typedef {import("./pallets.js").Loaded} Loaded
 * @typedef {import("../pkg/sackwright_draft.js").SpoutSolid} SpoutSolid
 */
import { Picture } from "./canvas.js";
import { hook } from "./dom.js";
import { fileName, save } from "./files.js";
import { Marker } from "./marker.js";

const ZOOM_STEP = 1.25;

/** Fractions of the filling at which the view is open, and at which it begins to close. */
const TAKEN_UP = 0.06;
const LAID_DOWN = 0.7;

export class StageView {
  /** @type {Viewer | undefined} */
  viewer;
  #words;
  #onChange;
  #namePart;
  #marker = new Marker(hook("marker", SVGSVGElement), hook("marker-label", HTMLElement));
  #tip = hook("tip", HTMLElement);
  #message = hook("picture-message", HTMLElement);
  #thickness = hook("thickness", HTMLSelectElement);
  #plain = hook("plain", HTMLInputElement);
  /** @type {{place: string, text: string, severity: string} | undefined} */
  #pointed;
  /** What is filled in the picture, instead of the fold. @type {FilledMesh | undefined} */
  #filled;
  /** Whose sack the viewer has not been handed yet. @type {Workshop | undefined} */
  #workshop;
  #shown = false;
  #lost = false;
  #dark = false;

  /** Whether parts are named under the pointer. */
  picks = false;

  /**
   * @param {object} options
   * @param {typeof import("../pkg/sackwright_page.js").Viewer} options.Viewer
   * @param {Words} options.words
   * @param {() => void} options.onChange a frame is wanted
   * @param {(picked: NonNullable<ReturnType<Viewer["pick"]>>) => string} options.namePart
   */
  constructor({ Viewer, words, onChange, namePart }) {
    this.#words = words;
    this.#onChange = onChange;
    this.#namePart = namePart;
    const canvas = hook("canvas", HTMLCanvasElement);
    try {
      this.viewer = new Viewer(canvas);
    } catch (error) {
      console.info("no picture:", error);
      hook("picture", HTMLElement).classList.add("empty");
      this.#say("page.picture.no_webgl");
    }
    const { viewer } = this;
    if (!viewer) return;
    const picture = new Picture({
      canvas,
      viewer,
      onChange,
      onCamera: () => this.#press(undefined),
      onTouch: (point) => this.#touch(point),
      onContext: (lost) => {
        this.#lost = lost;
        this.#say(lost ? "page.picture.lost" : undefined);
      },
    });
    hook("views", HTMLElement).addEventListener("click", (event) => {
      const button = event.target instanceof Element ? event.target.closest("[data-view]") : null;
      const view = button?.getAttribute("data-view");
      if (view) this.setView(/** @type {Parameters<Viewer["setView"]>[0]} */ (view));
    });
    hook("zoom-in", HTMLButtonElement).addEventListener("click", () => picture.zoom(ZOOM_STEP));
    hook("zoom-out", HTMLButtonElement).addEventListener("click", () => picture.zoom(1 / ZOOM_STEP));
    hook("save-picture", HTMLButtonElement).addEventListener("click", () => this.#save(canvas));
    for (const control of [this.#thickness, this.#plain]) control.addEventListener("change", () => this.#look());
  }

  /** @param {Parameters<Viewer["setView"]>[0]} view */
  setView(view) {
    this.viewer?.setView(view);
    this.#press(view);
    this.#onChange();
  }

  /** @param {boolean} dark */
  setDark(dark) {
    this.#dark = dark;
    this.#look();
  }

  /** @param {Workshop} workshop with a good sack */
  setSack(workshop) {
    this.#workshop = workshop;
    // What is filled stays in sight until the new sack is filled.
    if (!this.#filled) this.#settle();
    this.#shown = true;
    this.#onChange();
  }

  /** @param {string} stage of the fold @param {number} at fraction */
  setPose(stage, at) {
    this.#unfill();
    this.viewer?.setPose(stage, at);
  }

  /** A frame of the filling. @param {Film} film @param {number} at fraction of its stage */
  setFilling(film, at) {
    const { viewer } = this;
    const shot = film.at(at);
    if (!viewer || !film.common || !shot) return;
    const { mesh, spout, reach } = film.common;
    if (this.#filled !== mesh) {
      // That of the sack before is no picture of this one.
      if (film.old) return;
      this.#settle();
      viewer.setFilled(mesh, reach, spout);
      this.#filled = mesh;
    }
    // The view goes with the frame that is shown, also while the one that is wanted is still to come.
    viewer.setFilledPositions(shot.positions, shot.spout, opened(shot.at));
  }

  /** The loaded pallet. @param {Loaded} loaded */
  setStack({ mesh, placements, board }) {
    this.#settle();
    this.viewer?.setStack(mesh, placements, board);
    this.#filled = mesh;
    this.#onChange();
  }

  /** What is printed on it; undefined: nothing. @param {HTMLCanvasElement | undefined} print */
  setArtwork(print) {
    this.viewer?.setArtwork(print);
    this.#onChange();
  }

  /** The filling line's spout in the valve; undefined: none. @param {SpoutSolid | undefined} spout */
  setSpout(spout) {
    if (spout) this.viewer?.setSpout(spout.positions, spout.normals, spout.triangles, spout.within, spout.touches);
    else this.viewer?.clearSpout();
    this.#onChange();
  }

  /** The fold again. */
  #unfill() {
    if (this.#filled) this.viewer?.clearFilled();
    this.#filled = undefined;
    this.#settle();
  }

  /** Hands the viewer the sack that waited. */
  #settle() {
    if (this.#workshop) this.viewer?.setSack(this.#workshop);
    this.#workshop = undefined;
  }

  /** Lights up a place or part and leads a label to it; undefined: none. @param {{place: string, text: string, severity: string} | undefined} pointed */
  point(pointed) {
    this.#pointed = pointed;
    this.viewer?.highlight(pointed?.place);
    if (!pointed) this.#marker.hide();
    this.#onChange();
  }

  /** One frame, if anything changed. */
  draw() {
    const { viewer } = this;
    if (!viewer || this.#lost || !this.#shown) return;
    if (viewer.draw() && performance.getEntriesByName("first-picture").length === 0) performance.mark("first-picture");
    const anchor = this.#pointed && viewer.anchor(this.#pointed.place);
    if (this.#pointed && anchor) this.#marker.show(anchor, this.#pointed.text, this.#pointed.severity);
    else this.#marker.hide();
  }

  /** Shows which view was chosen; none once the camera has been moved. @param {string | undefined} view */
  #press(view) {
    for (const button of hook("views", HTMLElement).querySelectorAll("[data-view]"))
      button.setAttribute("aria-pressed", String(button.getAttribute("data-view") === view));
  }

  #look(dark = this.#dark) {
    this.viewer?.setLook({ dark, thickness: Number(this.#thickness.value), plain: this.#plain.checked });
    this.#onChange();
  }

  /** The picture as it is seen, as a file. @param {HTMLCanvasElement} canvas */
  #save(canvas) {
    // What is saved is what lies in the canvas now.
    if (this.#shown && !this.#lost) this.viewer?.drawAnew();
    const name = hook("sack-name", HTMLElement).textContent ?? "";
    canvas.toBlob((picture) => picture && save(fileName(name, "png"), picture, picture.type));
  }

  /** The picture as it is seen, by daylight as paper wants it, as the address of a PNG; undefined: there is none. */
  printed() {
    const { viewer } = this;
    if (!viewer || !this.#shown || this.#lost) return undefined;
    this.#look(false);
    viewer.drawAnew();
    const url = hook("canvas", HTMLCanvasElement).toDataURL();
    this.#look();
    return url;
  }

  /** @param {Point | undefined} point */
  #touch(point) {
    if (!this.picks || !this.viewer) return;
    const picked = point && this.viewer.pick(point.x, point.y);
    this.viewer.highlight(picked?.part);
    this.#onChange();
    this.#tip.hidden = !picked;
    if (!picked || !point) return;
    const text = this.#namePart(picked);
    if (this.#tip.textContent !== text) this.#tip.textContent = text;
    const room = this.#tip.offsetParent?.clientWidth ?? 0;
    const x = Math.min(Math.max(point.x - this.#tip.offsetWidth / 2, 4), Math.max(4, room - this.#tip.offsetWidth - 4));
    const above = point.y - this.#tip.offsetHeight - 18;
    this.#tip.style.translate = `${x}px ${above < 4 ? point.y + 24 : above}px`;
  }

  /** @param {string | undefined} key */
  #say(key) {
    this.#message.hidden = key === undefined;
    this.#message.textContent = key === undefined ? "" : this.#words.text(key);
  }
}

/**
 * How far the view is open: from the flat sack, 0, to where the filling leads it, 1, and closed again to the pressed sack, 2. A
 * camera that steps back while the sack is taken up, and comes near when it lies.
 * @param {number} at fraction of the filling
 */
function opened(at) {
  return eased(Math.min(at / TAKEN_UP, 1)) + eased(Math.max((at - LAID_DOWN) / (1 - LAID_DOWN), 0));
}

/** @param {number} way 0 to 1 */
function eased(way) {
  return way * way * (3 - 2 * way);
}

/**
 * Hands on the picture: pointers, wheel and keys turn into orbit, pan and zoom of the viewer; size and context loss
 * are passed on. Angles and distances are the viewer's business.
 *
 * @typedef {import("../pkg/sackwright_page.js").Viewer} Viewer
 * @typedef {{x: number, y: number}} Point px on the canvas
 */

/** Finer than this the eye sees no gain, and software rendering pays for every pixel. */
const MOST_PIXEL_RATIO = 2;
const KEY_ORBIT_PX = 24;
const KEY_ZOOM = 1.15;
/** A press that moves less than this is a touch, not a drag. */
const TOUCH_PX = 6;

export class Picture {
  #canvas;
  #viewer;
  #onChange;
  #onTouch;
  #onCamera;
  /** @type {Map<number, Point>} */
  #down = new Map();
  #moved = 0;
  #panning = false;

  /**
   * @param {object} options
   * @param {HTMLCanvasElement} options.canvas
   * @param {Viewer} options.viewer
   * @param {() => void} options.onChange the picture is to be drawn again
   * @param {() => void} options.onCamera a hand has moved the camera
   * @param {(point: Point | undefined) => void} options.onTouch what is under the pointer: hovered, or touched without a drag
   * @param {(lost: boolean) => void} options.onContext the graphics context went away or came back
   */
  constructor({ canvas, viewer, onChange, onCamera, onTouch, onContext }) {
    this.#canvas = canvas;
    this.#viewer = viewer;
    this.#onChange = onChange;
    this.#onTouch = onTouch;
    this.#onCamera = onCamera;
    canvas.addEventListener("pointerdown", (event) => this.#press(event));
    canvas.addEventListener("pointermove", (event) => this.#move(event));
    canvas.addEventListener("pointerup", (event) => this.#release(event));
    canvas.addEventListener("pointercancel", (event) => this.#down.delete(event.pointerId));
    canvas.addEventListener("pointerleave", () => this.#down.size === 0 && onTouch(undefined));
    canvas.addEventListener("contextmenu", (event) => event.preventDefault());
    canvas.addEventListener("wheel", (event) => this.#wheel(event), { passive: false });
    canvas.addEventListener("keydown", (event) => this.#key(event));
    canvas.addEventListener("webglcontextlost", (event) => {
      // Without this the browser never gives the context back.
      event.preventDefault();
      viewer.lost();
      onContext(true);
    });
    canvas.addEventListener("webglcontextrestored", () => {
      viewer.restore();
      onContext(false);
      onChange();
    });
    new ResizeObserver(() => this.#resize()).observe(canvas);
    this.#watchPixelRatio();
    this.#resize();
  }

  /** @param {number} factor above 1: nearer */
  zoom(factor) {
    this.#viewer.zoom(factor);
    this.#turned();
  }

  #turned() {
    this.#onCamera();
    this.#onChange();
  }

  #resize() {
    const { clientWidth: width, clientHeight: height } = this.#canvas;
    if (width === 0 || height === 0) return;
    this.#viewer.resize(width, height, Math.min(devicePixelRatio, MOST_PIXEL_RATIO));
    this.#onChange();
  }

  #watchPixelRatio() {
    matchMedia(`(resolution: ${devicePixelRatio}dppx)`).addEventListener(
      "change",
      () => {
        this.#resize();
        this.#watchPixelRatio();
      },
      { once: true },
    );
  }

  /** @param {PointerEvent} event */
  #press(event) {
    this.#canvas.setPointerCapture(event.pointerId);
    if (this.#down.size === 0) {
      this.#moved = 0;
      this.#panning = event.button === 2 || event.button === 1 || event.shiftKey;
    }
    this.#down.set(event.pointerId, point(event));
  }

  /** @param {PointerEvent} event */
  #move(event) {
    const before = this.#down.get(event.pointerId);
    const now = point(event);
    if (!before) {
      if (event.pointerType !== "touch") this.#onTouch(now);
      return;
    }
    const others = [...this.#down].filter(([id]) => id !== event.pointerId).map(([, at]) => at);
    const dx = now.x - before.x;
    const dy = now.y - before.y;
    this.#moved += Math.hypot(dx, dy);
    this.#down.set(event.pointerId, now);
    const [other] = others;
    if (other) {
      // Each of the two fingers carries half of the pan.
      this.#viewer.pan(dx / 2, dy / 2);
      const [was, is] = [distance(before, other), distance(now, other)];
      if (was > 0 && is > 0) this.#viewer.zoom(is / was, (now.x + other.x) / 2, (now.y + other.y) / 2);
    } else if (this.#panning) {
      this.#viewer.pan(dx, dy);
    } else {
      this.#viewer.orbit(dx, dy);
    }
    this.#turned();
  }

  /** @param {PointerEvent} event */
  #release(event) {
    this.#down.delete(event.pointerId);
    if (this.#down.size === 0 && this.#moved < TOUCH_PX) this.#onTouch(point(event));
  }

  /** @param {WheelEvent} event */
  #wheel(event) {
    event.preventDefault();
    // Lines and pages of a wheel, in px.
    const unit =
      event.deltaMode === WheelEvent.DOM_DELTA_PIXEL ? 1 : event.deltaMode === WheelEvent.DOM_DELTA_LINE ? 16 : 400;
    this.#viewer.zoom(Math.exp(-event.deltaY * unit * (event.ctrlKey ? 0.01 : 0.0015)), event.offsetX, event.offsetY);
    this.#turned();
  }

  /** @param {KeyboardEvent} event */
  #key(event) {
    if (event.altKey || event.ctrlKey || event.metaKey) return;
    /** @type {Record<string, [number, number]>} */
    const turns = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
    const turn = turns[event.key];
    if (turn) {
      const [dx, dy] = [turn[0] * KEY_ORBIT_PX, turn[1] * KEY_ORBIT_PX];
      if (event.shiftKey) this.#viewer.pan(dx, dy);
      else this.#viewer.orbit(dx, dy);
    } else if (event.key === "+" || event.key === "=") {
      this.#viewer.zoom(KEY_ZOOM);
    } else if (event.key === "-") {
      this.#viewer.zoom(1 / KEY_ZOOM);
    } else {
      return;
    }
    event.preventDefault();
    this.#turned();
  }
}

/** @param {PointerEvent} event @returns {Point} */
function point(event) {
  return { x: event.offsetX, y: event.offsetY };
}

/** @param {Point} a @param {Point} b */
function distance(a, b) {
  return Math.hypot(a.x - b.x, a.y - b.y);
}

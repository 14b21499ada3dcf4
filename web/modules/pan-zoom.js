/**
 * A drawing that is moved and brought nearer by mouse, touch and keyboard: what is seen of it is its view box.
 *
 * @typedef {{x: number, y: number, width: number, height: number}} Box
 */

/** How near one may come: the drawing this many times as large as when it is seen whole. */
const NEAREST = 60;
const STEP = 1.25;
/** Share of what is seen that an arrow key moves. */
const STRIDE = 0.12;

export class PanZoom {
  #root;
  /** @type {SVGSVGElement | undefined} */
  #svg;
  /** @type {Box} */
  #whole = { x: 0, y: 0, width: 1, height: 1 };
  /** @type {Box} */
  #seen = this.#whole;
  /** Of the root, px. */
  #size = { width: 1, height: 1 };
  /** @type {Map<number, {x: number, y: number}>} */
  #pointers = new Map();

  /** @param {HTMLElement} root holds the drawing */
  constructor(root) {
    this.#root = root;
    root.addEventListener("pointerdown", (event) => this.#down(event));
    root.addEventListener("pointermove", (event) => this.#move(event));
    for (const end of /** @type {const} */ (["pointerup", "pointercancel"])) {
      root.addEventListener(end, ({ pointerId }) => this.#pointers.delete(pointerId));
    }
    root.addEventListener(
      "wheel",
      (event) => {
        event.preventDefault();
        this.#zoom(Math.exp(-event.deltaY * 0.0015), this.#at(event.clientX, event.clientY));
      },
      { passive: false },
    );
    root.addEventListener("keydown", (event) => this.#key(event));
    new ResizeObserver(() => {
      if (root.clientWidth === 0) return;
      this.#size = { width: root.clientWidth, height: root.clientHeight };
      this.#apply();
    }).observe(root);
  }

  /** @param {SVGSVGElement} svg @param {boolean} keep what is seen, when it is the same drawing anew */
  show(svg, keep) {
    const { x, y, width, height } = svg.viewBox.baseVal;
    const whole = { x, y, width, height };
    const share = { x: width / this.#whole.width, y: height / this.#whole.height };
    const seen = this.#seen;
    this.#svg = svg;
    for (const group of svg.querySelectorAll("g[stroke-width]")) keepVisible(/** @type {SVGGElement} */ (group));
    this.#whole = whole;
    this.#seen = keep
      ? { x: seen.x * share.x, y: seen.y * share.y, width: seen.width * share.x, height: seen.height * share.y }
      : whole;
    this.#apply();
  }

  whole() {
    this.#seen = this.#whole;
    this.#apply();
  }

  /** @param {1 | -1} way nearer or farther */
  step(way) {
    this.#zoom(STEP ** way, this.#middle());
  }

  /** @param {PointerEvent} event */
  #down(event) {
    if (event.button !== 0) return;
    this.#pointers.set(event.pointerId, { x: event.clientX, y: event.clientY });
    this.#root.setPointerCapture(event.pointerId);
  }

  /** @param {PointerEvent} event */
  #move(event) {
    const before = this.#pointers.get(event.pointerId);
    if (!before) return;
    const now = { x: event.clientX, y: event.clientY };
    const other = [...this.#pointers].find(([id]) => id !== event.pointerId)?.[1];
    this.#pointers.set(event.pointerId, now);
    const [from, to] = [this.#at(before.x, before.y), this.#at(now.x, now.y)];
    if (other) {
      const apart = (/** @type {{x: number, y: number}} */ one) => Math.hypot(one.x - other.x, one.y - other.y);
      if (apart(before) > 0) this.#zoom(apart(now) / apart(before), this.#at(other.x, other.y));
      return;
    }
    this.#seen = { ...this.#seen, x: this.#seen.x + from.x - to.x, y: this.#seen.y + from.y - to.y };
    this.#apply();
  }

  /** @param {KeyboardEvent} event */
  #key(event) {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const moves = /** @type {Record<string, [number, number]>} */ ({
      ArrowLeft: [-1, 0],
      ArrowRight: [1, 0],
      ArrowUp: [0, -1],
      ArrowDown: [0, 1],
    });
    const move = moves[event.key];
    if (move) {
      const { x, y, width, height } = this.#seen;
      this.#seen = { x: x + move[0] * STRIDE * width, y: y + move[1] * STRIDE * height, width, height };
      this.#apply();
    } else if (event.key === "+" || event.key === "=") this.step(1);
    else if (event.key === "-") this.step(-1);
    else if (event.key === "0") this.whole();
    else return;
    event.preventDefault();
  }

  /** @param {number} factor above 1: nearer @param {{x: number, y: number}} at stays where it is */
  #zoom(factor, at) {
    const { x, y, width, height } = this.#seen;
    const most = this.#whole.width / width;
    const bounded = Math.min(Math.max(factor, 0.8 / most), NEAREST / most);
    this.#seen = {
      x: at.x - (at.x - x) / bounded,
      y: at.y - (at.y - y) / bounded,
      width: width / bounded,
      height: height / bounded,
    };
    this.#apply();
  }

  #apply() {
    const { x, y, width, height } = this.#seen;
    this.#svg?.setAttribute("viewBox", [x, y, width, height].map((value) => value.toFixed(3)).join(" "));
    const pixel = Math.max(width / this.#size.width, height / this.#size.height);
    this.#svg?.style.setProperty("--pixel", pixel.toFixed(4));
  }

  #middle() {
    const { x, y, width, height } = this.#seen;
    return { x: x + width / 2, y: y + height / 2 };
  }

  /** A point of the window in the drawing's mm. @param {number} x @param {number} y */
  #at(x, y) {
    const matrix = this.#svg?.getScreenCTM();
    if (!matrix) return this.#middle();
    return new DOMPoint(x, y).matrixTransform(matrix.inverse());
  }
}

/** Width of the widest lines, px, from where the drawing is too small for their own. */
const WIDEST_PX = 0.9;
const LEAST_PX = 0.4;
/** Lines that wide, mm, or wider are the widest. */
const WIDE_MM = 0.35;

/**
 * Lines do not get thinner than what a screen shows evenly; `--pixel` are the drawing's mm of a px.
 * @param {SVGGElement} group lines of one width
 */
function keepVisible(group) {
  const mm = Number(group.getAttribute("stroke-width"));
  const least = group.classList.contains("hatch") ? LEAST_PX : Math.max(LEAST_PX, WIDEST_PX * Math.min(mm / WIDE_MM, 1));
  group.style.strokeWidth = `max(${mm}px, calc(var(--pixel) * ${least}px))`;
}

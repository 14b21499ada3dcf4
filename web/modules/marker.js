/** A mark on the picture with a leader to a label: where on the sack the finding or part is that is pointed at. */
import { makeSvg } from "./dom.js";

/** Distance of the label from the picture's edge, px. */
const EDGE = 14;

export class Marker {
  #layer;
  #label;
  #leader = makeSvg("line", { class: "leader" });
  #ring = makeSvg("circle", { r: 9, class: "ring" });
  #dot = makeSvg("circle", { r: 3, class: "dot" });

  /**
   * @param {SVGSVGElement} layer over the picture
   * @param {HTMLElement} label over the picture
   */
  constructor(layer, label) {
    this.#layer = layer;
    this.#label = label;
    layer.append(this.#leader, this.#ring, this.#dot);
    this.hide();
  }

  hide() {
    this.#layer.classList.remove("on");
    this.#label.hidden = true;
  }

  /**
   * @param {{x: number, y: number, visible: boolean}} anchor px on the picture; not visible: behind paper
   * @param {string} text
   * @param {string} severity or "part"
   */
  show(anchor, text, severity) {
    const width = this.#layer.clientWidth;
    const height = this.#layer.clientHeight;
    const x = Math.min(Math.max(anchor.x, 0), width);
    const y = Math.min(Math.max(anchor.y, 0), height);
    if (this.#label.textContent !== text) this.#label.textContent = text;
    this.#label.dataset.severity = severity;
    this.#label.hidden = false;
    const right = x < width / 2;
    const box = { width: this.#label.offsetWidth, height: this.#label.offsetHeight };
    const left = right ? width - box.width - EDGE : EDGE;
    const top = Math.min(Math.max(y - height * 0.18 - box.height, EDGE), height - box.height - EDGE);
    this.#label.style.translate = `${left}px ${top}px`;
    const from = { x: right ? left : left + box.width, y: top + box.height / 2 };
    set(this.#leader, { x1: from.x, y1: from.y, x2: x, y2: y });
    set(this.#ring, { cx: x, cy: y });
    set(this.#dot, { cx: x, cy: y });
    this.#layer.classList.add("on");
    this.#layer.classList.toggle("behind", !anchor.visible);
  }
}

/** @param {Element} element @param {Record<string, number>} attributes */
function set(element, attributes) {
  for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, String(value));
}

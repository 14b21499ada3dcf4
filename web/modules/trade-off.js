/**
 * What sizes cost against what they bring, drawn: paper in a sack against sacks on the pallet. Every candidate is a
 * dot, those of the table are marks that can be pointed at and picked by mouse, finger and keyboard; the front is a line.
 *
 * @typedef {import("./types.js").SizingRow} SizingRow
 * @typedef {import("./types.js").SizingFound} SizingFound
 * @typedef {import("./words.js").Words} Words
 */
import { make, makeSvg } from "./dom.js";
import { inSystem } from "./measures.js";

/** px. */
const MARGIN = { top: 12, right: 18, bottom: 46, left: 52 };
const LEAST_WIDTH = 260;
const HEIGHT = { least: 240, most: 340, of_width: 0.55 };
const MARK = 6;
/** How near a pointer has to come to a mark, px. */
const REACH = 26;
/** Room that is left at the ends of an axis, as a share of it. */
const ROOM = 0.06;
const TICK_EVERY = { x: 90, y: 48 };

export class TradeOff {
  #root;
  #words;
  #onPoint;
  #onPick;
  #svg;
  #label;
  /** @type {SizingFound | undefined} */
  #found;
  /** By rising paper, as the keyboard goes through them. @type {{row: SizingRow, x: number, y: number, mark: SVGElement}[]} */
  #marks = [];
  /** @type {SizingRow | undefined} */
  #lit;
  /** @type {SizingRow | undefined} */
  #picked;

  /**
   * @param {object} options
   * @param {HTMLElement} options.root
   * @param {Words} options.words
   * @param {(row: SizingRow | undefined) => void} options.onPoint a candidate is pointed at, or none any more
   * @param {(row: SizingRow) => void} options.onPick
   */
  constructor({ root, words, onPoint, onPick }) {
    this.#root = root;
    this.#words = words;
    this.#onPoint = onPoint;
    this.#onPick = onPick;
    this.#svg = makeSvg("svg", { class: "trade-off", role: "listbox", tabindex: 0, "data-hook": "trade-off" });
    this.#label = make("p", { class: "trade-off-label", "aria-hidden": "true" });
    this.#label.hidden = true;
    root.append(this.#svg, this.#label);
    const at = (/** @type {PointerEvent} */ event) => this.#nearest(event)?.row;
    this.#svg.addEventListener("pointermove", (event) => this.#point(at(event)));
    this.#svg.addEventListener("pointerleave", () => this.#point(undefined));
    this.#svg.addEventListener("click", (event) => this.#pick(at(/** @type {PointerEvent} */ (event))));
    this.#svg.addEventListener("keydown", (event) => this.#key(event));
    this.#svg.addEventListener("blur", () => this.#point(undefined));
    new ResizeObserver(() => this.#draw()).observe(root);
  }

  /** @param {SizingFound} found @param {SizingRow | undefined} picked */
  show(found, picked) {
    this.#found = found;
    this.#picked = picked;
    this.#draw();
  }

  /** Marks a candidate that is pointed at elsewhere. @param {SizingRow | undefined} row */
  light(row) {
    this.#lit = row;
    for (const { row: own, mark } of this.#marks) mark.classList.toggle("lit", own === row);
    const lit = this.#marks.find(({ row: own }) => own === row);
    this.#label.hidden = lit === undefined;
    if (lit) {
      this.#svg.setAttribute("aria-activedescendant", lit.mark.id);
      this.#label.textContent = this.#name(lit.row);
      // Within the picture, on the side that has more room.
      const right = lit.x > this.#root.clientWidth / 2;
      this.#label.style.insetInlineStart = right ? "auto" : `${lit.x + 12}px`;
      this.#label.style.insetInlineEnd = right ? `${this.#root.clientWidth - lit.x + 12}px` : "auto";
      this.#label.style.insetBlockStart = `${Math.max(lit.y - 34, 0)}px`;
    } else this.#svg.removeAttribute("aria-activedescendant");
  }

  #draw() {
    const width = Math.max(this.#root.clientWidth, LEAST_WIDTH);
    if (!this.#found || this.#root.clientWidth === 0) return;
    // Where what stands beside it is higher, it takes that height.
    const least = Math.min(Math.max(width * HEIGHT.of_width, HEIGHT.least), HEIGHT.most);
    this.#root.style.minBlockSize = `${least}px`;
    const height = Math.max(this.#root.clientHeight, least);
    const { table, spread } = this.#found;
    const words = this.#words;
    const rows = table.rows.filter(({ on_pallet }) => on_pallet !== null);
    const gram = inSystem("g", 1, words.system).value;
    const [papers, counts] = [0, 1].map((part) => Array.from({ length: spread.length / 3 }, (_, at) => spread[3 * at + part] ?? 0));
    const x = axis(extent(papers ?? [], gram), [MARGIN.left, width - MARGIN.right], TICK_EVERY.x, false);
    const y = axis(extent(counts ?? [], 1), [height - MARGIN.bottom, MARGIN.top], TICK_EVERY.y, true);
    const place = (/** @type {SizingRow} */ { paper_g, on_pallet }) => ({ x: x.px(paper_g * gram), y: y.px(on_pallet?.sacks ?? 0) });
    this.#marks = rows
      .map((row) => ({ row, ...place(row), mark: this.#mark(row, place(row)) }))
      .sort((a, b) => a.x - b.x || b.y - a.y);
    this.#svg.setAttribute("viewBox", `0 0 ${width} ${height}`);
    this.#svg.setAttribute("width", String(width));
    this.#svg.setAttribute("height", String(height));
    this.#svg.setAttribute("aria-label", words.text("page.sizing.chart", { count: String(rows.length) }));
    const dots = (/** @type {boolean} */ stops) => {
      let path = "";
      for (let at = 0; at < spread.length; at += 3) {
        if ((spread[at + 2] ?? 0) > 0 === stops)
          path += `M${x.px((spread[at] ?? 0) * gram).toFixed(1)} ${y.px(spread[at + 1] ?? 0).toFixed(1)}h0`;
      }
      return makeSvg("path", { class: stops ? "dots stopped" : "dots", d: path });
    };
    this.#svg.replaceChildren(
      makeSvg("g", { class: "axes", "aria-hidden": "true" }, ...this.#axes(x, y, width, height)),
      makeSvg("g", { "aria-hidden": "true" }, dots(true), dots(false), this.#front(rows.filter(({ on_front }) => on_front).map(place))),
      ...this.#marks.map(({ mark }) => mark),
    );
    this.light(this.#lit);
  }

  /** @param {ReturnType<typeof axis>} x @param {ReturnType<typeof axis>} y @param {number} width @param {number} height */
  #axes(x, y, width, height) {
    const words = this.#words;
    const [left, bottom] = [MARGIN.left, height - MARGIN.bottom];
    const text = (/** @type {string} */ content, /** @type {Record<string, string | number>} */ attributes) => {
      const made = makeSvg("text", attributes);
      made.textContent = content;
      return made;
    };
    return [
      ...x.ticks.map((value) => makeSvg("path", { class: "grid", d: `M${x.px(value)} ${bottom}V${MARGIN.top}` })),
      ...y.ticks.map((value) => makeSvg("path", { class: "grid", d: `M${left} ${y.px(value)}H${width - MARGIN.right}` })),
      makeSvg("path", { class: "axis", d: `M${left} ${MARGIN.top}V${bottom}H${width - MARGIN.right}` }),
      ...x.ticks.map((value) => text(words.number(value, 2), { x: x.px(value), y: bottom + 17, "text-anchor": "middle" })),
      ...y.ticks.map((value) => text(words.number(value, 0), { x: left - 7, y: y.px(value) + 4, "text-anchor": "end" })),
      text(words.text("page.sizing.axis_paper", { unit: words.unit("g") }), {
        class: "axis-name",
        x: (left + width - MARGIN.right) / 2,
        y: height - 8,
        "text-anchor": "middle",
      }),
      text(words.text("page.sizing.axis_pallet"), {
        class: "axis-name",
        x: -(MARGIN.top + bottom) / 2,
        y: 14,
        "text-anchor": "middle",
        transform: "rotate(-90)",
      }),
    ];
  }

  /** What puts more on the pallet costs more paper from here on: steps. @param {{x: number, y: number}[]} points */
  #front(points) {
    const sorted = [...points].sort((a, b) => a.x - b.x);
    const path = sorted.map(({ x, y }, at) => (at === 0 ? `M${x} ${y}` : `H${x}V${y}`)).join("");
    return makeSvg("path", { class: "front", d: path });
  }

  /** @param {SizingRow} row @param {{x: number, y: number}} at */
  #mark(row, at) {
    const kind = [row.on_front ? "of-front" : "", row.confirmed ? "confirmed" : "", row.findings.stop > 0 ? "stopped" : ""];
    const shape = row.on_front
      ? makeSvg("path", { d: `M0 ${-1.35 * MARK}L${1.35 * MARK} 0 0 ${1.35 * MARK} ${-1.35 * MARK} 0z` })
      : makeSvg("circle", { r: MARK });
    return makeSvg(
      "g",
      {
        class: ["mark", ...kind].join(" ").trim(),
        id: `size-${row.face_width_mm}-${row.length_mm}-${row.bottom_width_mm}`.replaceAll(".", "_"),
        role: "option",
        transform: `translate(${at.x} ${at.y})`,
        "aria-selected": String(row === this.#picked),
        "aria-label": this.#name(row),
      },
      shape,
    );
  }

  /** @param {SizingRow} row */
  #name({ face_width_mm, length_mm, bottom_width_mm, paper_g, on_pallet, confirmed }) {
    const words = this.#words;
    return words.text(confirmed ? "page.sizing.mark" : "page.sizing.mark_estimated", {
      size: [face_width_mm, length_mm, bottom_width_mm].map((mm) => words.bare("length", mm)).join("\u2009\u00d7\u2009"),
      paper: { kind: "mass_small", value: paper_g },
      sacks: { kind: "count", value: on_pallet?.sacks ?? 0 },
    });
  }

  /** @param {PointerEvent} event */
  #nearest(event) {
    const box = this.#svg.getBoundingClientRect();
    const [x, y] = [event.clientX - box.left, event.clientY - box.top];
    const far = (/** @type {{x: number, y: number}} */ mark) => Math.hypot(mark.x - x, mark.y - y);
    const near = this.#marks.filter((mark) => far(mark) <= REACH);
    return near.sort((a, b) => far(a) - far(b))[0];
  }

  /** @param {SizingRow | undefined} row */
  #point(row) {
    if (row === this.#lit) return;
    this.light(row);
    this.#onPoint(row);
  }

  /** @param {SizingRow | undefined} row */
  #pick(row) {
    if (!row) return;
    this.#picked = row;
    for (const { row: own, mark } of this.#marks) mark.setAttribute("aria-selected", String(own === row));
    this.#onPick(row);
  }

  /** @param {KeyboardEvent} event */
  #key(event) {
    const at = this.#marks.findIndex(({ row }) => row === (this.#lit ?? this.#picked));
    const last = this.#marks.length - 1;
    const to = { ArrowRight: at + 1, ArrowUp: at + 1, ArrowLeft: at - 1, ArrowDown: at - 1, Home: 0, End: last }[event.key];
    if (to !== undefined) this.#point(this.#marks[Math.min(Math.max(to, 0), last)]?.row);
    else if (event.key === "Enter" || event.key === " ") this.#pick(this.#lit);
    else return;
    event.preventDefault();
  }
}

/** @param {readonly number[]} values @param {number} unit @returns {[number, number]} */
function extent(values, unit) {
  let [least, most] = [Infinity, -Infinity];
  for (const value of values) [least, most] = [Math.min(least, value * unit), Math.max(most, value * unit)];
  return least <= most ? [least, most] : [0, 1];
}

/**
 * From values to px, with round values for the ticks.
 * @param {[number, number]} values the least and the most
 * @param {[number, number]} px where they lie
 * @param {number} every px between ticks, at least
 * @param {boolean} whole values are whole numbers
 */
function axis([least, most], [from, to], every, whole) {
  const room = Math.max((most - least) * ROOM, whole ? 1 : most * 0.01);
  const [low, high] = [Math.max(least - room, 0), most + room];
  const rough = ((high - low) * every) / Math.abs(to - from);
  const power = 10 ** Math.floor(Math.log10(rough));
  const step = [1, 2, 5, 10].map((digit) => digit * power).find((step) => step >= rough && (!whole || step >= 1)) ?? rough;
  const ticks = [];
  for (let tick = Math.ceil(low / step); tick * step <= high; tick += 1) ticks.push(tick * step);
  return { ticks, px: (/** @type {number} */ value) => from + ((value - low) / (high - low)) * (to - from) };
}

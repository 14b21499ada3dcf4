/**
 * The lap map as a cross-section of each bottom: the flap folded first below with its stair of plies, the flap folded
 * last above it, drawn apart, and between them every strip where two plies are pasted together, hatched and measured.
 * Widths are to scale along the bottom; heights are not, paper being some tenths of a millimetre thick.
 *
 * @typedef {import("./types.js").End} End
 * @typedef {import("./types.js").Figures} Figures
 * @typedef {import("./words.js").Words} Words
 * @typedef {{left: number, right: number, y: number}} Strip
 */
import { make, makeSvg } from "./dom.js";

const ENDS = /** @type {const} */ (["valve_end", "plain_end"]);
/** The wall whose flap is folded first at each end (the tear-off edge is complementary, so they differ). */
const FIRST = /** @type {const} */ ({ valve_end: "a", plain_end: "b" });
const OTHER = /** @type {const} */ ({ a: "b", b: "a" });

/** Heights in CSS px. */
const PLY = 5;
const PITCH = 7;
const APART = 26;
const MARGIN = { top: 6, bottom: 50 };
/** How far the innermost ply stands out round the fold, and each ply more than the one inside it. */
const BEND = 6;
const BEND_PITCH = 5.5;
/** Width of a digit: strips narrower than their number go without. */
const DIGIT_PX = 7;

export class LapMap {
  #root;
  #words;
  /** @type {Figures | undefined} */
  #figures;
  /** @type {Record<End, number> | undefined} */
  #widths;
  /** Of the root; asked for anew only when it has changed, as asking makes the browser lay out the page. */
  #width = 0;
  /** What is drawn, and how wide. */
  #drawn = "";

  /** @param {HTMLElement} root @param {Words} words */
  constructor(root, words) {
    this.#root = root;
    this.#words = words;
    new ResizeObserver(() => this.redraw()).observe(root);
  }

  /**
   * @param {Figures | null | undefined} figures
   * @param {Record<End, number>} bottomWidths mm
   */
  show(figures, bottomWidths) {
    this.#figures = figures ?? undefined;
    this.#widths = bottomWidths;
    this.#draw();
  }

  /** It has another size, or has come into sight. */
  redraw() {
    const width = this.#root.clientWidth;
    if (Math.abs(width - this.#width) > 1) this.#width = width;
    this.#draw();
  }

  #draw() {
    const width = this.#width;
    // Hidden in another place: drawn when it comes into sight.
    if (width === 0) return;
    const figures = this.#figures;
    const widths = this.#widths;
    const depths = figures && ENDS.map((end) => figures[end].flap_depth_mm);
    const rims = figures?.plies.map(({ rims_mm }) => rims_mm);
    const shown = JSON.stringify([width, widths, depths, figures?.lap_map, rims, this.#words.system]);
    if (shown === this.#drawn) return;
    this.#drawn = shown;
    this.#root.replaceChildren();
    if (!figures || !widths) return;
    const gap = 16;
    const beside = width >= 560;
    const each = Math.floor(beside ? (width - gap) / 2 : width);
    for (const end of ENDS) {
      const flap = figures[end]?.flap_depth_mm;
      if (flap !== undefined) this.#root.append(this.#section(end, figures, flap, widths[end], each));
    }
    // Where there is too little room for it the box scrolls, and the keyboard must be able to.
    const box = this.#root.parentElement;
    if (box && box.scrollHeight > box.clientHeight + 1) box.tabIndex = 0;
    else box?.removeAttribute("tabindex");
  }

  /** @param {End} end @param {Figures} figures @param {number} flapDepth mm @param {number} bottom mm @param {number} width px */
  #section(end, figures, flapDepth, bottom, width) {
    const words = this.#words;
    const first = FIRST[end];
    const contacts = figures.lap_map[end] ?? [];
    const count = figures.plies.length;
    const beside = BEND + count * BEND_PITCH;
    const scale = (width - 2 * beside) / bottom;
    const x = (/** @type {number} */ mm) => beside + mm * scale;

    // From above: last flap outermost to innermost, the gap, first flap outermost to innermost, the walls below.
    const lastTop = MARGIN.top;
    const firstTop = lastTop + count * PITCH + APART;
    const wallTop = firstTop + count * PITCH + 12;
    const height = wallTop + count * PITCH + MARGIN.bottom;
    /** @type {Strip[]} */
    const over = [];
    /** @type {Strip[]} */
    const under = [];
    for (const ply of figures.plies) {
      const rims = ply.rims_mm[end];
      if (!rims) continue;
      under[ply.index] = { left: x(0), right: x(flapDepth - rims[first]), y: firstTop + ply.index * PITCH };
      over[ply.index] = {
        left: x(bottom - flapDepth + rims[OTHER[first]]),
        right: x(bottom),
        y: lastTop + ply.index * PITCH,
      };
    }
    const hatch = `hatch-${end}`;
    const svg = makeSvg("svg", {
      viewBox: `0 0 ${width} ${height}`,
      width,
      height,
      role: "img",
      "aria-labelledby": `lap-${end}`,
      "aria-describedby": `lap-${end}-words`,
    });
    svg.append(
      makeSvg(
        "defs",
        {},
        makeSvg(
          "pattern",
          { id: hatch, width: 6, height: 6, patternUnits: "userSpaceOnUse", patternTransform: "rotate(45)" },
          makeSvg("line", { x1: 0, y1: 0, x2: 0, y2: 6, class: "hatch-line" }),
        ),
      ),
    );
    const bands = makeSvg("g");
    const sizes = makeSvg("g", { class: "sizes" });
    const foot = height - MARGIN.bottom + 12;
    for (const { ply_over, ply_under, from_mm, to_mm } of contacts) {
      const [up, down] = [over[ply_over], under[ply_under]];
      if (!up || !down) continue;
      const [left, right] = [x(from_mm), x(to_mm)];
      bands.append(
        makeSvg("rect", {
          x: left,
          y: up.y + PLY,
          width: Math.max(0, right - left),
          height: down.y - up.y - PLY,
          fill: `url(#${hatch})`,
          class: "contact",
        }),
      );
      for (const at of [left, right])
        sizes.append(makeSvg("line", { x1: at, x2: at, y1: down.y + PLY, y2: foot + 5, class: "extension" }));
      sizes.append(makeSvg("line", { x1: left, x2: right, y1: foot, y2: foot, class: "dimension" }));
      const size = words.bare("length", to_mm - from_mm);
      if (right - left >= size.length * DIGIT_PX) {
        sizes.append(makeSvg("text", { x: (left + right) / 2, y: foot + 13, class: "size" }, size));
      }
    }
    const plies = makeSvg("g");
    for (const [strips, side, wall] of /** @type {const} */ ([
      [under, -1, first],
      [over, 1, OTHER[first]],
    ])) {
      for (const [index, strip] of strips.entries()) {
        const inside = count - 1 - index;
        const bulge = BEND + inside * BEND_PITCH;
        plies.append(bend(strip, wallTop + inside * PITCH, side, x(bottom / 2), bulge, wall));
      }
    }
    svg.append(plies, bands, sizes);
    svg.append(
      makeSvg("path", { d: `M${x(0)} ${height - 18}v8m0-4H${x(bottom)}m0-4v8`, class: "dimension whole" }),
      makeSvg("text", { x: x(bottom / 2), y: height - 3, class: "size whole" }, words.quantity("length", bottom)),
    );
    const sentence =
      contacts.length === 0
        ? words.text("page.lap.none")
        : contacts.map((contact) => this.#words.text("page.lap.contact", contactArgs(contact))).join(" ");
    return make(
      "figure",
      { class: "lap", "data-hook": `lap-${end}` },
      make(
        "figcaption",
        { id: `lap-${end}` },
        words.text(`page.lap.folds_${first}`, { end: words.text(`page.end.${end}`) }),
      ),
      svg,
      make("p", { class: "lap-words", id: `lap-${end}-words` }, sentence),
    );
  }
}

/** @param {import("./types.js").Contact} contact @returns {Record<string, import("./types.js").Arg>} */
function contactArgs({ ply_over, ply_under, from_mm, to_mm }) {
  return {
    over: { kind: "count", value: ply_over + 1 },
    under: { kind: "count", value: ply_under + 1 },
    from: { kind: "length", value: from_mm },
    to: { kind: "length", value: to_mm },
    width: { kind: "length", value: to_mm - from_mm },
  };
}

/**
 * One ply of a flap: from its rim along the flap, round the fold, and back below along the wall to the middle.
 * @param {Strip} strip
 * @param {number} below y of the same ply in the wall
 * @param {-1 | 1} side of the fold: left or right
 * @param {number} middle x where the wall's part ends
 * @param {number} bulge how far it stands out round the fold
 * @param {"a" | "b"} wall
 */
function bend(strip, below, side, middle, bulge, wall) {
  const [rim, fold] = side < 0 ? [strip.right, strip.left] : [strip.left, strip.right];
  const upper = strip.y + PLY / 2;
  const lower = below + PLY / 2;
  const sweep = side < 0 ? 0 : 1;
  const arc = `A${bulge} ${(lower - upper) / 2} 0 0 ${sweep} ${fold} ${lower}`;
  const d = `M${rim} ${upper}H${fold}${arc}H${middle + side * 3}`;
  return makeSvg("path", { d, class: `ply wall-${wall}`, "stroke-width": PLY });
}

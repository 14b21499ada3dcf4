/**
 * One layer of a loaded pallet in plan, to scale: the pallet's edge, the sacks on it, and which way their valve ends look.
 *
 * @typedef {import("./types.js").Stack} Stack
 * @typedef {{length_mm: number, width_mm: number}} Deck the pallet's top
 */
import { makeSvg } from "./dom.js";

/** Round the larger of pallet and load, mm. */
const MARGIN = 30;
/** Corner radius of a sack, and how deep the mark at its valve end is, as shares of its width. */
const ROUND = 0.09;
const VALVE = 0.1;

/**
 * @param {Stack} stack
 * @param {Deck} deck
 * @param {number} layer from below, from 0
 * @param {string} label what the plan shows, in words
 * @returns {SVGSVGElement}
 */
export function layerPlan(stack, deck, layer, label) {
  const { length_mm: over, width_mm: beside } = stack.overhang_mm;
  const [outX, outY] = [Math.max(over, 0) + MARGIN, Math.max(beside, 0) + MARGIN];
  const placed = stack.patterns[stack.layers[layer]?.pattern ?? 0] ?? [];
  // y runs away from the eye on the pallet, down on the screen.
  const drawn = makeSvg(
    "g",
    { transform: `matrix(1 0 0 -1 0 ${deck.width_mm})` },
    makeSvg("rect", { class: "plan-deck", width: deck.length_mm, height: deck.width_mm }),
    ...placed.map((sack) => planned(stack.sack, sack)),
    makeSvg("rect", { class: "plan-edge", width: deck.length_mm, height: deck.width_mm }),
  );
  return makeSvg(
    "svg",
    {
      class: "plan",
      role: "img",
      "aria-label": label,
      viewBox: `${-outX} ${-outY} ${deck.length_mm + 2 * outX} ${deck.width_mm + 2 * outY}`,
    },
    drawn,
  );
}

/** @param {Stack["sack"]} sack @param {Stack["patterns"][number][number]} placed */
function planned({ length_mm, width_mm }, { x_mm, y_mm, quarter_turns }) {
  const [x, y] = [-length_mm / 2, -width_mm / 2];
  const depth = VALVE * width_mm;
  return makeSvg(
    "g",
    { class: "plan-sack", transform: `translate(${x_mm} ${y_mm}) rotate(${90 * quarter_turns})` },
    makeSvg("rect", { x, y, width: length_mm, height: width_mm, rx: ROUND * width_mm }),
    // The valve end, at the greater x before it is turned.
    makeSvg("path", { d: `M${-x - depth} ${y}V${-y}` }),
    makeSvg("circle", { cx: -x - depth / 2, cy: 0, r: depth / 4 }),
  );
}

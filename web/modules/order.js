/**
 * An order to find sizes for: the ranges that a sheet and its cards suggest, and the order's file. Pure functions.
 *
 * @typedef {import("./types.js").Plain} Plain
 * @typedef {Record<import("./card-rack.js").CardKind, Plain | undefined>} Cards
 * @typedef {NonNullable<import("./types.js").FillAnswer["filled"]["content"]>["headroom"]} Headroom
 */

/** How far the ranges reach from the sheet's own size, as a share of it. */
const REACH = 0.2;
/** Steps of face widths and lengths, and of bottom widths, mm: what works commonly set their machines by, half and quarter inches where they work in them. */
const STEPS_MM = /** @type {const} */ ({
  metric: { face: 10, bottom: 5 },
  imperial: { face: 12.7, bottom: 6.35 },
});

/** Of a step: what rounding may leave. */
const DUST = 1e-9;

/** What stands in the form. */
export const PARTS = ["contents", "face_width_mm", "length_mm", "bottom_width_mm", "headroom", "weights"];

/**
 * The sheet's contents, and ranges round its size, within what works and line take. Where the contents leave too little or
 * too much of the sack empty, the ranges are round a size of the same shape that they suit.
 * @param {Plain} sheet
 * @param {Cards} cards
 * @param {import("./measures.js").System} system whose round steps they are
 * @param {Headroom} [headroom] what the contents leave empty, once that is known
 */
export function suggested(sheet, { line, works }, system, headroom) {
  const step = STEPS_MM[system];
  const grown = growth(headroom);
  const { tuber, bottomer } = works ?? {};
  const { takes } = line ?? {};
  return {
    contents: { ...sheet.contents },
    face_width_mm: range(grown * sheet.face_width_mm, step.face, [
      takes?.face_width_mm,
      tuber?.face_width_mm,
      bottomer?.face_width_mm,
    ]),
    length_mm: range(grown * sheet.length_mm, step.face, [takes?.length_mm]),
    bottom_width_mm: range(grown * sheet.valve_end.bottom_width_mm, step.bottom, [
      takes?.bottom_width_mm,
      bottomer?.bottom_width_mm,
    ]),
  };
}

/**
 * The order's file, with everything in it.
 * @param {object} order as in the form
 * @param {Plain} sheet to start from
 * @param {Cards} cards
 */
export function orderText(order, sheet, cards) {
  return JSON.stringify({ format: "sackwright-order/1", name: sheet.name, ...order, sheet, ...cards });
}

/** How many times as long a sack of the same shape is that keeps the middle of the headroom asked for; 1 where it keeps enough of it. @param {Headroom} [headroom] */
function growth(headroom) {
  if (!headroom) return 1;
  const { share, asked: { least, most } } = headroom;
  return least <= share && share <= most ? 1 : Math.cbrt((1 - share) / (1 - (least + most) / 2));
}

/**
 * @param {number} value
 * @param {number} step
 * @param {({min?: number | null, max?: number | null} | undefined)[]} limits
 */
function range(value, step, limits) {
  // In whole steps; a product of two decimals carries binary dust.
  const steps = (/** @type {number} */ count) => Number((count * step).toPrecision(12));
  const below = (/** @type {number} */ mm) => Math.floor(mm / step + DUST);
  const above = (/** @type {number} */ mm) => Math.ceil(mm / step - DUST);
  const [least, most] = [below(value * (1 - REACH)), above(value * (1 + REACH))];
  const min = Math.max(least, ...limits.map((limit) => above(limit?.min ?? 0)));
  const max = Math.min(most, ...limits.map((limit) => (typeof limit?.max === "number" ? below(limit.max) : most)));
  // A sheet that nobody there can make or fill: its own surroundings all the same.
  const [from, to] = min <= max ? [min, max] : [least, most];
  return { min: steps(from), max: steps(to), step };
}

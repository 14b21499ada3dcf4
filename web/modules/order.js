/**
 * An order to find sizes for: the ranges that a sheet and its cards suggest, and the order's file. Pure functions.
 *
 * @typedef {import("./types.js").Plain} Plain
 * @typedef {Record<import("./card-rack.js").CardKind, Plain | undefined>} Cards
 */

/** How far the ranges reach from the sheet's own size, as a share of it. */
const REACH = 0.2;
/** Steps of face widths and lengths, and of bottom widths, mm: what works commonly set their machines by. */
const STEP_MM = 10;
const BOTTOM_STEP_MM = 5;

/** What stands in the form. */
export const PARTS = ["contents", "face_width_mm", "length_mm", "bottom_width_mm", "headroom", "weights"];

/**
 * The sheet's contents, and ranges round its size, within what works and line take.
 * @param {Plain} sheet
 * @param {Cards} cards
 */
export function suggested(sheet, { line, works }) {
  const { tuber, bottomer } = works ?? {};
  const { takes } = line ?? {};
  return {
    contents: { ...sheet.contents },
    face_width_mm: range(sheet.face_width_mm, STEP_MM, [
      takes?.face_width_mm,
      tuber?.face_width_mm,
      bottomer?.face_width_mm,
    ]),
    length_mm: range(sheet.length_mm, STEP_MM, [takes?.length_mm]),
    bottom_width_mm: range(sheet.valve_end.bottom_width_mm, BOTTOM_STEP_MM, [
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

/**
 * @param {number} value
 * @param {number} step
 * @param {({min?: number | null, max?: number | null} | undefined)[]} limits
 */
function range(value, step, limits) {
  const least = Math.floor((value * (1 - REACH)) / step) * step;
  const most = Math.ceil((value * (1 + REACH)) / step) * step;
  const min = Math.max(least, ...limits.map((limit) => Math.ceil((limit?.min ?? 0) / step) * step));
  const max = Math.min(most, ...limits.map((limit) => Math.floor((limit?.max ?? most) / step) * step));
  // A sheet that nobody there can make or fill: its own surroundings all the same.
  return min <= max ? { min, max, step } : { min: least, max: most, step };
}

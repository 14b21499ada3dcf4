/**
 * The filled sack: a coarse answer first, then the fine one, or one of them. Each mesh keeps its last answer, from which
 * the next one starts.
 *
 * @typedef {import("../modules/types.js").Tell} Tell
 * @typedef {import("../pkg/sackwright_desk.js").Detail} Detail
 * @typedef {import("../pkg/sackwright_desk.js").FillAnswer} FillAnswer
 */
import { Filler } from "../pkg/sackwright_desk.js";
import { sliced } from "./slices.js";

const DETAILS = /** @type {readonly Detail[]} */ (["coarse", "fine"]);
/** Steps of a study that has to look for lengths that cure; others have fewer. */
const MOST_STEPS = 24;
/** One for each mesh, and the sheet it is at. @type {Map<Detail, {filler: Filler, sheet: string}>} */
const fillers = new Map();

/** @param {{sheet: string, details: readonly Detail[]}} question @param {Tell} tell @returns {Generator<void, void, void>} */
export function* fill({ sheet, details }, tell) {
  for (const detail of details) {
    const behind = DETAILS.indexOf(detail);
    tell.part(yield* studied(detail, sheet, (share) => tell.progress((behind + share) / DETAILS.length)));
    yield;
  }
}

/**
 * The filler of a mesh, at a sheet.
 * @param {Detail} detail
 * @param {string} sheet
 */
export function filler(detail, sheet) {
  let at = fillers.get(detail);
  if (!at) {
    at = { filler: new Filler(detail), sheet: "" };
    fillers.set(detail, at);
  }
  if (at.sheet !== sheet) {
    at.filler.setSheet(sheet);
    at.sheet = sheet;
  }
  return at.filler;
}

/**
 * Studies a sheet, slice by slice. What is known of it already is not computed again.
 * @param {Detail} detail
 * @param {string} sheet
 * @param {(share: number) => void} told
 * @returns {Generator<void, FillAnswer, void>}
 */
export function* studied(detail, sheet, told) {
  const first = filler(detail, sheet).steps();
  return yield* sliced(
    (goOn) => filler(detail, sheet).study(goOn),
    () => filler(detail, sheet).steps(),
    () => told(Math.min((filler(detail, sheet).steps() - first) / MOST_STEPS, 1)),
  );
}

/**
 * The filling as a film: frame after frame, ahead of whoever looks at it.
 *
 * @typedef {import("../modules/types.js").Tell} Tell
 */
import { filler, studied } from "./fill.js";
import { sliced } from "./slices.js";

/** @param {{sheet: string}} question @param {Tell} tell @returns {Generator<void, void, void>} */
export function* film({ sheet }, tell) {
  yield* studied("fine", sheet, () => {});
  const projector = filler("fine", sheet).film();
  if (!projector) return;
  try {
    while (projector.shown < projector.frames) {
      const frame = yield* sliced(
        (goOn) => projector.next(goOn),
        () => projector.shown,
        () => {},
      );
      tell.part(frame, [frame.positions.buffer]);
      yield;
    }
  } finally {
    // Also when it is overtaken.
    projector.free();
  }
}

/**
 * Sacks on a pallet: stacked from the sack pressed flat, on the fine mesh.
 *
 * @typedef {import("../modules/types.js").Tell} Tell
 */
import { filler, studied } from "./fill.js";

/** @param {{sheet: string, pallet: string}} question @param {Tell} tell @returns {Generator<void, void, void>} */
export function* pallet({ sheet, pallet }, tell) {
  yield* studied("fine", sheet, () => {});
  const answer = filler("fine", sheet).stack(pallet);
  tell.part({ ...answer, mesh: answer.stacks[0]?.sacks ? filler("fine", sheet).pressedMesh() : undefined });
}

/**
 * Sizes for an order: all are screened by the quick estimate, then the solver confirms the best, one after the other. The
 * table is told after each.
 *
 * @typedef {import("../modules/types.js").Tell} Tell
 */
import { Sizer, orderSchema } from "../pkg/sackwright_desk.js";
import { sliced } from "./slices.js";

/** Candidates between two looks at the clock. */
const CHUNK = 64;
/** Rows of the table that stand in it whatever they are. */
const ROWS = 12;
/** What a slice of confirming may take: nothing of it need follow a hand, and a step that is broken off begins anew. */
const SLICE_MS = 60;
/** The share of the work that screening is taken for. */
const SCREENING = 0.4;

/** The form's schema. @param {object} _question @param {Tell} tell @returns {Generator<void, void, void>} */
export function* order(_question, tell) {
  tell.part(orderSchema());
}

/** @param {{order: string}} question @param {Tell} tell @returns {Generator<void, void, void>} */
export function* sizing({ order }, tell) {
  const sizer = new Sizer();
  try {
    const problems = sizer.setOrder(order);
    tell.part({ problems });
    if (problems.length > 0) return;
    let share = 0;
    yield* sliced(
      (goOn) => {
        do share = sizer.screen(CHUNK);
        while (share < 1 && goOn());
        return share < 1 ? undefined : true;
      },
      () => share,
      () => tell.progress(SCREENING * share),
    );
    for (;;) {
      const table = sizer.table(ROWS);
      tell.part({ table, spread: sizer.spread() });
      tell.progress(SCREENING + ((1 - SCREENING) * table.confirmed) / Math.max(table.to_confirm, 1));
      if (table.confirmed === table.to_confirm) return;
      yield;
      yield* sliced(
        (goOn) => sizer.confirm(goOn),
        () => sizer.steps(),
        () => {},
        SLICE_MS,
      );
    }
  } finally {
    // Also when it is taken back.
    sizer.free();
  }
}

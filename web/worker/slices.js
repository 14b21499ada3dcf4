/**
 * Slices of work: a call that can be broken off and taken up again is made again and again, with a limited time each,
 * and the worker hears messages between the calls.
 */

/** What a slice may take: a newer question is heard within it. */
const SLICE_MS = 12;

/**
 * @template T
 * @param {(goOn: () => boolean) => T | undefined} call undefined: broken off, the next call goes on from there
 * @param {() => number} steps how many steps are behind it: a step that is broken off begins anew
 * @param {() => void} told after every slice
 * @param {number} [least] ms that a slice may take at first: the longest step fits in
 * @returns {Generator<void, T, void>}
 */
export function* sliced(call, steps, told, least = SLICE_MS) {
  let most = least;
  for (;;) {
    const before = steps();
    const end = performance.now() + most;
    const answer = call(() => performance.now() < end);
    if (answer !== undefined) return answer;
    told();
    // On a slow machine one step may take longer than a slice.
    most = steps() > before ? least : 2 * most;
    yield;
  }
}

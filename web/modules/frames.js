/** Frames on demand: the browser is asked for one only while something moves or has changed. */
export class Frames {
  #tick;
  #waiting = false;
  /** @type {number | undefined} */
  #last;

  /** @param {(elapsedMs: number) => boolean} tick draws; true when the next frame is wanted too */
  constructor(tick) {
    this.#tick = tick;
  }

  request() {
    if (this.#waiting) return;
    this.#waiting = true;
    requestAnimationFrame((now) => this.#frame(now));
  }

  /** @param {number} now ms */
  #frame(now) {
    this.#waiting = false;
    const elapsed = this.#last === undefined ? 0 : now - this.#last;
    const goOn = this.#tick(elapsed);
    // After a rest the clock starts anew, or the first step would be as long as the rest.
    this.#last = goOn ? now : undefined;
    if (goOn) this.request();
  }
}

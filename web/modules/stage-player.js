/**
 * Where the fold stands and how it runs: a stage and a fraction of it, in time and back.
 * Pure state without a page; the owner calls `advance` and is told of changes.
 *
 * @typedef {{moved: boolean, stage: boolean, playing: boolean}} Change
 * @typedef {{name: string, seconds: number, start: number}} Segment
 */

/** Seconds a stage takes at speed 1: about what a pair of unhurried hands needs. */
const SECONDS = /** @type {Record<string, number>} */ ({
  tube: 1,
  "open-mouth": 2.2,
  "press-pockets": 2,
  "insert-valve": 1.6,
  "fold-flaps": 3.4,
  "lay-patch": 1.6,
  fill: 6,
});
const OTHER_SECONDS = 2;
/** Two flaps turn one after the other, so that stage has two movements to ease. */
const MOVEMENTS = /** @type {Record<string, number>} */ ({ "fold-flaps": 2 });
/** A tab that was away must not jump through the fold. */
const LONGEST_STEP_S = 0.25;

export class StagePlayer {
  /** @type {Segment[]} */
  #segments = [];
  #index = 0;
  #at = 0;
  #playing = false;
  /** Index of the stage after which playing stops. */
  #until = 0;
  #onChange;

  speed = 1;

  /** @param {(change: Change) => void} onChange */
  constructor(onChange) {
    this.#onChange = onChange;
  }

  /**
   * The place in the fold is kept when its stage still exists. Stages that only come behind the others don't interrupt: who
   * plays to the end plays on to the new one.
   * @param {readonly string[]} names in order
   */
  setStages(names) {
    const before = this.#segments;
    if (names.length === before.length && names.every((name, i) => name === before[i]?.name)) return;
    const current = this.stage;
    let start = 0;
    this.#segments = names.map((name) => {
      const segment = { name, seconds: SECONDS[name] ?? OTHER_SECONDS, start };
      start += segment.seconds;
      return segment;
    });
    const longer = before.length > 0 && before.every(({ name }, i) => name === names[i]);
    if (longer) {
      if (this.#until === before.length - 1) this.#until = names.length - 1;
      this.#onChange({ moved: false, stage: false, playing: true });
      return;
    }
    const index = names.indexOf(current);
    this.#playing = false;
    this.#index = index < 0 ? Math.max(0, names.length - 1) : index;
    if (index < 0) this.#at = 1;
    this.#onChange({ moved: true, stage: true, playing: true });
  }

  get segments() {
    return this.#segments;
  }

  get stage() {
    return this.#segments[this.#index]?.name ?? "";
  }

  get index() {
    return this.#index;
  }

  /** Fraction of the stage, 0 to 1. */
  get at() {
    return this.#at;
  }

  get playing() {
    return this.#playing;
  }

  get total() {
    const last = this.#segments.at(-1);
    return last ? last.start + last.seconds : 0;
  }

  /** Seconds along the track; in proportion to the fraction within each stage. */
  get position() {
    const segment = this.#segments[this.#index];
    return segment ? segment.start + this.#at * segment.seconds : 0;
  }

  get finished() {
    return this.#index === this.#segments.length - 1 && this.#at === 1;
  }

  /** @param {number} position seconds along the track */
  seek(position) {
    const inside = Math.min(Math.max(position, 0), this.total);
    let index = this.#segments.findIndex(({ start, seconds }) => inside <= start + seconds);
    if (index < 0) index = this.#segments.length - 1;
    const segment = this.#segments[index];
    if (segment) this.#stand(index, (inside - segment.start) / segment.seconds);
  }

  /** @param {string} stage @param {number} at fraction */
  setPose(stage, at) {
    const index = this.#segments.findIndex(({ name }) => name === stage);
    if (index >= 0) this.#stand(index, Math.min(Math.max(at, 0), 1));
  }

  finish() {
    this.#stand(this.#segments.length - 1, 1);
  }

  /** To the end of this stage, or of the next when this one is done. */
  stepForward() {
    const index = this.#at < 1 ? this.#index : Math.min(this.#index + 1, this.#segments.length - 1);
    this.#stand(index, 1);
  }

  /** To the start of this stage, or of the one before when this one has not begun. */
  stepBack() {
    const index = this.#at > 0 ? this.#index : Math.max(this.#index - 1, 0);
    this.#stand(index, 0);
  }

  /** Plays to the end; from the start when the sack is finished. */
  play() {
    if (this.#segments.length === 0) return;
    const again = this.finished;
    if (again) this.#place(0, 0);
    this.#start(this.#segments.length - 1, again);
  }

  /** Plays this stage, or the next when this one is done, and rests at its end. */
  playStage() {
    if (this.#segments.length === 0 || this.finished) return;
    const next = this.#at === 1;
    if (next) this.#place(this.#index + 1, 0);
    this.#start(this.#index, next);
  }

  pause() {
    if (!this.#playing) return;
    this.#playing = false;
    this.#onChange({ moved: false, stage: false, playing: true });
  }

  /**
   * @param {number} elapsedMs since the last call
   * @returns {boolean} whether it plays on
   */
  advance(elapsedMs) {
    if (!this.#playing) return false;
    const before = this.#index;
    let seconds = Math.min(elapsedMs / 1000, LONGEST_STEP_S) * this.speed;
    while (seconds > 0) {
      const segment = this.#segments[this.#index];
      if (!segment) break;
      const movements = MOVEMENTS[segment.name] ?? 1;
      const time = timeOf(this.#at, movements) * segment.seconds;
      const left = segment.seconds - time;
      if (seconds < left) {
        this.#at = ease((time + seconds) / segment.seconds, movements);
        seconds = 0;
      } else if (this.#index >= this.#until) {
        this.#at = 1;
        this.#playing = false;
        seconds = 0;
      } else {
        seconds -= left;
        this.#place(this.#index + 1, 0);
      }
    }
    this.#onChange({ moved: true, stage: this.#index !== before, playing: !this.#playing });
    return this.#playing;
  }

  /** @param {number} until @param {boolean} moved */
  #start(until, moved) {
    this.#until = until;
    this.#playing = true;
    this.#onChange({ moved, stage: moved, playing: true });
  }

  /** @param {number} index @param {number} at */
  #place(index, at) {
    this.#index = index;
    this.#at = at;
  }

  /** Stands still at a place. @param {number} index @param {number} at */
  #stand(index, at) {
    const change = { moved: true, stage: index !== this.#index, playing: this.#playing };
    this.#playing = false;
    this.#place(index, at);
    this.#onChange(change);
  }
}

/**
 * Fraction of the way at a fraction of the time: slow start, slow stop, per movement.
 * @param {number} time 0 to 1
 * @param {number} movements
 */
export function ease(time, movements) {
  const scaled = time * movements;
  const whole = Math.min(Math.floor(scaled), movements - 1);
  const t = scaled - whole;
  return (whole + t * t * (3 - 2 * t)) / movements;
}

/**
 * The inverse of `ease`: 3t^2 - 2t^3 = y has the root t = 1/2 - sin(asin(1 - 2y) / 3).
 * @param {number} way 0 to 1
 * @param {number} movements
 */
export function timeOf(way, movements) {
  const scaled = way * movements;
  const whole = Math.min(Math.floor(scaled), movements - 1);
  const y = scaled - whole;
  return (whole + 0.5 - Math.sin(Math.asin(1 - 2 * y) / 3)) / movements;
}

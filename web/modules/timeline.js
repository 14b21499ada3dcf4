/**
 * The timeline under the picture: play, steps, speed, and a track of the stages by name with a slider on it.
 *
 * @typedef {import("./stage-player.js").StagePlayer} StagePlayer
 * @typedef {import("./words.js").Words} Words
 */
import { hook, isTaken, make, write } from "./dom.js";

/** Slider steps per second of fold. */
const FINE = 1000;
/** How far an arrow key goes, in seconds of fold. */
const ARROW_S = 0.1;

export class Timeline {
  #player;
  #words;
  #play = hook("play", HTMLButtonElement);
  #playWord = hook("play-word", HTMLElement);
  #scrub = hook("scrub", HTMLInputElement);
  #track = hook("track", HTMLElement);
  #back = hook("step-back", HTMLButtonElement);
  #forward = hook("step-forward", HTMLButtonElement);
  #speed = hook("speed", HTMLSelectElement);
  #now = hook("stage-now", HTMLElement);
  /** What the track shows. @type {StagePlayer["segments"] | undefined} */
  #segments;

  /** @param {StagePlayer} player @param {Words} words */
  constructor(player, words) {
    this.#player = player;
    this.#words = words;
    this.#play.addEventListener("click", () => this.toggle());
    this.#back.addEventListener("click", () => player.stepBack());
    this.#forward.addEventListener("click", () => player.stepForward());
    this.#scrub.addEventListener("input", () => player.seek(Number(this.#scrub.value) / FINE));
    this.#scrub.addEventListener("keydown", (event) => this.#key(event));
    this.#speed.addEventListener("change", () => {
      player.speed = Number(this.#speed.value);
    });
    document.addEventListener("keydown", (event) => {
      if (event.target !== this.#scrub && !isTaken(event)) this.#keyAnywhere(event);
    });
  }

  toggle() {
    if (this.#player.playing) this.#player.pause();
    else this.#player.play();
  }

  /** @param {number} speed one of the choices */
  setSpeed(speed) {
    this.#player.speed = speed;
    this.#speed.value = String(speed);
  }

  /** Draws the track anew when the stages have changed. */
  showStages() {
    const { segments, total } = this.#player;
    if (segments === this.#segments) return;
    this.#segments = segments;
    this.#scrub.max = String(Math.round(total * FINE));
    this.#track.replaceChildren(
      ...segments.map(({ name, seconds }, index) => {
        const segment = make(
          "li",
          { class: "segment", "data-stage": name },
          make("span", { class: "segment-number" }, String(index + 1)),
          make("span", { class: "segment-name" }, this.#words.text(`stage.${name}`)),
        );
        // Exactly its share: the slider's knob stands where a stage ends when it ends.
        segment.style.width = `${(100 * seconds) / total}%`;
        return segment;
      }),
    );
  }

  /** Whether the filling is there to its last frame, or still comes. @param {boolean} whole */
  showFilmed(whole) {
    this.#track.dataset.filmed = whole ? "whole" : "part";
  }

  /** Shows where the fold stands. */
  show() {
    const player = this.#player;
    const words = this.#words;
    const { segments, index, at, stage, playing, finished } = player;
    if (segments.length === 0) return;
    this.#scrub.value = String(Math.round(player.position * FINE));
    const name = words.text(`stage.${stage}`);
    this.#scrub.setAttribute(
      "aria-valuetext",
      words.text("page.timeline.value", { stage: name, done: { kind: "ratio", value: Math.round(at * 100) / 100 } }),
    );
    const now = { number: String(index + 1), count: String(segments.length), stage: name };
    write(this.#now, words.text("page.timeline.now", now));
    for (const [i, segment] of [...this.#track.children].entries()) {
      segment.classList.toggle("done", i < index || (i === index && at === 1));
      segment.classList.toggle("current", i === index);
    }
    this.#play.dataset.state = playing ? "pause" : finished ? "again" : "play";
    const toFill = at === 1 && segments[index + 1]?.name === "fill";
    const word = playing ? "pause" : finished ? "again" : toFill ? "fill" : player.position > 0 ? "on" : "play";
    write(this.#playWord, words.text(`page.timeline.${word}`));
    this.#back.disabled = index === 0 && at === 0;
    this.#forward.disabled = finished;
  }

  /** Away from the slider up, down, Home and End are for scrolling. @param {KeyboardEvent} event */
  #keyAnywhere(event) {
    if ([" ", "ArrowLeft", "ArrowRight"].includes(event.key)) this.#key(event);
  }

  /** @param {KeyboardEvent} event */
  #key(event) {
    if (event.altKey || event.ctrlKey || event.metaKey) return;
    const player = this.#player;
    /** @type {Record<string, () => void>} */
    const does = {
      " ": () => this.toggle(),
      ArrowLeft: () => player.seek(player.position - ARROW_S),
      ArrowDown: () => player.seek(player.position - ARROW_S),
      ArrowRight: () => player.seek(player.position + ARROW_S),
      ArrowUp: () => player.seek(player.position + ARROW_S),
      PageUp: () => player.stepForward(),
      PageDown: () => player.stepBack(),
      Home: () => player.seek(0),
      End: () => player.finish(),
    };
    const action = does[event.key];
    if (!action) return;
    event.preventDefault();
    action();
  }
}

/** A short film of the sack, for whoever was not at the table: the picture is recorded while fold and filling play once. */

const FRAMES_PER_S = 30;
const BITS_PER_S = 6_000_000;
/** ms that the last picture stands. */
const HOLD = 1000;
/** What most players take comes first. */
const TYPES = ["video/mp4;codecs=avc1.42E01E", "video/webm;codecs=vp9", "video/webm"];

export class FilmRecorder {
  #canvas;
  #onFilm;
  #type = typeof MediaRecorder === "function" ? TYPES.find((type) => MediaRecorder.isTypeSupported(type)) : undefined;
  /** @type {MediaRecorder | undefined} */
  #recorder;

  /**
   * @param {HTMLCanvasElement} canvas
   * @param {(film: Blob | undefined, ending: string) => void} onFilm undefined: the browser could not make one
   */
  constructor(canvas, onFilm) {
    this.#canvas = canvas;
    this.#onFilm = onFilm;
  }

  /** Whether this browser can make films. */
  get can() {
    return this.#type !== undefined && typeof this.#canvas.captureStream === "function";
  }

  get records() {
    return this.#recorder !== undefined;
  }

  start() {
    const mimeType = this.#type;
    if (mimeType === undefined || this.#recorder) return;
    /** @type {Blob[]} */
    const parts = [];
    const stream = this.#canvas.captureStream(FRAMES_PER_S);
    const recorder = new MediaRecorder(stream, { mimeType, videoBitsPerSecond: BITS_PER_S });
    recorder.addEventListener("dataavailable", ({ data }) => parts.push(data));
    recorder.addEventListener("stop", () => {
      for (const track of stream.getTracks()) track.stop();
      // Given up.
      if (this.#recorder !== recorder) return;
      this.#recorder = undefined;
      const [type = ""] = mimeType.split(";");
      const film = new Blob(parts, { type });
      this.#onFilm(film.size > 0 ? film : undefined, type.slice(type.indexOf("/") + 1));
    });
    this.#recorder = recorder;
    recorder.start();
  }

  /** The sack is finished: so is the film, after a moment. */
  finish() {
    const recorder = this.#recorder;
    setTimeout(() => recorder?.state === "recording" && recorder.stop(), HOLD);
  }

  /** No film after all. */
  giveUp() {
    const recorder = this.#recorder;
    this.#recorder = undefined;
    recorder?.stop();
  }
}

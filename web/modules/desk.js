/**
 * The messenger to the worker that computes what takes long. One question of a kind is open at a time: a newer one
 * overtakes it, and answers to the older one are dropped. The worker can break down without harm to the page: another
 * takes its place, and what it had not answered is asked again, save the question it broke on.
 *
 * @typedef {import("./types.js").DeskQuestions} Questions
 * @typedef {import("./types.js").DeskAnswers} Answers
 * @typedef {keyof Questions} Kind
 * @typedef {import("./types.js").ToPage} ToPage
 * @typedef {import("./types.js").ToWorker} ToWorker
 */

/** Workers lost one after the other without an answer between them before the desk gives up. */
const MOST_LOST = 3;

/**
 * What an asker is told.
 * @template {Kind} K
 * @typedef {object} Asker
 * @property {(part: Answers[K]) => void} onPart an answer, the coarse one before the fine one, or one frame after the other
 * @property {(share: number) => void} [onProgress] how much is done, 0 to 1
 * @property {() => void} [onDone] the last part has come
 * @property {() => void} onTrouble there will be no answer
 */

/** @typedef {{kind: Kind, question: unknown, asker: Asker<any>}} Open */

export class Desk {
  #load;
  /** @type {Worker | undefined} */
  #worker;
  /** @type {Map<number, Open>} by id, in the order asked */
  #open = new Map();
  #last = 0;
  #lost = 0;
  #givenUp = false;

  /** @param {() => Promise<WebAssembly.Module>} load */
  constructor(load) {
    this.#load = load;
  }

  /** Fetches the wasm and starts the worker. What was asked before is asked then. */
  async start() {
    try {
      const module = await this.#load();
      this.#load = async () => module;
      this.#employ(module);
    } catch (error) {
      console.error(error);
      this.#giveUp();
    }
  }

  /**
   * Asks; an open question of the same kind is overtaken.
   * @template {Kind} K
   * @param {K} kind
   * @param {Questions[K]} question
   * @param {Asker<K>} asker
   */
  ask(kind, question, asker) {
    this.cancel(kind);
    if (this.#givenUp) {
      asker.onTrouble();
      return;
    }
    this.#last += 1;
    this.#open.set(this.#last, { kind, question, asker });
    this.#send({ ask: this.#last, kind, question });
  }

  /** Takes a question back. @param {Kind} kind */
  cancel(kind) {
    for (const [id, open] of this.#open) {
      if (open.kind !== kind) continue;
      this.#open.delete(id);
      this.#send({ cancel: id });
    }
  }

  /** @param {WebAssembly.Module} module */
  #employ(module) {
    const worker = new Worker(new URL("../worker/desk-worker.js", import.meta.url), { type: "module" });
    this.#worker = worker;
    worker.addEventListener("message", ({ data }) => this.#hear(/** @type {ToPage} */ (data)));
    // Nobody knows what it was at: whatever breaks outside a question may be any of them.
    worker.addEventListener("error", (event) => {
      event.preventDefault();
      console.info("the desk's worker broke down:", event.message);
      this.#replace([...this.#open.keys()]);
    });
    this.#send({ module });
    for (const [id, { kind, question }] of this.#open) this.#send({ ask: id, kind, question });
  }

  /** @param {ToWorker} message */
  #send(message) {
    this.#worker?.postMessage(message);
  }

  /** @param {ToPage} message */
  #hear(message) {
    const open = this.#open.get(message.id);
    if (message.what === "broken") {
      console.info("the desk's wasm broke down:", message.text);
      this.#replace([message.id]);
      return;
    }
    // Overtaken meanwhile.
    if (!open) return;
    const { asker } = open;
    if (message.what === "progress") asker.onProgress?.(message.share);
    if (message.what === "part") asker.onPart(message.part);
    if (message.what === "done") {
      this.#lost = 0;
      this.#open.delete(message.id);
      asker.onDone?.();
    }
    if (message.what === "trouble") {
      console.error(`desk, ${open.kind}: ${message.text}`);
      this.#open.delete(message.id);
      asker.onTrouble();
    }
  }

  /** Employs another worker. @param {number[]} ids of questions that are not asked again */
  #replace(ids) {
    this.#worker?.terminate();
    this.#worker = undefined;
    this.#lost += 1;
    for (const id of ids) {
      const open = this.#open.get(id);
      this.#open.delete(id);
      open?.asker.onTrouble();
    }
    if (this.#lost > MOST_LOST) this.#giveUp();
    else void this.start();
  }

  /** The worker can't be had, or breaks down again and again: whoever asked is told. */
  #giveUp() {
    this.#givenUp = true;
    const left = [...this.#open.values()];
    this.#open.clear();
    for (const { asker } of left) asker.onTrouble();
  }
}

/** Fetches and compiles the desk's wasm. @returns {Promise<WebAssembly.Module>} */
export async function loadDesk() {
  const answer = await fetch(new URL("../pkg/sackwright_desk_bg.wasm", import.meta.url));
  if (!answer.ok) throw new Error(`${answer.url}: ${answer.status}`);
  // Hosts that don't know wasm name another type, which the streaming compiler refuses.
  if (answer.headers.get("content-type")?.startsWith("application/wasm")) return WebAssembly.compileStreaming(answer);
  return WebAssembly.compile(await answer.arrayBuffer());
}

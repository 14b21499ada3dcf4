/**
 * The desk's worker: computes what takes long, in slices, so that a newer question is heard between them. Every question
 * is a generator that yields between slices; the questions that are open take turns.
 *
 * @typedef {import("../modules/types.js").ToWorker} ToWorker
 * @typedef {import("../modules/types.js").ToPage} ToPage
 */
import init from "../pkg/sackwright_desk.js";
import { fill } from "./fill.js";
import { film } from "./film.js";
import { pallet } from "./pallet.js";
import { order, sizing } from "./sizing.js";

/** What is asked is computed by the generator of its kind: its parts go to `tell`. */
const KINDS = { fill, pallet, film, order, sizing };

/** @typedef {import("../modules/types.js").Tell} Tell */
/** @type {Map<number, Generator<void, void, void>>} */
const open = new Map();
/** A message to oneself comes after the messages that wait: that is how the worker hears them between slices. */
const pause = new MessageChannel();
let ready = false;
let running = false;

pause.port1.onmessage = () => {
  running = false;
  turn();
};

addEventListener("message", ({ data }) => {
  const message = /** @type {ToWorker} */ (data);
  if ("module" in message) {
    init({ module_or_path: message.module }).then(
      () => {
        ready = true;
        turn();
      },
      // Uncaught it reaches the page, which employs another worker.
      (error) => setTimeout(() => { throw error; }),
    );
  } else if ("cancel" in message) {
    open.get(message.cancel)?.return();
    open.delete(message.cancel);
  } else {
    const id = message.ask;
    const tell = {
      progress: (/** @type {number} */ share) => send({ id, what: "progress", share }),
      part: (/** @type {unknown} */ part, /** @type {Transferable[]} */ transfer = []) =>
        send({ id, what: "part", part }, transfer),
    };
    // The kinds and their questions are told apart by the page's types.
    open.set(id, KINDS[message.kind](/** @type {any} */ (message.question), tell));
    turn();
  }
});

/** One slice of the question whose turn it is. */
function turn() {
  if (!ready || running) return;
  const [next] = open;
  if (!next) return;
  const [id, question] = next;
  try {
    open.delete(id);
    if (question.next().done) send({ id, what: "done" });
    // Behind the others.
    else open.set(id, question);
  } catch (error) {
    const text = error instanceof Error ? `${error.name}: ${error.message}` : String(error);
    // After a panic the instance can't be used any more; other errors are answers.
    if (error instanceof WebAssembly.RuntimeError) {
      open.clear();
      ready = false;
      send({ id, what: "broken", text });
      return;
    }
    send({ id, what: "trouble", text });
  }
  running = true;
  pause.port2.postMessage(undefined);
}

/** @param {ToPage} message @param {Transferable[]} [transfer] */
function send(message, transfer = []) {
  postMessage(message, { transfer });
}

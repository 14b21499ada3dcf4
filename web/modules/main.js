/** The page's start: everything that has to be fetched is asked for at once, and whatever fails says so. */
import { App } from "./app.js";
import { loadCore } from "./core.js";
import { loadExamples } from "./examples.js";
import { loadWords } from "./words.js";

/** @typedef {{viewer: App["viewer"], workshop: App["workshop"], setPose: App["setPose"], redraw: App["redraw"]}} Bench */

start().catch((error) => {
  console.error(error);
  delete document.documentElement.dataset.wordless;
  const message = document.querySelector('[data-hook="failed"]');
  if (message instanceof HTMLElement) message.hidden = false;
});

async function start() {
  const [core, words, examples] = [loadCore(), loadWords(), loadExamples()];
  // Each is awaited in its turn; one that fails earlier must not count as unhandled.
  core.catch(() => {});
  examples.catch(() => {});
  const table = await words;
  table.fill(document);
  const app = new App(await core, table);
  // For measuring from outside: pose, draw, and the two objects of the core.
  Object.assign(window, {
    sackwright: /** @type {Bench} */ ({
      viewer: app.viewer,
      workshop: app.workshop,
      setPose: (stage, at) => app.setPose(stage, at),
      redraw: () => app.redraw(),
    }),
  });
  try {
    const { sacks, cards, pictures } = await examples;
    await app.begin(sacks, cards, pictures);
  } catch (error) {
    console.error(error);
    app.trouble(table.text("page.trouble.examples"));
  }
  // Not before the sack is drawn: where software paints, a page that is painted first makes the sack wait.
  delete document.documentElement.dataset.wordless;
  // The frame after next: the first picture has been painted.
  requestAnimationFrame(() => requestAnimationFrame(() => app.startDesk()));
  await app.printed;
  document.documentElement.dataset.ready = "";
}

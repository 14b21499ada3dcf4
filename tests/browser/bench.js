// The page benchmark: `node bench.js RESULT` writes the medians to the file RESULT as JSON.

import { writeFile } from "node:fs/promises";

import { DESK, launch, ready } from "./browser.js";
import { serve } from "./server.js";

const VISITS = 10;
const FRAMES = 40;

const result = process.argv[2];
if (!result) throw new Error("node bench.js RESULT: a file for the medians is needed");

const server = await serve();
const browser = await launch();
try {
  const medians = [
    { name: "from navigation to the first picture", median_ms: median(await firstPictures()) },
    { name: "frame of 4 plies at 1280 x 800, drawn to the last pixel", median_ms: median((await frames(4)).drawn) },
    { name: "poses, meshes and vertex buffers of a frame, 6 plies", median_ms: median((await frames(6)).sent) },
    ...(await drag()).map(({ name, times }) => ({ name, median_ms: median(times) })),
  ];
  for (const { name, median_ms } of medians) console.log(`${name}: ${median_ms.toFixed(2)} ms`);
  await writeFile(result, `${JSON.stringify(medians, undefined, 2)}\n`);
} finally {
  await browser.close();
  await server.close();
}

/** Opens the page in a browser that has never seen it; runs `measure` there. */
async function visit(measure, arg) {
  const context = await browser.newContext({ viewport: DESK, reducedMotion: "reduce" });
  try {
    const page = await context.newPage();
    await page.goto(server.address);
    await ready(page);
    return await page.evaluate(measure, arg);
  } finally {
    await context.close();
  }
}

/** Milliseconds from navigation to the first picture of the sack, over some first visits. */
async function firstPictures() {
  const times = [];
  for (let count = 0; count < VISITS; count += 1) times.push(await visit(firstPicture));
  return times;
}

/** Runs in the page. */
async function firstPicture() {
  for (;;) {
    const [mark] = performance.getEntriesByName("first-picture");
    if (mark) return mark.startTime;
    await new Promise((resolve) => requestAnimationFrame(resolve));
  }
}

/**
 * Milliseconds per frame while the sack of so many plies folds: until everything is handed to the
 * graphics (`sent`: poses, meshes, vertex buffers, commands), and until the last pixel is there (`drawn`).
 */
function frames(plies) {
  return visit(measureFrames, { plies, count: FRAMES, size: DESK });
}

/** Runs in the page. */
function measureFrames({ plies, count, size }) {
  const { viewer, workshop } = globalThis.sackwright;
  const sheet = JSON.parse(workshop.sheetText());
  sheet.plies = Array.from({ length: plies }, () => sheet.plies[0]);
  const problems = workshop.setSheet(JSON.stringify(sheet));
  if (problems.length > 0) throw new Error(`no sack of ${plies} plies: ${JSON.stringify(problems)}`);
  viewer.setSack(workshop);
  viewer.resize(size.width, size.height, 1);

  const gl = document.querySelector("canvas").getContext("webgl2");
  const pixel = new Uint8Array(4);
  const finish = () => gl.readPixels(0, 0, 1, 1, gl.RGBA, gl.UNSIGNED_BYTE, pixel);
  const times = { sent: [], drawn: [] };
  for (let frame = -3; frame < count; frame += 1) {
    finish();
    const start = performance.now();
    viewer.setPose("fold-flaps", (frame + 4) / (count + 4));
    if (!viewer.draw()) throw new Error("a new pose was not drawn");
    const sent = performance.now();
    finish();
    const drawn = performance.now();
    // The first frames compile programs and make buffers.
    if (frame < 0) continue;
    times.sent.push(sent - start);
    times.drawn.push(drawn - start);
  }
  return times;
}

/**
 * A length that is dragged on the drawing board, a new value every frame, while the worker follows: the page's own work in a
 * frame (core, form, figures, findings, layout, mesh, commands), and how long after the last change the answers are there.
 */
async function drag() {
  const runs = await visit(measureDrag, { count: FRAMES, rounds: 5 });
  return [
    { name: "a frame of a drag, the page's own work while the worker follows", times: runs.work },
    { name: "from a change to the coarse filled sack", times: runs.coarse },
    { name: "from a change to the fine filled sack", times: runs.fine },
  ];
}

/** Runs in the page. */
async function measureDrag({ count, rounds }) {
  location.hash = "board";
  const root = document.querySelector('[data-hook="filled-figures"]');
  const input = document.querySelector('[data-hook="sheet-form"] [data-field="length_mm"] input');
  const answered = (detail) =>
    new Promise((resolve) => {
      const watch = new MutationObserver(() => {
        if (root.dataset.detail !== detail || (detail === "fine" && root.ariaBusy === "true")) return;
        watch.disconnect();
        resolve(performance.now());
      });
      watch.observe(root, { childList: true, attributes: true, characterData: true, subtree: true });
    });
  const set = (length) => {
    input.value = String(length);
    input.dispatchEvent(new Event("input", { bubbles: true }));
  };
  if (root.dataset.detail !== "fine") await answered("fine");
  const times = { work: [], coarse: [], fine: [] };
  for (let step = -3; step < count; step += 1) {
    // Of the frame's callbacks, the page's own stand between these two.
    const work = await new Promise((resolve) => {
      let begun = 0;
      requestAnimationFrame(() => {
        begun = performance.now();
      });
      const start = performance.now();
      set(700 + step);
      void document.body.offsetHeight;
      const changed = performance.now();
      requestAnimationFrame(() => resolve(changed - start + (performance.now() - begun)));
    });
    if (step >= 0) times.work.push(work);
  }
  for (let round = 0; round < rounds; round += 1) {
    const start = performance.now();
    const both = [answered("coarse"), answered("fine")];
    set(600 + 20 * round);
    const [coarse, fine] = await Promise.all(both);
    times.coarse.push(coarse - start);
    times.fine.push(fine - start);
  }
  return times;
}

function median(values) {
  const sorted = [...values].sort((a, b) => a - b);
  const middle = (sorted.length - 1) / 2;
  return (sorted[Math.floor(middle)] + sorted[Math.ceil(middle)]) / 2;
}

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
  const { problems } = workshop.setSheet(JSON.stringify(sheet));
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

function median(values) {
  const sorted = [...values].sort((a, b) => a - b);
  const middle = (sorted.length - 1) / 2;
  return (sorted[Math.floor(middle)] + sorted[Math.ceil(middle)]) / 2;
}

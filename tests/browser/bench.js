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
    { name: "frame of 4 plies at 1280 x 800, drawn to the last pixel", median_ms: median((await frames(4, false)).drawn) },
    { name: "poses, meshes and vertex buffers of a frame, 6 plies", median_ms: median((await frames(6, true)).made) },
    ...(await sizing()).map(({ name, times }) => ({ name, median_ms: median(times) })),
    ...(await studies()).map(({ name, times }) => ({ name, median_ms: median(times) })),
    ...(await drag()).map(({ name, times }) => ({ name, median_ms: median(times) })),
  ];
  for (const { name, median_ms } of medians) console.log(`${name}: ${median_ms.toFixed(2)} ms`);
  await writeFile(result, `${JSON.stringify(medians, undefined, 2)}\n`);
} finally {
  await browser.close();
  await server.close();
}

/**
 * Opens the page in a browser that has never seen it; runs `measure` there: at once, or when the worker is `calm`. With
 * `commands` drawing commands are timed one by one: their sum is `globalThis.commands.ms`.
 */
async function visit(measure, arg, { calm = false, commands = false } = {}) {
  const context = await browser.newContext({ viewport: DESK, reducedMotion: "reduce" });
  try {
    const page = await context.newPage();
    if (commands) await page.addInitScript(timeCommands);
    await page.goto(server.address);
    await ready(page);
    // The worker computes the filling for some seconds after a visit begins.
    if (calm) await page.locator('[data-hook="track"][data-filmed="whole"]').waitFor();
    return await page.evaluate(measure, arg);
  } finally {
    await context.close();
  }
}

/** Runs in the page before its own code. */
function timeCommands() {
  globalThis.commands = { ms: 0 };
  const methods = WebGL2RenderingContext.prototype;
  for (const [name, { value }] of Object.entries(Object.getOwnPropertyDescriptors(methods))) {
    if (typeof value !== "function") continue;
    methods[name] = function (...given) {
      const start = performance.now();
      const result = value.apply(this, given);
      globalThis.commands.ms += performance.now() - start;
      return result;
    };
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
 * Milliseconds per frame while the sack of so many plies folds: for poses, meshes and vertex buffers (`made`), and until the
 * last pixel is there (`drawn`).
 */
function frames(plies, commands) {
  return visit(measureFrames, { plies, count: FRAMES, size: DESK }, { calm: true, commands });
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
  const times = { made: [], drawn: [] };
  for (let frame = -3; frame < count; frame += 1) {
    finish();
    const before = globalThis.commands?.ms ?? 0;
    const start = performance.now();
    viewer.setPose("fold-flaps", (frame + 4) / (count + 4));
    if (!viewer.draw()) throw new Error("a new pose was not drawn");
    const made = performance.now() - ((globalThis.commands?.ms ?? 0) - before);
    finish();
    const drawn = performance.now();
    // The first frames compile programs and make buffers.
    if (frame < 0) continue;
    times.made.push(made - start);
    times.drawn.push(drawn - start);
  }
  return times;
}

/** The sizes of an order in the page's worker: until all are screened, and until the best are confirmed. */
async function sizing() {
  const runs = await visit(measureSizing, { rounds: 5 }, { calm: true });
  return [
    { name: `screening ${runs.count} sizes in the page's worker`, times: runs.screened },
    { name: "confirming the best ten of them", times: runs.confirmed },
  ];
}

/** Runs in the page. */
async function measureSizing({ rounds }) {
  const examples = await (await fetch("examples.json")).json();
  const example = (folder, name) => JSON.parse(examples[folder].find(({ path }) => path.includes(name)).text);
  const sheet = example("sacks", "bread-flour-25-kg");
  const line = example("lines", "harbour-mill-air-packer");
  const works = example("works", "weir-street-works");
  const pallet = example("pallets", "grain-hall-1200-x-800");
  const grids = {
    face_width_mm: { min: 440, max: 560, step: 10 },
    length_mm: { min: 500, max: 800, step: 10 },
    bottom_width_mm: { min: 90, max: 150, step: 5 },
  };
  const order = { format: "sackwright-order/1", name: "bench", contents: sheet.contents, sheet, line, works, pallet, ...grids };
  const module = await WebAssembly.compileStreaming(fetch("pkg/sackwright_desk_bg.wasm"));
  const worker = new Worker("worker/desk-worker.js", { type: "module" });
  worker.postMessage({ module });
  const ask = (id, kind, question) =>
    new Promise((resolve, reject) => {
      const times = [];
      let count = 0;
      worker.onmessage = ({ data }) => {
        if (data.what === "part" && data.part.table) {
          count = data.part.table.progress.screened;
          times.push(performance.now());
        }
        if (data.what === "done") resolve({ times, count });
        if (["trouble", "broken"].includes(data.what)) reject(new Error(data.text));
      };
      worker.postMessage({ ask: id, kind, question });
    });
  await ask(0, "order", {});
  const found = { count: 0, screened: [], confirmed: [] };
  for (let round = 1; round <= rounds; round += 1) {
    const start = performance.now();
    const { times, count } = await ask(round, "sizing", { order: JSON.stringify(order) });
    found.count = count;
    found.screened.push(times[0] - start);
    found.confirmed.push(times.at(-1) - times[0]);
  }
  worker.terminate();
  return found;
}

/** A sack's whole study in the desk's wasm, in one go: with a new solver, and with one that knows the sack 5 mm shorter. */
async function studies() {
  const runs = await visit(measureStudies, { rounds: 9 }, { calm: true });
  return Object.entries(runs).map(([name, times]) => ({ name, times }));
}

/** Runs in the page. Sets of answers are timed on the way through a study: to the question behind them. */
async function measureStudies({ rounds }) {
  const { default: init, Filler } = await import(new URL("pkg/sackwright_desk.js", document.baseURI).href);
  await init({ module_or_path: new URL("pkg/sackwright_desk_bg.wasm", document.baseURI) });
  const examples = await (await fetch("examples.json")).json();
  const sheet = JSON.parse(examples.sacks.find(({ path }) => path.includes("bread-flour-25-kg")).text);
  const text = (length) => JSON.stringify({ ...sheet, length_mm: length });
  const found = {};
  const keep = (name, time) => (found[name] ??= []).push(time);
  for (const detail of ["coarse", "fine"]) {
    for (let round = 0; round < rounds; round += 1) {
      const filler = new Filler(detail);
      for (const [length, after] of [[sheet.length_mm, "new"], [sheet.length_mm + 5, "5 mm later"]]) {
        filler.setSheet(text(length));
        const turns = [];
        let before = 0;
        const start = performance.now();
        filler.study((question) => {
          if (question !== before) turns.push(performance.now() - start);
          before = question;
          return true;
        });
        const whole = performance.now() - start;
        const [capacities, , set] = turns;
        keep(`both capacities in wasm, ${detail}, ${after}`, capacities);
        keep(`both capacities, lying and pressed in wasm, ${detail}, ${after}`, set);
        keep(`a whole study in wasm, ${detail}, ${after}`, whole);
      }
      filler.free();
    }
  }
  return found;
}

/**
 * A length that is dragged on the drawing board, a new value every frame, while the worker follows: JavaScript and wasm of a
 * frame (core, form, figures, findings, mesh, buffers) without what the browser takes for layout and drawing commands, the same
 * with both, and how long after the last change the answers are there. Software WebGL draws on the cores that the page runs
 * on: once its picture is waited for before the next change (rendering apart), and once not.
 */
async function drag() {
  const measured = (rounds, apart) =>
    visit(measureDrag, { count: 3 * FRAMES, rounds, apart }, { calm: true, commands: true });
  const runs = await measured(5, true);
  const beside = await measured(0, false);
  return [
    { name: "a frame of a drag, JavaScript and wasm while the worker follows", times: runs.work },
    { name: "the same while the picture before is still drawn on the same cores", times: beside.work },
    { name: "the same with layout and drawing commands", times: beside.whole },
    { name: "from a change to the coarse filled sack", times: runs.coarse },
    { name: "from a change to the fine filled sack", times: runs.fine },
  ];
}

/** Runs in the page. */
async function measureDrag({ count, rounds, apart }) {
  location.hash = "board";
  const gl = document.querySelector("canvas").getContext("webgl2");
  const finish = () => gl.readPixels(0, 0, 1, 1, gl.RGBA, gl.UNSIGNED_BYTE, new Uint8Array(4));
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
  const { commands } = globalThis;
  const times = { work: [], whole: [], coarse: [], fine: [] };
  for (let step = -10; step < count; step += 1) {
    // Of the frame's callbacks, the page's own stand between these two.
    const { work, layout, drawing } = await new Promise((resolve) => {
      let [begun, before] = [0, 0];
      requestAnimationFrame(() => {
        begun = performance.now();
        before = commands.ms;
      });
      const start = performance.now();
      set(700 + step);
      const changed = performance.now();
      void document.body.offsetHeight;
      const layout = performance.now() - changed;
      requestAnimationFrame(() => resolve({ work: changed - start + (performance.now() - begun) - (commands.ms - before), layout, drawing: commands.ms - before }));
    });
    if (apart) {
      finish();
      await new Promise((resolve) => requestAnimationFrame(resolve));
      finish();
    }
    if (step < 0) continue;
    times.work.push(work);
    times.whole.push(work + layout + drawing);
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

// One test, one fresh page: opens it, watches it, and fails the test for anything it should not do.

import assert from "node:assert/strict";
import { after, test } from "node:test";

import { PNG } from "pngjs";

import { DESK, launch, ready } from "./browser.js";
import { serve } from "./server.js";

export { ready } from "./browser.js";

/** The driver's remarks on speed, which only a screenshot of WebGL in software brings about. */
const DRIVER_REMARK = /GL Driver Message .*Performance/;

/** The browser of this test file, started once. */
let browser;
const servers = new Map();

after(async () => {
  await browser?.close();
  for (const server of servers.values()) await server.close();
});

/** The address of the page under a path of its host. */
async function address(under = "/") {
  if (!servers.has(under)) servers.set(under, await serve(under));
  return servers.get(under).address;
}

/**
 * A test on a fresh page. `options`: Playwright's options of a context (viewport, colorScheme,
 * reducedMotion ...), `under` (the path the page is served at), `path` (what follows it),
 * `allow` (a pattern of the console messages that the test itself brings about) and `noWebGl` (the browser has none).
 * Motion is reduced unless asked for: the sack then lies there finished at the start.
 * `body(page)` gets the page open and ready.
 */
export function pageTest(name, options, body) {
  const { under, path = "", allow, noWebGl = false, ...context } = options;
  test(name, { timeout: 120_000 }, async () => {
    browser ??= await launch();
    const visit = await browser.newContext({ viewport: DESK, reducedMotion: "reduce", ...context });
    try {
      await visit.addInitScript(countWork);
      if (noWebGl) await visit.addInitScript(refuseContext);
      const faults = watch(visit, new URL(await address(under)).origin, allow);
      const page = await visit.newPage();
      try {
        await page.goto((await address(under)) + path);
        await ready(page);
        await body(page);
      } catch (error) {
        // What the page complained of is often the cause.
        if (faults.length > 0) error.message += `\nBefore that, the page: ${faults.join("\n")}`;
        throw error;
      }
      assert.deepEqual(faults, [], "the page did what it should not");
    } finally {
      await visit.close();
    }
  });
}

/** Collects what no page or worker of a visit must do: errors, warnings, failed or foreign requests. */
function watch(visit, origin, allow) {
  const faults = [];
  visit.on("console", (message) => {
    const text = message.text();
    const isFault = ["error", "warning"].includes(message.type());
    const isExpected = DRIVER_REMARK.test(text) || allow?.test(text);
    if (isFault && !isExpected) faults.push(`console ${message.type()}: ${text}`);
  });
  visit.on("weberror", (webError) => {
    const error = webError.error();
    faults.push(`error: ${error.stack ?? error.message}`);
  });
  visit.on("requestfailed", (request) => {
    faults.push(`request failed: ${request.url()} (${request.failure()?.errorText})`);
  });
  visit.on("response", (response) => {
    if (response.status() >= 400) faults.push(`status ${response.status()}: ${response.url()}`);
  });
  visit.on("request", (request) => {
    const url = new URL(request.url());
    const isLocal = url.origin === origin || ["data:", "blob:"].includes(url.protocol);
    if (!isLocal) faults.push(`request to another origin: ${url}`);
  });
  return faults;
}

/** Runs in the page before its own code: counts WebGL draw calls and the frames asked for. */
function countWork() {
  const work = { drawCalls: 0, frames: 0, nativeFrame: requestAnimationFrame.bind(globalThis) };
  globalThis.work = work;
  const proto = WebGL2RenderingContext.prototype;
  for (const name of ["drawArrays", "drawElements", "drawArraysInstanced", "drawElementsInstanced"]) {
    const original = proto[name];
    proto[name] = function (...args) {
      work.drawCalls += 1;
      return original.apply(this, args);
    };
  }
  globalThis.requestAnimationFrame = (callback) => {
    work.frames += 1;
    return work.nativeFrame(callback);
  };
}

/** Runs in the page before its own code: canvases give no context. */
function refuseContext() {
  HTMLCanvasElement.prototype.getContext = () => null;
}

/** Lets `count` frames pass; returns how many draw calls the page made and frames it asked for meanwhile. */
export function workDuring(page, count) {
  return page.evaluate(async (frames) => {
    const { work } = globalThis;
    const { drawCalls, frames: asked } = work;
    for (let frame = 0; frame < frames; frame += 1) {
      await new Promise((resolve) => work.nativeFrame(resolve));
    }
    return { drawCalls: work.drawCalls - drawCalls, frames: work.frames - asked };
  }, count);
}

/** Waits until the page has drawn what there is to draw and rests. */
export async function rest(page) {
  for (let tries = 0; tries < 300; tries += 1) {
    const { drawCalls, frames } = await workDuring(page, 4);
    if (drawCalls === 0 && frames === 0) return;
  }
  assert.fail("the page does not come to rest");
}

/** The page's element with `data-hook`. */
export function hook(page, name) {
  return page.locator(`[data-hook="${name}"]`);
}

/** Leads to one of the three places: table, board or bench. */
export async function enter(page, place) {
  await page.locator(`[data-place-link="${place}"]`).click();
  await page.locator(`main[data-place="${place}"]`).waitFor();
}

/** Waits until the filling is computed to its last frame and stands behind the fold as a stage: on a busy machine it takes its time. */
export async function filmed(page) {
  await page.locator('[data-hook="track"][data-filmed="whole"] .segment[data-stage="fill"]').waitFor({ timeout: 90_000 });
}

/** Closes the messages at the top, which take room from what lies below. */
export async function closeNotices(page) {
  const close = hook(page, "notice-close");
  while ((await close.count()) > 0) await close.first().click();
}

/** Shows a fraction of a stage; the page rests afterwards. */
export async function pose(page, stage, at) {
  await page.evaluate(([name, fraction]) => globalThis.sackwright.setPose(name, fraction), [stage, at]);
  await rest(page);
}

/** The picture of the sack as it is shown, without what lies over it. */
export async function sackPicture(page) {
  await rest(page);
  return picture(hook(page, "canvas"));
}

/** The pixels of an element as it is shown. */
export async function picture(locator) {
  return PNG.sync.read(await locator.screenshot({ animations: "allow" }));
}

/** The share of pixels, 0 to 1, that differ visibly between two pictures of the same size. */
export function difference(a, b) {
  assert.deepEqual([a.width, a.height], [b.width, b.height], "pictures of the same size");
  let differing = 0;
  for (let i = 0; i < a.data.length; i += 4) {
    const isDifferent = [0, 1, 2].some((c) => Math.abs(a.data[i + c] - b.data[i + c]) > 8);
    if (isDifferent) differing += 1;
  }
  return differing / (a.width * a.height);
}

/** The number of distinct colours in a picture: one for an empty canvas. */
export function colours(picture) {
  const seen = new Set();
  for (let i = 0; i < picture.data.length; i += 4) seen.add(picture.data.readUIntBE(i, 3));
  return seen.size;
}

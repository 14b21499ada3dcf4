import assert from "node:assert/strict";

import { difference, hook, pageTest, pose, rest, sackPicture } from "./page.js";

const LOST = /loseContext: context lost/;

function lose(page) {
  return page.evaluate(() => {
    const gl = document.querySelector("canvas").getContext("webgl2");
    globalThis.loser = gl.getExtension("WEBGL_lose_context");
    globalThis.loser.loseContext();
  });
}

pageTest("a lost graphics context comes back with the same picture", { allow: LOST }, async (page) => {
  await pose(page, "fold-flaps", 0.4);
  const before = await sackPicture(page);
  await lose(page);
  await hook(page, "picture-message").waitFor();
  await page.evaluate(() => globalThis.loser.restoreContext());
  await hook(page, "picture-message").waitFor({ state: "hidden" });
  assert.equal(difference(before, await sackPicture(page)), 0);
});

pageTest("what changes while the context is lost is there when it comes back", { allow: LOST }, async (page) => {
  await pose(page, "press-pockets", 0.7);
  const wanted = await sackPicture(page);
  await pose(page, "tube", 0);
  await lose(page);
  await hook(page, "picture-message").waitFor();
  await page.evaluate(() => globalThis.sackwright.setPose("press-pockets", 0.7));
  await hook(page, "canvas").press("ArrowLeft");
  await page.locator('[data-view="whole"]').click();
  await rest(page);
  await page.evaluate(() => globalThis.loser.restoreContext());
  await hook(page, "picture-message").waitFor({ state: "hidden" });
  assert.equal(difference(wanted, await sackPicture(page)), 0);
});

pageTest("without WebGL figures and findings still work, and the page says so", { noWebGl: true }, async (page) => {
  assert.ok(await hook(page, "picture-message").isVisible());
  assert.match(await hook(page, "answer-size").innerText(), /\d/);
  await hook(page, "preset").last().click();
  await page.locator('[data-place-link="board"]').click();
  assert.ok((await page.locator("[data-figure]").count()) > 3);
  assert.ok((await hook(page, "finding").count()) > 0);
});

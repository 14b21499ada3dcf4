import assert from "node:assert/strict";
import { readFile } from "node:fs/promises";

import { PNG } from "pngjs";

import { colours, difference, enter, filmed, hook, pageTest, ready, rest, sackPicture, workDuring } from "./page.js";

/** Brightness of the page's ground, 0 to 255. */
function ground(page) {
  return page.evaluate(() => {
    const [red, green, blue] = getComputedStyle(document.body)
      .backgroundColor.match(/[\d.]+/g)
      .map(Number);
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue;
  });
}

/** Brightness near a picture's upper left corner, where there is no sack; past the frame's line. */
function corner(shown) {
  const at = 4 * (8 * shown.width + 8);
  const [red, green, blue] = shown.data.subarray(at, at + 3);
  return 0.2126 * red + 0.7152 * green + 0.0722 * blue;
}

pageTest("light and dark follow the system", { colorScheme: "light" }, async (page) => {
  const light = { ground: await ground(page), picture: await sackPicture(page) };
  await page.emulateMedia({ colorScheme: "dark" });
  const dark = { ground: await ground(page), picture: await sackPicture(page) };
  assert.ok(light.ground > 150 && dark.ground < 100, `${light.ground} and ${dark.ground}`);
  assert.ok(corner(light.picture) > corner(dark.picture) + 50, "the picture follows");
});

pageTest("a choice of light or dark stands above the system's and is remembered", { colorScheme: "light" }, async (page) => {
  await hook(page, "theme").selectOption("dark");
  assert.ok((await ground(page)) < 100);
  // The worker's files would be cut off on their way.
  await filmed(page);
  await page.reload();
  await ready(page);
  assert.ok((await ground(page)) < 100, "after a reload");
  assert.equal(await hook(page, "theme").inputValue(), "dark");
  await hook(page, "theme").selectOption("system");
  assert.ok((await ground(page)) > 150);
});

pageTest("with reduced motion nothing moves by itself", {}, async (page) => {
  assert.equal(await hook(page, "play").getAttribute("data-state"), "again", "the first sack lies there finished");
  await enter(page, "bench");
  await hook(page, "lesson-step").first().click();
  await rest(page);
  const position = () => hook(page, "scrub").inputValue();
  const before = await position();
  await hook(page, "lesson-next").click();
  assert.notEqual(await position(), before, "a step shows its result at once");
  assert.equal(await hook(page, "play").getAttribute("data-state"), "play");
  const moving = await page.evaluate(() => document.getAnimations().filter((a) => a.playState === "running").length);
  assert.equal(moving, 0, "no animation of the page runs");
});

pageTest("the page draws only when something moved", {}, async (page) => {
  await filmed(page);
  await rest(page);
  assert.deepEqual(await workDuring(page, 60), { drawCalls: 0, frames: 0 });
  const turned = workDuring(page, 20);
  await hook(page, "canvas").press("ArrowLeft");
  assert.ok((await turned).drawCalls > 0, "a turn is drawn");
  await rest(page);
  assert.deepEqual(await workDuring(page, 60), { drawCalls: 0, frames: 0 });
});

pageTest("hands turn, shift and near the sack; views bring it back", {}, async (page) => {
  const canvas = hook(page, "canvas");
  const box = await canvas.boundingBox();
  const middle = [box.x + box.width / 2, box.y + box.height / 2];
  const straight = await sackPicture(page);

  const drag = async (button) => {
    await page.mouse.move(...middle);
    await page.mouse.down({ button });
    await page.mouse.move(middle[0] + 60, middle[1] + 40, { steps: 4 });
    await page.mouse.up({ button });
  };
  await drag("left");
  const turned = await sackPicture(page);
  assert.ok(difference(straight, turned) > 0.01, "a drag turns");
  await drag("right");
  const shifted = await sackPicture(page);
  assert.ok(difference(turned, shifted) > 0.01, "the other button shifts");
  await page.mouse.wheel(0, -240);
  assert.ok(difference(shifted, await sackPicture(page)) > 0.01, "the wheel nears");

  await page.locator('[data-view="whole"]').click();
  await page.mouse.move(0, 0);
  assert.equal(difference(straight, await sackPicture(page)), 0, "the whole view is as at the start");
  const views = await page.locator("[data-view]").all();
  let last = straight;
  for (const view of views.slice(1)) {
    await view.click();
    const shown = await sackPicture(page);
    assert.ok(difference(last, shown) > 0.01, await view.innerText());
    last = shown;
  }
});

pageTest("thickness and plainness can be seen", {}, async (page) => {
  const real = await sackPicture(page);
  await page.locator("details.look summary").click();
  await hook(page, "thickness").selectOption("6");
  const thick = await sackPicture(page);
  assert.ok(difference(real, thick) > 0.001, "thick paper");
  await hook(page, "plain").check();
  assert.ok(difference(thick, await sackPicture(page)) > 0.001, "plain paper");
});

pageTest("the picture is saved as it is seen", {}, async (page) => {
  await rest(page);
  await page.locator(".look summary").click();
  // A button under the pointer looks otherwise.
  await hook(page, "save-picture").hover();
  const before = await sackPicture(page);
  const [download] = await Promise.all([page.waitForEvent("download"), hook(page, "save-picture").click()]);
  assert.equal(download.suggestedFilename(), `${await hook(page, "sack-name").innerText()}.png`);
  const saved = PNG.sync.read(await readFile(await download.path()));
  assert.ok(colours(saved) > 100, "the sack is on it");
  assert.equal(difference(before, await sackPicture(page)), 0, "what is shown stays");
  assert.equal(await hook(page, "plain").isChecked(), false);
});

pageTest("the picture keeps its size when the filling joins the stages", {}, async (page) => {
  const size = await hook(page, "canvas").boundingBox();
  await filmed(page);
  assert.deepEqual(await hook(page, "canvas").boundingBox(), size);
});

pageTest("the fold is saved as a short film; stopped, there is none", {}, async (page) => {
  await filmed(page);
  await hook(page, "speed").selectOption("2");
  await page.locator(".look summary").click();
  const button = hook(page, "save-film");
  const downloads = [];
  page.on("download", (download) => downloads.push(download));
  await button.click();
  assert.equal(await button.innerText(), "Stop the film");
  await button.click();
  assert.equal(await button.innerText(), "Save a short film");
  assert.equal(await hook(page, "play").getAttribute("data-state"), "play", "it has stopped");

  const [film] = await Promise.all([page.waitForEvent("download", { timeout: 90_000 }), button.click()]);
  assert.match(film.suggestedFilename(), /^Bread flour.*\.(mp4|webm)$/);
  const bytes = await readFile(await film.path());
  assert.ok(bytes.length > 20_000, `${bytes.length} bytes`);
  const isMp4 = bytes.subarray(4, 8).toString() === "ftyp";
  const isWebm = bytes.readUInt32BE(0) === 0x1a45dfa3;
  assert.ok(isMp4 || isWebm);
  assert.equal(await button.innerText(), "Save a short film");
  assert.equal(downloads.length, 1, "the one that was stopped is not saved");
  assert.equal(await hook(page, "play").getAttribute("data-state"), "again", "the sack is finished");
});

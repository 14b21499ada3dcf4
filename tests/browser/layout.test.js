import assert from "node:assert/strict";

import { colours, difference, enter, filmed, hook, pageTest, sackPicture } from "./page.js";

const PLACES = ["table", "board", "bench"];
const MAIN_CONTROLS = ["open", "save", "play", "scrub", "step-back", "zoom-in"];

/** Nothing may reach beyond the right edge: sideways scrolling loses people. */
async function fits(page, width) {
  const scrolled = await page.evaluate(() => document.documentElement.scrollWidth);
  const wide = await page.evaluate((limit) => {
    const isBeyond = (element) => element.getBoundingClientRect().right > limit + 1 && element.checkVisibility();
    return [...document.body.querySelectorAll("*")].filter(isBeyond).map((element) => element.outerHTML.slice(0, 100));
  }, width);
  assert.ok(scrolled <= width, `the page is ${scrolled} px wide in ${width} px; beyond the edge: ${wide.slice(0, 5).join(" ")}`);
}

async function works(page, width) {
  for (const place of PLACES) {
    await enter(page, place);
    await fits(page, width);
    // A trial click scrolls there and makes sure that nothing lies over the control.
    for (const name of MAIN_CONTROLS) await hook(page, name).click({ trial: true, timeout: 5_000 });
  }
  const shown = await sackPicture(page);
  assert.ok(colours(shown) > 100, "the sack is drawn");
}

const PHONE = {
  viewport: { width: 360, height: 740 },
  deviceScaleFactor: 2,
  isMobile: true,
  hasTouch: true,
};

pageTest("on a phone the picture goes along on the training bench, and the page does not jump for it", PHONE, async (page) => {
  await enter(page, "bench");
  // Until then the lesson still grows.
  await filmed(page);
  const picture = hook(page, "picture");
  const high = () => page.evaluate(() => document.documentElement.scrollHeight);
  const before = await high();
  assert.equal(await page.locator('[data-hook="stage"].near').count(), 0);
  for (const name of ["caption-why", "caption-watch", "part"]) {
    const last = hook(page, name).last();
    await last.evaluate((element) => element.scrollIntoView({ block: "center", behavior: "instant" }));
    await page.locator('[data-hook="stage"].near').waitFor();
    const [strip, told] = [await picture.boundingBox(), await last.boundingBox()];
    assert.ok(strip.y >= 0 && strip.y < 1 && strip.height < 740 / 3, `${name}: picture at ${strip.y}, ${strip.height} high`);
    assert.ok(told.y > strip.y + strip.height, `${name} at ${told.y} stands below it`);
    assert.equal(await high(), before);
  }
  const dull = await sackPicture(page);
  await hook(page, "part").first().evaluate((part) => part.focus({ preventScroll: true }));
  assert.ok(difference(dull, await sackPicture(page)) > 0.01, "the part that is named lights up in sight");
  await enter(page, "table");
  await page.locator('[data-hook="stage"]:not(.near)').waitFor();
});

pageTest("the first screen of a phone and of a laptop has what the table is for", PHONE, async (page) => {
  const play = await hook(page, "play").boundingBox();
  assert.ok(play.y + play.height <= 740, `the play button ends at ${play.y + play.height} px`);
  await page.setViewportSize({ width: 1280, height: 800 });
  const others = page.locator("[data-hook=other-sacks] summary");
  const { y, height } = await others.boundingBox();
  assert.ok(y + height <= 800, "there are other sacks to choose");
  const name = await hook(page, "sack-name").innerText();
  await others.click();
  await hook(page, "other-sack").nth(2).click();
  assert.notEqual(await hook(page, "sack-name").innerText(), name);
});

pageTest("everything works on a narrow phone", PHONE, async (page) => {
  await works(page, 360);
  await enter(page, "board");
  await page.locator('[data-hook="sheet-form"] [data-field="face_width_mm"] input').fill("510");
  await hook(page, "play").tap();
});

// Zoom of 200 % at 1280 x 800: half the CSS pixels, each twice as large.
const ZOOMED = { viewport: { width: 640, height: 400 }, deviceScaleFactor: 2 };

pageTest("everything works at 200 % zoom", ZOOMED, async (page) => {
  await works(page, 640);
});

pageTest("everything works on a tablet held upright", { viewport: { width: 768, height: 1024 } }, async (page) => {
  await works(page, 768);
});

pageTest("the canvas follows the window", {}, async (page) => {
  const canvas = hook(page, "canvas");
  const size = () => canvas.evaluate((element) => [element.width, element.height, element.clientWidth, element.clientHeight]);
  for (const [width, height] of [[1280, 800], [700, 900], [1600, 900]]) {
    await page.setViewportSize({ width, height });
    const [deviceWidth, deviceHeight, cssWidth, cssHeight] = (await sackPicture(page), await size());
    assert.deepEqual([deviceWidth, deviceHeight], [cssWidth, cssHeight], `at ${width} x ${height}`);
    await fits(page, width);
  }
});

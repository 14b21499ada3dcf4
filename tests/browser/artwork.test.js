// What is printed on the sack: pictures in, where they are seen, and that nothing is lost.

import assert from "node:assert/strict";

import { PNG } from "pngjs";

import { closeNotices, difference, enter, filmed, hook, pageTest, pose, ready, rest, sackPicture } from "./page.js";

const sheet = (page) => page.evaluate(() => JSON.parse(globalThis.sackwright.workshop.sheetText()));

/** A PNG of one colour. */
function plain([red, green, blue], width = 50, height = 64) {
  const png = new PNG({ width, height });
  for (let i = 0; i < png.data.length; i += 4) png.data.set([red, green, blue, 255], i);
  return PNG.sync.write(png);
}

/** Chooses a file for a part, and waits until the list tells of it. */
async function choose(page, part, name, buffer, mimeType = "image/png") {
  const [chooser] = await Promise.all([page.waitForEvent("filechooser"), hook(page, `artwork-choose-${part}`).click()]);
  await chooser.setFiles({ name, mimeType, buffer });
}

const told = (page, part, text) => hook(page, `artwork-file-${part}`).filter({ hasText: text }).waitFor();

/** The share of pixels of a picture that are clearly of a colour: 0 red, 1 green, 2 blue. */
function share(picture, channel) {
  const others = [0, 1, 2].filter((other) => other !== channel);
  let count = 0;
  for (let i = 0; i < picture.data.length; i += 4) {
    if (others.every((other) => picture.data[i + channel] > 2 * picture.data[i + other] + 20)) count += 1;
  }
  return count / (picture.width * picture.height);
}

pageTest("an example comes printed; what is taken off comes back by undo", {}, async (page) => {
  const printed = await sackPicture(page);
  await hook(page, "artwork-off-front").click();
  await told(page, "front", "not printed");
  const bare = await sackPicture(page);
  assert.ok(difference(printed, bare) > 0.02, "the front is bare");
  assert.equal((await sheet(page)).artwork.front, undefined);
  await page.keyboard.press("Control+z");
  await told(page, "front", ".svg");
  assert.equal(difference(printed, await sackPicture(page)), 0);
  // A sheet with nothing printed has no artwork at all.
  for (const part of ["front", "back", "valve_patch", "plain_patch"]) await hook(page, `artwork-off-${part}`).click();
  await told(page, "plain_patch", "not printed");
  assert.equal((await sheet(page)).artwork, undefined);
});

pageTest("a chosen picture is seen where it is printed, flat, filled and after a reload", {}, async (page) => {
  for (const part of ["back", "valve_patch", "plain_patch"]) await hook(page, `artwork-off-${part}`).click();
  await choose(page, "front", "red.png", plain([220, 0, 0]));
  await told(page, "front", "red.png");
  assert.equal((await sheet(page)).artwork.front, "red.png");
  await page.locator('[data-view="above"]').click();
  const flat = share(await sackPicture(page), 0);
  assert.ok(flat > 0.05, `${flat} of the picture is red`);
  await page.locator('[data-view="below"]').click();
  assert.ok(share(await sackPicture(page), 0) < flat / 20, "the back is not");

  await choose(page, "back", "blue.png", plain([0, 0, 220]));
  await told(page, "back", "blue.png");
  assert.ok(share(await sackPicture(page), 2) > flat, "the back is blue, and no bottoms lie on it");
  await page.locator('[data-view="above"]').click();
  const both = await sackPicture(page);

  await page.reload();
  await ready(page);
  await page.locator('[data-view="above"]').click();
  assert.equal(difference(both, await sackPicture(page)), 0, "the browser has kept them");

  await filmed(page);
  await pose(page, "fill", 1);
  assert.ok(share(await sackPicture(page), 0) > flat, "the filled sack's front is red, to its ends");
});

pageTest("patches are printed: what is on one is not on the other", {}, async (page) => {
  for (const part of ["front", "back", "valve_patch"]) await hook(page, `artwork-off-${part}`).click();
  await choose(page, "plain_patch", "green.png", plain([0, 200, 0], 76, 22));
  await told(page, "plain_patch", "green.png");
  const seen = async (view) => {
    await page.locator(`[data-view="${view}"]`).click();
    return share(await sackPicture(page), 1);
  };
  assert.ok((await seen("plain-end")) > 0.05);
  await filmed(page);
  await pose(page, "fill", 1);
  assert.ok((await seen("plain-end")) > 0.05);
  assert.equal(await seen("valve-end"), 0);
  // A bottom without a patch has nothing to print.
  await enter(page, "board");
  await page.locator('[data-hook="sheet-form"] [data-field="plain_end.patch"] input[type="checkbox"]').first().uncheck();
  await enter(page, "table");
  assert.ok(await hook(page, "artwork-choose-plain_patch").isHidden());
});

pageTest("two pictures of one name stay two; what is no picture is refused and says so", {}, async (page) => {
  await choose(page, "front", "label.png", plain([220, 0, 0]));
  await told(page, "front", "label.png");
  await choose(page, "back", "label.png", plain([0, 0, 220]));
  await told(page, "back", "label (2).png");
  await choose(page, "back", "label.png", plain([220, 0, 0]));
  await told(page, "back", "label.png");
  const { artwork } = await sheet(page);
  assert.deepEqual([artwork.front, artwork.back], ["label.png", "label.png"]);
  const before = await sackPicture(page);
  await choose(page, "front", "notes.png", Buffer.from("no picture"));
  await page.locator('[data-hook="notice"][role="alert"]', { hasText: "notes.png" }).waitFor();
  await closeNotices(page);
  assert.equal((await sheet(page)).artwork.front, "label.png");
  assert.equal(difference(before, await sackPicture(page)), 0);
});

pageTest("a sheet whose picture is not here says so, and the picture can be dropped on the page", {}, async (page) => {
  const other = { ...(await sheet(page)), name: "From elsewhere", artwork: { front: "elsewhere/label.png" } };
  await hook(page, "file-input").setInputFiles({
    name: "other.sack.json",
    mimeType: "application/json",
    buffer: Buffer.from(JSON.stringify(other)),
  });
  await told(page, "front", "label.png is not in this browser");
  await closeNotices(page);
  const bare = await sackPicture(page);
  const dataTransfer = await page.evaluateHandle((bytes) => {
    const transfer = new DataTransfer();
    transfer.items.add(new File([new Uint8Array(bytes)], "label.png", { type: "image/png" }));
    return transfer;
  }, [...plain([220, 0, 0])]);
  await page.dispatchEvent("main", "drop", { dataTransfer });
  await hook(page, "notice").filter({ hasText: "printed on the front" }).waitFor();
  await closeNotices(page);
  assert.equal((await sheet(page)).artwork.front, "label.png");
  assert.ok(share(await sackPicture(page), 0) > share(bare, 0) + 0.03);
});

pageTest("a sack that has got longer since its print was laid out has no patch's print on its walls", {}, async (page) => {
  for (const part of ["front", "back", "valve_patch"]) await hook(page, `artwork-off-${part}`).click();
  await choose(page, "plain_patch", "red.png", plain([220, 0, 0], 76, 22));
  await told(page, "plain_patch", "red.png");
  await page.evaluate(() => {
    globalThis.sackwright.viewer.setArtwork = () => {};
  });
  await enter(page, "board");
  await page.locator('[data-hook="sheet-form"] [data-field="length_mm"] input').fill("900");
  await pose(page, "tube", 0);
  for (const view of ["above", "below"]) {
    await page.locator(`[data-view="${view}"]`).click();
    assert.equal(share(await sackPicture(page), 0), 0, view);
  }
});

pageTest("while a length moves the print follows, and is laid out anew when it rests", {}, async (page) => {
  await choose(page, "front", "red.png", plain([220, 0, 0], 50, 64));
  await told(page, "front", "red.png");
  await enter(page, "board");
  await page.locator('[data-view="above"]').click();
  const length = page.locator('[data-hook="sheet-form"] [data-field="length_mm"] input');
  await page.evaluate(() => {
    globalThis.prints = 0;
    const { viewer } = globalThis.sackwright;
    const set = viewer.setArtwork.bind(viewer);
    viewer.setArtwork = (print) => {
      globalThis.prints += 1;
      set(print);
    };
  });
  const whole = share(await sackPicture(page), 0);
  const whileMoved = await length.evaluate((input) => {
    for (let mm = 641; mm <= 660; mm += 1) {
      input.value = String(mm);
      input.dispatchEvent(new Event("input", { bubbles: true }));
    }
    return globalThis.prints;
  });
  assert.equal(whileMoved, 0);
  await page.waitForFunction(() => globalThis.prints > 0);
  await rest(page);
  assert.equal(await page.evaluate(() => globalThis.prints), 1, "once");
  // The picture keeps its proportions: 50 to 64 fits 500 x 640 whole, not 500 x 660.
  assert.ok(share(await sackPicture(page), 0) < 1.02 * whole);
});

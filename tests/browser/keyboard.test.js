import assert from "node:assert/strict";

import { difference, filmed, hook, pageTest, rest, sackPicture } from "./page.js";

/** Controls that Tab must reach: all that are shown and not switched off; of a choice by radio buttons the one chosen. */
const REACHABLE = 'a[href], button, input:not([type="file"], [type="radio"]:not(:checked)), select, textarea, summary, [tabindex="0"]';

/** What has the focus: a mark that stays with the element, and whether the focus can be seen. */
function focused(page) {
  return page.evaluate(() => {
    const element = document.activeElement;
    if (!element || element === document.body) return undefined;
    element.dataset.reached ??= String(document.querySelectorAll("[data-reached]").length);
    const style = getComputedStyle(element);
    const isOutlined = style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2;
    const box = element.getBoundingClientRect();
    const inside = box.bottom > 0 && box.top < innerHeight && box.right > 0 && box.left < innerWidth;
    const name = element.dataset.hook ?? element.id ?? element.tagName;
    return { mark: element.dataset.reached, name: `${element.tagName} ${name} ${element.textContent.trim().slice(0, 30)}`, isOutlined, inside };
  });
}

for (const place of ["table", "board", "bench"]) {
  pageTest(`Tab reaches every control of the ${place}, and shows where it is`, { path: `#${place}` }, async (page) => {
    // What comes later than the rest, the filling and the stack, is there too.
    await filmed(page);
    await rest(page);
    const reached = new Set();
    for (;;) {
      await page.keyboard.press("Tab");
      const now = await focused(page);
      if (!now || reached.has(now.mark)) break;
      assert.ok(now.isOutlined, `${now.name} shows its focus`);
      assert.ok(now.inside, `${now.name} is in sight when it has the focus`);
      reached.add(now.mark);
    }
    const missed = await page.evaluate((selector) => {
      const isOffered = (element) => element.checkVisibility({ visibilityProperty: true }) && !element.disabled;
      return [...document.querySelectorAll(selector)]
        .filter((element) => isOffered(element) && element.dataset.reached === undefined)
        .map((element) => element.outerHTML.slice(0, 120));
    }, REACHABLE);
    assert.deepEqual(missed, [], "controls that Tab does not reach");
  });
}

pageTest("the whole work of a visit by keyboard alone", {}, async (page) => {
  const press = async (...keys) => {
    for (const key of keys) await page.keyboard.press(key);
  };
  const tabTo = async (selector) => {
    for (let presses = 0; presses < 300; presses += 1) {
      await page.keyboard.press("Tab");
      if (await page.evaluate((wanted) => document.activeElement?.matches(wanted), selector)) return;
    }
    assert.fail(`Tab does not come to ${selector}`);
  };

  // Past the head to the picture, and round the sack.
  await press("Tab", "Enter");
  await tabTo("canvas");
  const straight = await sackPicture(page);
  await press("ArrowLeft", "ArrowLeft", "ArrowUp");
  assert.ok(difference(straight, await sackPicture(page)) > 0.005, "arrows turn the sack");
  await press("+", "+");

  // The fold.
  await tabTo('[data-hook="scrub"]');
  const scrub = hook(page, "scrub");
  await press("Home");
  assert.equal(await scrub.inputValue(), "0");
  await press("ArrowRight", "ArrowRight", "PageUp");
  assert.notEqual(await scrub.inputValue(), "0");
  assert.match(await scrub.getAttribute("aria-valuetext"), /\p{L}/u, "the slider says the stage by name");
  await press("End");
  assert.equal(await scrub.inputValue(), await scrub.getAttribute("max"));

  // To the drawing board: a width, a fault and its mending, undo.
  await tabTo('[data-place-link="board"]');
  await press("Enter");
  await page.locator('main[data-place="board"]').waitFor();
  await tabTo('[data-field="face_width_mm"] input');
  const width = page.locator('[data-field="face_width_mm"] input').first();
  const before = await width.inputValue();
  await press("ArrowUp");
  assert.equal(Number(await width.inputValue()), Number(before) + 1);
  await page.keyboard.type("x");
  assert.equal(await width.getAttribute("aria-invalid"), "true");
  await press("Backspace");
  assert.equal(await width.getAttribute("aria-invalid"), null);
  await press("Control+z");
  assert.equal(await width.inputValue(), before);

  // To the training bench: a step.
  await tabTo('[data-place-link="bench"]');
  await press("Enter");
  await page.locator('main[data-place="bench"]').waitFor();
  const title = await hook(page, "lesson-title").innerText();
  await tabTo('[data-hook="lesson-back"]');
  await press("Enter", "Enter");
  assert.notEqual(await hook(page, "lesson-title").innerText(), title);
});

import assert from "node:assert/strict";

import { enter, hook, pageTest, ready } from "./page.js";

const input = (page, path) =>
  page.locator(`[data-hook="sheet-form"] [data-field="${path}"]`).locator("input, select, textarea");
const sheet = (page) => page.evaluate(() => JSON.parse(globalThis.sackwright.workshop.sheetText()));
const rows = (page) => hook(page, "open-sheet");
const undo = (page) => page.keyboard.press("Control+z");

pageTest("several sheets lie side by side, each with what is found of it; closing one can be undone", {}, async (page) => {
  await enter(page, "board");
  assert.equal(await rows(page).count(), 1);
  const first = await sheet(page);
  await hook(page, "copy-sheet").click();
  assert.equal(await rows(page).count(), 2);
  await input(page, "name").fill("A longer one");
  await input(page, "length_mm").fill(String(first.length_mm + 110));
  const [kept, longer] = await rows(page).allInnerTexts();
  assert.match(longer, /A longer one/);
  assert.ok(longer.includes(String(first.length_mm + 110)), longer);
  assert.ok(kept.includes(String(first.length_mm)), kept);
  // What is found of the sheet that is not current changes with the line all the same.
  const marks = () => page.locator(".open-sheets li").evaluateAll((items) => items.map((item) => item.dataset.verdict));
  const before = await marks();
  const choices = await hook(page, "board-line-choice").locator("option").evaluateAll((options) => options.map(({ value }) => value));
  const others = [];
  for (const choice of choices) {
    await hook(page, "board-line-choice").selectOption(choice);
    others.push((await marks())[0]);
  }
  assert.ok(new Set(others).size > 1, `the first sheet is ${before[0]} on every line`);

  await rows(page).first().click();
  assert.deepEqual(await sheet(page), first);
  assert.equal(await input(page, "length_mm").inputValue(), String(first.length_mm));
  await hook(page, "close-sheet").nth(1).click();
  assert.equal(await rows(page).count(), 1);
  assert.ok(await hook(page, "close-sheet").isDisabled(), "the last one stays");
  await hook(page, "undo").click();
  assert.equal(await rows(page).count(), 2);
  await rows(page).nth(1).click();
  assert.equal((await sheet(page)).length_mm, first.length_mm + 110);
});

pageTest("a change that was taken back by hand leaves nothing to undo", {}, async (page) => {
  await enter(page, "board");
  const width = (await sheet(page)).face_width_mm;
  await input(page, "length_mm").fill("655");
  for (const value of ["512", String(width)]) await input(page, "face_width_mm").fill(value);
  await input(page, "face_width_mm").blur();
  await hook(page, "undo").click();
  assert.notEqual((await sheet(page)).length_mm, 655, "the one change that was made");
  assert.ok(await hook(page, "undo").isDisabled());
  await hook(page, "redo").click();
  assert.equal((await sheet(page)).length_mm, 655);
  assert.ok(await hook(page, "redo").isDisabled());
});

pageTest("undo goes back over sheet, line and habits alike, from anywhere", {}, async (page) => {
  await enter(page, "board");
  const line = () => hook(page, "board-line-choice").inputValue();
  const gap = page.locator('[data-hook="habits-form"] [data-field="pocket_gap_mm"] input');
  const [width, chosen] = [(await sheet(page)).face_width_mm, await line()];
  await input(page, "face_width_mm").fill("505,5");
  await hook(page, "board-line-choice").selectOption("2");
  await hook(page, "habits").locator("summary").click();
  const usual = await gap.inputValue();
  await gap.fill("77");
  await enter(page, "table");
  await hook(page, "preset").last().click();
  const last = await sheet(page);

  await undo(page);
  assert.equal((await sheet(page)).face_width_mm, 505.5);
  assert.equal(await page.evaluate(() => globalThis.sackwright.workshop.report().habits.pocket_gap_mm), 77);
  await undo(page);
  assert.equal(await gap.inputValue(), usual);
  await undo(page);
  assert.equal(await line(), chosen);
  await undo(page);
  assert.equal((await sheet(page)).face_width_mm, width);
  for (let redo = 0; redo < 4; redo += 1) await page.keyboard.press("Control+y");
  assert.deepEqual(await sheet(page), last);
  assert.equal(await line(), "2");
});

/** Opens the page once more beside `page`, as another tab of the same browser. */
async function anotherTab(page) {
  const tab = await page.context().newPage();
  await tab.goto(page.url());
  await ready(tab);
  return tab;
}

pageTest("what was open in a tab that was killed comes back in a new one, as it was typed", {}, async (page) => {
  const tab = await anotherTab(page);
  await enter(tab, "board");
  await input(tab, "face_width_mm").fill("487,50");
  await hook(tab, "copy-sheet").click();
  await input(tab, "length_mm").fill("long");
  // A living tab keeps its work to itself.
  const neighbour = await anotherTab(page);
  assert.equal(await rows(neighbour).count(), 1);
  await neighbour.close();
  await tab.waitForFunction(() => Object.keys(localStorage).some((key) => localStorage[key].includes('"long"')));
  // Without a word to the page, as when the browser dies.
  await tab.close({ runBeforeUnload: false });

  const next = await anotherTab(page);
  await enter(next, "board");
  assert.equal(await rows(next).count(), 2);
  assert.equal(await input(next, "length_mm").inputValue(), "long");
  assert.equal(await input(next, "face_width_mm").inputValue(), "487,50");
  assert.equal((await sheet(next)).face_width_mm, 487.5, "the last good sack stands");
  assert.ok(await hook(next, "sheet-problems").isVisible());
  assert.match(await next.locator('[data-notice="resumed"]').innerText(), /another way/);
  await hook(next, "afresh").click();
  assert.equal(await rows(next).count(), 1);
  assert.ok(await hook(next, "sheet-problems").isHidden());
  await undo(next);
  assert.equal(await rows(next).count(), 2, "that too can be undone");

  await next.waitForFunction(() => Object.keys(localStorage).some((key) => localStorage[key].includes('"long"')));
  await next.reload();
  await ready(next);
  assert.equal(await rows(next).count(), 2, "a reload goes on");
  assert.equal(await next.locator('[data-notice="resumed"]').count(), 0, "and makes no words of it");
});

pageTest("an unchanged example leaves nothing behind", {}, async (page) => {
  await hook(page, "preset").nth(3).click();
  await page.waitForTimeout(400);
  const kept = await page.evaluate(() => Object.keys(localStorage).filter((key) => key.startsWith("sackwright.work")));
  assert.deepEqual(kept, []);
});

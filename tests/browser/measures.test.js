import assert from "node:assert/strict";

import { enter, hook, pageTest, ready } from "./page.js";

const field = (page, path) => page.locator(`[data-hook="sheet-form"] [data-field="${path}"]`);
const input = (page, path) => field(page, path).locator("input");
const sheet = (page) => page.evaluate(() => JSON.parse(globalThis.sackwright.workshop.sheetText()));

pageTest("inches and pounds: shown everywhere, typed as people type them; the sheet stays in mm and kg", {}, async (page) => {
  await enter(page, "board");
  await input(page, "face_width_mm").fill("495,30");
  const before = await sheet(page);
  await page.locator('[data-hook="filled-figures"][data-detail="fine"]:not(.renewing)').waitFor();
  await hook(page, "measures").selectOption("imperial");
  assert.deepEqual(await sheet(page), before, "looking changes nothing");
  assert.equal(await input(page, "face_width_mm").inputValue(), "19.5");
  assert.match(await field(page, "face_width_mm").innerText(), /\bin\b/);
  assert.match(await hook(page, "figures").innerText(), /\d\sin\b/);
  assert.doesNotMatch(await hook(page, "figures").innerText(), /\bmm\b|\bkg\b/);
  for (const part of ["filled-figures", "answer-holds"])
    assert.doesNotMatch(await hook(page, part).textContent(), /\d\s(mm|kg|l)\b/, part);
  assert.doesNotMatch(await hook(page, "laps").textContent(), /\d\smm\b/);
  assert.doesNotMatch(await hook(page, "findings").innerText(), /\d\s(mm|kg)\b/);

  for (const [typed, mm] of [
    ["19 3/4", 501.65],
    ["20", 508],
    ["19,685", 499.999],
    ["500 mm", 500],
    ['18.5"', 469.9],
    ["1,6 ft", 487.68],
  ]) {
    await input(page, "face_width_mm").fill(typed);
    assert.equal((await sheet(page)).face_width_mm, mm, typed);
    assert.equal(await input(page, "face_width_mm").inputValue(), typed);
  }
  await input(page, "contents.mass_kg").fill("55");
  assert.equal((await sheet(page)).contents.mass_kg, 24.94758035);
  await input(page, "face_width_mm").fill("19.5 lb");
  assert.equal(await input(page, "face_width_mm").getAttribute("aria-invalid"), "true", "a mass is no width");
  await input(page, "face_width_mm").fill("19 1/2");
  await input(page, "face_width_mm").press("ArrowUp");
  assert.equal(await input(page, "face_width_mm").inputValue(), "19.5625");

  await input(page, "length_mm").fill("25 1/4");
  await hook(page, "measures").selectOption("metric");
  assert.equal(await input(page, "length_mm").inputValue(), "641.35");
  await hook(page, "measures").selectOption("imperial");
  assert.equal(await input(page, "length_mm").inputValue(), "25 1/4", "what was typed is kept");
  await enter(page, "table");
  assert.match(await hook(page, "answer-size").innerText(), /19\.56\s*×\s*25\.25.*in/);
  await page.reload();
  await ready(page);
  assert.match(await hook(page, "answer-size").innerText(), /in$/, "the choice is remembered");
});

pageTest("a number below nought is told with a minus sign, and typed with it or with a hyphen", {}, async (page) => {
  await enter(page, "board");
  const place = input(page, "valve_end.valve.offset_from_centre_mm");
  for (const [typed, mm] of [
    ["\u22123.5", -3.5],
    ["-4", -4],
  ]) {
    await place.fill(typed);
    assert.equal((await sheet(page)).valve_end.valve.offset_from_centre_mm, mm, typed);
  }
  assert.notEqual(await place.getAttribute("aria-invalid"), "true");
  // Narrower than the spout.
  await input(page, "valve_end.valve.flat_width_mm").fill("90");
  const figures = hook(page, "figures");
  await page.waitForFunction(() => /\u2212\d/.test(document.querySelector('[data-hook="figures"]').textContent));
  assert.match(await figures.textContent(), /\u2212\d+(\.\d)?\s%/);
  const texts = await Promise.all(["figures", "findings"].map((part) => hook(page, part).textContent()));
  for (const text of texts) assert.doesNotMatch(text, /(^|[\s(])-\d/, text);
});

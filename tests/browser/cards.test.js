import assert from "node:assert/strict";
import { readFileSync } from "node:fs";

import axe from "axe-core";

import { enter, hook, pageTest, ready } from "./page.js";

const OLD_DYE_HOUSE = "../../examples/works/old-dye-house.works.json";
const example = (path) => readFileSync(new URL(path, import.meta.url));
const field = (page, card, path) => page.locator(`[data-hook="${card}-form"] [data-field="${path}"]`);
const ofWorks = (page) => page.locator('[data-hook="finding"][data-rule^="works-"]');
const stops = (page) => page.locator('[data-hook="finding"][data-rule^="works-"][data-severity="stop"]');
const drop = (page, name, buffer) => hook(page, "file-input").setInputFiles({ name, mimeType: "application/json", buffer });
const unfold = (page, card) => hook(page, `${card}-card-body`).locator("summary").click();

pageTest("a works is chosen, and its rules are held against the sack", {}, async (page) => {
  assert.equal(await ofWorks(page).count(), 0, "of no works at first");
  await hook(page, "works-choice").selectOption({ index: 1 });
  assert.equal(await hook(page, "answer-make").getAttribute("data-verdict"), "stop");
  await enter(page, "board");
  await hook(page, "findings-good-count").click();
  assert.equal(await hook(page, "ticket-works-choice").inputValue(), "0", "both lists show the same works");
  assert.ok((await stops(page).count()) > 0);
  await hook(page, "ticket-works-choice").selectOption({ index: 2 });
  assert.equal(await stops(page).count(), 0);
  assert.ok((await ofWorks(page).count()) > 0);
  await page.keyboard.press("Control+z");
  assert.ok((await stops(page).count()) > 0, "the choice can be undone");
  await page.keyboard.press("Control+z");
  assert.equal(await ofWorks(page).count(), 0);
  await hook(page, "ticket-works-choice").selectOption({ index: 2 });
  await page.reload();
  await ready(page);
  assert.equal(await hook(page, "works-choice").inputValue(), "1", "the choice is remembered");
});

pageTest("a works card is edited, undone, saved, and comes back after a reload", {}, async (page) => {
  await enter(page, "board");
  await hook(page, "ticket-works-choice").selectOption({ index: 2 });
  await unfold(page, "works");
  const most = field(page, "works", "bottomer.face_width_mm").locator("input").nth(1);
  await most.fill("480");
  await page.locator('[data-rule="works-face-width"][data-severity="stop"]').waitFor();
  const other = await hook(page, "ticket-works-choice").locator("option:checked").innerText();
  await field(page, "works", "name").locator("input").fill(`${other} 2`);
  assert.equal(await hook(page, "works-choice").locator("option:checked").textContent(), `${other} 2`);
  const left = field(page, "works", "bottomer.valve_sides").locator("input").first();
  await left.uncheck();
  await page.locator('[data-rule="works-valve-side"][data-severity="stop"]').waitFor();
  await most.fill("wide");
  assert.ok(await field(page, "works", "bottomer.face_width_mm").locator(".error:not([hidden])").isVisible());
  assert.ok(await hook(page, "works-problems").isVisible());
  const download = page.waitForEvent("download");
  await hook(page, "save-works").click();
  const saved = JSON.parse(readFileSync(await (await download).path(), "utf8"));
  assert.deepEqual([saved.format, saved.bottomer.face_width_mm.max], ["sackwright-works/1", 480], "the last good card is saved");

  await page.waitForFunction(() => Object.keys(localStorage).some((key) => localStorage[key].includes('"wide"')));
  await page.reload();
  await ready(page);
  await unfold(page, "works");
  assert.equal(await field(page, "works", "bottomer.face_width_mm").locator("input").nth(1).inputValue(), "wide");
  assert.ok(await hook(page, "works-problems").isVisible());
});

pageTest("the pallet's card is edited like the line's; what is stacked follows, and undo brings it back", {}, async (page) => {
  const height = () => hook(page, "pallet-figures").locator('[data-figure="layers"] td').innerText();
  const stacked = () => page.locator('[data-hook="pallet-figures"]:not([aria-busy]) table').waitFor();
  await enter(page, "board");
  await stacked();
  const before = await height();
  await unfold(page, "pallet");
  await field(page, "pallet", "max_layers").locator("input").fill("3");
  await page.waitForFunction(() => document.querySelector('[data-hook="pallet-figures"] [data-figure="layers"] td')?.textContent === "3");
  await page.keyboard.press("Control+z");
  await page.waitForFunction(
    (layers) => document.querySelector('[data-hook="pallet-figures"] [data-figure="layers"] td')?.textContent === layers,
    before,
  );
});

pageTest("works cards are opened from files; a broken one says what is wrong and changes nothing", {}, async (page) => {
  await drop(page, "dye.works.json", example(OLD_DYE_HOUSE));
  await hook(page, "notice").waitFor();
  assert.equal(await hook(page, "works-choice").inputValue(), "0");
  const card = JSON.parse(example(OLD_DYE_HOUSE));
  card.tuber.plies = { min: 4, max: 2 };
  await drop(page, "broken.works.json", Buffer.from(JSON.stringify(card)));
  await page.locator('[data-hook="notice"]', { hasText: "broken.works.json" }).waitFor();
  assert.match(await hook(page, "notice").innerText(), /Tuber, Plies/);
  assert.equal(await hook(page, "works-choice").inputValue(), "0");
});

for (const colorScheme of ["light", "dark"]) {
  pageTest(`unfolded cards have no fault of accessibility on a phone, ${colorScheme}`, { colorScheme, viewport: { width: 360, height: 740 } }, async (page) => {
    await enter(page, "board");
    await hook(page, "ticket-works-choice").selectOption({ index: 2 });
    for (const card of ["works", "pallet"]) await unfold(page, card);
    await page.evaluate(axe.source);
    const { violations } = await page.evaluate(() => globalThis.axe.run(document));
    assert.deepEqual(violations.flatMap(({ id, nodes }) => nodes.map(({ target }) => `${id}: ${target}`)), []);
    const sideways = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
    assert.ok(sideways <= 0, `something sticks out sideways by ${sideways} px`);
  });
}

pageTest("from an answer on the table one comes to its card's figures", {}, async (page) => {
  const go = (kind) => hook(page, `${kind}-figures-go`);
  assert.ok(await go("works").isHidden(), "no works is chosen");
  await go("line").click();
  await page.locator('main[data-place="board"]').waitFor();
  assert.equal(await page.evaluate(() => document.activeElement.value), "Harbour mill, air packer");
  await field(page, "line", "spout.outside_diameter_mm").locator("input").fill("76");
  await enter(page, "table");
  assert.equal(await hook(page, "answer-line").getAttribute("data-verdict"), "stop", "the wider spout does not go in");
  await go("pallet").click();
  assert.ok(await field(page, "pallet", "max_layers").locator("input").isVisible(), "its fold is open");
});

pageTest("a habit whose least lies above its most says so at the field, and what would do", {}, async (page) => {
  await enter(page, "board");
  await hook(page, "habits").locator("summary").click();
  const of = (path) => field(page, "habits", path).locator("input");
  const held = () => page.evaluate(() => globalThis.sackwright.workshop.report().habits.least_step_mm);
  await of("least_step_mm").fill("40");
  assert.match(await field(page, "habits", "most_step_mm").innerText(), /Make it 40\smm or more/);
  assert.equal(await of("most_step_mm").getAttribute("aria-invalid"), "true");
  assert.equal(await held(), 10, "the last good habits hold");
  await of("most_step_mm").fill("45");
  assert.equal(await of("most_step_mm").getAttribute("aria-invalid"), null);
  assert.equal(await held(), 40);
});

pageTest("a filling line is begun anew, or from a copy, and can be undone", {}, async (page) => {
  const choice = () => hook(page, "board-line-choice").locator("option:checked").textContent();
  const name = field(page, "line", "name").locator("input");
  await enter(page, "board");
  const first = await choice();
  const count = await hook(page, "board-line-choice").locator("option").count();
  await hook(page, "copy-line").click();
  assert.ok(await name.evaluate((input) => input === document.activeElement), "its name is what is typed first");
  assert.equal(await choice(), `${first}, another way`);
  assert.equal(await field(page, "line", "takes.face_width_mm").locator("input").nth(1).inputValue(), "560");
  await hook(page, "copy-line").click();
  await hook(page, "new-line").click();
  assert.equal(await choice(), "New filling line");
  assert.equal(await field(page, "line", "takes.face_width_mm").locator("input").nth(1).inputValue(), "", "no limits of another line");
  assert.equal(await field(page, "line", "spout.outside_diameter_mm").locator("input").inputValue(), "66");
  assert.ok(await hook(page, "line-problems").isHidden(), "a good card from the start");
  assert.equal(await page.locator('[data-hook="finding"][data-rule="line-takes"]').count(), 0);
  await name.fill("Quay packer");
  assert.equal(await choice(), "Quay packer");
  assert.equal(await hook(page, "board-line-choice").locator("option").count(), count + 3, "the others are still there");
  await hook(page, "new-line").click();
  await hook(page, "new-line").click();
  assert.equal(await choice(), "New filling line 2");
  for (let back = 0; back < 6; back += 1) await page.keyboard.press("Control+z");
  assert.equal(await choice(), first);
  assert.equal(await hook(page, "board-line-choice").locator("option").count(), count);
});

pageTest("a works and a pallet are begun anew from no card in use", {}, async (page) => {
  await enter(page, "board");
  assert.ok(await hook(page, "copy-works").isDisabled(), "there is none to copy");
  await hook(page, "new-works").click();
  assert.equal(await hook(page, "works-choice").locator("option:checked").textContent(), "New sack works");
  assert.ok(await field(page, "works", "name").locator("input").isVisible(), "unfolded");
  assert.equal(await ofWorks(page).count(), 0, "it has no limits yet");
  await hook(page, "new-pallet").click();
  await page.locator('[data-hook="pallet-figures"]:not([aria-busy]) table').waitFor();
  assert.ok(await hook(page, "pallet-problems").isHidden());
});

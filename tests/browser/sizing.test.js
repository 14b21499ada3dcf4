import assert from "node:assert/strict";

import axe from "axe-core";

import { enter, hook, pageTest } from "./page.js";

const PHONE = { viewport: { width: 360, height: 740 }, deviceScaleFactor: 2, isMobile: true, hasTouch: true };

const sheet = (page) => page.evaluate(() => JSON.parse(globalThis.sackwright.workshop.sheetText()));
const size = ({ face_width_mm, length_mm, valve_end }) => [face_width_mm, length_mm, valve_end.bottom_width_mm].join(" ");
const field = (page, path, at = 0) => page.locator(`[data-hook="order-form"] [data-field="${path}"] input`).nth(at);
const rows = (page) => hook(page, "sizing-rows").locator("tr");
const marks = (page) => hook(page, "trade-off").locator(".mark");

/** The place for sizes, with its form. */
async function open(page) {
  await enter(page, "board");
  await hook(page, "board-sizing-open").click();
  await field(page, "face_width_mm").waitFor();
}

/** Few sizes, so that a test need not wait for many. */
async function narrow(page) {
  for (const [path, least, most] of [["face_width_mm", "480", "520"], ["length_mm", "600", "660"], ["bottom_width_mm", "120", "140"]]) {
    await field(page, path, 0).fill(least);
    await field(page, path, 1).fill(most);
  }
}

/** Goes through the sizes to the end. */
async function found(page) {
  await hook(page, "sizing-run").click();
  await hook(page, "sizing-run").waitFor();
  await rows(page).first().waitFor();
}

pageTest("an example's order gives a table: ranked, its best computed, estimates told apart", {}, async (page) => {
  const now = await sheet(page);
  await open(page);
  // The form begins with the sheet's own contents, and ranges round its size.
  assert.equal(await field(page, "contents.mass_kg").inputValue(), String(now.contents.mass_kg));
  assert.ok(Number(await field(page, "face_width_mm", 0).inputValue()) < now.face_width_mm);
  await found(page);
  const states = await rows(page).evaluateAll((all) => all.map(({ dataset }) => dataset.state));
  assert.deepEqual(states.slice(0, 10), Array.from({ length: 10 }, () => "confirmed"));
  assert.ok(states.includes("estimated"));
  const cell = (row, column) => rows(page).nth(row).locator(`[data-column="${column}"]`).innerText();
  assert.match(await cell(0, "pallet"), /^\d+ \(\d+ × \d+\)$/);
  for (const column of ["face_width_mm", "length_mm", "bottom_width_mm", "capacity", "paper"])
    assert.ok(Number.parseFloat(await cell(0, column)) > 0, column);
  const notes = await hook(page, "sizing-notes").innerText();
  assert.match(notes, /[\d,]{5,} sizes estimated/);
  assert.match(notes, /within 0\.1\s%/);
  // Of two on the front, the one with more paper has more sacks.
  const front = await hook(page, "sizing-rows").locator("tr[data-front]").evaluateAll((all) =>
    all.map((row) => ["paper", "pallet"].map((name) => Number.parseFloat(row.querySelector(`[data-column="${name}"]`).innerText))),
  );
  assert.ok(front.length > 1);
  front.sort(([a], [b]) => a - b);
  assert.ok(front.every(([, sacks], at) => at === 0 || sacks > front[at - 1][1]), JSON.stringify(front));
});

pageTest("that the best size is at an end of what was tried is said, and of which length", {}, async (page) => {
  await open(page);
  await narrow(page);
  await found(page);
  const notes = (await hook(page, "sizing-notes").innerText()).split("\n");
  for (const [column, name, least, most] of [["face_width_mm", "Face width", 480, 520], ["length_mm", "Length", 600, 660], ["bottom_width_mm", "Bottom width", 120, 140]]) {
    const best = Number.parseFloat(await rows(page).first().locator(`[data-column="${column}"]`).innerText());
    const said = notes.some((note) => note.startsWith(`${name} of the best size is at an end`));
    assert.equal(said, best === least || best === most, `${name} ${best}`);
  }
});

pageTest("where no size of the ranges will do it is said whether they are too small or too large", {}, async (page) => {
  await open(page);
  await narrow(page);
  for (const [mass, said] of [["200", "too small"], ["2", "too large"]]) {
    await field(page, "contents.mass_kg").fill(mass);
    await hook(page, "sizing-run").click();
    await page.locator('[data-hook="sizing-state"]', { hasText: said }).waitFor();
    assert.equal(await rows(page).count(), 0);
  }
});

pageTest("a size is taken over with one press, stands the checks told of it, and undo brings the sheet back", {}, async (page) => {
  const before = await sheet(page);
  await open(page);
  await narrow(page);
  await found(page);
  const wanted = await rows(page).nth(2).getAttribute("data-size");
  const stops = await rows(page).nth(2).locator(".of-stop").count();
  await hook(page, "sizing-take").nth(2).click();
  await page.locator('[data-notice="sizing"]').waitFor();
  assert.equal(size(await sheet(page)), wanted);
  await page.locator('[data-hook="filled-figures"][data-detail="fine"]:not([aria-busy])').waitFor();
  assert.equal(await page.locator('[data-hook="finding"][data-severity="stop"]').count() > 0, stops > 0);
  // Another one after it is the same as if it had been the first.
  await hook(page, "board-sizing-open").click();
  const best = await rows(page).nth(0).getAttribute("data-size");
  await hook(page, "sizing-take-picked").click();
  const second = await sheet(page);
  assert.equal(size(second), best);
  await hook(page, "sizing-undo").click();
  assert.equal(size(await sheet(page)), wanted, "what was there is back");
  assert.equal(await page.locator('[data-notice="sizing"]').count(), 0);
  await hook(page, "undo").click();
  assert.deepEqual(await sheet(page), before);
  await hook(page, "board-sizing-open").click();
  await hook(page, "sizing-take-picked").click();
  assert.deepEqual(await sheet(page), second);
});

pageTest("the barcode goes along with the size that is taken over, which is said, and what was found stays true", {}, async (page) => {
  const { artwork, ...plain } = await sheet(page);
  const barcode = { width_mm: 75, height_mm: 35, offset_from_middle_mm: 0, from_plain_end_mm: plain.length_mm - 120 };
  const file = JSON.stringify({ ...plain, artwork: { ...artwork, barcode } });
  await hook(page, "file-input").setInputFiles({ name: "code.sack.json", mimeType: "application/json", buffer: Buffer.from(file) });
  await page.waitForFunction(() => JSON.parse(globalThis.sackwright.workshop.sheetText()).artwork?.barcode);
  await open(page);
  await narrow(page);
  await found(page);
  const other = rows(page).locator(`[data-hook="sizing-take"]:not([data-size*=" ${plain.length_mm} "])`).first();
  await other.click();
  const notice = page.locator('[data-notice="sizing"]');
  await notice.waitFor();
  const now = await sheet(page);
  assert.notEqual(now.length_mm, plain.length_mm);
  const off = (each, code) => each.length_mm - each.valve_end.bottom_width_mm / 2 - code.from_plain_end_mm;
  assert.ok(Math.abs(off(now, now.artwork.barcode) - off(plain, barcode)) <= 0.5, JSON.stringify(now.artwork));
  const { from_plain_end_mm: up } = now.artwork.barcode;
  assert.match(await notice.innerText(), new RegExp(`barcode.*${up}\\smm from the plain end`));
  await hook(page, "board-sizing-open").click();
  assert.equal(await hook(page, "sizing-stale").innerText(), "");
});

pageTest("lengths are those whose tube the works cuts, and that is said", {}, async (page) => {
  const card = { format: "sackwright-works/1", name: "steps of 7", tuber: { tube_length_step_mm: 7 } };
  await hook(page, "file-input").setInputFiles({ name: "seven.works.json", mimeType: "application/json", buffer: Buffer.from(JSON.stringify(card)) });
  await hook(page, "notice").waitFor();
  const { valve_end, plain_end } = await sheet(page);
  await open(page);
  await narrow(page);
  await found(page);
  assert.match(await hook(page, "sizing-notes").innerText(), /in steps of 7\smm/);
  const sizes = await rows(page).evaluateAll((all) => all.map(({ dataset }) => dataset.size.split(" ").map(Number)));
  const deeper = plain_end.bottom_width_mm - valve_end.bottom_width_mm + valve_end.lap_mm + plain_end.lap_mm;
  for (const [, length, bottom] of sizes) assert.equal((length + bottom + deeper / 2) % 7, 0, `${length} ${bottom}`);
});

pageTest("broken off, what is there stands; gone through again, it comes to the end", {}, async (page) => {
  await open(page);
  await hook(page, "sizing-run").click();
  await rows(page).first().waitFor();
  await hook(page, "sizing-cancel").click();
  assert.match(await hook(page, "sizing-state").innerText(), /Broken off/);
  const states = () => rows(page).evaluateAll((all) => all.map(({ dataset }) => dataset.state));
  assert.ok((await states()).includes("estimated"));
  const left = await states();
  await page.waitForTimeout(600);
  assert.deepEqual(await states(), left, "nothing is computed any more");
  await found(page);
  assert.deepEqual((await states()).slice(0, 10), Array.from({ length: 10 }, () => "confirmed"));
});

pageTest("a mistake in the order is told at its field, and what was found before stays", {}, async (page) => {
  await open(page);
  await narrow(page);
  await found(page);
  const count = await rows(page).count();
  await field(page, "length_mm", 1).fill("300");
  await hook(page, "sizing-run").click();
  const error = page.locator('[data-hook="order-form"] [data-field="length_mm"] .error:not([hidden])');
  await error.waitFor();
  assert.equal(await field(page, "length_mm", 1).getAttribute("aria-invalid"), "true");
  assert.ok(await hook(page, "order-problems").isVisible());
  assert.equal(await rows(page).count(), count);
  const range = await error.innerText();
  await field(page, "length_mm", 1).fill("much");
  await hook(page, "sizing-run").click();
  await page.locator('[data-hook="order-form"] [data-field="length_mm"] .error:not([hidden])', { hasNotText: range }).waitFor();
  await page.keyboard.press("Control+z");
  await page.keyboard.press("Control+z");
  assert.equal(await field(page, "length_mm", 1).inputValue(), "660", "undo is for the order too");
  await found(page);
  assert.ok(await hook(page, "order-problems").isHidden());
});

pageTest("in the drawing a size is picked by mouse and by keyboard, and the table says the same", {}, async (page) => {
  await open(page);
  await narrow(page);
  await found(page);
  assert.equal(await marks(page).count(), await rows(page).count());
  const current = () => hook(page, "sizing-rows").locator("tr[aria-current]").getAttribute("data-size");
  const first = await current();
  const chart = hook(page, "trade-off");
  const target = marks(page).and(page.locator('[aria-selected="false"]')).first();
  const { x, y, width, height } = await target.boundingBox();
  await page.mouse.move(x + width / 2, y + height / 2);
  assert.ok(await page.locator(".trade-off-label").isVisible());
  await page.mouse.click(x + width / 2, y + height / 2);
  const picked = await current();
  assert.notEqual(picked, first);
  const selected = await chart.locator('[aria-selected="true"]').getAttribute("id");
  assert.equal(selected, `size-${picked.replaceAll(" ", "-")}`);
  await chart.focus();
  await page.keyboard.press("Home");
  await page.keyboard.press("ArrowRight");
  const active = await chart.getAttribute("aria-activedescendant");
  await page.keyboard.press("Enter");
  assert.equal(active, `size-${(await current()).replaceAll(" ", "-")}`);
  assert.match(await hook(page, "sizing-picked").innerText(), new RegExp((await current()).split(" ").join("\\s*×\\s*")));
});

pageTest("without a pallet there is a table and no drawing; in inches everything is in inches", {}, async (page) => {
  await hook(page, "measures").selectOption("imperial");
  await open(page);
  assert.match(await field(page, "face_width_mm").inputValue(), /^1\d\.\d/);
  await hook(page, "order-pallet").selectOption("");
  await found(page);
  assert.ok(await hook(page, "sizing-chart").isHidden());
  assert.ok(await hook(page, "sizing-no-chart").isVisible());
  assert.match(await hook(page, "sizing-heads").innerText(), /Face width, in/);
  const wide = Number.parseFloat(await rows(page).first().locator('[data-column="face_width_mm"]').innerText());
  assert.ok(wide > 15 && wide < 25, `${wide} in`);
  // Half and quarter inches, as they are shown.
  for (const [path, step] of [["face_width_mm", 0.5], ["length_mm", 0.5], ["bottom_width_mm", 0.25]]) {
    assert.equal(await field(page, path, 2).inputValue(), String(step));
    const shown = await rows(page).locator(`[data-column="${path}"]`).allInnerTexts();
    for (const text of shown) assert.ok(Number.isInteger(Number(text) / step), `${path}: ${text} in`);
  }
});

pageTest("the order outlasts a reload once it was changed, and follows the sheet until then", {}, async (page) => {
  await open(page);
  const usual = await field(page, "contents.mass_kg").inputValue();
  await hook(page, "sizing-close").click();
  await page.locator('[data-hook="sheet-form"] [data-field="contents.mass_kg"] input').fill("24");
  await hook(page, "board-sizing-open").click();
  assert.equal(await field(page, "contents.mass_kg").inputValue(), "24");
  await field(page, "contents.mass_kg").fill("23,5");
  await page.waitForFunction(() => Object.keys(localStorage).some((key) => localStorage[key].includes('"23,5"')));
  await page.reload();
  await page.locator("html[data-ready]").waitFor();
  await open(page);
  assert.equal(await field(page, "contents.mass_kg").inputValue(), "23,5");
  await hook(page, "order-reset").click();
  assert.equal(await field(page, "contents.mass_kg").inputValue(), "24");
  assert.notEqual(usual, "24");
});

for (const colorScheme of ["light", "dark"]) {
  for (const [name, options] of [["a desk", {}], ["a phone", PHONE]]) {
    pageTest(`no fault of accessibility on ${name}, and nothing sticks out, ${colorScheme}`, { colorScheme, ...options }, async (page) => {
      await hook(page, "table-sizing-open").click();
      await field(page, "face_width_mm").waitFor();
      await narrow(page);
      await found(page);
      await page.evaluate(axe.source);
      const { violations } = await page.evaluate(() => globalThis.axe.run(document, { rules: { "target-size": { enabled: true } } }));
      assert.deepEqual(violations.flatMap(({ id, nodes }) => nodes.map(({ target }) => `${id}: ${target}`)), []);
      const sideways = await hook(page, "sizing").evaluate((dialog) => dialog.scrollWidth - dialog.clientWidth);
      assert.ok(sideways <= 0, `something sticks out sideways by ${sideways} px`);
      await hook(page, "sizing-close").click();
      assert.match(await hook(page, "answer-sizing").innerText(), /does best/);
    });
  }
}

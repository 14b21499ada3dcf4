import assert from "node:assert/strict";
import { readFile } from "node:fs/promises";

import { closeNotices, difference, enter, hook, pageTest, sackPicture } from "./page.js";

const sheetText = (page) => page.evaluate(() => globalThis.sackwright.workshop.sheetText());

/** Drops a file onto the page. */
async function drop(page, name, text) {
  const dataTransfer = await page.evaluateHandle(
    ([file, content]) => {
      const transfer = new DataTransfer();
      transfer.items.add(new File([content], file, { type: "application/json" }));
      return transfer;
    },
    [name, text],
  );
  await page.dispatchEvent("main", "dragover", { dataTransfer });
  await page.dispatchEvent("main", "drop", { dataTransfer });
}

/** Presses Save; returns the name and text of the download. */
async function save(page) {
  const [download] = await Promise.all([page.waitForEvent("download"), hook(page, "save").click()]);
  return { name: download.suggestedFilename(), text: await readFile(await download.path(), "utf8") };
}

const trouble = (page) => page.locator('[data-hook="notice"][role="alert"]');

pageTest("broken files are refused with what is wrong where; the sack stays", {}, async (page) => {
  const [text, shown] = [await sheetText(page), await sackPicture(page)];
  const sheet = JSON.parse(text);
  const broken = [
    ["no.sack.json", "{\n  \"format\": \"sackwright-sheet/1\",\n  oops\n}", /3/],
    ["negative.sack.json", JSON.stringify({ ...sheet, face_width_mm: -3 }), /face_width_mm.*-3/s],
    ["typo.sack.json", JSON.stringify({ ...sheet, face_widht_mm: 500 }), /face_widht_mm/],
    ["empty.sack.json", "", /./],
    ["other.json", "[1, 2]", /./],
    ["line.line.json", JSON.stringify({ format: "sackwright-line/1", name: "A", packer: "steam" }), /packer.*steam/s],
  ];
  for (const [name, content, says] of broken) {
    await drop(page, name, content);
    const message = await trouble(page).filter({ hasText: name }).innerText();
    assert.match(message, says, name);
    assert.equal(await sheetText(page), text, `${name} leaves the sheet as it is`);
  }
  assert.ok(await hook(page, "drop-veil").isHidden());
  await closeNotices(page);
  assert.equal(await trouble(page).count(), 0);
  assert.equal(difference(shown, await sackPicture(page)), 0);
});

pageTest("a saved sheet opens as the same sack", {}, async (page) => {
  await enter(page, "board");
  await page.locator('[data-hook="sheet-form"] [data-field="name"] input').fill("Quarry dust 20 kg: trial / 2");
  await page.locator('[data-hook="sheet-form"] [data-field="length_mm"] input').fill("702,5");
  const saved = await save(page);
  await closeNotices(page);
  const shown = await sackPicture(page);
  assert.match(saved.name, /^Quarry dust 20 kg.*\.sack\.json$/);
  assert.doesNotMatch(saved.name, /[/:\\]/);
  assert.equal(JSON.parse(saved.text).length_mm, 702.5);

  await enter(page, "table");
  await hook(page, "preset").last().click();
  assert.notDeepEqual(JSON.parse(await sheetText(page)), JSON.parse(saved.text));
  await enter(page, "board");
  await hook(page, "file-input").setInputFiles({
    name: saved.name,
    mimeType: "application/json",
    buffer: Buffer.from(saved.text),
  });
  await page.locator("#sack-name", { hasText: "Quarry dust" }).waitFor();
  assert.equal((await save(page)).text, saved.text);
  await closeNotices(page);
  assert.equal(difference(shown, await sackPicture(page)), 0);
});

pageTest("a good sheet can be dropped", {}, async (page) => {
  const sheet = JSON.parse(await sheetText(page));
  await drop(page, "dropped.sack.json", JSON.stringify({ ...sheet, name: "Dropped" }));
  await page.locator("#sack-name", { hasText: "Dropped" }).waitFor();
  assert.equal(await trouble(page).count(), 0);
});

pageTest("every example opens without trouble", {}, async (page) => {
  const presets = hook(page, "preset");
  // Whether a sack fits the line that is chosen at the start is another question.
  await hook(page, "line-choice").selectOption("");
  for (let index = 0; index < (await presets.count()); index += 1) {
    await presets.nth(index).click();
    assert.equal(await presets.nth(index).getAttribute("aria-pressed"), "true");
    assert.equal(await trouble(page).count(), 0);
    assert.equal(
      await page.locator('[data-hook="finding"][data-severity="stop"]').count(),
      0,
      `${await presets.nth(index).innerText()} can be made`,
    );
  }
});

pageTest("a link carries the whole sheet to another visit, and leaves nothing behind", {}, async (page) => {
  await enter(page, "board");
  await page.locator('[data-hook="sheet-form"] [data-field="name"] input').fill("Grüße, 20 kg ½ ✓");
  await page.locator('[data-hook="sheet-form"] [data-field="length_mm"] input').fill("702,5");
  await enter(page, "table");
  // A page without a clipboard gives the link to be copied by hand.
  await page.evaluate(() => Object.defineProperty(navigator, "clipboard", { value: undefined, configurable: true }));
  await hook(page, "copy-link").click();
  const link = await page.locator('[data-notice="link"] input').inputValue();
  const sent = JSON.parse(await sheetText(page));
  assert.ok(link.length < 1500, `${link.length} letters fit into any mail`);
  assert.match(link, /#sack=[\w-]+$/);

  const other = await page.context().browser().newContext({ reducedMotion: "reduce" });
  try {
    const visit = await other.newPage();
    await visit.goto(link);
    await visit.locator("#sack-name", { hasText: "Grüße" }).waitFor();
    assert.deepEqual(JSON.parse(await sheetText(visit)), sent);
    assert.equal(new URL(visit.url()).hash, "#table", "a reload does not open it again");
    await visit.locator('[data-notice="file"]', { hasText: "The link is open." }).waitFor();

    // Into the address of a page that is open already, with a part lost, and with what is no sheet.
    await visit.evaluate((hash) => (location.hash = hash), new URL(link).hash.slice(0, -9));
    await trouble(visit).filter({ hasText: "not whole" }).waitFor();
    assert.deepEqual(JSON.parse(await sheetText(visit)), sent);
    await visit.evaluate(async () => {
      const pressed = new Blob(['{"format":"sackwright-sheet/1"}']).stream().pipeThrough(new CompressionStream("deflate-raw"));
      const bytes = new Uint8Array(await new Response(pressed).arrayBuffer());
      location.hash = `sack=${btoa(String.fromCharCode(...bytes)).replaceAll("+", "-").replaceAll("/", "_").replaceAll("=", "")}`;
    });
    await trouble(visit).filter({ hasText: "face_width_mm" }).waitFor();
    assert.deepEqual(JSON.parse(await sheetText(visit)), sent);
    assert.equal(new URL(visit.url()).hash, "#table");
  } finally {
    await other.close();
  }
});

pageTest("the link goes to the clipboard", { permissions: ["clipboard-read", "clipboard-write"] }, async (page) => {
  await hook(page, "copy-link").click();
  await page.locator('[data-notice="link"]').waitFor();
  const link = await page.evaluate(() => navigator.clipboard.readText());
  assert.match(link, /#sack=[\w-]+$/);
});

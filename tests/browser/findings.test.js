import assert from "node:assert/strict";

import { enter, filmed, hook, pageTest } from "./page.js";

const input = (page, path) => page.locator(`[data-hook="sheet-form"] [data-field="${path}"] input`);
const kinds = (page, trait) =>
  hook(page, "finding").evaluateAll((items, name) => [...new Set(items.map((item) => item.dataset[name]))], trait);
const reported = (page) => page.evaluate(() => globalThis.sackwright.workshop.report());

pageTest("the filter leaves findings of one kind, and gives all of them back", {}, async (page) => {
  await enter(page, "board");
  await input(page, "valve_end.valve.flat_width_mm").fill("160");
  await hook(page, "findings-good-count").click();
  await page.waitForFunction(
    () =>
      document.querySelectorAll('[data-hook="finding"]').length ===
      globalThis.sackwright.workshop.report().findings.length,
  );
  assert.equal(await hook(page, "findings-shown").innerText(), "");

  await hook(page, "filter-severity").selectOption("stop");
  assert.deepEqual(await kinds(page, "severity"), ["stop"]);
  // Filled sack and pallet may bring more findings at any moment.
  const [stops, shown, all] = await page.evaluate(() => [
    document.querySelectorAll('[data-hook="finding"]').length,
    document.querySelector('[data-hook="findings-shown"]').textContent,
    globalThis.sackwright.workshop.report().findings.length,
  ]);
  assert.ok(stops > 0 && stops < all);
  assert.match(shown, new RegExp(`^${stops} .*\\b${all}\\b`));

  await hook(page, "filter-severity").selectOption("good");
  assert.deepEqual(await kinds(page, "severity"), ["good"]);
  assert.ok(await hook(page, "finding").first().isVisible(), "what holds is unfolded for who asks for it");

  await hook(page, "filter-severity").selectOption("");
  await hook(page, "filter-place").selectOption("sleeve");
  assert.deepEqual(await kinds(page, "place"), ["sleeve"]);
  await hook(page, "filter-topic").selectOption("line");
  const { findings } = await reported(page);
  const both = findings.filter(({ topic, place }) => topic === "line" && place === "sleeve");
  assert.equal(await hook(page, "finding").count(), both.length);

  // The chosen place stays chosen while the sack changes.
  await input(page, "length_mm").fill("650");
  assert.equal(await hook(page, "filter-place").inputValue(), "sleeve");
  await hook(page, "filter-all").focus();
  await page.keyboard.press("Enter");
  // Those that wait for the filled sack stand in the list before they are judged anew.
  await page.waitForFunction(
    () =>
      document.querySelectorAll('[data-hook="finding"]').length ===
      globalThis.sackwright.workshop.report().findings.length,
  );
  assert.equal(await page.evaluate(() => document.activeElement.dataset.hook), "filter-severity");
  assert.ok(await hook(page, "filter-all").isHidden());
});

pageTest("a value does not read like the limit that it misses", {}, async (page) => {
  await enter(page, "board");
  await input(page, "valve_end.lap_mm").fill("14.97");
  const short = hook(page, "finding").filter({ hasText: /overlap by 14\.97\D+15\D/ });
  await short.first().waitFor();
});

pageTest("what is not judged says what it lacks; a finding says how sure it is", {}, async (page) => {
  // Filled sack and stack are there: what they judge no longer waits.
  await filmed(page);
  await page.locator('[data-hook="show-stack"]:enabled').waitFor();
  await enter(page, "board");
  await hook(page, "findings-good-count").click();
  const silent = hook(page, "silent");
  await hook(page, "board-line-choice").selectOption("");
  await hook(page, "findings-silent-count").click();
  const lacking = silent.filter({ hasText: "filling line" });
  assert.ok(await lacking.first().isVisible());
  assert.equal(await silent.first().getAttribute("data-kind"), "lacks", "what is lacking stands first");
  const { silent: rules } = await reported(page);
  assert.match(await hook(page, "findings-silent-count").innerText(), new RegExp(`\\b${rules.length}\\b`));

  await hook(page, "board-line-choice").selectOption({ index: 1 });
  assert.equal(await lacking.filter({ hasText: "hold the sack" }).count(), 0, "with a line it is judged");
  const texts = await hook(page, "finding").allTextContents();
  const certainties = ["Certain.", "Usual;", "An assumption"];
  for (const text of texts) assert.equal(certainties.filter((words) => text.includes(words)).length, 1, text);
});

pageTest("a cure tells what gets worse for it", {}, async (page) => {
  await enter(page, "board");
  // A bottom far too wide for the line: whatever cures that is told with what comes of it.
  await input(page, "valve_end.bottom_width_mm").fill("180");
  const { findings } = await reported(page);
  const costly = findings.filter(({ cure }) => cure?.worsens.length > 0);
  assert.ok(costly.length > 0);
  for (const { rule, place, cure } of costly) {
    const item = page.locator(`[data-rule="${rule}"][data-place="${place}"]`);
    assert.equal(await item.locator(".worsens").count(), 1);
    assert.equal((await item.locator(".worsens").textContent()).split("(").length - 1, cure.worsens.length);
  }
});

pageTest("the filled shape brings its own findings, and goes with the next sheet", {}, async (page) => {
  await enter(page, "board");
  const judged = await page.evaluate(() => {
    const { workshop } = globalThis.sackwright;
    const amount = { volume_l: 50, ratio: 1.1, lying: null, pressed: null };
    workshop.setFilled({
      bottoms: "stiff",
      capacity: { stiff_l: 45.5, free_l: 46 },
      content: {
        mass_kg: 30, filling: amount, settled: amount, standing: null, hanging: null,
        headroom: { share: -0.1, asked: { least: 0.04, most: 0.12 }, length_mm: 750, face_width_mm: null },
      },
      trust: {
        largest_stretch: 1, lower_bound_l: 45, volume_residual: 0, iterations: 1, vertices: 1, mesh_mm: 1,
        change_from_coarser: null, converged: true,
      },
    });
    return workshop.report().findings.filter(({ rule }) => rule === "capacity");
  });
  assert.equal(judged[0].severity, "stop");
  assert.deepEqual(judged[0].cure.set, [{ field: "length_mm", value: 750 }]);

  await input(page, "length_mm").fill("655");
  const { findings, silent } = await reported(page);
  assert.equal(findings.filter(({ rule }) => rule === "capacity").length, 0, "it was of another sack");
  assert.equal(silent.find(({ rule }) => rule === "capacity").kind, "lacks");
});

pageTest("a barcode on a fold is moved where the filled sack is flat; what is emptied is left out", {}, async (page) => {
  await enter(page, "board");
  const check = (path) => input(page, path).first();
  await check("artwork").check();
  await check("artwork.barcode").check();
  await input(page, "artwork.barcode.from_plain_end_mm").fill("30");
  const found = async () => {
    const { findings } = await reported(page);
    return findings.find(({ rule }) => rule === "barcode");
  };
  assert.equal((await found()).severity, "look");
  const row = page.locator('[data-hook="finding"][data-rule="barcode"]');
  await row.locator('[data-hook="apply"]').click();
  assert.equal((await found()).severity, "good");
  const { sheet } = await reported(page);
  const { barcode } = sheet.artwork;
  // Past the strip of half a bottom, by 8 mm from its edge.
  const half = sheet.plain_end.bottom_width_mm / 2;
  assert.ok(barcode.from_plain_end_mm >= half + barcode.height_mm / 2 + 8);
  assert.equal(await input(page, "artwork.barcode.from_plain_end_mm").inputValue(), String(barcode.from_plain_end_mm));
  // Emptied, what may be left out is left out.
  const front = input(page, "artwork.front");
  await front.fill("front.png");
  await front.fill("");
  assert.equal("front" in (await reported(page)).sheet.artwork, false);
});

pageTest("a barcode goes along with a cure by the length, which is said", {}, async (page) => {
  const sheet = () => page.evaluate(() => JSON.parse(globalThis.sackwright.workshop.sheetText()));
  const barcode = { width_mm: 75, height_mm: 35, offset_from_middle_mm: 20, from_plain_end_mm: 1200 };
  const before = { ...(await sheet()), length_mm: 1400 };
  before.artwork = { ...before.artwork, barcode };
  await enter(page, "board");
  await hook(page, "file-input").setInputFiles({
    name: "long.sack.json",
    mimeType: "application/json",
    buffer: Buffer.from(JSON.stringify(before)),
  });
  const row = page.locator('[data-hook="finding"][data-rule="proportion"]');
  await row.locator(".cure").filter({ hasText: "barcode goes along" }).waitFor();
  // At once: the filled sack may bring a cure that asks for a shorter one still.
  const said = await row.evaluate((item) => {
    const text = item.querySelector(".cure p").textContent;
    item.querySelector('[data-hook="apply"]').click();
    return text;
  });
  const after = await sheet();
  assert.ok(after.length_mm < 1400);
  const { from_plain_end_mm: high, ...rest } = after.artwork.barcode;
  assert.ok(high < 1200, String(high));
  assert.match(said, new RegExp(`middle ${high}\\smm`));
  assert.equal(rest.offset_from_middle_mm, 20);
  const found = await reported(page);
  assert.equal(found.findings.find(({ rule }) => rule === "barcode").severity, "good");
});

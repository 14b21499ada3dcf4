import assert from "node:assert/strict";

import axe from "axe-core";

import { enter, hook, pageTest, rest } from "./page.js";

const figure = async (page, name) =>
  Number.parseFloat(
    (await hook(page, "pallet-figures").locator(`[data-figure="${name}"] td`).innerText()).replace(/,/g, ""),
  );
/** How far the load stands out, mm; what lies within the pallet by so much is below 0. */
const overhang = async (page, name) => {
  const text = await hook(page, "pallet-figures").locator(`[data-figure="${name}"] td`).innerText();
  return Number.parseFloat(text.replace(/^none, /, "-"));
};
const input = (page, path) =>
  page.locator(`[data-hook="sheet-form"] [data-field="${path}"]`).locator("input, select, textarea");

/** Waits for the stack of the sheet and the pallet as they are now. */
async function stacked(page) {
  await page.locator('[data-hook="filled-figures"][data-detail="fine"]:not([aria-busy])').waitFor({ state: "attached" });
  await page.locator('[data-hook="pallet-figures"]:not([aria-busy]) table').waitFor({ state: "attached" });
}

pageTest("the sack is stacked on a pallet, and the figures agree with each other", {}, async (page) => {
  await stacked(page);
  const answer = hook(page, "answer-pallet");
  assert.equal(await answer.getAttribute("data-verdict"), "good");
  await enter(page, "board");
  const [sacks, each, layers] = [await figure(page, "sacks"), await figure(page, "per_layer"), await figure(page, "layers")];
  assert.equal(sacks, each * layers);
  assert.ok((await answer.textContent()).includes(String(sacks)), "the answer says the same");
  assert.equal(await page.locator(".plan-box .plan-sack").count(), each, "every sack of the layer is in the plan");
  // 25 kg of flour each, the paper's mass beside it.
  const load = await figure(page, "load");
  assert.ok(load > 25 * sacks && load < 26 * sacks, `${load} kg of ${sacks} sacks`);
  assert.ok((await figure(page, "gross")) > load);
});

pageTest("how near another count of a layer is stands among the figures and in a finding", {}, async (page) => {
  await stacked(page);
  await enter(page, "board");
  const wider = await figure(page, "wider");
  assert.ok(wider >= 5 && wider < 50, `${wider}`);
  const width = input(page, "face_width_mm");
  await width.fill(String(Number(await width.inputValue()) + wider - 3));
  const near = page.locator('[data-hook="finding"][data-rule="pallet-leeway"][data-severity="look"]');
  await near.waitFor();
  await stacked(page);
  const least = await figure(page, "wider");
  assert.ok(least < 5, `${least}`);
  const said = await near.textContent();
  assert.match(said, new RegExp(`only ${least}\\smm`));
});

pageTest("no sack in the plan lies on another, and all lie where the overhang says", {}, async (page) => {
  await stacked(page);
  await enter(page, "board");
  const { boxes, deck } = await page.evaluate(() => ({
    boxes: [...document.querySelectorAll(".plan-box .plan-sack rect")].map((rect) => rect.getBoundingClientRect().toJSON()),
    deck: document.querySelector(".plan-box .plan-deck").getBoundingClientRect().toJSON(),
  }));
  const scale = deck.width / 1200;
  const over = (await overhang(page, "over_ends")) * scale;
  for (const [at, a] of boxes.entries()) {
    assert.ok(a.left >= deck.left - Math.max(over, 0) - 1 && a.right <= deck.right + Math.max(over, 0) + 1);
    for (const b of boxes.slice(at + 1)) {
      const wide = Math.min(a.right, b.right) - Math.max(a.left, b.left);
      const deep = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
      assert.ok(wide < 1 || deep < 1, `two sacks overlap by ${wide} x ${deep} px`);
    }
  }
});

pageTest("layers are stepped through; those that alternate differ", {}, async (page) => {
  await stacked(page);
  await enter(page, "board");
  const plan = () => page.locator(".plan-box .plan").innerHTML();
  const first = await plan();
  assert.ok(await hook(page, "pallet-layer-down").isDisabled());
  await hook(page, "pallet-layer-up").click();
  assert.match(await hook(page, "pallet-layer-now").innerText(), /Layer 2/);
  assert.notEqual(await plan(), first);
  await hook(page, "pallet-layer-down").click();
  assert.equal(await plan(), first);
});

pageTest("another way to lay the layers is chosen; figures, findings and plan follow it", {}, async (page) => {
  await stacked(page);
  await enter(page, "board");
  const ways = hook(page, "pallet-way");
  assert.ok((await ways.count()) > 1);
  const plan = () => page.locator(".plan-box .plan").innerHTML();
  const [first, sacks, binding] = [await plan(), await figure(page, "sacks"), await figure(page, "binding")];
  await ways.last().check();
  assert.equal(await figure(page, "sacks"), sacks, "as many sacks");
  assert.ok((await figure(page, "binding")) < binding);
  const both = new Set();
  for (const step of ["pallet-layer-up", "pallet-layer-down"]) {
    both.add(await plan());
    await hook(page, step).click();
  }
  assert.equal(both.size, 1, "all layers alike");
  await page.locator('[data-hook="finding"][data-rule="pallet-binding"][data-severity="look"]').waitFor();
  await ways.first().check();
  assert.equal(await plan(), first);
});

pageTest("a way that was chosen is undone and done again, among other changes, and stays with another size", {}, async (page) => {
  await stacked(page);
  await enter(page, "board");
  const ways = hook(page, "pallet-way");
  // The first layer is the same in both ways.
  await hook(page, "pallet-layer-up").click();
  const plan = () => page.locator(".plan-box .plan").innerHTML();
  const first = await plan();
  await ways.last().check();
  const last = await plan();
  assert.notEqual(last, first);
  await hook(page, "undo").click();
  assert.equal(await plan(), first);
  assert.ok(await ways.first().isChecked());
  assert.equal(await figure(page, "sacks"), (await figure(page, "per_layer")) * (await figure(page, "layers")));
  await hook(page, "redo").click();
  assert.equal(await plan(), last);
  assert.ok(await ways.last().isChecked());
  const length = Number(await input(page, "length_mm").inputValue());
  await input(page, "length_mm").fill(String(length + 1));
  await input(page, "length_mm").press("Tab");
  await stacked(page);
  assert.ok(await ways.last().isChecked(), "the same way for a sack of another size");
  await hook(page, "undo").click();
  await stacked(page);
  assert.equal(await input(page, "length_mm").inputValue(), String(length));
  assert.ok(await ways.last().isChecked());
  await hook(page, "undo").click();
  await ways.first().and(page.locator(":checked")).waitFor();
  // Computed anew, to the tenth of a millimetre.
  const rounded = (text) => text.replace(/\d+\.\d+/g, (number) => Number(number).toFixed(1));
  assert.equal(rounded(await plan()), rounded(first));
});

pageTest("another pallet, another stack; none, no stack; the choice is remembered", {}, async (page) => {
  await stacked(page);
  await enter(page, "board");
  const before = await figure(page, "sacks");
  await hook(page, "board-pallet-choice").selectOption({ index: 3 });
  await page.waitForFunction(
    (sacks) => Number.parseFloat(document.querySelector('[data-hook="pallet-figures"] [data-figure="sacks"] td').textContent) !== sacks,
    before,
  );
  assert.ok((await figure(page, "sacks")) < before, "half a pallet carries fewer");
  assert.equal(await hook(page, "pallet-choice").inputValue(), "2", "both lists show the same pallet");
  await hook(page, "board-pallet-choice").selectOption("");
  assert.ok(await hook(page, "pallet-body").isHidden());
  assert.equal(await hook(page, "answer-pallet").getAttribute("data-verdict"), "none");
});

pageTest("without contents there is no stack, and the page says why", {}, async (page) => {
  await stacked(page);
  await enter(page, "board");
  await input(page, "contents.mass_kg").fill("40");
  await page.waitForFunction(() => document.querySelector('[data-hook="pallet-body"]').hidden);
  assert.notEqual(await hook(page, "pallet-why").innerText(), "");
  await input(page, "contents.mass_kg").fill("25");
  await page.waitForFunction(() => !document.querySelector('[data-hook="pallet-body"]').hidden);
});

pageTest("what hangs on the filled sack is among the findings; its cure is one press, and undone by another", {}, async (page) => {
  await stacked(page);
  await enter(page, "board");
  await input(page, "contents.mass_kg").fill("27");
  const tight = page.locator('[data-hook="finding"]:not([data-severity="good"])', { has: hook(page, "apply") });
  const filled = tight.and(page.locator('[data-rule="headroom"], [data-rule="capacity"]')).first();
  await filled.waitFor();
  const rule = await filled.getAttribute("data-rule");
  const length = await input(page, "length_mm").inputValue();
  const width = await input(page, "face_width_mm").inputValue();
  await filled.locator('[data-hook="apply"]').click();
  const changed = async () =>
    (await input(page, "length_mm").inputValue()) !== length || (await input(page, "face_width_mm").inputValue()) !== width;
  assert.ok(await changed(), "the cure changed the sheet");
  await stacked(page);
  await hook(page, "findings-good-count").click();
  await page.locator(`[data-hook="finding"][data-rule="${rule}"][data-severity="good"]`).waitFor();
  await hook(page, "undo").click();
  assert.ok(!(await changed()));
});

for (const colorScheme of ["light", "dark"]) {
  for (const viewport of [{ width: 1280, height: 800 }, { width: 360, height: 740 }]) {
    pageTest(`with stack and filled sack no fault of accessibility, ${colorScheme}, ${viewport.width} px wide`, { colorScheme, viewport }, async (page) => {
      await stacked(page);
      for (const place of ["table", "board", "bench"]) {
        await enter(page, place);
        await rest(page);
        await page.evaluate(axe.source);
        const { violations } = await page.evaluate(() => globalThis.axe.run(document));
        assert.deepEqual(violations.flatMap(({ id, nodes }) => nodes.map(({ target }) => `${id}: ${target}`)), [], place);
        const sideways = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
        assert.ok(sideways <= 0, `${place}: something sticks out sideways by ${sideways} px`);
      }
    });
  }
}

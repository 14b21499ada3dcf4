import assert from "node:assert/strict";

import axe from "axe-core";

import { enter, hook, pageTest, rest } from "./page.js";

/** Everything axe finds wrong, each as one line. */
async function violations(page) {
  await rest(page);
  await page.evaluate(axe.source);
  const { passes, violations } = await page.evaluate(() =>
    globalThis.axe.run(document, { rules: { "target-size": { enabled: true } } }),
  );
  assert.ok(passes.some(({ id }) => id === "color-contrast"), "the contrast was looked at");
  return violations.flatMap(({ id, nodes }) => nodes.map(({ target, failureSummary }) => `${id}: ${target} ${failureSummary}`));
}

for (const colorScheme of ["light", "dark"]) {
  pageTest(`no fault of accessibility in ${colorScheme}`, { colorScheme }, async (page) => {
    for (const place of ["table", "bench", "board"]) {
      await enter(page, place);
      assert.deepEqual(await violations(page), [], place);
    }
    // With everything on the page that is not there at first: a line, a problem, the look's choices.
    await hook(page, "board-line-choice").selectOption({ index: 1 });
    await page.locator('[data-hook="sheet-form"] [data-field="face_width_mm"] input').fill("wide");
    await page.locator("details.look summary").click();
    assert.deepEqual(await violations(page), [], "board with a problem");
    await hook(page, "file-input").setInputFiles({
      name: "broken.sack.json",
      mimeType: "application/json",
      buffer: Buffer.from("{"),
    });
    await hook(page, "notice").waitFor();
    await enter(page, "table");
    assert.deepEqual(await violations(page), [], "table with a notice");
  });

  pageTest(`no fault of accessibility on a phone in ${colorScheme}`, { colorScheme, viewport: { width: 360, height: 740 } }, async (page) => {
    for (const place of ["table", "bench", "board"]) {
      await enter(page, place);
      assert.deepEqual(await violations(page), [], place);
    }
  });
}

pageTest("the page has its landmarks and one first heading", {}, async (page) => {
  assert.equal(await page.getByRole("main").count(), 1);
  assert.equal(await page.getByRole("banner").count(), 1);
  assert.equal(await page.getByRole("navigation").count(), 1);
  assert.equal(await page.getByRole("heading", { level: 1 }).count(), 1);
  assert.notEqual(await page.title(), "");
  const titles = new Set();
  for (const place of ["table", "board", "bench"]) {
    await enter(page, place);
    titles.add(await page.title());
  }
  assert.equal(titles.size, 3, "each place has a title of its own");
});

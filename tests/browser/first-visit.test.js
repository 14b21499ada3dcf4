import assert from "node:assert/strict";

import { colours, difference, filmed, hook, pageTest, ready, rest, sackPicture } from "./page.js";

const MOVING = { reducedMotion: "no-preference" };

pageTest("on a first visit the example sack folds itself once", MOVING, async (page) => {
  const play = hook(page, "play");
  assert.equal(await play.getAttribute("data-state"), "pause", "it plays by itself");

  // The stages by name as they come, until the fold is done.
  const seen = await page.evaluate(async () => {
    const now = document.querySelector('[data-hook="stage-now"]');
    const button = document.querySelector('[data-hook="play"]');
    const names = [now.textContent];
    let count = 0;
    await new Promise((resolve) => {
      const look = () => {
        if (now.textContent !== names.at(-1)) names.push(now.textContent);
        if (button.dataset.state !== "again") return;
        observer.disconnect();
        count = document.querySelectorAll(".track .segment").length;
        resolve();
      };
      const observer = new MutationObserver(look);
      observer.observe(now, { childList: true, characterData: true, subtree: true });
      observer.observe(button, { attributes: true });
      look();
    });
    return { names: [...new Set(names.map((name) => name.replace(/^.*: /, "")))], count };
  });
  // The filling comes behind the fold as soon as it is computed.
  assert.equal(seen.names.length, seen.count, `every stage passed, in order: ${seen.names.join(", ")}`);

  await page.reload();
  await ready(page);
  assert.equal(await play.getAttribute("data-state"), "again", "a second visit finds it finished");
});

pageTest("the sack is really drawn and looks different at every stage", {}, async (page) => {
  const stages = await page.locator(".track .segment").evaluateAll((segments) =>
    segments.map((segment) => segment.dataset.stage),
  );
  assert.deepEqual(stages.slice(0, 6), ["tube", "open-mouth", "press-pockets", "insert-valve", "fold-flaps", "lay-patch"]);
  let last;
  await filmed(page);
  for (const stage of [...stages.slice(0, 6), "fill"]) {
    await page.evaluate((name) => globalThis.sackwright.setPose(name, 1), stage);
    const shown = await sackPicture(page);
    assert.ok(colours(shown) > 100, `${stage}: more than a plain ground`);
    if (last) {
      const share = difference(last, shown);
      assert.ok(share > 0.0005, `${stage} differs from the stage before by ${share} of the picture`);
    }
    last = shown;
  }
});

pageTest("the page has no empty place at the start", {}, async (page) => {
  await rest(page);
  assert.notEqual(await hook(page, "sack-name").innerText(), "");
  assert.match(await hook(page, "answer-size").innerText(), /\d/);
  assert.ok((await hook(page, "preset").count()) > 1, "there are sacks to choose from");
  assert.ok((await hook(page, "line-choice").locator("option").count()) > 1, "and filling lines");
  assert.equal(await hook(page, "notice").count(), 0, "and no message in the way");
});

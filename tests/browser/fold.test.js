import assert from "node:assert/strict";

import { difference, enter, filmed, hook, pageTest, rest, sackPicture } from "./page.js";

const position = (page) => hook(page, "scrub").evaluate((scrub) => Number(scrub.value));
const end = (page) => hook(page, "scrub").evaluate((scrub) => Number(scrub.max));

/** Waits until the slider stands beyond a position. */
function passed(page, from) {
  return page.waitForFunction(
    (least) => Number(document.querySelector('[data-hook="scrub"]').value) > least,
    from,
  );
}

pageTest("play, pause, play on and play again", { reducedMotion: "no-preference" }, async (page) => {
  const play = hook(page, "play");
  await play.click();
  assert.equal(await play.getAttribute("data-state"), "play", "the fold of a first visit can be stopped");
  await rest(page);
  await filmed(page);
  const stopped = await position(page);
  assert.equal((await rest(page), await position(page)), stopped);

  await hook(page, "speed").selectOption("2");
  await play.click();
  await passed(page, stopped);
  assert.equal(await play.getAttribute("data-state"), "pause");
  await page.locator('[data-hook="play"][data-state="again"]').waitFor({ timeout: 60_000 });
  assert.equal(await position(page), await end(page));

  await play.click();
  assert.ok((await position(page)) < (await end(page)), "again begins at the start");
});

pageTest("the slider shows any moment of the fold, there and back", {}, async (page) => {
  const scrub = hook(page, "scrub");
  await filmed(page);
  await scrub.fill(String(await end(page)));
  const finished = await sackPicture(page);
  await scrub.fill(String(Math.round((await end(page)) / 2)));
  const half = await sackPicture(page);
  assert.ok(difference(finished, half) > 0.005);
  await scrub.fill("0");
  const start = await sackPicture(page);
  assert.ok(difference(half, start) > 0.005);
  await scrub.fill(String(await end(page)));
  assert.equal(difference(finished, await sackPicture(page)), 0, "the same moment, the same picture");
});

pageTest("steps go to the ends of the stages", {}, async (page) => {
  const [back, forward] = [hook(page, "step-back"), hook(page, "step-forward")];
  await filmed(page);
  await hook(page, "scrub").fill(String(await end(page)));
  assert.ok(await forward.isDisabled(), "nothing comes after the last stage");
  const stages = await page.locator(".track .segment").count();
  for (let stage = 0; stage < stages; stage += 1) await back.click();
  assert.equal(await position(page), 0);
  assert.ok(await back.isDisabled(), "nothing comes before the first");
  const positions = [];
  for (let stage = 0; stage < stages; stage += 1) {
    await forward.click();
    positions.push(await position(page));
  }
  assert.deepEqual(positions, [...positions].sort((a, b) => a - b));
  assert.equal(new Set(positions).size, stages, "every step goes on");
  assert.equal(positions.at(-1), await end(page));
});

pageTest("the training bench tells each step in words and names parts", {}, async (page) => {
  await filmed(page);
  await enter(page, "bench");
  const told = new Set();
  const steps = hook(page, "lesson-step");
  const count = await steps.count();
  assert.ok(count >= 6);
  for (let step = 0; step < count; step += 1) {
    await steps.nth(step).click();
    assert.equal(await steps.nth(step).getAttribute("aria-current"), "step");
    const texts = await page.locator(".captions p").allInnerTexts();
    for (const text of texts) {
      assert.notEqual(text, "", "no caption is empty");
      assert.doesNotMatch(text, /[{}]/, "every number is filled in");
    }
    told.add(texts.join("\n"));
  }
  assert.equal(told.size, count, "each step has captions of its own");

  await page.locator('[data-hook="lesson-step"][data-stage="lay-patch"]').click();
  await hook(page, "canvas").hover();
  await hook(page, "tip").waitFor();
  assert.notEqual(await hook(page, "tip").innerText(), "", "what lies under the pointer has a name");
  await page.mouse.move(0, 0);
  await hook(page, "tip").waitFor({ state: "hidden" });

  const plain = await sackPicture(page);
  await page.locator('[data-hook="part"][data-part="valve-end-patch"]').hover();
  assert.ok(difference(plain, await sackPicture(page)) > 0.0005, "a named part lights up");
});

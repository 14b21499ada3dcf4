import assert from "node:assert/strict";

import { difference, enter, filmed, hook, pageTest, pose, sackPicture } from "./page.js";

const input = (page, path) =>
  page.locator(`[data-hook="sheet-form"] [data-field="${path}"]`).locator("input, select, textarea");
const figure = (page, name, column = 0) =>
  hook(page, "filled-figures").locator(`[data-figure="${name}"] td`).nth(column);
const litres = async (page, name) => Number.parseFloat(await figure(page, name).innerText());

/** Waits for the fine answer to the sheet as it is now. */
async function settled(page) {
  await page.locator('[data-hook="filled-figures"][data-detail="fine"]:not([aria-busy])').waitFor({ state: "attached" });
}

pageTest("how much the sack holds is answered, on the table and on the board", {}, async (page) => {
  await settled(page);
  const answer = hook(page, "answer-holds");
  assert.equal(await answer.getAttribute("data-verdict"), "good");
  assert.match(await answer.innerText(), /Yes\.\s25\skg of bread flour/);
  await enter(page, "board");
  // An independent solver's capacities of this sack, 500 x 640 x 120.
  const [stiff, free] = [await litres(page, "capacity_stiff"), await litres(page, "capacity_free")];
  assert.ok(Math.abs(stiff - 44.4) < 0.3, `stiff bottoms: ${stiff}`);
  assert.ok(Math.abs(free - 45.1) < 0.3, `free bottoms: ${free}`);
  for (const name of ["lying_thickness", "lying_head", "pressed_gap", "lower_bound", "vertices"])
    assert.ok((await litres(page, name)) > 0, name);
});

pageTest("a change of the sheet changes the figures; the last ones stay until then", {}, async (page) => {
  await settled(page);
  await enter(page, "board");
  const before = { holds: await litres(page, "capacity_stiff"), gap: await litres(page, "pressed_gap") };
  await input(page, "length_mm").fill("720");
  // Whatever is seen meanwhile are figures, not a hole.
  assert.ok((await litres(page, "capacity_stiff")) > 0);
  await settled(page);
  const longer = await litres(page, "capacity_stiff");
  // Capacity grows a little more than the length does: the ends hold less than the middle.
  assert.ok(longer / before.holds > 720 / 640, `${before.holds} -> ${longer}`);
  assert.ok(longer / before.holds < 1.25, `${before.holds} -> ${longer}`);
  assert.ok((await litres(page, "pressed_gap")) < before.gap, "the same flour lies flatter in a longer sack");
});

pageTest("a sheet that is broken leaves the last filled sack", {}, async (page) => {
  await settled(page);
  await enter(page, "board");
  const before = await hook(page, "filled-figures").innerText();
  await input(page, "length_mm").fill("long");
  assert.equal(await hook(page, "filled-figures").innerText(), before);
  assert.equal(await hook(page, "filled-figures").getAttribute("aria-busy"), null, "nothing is asked of it");
});

pageTest("a product that does not go in is said to be too much", {}, async (page) => {
  await settled(page);
  await enter(page, "board");
  await input(page, "contents.mass_kg").fill("40");
  await settled(page);
  await enter(page, "table");
  assert.equal(await hook(page, "answer-holds").getAttribute("data-verdict"), "stop");
  assert.match(await hook(page, "answer-holds").innerText(), /No\.\s40\skg/);
});

pageTest("newer questions overtake: of many changes only the last one's figures stay", {}, async (page) => {
  await settled(page);
  // Every answer that is shown, with what was asked for then.
  const seen = await page.evaluate(async () => {
    const input = document.querySelector('[data-field="length_mm"] input');
    const root = document.querySelector('[data-hook="filled-figures"]');
    const seen = [];
    const watch = new MutationObserver(() => {
      const text = root.querySelector('[data-figure="capacity_stiff"] td')?.textContent;
      seen.push({ asked: Number(input.value), detail: root.dataset.detail, holds: Number.parseFloat(text) });
    });
    watch.observe(root, { childList: true, characterData: true, subtree: true });
    for (let length = 600; length <= 800; length += 20) {
      input.value = String(length);
      input.dispatchEvent(new Event("input", { bubbles: true }));
      await new Promise((resolve) => requestAnimationFrame(resolve));
    }
    return seen;
  });
  await settled(page);
  const last = await litres(page, "capacity_stiff");
  await input(page, "length_mm").evaluate((element) => {
    element.value = "640";
    element.dispatchEvent(new Event("input", { bubbles: true }));
  });
  await settled(page);
  const first = await litres(page, "capacity_stiff");
  assert.ok(last / first > 800 / 640 && last / first < 1.4, `${first} l at 640 mm, ${last} l at 800 mm`);
  // An answer to an older question is never shown for a newer one.
  for (const { asked, holds } of seen) {
    const expected = first + ((last - first) * (asked - 640)) / 160;
    assert.ok(Math.abs(holds - expected) < 0.02 * expected, `${holds} l shown at ${asked} mm, about ${expected}`);
  }
});

pageTest("while a hand moves only coarse figures are asked for; fine ones once it rests", {}, async (page) => {
  await filmed(page);
  const asked = await page.evaluate(() => {
    globalThis.asked = [];
    const { postMessage } = Worker.prototype;
    Worker.prototype.postMessage = function (message) {
      if (message.ask) globalThis.asked.push([message.kind, ...(message.question.details ?? [])].join(" "));
      return postMessage.call(this, message);
    };
    const input = document.querySelector('[data-field="length_mm"] input');
    // In one go: no time to rest.
    for (const length of [650, 660, 670, 680]) {
      input.value = String(length);
      input.dispatchEvent(new Event("input", { bubbles: true }));
    }
    return [...globalThis.asked];
  });
  assert.deepEqual(asked, ["fill coarse fine", "fill coarse", "fill coarse", "fill coarse"]);
  await settled(page);
  const later = await page.evaluate(() => globalThis.asked.slice(4));
  assert.match(later[0], /^fill (coarse )?fine$/);
  assert.ok(later.slice(1).every((one) => !one.startsWith("fill")), later.join(", "));
  await filmed(page);
});

pageTest("a worker that breaks down is replaced; the sheet stays", {}, async (page) => {
  await settled(page);
  await enter(page, "board");
  const [worker] = page.workers();
  const closed = worker.waitForEvent("close");
  await worker.evaluate(() => void setTimeout(() => { throw new Error("broken on purpose"); }));
  await closed;
  await input(page, "length_mm").fill("700");
  await settled(page);
  assert.ok((await litres(page, "capacity_stiff")) > 46, "the new worker answers");
  assert.equal(await input(page, "length_mm").inputValue(), "700");
});

pageTest("nothing of the desk is asked for before the first picture", {}, async (page) => {
  await settled(page);
  const { picture, desk } = await page.evaluate(() => {
    const [mark] = performance.getEntriesByName("first-picture");
    const [wasm] = performance.getEntriesByType("resource").filter(({ name }) => name.endsWith("desk_bg.wasm"));
    return { picture: mark.startTime, desk: wasm.startTime };
  });
  assert.ok(desk > picture, `desk asked for at ${desk} ms, first picture at ${picture} ms`);
});

pageTest("without WebGL the filled sack is computed all the same", { noWebGl: true }, async (page) => {
  await settled(page);
  assert.equal(await hook(page, "answer-holds").getAttribute("data-verdict"), "good");
});

pageTest("the filling is a stage of its own: the sack swells, and comes to lie pressed", {}, async (page) => {
  await filmed(page);
  const pictures = [];
  for (const at of [0, 0.4, 0.8, 1]) {
    await pose(page, "fill", at);
    pictures.push(await sackPicture(page));
  }
  for (const [index, later] of pictures.slice(1).entries())
    assert.ok(difference(pictures[index], later) > 0.005, `picture ${index + 1} differs from the one before`);
  await pose(page, "lay-patch", 1);
  const folded = await sackPicture(page);
  await pose(page, "fill", 0);
  // The film begins where the fold ends; only how it is drawn may differ.
  assert.ok(difference(folded, await sackPicture(page)) < 0.2);
});

pageTest("the spout goes in, stays while the sack fills, and goes out; elsewhere there is none", {}, async (page) => {
  await filmed(page);
  // What the core says of the frame that is shown. Some of the print's inks look like steel.
  await page.evaluate(() => {
    const { viewer } = globalThis.sackwright;
    viewer.setArtwork();
    const move = viewer.setFilledPositions.bind(viewer);
    viewer.setFilledPositions = (positions, spout, opened) => {
      globalThis.spout = spout;
      move(positions, spout, opened);
    };
  });
  // The buttons over the picture have some blue too.
  await pose(page, "lay-patch", 1);
  const buttons = steel(await sackPicture(page));
  const shares = [];
  for (const at of [0, 0.1, 0.13, 0.16, 0.2, 0.4, 0.58, 0.605, 0.63, 0.8, 1]) {
    await pose(page, "fill", at);
    const isThere = await page.evaluate(() => globalThis.spout !== null);
    const share = steel(await sackPicture(page)) - buttons;
    assert.equal(share > 2e-4, isThere, `${share} of the picture is steel at ${at}`);
    shares.push(share);
  }
  const most = Math.max(...shares);
  assert.ok(most > 3e-3 && most < 0.05, `steel: ${shares.map((share) => share.toFixed(4)).join(" ")}`);
  assert.deepEqual(shares.map((share) => share > 2e-4), [0, 0, 0, 1, 1, 1, 1, 1, 0, 0, 0].map(Boolean));
});

/** The share of a picture that is blue, as steel is and neither paper nor table. */
function steel({ data, width, height }) {
  let blue = 0;
  for (let i = 0; i < data.length; i += 4) if (data[i + 2] > data[i] + 6) blue += 1;
  return blue / (width * height);
}

pageTest("at the filled stage a change of the sheet fills the new sack, at the same moment", {}, async (page) => {
  await filmed(page);
  await enter(page, "board");
  await pose(page, "fill", 1);
  const before = await sackPicture(page);
  // What the view is told meanwhile.
  await page.evaluate(() => {
    const { viewer } = globalThis.sackwright;
    const told = { begun: 0, opened: [] };
    for (const [name, tell] of Object.entries({
      setFilled: () => (told.begun += 1),
      setFilledPositions: (...args) => told.opened.push(args.at(-1)),
    })) {
      const call = viewer[name].bind(viewer);
      viewer[name] = (...args) => {
        tell(...args);
        call(...args);
      };
    }
    globalThis.told = told;
  });
  await input(page, "length_mm").fill("800");
  await settled(page);
  await filmed(page);
  const { begun, opened } = await page.evaluate(() => globalThis.told);
  assert.equal(begun, 1, "the view is fitted to the new film once");
  // The camera goes with the frames as they come: back while the sack is taken up, near when it lies.
  const later = opened.slice(opened.indexOf(0));
  assert.ok(later.length > 50 && later.at(-1) === 2, `${later.length} frames, at last ${later.at(-1)}`);
  for (const [index, way] of later.entries()) assert.ok(index === 0 || way >= later[index - 1], `${way} after more`);
  const last = await sackPicture(page);
  await pose(page, "fill", 0.3);
  await pose(page, "fill", 1);
  assert.equal(difference(last, await sackPicture(page)), 0, "the view ends where it is found later");
  assert.equal(await page.locator(".segment.current").getAttribute("data-stage"), "fill", "the place is kept");
  assert.ok(difference(before, await sackPicture(page)) > 0.005, "the picture is that of the longer sack");
});

pageTest("without contents there is no filling to be seen", {}, async (page) => {
  await filmed(page);
  await enter(page, "board");
  await pose(page, "fill", 1);
  // Twice as much as goes in.
  await input(page, "contents.mass_kg").fill("60");
  await settled(page);
  await page.locator('.segment[data-stage="fill"]').waitFor({ state: "detached" });
  assert.equal(await page.locator(".segment.current").getAttribute("data-stage"), "lay-patch");
  await sackPicture(page);
});

pageTest("the loaded pallet is shown in the picture, and the fold again", {}, async (page) => {
  const button = page.locator('[data-hook="show-stack"]:enabled');
  await button.waitFor();
  const sack = await sackPicture(page);
  await button.click();
  assert.equal(await button.getAttribute("aria-pressed"), "true");
  assert.ok(difference(sack, await sackPicture(page)) > 0.05);
  await button.click();
  assert.equal(difference(sack, await sackPicture(page)), 0, "the fold as it was");
  await button.click();
  await hook(page, "scrub").fill("0");
  assert.equal(await button.getAttribute("aria-pressed"), "false", "who moves the fold wants to see it");
});

pageTest("where the filling can't be shown the timeline says why, and leads to the cure", {}, async (page) => {
  await filmed(page);
  const why = hook(page, "no-filling");
  assert.ok(await why.isHidden());
  await enter(page, "board");
  await input(page, "contents.mass_kg").fill("28");
  await why.waitFor();
  assert.match(await why.innerText(), /28\skg of bread flour take up 46\.7\sl as they are filled, and the sack holds 44\.4\sl/);
  assert.equal(await page.locator('.segment[data-stage="fill"]').count(), 0);
  await enter(page, "table");
  assert.ok(await why.isVisible(), "in every place");
  await hook(page, "filter-severity").evaluate((select) => {
    select.value = "good";
    select.dispatchEvent(new Event("change"));
  });
  await hook(page, "no-filling-go").click();
  const apply = page.locator('main[data-place="board"] [data-rule="capacity"] [data-hook="apply"]:focus');
  await apply.waitFor();
  await apply.press("Enter");
  await filmed(page);
  assert.ok(await why.isHidden());
  await page.keyboard.press("Control+z");
  await why.waitFor();
});

pageTest("where no change of the sheet makes the filling go in, the cure leads to where sizes are looked for", {}, async (page) => {
  await filmed(page);
  await enter(page, "board");
  await input(page, "contents.mass_kg").fill("40");
  await page.locator('[data-hook="no-filling"]', { hasText: "40\u00a0kg" }).waitFor();
  await hook(page, "no-filling-go").click();
  const find = page.locator('main[data-place="board"] [data-rule="capacity"] [data-hook="find-size"]:focus');
  await find.waitFor();
  assert.match(await page.locator('[data-rule="capacity"] .cure').innerText(), /look for a size that holds it/);
  await find.press("Enter");
  await page.locator('[data-hook="sizing"][open]').waitFor();
  const mass = page.locator('[data-hook="order-form"] [data-field="contents.mass_kg"] input');
  await mass.waitFor();
  assert.equal(await mass.inputValue(), "40");
  // The sizes tried are such as hold it.
  await hook(page, "sizing-run").click();
  await hook(page, "sizing-take").first().waitFor();
});

pageTest("too little to be shown, and nothing known of what goes in, are told apart", {}, async (page) => {
  await settled(page);
  await enter(page, "board");
  const why = hook(page, "no-filling");
  await input(page, "contents.mass_kg").fill("5");
  await page.locator('[data-hook="no-filling"]', { hasText: "too slack" }).waitFor();
  await hook(page, "no-filling-go").click();
  await page.locator('[data-rule="headroom"]:focus-within').waitFor();
  await page.locator('[data-hook="sheet-form"] > [data-field="contents"] > legend input').uncheck();
  await page.locator('[data-hook="no-filling"]', { hasText: "does not say what goes in" }).waitFor();
  await enter(page, "bench");
  await hook(page, "no-filling-go").click();
  const contents = page.locator('main[data-place="board"] [data-field="contents"] > legend input:focus');
  await contents.waitFor();
  await contents.press("Space");
  await page.locator('[data-hook="no-filling"]', { hasText: "too slack" }).waitFor();
  assert.ok(await why.isVisible());
});

pageTest("the slider's knob stands at the end of the stage that has ended", { viewport: { width: 1600, height: 1000 } }, async (page) => {
  await filmed(page);
  const [knob, end] = await page.evaluate(() => {
    const scrub = document.querySelector('[data-hook="scrub"]');
    const box = scrub.getBoundingClientRect();
    const thumb = Number.parseFloat(getComputedStyle(scrub.closest(".timeline")).getPropertyValue("--thumb")) * 16;
    const at = box.left + thumb / 2 + ((box.width - thumb) * Number(scrub.value)) / Number(scrub.max);
    return [at, document.querySelector('.segment[data-stage="lay-patch"]').getBoundingClientRect().right];
  });
  assert.ok(Math.abs(knob - end) < 1.5, `${knob} and ${end}`);
});

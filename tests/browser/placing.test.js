import assert from "node:assert/strict";
import { readFile } from "node:fs/promises";

import axe from "axe-core";

import { difference, enter, hook, pageTest, pose, rest, sackPicture } from "./page.js";

const PHONE = { viewport: { width: 390, height: 844 }, hasTouch: true };

const valve = (page) => page.evaluate(() => JSON.parse(globalThis.sackwright.workshop.sheetText()).valve_end.valve);
const input = (page, key) => page.locator(`[data-hook="sheet-form"] [data-field="valve_end.valve.${key}"] input`);
const told = (page, key) => page.locator(`[data-measure="${key}"] td`).first().innerText();
const distance = (page, key) => page.locator(`.placing tr[data-distance="${key}"]`);

/** Numbers in the plan that lie on each other, under a knob or on a line along which the spout touches. */
const crowded = (page) =>
  page.evaluate(() => {
    const plan = document.querySelector('[data-hook="placing-plan"]');
    const texts = [...plan.querySelectorAll(".distance text")];
    const boxes = texts.map((text) => ({ name: text.parentElement.getAttribute("data-key"), ...text.getBoundingClientRect().toJSON() }));
    const meet = (a, b) => a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom;
    const knobs = [...plan.querySelectorAll(".knob")].map((knob) => ({ name: "a knob", ...knob.getBoundingClientRect().toJSON() }));
    const points = [...plan.querySelectorAll(".touch")].flatMap((line) => {
      const matrix = line.getScreenCTM();
      const length = line.getTotalLength();
      return Array.from({ length: 101 }, (_, step) => line.getPointAtLength((length * step) / 100).matrixTransform(matrix));
    });
    // Of what a text takes, figures take less above and below.
    const isOn = ({ left, right, top, bottom }) => points.some(({ x, y }) => x > left && x < right && y > top + 1 && y < bottom - 2);
    return boxes.flatMap((a, index) => [
      ...[...boxes.slice(index + 1), ...knobs].filter((b) => meet(a, b)).map((b) => `${a.name} on ${b.name}`),
      ...(isOn(a) ? [`${a.name} on a touch`] : []),
    ]);
  });

/** Opens the drawing in which the sleeve is placed. */
async function place(page) {
  await enter(page, "board");
  await hook(page, "drawing-choice").selectOption("placing");
  await hook(page, "placing-sleeve").waitFor();
  // Clear of the strip at the window's foot.
  await hook(page, "placing-plan").evaluate((plan) => plan.scrollIntoView({ block: "center", behavior: "instant" }));
  await rest(page);
}

/** px per mm in the plan, from the sleeve's own length on the sheet. */
async function scale(page) {
  const { length_mm } = await valve(page);
  const points = (await hook(page, "placing-sleeve").locator("polygon").getAttribute("points")).split(" ");
  const [, second, third] = points.map((point) => point.split(",").map(Number));
  return Math.hypot(third[0] - second[0], third[1] - second[1]) / length_mm;
}

/** The middle of an element on the window. */
async function middle(locator) {
  const { x, y, width, height } = await locator.boundingBox();
  return [x + width / 2, y + height / 2];
}

/** The sleeve's findings about where it lies. */
const speaks = (page) =>
  page.evaluate(() => {
    const rules = ["sleeve-reach", "sleeve-far-pocket", "sleeve-width", "sleeve-mouth", "sleeve-straight", "spout-in-sleeve"];
    const { findings } = globalThis.sackwright.workshop.report();
    return findings.some(({ rule, severity }) => rules.includes(rule) && severity !== "good");
  });

/** Whether the marked middle of the sleeve's outer end lies in the hatched room. */
const inRoom = (page) =>
  page.evaluate(() => {
    const svg = document.querySelector('[data-hook="placing-plan"] svg');
    const mark = svg.querySelector(".mark");
    const point = svg.createSVGPoint();
    [point.x, point.y] = [Number(mark.getAttribute("cx")), Number(mark.getAttribute("cy"))];
    return [...svg.querySelectorAll(".room.good")].some((polygon) => polygon.isPointInFill(point));
  });

pageTest("the sleeve is dragged: sheet, form, figures and model follow, and one undo takes it back", {}, async (page) => {
  await place(page);
  const [before, by, shown] = [await valve(page), await scale(page), await sackPicture(page)];
  const sign = before.side === "left" ? -1 : 1;
  const [x, y] = await middle(hook(page, "placing-sleeve").locator("polygon"));
  await page.mouse.move(x, y);
  await page.mouse.down();
  for (let step = 1; step <= 6; step += 1) await page.mouse.move(x + (sign * 30 * by * step) / 6, y - (20 * by * step) / 6);
  // In the hand already every distance stands beside it.
  const shownBeside = await page.evaluate(() =>
    [...document.querySelectorAll('[data-hook="placing-plan"] .distance')].map((distance) => distance.getAttribute("data-key")),
  );
  const beside = ["end_edge", "free", "far_pocket", "end_side", "middle_side", "spout_past", "seam", "spout_round", "spout_fold"];
  assert.deepEqual(new Set(shownBeside), new Set(beside));
  assert.deepEqual(await crowded(page), []);
  await page.mouse.up();
  const after = await valve(page);
  assert.ok(Math.abs(after.outer_end_mm - before.outer_end_mm - 30) <= 1, `outer end ${after.outer_end_mm}`);
  assert.ok(Math.abs(after.offset_from_centre_mm - before.offset_from_centre_mm - 20) <= 1);
  assert.ok(Number.isInteger(after.outer_end_mm), "whole mm");
  assert.equal(await input(page, "outer_end_mm").inputValue(), String(after.outer_end_mm));
  assert.equal(parseFloat(await told(page, "outer_end_mm")), after.outer_end_mm);
  const free = await page.evaluate(() => globalThis.sackwright.workshop.report().figures.valve_end.free_sleeve_mm);
  assert.equal(parseFloat(await distance(page, "free").locator("td").first().innerText()), Math.round(free * 10) / 10);
  assert.ok(difference(shown, await sackPicture(page)) > 0.0005, "the model moves along");
  await hook(page, "undo").click();
  assert.deepEqual(await valve(page), before);
});

for (const viewport of [undefined, PHONE.viewport]) {
  pageTest(`numbers and words in the plan of a turned sleeve keep apart, ${viewport ? "on a phone" : "on a desk"}`, viewport ? { viewport } : {}, async (page) => {
    await place(page);
    for (const name of ["bread-flour-25-kg", "finishing-plaster-30-kg", "hydrated-lime-20-kg", "grout-10-kg"]) {
      const file = JSON.parse(await readFile(new URL(`../../examples/sacks/${name}.sack.json`, import.meta.url), "utf8"));
      for (const [skew_deg, offset_from_centre_mm] of [[0, 0], [6, 5], [-6, -5], [12, -4], [-20, 4]]) {
        Object.assign(file.valve_end.valve, { skew_deg, offset_from_centre_mm });
        const buffer = Buffer.from(JSON.stringify(file));
        await hook(page, "file-input").setInputFiles({ name: `${name}.sack.json`, mimeType: "application/json", buffer });
        await page.waitForFunction(
          ([name, skew]) => {
            const sheet = JSON.parse(globalThis.sackwright.workshop.sheetText());
            return sheet.name === name && sheet.valve_end.valve.skew_deg === skew;
          },
          [file.name, skew_deg],
        );
        await rest(page);
        assert.deepEqual(await crowded(page), [], `${name} ${skew_deg}`);
      }
    }
  });
}

pageTest("near the centre line and the end edge it is held there; it is turned and made longer by its knobs", {}, async (page) => {
  await place(page);
  await input(page, "outer_end_mm").fill("2");
  await input(page, "offset_from_centre_mm").fill("2");
  const drag = async (name, dx, dy) => {
    const grip = hook(page, name);
    const [x, y] = await middle(name === "placing-sleeve" ? grip.locator("polygon") : grip.locator(".knob"));
    await page.mouse.move(x, y);
    await page.mouse.down();
    await page.mouse.move(x + dx / 2, y + dy / 2);
    await page.mouse.move(x + dx, y + dy);
    await page.mouse.up();
  };
  await drag("placing-sleeve", 1, 1);
  assert.deepEqual([(await valve(page)).outer_end_mm, (await valve(page)).offset_from_centre_mm], [0, 0]);
  const before = await valve(page);
  const inwards = before.side === "left" ? 1 : -1;
  await drag("placing-length", inwards * 20 * (await scale(page)), 0);
  assert.ok(Math.abs((await valve(page)).length_mm - before.length_mm - 20) <= 1);
  await drag("placing-turn", 0, 20);
  const { skew_deg } = await valve(page);
  assert.ok(skew_deg !== 0 && (skew_deg * 2) % 1 === 0, `turned by ${skew_deg}`);
  assert.equal(parseFloat((await told(page, "skew_deg")).replace("\u2212", "-")), skew_deg);
});

pageTest("by keyboard alone: arrows, Shift, brackets, Escape", {}, async (page) => {
  await place(page);
  const before = await valve(page);
  const outwards = before.side === "left" ? "ArrowLeft" : "ArrowRight";
  // The plan comes next after the choice of the drawing.
  await hook(page, "drawing-choice").focus();
  await page.keyboard.press("Tab");
  assert.equal(await page.evaluate(() => document.activeElement.getAttribute("data-hook")), "placing-sleeve");
  await page.keyboard.press(outwards);
  await page.keyboard.press(`Shift+${outwards}`);
  await page.keyboard.press("ArrowUp");
  await page.keyboard.press("]");
  const moved = await valve(page);
  assert.deepEqual(
    [moved.outer_end_mm, moved.offset_from_centre_mm, moved.skew_deg],
    [before.outer_end_mm + 6, before.offset_from_centre_mm + 1, before.skew_deg + 0.5],
  );
  assert.match(await hook(page, "live").innerText(), /0\.5°/);
  await page.keyboard.press("Control+z");
  assert.deepEqual(await valve(page), before, "undone from the plan");
  await page.keyboard.press("ArrowUp");
  await page.keyboard.press("Escape");
  assert.deepEqual(await valve(page), before);
  await page.keyboard.press("Tab");
  await page.keyboard.press("ArrowUp");
  assert.equal((await valve(page)).length_mm, before.length_mm + 1);
  assert.equal(await hook(page, "placing-length").getAttribute("aria-valuenow"), String(before.length_mm + 1));
  await page.keyboard.press("Tab");
  await page.keyboard.press("ArrowUp");
  assert.equal((await valve(page)).skew_deg, before.skew_deg + 0.5);
});

pageTest("the hatched room is where no rule about the place speaks", {}, async (page) => {
  await place(page);
  const found = new Set();
  for (const [out, aside] of [[0, 0], [0, 1], [30, 0], [0, 40], [-20, 5]]) {
    await input(page, "outer_end_mm").fill(String(out));
    await input(page, "offset_from_centre_mm").fill(String(aside));
    const inside = await inRoom(page);
    assert.equal(inside, !(await speaks(page)), `outer end ${out}, offset ${aside}`);
    found.add(inside);
  }
  assert.equal(found.size, 2, "places inside and outside were looked at");
});

pageTest("the spout is slid in, and what it touches is told", {}, async (page) => {
  await place(page);
  const depth = hook(page, "placing-depth");
  const reach = Number(await depth.getAttribute("max"));
  assert.equal(Number(await depth.inputValue()), reach, "to its reach at first");
  await input(page, "skew_deg").fill("12");
  await page.locator('.placing .touch').first().waitFor({ state: "attached" });
  await depth.fill("10");
  assert.match(await hook(page, "placing-touches").innerText(), /pocket/);
});

pageTest("in the picture the spout goes into the sleeve, and is gone with the drawing", {}, async (page) => {
  await enter(page, "board");
  await pose(page, "lay-patch", 1);
  const plain = await sackPicture(page);
  await place(page);
  const inside = await sackPicture(page);
  await hook(page, "board-line-choice").selectOption("");
  assert.ok(difference(inside, await sackPicture(page)) > 0.005, "it is there, and no more without a line");
  await hook(page, "board-line-choice").selectOption({ index: 1 });
  assert.equal(difference(inside, await sackPicture(page)), 0);
  await hook(page, "placing-depth").fill("40");
  const shallow = await sackPicture(page);
  assert.ok(difference(inside, shallow) > 0.002, "it goes along with the hand");
  // Askew: where it touches is marked, in the colour of what is pointed at.
  await hook(page, "placing-depth").evaluate((depth) => (depth.value = depth.max));
  await hook(page, "placing-depth").dispatchEvent("input");
  await input(page, "skew_deg").fill("12");
  const askew = await sackPicture(page);
  const blue = ({ data }) => {
    let count = 0;
    for (let i = 0; i < data.length; i += 4) if (data[i + 2] > data[i] + 50 && data[i] < 60) count += 1;
    return count;
  };
  assert.equal(blue(inside), 0);
  assert.ok(blue(askew) > 10, `${blue(askew)} px`);
  await input(page, "skew_deg").fill("0");
  assert.equal(difference(inside, await sackPicture(page)), 0);
  // Before the sleeve is in its place there is nothing to slide it into.
  await pose(page, "press-pockets", 1);
  const open = await sackPicture(page);
  await hook(page, "placing-depth").fill("40");
  assert.equal(difference(open, await sackPicture(page)), 0);
  await hook(page, "drawing-choice").selectOption("laps");
  await pose(page, "lay-patch", 1);
  assert.equal(difference(plain, await sackPicture(page)), 0);
});

pageTest("by touch on a phone, and in both lights without fault", PHONE, async (page) => {
  await place(page);
  const [before, by] = [await valve(page), await scale(page)];
  const sign = before.side === "left" ? -1 : 1;
  const [x, y] = await middle(hook(page, "placing-sleeve").locator("polygon"));
  const client = await page.context().newCDPSession(page);
  const touch = (type, points) => client.send("Input.dispatchTouchEvent", { type, touchPoints: points });
  // A finger's moves come a frame apart.
  const stroke = async ([fromX, fromY], [dx, dy]) => {
    await touch("touchStart", [{ x: fromX, y: fromY }]);
    for (let step = 1; step <= 8; step += 1) {
      await touch("touchMove", [{ x: fromX + (dx * step) / 8, y: fromY + (dy * step) / 8 }]);
      await page.evaluate(() => new Promise((resolve) => requestAnimationFrame(() => resolve())));
    }
    await touch("touchEnd", []);
  };
  await stroke([x, y], [sign * 20 * by, 0]);
  // Touches reach the page in its own time; what it says afterwards is said when the hand has left.
  await page.waitForFunction(() => document.querySelector('[data-hook="live"]').textContent.includes("Outer end"));
  const after = await valve(page);
  assert.ok(Math.abs(after.outer_end_mm - before.outer_end_mm - 20) <= 1, `outer end ${after.outer_end_mm}`);
  assert.deepEqual(await crowded(page), []);
  // Beside the sleeve a finger moves the page, as anywhere.
  const plan = await hook(page, "placing-plan").boundingBox();
  await stroke([plan.x + plan.width - 20, plan.y + 20], [0, -80]);
  await page.waitForFunction(
    (before) => document.querySelector('[data-hook="placing-plan"]').getBoundingClientRect().top < before - 20,
    plan.y,
  );
  assert.deepEqual(await valve(page), after);
  for (const name of ["placing-length", "placing-turn"]) {
    const { width, height } = await hook(page, name).boundingBox();
    assert.ok(Math.min(width, height) >= 24, `${name} is ${width} x ${height}`);
  }
  await page.evaluate(axe.source);
  for (const colorScheme of ["light", "dark"]) {
    await page.emulateMedia({ colorScheme });
    const { violations } = await page.evaluate(() => globalThis.axe.run(document.querySelector(".laps-box")));
    assert.deepEqual(violations.map(({ id, nodes }) => `${id}: ${nodes.map(({ target }) => target)}`), [], colorScheme);
  }
});

pageTest("on the right, as a single sheet, and without a line", {}, async (page) => {
  await place(page);
  const choose = (key, value) => page.locator(`[data-hook="sheet-form"] [data-field="valve_end.valve.${key}"] select`).selectOption(value);
  await choose("side", "right");
  await choose("sleeve", "reinforcement");
  const before = await valve(page);
  await hook(page, "placing-sleeve").focus();
  await page.keyboard.press("ArrowRight");
  assert.equal((await valve(page)).outer_end_mm, before.outer_end_mm + 1, "outwards is to the right");
  assert.ok(await hook(page, "placing-spout").isVisible());
  await hook(page, "board-line-choice").selectOption("");
  assert.ok(await hook(page, "placing-spout").isHidden());
  assert.equal(await distance(page, "spout_round").count(), 0);
  assert.equal(await inRoom(page), !(await speaks(page)));
});

pageTest("the spout goes in along the sleeve, turned and aside as that is; in inches the keys move by a sixteenth", {}, async (page) => {
  await hook(page, "measures").selectOption("imperial");
  await place(page);
  const before = await valve(page);
  await hook(page, "placing-sleeve").focus();
  for (const key of ["ArrowUp", "Shift+ArrowUp"]) await page.keyboard.press(key);
  assert.ok(Math.abs((await valve(page)).offset_from_centre_mm - before.offset_from_centre_mm - 25.4 * (1 / 16 + 1 / 4)) < 1e-9);
  for (let turn = 0; turn < 8; turn += 1) await page.keyboard.press("]");
  const points = async (locator) =>
    (await locator.getAttribute("points")).split(" ").map((point) => point.split(",").map(Number));
  const [a, b, c, d] = await points(hook(page, "placing-sleeve").locator("polygon"));
  const spout = await points(hook(page, "placing-plan").locator("polygon.spout"));
  const half = (p, q) => [(p[0] + q[0]) / 2, (p[1] + q[1]) / 2];
  const [mouth, inner] = [half(a, b), half(c, d)];
  const length = Math.hypot(inner[0] - mouth[0], inner[1] - mouth[1]);
  assert.ok(Math.abs(inner[1] - mouth[1]) > 3, "it is turned");
  for (const end of [half(spout[0], spout[1]), half(spout[2], spout[3])]) {
    const aside = ((inner[0] - mouth[0]) * (end[1] - mouth[1]) - (inner[1] - mouth[1]) * (end[0] - mouth[0])) / length;
    assert.ok(Math.abs(aside) < 0.1, `the spout's middle is ${aside} px off the sleeve's`);
  }
  // So far aside it presses on the bottom's fold line.
  assert.match(await hook(page, "placing-touches").innerText(), /fold line towards the sack's end/);
  assert.equal(await distance(page, "spout_fold").getAttribute("data-severity"), "look");
});

pageTest("on a narrow phone in inches no two numbers of the plan meet", { ...PHONE, viewport: { width: 360, height: 740 } }, async (page) => {
  await hook(page, "measures").selectOption("imperial");
  await place(page);
  assert.deepEqual(await crowded(page), []);
  await hook(page, "placing-sleeve").focus();
  for (let step = 0; step < 4; step += 1) await page.keyboard.press("Shift+ArrowDown");
  assert.deepEqual(await crowded(page), []);
});

pageTest("on a phone the sack stays in sight while the sleeve is moved", PHONE, async (page) => {
  await place(page);
  const stage = hook(page, "stage");
  await page.locator('[data-hook="stage"].near').waitFor();
  await rest(page);
  const { height: window } = page.viewportSize();
  const [picture, plan] = [await hook(page, "picture").boundingBox(), await hook(page, "placing-plan").boundingBox()];
  assert.ok(picture.y >= 0 && picture.y + picture.height < window / 2, `picture at ${picture.y}, ${picture.height} high`);
  assert.ok(plan.y >= picture.y + picture.height && plan.y + plan.height <= window, `plan at ${plan.y}, ${plan.height} high`);
  const before = await sackPicture(page);
  await hook(page, "placing-sleeve").focus();
  for (let step = 0; step < 6; step += 1) await page.keyboard.press("Shift+ArrowRight");
  assert.ok(difference(before, await sackPicture(page)) > 0.005, "the picture follows the sleeve");
  const top = await page.evaluate(() => document.documentElement.scrollHeight);
  await stage.evaluate((element) => element.scrollIntoView({ behavior: "instant" }));
  await page.locator('[data-hook="stage"]:not(.near)').waitFor();
  assert.equal(await page.evaluate(() => document.documentElement.scrollHeight), top, "nothing jumps");
});

import assert from "node:assert/strict";
import { readFile, readdir } from "node:fs/promises";
import { inflateSync } from "node:zlib";

import { difference, enter, filmed, hook, pageTest, pose, sackPicture } from "./page.js";

const DRAWINGS = ["sack", "valve-bottom", "plain-bottom", "lap", "webs", "artwork"];
const SACKS = new URL("../../examples/sacks/", import.meta.url);
const MM_PER_PT = 25.4 / 72;

const input = (page, path) => page.locator(`[data-hook="sheet-form"] [data-field="${path}"] input`);
const svg = (page) => hook(page, "drawing").locator("svg");
const sheet = (page) => page.evaluate(() => JSON.parse(globalThis.sackwright.workshop.sheetText()));

/** Shows a drawing on the board. */
async function draw(page, what) {
  await hook(page, "drawing-choice").selectOption(what);
  await page.locator(`[data-hook="drawing"] svg[data-drawing="${what}"]`).waitFor();
}

/** Values of a drawing's dimensions by what they measure. */
async function measured(page) {
  const pairs = await svg(page)
    .locator("[data-measures]")
    .evaluateAll((all) => all.map(({ dataset }) => [dataset.measures, Number(dataset.value)]));
  return Object.fromEntries(pairs);
}

pageTest("every drawing of the sack is on the board and follows the sheet", {}, async (page) => {
  await enter(page, "board");
  for (const what of DRAWINGS) {
    await draw(page, what);
    assert.notEqual(await svg(page).locator("title").first().textContent(), "");
  }
  await draw(page, "sack");
  const before = await measured(page);
  assert.equal(before.face_width_mm, (await sheet(page)).face_width_mm);
  await input(page, "face_width_mm").fill("517,5");
  assert.equal((await measured(page)).face_width_mm, 517.5);
  await hook(page, "measures").selectOption("imperial");
  assert.match(await svg(page).locator('[data-measures="face_width_mm"]').first().textContent(), /20\.37/, "inches, as it says");
  assert.ok((await svg(page).locator("text").allTextContents()).includes("in"), "in its title block");
  assert.equal((await measured(page)).face_width_mm, 517.5, "its own unit stays");
  await input(page, "length_mm").fill("wide");
  assert.equal((await measured(page)).face_width_mm, 517.5, "the last good sack stays drawn");
});

pageTest("a drawing is moved and brought nearer by wheel, drag and keys", {}, async (page) => {
  await enter(page, "board");
  await draw(page, "valve-bottom");
  const seen = async () => (await svg(page).getAttribute("viewBox")).split(" ").map(Number);
  const whole = await seen();
  const box = await hook(page, "drawing").boundingBox();
  await page.mouse.move(box.x + box.width / 3, box.y + box.height / 2);
  await page.mouse.wheel(0, -400);
  await page.waitForFunction((width) => {
    const { viewBox } = document.querySelector('[data-hook="drawing"] svg');
    return viewBox.baseVal.width < width;
  }, whole[2]);
  const near = await seen();
  await page.mouse.down();
  await page.mouse.move(box.x + box.width / 3 + 60, box.y + box.height / 2 + 20, { steps: 4 });
  await page.mouse.up();
  const moved = await seen();
  assert.ok(moved[0] < near[0] && moved[1] < near[1], "the paper goes along with the hand");
  assert.equal(moved[2], near[2]);
  await hook(page, "drawing").focus();
  await page.keyboard.press("0");
  assert.deepEqual(await seen(), whole);
  await page.keyboard.press("+");
  await page.keyboard.press("ArrowRight");
  const [left, , width] = await seen();
  assert.ok(width < whole[2] && left > whole[0]);
  // The next sheet is seen from where this one was.
  await input(page, "valve_end.valve.length_mm").fill("170");
  assert.ok(Math.abs((await seen())[2] / width - 1) < 0.2);
});

pageTest("a dimension shows its place on the model, and a finding its dimensions", {}, async (page) => {
  await enter(page, "board");
  await filmed(page);
  await draw(page, "sack");
  const plain = await sackPicture(page);
  const dimension = svg(page).locator('[data-measures="face_width_mm"] text').first();
  await dimension.hover();
  const { face_width_mm } = await sheet(page);
  assert.match(await hook(page, "marker-label").innerText(), new RegExp(`^Face width: ${face_width_mm}\\smm$`));
  assert.ok(difference(plain, await sackPicture(page)) > 0.0002);
  await page.mouse.move(5, 5);
  assert.equal(difference(plain, await sackPicture(page)), 0);
  await hook(page, "findings-good-count").click();
  const finding = page.locator('[data-hook="finding"][data-place="length"]').first();
  await finding.hover();
  assert.ok((await svg(page).locator('[data-place="length"].lit').count()) > 0);
});

pageTest("on the filled sack too a dimension of the patch shows the patch", {}, async (page) => {
  await enter(page, "board");
  await filmed(page);
  await pose(page, "fill", 1);
  await page.locator('[data-view="valve-end"]').click();
  await draw(page, "valve-bottom");
  const plain = await sackPicture(page);
  await svg(page).locator('[data-place="valve-end-patch"] text').first().hover();
  assert.ok(difference(plain, await sackPicture(page)) > 0.01);
  await hook(page, "marker-label").waitFor();
  await page.mouse.move(5, 5);
  assert.equal(difference(plain, await sackPicture(page)), 0);
});

/** The page's size in mm, and the lengths in mm of the straight strokes of a PDF of one page. */
function readPdf(bytes) {
  const text = bytes.toString("latin1");
  const [, width, height] = /\/MediaBox\s*\[0 0 ([\d.]+) ([\d.]+)\]/.exec(text);
  const strokes = [];
  for (const found of text.matchAll(/stream\r?\n/g)) {
    const start = found.index + found[0].length;
    let content;
    try {
      content = inflateSync(bytes.subarray(start, text.indexOf("endstream", start))).toString("latin1");
    } catch {
      continue;
    }
    let scale = 1;
    const kept = [];
    let [x, y] = [0, 0];
    for (const line of content.split("\n")) {
      const numbers = line.split(" ").map(Number);
      if (line === "q") kept.push(scale);
      else if (line === "Q") scale = kept.pop() ?? 1;
      else if (/ cm$/.test(line)) scale *= Math.hypot(numbers[0], numbers[1]);
      else if (/ m$/.test(line)) [x, y] = numbers;
      else if (/ l$/.test(line)) {
        strokes.push(Math.hypot(numbers[0] - x, numbers[1] - y) * scale * MM_PER_PT);
        [x, y] = numbers;
      }
    }
  }
  return { width: width * MM_PER_PT, height: height * MM_PER_PT, strokes };
}

/** Presses a button; returns the name and the bytes of the file that it saves. */
async function saved(page, button) {
  const [download] = await Promise.all([page.waitForEvent("download"), hook(page, button).click()]);
  return { name: download.suggestedFilename(), bytes: await readFile(await download.path()) };
}

/** The JSON of a GLB file, whose chunks are held against the lengths that it says. */
function readGlb(bytes) {
  assert.equal(bytes.toString("latin1", 0, 4), "glTF");
  assert.equal(bytes.readUInt32LE(4), 2);
  assert.equal(bytes.readUInt32LE(8), bytes.length);
  const length = bytes.readUInt32LE(12);
  assert.equal(bytes.toString("latin1", 16, 20), "JSON");
  const binary = 20 + length;
  assert.equal(bytes.toString("latin1", binary + 4, binary + 7), "BIN");
  assert.equal(binary + 8 + bytes.readUInt32LE(binary), bytes.length);
  return JSON.parse(bytes.toString("utf8", 20, binary));
}

/** Facets of an STL file, whose length is held against their number, and the least and largest coordinates in mm. */
function readStl(bytes) {
  const facets = bytes.readUInt32LE(80);
  assert.equal(bytes.length, 84 + 50 * facets);
  const [least, most] = [[0, 0, 0].fill(Infinity), [0, 0, 0].fill(-Infinity)];
  for (let at = 84; at < bytes.length; at += 50) {
    for (let number = 3; number < 12; number += 1) {
      const value = bytes.readFloatLE(at + 4 * number);
      least[number % 3] = Math.min(least[number % 3], value);
      most[number % 3] = Math.max(most[number % 3], value);
    }
  }
  return { facets, size: most.map((value, axis) => value - least[axis]) };
}

pageTest("the files of the model are of the sack as it is shown", {}, async (page) => {
  await enter(page, "board");
  await filmed(page);
  const { name, face_width_mm, length_mm } = await sheet(page);
  await page.locator(".model-files summary").click();

  await pose(page, "tube", 1);
  const tube = await saved(page, "save-model-glb");
  assert.equal(tube.name, `${name} tube.glb`);
  const parts = readGlb(tube.bytes).nodes.map((node) => node.name);
  assert.ok(parts.includes("ply-0 body-a") && !parts.some((part) => part.includes("patch")), parts.join("; "));
  await pose(page, "lay-patch", 1);
  const closed = await saved(page, "save-model-stl");
  assert.equal(closed.name, `${name} lay-patch.stl`);
  const flat = readStl(closed.bytes).size;
  assert.ok(Math.abs(flat[0] - face_width_mm) < 3 && Math.abs(flat[1] - length_mm) < 6 && flat[2] < 12, flat.join(" x "));

  await pose(page, "fill", 1);
  const filled = readStl((await saved(page, "save-model-stl")).bytes).size;
  assert.ok(filled[0] < face_width_mm && filled[2] > 60, filled.join(" x "));
  const skin = readGlb((await saved(page, "save-model-glb")).bytes).nodes.map((node) => node.name);
  assert.ok(skin.includes("valve-bottom"), skin.join("; "));

  const film = await saved(page, "save-film-glb");
  assert.equal(film.name, `${name} film.glb`);
  const { animations, skins } = readGlb(film.bytes);
  assert.ok(animations.length === 1 && animations[0].channels.length > 100 && skins.length > 0);

  const pattern = await saved(page, "save-pattern-fold");
  assert.equal(pattern.name, `${name} pattern.fold`);
  const fold = JSON.parse(pattern.bytes.toString("utf8"));
  assert.ok(fold.file_spec >= 1 && fold.vertices_coords.length > 20 && fold.edges_assignment.includes("M"));

  const figures = await saved(page, "save-figures-csv");
  assert.equal(figures.name, `${name} figures.csv`);
  const rows = figures.bytes.toString("utf8").split("\r\n");
  assert.equal(rows[0], "key,value,unit");
  const tubeLength = rows.find((row) => row.startsWith("tube_length_mm,"));
  assert.match(tubeLength, /^tube_length_mm,\d+(\.\d+)?,mm$/);
});

pageTest("while the loaded pallet is shown, the model as shown is the loaded pallet", {}, async (page) => {
  await page.locator('[data-hook="pallet-figures"]:not([aria-busy]) table').waitFor({ state: "attached" });
  await enter(page, "board");
  await page.locator('[data-hook="show-stack"]:not(:disabled)').click();
  const sacks = Number.parseFloat(await hook(page, "pallet-figures").locator('[data-figure="sacks"] td').innerText());
  await page.locator(".model-files summary").click();
  const { name } = await sheet(page);
  const glb = await saved(page, "save-model-glb");
  assert.equal(glb.name, `${name} pallet.glb`);
  const { nodes, meshes } = readGlb(glb.bytes);
  assert.equal(nodes.filter((node) => node.name.startsWith("sack-")).length, sacks);
  assert.equal(meshes.length, 2, "the sack once, and the pallet");
  const stl = readStl((await saved(page, "save-model-stl")).bytes);
  const height = Number.parseFloat((await hook(page, "pallet-figures").locator('[data-figure="height"] td').innerText()).replace(",", ""));
  assert.ok(Math.abs(stl.size[2] - height) < 15, `${stl.size} and ${height} mm`);
  await hook(page, "show-stack").click();
  assert.notEqual((await saved(page, "save-model-stl")).name, `${name} pallet.stl`);
});

pageTest("a drawing is saved as SVG and as DXF with the same lines", {}, async (page) => {
  await enter(page, "board");
  await draw(page, "webs");
  const { name } = await sheet(page);
  const asSvg = await saved(page, "save-svg");
  const asDxf = await saved(page, "save-dxf");
  assert.deepEqual([asSvg.name, asDxf.name], [`${name} webs.svg`, `${name} webs.dxf`]);
  // Pairs of a group code and a value, one a line.
  const lines = asDxf.bytes.toString("utf8").split(/\r?\n/);
  const pairs = lines.flatMap((line, index) => (index % 2 === 0 ? [[line.trim(), lines[index + 1]]] : []));
  assert.deepEqual(pairs[0], ["0", "SECTION"]);
  assert.deepEqual(pairs[1], ["2", "HEADER"]);
  assert.ok(pairs.some(([code, value]) => code === "0" && value === "EOF"), "it is whole");
  const texts = pairs.filter(([code]) => code === "1").map(([, value]) => value);
  const labels = await svg(page).locator("[data-dim] text").allTextContents();
  assert.ok(labels.length > 5);
  for (const label of labels) assert.ok(texts.includes(label), label);
});

pageTest("a print at 1:1 is 1:1; what is saved is the same drawing", {}, async (page) => {
  await enter(page, "board");
  await draw(page, "sack");
  await page.evaluate(() => {
    window.print = () => {};
  });
  const { bytes } = await saved(page, "save-svg");
  const [, width, height] = /width="([\d.]+)mm" height="([\d.]+)mm"/.exec(bytes.toString("utf8")).map(Number);
  await hook(page, "print-drawing").click();
  const pdf = readPdf(await page.pdf({ preferCSSPageSize: true }));
  assert.ok(Math.abs(pdf.width - width) < 0.4 && Math.abs(pdf.height - height) < 0.4, `${pdf.width} x ${pdf.height} mm`);
  const { face_width_mm, length_mm, valve_end } = await sheet(page);
  for (const side of [length_mm, face_width_mm - valve_end.bottom_width_mm]) {
    const nearest = Math.min(...pdf.strokes.map((stroke) => Math.abs(stroke - side)));
    assert.ok(nearest < 0.05, `no stroke is ${side} mm long: the nearest misses it by ${nearest}`);
  }
});

for (const [paper, width, height] of [["a4", 210, 297], ["letter", 215.9, 279.4]]) {
  pageTest(`a print at 1:1 on ${paper} sheets is 1:1, has crosses that meet, and no empty sheet`, {}, async (page) => {
    await enter(page, "board");
    await draw(page, "plain-bottom");
    await page.evaluate(() => {
      window.print = () => {};
    });
    await hook(page, "print-size").selectOption(paper);
    const count = Number.parseInt((await hook(page, "print-sheets").innerText()).match(/\d+/)[0], 10);
    await hook(page, "print-drawing").click();
    const bytes = await page.pdf({ preferCSSPageSize: true });
    const sizes = [...bytes.toString("latin1").matchAll(/\/MediaBox\s*\[0 0 ([\d.]+) ([\d.]+)\]/g)];
    assert.equal(sizes.length, count + 1, "each sheet, and the one that shows how they lie");
    for (const [, across, down] of sizes) {
      const sides = [across, down].map((side) => Number(side) * MM_PER_PT).sort((a, b) => a - b);
      assert.ok(Math.abs(sides[0] - width) < 0.5 && Math.abs(sides[1] - height) < 0.5, sides.join(" x "));
    }
    const { valve_end, face_width_mm } = await sheet(page);
    const { strokes } = readPdf(bytes);
    for (const side of [100, face_width_mm - valve_end.bottom_width_mm]) {
      const nearest = Math.min(...strokes.map((stroke) => Math.abs(stroke - side)));
      assert.ok(nearest < 0.05, `no stroke is ${side} mm long: the nearest misses it by ${nearest}`);
    }
  });

  pageTest(`crosses of neighbouring ${paper} sheets are the same points of the drawing`, {}, async (page) => {
    await enter(page, "board");
    await draw(page, "sack");
    // What is laid out for the printer is looked at before it is taken off.
    await page.evaluate(() => {
      window.print = () => {};
    });
    await hook(page, "print-size").selectOption(paper);
    await hook(page, "print-drawing").click();
    const tiles = await page.locator(".tile").evaluateAll((all) =>
      all.slice(1).map((tile) => {
        const inner = tile.querySelector("svg svg");
        const [left, top] = inner.getAttribute("viewBox").split(" ").map(Number);
        const [x, y] = ["x", "y"].map((name) => Number(inner.getAttribute(name)));
        const crosses = [...tile.querySelectorAll(".tile-cross circle")].map((circle) => [
          left + Number(circle.getAttribute("cx")) - x,
          top + Number(circle.getAttribute("cy")) - y,
        ]);
        const name = [...tile.querySelectorAll("text")].map((text) => text.textContent).find((text) => text.startsWith("Sheet "));
        return { sheet: name.match(/\d+\.\d+/)[0], crosses };
      }),
    );
    const known = new Map(tiles.map(({ sheet: name, crosses }) => [name, crosses]));
    let met = 0;
    for (const [name, crosses] of known) {
      const [row, column] = name.split(".").map(Number);
      for (const other of [known.get(`${row}.${column + 1}`), known.get(`${row + 1}.${column}`)]) {
        if (!other) continue;
        const shared = crosses.filter((mine) => other.some((theirs) => Math.hypot(mine[0] - theirs[0], mine[1] - theirs[1]) < 1e-6));
        assert.ok(shared.length >= 2, `${name}: ${shared.length}`);
        met += 1;
      }
    }
    assert.ok(met > 3);
  });
}

pageTest("the title block is printed where the sheets that there are have room for it", {}, async (page) => {
  await enter(page, "board");
  await draw(page, "artwork");
  await page.evaluate(() => {
    window.print = () => {};
  });
  const place = (root) =>
    root.evaluate((svg) => {
      const text = [...svg.querySelectorAll("text")].find(({ textContent }) => textContent === "Tolerances");
      return ["x", "y"].map((name) => Number(text.getAttribute(name)));
    });
  for (const paper of ["a4", "letter"]) {
    await hook(page, "print-size").selectOption(paper);
    await hook(page, "print-drawing").click();
    const tiles = page.locator(".tile");
    const [x, y] = await place(tiles.first());
    const windows = await tiles.evaluateAll((all) =>
      all.slice(1).map((tile) => tile.querySelector("svg svg").getAttribute("viewBox").split(" ").map(Number)),
    );
    const isOn = ([left, top, width, height]) => x > left && x < left + width && y > top && y < top + height;
    assert.ok(windows.some(isOn), `${paper}: at ${x}, ${y} it is on no sheet`);
    await page.evaluate(() => dispatchEvent(new Event("afterprint")));
  }
});

pageTest("one web at a time goes onto sheets to be joined, and they are counted before", {}, async (page) => {
  await enter(page, "board");
  await draw(page, "webs");
  await page.evaluate(() => {
    window.print = () => {};
  });
  const part = hook(page, "print-part");
  assert.ok(await part.isHidden(), "one large sheet has all of them");
  await hook(page, "print-size").selectOption("a4");
  const count = async () => Number.parseInt((await hook(page, "print-sheets").innerText()).match(/\d+/)[0], 10);
  const all = await count();
  const { plies, face_width_mm, length_mm } = await sheet(page);
  assert.equal(await part.locator("option").count(), 2 * plies.length + 2, "all, every ply and its ends, all in register");
  await part.selectOption("ply-2");
  const one = await count();
  assert.ok(one < all / 3, `${one} of ${all}`);
  await hook(page, "print-drawing").click();
  assert.equal(await page.locator(".tile").count(), one + 1);
  // The sheets cover the web, and hold together without a gap.
  const seen = await page.locator(".tile").evaluateAll((tiles) =>
    tiles.slice(1).map((tile) => tile.querySelector("svg svg").getAttribute("viewBox").split(" ").map(Number)),
  );
  const area = seen.reduce((sum, [, , width, height]) => sum + (width - 10) * (height - 10), 0);
  assert.ok(area > 2 * face_width_mm * length_mm, `${area} mm2`);
  const web = await page.locator('.tiles defs [data-dim^="ply-2."] line').evaluateAll((lines) =>
    lines.flatMap((line) => [1, 2].map((end) => [line[`x${end}`].baseVal.value, line[`y${end}`].baseVal.value])),
  );
  assert.ok(web.length > 10);
  for (const [x, y] of web) {
    assert.ok(seen.some(([sx, sy, width, height]) => x >= sx && x <= sx + width && y >= sy && y <= sy + height), `${x}, ${y}`);
  }
  const letters = await page.locator('.tiles defs [data-dim^="ply-2."] text').first().getAttribute("font-size");
  const whole = await svg(page).locator('[data-dim^="ply-2."] text').first().getAttribute("font-size");
  assert.ok(Number(letters) < Number(whole), "letters for one web, not for all of them");
  // The ends alone, in two rows of sheets that say what they are of.
  await part.selectOption("ply-2-ends");
  const ends = await count();
  assert.ok(ends <= one / 2, `${ends} of ${one}`);
  await hook(page, "print-drawing").click();
  const tiles = await page.locator(".tile").evaluateAll((all) => all.map((tile) => tile.querySelector("svg").getAttribute("aria-label")));
  assert.equal(tiles.length, ends + 1);
  assert.match(tiles.at(-1), /Sheet 2\.\d+ of 2 .*both ends of ply 2/);
  await draw(page, "artwork");
  assert.equal(await part.inputValue(), "all");
  const template = await count();
  await part.selectOption("web-ends");
  assert.ok((await count()) < template);
  // Any view alone, and on its sheets nothing of the others.
  await draw(page, "plain-bottom");
  const bottom = await count();
  const views = await part.locator("option").evaluateAll((options) => options.map(({ value }) => value));
  assert.deepEqual(views, ["all", "opened", "closed", "patched"]);
  await part.selectOption("patched");
  assert.ok((await count()) < bottom / 2, `${await count()} of ${bottom}`);
  await hook(page, "print-drawing").click();
  const [shown, title] = await page.locator(".tiles").evaluate((all) => {
    const root = all.querySelector("svg svg g");
    const flaps = [...root.querySelectorAll("text")].find(({ textContent }) => textContent === "Flaps closed");
    const windows = [...all.querySelectorAll(".tile")].slice(1).map((tile) => tile.querySelector("svg svg").getAttribute("viewBox").split(" ").map(Number));
    return [windows, [flaps.getAttribute("x"), flaps.getAttribute("y")].map(Number)];
  });
  assert.ok(!shown.some(([left, top, width, height]) => title[0] >= left && title[0] <= left + width && title[1] >= top && title[1] <= top + height));
});

pageTest("a drawing that is fitted says so, lies as the paper does best, and has no comma but the decimal one", {}, async (page) => {
  await enter(page, "board");
  await draw(page, "webs");
  const shown = await svg(page).locator("[data-dim] text").allTextContents();
  assert.ok(shown.some((text) => Number(text) > 1000) && shown.every((text) => !text.includes(",")), shown.join("; "));
  await page.evaluate(() => {
    window.print = () => {};
  });
  await hook(page, "print-size").selectOption("fit");
  await hook(page, "print-drawing").click();
  const paper = await hook(page, "on-paper").locator("svg").textContent();
  assert.ok(paper.includes("fitted") && !paper.includes("1:1"), paper);
  const wide = readPdf(await page.pdf({ format: "A4", preferCSSPageSize: true }));
  assert.ok(wide.width > wide.height, `${wide.width} x ${wide.height} mm`);
  await hook(page, "print-size").selectOption("full");
  await hook(page, "print-drawing").click();
  assert.ok((await hook(page, "on-paper").textContent()).includes("1:1"));
});

pageTest("the specification has all that a sack is ordered by; who accepted a finding is on the sheet", {}, async (page) => {
  await enter(page, "board");
  await hook(page, "add-revisions").click();
  await page.locator('[data-hook="sheet-form"] [data-field="revisions.0.note"]').locator("input, textarea").fill("First trial");
  await hook(page, "spec-open").click();
  const spec = hook(page, "spec-sheet");
  await spec.waitFor();
  const text = await spec.innerText();
  const { name, plies, contents } = await sheet(page);
  for (const part of [name, contents.product, plies[0].paper, "First trial"]) assert.ok(text.includes(part), part);
  assert.equal(await spec.locator("figure svg").count(), DRAWINGS.length);
  await hook(page, "accept-by").first().fill("R. Fenn, works manager");
  await hook(page, "accept-by").first().press("Tab");
  const [accepted] = (await sheet(page)).accepted;
  assert.equal(accepted.by, "R. Fenn, works manager");
  await page.evaluate(() => {
    window.print = () => {};
  });
  await hook(page, "spec-print").click();
  assert.match(await hook(page, "on-paper").textContent(), /R\. Fenn/);
  const pages = async (/** @type {string} */ format) => (await page.pdf({ format })).toString("latin1").match(/\/Type\s*\/Page\b/g).length;
  // Two pages of text, and every drawing on one of its own.
  assert.equal(await pages("A4"), 2 + DRAWINGS.length);
  assert.equal(await hook(page, "on-paper").textContent(), "", "off the page again once it is printed");
  assert.equal(await pages("Letter"), 2 + DRAWINGS.length, "without the page's own button, too");
  await hook(page, "spec-print").click();
  assert.equal(await pages("Letter"), 2 + DRAWINGS.length);
  await hook(page, "spec-close").click();
  await hook(page, "undo").click();
  assert.equal((await sheet(page)).accepted, undefined);
});

pageTest("webs whose letters would be too small on one page are on two, in the specification and alone", {}, async (page) => {
  await enter(page, "board");
  const buffer = await readFile(new URL("mineral-salt-50-kg-export.sack.json", SACKS));
  await hook(page, "file-input").setInputFiles({ name: "salt.sack.json", mimeType: "application/json", buffer });
  await page.waitForFunction((name) => document.querySelector('[data-hook="sack-name"]').textContent === name, JSON.parse(buffer).name);
  await page.evaluate(() => {
    window.print = () => {};
  });
  const pages = async () => (await page.pdf({ format: "A4" })).toString("latin1").match(/\/Type\s*\/Page\b/g).length;
  const onPaper = hook(page, "on-paper").locator("figure");
  await draw(page, "webs");
  await hook(page, "print-size").selectOption("fit");
  await hook(page, "print-drawing").click();
  const texts = await onPaper.allTextContents();
  assert.deepEqual(texts.map((text) => /sheet \d of \d/.exec(text)?.[0]), ["sheet 1 of 2", "sheet 2 of 2"]);
  assert.equal(await pages(), 2);
  await hook(page, "spec-open").click();
  await hook(page, "spec-sheet").waitFor();
  assert.equal(await hook(page, "spec-sheet").locator("figure svg").count(), DRAWINGS.length + 1);
  // On the page as it is printed, the letters of the smallest of a figure's texts but those of the title block.
  await hook(page, "spec-print").click();
  const figures = await onPaper.locator("svg").evaluateAll((all) =>
    all.map((svg) => {
      const { width, height } = svg.viewBox.baseVal;
      const page = width > height ? [259, 178] : [190, 246];
      const sizes = [...svg.querySelectorAll(".dimension text")].map((text) => Number(text.getAttribute("font-size")));
      return 0.72 * Math.min(...sizes) * Math.min(page[0] / width, page[1] / height);
    }),
  );
  assert.equal(figures.length, DRAWINGS.length + 1);
  for (const letters of figures) assert.ok(letters >= 1.5, `${letters} mm`);
});

for (const measures of ["metric", "imperial"]) {
  pageTest(`as the browser sets them, no two texts of any drawing of any example meet, ${measures}`, {}, async (page) => {
    await hook(page, "measures").selectOption(measures);
    await enter(page, "board");
    const sacks = await readdir(SACKS);
    assert.ok(sacks.length >= 8);
    for (const path of sacks) {
      const buffer = await readFile(new URL(path, SACKS));
      await hook(page, "file-input").setInputFiles({ name: path, mimeType: "application/json", buffer });
      await page.waitForFunction((name) => document.querySelector('[data-hook="sack-name"]').textContent === name, JSON.parse(buffer).name);
      for (const what of DRAWINGS) {
        await draw(page, what);
        const meeting = await svg(page).evaluate((root) => {
          const sheet = root.viewBox.baseVal;
          // So large that no letter's size is rounded.
          Object.assign(root.style, { width: "3000px", height: "3000px" });
          const scale = root.getScreenCTM().a;
          const inverse = root.getScreenCTM().inverse();
          const boxes = [...root.querySelectorAll("text")].map((element) => {
            const { x, y, width, height } = element.getBoundingClientRect();
            const corner = new DOMPoint(x, y).matrixTransform(inverse);
            // A line of text is higher than its letters: two rows of dimensions may share what is empty.
            const size = Number(element.getAttribute("font-size"));
            const turned = element.hasAttribute("transform");
            const [wide, high] = [width / scale, height / scale];
            const spare = 0.2 * size;
            return {
              text: element.textContent,
              left: corner.x + (turned ? spare : 0.02 * size),
              right: corner.x + wide - (turned ? spare : 0.02 * size),
              top: corner.y + (turned ? 0.02 * size : spare),
              bottom: corner.y + high - (turned ? 0.02 * size : spare),
            };
          });
          const faults = [];
          for (const [at, a] of boxes.entries()) {
            if (a.left < 0 || a.top < 0 || a.right > sheet.width || a.bottom > sheet.height) faults.push(`${a.text} is off the sheet`);
            for (const b of boxes.slice(at + 1)) {
              if (a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom) faults.push(`${a.text} on ${b.text}`);
            }
          }
          return faults;
        });
        assert.deepEqual(meeting, [], `${path} ${what}`);
      }
    }
  });
}

pageTest("a drawing's lines are never thinner than a screen shows evenly, and are its own where they are wide enough", {}, async (page) => {
  await enter(page, "board");
  await draw(page, "plain-bottom");
  const widths = () =>
    page.evaluate(() => {
      const groups = [...document.querySelectorAll('[data-hook="drawing"] svg g[stroke-width]')];
      return groups.map((group) => ({
        own: Number(group.getAttribute("stroke-width")),
        shown: Number.parseFloat(getComputedStyle(group).strokeWidth),
        scale: group.getScreenCTM().a,
      }));
    });
  const whole = await widths();
  assert.ok(whole.length > 5);
  for (const { own, shown, scale } of whole) assert.ok(shown >= own && shown * scale > 0.39, `${own} ${shown} ${scale}`);
  for (let step = 0; step < 12; step += 1) await hook(page, "drawing-nearer").click();
  for (const { own, shown } of await widths()) assert.ok(Math.abs(shown - own) < 1e-3, `${own} ${shown}`);
});

pageTest("a drawing has room from the start; form and findings keep theirs, and more room is one press away", {}, async (page) => {
  await enter(page, "board");
  const height = async (locator) => Math.round((await locator.boundingBox()).height);
  const beside = () => Promise.all([".ticket", ".board-side"].map((column) => height(page.locator(column))));
  // px that drawing and picture have at least.
  for (const [width, tall, drawing, picture] of [[1600, 1000, 340, 200], [1280, 800, 240, 150]]) {
    await page.setViewportSize({ width, height: tall });
    await hook(page, "drawing-choice").selectOption("laps");
    const columns = await beside();
    await draw(page, "valve-bottom");
    const shown = [await height(hook(page, "drawing")), await height(hook(page, "picture"))];
    assert.ok(shown[0] >= drawing && shown[1] >= picture, `at ${width} x ${tall}: ${shown}`);
    await hook(page, "drawing-larger").click();
    assert.ok((await height(hook(page, "drawing"))) >= shown[0] + 80, "larger");
    // Above it the whole picture, with what stands on it.
    const inside = await hook(page, "picture").boundingBox();
    const button = await hook(page, "zoom-in").boundingBox();
    assert.ok(button.y >= inside.y, "the picture's buttons are not cut off");
    assert.deepEqual(await beside(), columns);
    await hook(page, "drawing-larger").click();
    assert.equal(await height(hook(page, "drawing")), shown[0], "as before");
    // What saves and prints it stands below it, in sight.
    const print = await hook(page, "print-drawing").boundingBox();
    assert.ok(print.y + print.height <= tall, `printing ends at ${print.y + print.height}`);
  }
});

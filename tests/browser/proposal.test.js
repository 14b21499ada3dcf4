import assert from "node:assert/strict";
import { inflateSync } from "node:zlib";

import axe from "axe-core";

import { enter, filmed, hook, pageTest, pose, rest } from "./page.js";

/** The texts of a PDF as Chromium writes it, without spaces, and how many pages it has. */
function readPdf(bytes) {
  const file = bytes.toString("latin1");
  const objects = new Map();
  for (const { 1: number, 2: body, index } of file.matchAll(/(?<=\n)(\d+) 0 obj\s([\s\S]*?)endobj/g)) {
    const stream = body.indexOf("stream");
    const start = index + file.slice(index).search(/stream\r?\n/);
    const packed = stream >= 0 && body.slice(0, stream).includes("FlateDecode") && !/FontFile|\/Image|Length1/.test(body.slice(0, stream));
    const data = packed ? inflateSync(bytes.subarray(start + file.slice(start).match(/stream\r?\n/)[0].length)).toString("latin1") : "";
    objects.set(number, { head: stream < 0 ? body : body.slice(0, stream), data });
  }
  const pages = [...objects.values()].filter(({ head }) => /\/Type\s*\/Page\b/.test(head));
  const text = pages.map(({ head }) => {
    const letters = new Map();
    for (const [, font, number] of head.matchAll(/\/(F\d+) (\d+) 0 R/g)) {
      const [, map] = /\/ToUnicode (\d+)/.exec(objects.get(number).head);
      letters.set(font, lettersOf(objects.get(map).data));
    }
    const [, contents] = /\/Contents (\d+)/.exec(head);
    let font = new Map();
    let said = "";
    for (const [, name, glyphs] of objects.get(contents).data.matchAll(/\/(F\d+) [\d.]+ Tf|<([0-9A-F]+)> Tj/g)) {
      if (name) font = letters.get(name);
      else for (const glyph of glyphs.match(/.{4}/g)) said += font.get(Number.parseInt(glyph, 16)) ?? "?";
    }
    return said;
  });
  return { pages: pages.length, text: bare(text.join("")) };
}

/** Which letter each glyph of a font is. */
function lettersOf(map) {
  const letters = new Map();
  const put = (from, to, code) => {
    for (let glyph = from; glyph <= to; glyph += 1) letters.set(glyph, String.fromCharCode(code + glyph - from));
  };
  for (const [, kind, lines] of map.matchAll(/beginbf(char|range)\n([\s\S]*?)endbf/g)) {
    for (const line of lines.trim().split("\n")) {
      const codes = line.match(/[0-9A-F]+/g).map((code) => Number.parseInt(code, 16));
      if (kind === "char") put(codes[0], codes[0], codes[1]);
      else put(...codes);
    }
  }
  return letters;
}

/** Without spaces, ligatures as letters. */
const bare = (text) => text.normalize("NFKC").replace(/\s/g, "");

const answers = (page, root) => hook(page, root).locator("dd").allInnerTexts();
const printed = async (page, format) => {
  await page.evaluate(() => {
    window.print = () => {};
  });
  await hook(page, "proposal-print").click();
  return readPdf(await page.pdf({ format }));
};

for (const [format, measures] of [["A4", "metric"], ["Letter", "imperial"]]) {
  pageTest(`a proposal is one page with the picture and the page's own figures, ${format}, ${measures}`, { colorScheme: "dark" }, async (page) => {
    await filmed(page);
    await hook(page, "measures").selectOption(measures);
    await pose(page, "fill", 1);
    await page.locator('[data-hook="answer-pallet"][data-verdict="good"]:not([aria-busy])').waitFor();
    const told = [...(await answers(page, "answers")), ...(await answers(page, "answer-holds"))];
    const stops = await hook(page, "answer-make").locator(".reasons li span").allInnerTexts();
    await hook(page, "proposal-open").click();
    const pdf = await printed(page, format);
    assert.equal(pdf.pages, 1);
    const { size, pallet } = await page.evaluate(() => ({
      size: document.querySelector('[data-hook="answer-size"]').textContent,
      pallet: [...document.querySelectorAll('[data-hook="pallet-figures"] tr:is([data-figure="sacks"], [data-figure="over_sides"]) td')].map((cell) => cell.textContent),
    }));
    const today = new Date().toISOString().slice(0, 10);
    // What it takes up stands on the table alone.
    const figures = [size, ...told.filter((text) => !/^[\d.,]+\s(l|ft³)$|of bread flour$/.test(text)), ...pallet, ...stops, today, "Accepted by", "Signature"];
    assert.ok(figures.length > 10);
    for (const figure of figures) assert.ok(pdf.text.includes(bare(figure)), `${figure} in ${pdf.text}`);
    const picture = hook(page, "proposal-sheet").locator("img");
    assert.ok((await picture.evaluate((image) => image.naturalWidth)) > 400);
    assert.ok((await picture.evaluate(brightness)) > 180, "by daylight, as paper wants it");
    assert.match(await hook(page, "proposal-sheet").locator("figcaption").innerText(), /pressed flat/);
    await hook(page, "proposal-close").click();
    assert.ok((await hook(page, "canvas").evaluate(brightness)) < 120, "on the page it is dark again");
  });
}

/** Mean brightness of a picture, 0 to 255. */
function brightness(image) {
  if (image instanceof HTMLCanvasElement) globalThis.sackwright.viewer.drawAnew();
  const canvas = new OffscreenCanvas(40, 20);
  const context = canvas.getContext("2d");
  context.drawImage(image, 0, 0, 40, 20);
  const { data } = context.getImageData(0, 0, 40, 20);
  let sum = 0;
  for (let at = 0; at < data.length; at += 4) sum += data[at] + data[at + 1] + data[at + 2];
  return (sum / data.length) * (4 / 3);
}

pageTest("a proposal with much still open stays one page and says how much more there is", {}, async (page) => {
  await filmed(page);
  await enter(page, "board");
  await hook(page, "ticket-works-choice").selectOption({ index: 1 });
  const input = (path) => page.locator(`[data-hook="sheet-form"] [data-field="${path}"] :is(input, textarea)`).first();
  for (const [path, value] of [["contents.mass_kg", "55"], ["face_width_mm", "330"], ["length_mm", "430"], ["valve_end.valve.flat_width_mm", "70"], ["seam.lap_mm", "12"]])
    await input(path).fill(value);
  await hook(page, "no-filling").waitFor();
  await enter(page, "table");
  await hook(page, "proposal-open").click();
  const points = await page.locator('[data-hook="findings"] > li').count();
  assert.ok(points > 15, `${points} findings`);
  const pdf = await printed(page, "Letter");
  assert.equal(pdf.pages, 1);
  const shown = await hook(page, "proposal-sheet").locator(".proposal-open li").allInnerTexts();
  const more = Number(/\d+/.exec(shown.at(-1))?.[0]);
  assert.equal(shown.length - 1 + more, points, shown.at(-1));
  for (const text of [...shown, "too full or too empty to be pressed flat", "Signature"]) assert.ok(pdf.text.includes(bare(text)), text);
});

pageTest("a proposal that is open follows what is computed, and shows the stack when that is seen", {}, async (page) => {
  await hook(page, "proposal-open").click();
  const sheet = hook(page, "proposal-sheet");
  await sheet.locator(".proposal-pallet dd").first().waitFor({ timeout: 60_000 });
  assert.match(await sheet.innerText(), /93\.9\s%/);
  await hook(page, "proposal-close").click();
  await filmed(page);
  await hook(page, "show-stack").click();
  await rest(page);
  await hook(page, "proposal-open").click();
  assert.equal(await sheet.locator("figcaption").innerText(), "The loaded pallet");
  // The browser's own way to print.
  assert.equal(readPdf(await page.pdf({ format: "A4" })).pages, 1);
});

for (const colorScheme of ["light", "dark"]) {
  pageTest(`a proposal fits a phone and has no fault of accessibility, ${colorScheme}`, { colorScheme, viewport: { width: 390, height: 844 } }, async (page) => {
    await filmed(page);
    await hook(page, "proposal-open").click();
    const [wide, room] = await hook(page, "proposal").evaluate((dialog) => [dialog.scrollWidth, dialog.clientWidth]);
    assert.ok(wide <= room, `${wide} in ${room}`);
    const found = await page.evaluate(`${axe.source}; axe.run('[data-hook="proposal"]')`);
    assert.deepEqual(found.violations.map(({ id, nodes }) => `${id}: ${nodes[0].html}`), []);
    assert.equal((await printed(page, "A4")).pages, 1, "printed in full size");
  });
}

/**
 * A drawing at 1:1 on many sheets of ordinary paper, to be joined: which sheets there are the core says. Every sheet has
 * crosses in what it shares with its neighbours, which have them too, its place in the grid and a line by which to see that nothing was scaled; the
 * first one shows how they lie.
 *
 * @typedef {import("./words.js").Words} Words
 * @typedef {import("../pkg/sackwright_draft.js").Tiling} Tiling
 * @typedef {Tiling["tiles"][number]} Tile
 * @typedef {keyof typeof PAPERS} Paper
 * @typedef {{width: number, height: number}} Size mm
 */
import { make, makeSvg } from "./dom.js";

/** Sheets that ordinary printers take, mm. */
export const PAPERS = { a4: { width: 210, height: 297 }, letter: { width: 215.9, height: 279.4 } };
/** mm. What printers leave free; more at the foot, for the line of text. */
const EDGE = 8;
const FOOT = 15;
/** mm. How far sheets overlap at least. */
export const OVERLAP = 10;
/** mm. Less than the paper is high, so that no rounding brings an empty sheet. */
const SPARE = 0.2;
/** The line to measure by, mm, in millimetres and in inches. */
const RULE = /** @type {const} */ ({ metric: 100, imperial: 101.6 });
const TEXT = 2.8;
/** Width of a bold figure in font sizes, with what is to be left beside a name. */
const NAME_WIDTH = 0.65;
const ID = "drawing-in-tiles";

/** The paper both ways, upright and lying. @param {Paper} paper @returns {Size[]} */
export function ways(paper) {
  const { width, height } = PAPERS[paper];
  return [PAPERS[paper], { width: height, height: width }];
}

/** What of a sheet of paper is printed with the drawing. @param {Size} paper @returns {Size} */
export function windowOf({ width, height }) {
  return { width: width - 2 * EDGE, height: height - EDGE - FOOT };
}

/**
 * @param {object} of
 * @param {SVGSVGElement} of.svg the drawing at 1:1, which is used up
 * @param {Tiling} of.tiling
 * @param {Size} of.paper as it lies
 * @param {string} of.sack its name
 * @param {string | undefined} of.part what of the drawing it is; undefined: all of it
 * @param {Words} words
 */
export function sheets({ svg, tiling, paper, sack, part }, words) {
  const { columns, rows, tiles } = tiling;
  const { width, height } = svg.viewBox.baseVal;
  const title = svg.querySelector("title")?.textContent ?? "";
  const drawing = part === undefined ? title : `${title}: ${part}`;
  const whole = makeSvg("g", { id: ID, "font-family": svg.getAttribute("font-family") ?? "" });
  for (const part of [...svg.children]) if (part instanceof SVGGElement || part instanceof SVGRectElement) whole.append(part);
  const seen = windowOf(paper);
  // The first sheet shows the sheets, and all of a drawing that is printed whole.
  const least = (/** @type {(tile: Tile) => number} */ of, /** @type {number} */ whole) => Math.min(...tiles.map(of), part === undefined ? whole : Infinity);
  const left = least(({ left_mm }) => left_mm, 0);
  const top = least(({ top_mm }) => top_mm, 0);
  const right = -least(({ left_mm }) => -left_mm - seen.width, -width);
  const bottom = -least(({ top_mm }) => -top_mm - seen.height, -height);
  const name = (/** @type {{row: number, column: number}} */ { row, column }) => `${row + 1}.${column + 1}`;
  const of = { drawing, sack };
  const grid = { rows: String(rows), columns: String(columns) };
  const page = (/** @type {string} */ text, /** @type {SVGElement[]} */ ...parts) =>
    make(
      "div",
      { class: "tile" },
      makeSvg(
        "svg",
        {
          width: `${paper.width}mm`,
          height: `${paper.height - SPARE}mm`,
          viewBox: `0 0 ${paper.width} ${paper.height - SPARE}`,
          role: "img",
          "aria-label": text,
        },
        ...parts,
        label(EDGE, paper.height - FOOT + 4.5, text),
      ),
    );
  const first = page(
    words.text("page.drawings.tiles.first", { ...of, ...grid, count: String(tiles.length) }),
    makeSvg(
      "svg",
      { x: EDGE, y: EDGE, ...seen, viewBox: `${left} ${top} ${right - left} ${bottom - top}` },
      makeSvg("defs", {}, whole),
      makeSvg("use", { href: `#${ID}` }),
      ...tiles.map((tile) => outline(tile, seen, name(tile))),
    ),
    ...rule(paper, words),
  );
  const others = tiles.map((tile) => {
    const [x, y, width, height] = tile.seen_mm;
    return page(
      words.text("page.drawings.tiles.sheet", { ...of, ...grid, sheet: name(tile) }),
      makeSvg(
        "svg",
        { x: EDGE + x - tile.left_mm, y: EDGE + y - tile.top_mm, width, height, viewBox: `${x} ${y} ${width} ${height}` },
        makeSvg("use", { href: `#${ID}` }),
      ),
      ...crosses(tile, tiling.arm_mm),
      ...rule(paper, words),
    );
  });
  return make("div", { class: "tiles" }, first, ...others);
}

/** A sheet's place on the first one. @param {Tile} tile @param {Size} seen @param {string} name */
function outline(tile, seen, name) {
  const [x, y, right, bottom] = tile.joints_mm;
  const inner = { x, y, width: right - x, height: bottom - y };
  // A strip that two texts leave between them may be narrow.
  const size = Math.min(seen.width / 4, seen.height / 4, inner.width / (NAME_WIDTH * name.length));
  const text = label(x + inner.width / 2, y + inner.height / 2, name, size);
  text.setAttribute("text-anchor", "middle");
  text.setAttribute("class", "tile-name");
  return makeSvg("g", {}, makeSvg("rect", { class: "tile-edge", ...inner }), text);
}

/** Crosses by which a sheet is joined to its neighbours. @param {Tile} tile @param {number} arm mm */
function crosses({ left_mm, top_mm, crosses_mm }, arm) {
  return crosses_mm.map(([across, down]) => {
    const [x, y] = [EDGE + across - left_mm, EDGE + down - top_mm];
    return makeSvg(
      "g",
      { class: "tile-cross" },
      makeSvg("path", { d: `M${x - arm} ${y}h${2 * arm}M${x} ${y - arm}v${2 * arm}` }),
      makeSvg("circle", { cx: x, cy: y, r: arm / 2 }),
    );
  });
}

/** A line of a known length in the foot. @param {Size} paper @param {Words} words */
function rule({ width, height }, words) {
  const length = RULE[words.system];
  const [x, y] = [width - EDGE - length, height - 4.5];
  const text = label(x - 2, y + TEXT / 3, words.text("page.drawings.tiles.rule", { length: { kind: "length", value: length } }));
  text.setAttribute("text-anchor", "end");
  return [makeSvg("path", { class: "tile-rule", d: `M${x} ${y - 1.5}v3m0 -1.5h${length}m0 -1.5v3` }), text];
}

/** @param {number} x @param {number} y @param {string} text @param {number} [size] */
function label(x, y, text, size = TEXT) {
  const element = makeSvg("text", { x, y, "font-size": size });
  element.textContent = text;
  return element;
}

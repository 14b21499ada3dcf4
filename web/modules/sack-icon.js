/** A sack in outline, lying flat, to a common scale: what tells one sheet from another at a glance. */
import { makeSvg } from "./dom.js";

/** The tallest sack that still fits the icon, mm; larger ones are drawn smaller. */
const ROOM = { width: 620, height: 900 };

/** @param {import("./types.js").Plain} sheet as in the file @returns {SVGSVGElement} */
export function sackIcon(sheet) {
  const [width, length] = [positive(sheet.face_width_mm), positive(sheet.length_mm)];
  const [top, bottom] = [positive(sheet.valve_end?.bottom_width_mm), positive(sheet.plain_end?.bottom_width_mm)];
  const fit = Math.max(1, width / ROOM.width, length / ROOM.height);
  const svg = makeSvg("svg", {
    viewBox: `${(-ROOM.width / 2) * fit} ${(-ROOM.height / 2) * fit} ${ROOM.width * fit} ${ROOM.height * fit}`,
    class: "sack-icon",
    "aria-hidden": "true",
  });
  const half = width / 2;
  const up = -length / 2;
  svg.append(
    makeSvg("path", { class: "face", d: `M${-half} ${up + top / 2}V${-up - bottom / 2}H${half}V${up + top / 2}Z` }),
    hexagon(half, up + top / 2, top),
    hexagon(half, -up - bottom / 2, bottom),
  );
  return svg;
}

/** A closed bottom, tip to tip. @param {number} half of the face width @param {number} y of its centre line @param {number} width */
function hexagon(half, y, width) {
  const b = width / 2;
  return makeSvg("path", {
    class: "bottom",
    d: `M${-half} ${y}L${b - half} ${y - b}H${half - b}L${half} ${y}L${half - b} ${y + b}H${b - half}Z`,
  });
}

/** @param {unknown} value */
function positive(value) {
  return typeof value === "number" && value > 0 ? value : 100;
}

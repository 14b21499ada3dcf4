/** What a field's key tells of its unit, and how a typed number is read. Keys end in their unit (`length_mm`). */

/** Endings, the longest first, with the key of the unit's word. */
const ENDINGS = /** @type {const} */ ([
  ["_kg_m3", "kg_m3"],
  ["_sacks_per_h", "per_h"],
  ["_per_tonne", "per_t"],
  ["_g_m2", "g_m2"],
  ["_j_m2", "j_m2"],
  ["_gurley_s", "s"],
  ["_deg", "deg"],
  ["_mm2", "mm2"],
  ["_mm", "mm"],
  ["_kg", "kg"],
  ["_g", "g"],
  ["_l", "l"],
]);

/** @param {string} key @returns {string} key of the unit in page.unit, or "" */
export function unitOf(key) {
  return ENDINGS.find(([ending]) => key.endsWith(ending))?.[1] ?? "";
}

/** How far one press of an arrow key goes, in the field's unit. @param {string} key @param {boolean} whole */
export function stepOf(key, whole) {
  if (whole) return 1;
  if (key === "thickness_mm" || key === "spout_fit") return 0.01;
  if (key.endsWith("_kg_m3") || key.endsWith("_per_tonne") || key.endsWith("_per_h")) return 10;
  if (key.endsWith("_deg") || key.endsWith("_kg")) return 0.5;
  return 1;
}

/**
 * Reads a number as people type it: decimal point or comma, spaces between thousands.
 * @param {string} text
 * @returns {number | undefined} undefined when it is no number
 */
export function readNumber(text) {
  const bare = text
    .trim()
    .replace(/(?<=\d)[\s\u00a0\u202f](?=\d{3}(?!\d))/g, "")
    .replace("\u2212", "-");
  if (!/^[+-]?(\d+([.,]\d*)?|[.,]\d+)$/.test(bare)) return undefined;
  const value = Number(bare.replace(",", "."));
  return Number.isFinite(value) ? value : undefined;
}

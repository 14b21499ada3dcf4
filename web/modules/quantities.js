/** What a field's key tells of its unit. Keys end in their unit (`length_mm`). */

/** Endings, the longest first, with the key of the unit's word. */
const ENDINGS = /** @type {const} */ ([
  ["_kg_m3", "kg_m3"],
  ["_sacks_per_h", "per_h"],
  ["_per_tonne", "per_t"],
  ["_per_min", "per_min"],
  ["_percent", "percent"],
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

/** How far one press of an arrow key goes, in the unit that is shown. @param {string} key @param {boolean} whole @param {import("./measures.js").System} system */
export function stepOf(key, whole, system) {
  if (whole) return 1;
  if (system === "imperial" && key === "thickness_mm") return 0.0005;
  if (system === "imperial" && key.endsWith("_mm")) return 1 / 16;
  if (system === "imperial" && key.endsWith("_kg_m3")) return 1;
  if (key === "thickness_mm" || key === "spout_fit") return 0.01;
  if (key.endsWith("_kg_m3") || key.endsWith("_per_tonne") || key.endsWith("_per_h") || key.endsWith("_per_min")) return 10;
  if (key.endsWith("_deg") || key.endsWith("_kg")) return 0.5;
  return 1;
}

/**
 * Systems of measures. Values are always in the core's units; only what is shown and what is typed changes.
 *
 * @typedef {"metric" | "imperial"} System
 */

/** The systems that can be chosen. @type {readonly System[]} */
export const SYSTEMS = ["metric", "imperial"];

/** What takes a unit's place in inches and pounds: its word, how many of the unit it is, and decimals beyond the unit's own. Exact by definition. */
const IMPERIAL = /** @type {Record<string, {unit: string, is: number, decimals: number}>} */ ({
  mm: { unit: "in", is: 25.4, decimals: 1 },
  mm2: { unit: "in2", is: 25.4 ** 2, decimals: 1 },
  m2: { unit: "ft2", is: 0.3048 ** 2, decimals: 0 },
  kg: { unit: "lb", is: 0.45359237, decimals: 0 },
  g: { unit: "oz", is: 28.349523125, decimals: 1 },
  l: { unit: "ft3", is: 28.316846592, decimals: 2 },
  kg_m3: { unit: "lb_ft3", is: 0.45359237 / 0.3048 ** 3, decimals: 1 },
});

/** Units that may stand behind a typed number, in units of the field's own. */
const TYPED = /** @type {Record<string, Record<string, number>>} */ ({
  mm: { mm: 1, cm: 10, m: 1000, in: 25.4, inch: 25.4, inches: 25.4, '"': 25.4, "\u2033": 25.4, ft: 304.8 },
  kg: { kg: 1, g: 0.001, t: 1000, lb: 0.45359237, lbs: 0.45359237, oz: 0.028349523125 },
  kg_m3: { "kg/m3": 1, "kg/m\u00b3": 1, "g/l": 1, "lb/ft3": IMPERIAL.kg_m3?.is ?? 1, "lb/ft\u00b3": IMPERIAL.kg_m3?.is ?? 1 },
});

/**
 * A value as a system has it.
 * @param {string} unit the core's
 * @param {number} value
 * @param {System} system
 * @returns {{unit: string, value: number, decimals: number}} `decimals`: how many more than the core's unit wants
 */
export function inSystem(unit, value, system) {
  const other = system === "imperial" ? IMPERIAL[unit] : undefined;
  return other
    ? { unit: other.unit, value: value / other.is, decimals: other.decimals }
    : { unit, value, decimals: 0 };
}

/**
 * Reads a measure as people type it: a number, or whole and fraction ("19 3/4"), with or without a unit.
 * @param {string} text
 * @param {string} unit the core's, which the answer is in
 * @param {System} system whose unit a bare number has
 * @returns {number | undefined} undefined when it is no such measure
 */
export function readMeasure(text, unit, system) {
  const [, number = "", named = ""] = /^(.*?)\s*([a-z"\u2033/\u00b3]*[a-z"\u2033\u00b3]3?)?$/i.exec(text.trim()) ?? [];
  const own = named === "" ? inSystem(unit, 1, system) : undefined;
  const is = own ? 1 / own.value : TYPED[unit]?.[named.toLowerCase()];
  const count = readNumber(number) ?? readFraction(number);
  if (is === undefined || count === undefined) return undefined;
  // A product of two decimals carries binary dust.
  return is === 1 ? count : Number((count * is).toPrecision(12));
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

/** Whole and fraction, as inches are told. @param {string} text */
function readFraction(text) {
  const found = /^(?:(\d+)[\s-]+)?(\d+)\s*[/\u2044]\s*(\d+)$/.exec(text.trim());
  if (!found || Number(found[3]) === 0) return undefined;
  return Number(found[1] ?? 0) + Number(found[2]) / Number(found[3]);
}

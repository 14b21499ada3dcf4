/**
 * The words of the page: one table per language, looked up by key path, with typed quantities
 * put in through Intl. A key that the table lacks shows itself and is logged as an error.
 *
 * @typedef {import("./types.js").Arg} Arg
 * @typedef {import("./types.js").Message} Message
 * @typedef {{message: Message, set: readonly {field: string, value: number}[]}} Cured
 */

import { inSystem } from "./measures.js";

/** Languages that have a table in words/. */
const LANGUAGES = ["en"];
const FALLBACK = "en";
/** So many numbers are remembered as they are written. */
const MOST_WRITTEN = 500;
/** What is nearer to a limit than this many decimals more can tell reads like the limit. */
const MOST_MORE_DECIMALS = 4;

/** From so many square millimetres on an area is told in square metres. */
const LARGE_MM2 = 1e5;

/** Unit word and most decimals of each quantity. */
const QUANTITIES = /** @type {const} */ ({
  length: { unit: "mm", decimals: 1 },
  mass: { unit: "kg", decimals: 2 },
  mass_small: { unit: "g", decimals: 1 },
  volume: { unit: "l", decimals: 1 },
  area: { unit: "mm2", decimals: 0 },
  angle: { unit: "deg", decimals: 1 },
  ratio: { unit: "percent", decimals: 1 },
  count: { unit: "", decimals: 0 },
  density: { unit: "kg_m3", decimals: 0 },
  grammage: { unit: "g_m2", decimals: 1 },
  number: { unit: "", decimals: 3 },
  rate: { unit: "per_h", decimals: 0 },
  time: { unit: "s", decimals: 1 },
});

/**
 * The table's language for what a browser asks for, and the locale its numbers are written in.
 * @param {readonly string[]} wanted as in navigator.languages
 * @returns {{language: string, locale: string}}
 */
export function chooseLanguage(wanted) {
  for (const locale of wanted) {
    const language = locale.split("-")[0]?.toLowerCase() ?? "";
    if (LANGUAGES.includes(language)) return { language, locale };
  }
  return { language: FALLBACK, locale: FALLBACK };
}

/** @returns {Promise<Words>} */
export async function loadWords() {
  const { language, locale } = chooseLanguage(navigator.languages);
  const answer = await fetch(`words/${language}.json`);
  if (!answer.ok) throw new Error(`words/${language}.json: ${answer.status}`);
  return new Words(await answer.json(), language, locale);
}

export class Words {
  #table;
  #locale;
  /** @type {Map<string, Intl.NumberFormat>} */
  #formats = new Map();
  /** Numbers as they are written, by most decimals. @type {Map<number, string>[]} */
  #written = [];
  /** Texts by key, split at what is put in: every second piece is a name. @type {Map<string, readonly string[]>} */
  #split = new Map();
  /** The system of measures that values are shown in. @type {import("./measures.js").System} */
  system = "metric";

  /**
   * @param {Record<string, unknown>} table nested objects of strings
   * @param {string} language of the table
   * @param {string} locale for numbers
   */
  constructor(table, language, locale) {
    this.#table = table;
    this.language = language;
    this.#locale = locale;
  }

  /** @param {string} key */
  has(key) {
    return typeof this.#find(key) === "string";
  }

  /**
   * @param {string} key
   * @param {Record<string, Arg | string>} [args]
   * @returns {string}
   */
  text(key, args = {}) {
    const pieces = this.#pieces(key);
    if (pieces === undefined) {
      console.error(`words: no "${key}"`);
      return key;
    }
    const more = this.#moreDecimals(args);
    const put = (/** @type {string} */ name) => {
      const arg = args[name];
      if (arg === undefined) {
        console.error(`words: "${key}" wants {${name}}`);
        return `{${name}}`;
      }
      return typeof arg === "string" ? arg : this.arg(arg, more);
    };
    return pieces.map((piece, at) => (at % 2 === 0 ? piece : put(piece))).join("");
  }

  /** @param {Message} message */
  message(message) {
    return this.text(message.key, message.args ?? {});
  }

  /** What a finding says, and what would cure it. @param {{message: Message, cure?: Cured | null}} finding */
  finding({ message, cure }) {
    return cure ? `${this.message(message)} ${this.cure(cure)}` : this.message(message);
  }

  /** What would cure, and where a barcode goes along with it. @param {Cured} cure */
  cure({ message, set }) {
    const words = this.message(message);
    const at = (/** @type {string} */ name) => set.find(({ field }) => field === `artwork.barcode.${name}`)?.value;
    const [value, aside] = [at("from_plain_end_mm"), at("offset_from_middle_mm")];
    if (value === undefined || aside === undefined || message.key === "cure.barcode_place") return words;
    const place = { value: { kind: "length", value }, aside: { kind: "length", value: aside } };
    return `${words} ${this.text("page.findings.barcode_along", /** @type {Record<string, Arg>} */ (place))}`;
  }

  /**
   * How many decimals more quantities take, so that a value does not read like a limit that it misses.
   * @param {Record<string, Arg | string>} args
   */
  #moreDecimals(args) {
    const value = args.value;
    if (value === undefined || typeof value === "string" || value.kind === "text" || value.kind === "word") return 0;
    /** @type {number[]} */
    const near = [];
    for (const name in args) {
      const other = args[name];
      if (other === undefined || typeof other === "string" || other.kind !== value.kind) continue;
      const apart = Math.abs(other.value - value.value);
      if (apart > 0 && apart < 1) near.push(other.value);
    }
    if (near.length === 0) return 0;
    for (let more = 0; more <= MOST_MORE_DECIMALS; more++) {
      const said = this.quantity(value.kind, value.value, more);
      if (near.every((other) => this.quantity(value.kind, other, more) !== said)) return more;
    }
    return 0;
  }

  /** @param {Arg} arg @param {number} [more] decimals more than usual, at most @returns {string} */
  arg(arg, more = 0) {
    if (arg.kind === "text") return arg.text;
    if (arg.kind === "word") return this.text(arg.key);
    return this.quantity(arg.kind, arg.value, more);
  }

  /**
   * A value with its unit.
   * @param {import("./types.js").Quantity} kind
   * @param {number} value in the quantity's unit; a ratio as a fraction of one
   * @param {number} [more] decimals more than usual, at most
   */
  quantity(kind, value, more = 0) {
    if (kind === "ratio") return this.#join(this.number(value * 100, QUANTITIES.ratio.decimals + more), "percent");
    if (kind === "area" && Math.abs(value) >= LARGE_MM2) return this.#large(value);
    return this.#join(this.bare(kind, value, more), QUANTITIES[kind].unit);
  }

  /**
   * A value to be told in passing: decimals of the unit that is shown are left out.
   * @param {"length" | "mass"} kind
   * @param {number} value
   * @returns {Arg}
   */
  round(kind, value) {
    return { kind: "text", text: this.quantity(kind, value, -QUANTITIES[kind].decimals) };
  }

  /** Areas beside each other, in one unit: that of the largest. @param {readonly number[]} values mm2 @returns {readonly Arg[]} */
  areas(values) {
    const largest = Math.max(...values.map(Math.abs));
    return values.map((value) => ({
      kind: "text",
      text: largest >= LARGE_MM2 ? this.#large(value) : this.quantity("area", value),
    }));
  }

  /** @param {number} area mm2, to be told in square metres */
  #large(area) {
    return this.#join(this.measure(area / 1e6, "m2", 3), "m2");
  }

  /**
   * A value without its unit, where the unit stands elsewhere.
   * @param {import("./types.js").Quantity} kind
   * @param {number} value
   * @param {number} [more] decimals more than usual, at most
   */
  bare(kind, value, more = 0) {
    const { unit, decimals } = QUANTITIES[kind];
    // Paper is thinner than a tenth of a millimetre is wide.
    return this.measure(value, unit, more + (kind === "length" && Math.abs(value) < 1 ? decimals + 1 : decimals));
  }

  /** The same without grouping, as a drawing has it: there a comma is a decimal sign. @param {import("./types.js").Quantity} kind @param {number} value */
  plain(kind, value) {
    const { unit, decimals } = QUANTITIES[kind];
    const shown = inSystem(unit, value === 0 ? 0 : value, this.system);
    return withMinus(this.#format(decimals + shown.decimals, false).format(shown.value));
  }

  /** A number in the system's unit. @param {number} value in the core's unit @param {string} unit the core's @param {number} decimals at most, in the core's unit */
  measure(value, unit, decimals) {
    const shown = inSystem(unit, value, this.system);
    // Paper's thickness in inches wants more places still.
    const thin = shown.decimals > 0 && shown.value !== 0 && Math.abs(shown.value) < 0.1 ? 1 : 0;
    return this.number(shown.value, decimals + shown.decimals + thin);
  }

  /** The size of a sack as the trade quotes it, without unit. @param {import("./types.js").Plain} sheet */
  size(sheet) {
    const [valve, plain] = [sheet.valve_end?.bottom_width_mm, sheet.plain_end?.bottom_width_mm];
    const sides = [sheet.face_width_mm, sheet.length_mm, valve, ...(valve === plain ? [] : [plain])];
    return sides.map((side) => this.bare("length", Number(side))).join("\u2009\u00d7\u2009");
  }

  /** What the numbers of a size are. @param {import("./types.js").Plain} sheet */
  sizeOrder(sheet) {
    const isOne = sheet.valve_end?.bottom_width_mm === sheet.plain_end?.bottom_width_mm;
    return this.text(isOne ? "page.table.size_order" : "page.table.size_order_two");
  }

  /**
   * @param {number} value
   * @param {number} decimals at most
   */
  number(value, decimals) {
    // While one length is dragged most figures stay as they are, and writing a number takes a browser long.
    const known = (this.#written[decimals] ??= new Map());
    let text = known.get(value);
    if (text === undefined) {
      // -0 would show as "-0".
      text = withMinus(this.#format(decimals, true).format(value === 0 ? 0 : value));
      if (known.size >= MOST_WRITTEN) known.clear();
      known.set(value, text);
    }
    return text;
  }

  /**
   * A number as a person would type it into a field: no grouping, and in the core's unit nothing rounded away.
   * @param {number} value in the core's unit
   * @param {string} unit the core's
   */
  typed(value, unit) {
    const shown = inSystem(unit, value, this.system);
    return this.#format(shown.unit === unit ? 6 : 4, false).format(shown.value);
  }

  /** The word of the unit that takes the place of the core's. @param {string} unit the core's, a key of page.unit */
  unit(unit) {
    return unit === "" ? "" : this.text(`page.unit.${inSystem(unit, 1, this.system).unit}`);
  }

  /**
   * Puts words into every element below `root` that asks for them by data-word (text),
   * data-word-label (aria-label) or data-word-hint (title).
   * @param {ParentNode} root
   */
  fill(root) {
    for (const element of root.querySelectorAll("[data-word]")) {
      element.textContent = this.text(element.getAttribute("data-word") ?? "");
    }
    for (const element of root.querySelectorAll("[data-word-label]")) {
      element.setAttribute("aria-label", this.text(element.getAttribute("data-word-label") ?? ""));
    }
    for (const element of root.querySelectorAll("[data-word-hint]")) {
      element.setAttribute("title", this.text(element.getAttribute("data-word-hint") ?? ""));
    }
  }

  /** @param {string} number @param {string} unit */
  #join(number, unit) {
    if (unit === "") return number;
    // The degree sign stands at the number, every other unit apart from it.
    return number + (unit === "deg" ? "" : "\u00a0") + this.unit(unit);
  }

  /** @param {number} decimals @param {boolean} grouping */
  #format(decimals, grouping) {
    const key = `${decimals}${grouping}`;
    let format = this.#formats.get(key);
    if (!format) {
      format = new Intl.NumberFormat(this.#locale, { maximumFractionDigits: decimals, useGrouping: grouping });
      this.#formats.set(key, format);
    }
    return format;
  }

  /** @param {string} key */
  #pieces(key) {
    const known = this.#split.get(key);
    if (known) return known;
    const found = this.#find(key);
    if (typeof found !== "string") return undefined;
    const pieces = found.split(/\{(\w+)\}/);
    this.#split.set(key, pieces);
    return pieces;
  }

  /** @param {string} key */
  #find(key) {
    /** @type {unknown} */
    let at = this.#table;
    for (const step of key.split(".")) {
      if (typeof at !== "object" || at === null || !Object.hasOwn(at, step)) return undefined;
      at = /** @type {Record<string, unknown>} */ (at)[step];
    }
    return at;
  }
}

/** A number to be read, with the sign for minus where a keyboard has a hyphen. @param {string} number */
function withMinus(number) {
  return number.replace("-", "\u2212");
}

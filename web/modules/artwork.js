/**
 * What is printed on the sack: a picture for the front, the back and each patch, named in the sheet, and all of them laid out
 * as the viewer prints them.
 *
 * @typedef {import("./words.js").Words} Words
 * @typedef {import("./types.js").Plain} Plain
 * @typedef {(typeof PRINTED)[number]} Printed
 * @typedef {{width: number, height: number}} Size
 */
import { hook, make, write } from "./dom.js";
import { PictureStore } from "./picture-store.js";

/** What can be printed, as the sheet's artwork names it. */
const PRINTED = /** @type {const} */ (["front", "back", "valve_patch", "plain_patch"]);

/** Half the width of what is printed, and the heights of its faces and of its patches, px: some two for every mm of a sack. */
const HALF = 1024;
const FACE = 1152;
const PATCH = 384;
/** Where each part lies, as `Viewer.setArtwork` says. What stands upright on a lying sack's ends has its head towards the front. */
const PLACES = /** @type {const} */ ([
  { x: 0, y: 0, height: FACE, turned: false },
  { x: HALF, y: 0, height: FACE, turned: false },
  { x: 0, y: FACE, height: PATCH, turned: true },
  { x: HALF, y: FACE, height: PATCH, turned: true },
]);
/** ms. While a hand drags a size, the print is stretched; it is laid out anew when the hand rests. */
const REST = 200;
/** Side of the small pictures in the list, px. */
const SMALL = 96;
/** The longest name that a sheet takes. */
const LONGEST_NAME = 400;

export class Artwork {
  #words;
  #onName;
  #onTrouble;
  #onPrint;
  #store = new PictureStore();
  /** Those of the examples. @type {ReadonlyMap<string, string>} */
  #examples = new Map();
  /** Those that were looked for, by name; undefined: there is none. @type {Map<string, HTMLImageElement | undefined>} */
  #pictures = new Map();
  /** @type {Map<Printed, {row: HTMLElement, file: HTMLElement, small: HTMLCanvasElement, choose: HTMLButtonElement, off: HTMLButtonElement}>} */
  #rows = new Map();
  #picker = make("input", { type: "file", hidden: true, accept: "image/png,image/jpeg,image/webp,image/svg+xml" });
  /** @type {Printed} */
  #chosenFor = "front";
  /** What was printed last, and how large. */
  #names = "";
  #sizes = "";
  #timer = 0;
  /** Counts layouts: an older one that is late is dropped. */
  #round = 0;
  /** Settles when what is printed has been handed on. */
  laid = Promise.resolve();

  /**
   * @param {object} options
   * @param {Words} options.words
   * @param {(part: Printed, name: string | undefined) => void} options.onName a picture was put on, or taken off
   * @param {(text: string) => void} options.onTrouble
   * @param {(print: HTMLCanvasElement | undefined) => void} options.onPrint as the viewer prints it; undefined: nothing is printed
   */
  constructor({ words, onName, onTrouble, onPrint }) {
    this.#words = words;
    this.#onName = onName;
    this.#onTrouble = onTrouble;
    this.#onPrint = onPrint;
    const list = hook("artwork", HTMLElement);
    for (const part of PRINTED) list.append(this.#row(part));
    list.after(this.#picker);
    this.#picker.addEventListener("change", () => {
      const [file] = this.#picker.files ?? [];
      if (file) void this.put(this.#chosenFor, file);
      // The same file can be chosen again after it was changed.
      this.#picker.value = "";
    });
  }

  /** The pictures that the examples name, before the first sheet is shown. @param {ReadonlyMap<string, string>} examples SVG by name */
  offer(examples) {
    this.#examples = examples;
  }

  /** @param {Plain} sheet a good one */
  show(sheet) {
    const names = JSON.stringify(PRINTED.map((part) => sheet.artwork?.[part] ?? null));
    const sizes = JSON.stringify(sizesOf(sheet));
    const isNamed = names !== this.#names;
    if (!isNamed && sizes === this.#sizes) return;
    [this.#names, this.#sizes] = [names, sizes];
    this.#rows.get("valve_patch")?.row.toggleAttribute("hidden", !sheet.valve_end.patch);
    this.#rows.get("plain_patch")?.row.toggleAttribute("hidden", !sheet.plain_end.patch);
    clearTimeout(this.#timer);
    const lay = () => {
      this.laid = this.#lay(sheet);
    };
    if (isNamed) lay();
    else if (PRINTED.some((part) => sheet.artwork?.[part])) this.#timer = setTimeout(lay, REST);
  }

  /** Puts a file's picture on. @param {Printed} part @param {File} file @returns {Promise<boolean>} whether it is on */
  async put(part, file) {
    const picture = await decoded(file);
    if (!picture) {
      this.#onTrouble(this.#words.text("page.artwork.unreadable", { file: file.name }));
      return false;
    }
    const name = await this.#store.keep(file.name.slice(-LONGEST_NAME), file);
    this.#pictures.set(name, picture);
    // The same picture chosen again may have been missing so far.
    this.#names = "";
    this.#onName(part, name);
    return true;
  }

  /** Finds the pictures and hands them on, laid out. @param {Plain} sheet */
  async #lay(sheet) {
    this.#round += 1;
    const round = this.#round;
    const named = PRINTED.map((part) => /** @type {string | undefined} */ (sheet.artwork?.[part] ?? undefined));
    const sought = named.filter((name) => name !== undefined).filter((name) => !this.#pictures.has(name));
    if (sought.length > 0) {
      // Until they are there, better nothing than what is on another sack.
      this.#onPrint(undefined);
      await Promise.all(sought.map((name) => this.#find(name)));
      if (round !== this.#round) return;
    }
    const pictures = named.map((name) => (name === undefined ? undefined : this.#pictures.get(name)));
    PRINTED.forEach((part, at) => this.#showRow(part, named[at], pictures[at]));
    this.#onPrint(pictures.some((picture) => picture !== undefined) ? print(sizesOf(sheet), pictures) : undefined);
  }

  /** @param {string} name */
  async #find(name) {
    const example = this.#examples.get(name);
    const file = example === undefined ? await this.#store.find(name) : new Blob([example], { type: "image/svg+xml" });
    this.#pictures.set(name, file && (await decoded(file)));
  }

  /** @param {Printed} part */
  #row(part) {
    const words = this.#words;
    const where = words.text(`page.artwork.on.${part}`);
    const small = make("canvas", { width: SMALL, height: SMALL, "aria-hidden": "true", hidden: true });
    const file = make("span", { class: "artwork-file", "data-hook": `artwork-file-${part}` });
    const label = (/** @type {string} */ key) => words.text(`page.artwork.${key}_label`, { where });
    const choose = make("button", { type: "button", class: "quiet", "data-hook": `artwork-choose-${part}`, "aria-label": label("choose") });
    const off = make("button", { type: "button", class: "quiet", "data-hook": `artwork-off-${part}`, "aria-label": label("off"), hidden: true });
    write(choose, words.text("page.artwork.choose"));
    write(off, words.text("page.artwork.off"));
    choose.addEventListener("click", () => {
      this.#chosenFor = part;
      this.#picker.click();
    });
    off.addEventListener("click", () => {
      this.#onName(part, undefined);
      choose.focus();
    });
    const row = make(
      "li",
      {},
      make("div", { class: "artwork-small" }, small),
      make("div", { class: "artwork-told" }, make("strong", {}, words.text(`page.artwork.part.${part}`)), file),
      make("div", { class: "artwork-do" }, choose, off),
    );
    this.#rows.set(part, { row, file, small, choose, off });
    return row;
  }

  /** @param {Printed} part @param {string | undefined} name @param {HTMLImageElement | undefined} picture */
  #showRow(part, name, picture) {
    const row = this.#rows.get(part);
    if (!row) return;
    const { file, small, off } = row;
    const words = this.#words;
    const isMissing = name !== undefined && !picture;
    const shown = name?.slice(name.lastIndexOf("/") + 1) ?? "";
    const none = words.text("page.artwork.none");
    write(file, name === undefined ? none : isMissing ? words.text("page.artwork.missing", { file: shown }) : shown);
    file.classList.toggle("missing", isMissing);
    off.hidden = name === undefined;
    small.hidden = !picture;
    const pen = small.getContext("2d");
    if (!picture || !pen) return;
    pen.clearRect(0, 0, SMALL, SMALL);
    fit(pen, picture, { width: SMALL, height: SMALL });
  }
}

/** How large each part is, mm; no size where there is none. @param {Plain} sheet @returns {Size[]} */
function sizesOf({ face_width_mm: width, length_mm: height, valve_end, plain_end }) {
  const patches = [valve_end, plain_end].map(({ patch }) => ({ width: patch?.length_mm ?? 0, height: patch?.width_mm ?? 0 }));
  return [{ width, height }, { width, height }, ...patches];
}

/** @param {readonly Size[]} sizes of the parts, mm @param {readonly (HTMLImageElement | undefined)[]} pictures one for every part or none */
function print(sizes, pictures) {
  const canvas = make("canvas", { width: 2 * HALF, height: FACE + PATCH });
  const pen = canvas.getContext("2d");
  if (!pen) return undefined;
  pen.fillStyle = "#fff";
  pen.fillRect(0, 0, canvas.width, canvas.height);
  for (const [at, { x, y, height, turned }] of PLACES.entries()) {
    const [size, picture] = [sizes[at], pictures[at]];
    if (!picture || !size?.height) continue;
    pen.setTransform(HALF / size.width, 0, 0, height / size.height, x, y);
    if (turned) {
      pen.translate(size.width, size.height);
      pen.rotate(Math.PI);
    }
    fit(pen, picture, size);
  }
  return canvas;
}

/** Draws a picture whole and undistorted into the middle of a part. @param {CanvasRenderingContext2D} pen @param {HTMLImageElement} picture @param {Size} size */
function fit(pen, picture, { width, height }) {
  const scale = Math.min(width / picture.naturalWidth, height / picture.naturalHeight);
  const [wide, high] = [picture.naturalWidth * scale, picture.naturalHeight * scale];
  pen.imageSmoothingQuality = "high";
  pen.drawImage(picture, (width - wide) / 2, (height - high) / 2, wide, high);
}

/** @param {Blob} file @returns {Promise<HTMLImageElement | undefined>} undefined: it is no picture that may be drawn and read */
async function decoded(file) {
  const url = URL.createObjectURL(file);
  try {
    const picture = new Image();
    picture.src = url;
    await picture.decode();
    if (picture.naturalWidth === 0 || picture.naturalHeight === 0) return undefined;
    const pen = make("canvas", { width: 1, height: 1 }).getContext("2d");
    pen?.drawImage(picture, 0, 0, 1, 1);
    // Throws where the picture brings in what the page may not read.
    pen?.getImageData(0, 0, 1, 1);
    return picture;
  } catch {
    return undefined;
  } finally {
    URL.revokeObjectURL(url);
  }
}

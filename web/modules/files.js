/** Files in and out: the picker, a drop anywhere on the page, and saving. Nothing leaves the machine. */
import { hook, make } from "./dom.js";

/** No sheet or card is this large. */
const MOST_BYTES = 8 << 20;
/** A picture may be as printers hand them on. */
const MOST_PICTURE_BYTES = 64 << 20;

export class FileDesk {
  #onText;
  #onPicture;
  #onTooLarge;

  /**
   * @param {object} options
   * @param {(name: string, text: string) => void} options.onText
   * @param {(file: File) => void} options.onPicture
   * @param {(name: string) => void} options.onTooLarge
   */
  constructor({ onText, onPicture, onTooLarge }) {
    this.#onText = onText;
    this.#onPicture = onPicture;
    this.#onTooLarge = onTooLarge;
    const picker = hook("file-input", HTMLInputElement);
    hook("open", HTMLButtonElement).addEventListener("click", () => picker.click());
    picker.addEventListener("change", async () => {
      await this.#read(picker.files);
      // The same file can be picked again after it was mended.
      picker.value = "";
    });
    const veil = hook("drop-veil", HTMLElement);
    addEventListener("dragover", (event) => {
      if (!event.dataTransfer?.types.includes("Files")) return;
      event.preventDefault();
      veil.hidden = false;
    });
    addEventListener("dragleave", (event) => {
      if (event.relatedTarget === null) veil.hidden = true;
    });
    addEventListener("drop", (event) => {
      veil.hidden = true;
      if (!event.dataTransfer?.types.includes("Files")) return;
      event.preventDefault();
      void this.#read(event.dataTransfer.files);
    });
  }

  /** @param {FileList | null} files */
  async #read(files) {
    for (const file of files ?? []) {
      const isPicture = file.type.startsWith("image/");
      if (file.size > (isPicture ? MOST_PICTURE_BYTES : MOST_BYTES)) this.#onTooLarge(file.name);
      else if (isPicture) this.#onPicture(file);
      else this.#onText(file.name, await file.text());
    }
  }
}

/**
 * Hands a file to the browser as a download.
 * @param {string} name of the file
 * @param {string | Uint8Array<ArrayBuffer> | Blob} content
 * @param {string} [type] media type
 */
export function save(name, content, type = "application/json") {
  const url = URL.createObjectURL(new Blob([content], { type }));
  make("a", { href: url, download: name }).click();
  // The download has its own hold on the data once it has begun.
  setTimeout(() => URL.revokeObjectURL(url), 10_000);
}

/**
 * A file name from what a thing is called: without the signs that file systems refuse.
 * @param {string} name
 * @param {string} ending
 */
export function fileName(name, ending) {
  const bare = name
    .replace(/[\\/:*?"<>|\u0000-\u001f]+/g, "-")
    .replace(/^[\s.-]+|[\s.]+$/g, "")
    .slice(0, 80);
  return `${bare === "" ? "sack" : bare}.${ending}`;
}

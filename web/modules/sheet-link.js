/**
 * A sheet as the fragment of an address: pressed and written in the letters that addresses take. Browsers keep fragments to
 * themselves: whoever serves the page never sees it.
 */
const KEY = "sack=";
/** No sheet is this large; what is may be meant to fill the memory. */
const MOST_BYTES = 1 << 20;

/** @param {string} sheet as JSON @returns {Promise<string>} an address of this page that has it */
export async function linkTo(sheet) {
  const pressed = new Blob([sheet]).stream().pipeThrough(new CompressionStream("deflate-raw"));
  const bytes = new Uint8Array(await new Response(pressed).arrayBuffer());
  const letters = btoa(Array.from(bytes, (byte) => String.fromCharCode(byte)).join(""));
  const address = new URL(location.href);
  address.hash = KEY + letters.replaceAll("+", "-").replaceAll("/", "_").replaceAll("=", "");
  return address.href;
}

/** Whether an address has a sheet. @param {string} hash its fragment, with the sign before it */
export function hasSheet(hash) {
  return hash.startsWith(`#${KEY}`);
}

/**
 * The sheet that an address has.
 * @param {string} hash its fragment
 * @returns {Promise<string | undefined>} as JSON; undefined: a part of it is lost
 */
export async function sheetOf(hash) {
  try {
    const letters = hash.slice(1 + KEY.length).replaceAll("-", "+").replaceAll("_", "/");
    const bytes = Uint8Array.from(atob(letters), (letter) => letter.charCodeAt(0));
    const reader = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("deflate-raw")).getReader();
    const parts = [];
    let size = 0;
    for (let step = await reader.read(); !step.done; step = await reader.read()) {
      size += step.value.length;
      if (size > MOST_BYTES) {
        await reader.cancel();
        return undefined;
      }
      parts.push(step.value);
    }
    return await new Blob(parts).text();
  } catch {
    return undefined;
  }
}

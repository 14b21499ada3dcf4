/**
 * Loads the core: the wasm module and its glue.
 *
 * @typedef {import("../pkg/sackwright_page.js").Workshop} Workshop
 * @typedef {import("../pkg/sackwright_page.js").Viewer} Viewer
 */

/** @returns {Promise<typeof import("../pkg/sackwright_page.js")>} */
export async function loadCore() {
  // Not a static import: when it can't be had the page is still there to say so.
  const core = await import("../pkg/sackwright_page.js");
  await core.default({ module_or_path: new URL("../pkg/sackwright_page_bg.wasm", import.meta.url) });
  return core;
}

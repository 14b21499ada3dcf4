/** The example sheets and cards that lie beside the page. */

/** @typedef {{path: string, text: string, value: import("./types.js").Plain}} Example */

const FOLDER = "examples/";

/** @returns {Promise<{sacks: Promise<Example>[], cards: Record<import("./card-rack.js").CardKind, Promise<Example>[]>}>} each on its way, in the index's order */
export async function loadExamples() {
  const index = JSON.parse(await fetchText(`${FOLDER}index.json`));
  const load = (/** @type {string} */ path) => loadExample(path);
  const cards = { line: index.lines.map(load), works: index.works.map(load), pallet: index.pallets.map(load) };
  return { sacks: index.sacks.map(load), cards };
}

/** @param {string} path @returns {Promise<Example>} */
async function loadExample(path) {
  const text = await fetchText(FOLDER + path);
  return { path, text, value: JSON.parse(text) };
}

/** @param {string} url */
async function fetchText(url) {
  const answer = await fetch(url);
  if (!answer.ok) throw new Error(`${url}: ${answer.status}`);
  return answer.text();
}

/** The example sheets and cards that lie beside the page. */

/** @typedef {{path: string, text: string, value: import("./types.js").Plain}} Example */

const FOLDER = "examples/";

/** @returns {Promise<{sacks: Promise<Example>[], lines: Promise<Example>[], pallets: Promise<Example>[]}>} each on its way, in the index's order */
export async function loadExamples() {
  const index = JSON.parse(await fetchText(`${FOLDER}index.json`));
  const load = (/** @type {string} */ path) => loadExample(path);
  return { sacks: index.sacks.map(load), lines: index.lines.map(load), pallets: index.pallets.map(load) };
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

/** The example sheets and cards that lie beside the page. */

/** @typedef {{path: string, text: string, value: import("./types.js").Plain}} Example */

/**
 * @returns {Promise<{sacks: Example[], cards: Record<import("./card-rack.js").CardKind, Example[]>, pictures: Map<string, string>}>}
 *   each in the order of their names; pictures: SVG by the names that the sacks' sheets call them by
 */
export async function loadExamples() {
  const answer = await fetch("examples.json");
  if (!answer.ok) throw new Error(`examples.json: ${answer.status}`);
  const { sacks, lines, works, pallets, artwork } = await answer.json();
  const cards = { line: lines.map(read), works: works.map(read), pallet: pallets.map(read) };
  const beside = (/** @type {{path: string, text: string}} */ { path, text }) => /** @type {[string, string]} */ ([`../${path}`, text]);
  return { sacks: sacks.map(read), cards, pictures: new Map(artwork.map(beside)) };
}

/** @param {{path: string, text: string}} example @returns {Example} */
function read({ path, text }) {
  return { path, text, value: JSON.parse(text) };
}

/** The example sheets and cards that lie beside the page. */

/** @typedef {{path: string, text: string, value: import("./types.js").Plain}} Example */

/** @returns {Promise<{sacks: Example[], cards: Record<import("./card-rack.js").CardKind, Example[]>}>} each in the order of their names */
export async function loadExamples() {
  const answer = await fetch("examples.json");
  if (!answer.ok) throw new Error(`examples.json: ${answer.status}`);
  const { sacks, lines, works, pallets } = await answer.json();
  return { sacks: sacks.map(read), cards: { line: lines.map(read), works: works.map(read), pallet: pallets.map(read) } };
}

/** @param {{path: string, text: string}} example @returns {Example} */
function read({ path, text }) {
  return { path, text, value: JSON.parse(text) };
}

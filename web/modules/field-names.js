/** The names of fields for people, from the words table. */

/** @typedef {import("./words.js").Words} Words */

/** @param {string} path `plies.2.grammage_g_m2` @returns {string} key below field: `plies.grammage_g_m2` */
export function fieldKey(path) {
  return path
    .split(".")
    .filter((step) => !/^\d+$/.test(step))
    .join(".");
}

/**
 * A field's name with the groups it stands in: "Valve end, Valve, Flat width".
 * @param {Words} words
 * @param {string} path
 */
export function fieldTrail(words, path) {
  /** @type {string[]} */
  const names = [];
  let key = "";
  for (const step of path.split(".")) {
    if (/^\d+$/.test(step)) {
      names.pop();
      names.push(words.text(`page.form.list.${key}.item`, { number: String(Number(step) + 1) }));
      continue;
    }
    key = key === "" ? step : `${key}.${step}`;
    if (words.has(`field.${key}.label`)) names.push(words.text(`field.${key}.label`));
    else if (step === "min" || step === "max") names.push(words.text(`page.form.${step}`));
    // A key the table does not know is one that a file should not have: shown as it stands.
    else names.push(`"${step}"`);
  }
  return names.join(", ");
}

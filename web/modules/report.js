/**
 * @typedef {import("./types.js").Report} Report
 * @typedef {import("../pkg/sackwright_page.js").News} News
 */

/**
 * A report with what is new in it. What is as it was is the same object as before.
 * @param {Report} report @param {News} news
 * @returns {Report}
 */
export function renewed(report, news) {
  const parts = Object.entries(news).map(([key, part]) => {
    if (!Array.isArray(part)) return [key, part];
    const before = Object(Reflect.get(report, key));
    return [key, part.map((item) => (typeof item === "number" ? before[item] : item))];
  });
  return { ...report, ...Object.fromEntries(parts) };
}

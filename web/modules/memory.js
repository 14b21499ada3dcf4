/** What the browser remembers between visits. Storage may be switched off: then nothing is remembered. */

const PREFIX = "sackwright.";

/** @param {string} name @returns {string | undefined} */
export function recall(name) {
  try {
    return localStorage.getItem(PREFIX + name) ?? undefined;
  } catch {
    return undefined;
  }
}

/** @param {string} name @param {string | undefined} value undefined forgets */
export function remember(name, value) {
  try {
    if (value === undefined) localStorage.removeItem(PREFIX + name);
    else localStorage.setItem(PREFIX + name, value);
  } catch {
    // Private windows and strict settings refuse storage; the page works without it.
  }
}

/**
 * Keeps what is being worked on in the browser's storage, so that a closed, crashed or killed tab loses nothing.
 *
 * Every tab has a record of its own and holds a lock of its name while it lives. A tab that finds its own record again
 * (a reload, a session brought back) goes on with it; a new tab takes over the newest record that no living tab holds.
 *
 * @typedef {import("./work.js").State} State
 * @typedef {{version: 1, at: number, state: State, good: string | undefined}} Kept `good`: the last good sheet, when the
 *   current one has mistakes in it
 */
const RECORD = "sackwright.work.";
const TAB = "sackwright.tab";
/** ms. Long enough that a hand at a slider does not write at every move. */
const PAUSE = 250;

export class Keeper {
  #id = "";
  #timer = 0;
  #works = true;
  /** @type {() => Kept | undefined} */
  #what;

  /** @param {() => Kept | undefined} what there is to keep; undefined: nothing that anybody would miss */
  constructor(what) {
    this.#what = what;
    // The last moment at which a page is sure to be told.
    addEventListener("pagehide", () => this.#write());
    document.addEventListener("visibilitychange", () => document.visibilityState === "hidden" && this.#write());
  }

  /** Whether storage takes what it is given. */
  get works() {
    return this.#works;
  }

  /** Finds what an earlier tab left. @returns {Promise<{kept: Kept, own: boolean} | undefined>} `own`: by this very tab */
  async find() {
    try {
      const own = sessionStorage.getItem(TAB);
      if (own !== null && (await hold(own))) {
        this.#id = own;
        const kept = read(own);
        return kept && { kept, own: true };
      }
      this.#id = crypto.randomUUID();
      await hold(this.#id);
      sessionStorage.setItem(TAB, this.#id);
      // A copy of a living tab starts with the same; else what was left behind is taken over.
      const copied = own === null ? undefined : read(own);
      if (copied) return { kept: copied, own: true };
      return await takeOver();
    } catch {
      this.#works = false;
      return undefined;
    }
  }

  /** Something changed: it is written soon. */
  note() {
    clearTimeout(this.#timer);
    this.#timer = setTimeout(() => this.#write(), PAUSE);
  }

  #write() {
    clearTimeout(this.#timer);
    if (this.#id === "") return;
    try {
      const kept = this.#what();
      if (kept) localStorage.setItem(RECORD + this.#id, JSON.stringify(kept));
      else localStorage.removeItem(RECORD + this.#id);
      this.#works = true;
    } catch {
      // Full or refused: the page then asks before it is left.
      this.#works = false;
    }
  }
}

/** Holds a lock until the tab ends. @param {string} id @returns {Promise<boolean>} whether it was free */
function hold(id) {
  return new Promise((resolve, reject) => {
    navigator.locks
      .request(RECORD + id, { ifAvailable: true }, (lock) => {
        resolve(lock !== null);
        return lock === null ? undefined : new Promise(() => {});
      })
      .catch(reject);
  });
}

/** The newest record that no tab holds; it is taken away from where it was. @returns {Promise<{kept: Kept, own: boolean} | undefined>} */
async function takeOver() {
  const { held = [] } = await navigator.locks.query();
  const living = new Set(held.map(({ name }) => name));
  let newest;
  for (const key of Object.keys(localStorage)) {
    if (!key.startsWith(RECORD) || living.has(key)) continue;
    const kept = read(key.slice(RECORD.length));
    if (kept && (newest === undefined || kept.at > newest.kept.at)) newest = { key, kept };
  }
  if (!newest) return undefined;
  localStorage.removeItem(newest.key);
  return { kept: newest.kept, own: false };
}

/** @param {string} id @returns {Kept | undefined} undefined when there is none that this version can read */
function read(id) {
  try {
    const kept = JSON.parse(localStorage.getItem(RECORD + id) ?? "null");
    return kept?.version === 1 && Array.isArray(kept.state?.sheets) && kept.state.sheets.length > 0 ? kept : undefined;
  } catch {
    return undefined;
  }
}

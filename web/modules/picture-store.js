/** Pictures that were put on sacks, kept in this browser under the names that sheets call them by. Nothing leaves the machine. */

const DATABASE = "sackwright.pictures";
const STORE = "pictures";
/** More than anybody has on the table; the oldest go. */
const MOST = 60;

/** @typedef {{name: string, picture: Blob, at: number}} Kept */

export class PictureStore {
  /** What was put on during this visit: some browsers keep nothing. @type {Map<string, Blob>} */
  #held = new Map();
  #base = opened();

  /** @param {string} name @returns {Promise<Blob | undefined>} */
  async find(name) {
    const held = this.#held.get(name);
    if (held) return held;
    const store = await this.#store("readonly");
    const kept = store && /** @type {Kept | undefined} */ (await answer(store.get(name)));
    return kept?.picture;
  }

  /**
   * Keeps a picture under its name, or under one like it where another picture has that.
   * @param {string} name @param {Blob} picture @returns {Promise<string>} the name that it has now
   */
  async keep(name, picture) {
    let free = name;
    for (let number = 2; await this.#isAnother(free, picture); number += 1) free = numbered(name, number);
    this.#held.set(free, picture);
    const store = await this.#store("readwrite");
    if (store) {
      await answer(store.put({ name: free, picture, at: Date.now() }));
      const all = /** @type {Kept[]} */ (await answer(store.getAll())) ?? [];
      const old = all.sort((a, b) => b.at - a.at).slice(MOST);
      for (const { name } of old) store.delete(name);
    }
    return free;
  }

  /** Whether another picture is kept under a name. @param {string} name @param {Blob} picture */
  async #isAnother(name, picture) {
    const kept = await this.find(name);
    if (!kept) return false;
    if (kept.size !== picture.size) return true;
    const [a, b] = await Promise.all([kept, picture].map(async (one) => new Uint8Array(await one.arrayBuffer())));
    return !a?.every((byte, at) => byte === b?.[at]);
  }

  /** @param {IDBTransactionMode} mode @returns {Promise<IDBObjectStore | undefined>} undefined: the browser keeps nothing */
  async #store(mode) {
    try {
      return (await this.#base)?.transaction(STORE, mode).objectStore(STORE);
    } catch {
      return undefined;
    }
  }
}

/** @returns {Promise<IDBDatabase | undefined>} */
async function opened() {
  try {
    const request = indexedDB.open(DATABASE, 1);
    request.addEventListener("upgradeneeded", () => request.result.createObjectStore(STORE, { keyPath: "name" }));
    return await answer(request);
  } catch {
    return undefined;
  }
}

/** @template T @param {IDBRequest<T>} request @returns {Promise<T | undefined>} undefined when it fails */
function answer(request) {
  return new Promise((resolve) => {
    request.addEventListener("success", () => resolve(request.result));
    request.addEventListener("error", (event) => {
      // It is answered for; the page need not hear of it too.
      event.preventDefault();
      event.stopPropagation();
      resolve(undefined);
    });
  });
}

/** A file's name with a number before its ending. @param {string} name @param {number} number */
function numbered(name, number) {
  const dot = name.lastIndexOf(".");
  const at = dot > 0 ? dot : name.length;
  return `${name.slice(0, at)} (${number})${name.slice(at)}`;
}

/** Messages to the person at the top of the page: what went wrong with a file, what was saved. Each can be closed. */
import { make } from "./dom.js";

export class Notices {
  #root;
  #words;
  /** @type {Map<string, HTMLElement>} */
  #shown = new Map();

  /** @param {HTMLElement} root @param {import("./words.js").Words} words */
  constructor(root, words) {
    this.#root = root;
    this.#words = words;
  }

  /**
   * @param {string} name one notice of a name at a time
   * @param {"trouble" | "note"} kind trouble is read out at once
   * @param {string} head
   * @param {(string | HTMLElement)[]} [lines]
   */
  show(name, kind, head, lines = []) {
    this.close(name);
    const close = make(
      "button",
      {
        type: "button",
        class: "icon",
        "aria-label": this.#words.text("page.notice.close"),
        "data-hook": "notice-close",
      },
      make("span", { "aria-hidden": "true" }, "\u00d7"),
    );
    const notice = make(
      "div",
      {
        class: `notice ${kind}`,
        role: kind === "trouble" ? "alert" : "status",
        "data-hook": "notice",
        "data-notice": name,
      },
      make("div", { class: "notice-body" }, make("p", { class: "notice-head" }, head)),
      close,
    );
    if (lines.length > 0)
      notice.firstElementChild?.append(make("ul", {}, ...lines.map((line) => make("li", {}, line))));
    close.addEventListener("click", () => this.close(name));
    this.#shown.set(name, notice);
    this.#root.append(notice);
  }

  /** @param {string} name */
  close(name) {
    this.#shown.get(name)?.remove();
    this.#shown.delete(name);
  }
}

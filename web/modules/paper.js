/**
 * Printing: what is to be on paper is laid into a part of the page that only the printer sees. The size of the paper is
 * given by a style sheet of its own, so that a drawing at 1:1 gets a page as large as it is.
 *
 * @typedef {import("./words.js").Words} Words
 */
import { hook, make } from "./dom.js";

/**
 * How it lies on paper. size: of the page, mm, at 1:1; without one: whatever is in the printer. foot: what stands at the
 * foot of every page, beside its number.
 *
 * @typedef {{size?: {width_mm: number, height_mm: number}, foot?: string}} Lay
 */

/** @param {Node} content @param {Lay} lay @returns {() => void} takes it off again */
export function layOut(content, { size, foot }) {
  const root = hook("on-paper", HTMLElement);
  const sheet = new CSSStyleSheet();
  if (size) sheet.replaceSync(`@page { size: ${size.width_mm}mm ${size.height_mm}mm; margin: 0; }`);
  if (foot !== undefined) {
    const box = "font: 8pt sans-serif; color: #444; vertical-align: top; padding-block-start: 2mm;";
    sheet.replaceSync(
      `@page { @bottom-left { content: ${quoted(foot)}; width: 85%; text-align: left; ${box} }` +
        ` @bottom-right { content: counter(page) " / " counter(pages); ${box} } }`,
    );
  }
  document.adoptedStyleSheets = [...document.adoptedStyleSheets, sheet];
  root.replaceChildren(content);
  root.dataset.full = String(size !== undefined);
  document.documentElement.dataset.printing = "";
  return () => {
    root.replaceChildren();
    delete document.documentElement.dataset.printing;
    document.adoptedStyleSheets = document.adoptedStyleSheets.filter((other) => other !== sheet);
  };
}

/** Prints something. @param {Node} content @param {Lay} [lay] */
export function print(content, lay = {}) {
  const clear = layOut(content, lay);
  addEventListener("afterprint", clear, { once: true });
  window.print();
}

/**
 * The browser's own way to print, too, puts on paper what stands in a dialog, and not the dialog.
 * @param {HTMLDialogElement} dialog @param {() => Node} content @param {() => Lay} [lay]
 */
export function printsItself(dialog, content, lay = () => ({})) {
  addEventListener("beforeprint", () => {
    if (!dialog.open || document.documentElement.dataset.printing !== undefined) return;
    addEventListener("afterprint", layOut(content(), lay()), { once: true });
  });
}

/** A drawing that is fitted to a page of its own, which lies as the drawing does. @param {SVGSVGElement} svg @param {Words} words */
export function fittedFigure(svg, words) {
  const { width, height } = svg.viewBox.baseVal;
  svg.removeAttribute("width");
  svg.removeAttribute("height");
  const caption = make("figcaption", {}, words.text("page.drawings.fitted"));
  return make("figure", { class: width > height ? "lying" : "upright" }, svg, caption);
}

/** As a string of a style sheet. @param {string} text */
function quoted(text) {
  const escaped = text.replace(/["\\\p{Cc}]/gu, (character) => `\\${character.codePointAt(0)?.toString(16)} `);
  return `"${escaped}"`;
}

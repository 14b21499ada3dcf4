/**
 * Printing: what is to be on paper is laid into a part of the page that only the printer sees. The size of the paper is
 * given by a style sheet of its own, so that a drawing at 1:1 gets a page as large as it is.
 */
import { hook } from "./dom.js";

/** @typedef {{width_mm: number, height_mm: number} | "landscape" | undefined} PaperSize undefined: whatever is in the printer; landscape: that, lying on its side */

/** @param {Node} content @param {PaperSize} size @returns {() => void} takes it off again */
export function layOut(content, size) {
  const root = hook("on-paper", HTMLElement);
  const sheet = new CSSStyleSheet();
  if (size === "landscape") sheet.replaceSync("@page { size: landscape; }");
  else if (size) sheet.replaceSync(`@page { size: ${size.width_mm}mm ${size.height_mm}mm; margin: 0; }`);
  document.adoptedStyleSheets = [...document.adoptedStyleSheets, sheet];
  root.replaceChildren(content);
  root.dataset.full = String(typeof size === "object");
  document.documentElement.dataset.printing = "";
  return () => {
    root.replaceChildren();
    delete document.documentElement.dataset.printing;
    document.adoptedStyleSheets = document.adoptedStyleSheets.filter((other) => other !== sheet);
  };
}

/** Prints something. @param {Node} content @param {PaperSize} [size] */
export function print(content, size) {
  const clear = layOut(content, size);
  addEventListener("afterprint", clear, { once: true });
  window.print();
}

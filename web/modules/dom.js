/** Small helpers for making and finding elements. */

/**
 * The element that carries data-hook=`name`; it is part of index.html, so a missing one is a mistake.
 * @template {Element} T
 * @param {string} name
 * @param {new (...args: any[]) => T} type
 * @returns {T}
 */
export function hook(name, type) {
  const found = document.querySelector(`[data-hook="${name}"]`);
  if (!(found instanceof type)) throw new Error(`index.html has no ${type.name} with data-hook="${name}"`);
  return found;
}

/**
 * @template {keyof HTMLElementTagNameMap} K
 * @param {K} tag
 * @param {Record<string, string | boolean | number | undefined>} [attributes] false and undefined are left out, true is set empty
 * @param {...(Node | string)} children
 * @returns {HTMLElementTagNameMap[K]}
 */
export function make(tag, attributes = {}, ...children) {
  const element = document.createElement(tag);
  set(element, attributes);
  element.append(...children);
  return element;
}

/**
 * The same for SVG.
 * @template {keyof SVGElementTagNameMap} K
 * @param {K} tag
 * @param {Record<string, string | boolean | number | undefined>} [attributes]
 * @param {...(Node | string)} children
 * @returns {SVGElementTagNameMap[K]}
 */
export function makeSvg(tag, attributes = {}, ...children) {
  const element = document.createElementNS("http://www.w3.org/2000/svg", tag);
  set(element, attributes);
  element.append(...children);
  return element;
}

/** @param {Element} element @param {Record<string, string | boolean | number | undefined>} attributes */
function set(element, attributes) {
  for (const [name, value] of Object.entries(attributes)) {
    if (value === undefined || value === false) continue;
    element.setAttribute(name, value === true ? "" : String(value));
  }
}

/**
 * Puts `fresh` in the place of what is in `root`, keeping every element that stays as it is, so that the browser lays out
 * anew only what differs. For what nobody listens to or stands in: texts and tables.
 * @param {Element} root @param {...Node} fresh
 */
export function renew(root, ...fresh) {
  const old = [...root.childNodes];
  for (const [at, node] of fresh.entries()) {
    const known = old[at];
    if (!known) root.append(node);
    else if (known instanceof Text && node instanceof Text) {
      if (known.data !== node.data) known.data = node.data;
    } else if (known.cloneNode().isEqualNode(node.cloneNode()) && known instanceof Element) {
      renew(known, ...node.childNodes);
    } else known.replaceWith(node);
  }
  for (const node of old.slice(fresh.length)) node.remove();
}

/** Controls that have a use of their own for the space bar, and for the arrow keys. */
const TAKES_SPACE = "input:not([type=range]), select, textarea, button, summary";
const TAKES_ARROWS = "input, select, textarea, canvas";

/** Whether a key press belongs to the control it was made in. @param {KeyboardEvent} event */
export function isTaken(event) {
  const takes = event.key === " " ? TAKES_SPACE : TAKES_ARROWS;
  return event.target instanceof Element && event.target.closest(takes) !== null;
}

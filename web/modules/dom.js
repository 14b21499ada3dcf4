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

/** Puts text into an element, unless it is there: the browser lays out anew whatever is written. @param {Element} element @param {string} text */
export function write(element, text) {
  if (element.textContent !== text) element.textContent = text;
}

/**
 * An element to be, of HTML or of SVG: what `put` makes one of, or finds to be there already.
 * @typedef {{make: (tag: any, attributes: Sketch["attributes"], ...children: Node[]) => Element, tag: string,
 *   attributes: Record<string, string | boolean | number | undefined>, children: readonly (Sketch | string)[]}} Sketch
 */

/**
 * @param {keyof HTMLElementTagNameMap} tag
 * @param {Sketch["attributes"]} [attributes] as in `make`
 * @param {...(Sketch | string)} children
 * @returns {Sketch}
 */
export function sketch(tag, attributes = {}, ...children) {
  return { make, tag, attributes, children };
}

/**
 * The same for SVG.
 * @param {keyof SVGElementTagNameMap} tag
 * @param {Sketch["attributes"]} [attributes]
 * @param {...(Sketch | string)} children
 * @returns {Sketch}
 */
export function sketchSvg(tag, attributes = {}, ...children) {
  return { make: makeSvg, tag, attributes, children };
}

/** What was put where last. @type {WeakMap<Element, readonly (Sketch | string)[]>} */
const lying = new WeakMap();

/**
 * Puts elements in the place of what was put into `root` before, and touches only what differs: no more is made, and laid out
 * anew, than a change asks for. `root` is empty before the first, and nothing else may change what lies in it.
 * @param {Element} root @param {...(Sketch | string)} fresh
 */
export function put(root, ...fresh) {
  patch(root, lying.get(root) ?? [], fresh);
  lying.set(root, fresh);
}

/** @param {Element} root @param {readonly (Sketch | string)[]} old @param {readonly (Sketch | string)[]} fresh */
function patch(root, old, fresh) {
  for (const [at, one] of fresh.entries()) {
    const before = old[at];
    if (before === one) continue;
    const node = root.childNodes[at];
    if (before === undefined || node === undefined) root.append(built(one));
    else if (typeof before !== "string" && typeof one !== "string" && node instanceof Element && isAlike(before, one))
      patch(node, before.children, one.children);
    else node.replaceWith(built(one));
  }
  for (let extra = old.length; extra > fresh.length; extra -= 1) root.lastChild?.remove();
}

/** @param {Sketch | string} one @returns {Node} */
function built(one) {
  if (typeof one === "string") return document.createTextNode(one);
  return one.make(one.tag, one.attributes, ...one.children.map(built));
}

/** @param {Sketch} a @param {Sketch} b */
function isAlike(a, b) {
  const names = Object.keys(a.attributes);
  const same = (/** @type {string} */ name) => a.attributes[name] === b.attributes[name];
  return a.make === b.make && a.tag === b.tag && names.length === Object.keys(b.attributes).length && names.every(same);
}

/** Controls that have a use of their own for the space bar, and for the arrow keys. */
const TAKES_SPACE = "input:not([type=range]), select, textarea, button, summary";
const TAKES_ARROWS = "input, select, textarea, canvas";

/** Whether a key press belongs to the control it was made in. @param {KeyboardEvent} event */
export function isTaken(event) {
  const takes = event.key === " " ? TAKES_SPACE : TAKES_ARROWS;
  return event.target instanceof Element && event.target.closest(takes) !== null;
}

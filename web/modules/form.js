/**
 * The form of a sheet or card, built once from its schema. It shows a document's values, tells of every edit, and is
 * given the problems to show at their fields. Only lists and optional parts are rebuilt, when they change shape.
 *
 * @typedef {import("./schema.js").Field} Field
 * @typedef {import("./schema.js").GroupField} GroupField
 * @typedef {import("./schema.js").ListField} ListField
 * @typedef {import("./schema.js").NumberField} NumberField
 * @typedef {import("./types.js").Problem} Problem
 * @typedef {import("./words.js").Words} Words
 * @typedef {import("./sheet-document.js").SheetDocument} SheetDocument
 * @typedef {{input: HTMLInputElement | HTMLSelectElement | HTMLTextAreaElement, error: HTMLElement, hint: string, show: () => void, said: string | undefined}} Control `said`: the problem it shows
 */
import { make } from "./dom.js";
import { fieldKey } from "./field-names.js";
import { inSystem, readMeasure } from "./measures.js";
import { stepOf, unitOf } from "./quantities.js";
import { readSchema } from "./schema.js";

/** Fields that are the file's own business, or that nothing on the page makes use of yet. */
const LEFT_OUT = new Set(["format", "construction", "accepted"]);
/** Texts that need room. */
const LONG_TEXTS = new Set(["customer_note", "note"]);
/** Lists of which an item shows what it must have, and folds the rest away. */
const FOLDED = new Set(["plies"]);
/** Fields that only one choice of another field has. */
const BELONGS_TO = /** @type {Record<string, {field: string, choice: string}>} */ ({
  "cut.step_mm": { field: "cut.kind", choice: "stepped" },
  "spout.outside_diameter_mm": { field: "spout.shape", choice: "round" },
  "spout.width_mm": { field: "spout.shape", choice: "oval" },
  "spout.height_mm": { field: "spout.shape", choice: "oval" },
});

export class Form {
  #root;
  #words;
  #document;
  #onEdit;
  #name;
  #fields;
  /** @type {Map<string, Control>} */
  #controls = new Map();
  /** Redraws of lists and optional parts, by path. @type {Map<string, () => void>} */
  #shapes = new Map();
  /** What an optional part or field held before it was taken out. @type {Map<string, unknown>} */
  #kept = new Map();
  #next;

  /**
   * @param {object} options
   * @param {HTMLElement} options.root is emptied and filled
   * @param {string} options.name sets the ids of this form's fields apart
   * @param {Record<string, any>} options.schema
   * @param {Words} options.words
   * @param {SheetDocument} options.document is changed by edits, before `onEdit` is called
   * @param {(path: string) => void} options.onEdit
   * @param {Record<string, (list: readonly any[]) => object>} [options.next] how a new item of a list begins; else as a
   *   copy of the last one
   */
  constructor({ root, name, schema, words, document, onEdit, next = {} }) {
    this.#root = root;
    this.#name = name;
    this.#words = words;
    this.#document = document;
    this.#onEdit = onEdit;
    this.#next = next;
    this.#fields = readSchema(schema);
    this.#build(this.#fields);
  }

  /** The measures changed: units, steps and values are others. */
  rebuild() {
    this.#controls.clear();
    this.#shapes.clear();
    this.#build(this.#fields);
    this.show();
  }

  /** Shows the document's values everywhere. */
  show() {
    for (const redraw of [...this.#shapes.values()]) redraw();
    for (const control of this.#controls.values()) control.show();
    this.#showChoices();
  }

  /**
   * @param {readonly Problem[]} problems
   * @param {readonly {path: string, text: string}[]} [caused] what edits of fields brought about elsewhere
   * @returns {Problem[]} those that no field of the form could take
   */
  showProblems(problems, caused = []) {
    /** @type {Map<string, string[]>} */
    const texts = new Map();
    /** @type {Problem[]} */
    const homeless = [];
    for (const problem of problems) {
      const path = this.#controls.has(problem.field) ? problem.field : undefined;
      if (path === undefined) homeless.push(problem);
      else texts.set(path, [...(texts.get(path) ?? []), this.#words.message(problem.message)]);
    }
    for (const { path, text } of caused) texts.set(path, [...(texts.get(path) ?? []), text]);
    for (const [path, control] of this.#controls) {
      const text = texts.get(path)?.join(" ") ?? "";
      if (control.said === text) continue;
      control.said = text;
      control.error.textContent = text;
      control.error.hidden = text === "";
      if (text !== "") control.input.closest("details")?.setAttribute("open", "");
      if (text === "") control.input.removeAttribute("aria-invalid");
      else control.input.setAttribute("aria-invalid", "true");
      const described = [control.hint, text === "" ? "" : control.error.id].filter((id) => id !== "").join(" ");
      if (described === "") control.input.removeAttribute("aria-describedby");
      else control.input.setAttribute("aria-describedby", described);
    }
    return homeless;
  }

  /** @param {string} path @returns {boolean} whether there is such a field */
  focus(path) {
    const input = this.#controls.get(path)?.input ?? document.getElementById(this.#id(path));
    input?.closest("details")?.setAttribute("open", "");
    input?.focus();
    return input !== null;
  }

  /** @param {readonly Field[]} fields */
  #build(fields) {
    const shown = fields.filter(({ key }) => !LEFT_OUT.has(key));
    const plain = shown.filter(({ kind }) => kind !== "group" && kind !== "list");
    const parts = shown.filter(({ kind }) => kind === "group" || kind === "list");
    const first = make("div", { class: "fields" });
    for (const field of plain) first.append(this.#field(field, field.key));
    this.#root.replaceChildren(first);
    for (const part of parts) this.#root.append(this.#field(part, part.key));
  }

  /** @param {Field} field @param {string} path @returns {HTMLElement} */
  #field(field, path) {
    switch (field.kind) {
      case "group":
        return this.#group(field, path);
      case "list":
        return this.#list(field, path);
      case "range":
        return this.#range(field, path);
      case "flag":
        return this.#flag(path, field.fallback === true);
      case "choice":
        return this.#choice(field, path);
      case "choices":
        return this.#choices(field, path);
      case "number":
        return this.#number(field, path);
      case "text":
        return this.#text(field, path);
    }
  }

  /** @param {GroupField} group @param {string} path @returns {HTMLElement} */
  #group(group, path) {
    const label = this.#label(path);
    const body = make("div", { class: "fields" });
    if (!group.nullable) {
      for (const field of group.fields) body.append(this.#field(field, `${path}.${field.key}`));
      return make(
        "fieldset",
        { class: "part", "data-field": path },
        make("legend", {}, label),
        ...this.#help(path),
        body,
      );
    }
    const check = make("input", { type: "checkbox", id: this.#id(path) });
    const head = make("label", { class: "check", for: check.id }, check, make("span", {}, label));
    let built = false;
    const redraw = () => {
      const present = isPresent(this.#document.get(path));
      check.checked = present;
      if (present === built) return;
      built = present;
      body.replaceChildren();
      this.#forget(path);
      if (present) for (const field of group.fields) body.append(this.#field(field, `${path}.${field.key}`));
      for (const [below, shape] of [...this.#shapes]) if (below.startsWith(`${path}.`)) shape();
      body.hidden = !present;
    };
    check.addEventListener("change", () => {
      if (check.checked) {
        this.#document.set(path, this.#kept.get(path) ?? starting(group));
      } else {
        this.#kept.set(path, this.#document.get(path));
        this.#document.set(path, undefined);
      }
      redraw();
      this.#showBelow(path);
      this.#onEdit(path);
    });
    body.hidden = true;
    this.#shapes.set(path, redraw);
    return make("fieldset", { class: "part", "data-field": path }, make("legend", {}, head), ...this.#help(path), body);
  }

  /** @param {ListField} list @param {string} path @returns {HTMLElement} */
  #list(list, path) {
    const items = make("ol", { class: "items" });
    const add = make(
      "button",
      { type: "button", class: "quiet", "data-hook": `add-${path}` },
      this.#words.text(`page.form.list.${fieldKey(path)}.add`),
    );
    const count = () => {
      const value = this.#document.get(path);
      return Array.isArray(value) ? value.length : 0;
    };
    let built = -1;
    const redraw = () => {
      if (count() === built) return;
      built = count();
      this.#forget(path);
      items.replaceChildren();
      for (let index = 0; index < built; index += 1) items.append(this.#item(list, path, index, built, change));
      add.disabled = built >= list.most;
    };
    /** @param {() => void} edit @param {number} then the item that the keyboard goes on with */
    const change = (edit, then) => {
      edit();
      redraw();
      this.#showBelow(path);
      this.#onEdit(path);
      const next = items.children[then]?.querySelector("input");
      if (next instanceof HTMLElement) next.focus();
    };
    add.addEventListener("click", () => {
      const last = count();
      const begin = this.#next[path];
      const before = this.#document.get(path);
      const item = begin
        ? begin(Array.isArray(before) ? before : [])
        : (this.#document.get(`${path}.${last - 1}`) ?? starting(list.item));
      change(() => this.#document.insert(path, last, item), last);
    });
    this.#shapes.set(path, redraw);
    return make(
      "fieldset",
      { class: "part", "data-field": path },
      make("legend", {}, this.#label(path)),
      ...this.#help(path),
      items,
      add,
    );
  }

  /**
   * @param {ListField} list
   * @param {string} path
   * @param {number} index
   * @param {number} count
   * @param {(edit: () => void, then: number) => void} change
   */
  #item(list, path, index, count, change) {
    const at = `${path}.${index}`;
    const number = String(index + 1);
    /** @param {string} name @param {string} sign @param {boolean} disabled @param {() => void} edit @param {number} then */
    const button = (name, sign, disabled, edit, then) => {
      const made = make(
        "button",
        {
          type: "button",
          class: "icon",
          disabled,
          "data-hook": `${name}-${at}`,
          "aria-label": this.#words.text(`page.form.list.${fieldKey(path)}.${name}`, { number }),
        },
        make("span", { "aria-hidden": "true" }, sign),
      );
      made.addEventListener("click", () => change(edit, then));
      return made;
    };
    const up = button("move_up", "\u2191", index === 0, () => this.#document.move(path, index, index - 1), index - 1);
    const down = button(
      "move_down",
      "\u2193",
      index === count - 1,
      () => this.#document.move(path, index, index + 1),
      index + 1,
    );
    const out = button(
      "remove",
      "\u00d7",
      count <= list.least,
      () => this.#document.remove(path, index),
      Math.max(0, index - 1),
    );
    const folds = FOLDED.has(path);
    const isLead = (/** @type {Field} */ field) => !folds || field.required || field.key === "paper";
    const lead = list.item.fields.filter(isLead);
    const more = make("div", { class: "fields" });
    for (const field of list.item.fields.filter((other) => !isLead(other)))
      more.append(this.#field(field, `${at}.${field.key}`));
    const shown = make(
      "li",
      { class: "item", "data-item": index },
      make(
        "div",
        { class: "item-head" },
        make("h3", {}, this.#words.text(`page.form.list.${fieldKey(path)}.item`, { number })),
        make("div", { class: "item-tools" }, up, down, out),
      ),
      make("div", { class: "fields" }, ...lead.map((field) => this.#field(field, `${at}.${field.key}`))),
    );
    if (folds) shown.append(make("details", {}, make("summary", {}, this.#words.text("page.form.more")), more));
    return shown;
  }

  /** @param {import("./schema.js").RangeField} range @param {string} path */
  #range(range, path) {
    const label = this.#label(path);
    const pair = make("div", { class: range.step ? "pair with-step" : "pair" });
    for (const end of [range.min, range.max, ...(range.step ? [range.step] : [])]) {
      const at = `${path}.${end.key}`;
      const input = this.#numberInput(end, at, range.key);
      const word = this.#words.text(`page.form.${end.key}`);
      const unit = unitOf(range.key);
      const shown = make("div", { class: "entry" }, input);
      if (unit !== "") shown.append(make("span", { class: "unit", "aria-hidden": "true" }, this.#words.unit(unit)));
      input.setAttribute(
        "aria-label",
        [label, word, unit === "" ? "" : this.#words.unit(unit)].filter((part) => part !== "").join(", "),
      );
      pair.append(
        make(
          "div",
          { class: "end" },
          make("span", { class: "end-name", "aria-hidden": "true" }, word),
          shown,
          this.#errorOf(at),
        ),
      );
    }
    return make(
      "div",
      { class: "field wide", "data-field": path },
      make("span", { class: "name" }, label),
      ...this.#help(path),
      pair,
    );
  }

  /** @param {string} path @param {boolean} fallback */
  #flag(path, fallback) {
    const input = make("input", { type: "checkbox", id: this.#id(path) });
    input.addEventListener("change", () => this.#edit(path, input.checked));
    const help = this.#help(path);
    this.#register(path, input, () => {
      const value = this.#document.get(path);
      input.checked = typeof value === "boolean" ? value : fallback;
    });
    return make(
      "div",
      { class: "field wide", "data-field": path },
      make("label", { class: "check", for: input.id }, input, make("span", {}, this.#label(path))),
      ...help,
      this.#errorOf(path),
    );
  }

  /** @param {import("./schema.js").ChoiceField} field @param {string} path */
  #choice(field, path) {
    const input = make("select", { id: this.#id(path) });
    for (const choice of field.choices) {
      input.append(make("option", { value: choice }, this.#words.text(`field.${fieldKey(path)}.choice.${choice}`)));
    }
    input.addEventListener("change", () => {
      this.#switch(path, input.value);
      this.#edit(path, input.value);
    });
    this.#register(path, input, () => {
      const value = this.#document.get(path) ?? field.fallback;
      input.value = String(value);
    });
    return this.#labelled(path, input, input);
  }

  /** Any of some choices; left out: all of them. @param {import("./schema.js").ChoicesField} field @param {string} path */
  #choices(field, path) {
    const boxes = field.choices.map((choice) => ({ choice, box: make("input", { type: "checkbox" }) }));
    const chosen = () => boxes.filter(({ box }) => box.checked).map(({ choice }) => choice);
    for (const { box } of boxes) box.addEventListener("change", () => this.#edit(path, chosen()));
    const [first] = boxes;
    if (first) {
      this.#register(path, first.box, () => {
        const value = this.#document.get(path);
        for (const { choice, box } of boxes) box.checked = Array.isArray(value) ? value.includes(choice) : !isPresent(value);
      });
    }
    const word = (/** @type {string} */ choice) => this.#words.text(`field.${fieldKey(path)}.choice.${choice}`);
    return make(
      "fieldset",
      { class: "field wide choices", "data-field": path },
      make("legend", { class: "name" }, this.#label(path)),
      ...boxes.map(({ choice, box }) => make("label", { class: "check" }, box, make("span", {}, word(choice)))),
      ...this.#help(path),
      this.#errorOf(path),
    );
  }

  /** @param {NumberField} field @param {string} path */
  #number(field, path) {
    const input = this.#numberInput(field, path, field.key);
    const entry = make("div", { class: "entry" }, input);
    const unit = unitOf(field.key);
    if (unit !== "") entry.append(make("span", { class: "unit" }, this.#words.unit(unit)));
    return this.#labelled(path, input, entry);
  }

  /** @param {import("./schema.js").TextField} field @param {string} path */
  #text(field, path) {
    const input = LONG_TEXTS.has(field.key)
      ? make("textarea", { id: this.#id(path), rows: 2 })
      : make("input", { type: "text", id: this.#id(path) });
    // What may be left out is, when nothing is typed.
    const isOptional = !field.required && !isPresent(field.fallback);
    input.addEventListener("input", () => this.#edit(path, input.value === "" && isOptional ? undefined : input.value));
    this.#register(path, input, () => {
      const value = this.#document.get(path) ?? field.fallback ?? "";
      const text = typeof value === "string" ? value : JSON.stringify(value);
      if (input.value !== text) input.value = text;
    });
    return this.#labelled(path, input, input, "wide");
  }

  /** @param {NumberField} field @param {string} path @param {string} key that tells the unit */
  #numberInput(field, path, key) {
    const input = make("input", {
      type: "text",
      inputmode: "decimal",
      autocomplete: "off",
      spellcheck: "false",
      id: this.#id(path),
      class: "number",
    });
    const words = this.#words;
    const unit = unitOf(key);
    const edit = () => {
      const text = input.value;
      const typed = { text, system: words.system };
      if (text.trim() === "") this.#edit(path, undefined, typed);
      // What is no measure goes to the core as it stands, which says so like of every other fault.
      else this.#edit(path, readMeasure(text, unit, words.system) ?? text, typed);
    };
    /** In the unit that is shown. @param {number} value in the core's */
    const shown = (value) => inSystem(unit, value, words.system).value;
    input.addEventListener("input", edit);
    input.addEventListener("keydown", (event) => {
      const sign = event.key === "ArrowUp" ? 1 : event.key === "ArrowDown" ? -1 : 0;
      if (sign === 0 || event.altKey || event.ctrlKey || event.metaKey) return;
      event.preventDefault();
      const step = (stepOf(key, field.whole, words.system) * (event.shiftKey ? 10 : 1)) / shown(1);
      const from =
        readMeasure(input.value, unit, words.system) ?? numberOr(field.fallback, numberOr(field.minimum, 0));
      const to = Math.min(Math.max(from + sign * step, field.minimum ?? -Infinity), field.maximum ?? Infinity);
      // Steps of 0.01 gather binary dust.
      input.value = words.typed(Number(to.toFixed(6)), unit);
      edit();
    });
    if (typeof field.fallback === "number") input.placeholder = words.typed(field.fallback, unit);
    this.#register(path, input, () => {
      const text =
        this.#document.typed(path, words.system) ?? shownNumber(this.#document.get(path), (value) => words.typed(value, unit));
      if (input.value !== text) input.value = text;
    });
    return input;
  }

  /** @param {string} path @param {HTMLInputElement | HTMLSelectElement | HTMLTextAreaElement} input @param {HTMLElement} entry @param {string} [extra] class */
  #labelled(path, input, entry, extra = "") {
    return make(
      "div",
      { class: `field ${extra}`.trim(), "data-field": path },
      make("label", { class: "name", for: input.id }, this.#label(path)),
      entry,
      ...this.#help(path),
      this.#errorOf(path),
    );
  }

  /** @param {string} path @param {Control["input"]} input @param {() => void} show */
  #register(path, input, show) {
    const error = make("p", { class: "error", id: `${this.#id(path)}-error` });
    error.hidden = true;
    const hint = this.#helpKey(path) === undefined ? "" : `${this.#id(path)}-help`;
    if (hint !== "") input.setAttribute("aria-describedby", hint);
    this.#controls.set(path, { input, error, hint, show, said: undefined });
  }

  /** @param {string} path @returns {HTMLElement} */
  #errorOf(path) {
    return this.#controls.get(path)?.error ?? make("p");
  }

  /** @param {string} path */
  #showBelow(path) {
    for (const [known, control] of this.#controls) if (known.startsWith(`${path}.`)) control.show();
  }

  /** Drops the controls and shapes of a part before it is built anew. @param {string} path */
  #forget(path) {
    for (const map of [this.#controls, this.#shapes]) {
      for (const known of [...map.keys()]) if (known.startsWith(`${path}.`)) map.delete(known);
    }
  }

  /** @param {string} path @param {unknown} value @param {import("./sheet-document.js").Typed} [typed] */
  #edit(path, value, typed) {
    this.#document.set(path, value, typed);
    this.#onEdit(path);
  }

  /** Takes out the fields that the new choice has not, and brings back those it has. @param {string} path @param {string} choice */
  #switch(path, choice) {
    for (const [other, { field, choice: needed }] of Object.entries(BELONGS_TO)) {
      if (field !== path) continue;
      if (needed === choice) this.#document.set(other, this.#document.get(other) ?? this.#kept.get(other));
      else {
        this.#kept.set(other, this.#document.get(other));
        this.#document.set(other, undefined);
      }
      this.#controls.get(other)?.show();
    }
    this.#showChoices(choice, path);
  }

  /** Hides the fields that the chosen kind has not. @param {string} [choice] @param {string} [at] */
  #showChoices(choice, at) {
    for (const [path, { field, choice: needed }] of Object.entries(BELONGS_TO)) {
      const element = this.#controls.get(path)?.input.closest(".field");
      const chosen = field === at ? choice : this.#document.get(field);
      // A value that should not be there stays in sight, so that it can be taken out.
      if (element instanceof HTMLElement) element.hidden = chosen !== needed && this.#document.get(path) === undefined;
    }
  }

  /** @param {string} path */
  #label(path) {
    return this.#words.text(`field.${fieldKey(path)}.label`);
  }

  /** The help that a field has in this form, or in all. @param {string} path */
  #helpKey(path) {
    const key = `field.${fieldKey(path)}.help`;
    return [`${key}_${this.#name}`, key].find((key) => this.#words.has(key));
  }

  /** @param {string} path @returns {HTMLElement[]} */
  #help(path) {
    const key = this.#helpKey(path);
    if (key === undefined) return [];
    return [make("p", { class: "help", id: `${this.#id(path)}-help` }, this.#words.text(key))];
  }

  /** @param {string} path */
  #id(path) {
    return `${this.#name}-${path.replaceAll(".", "-")}`;
  }
}

/** An optional part as it starts: what the schema gives. @param {GroupField} group */
function starting(group) {
  /** @type {Record<string, unknown>} */
  const value = {};
  for (const field of group.fields) {
    if (field.fallback !== undefined && field.fallback !== null) value[field.key] = field.fallback;
    else if (field.required && field.kind === "text") value[field.key] = "";
  }
  return value;
}

/** @param {unknown} value */
function isPresent(value) {
  return value !== undefined && value !== null;
}

/** @param {unknown} value @param {number} other */
function numberOr(value, other) {
  return typeof value === "number" ? value : other;
}

/** @param {unknown} value @param {(value: number) => string} typed */
function shownNumber(value, typed) {
  if (value === undefined || value === null) return "";
  return typeof value === "number" ? typed(value) : typeof value === "string" ? value : JSON.stringify(value);
}

/**
 * The cards of one kind on the page: which one the sack is held against, and the chosen one's form with what is wrong
 * with it. A form that lies behind a fold is built when it is first unfolded.
 *
 * @typedef {import("./card-rack.js").CardKind} CardKind
 * @typedef {import("./card-rack.js").CardRack} CardRack
 * @typedef {import("./types.js").Problem} Problem
 * @typedef {import("./words.js").Words} Words
 */
import { CardChooser } from "./choosers.js";
import { hook } from "./dom.js";
import { fileName, save } from "./files.js";
import { Form } from "./form.js";
import { recall, remember } from "./memory.js";
import { ProblemList } from "./problems.js";
import { parseFile } from "./sheet-document.js";

/** Of which a card must have one at least, beside what its schema asks for: a stack must end somewhere. @type {Partial<Record<CardKind, string[]>>} */
const MUST = { pallet: ["max_total_height_mm", "max_load_kg", "max_layers"] };

export class CardDesk {
  kind;
  /** The beginning of what such a file says its format is. */
  format;
  #rack;
  #schema;
  #words;
  #judge;
  #onEdit;
  #chooser;
  #copy;
  #onChoose;
  #go;
  #body;
  #problems;
  /** @type {readonly Problem[]} */
  #found = [];
  /** @type {Form | undefined} */
  #form;
  /** What was judged last; undefined: nothing yet. @type {{text: string | undefined} | undefined} */
  #judged;

  /**
   * @param {object} parts
   * @param {CardKind} parts.kind
   * @param {CardRack} parts.rack is changed by edits, before `onEdit` is called
   * @param {() => object} parts.schema
   * @param {Words} parts.words
   * @param {(text: string | undefined) => readonly Problem[]} parts.judge has the core take a card, or none
   * @param {() => void} parts.onChoose another card was chosen
   * @param {() => void} parts.onEdit the card was edited
   * @param {(file: string) => void} parts.onSaved
   * @param {() => void} parts.onGo somebody wants to see the form: the drawing board comes into sight
   */
  constructor({ kind, rack, schema, words, judge, onChoose, onEdit, onSaved, onGo }) {
    this.kind = kind;
    this.format = `sackwright-${kind}/`;
    this.#rack = rack;
    this.#schema = schema;
    this.#words = words;
    this.#judge = judge;
    this.#onEdit = onEdit;
    layBlock(kind, words);
    this.#body = hook(`${kind}-card-body`, HTMLElement);
    const choices = document.querySelectorAll(`[data-card-choice="${kind}"]`);
    this.#chooser = new CardChooser(
      [...choices].filter((choice) => choice instanceof HTMLSelectElement),
      words.text(`page.${kind}.none`),
      (number) => {
        rack.choose(number);
        remember(kind, rack.good?.name ?? "");
        onChoose();
      },
    );
    this.#onChoose = onChoose;
    this.#copy = hook(`copy-${kind}`, HTMLButtonElement);
    this.#copy.addEventListener("click", () => this.#start("copy"));
    hook(`new-${kind}`, HTMLButtonElement).addEventListener("click", () => this.#start("new"));
    this.#go = hook(`${kind}-figures-go`, HTMLButtonElement);
    this.#go.addEventListener("click", () => {
      onGo();
      this.#toName();
    });
    this.#problems = new ProblemList(hook(`${kind}-problems`, HTMLElement), words, (field) => this.#form?.focus(field));
    hook(`save-${kind}`, HTMLButtonElement).addEventListener("click", () => this.#save(onSaved));
    if (this.#body instanceof HTMLDetailsElement) this.#body.addEventListener("toggle", () => this.#unfold());
    else this.#unfold();
  }

  /**
   * Cards to choose from, beside those that are there. On a rack that was empty the card of the last visit is chosen;
   * when nobody has chosen yet, the one named by `first`.
   * @param {readonly import("./examples.js").Example[]} cards
   * @param {number | undefined} first
   */
  offer(cards, first) {
    const fresh = this.#rack.list.length === 0;
    for (const { value, text } of cards) {
      // A card that was edited is not put back.
      if (!this.#rack.list.some(({ name }) => name === value.name)) this.#rack.add({ name: String(value.name), text });
    }
    if (!fresh) return;
    const last = recall(this.kind);
    const known = this.#rack.list.findIndex(({ name }) => name === last);
    this.#rack.choose(last === undefined ? first : known < 0 ? undefined : known);
  }

  /** Takes a card from a file and chooses it. @param {string} text @returns {readonly Problem[]} why it was not taken */
  open(text) {
    const problems = this.#judge(text);
    if (problems.length === 0) {
      this.#judged = undefined;
      const { name } = parseFile(text);
      this.#rack.choose(this.#rack.add({ name, text }));
      remember(this.kind, name);
    }
    return problems;
  }

  /** Shows the rack as it is. */
  show() {
    this.#form?.show();
    this.#hold();
  }

  /** The measures changed. */
  rebuild() {
    this.#form?.rebuild();
  }

  /**
   * Goes on with a copy of the card in use, or with one that has only what every card must have: of the card in use, else
   * of the first, so that it is a good one from the start.
   * @param {"copy" | "new"} way
   */
  #start(way) {
    const { list, good } = this.#rack;
    const model = good ?? list[0];
    if (!model) return;
    const value = parseFile(model.text);
    const { required = [] } = /** @type {{required?: string[]}} */ (this.#schema());
    const must = [...required, ...(MUST[this.kind] ?? [])].filter((key) => key in value);
    const kept = way === "copy" ? value : Object.fromEntries(must.map((key) => [key, value[key]]));
    const wanted =
      way === "copy" ? this.#words.text("page.cards.copy_name", { name: model.name }) : this.#words.text(`page.${this.kind}.fresh`);
    this.#rack.start({ ...kept, name: this.#free(wanted) });
    remember(this.kind, this.#rack.good?.name ?? "");
    this.#onChoose();
    this.#toName();
  }

  /** A name that no card has yet. @param {string} wanted */
  #free(wanted) {
    const taken = new Set(this.#rack.list.map(({ name }) => name));
    let name = wanted;
    for (let number = 2; taken.has(name); number += 1) name = this.#words.text("page.cards.numbered", { name: wanted, number: String(number) });
    return name;
  }

  /** To the card's name, whose form may lie behind its fold. */
  #toName() {
    if (this.#body instanceof HTMLDetailsElement) this.#body.open = true;
    this.#unfold();
    this.#form?.focus("name");
  }

  #unfold() {
    if (this.#form || (this.#body instanceof HTMLDetailsElement && !this.#body.open)) return;
    this.#form = new Form({
      root: hook(`${this.kind}-form`, HTMLElement),
      name: this.kind,
      schema: this.#schema(),
      words: this.#words,
      document: this.#rack.card,
      onEdit: () => {
        this.#rack.edited = true;
        this.#hold();
        if (this.#found.length === 0) this.#rack.keep();
        this.#onEdit();
        this.#choices();
      },
    });
    this.#form.show();
    this.#showProblems();
  }

  /** Has the core take the card, unless it has it. */
  #hold() {
    const { text } = this.#rack;
    if (!this.#judged || this.#judged.text !== text) this.#found = this.#judge(text);
    this.#judged = { text };
    this.#choices();
    this.#showProblems();
  }

  #choices() {
    this.#chooser.show(this.#rack.list, this.#rack.chosen);
    this.#body.hidden = this.#rack.chosen === undefined;
    this.#go.hidden = this.#body.hidden;
    this.#copy.disabled = this.#body.hidden;
  }

  #showProblems() {
    this.#problems.show(this.#found, this.#form?.showProblems(this.#found) ?? this.#found);
  }

  /** @param {(file: string) => void} onSaved */
  #save(onSaved) {
    const { good } = this.#rack;
    if (!good) return;
    const name = fileName(good.name, `${this.kind}.json`);
    save(name, `${good.text.trimEnd()}\n`);
    if (this.#found.length === 0) this.#rack.edited = false;
    onSaved(name);
  }
}

/**
 * Makes a kind's block on the drawing board from the one template, where the page has a place for it: a kind whose form
 * lies open there has a block of its own.
 * @param {CardKind} kind
 * @param {Words} words
 */
function layBlock(kind, words) {
  const place = document.querySelector(`[data-card-block="${kind}"]`);
  if (!place) return;
  const block = document.importNode(hook("card-block", HTMLTemplateElement).content, true);
  for (const element of block.querySelectorAll("*")) {
    for (const attribute of element.attributes) attribute.value = attribute.value.replace("{kind}", kind);
  }
  words.fill(block);
  place.replaceWith(block);
}

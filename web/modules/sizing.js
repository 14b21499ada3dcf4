/**
 * Sizes for an order: a place of its own above the page. The order follows the sheet and the cards until somebody changes
 * it; the desk goes through its sizes; the best stand in a table and in a drawing, and each can be taken over into the
 * sheet with one press.
 *
 * @typedef {import("./types.js").Plain} Plain
 * @typedef {import("./types.js").Arg} Arg
 * @typedef {import("./types.js").SizingRow} SizingRow
 * @typedef {import("./types.js").SizingFound} SizingFound
 * @typedef {import("./dom.js").Sketch} Sketch
 * @typedef {import("./words.js").Words} Words
 * @typedef {import("./work.js").Work} Work
 */
import { CARD_KINDS } from "./card-rack.js";
import { hook, put, sketch, write } from "./dom.js";
import { Form } from "./form.js";
import { PARTS, orderText, suggested } from "./order.js";
import { ProblemList } from "./problems.js";
import { parseFile } from "./sheet-document.js";
import { TradeOff } from "./trade-off.js";

/** The fields of a sheet that a size is. */
const SIZE = ["face_width_mm", "length_mm", "valve_end.bottom_width_mm"];

/** The lengths of a size that an order has ranges of. */
const RANGES = /** @type {const} */ (["face_width_mm", "length_mm", "bottom_width_mm"]);

/**
 * What was found, and of which sheet and order.
 * @typedef {{found: SizingFound, sheet: Plain, order: Plain, of: string}} Result
 */

export class SizingDesk {
  #desk;
  #words;
  #work;
  #sheet;
  #headroom;
  #onEdit;
  #onTake;
  #dialog = hook("sizing", HTMLDialogElement);
  #run = hook("sizing-run", HTMLButtonElement);
  #cancel = hook("sizing-cancel", HTMLButtonElement);
  #reset = hook("order-reset", HTMLButtonElement);
  #bar = hook("sizing-bar", HTMLProgressElement);
  #state = hook("sizing-state", HTMLElement);
  #stale = hook("sizing-stale", HTMLElement);
  #body = hook("sizing-result", HTMLElement);
  #chart = hook("sizing-chart", HTMLElement);
  #noChart = hook("sizing-no-chart", HTMLElement);
  #picture;
  #rows = hook("sizing-rows", HTMLElement);
  #heads = hook("sizing-heads", HTMLElement);
  #pickedBox = hook("sizing-picked", HTMLElement);
  #notes = hook("sizing-notes", HTMLElement);
  #answer = hook("answer-sizing", HTMLElement);
  #problems;
  /** @type {Form | undefined} */
  #form;
  /** @type {Result | undefined} */
  #result;
  /** The size that somebody picked; else it is the best. */
  #picked = "";

  /**
   * @param {object} options
   * @param {import("./desk.js").Desk} options.desk
   * @param {Words} options.words
   * @param {Work} options.work its order is changed by edits, before `onEdit` is called
   * @param {() => Plain | null} options.sheet the last good one
   * @param {() => import("./order.js").Headroom | undefined} options.headroom what the sheet's contents leave empty, once that is known
   * @param {(what: string) => void} options.onEdit is told what of the order was changed
   * @param {(changes: Map<string, unknown>, size: string) => void} options.onTake a size is to be taken over: fields and values
   */
  constructor({ desk, words, work, sheet, headroom, onEdit, onTake }) {
    this.#desk = desk;
    this.#words = words;
    this.#work = work;
    this.#sheet = sheet;
    this.#headroom = headroom;
    this.#onEdit = onEdit;
    this.#onTake = onTake;
    this.#problems = new ProblemList(hook("order-problems", HTMLElement), words, (field) => this.#form?.focus(field), "page.sizing.mend");
    this.#picture = new TradeOff({
      root: this.#chart,
      words,
      onPoint: (row) => this.#light(row),
      onPick: (row) => this.#pick(row, true),
    });
    for (const name of ["table", "board"]) hook(`${name}-sizing-open`, HTMLButtonElement).addEventListener("click", () => this.open());
    hook("sizing-close", HTMLButtonElement).addEventListener("click", () => this.#dialog.close());
    this.#run.addEventListener("click", () => this.#ask());
    this.#cancel.addEventListener("click", () => {
      desk.cancel("sizing");
      this.#rest("broken_off");
    });
    this.#reset.addEventListener("click", () => {
      work.ordered = false;
      this.show();
      onEdit("order");
    });
    // What lies behind has keys of its own; undo is for all.
    this.#dialog.addEventListener("keydown", (event) => {
      if (!event.ctrlKey && !event.metaKey) event.stopPropagation();
    });
    this.#dialog.addEventListener("focusout", () => work.settle());
    for (const box of [this.#rows, this.#pickedBox]) box.addEventListener("click", (event) => this.#pressed(event));
    for (const kind of ["pointerover", "focusin"]) this.#rows.addEventListener(kind, ({ target }) => this.#picture.light(this.#rowAt(target)));
    for (const kind of ["pointerleave", "focusout"]) this.#rows.addEventListener(kind, () => this.#picture.light(undefined));
  }

  /** Shows the order and what was found as they are now. */
  show() {
    if (this.#dialog.open) this.#showOrder();
    this.#draw();
  }

  /** The measures changed. */
  rebuild() {
    if (this.#form) this.#showOrder();
    this.#form?.rebuild();
  }

  /** Opens the place where sizes are looked for. */
  open() {
    this.#dialog.showModal();
    this.#dialog.scrollTop = 0;
    this.show();
    if (!this.#form) {
      this.#desk.ask("order", {}, {
        onPart: (schema) => this.#build(schema),
        onTrouble: () => write(this.#state, this.#words.text("page.sizing.trouble")),
      });
    }
  }

  /** @param {Record<string, any>} schema of an order's file */
  #build(schema) {
    const properties = Object.fromEntries(PARTS.map((part) => [part, schema.properties[part]]));
    this.#form = new Form({
      root: hook("order-form", HTMLElement),
      name: "order",
      schema: { ...schema, properties },
      words: this.#words,
      document: this.#work.order,
      onEdit: (path) => {
        this.#work.ordered = true;
        this.#reset.hidden = false;
        this.#onEdit(`order ${path}`);
        this.#draw();
      },
    });
    this.#showOrder();
  }

  #showOrder() {
    const sheet = this.#sheet();
    if (!this.#work.ordered && sheet) this.#work.order.load(suggested(sheet, this.#cards(), this.#words.system, this.#headroom()));
    this.#reset.hidden = !this.#work.ordered;
    this.#form?.show();
  }

  /** The chosen cards' files as they were when they were good last. */
  #cards() {
    const of = (/** @type {import("./card-rack.js").CardKind} */ kind) => {
      const { good } = this.#work.racks[kind];
      return good && parseFile(good.text);
    };
    return { line: of("line"), works: of("works"), pallet: of("pallet") };
  }

  #ask() {
    const sheet = this.#sheet();
    if (!sheet) return;
    const text = orderText(this.#work.order.snapshot().value, sheet, this.#cards());
    const order = JSON.parse(text);
    const of = this.#asked(sheet);
    this.#picked = "";
    this.#run.hidden = true;
    this.#cancel.hidden = false;
    this.#bar.hidden = false;
    this.#bar.value = 0;
    this.#cancel.focus();
    this.#say("screening");
    this.#desk.ask("sizing", { order: text }, {
      onProgress: (share) => {
        this.#bar.value = share;
      },
      onPart: (part) => {
        if ("problems" in part) {
          this.#problems.show(part.problems, this.#form?.showProblems(part.problems) ?? part.problems);
          if (part.problems.length > 0) this.#rest("refused");
          return;
        }
        this.#result = { found: part, sheet, order, of };
        this.#say("confirming", { done: String(part.table.confirmed), count: String(part.table.to_confirm) });
        this.#draw();
      },
      onDone: () => {
        if (this.#cancel.hidden) return;
        const { rows, left_out } = this.#result?.found.table ?? {};
        if (rows?.length !== 0 || !left_out) this.#rest("done");
        else this.#rest(left_out.too_small >= left_out.too_large ? "none_small" : "none_large");
      },
      onTrouble: () => this.#rest("trouble"),
    });
  }

  /** Nothing is being looked for any more. @param {string} why */
  #rest(why) {
    const held = document.activeElement === this.#cancel;
    this.#run.hidden = false;
    this.#cancel.hidden = true;
    this.#bar.hidden = true;
    if (held) this.#run.focus();
    this.#say(why);
    this.#draw();
  }

  /** @param {string} key @param {Record<string, string>} [args] */
  #say(key, args) {
    write(this.#state, this.#words.text(`page.sizing.state.${key}`, args));
  }

  /** What sizes are looked for now, to tell whether what was found is of that. @param {Plain | null} [sheet] */
  #asked(sheet = this.#sheet()) {
    const cards = CARD_KINDS.map((kind) => this.#work.racks[kind].good?.text);
    // The sheet's own size, and what follows it, is what is being looked for.
    const { face_width_mm, length_mm, seam, valve_end, plain_end, contents, name, accepted, revisions, artwork, ...rest } = sheet ?? {};
    const { offset_from_middle_mm, from_plain_end_mm, ...barcode } = artwork?.barcode ?? {};
    // What is suggested has steps that are round in the system's own unit.
    const order = this.#work.ordered ? this.#work.order.snapshot().value : [contents, this.#words.system];
    return JSON.stringify([cards, order, rest, seam?.lap_mm, seam?.stagger_mm, { ...artwork, barcode }]);
  }

  #draw() {
    const result = this.#result;
    this.#body.hidden = result === undefined || result.found.table.rows.length === 0;
    this.#showAnswer();
    if (!result) return;
    const { found } = result;
    this.#notesOf(result);
    const [best] = found.table.rows;
    if (!best) return;
    write(this.#stale, result.of === this.#asked() ? "" : this.#words.text("page.sizing.stale"));
    this.#stale.hidden = this.#stale.textContent === "";
    const picked = this.#row(this.#picked) ?? best;
    const stacked = found.table.rows.some(({ on_pallet }) => on_pallet !== null);
    this.#chart.hidden = !stacked;
    this.#noChart.hidden = stacked;
    if (stacked) this.#picture.show(found, picked);
    put(this.#heads, sketch("tr", {}, ...this.#columns(stacked).map(({ name, head }) => sketch("th", { scope: "col", "data-column": name }, head))));
    put(this.#rows, ...found.table.rows.map((row) => this.#sketch(row, stacked, row === picked)));
    this.#showPicked(picked);
  }

  /** @param {boolean} stacked @returns {{name: string, head: string, cell: (row: SizingRow) => string | Sketch}[]} */
  #columns(stacked) {
    const words = this.#words;
    const head = (/** @type {string} */ name, unit = "") => {
      const text = words.text(`page.sizing.column.${name}`);
      return unit === "" ? text : `${text}, ${words.unit(unit)}`;
    };
    const length = (/** @type {"face_width_mm" | "length_mm" | "bottom_width_mm"} */ field) => ({
      name: field,
      head: head(field, "mm"),
      cell: (/** @type {SizingRow} */ row) => words.bare("length", row[field]),
    });
    return [
      length("face_width_mm"),
      length("length_mm"),
      length("bottom_width_mm"),
      { name: "capacity", head: head("capacity", "l"), cell: ({ capacity_l }) => words.bare("volume", capacity_l) },
      { name: "headroom", head: head("headroom"), cell: ({ headroom }) => words.quantity("ratio", headroom) },
      { name: "paper", head: head("paper", "g"), cell: ({ paper_g }) => words.bare("mass_small", paper_g) },
      ...(stacked
        ? [
            { name: "pallet", head: head("pallet"), cell: (/** @type {SizingRow} */ row) => this.#onPallet(row) },
            {
              name: "area",
              head: head("area"),
              cell: (/** @type {SizingRow} */ { on_pallet }) => words.quantity("ratio", on_pallet?.area_used ?? 0),
            },
          ]
        : []),
      { name: "findings", head: head("findings"), cell: ({ findings }) => this.#findings(findings) },
      {
        name: "state",
        head: head("state"),
        cell: ({ confirmed }) =>
          sketch("span", { class: confirmed ? "sure" : "guess" }, words.text(`page.sizing.${confirmed ? "confirmed" : "estimated"}`)),
      },
      {
        name: "take",
        head: head("take"),
        cell: (row) =>
          sketch(
            "button",
            {
              type: "button",
              class: "quiet",
              "data-hook": "sizing-take",
              "data-size": key(row),
              "aria-label": words.text("page.sizing.take_named", { size: this.#size(row) }),
            },
            words.text("page.sizing.take"),
          ),
      },
    ];
  }

  /** @param {SizingRow} row @param {boolean} stacked @param {boolean} picked */
  #sketch(row, stacked, picked) {
    const cells = this.#columns(stacked).map(({ name, head, cell }) =>
      sketch(name === "face_width_mm" ? "th" : "td", { "data-column": name, "data-name": head, scope: name === "face_width_mm" ? "row" : undefined }, cell(row)),
    );
    return sketch(
      "tr",
      {
        "data-size": key(row),
        "data-state": row.confirmed ? "confirmed" : "estimated",
        "data-front": row.on_front,
        "aria-current": picked ? "true" : undefined,
      },
      ...cells,
    );
  }

  /** @param {SizingRow} row */
  #size({ face_width_mm, length_mm, bottom_width_mm }) {
    return [face_width_mm, length_mm, bottom_width_mm].map((mm) => this.#words.bare("length", mm)).join("\u2009\u00d7\u2009");
  }

  /** @param {SizingRow} row */
  #onPallet({ on_pallet }) {
    return this.#words.text("page.sizing.on_pallet", {
      sacks: { kind: "count", value: on_pallet?.sacks ?? 0 },
      layers: { kind: "count", value: on_pallet?.layers ?? 0 },
      each: { kind: "count", value: on_pallet?.sacks_per_layer ?? 0 },
    });
  }

  /** @param {SizingRow["findings"]} findings */
  #findings({ stop, look }) {
    const words = this.#words;
    const of = (/** @type {"stop" | "look"} */ severity, /** @type {number} */ count) =>
      sketch("span", { class: `of-${severity}` }, words.text(`page.findings.count.${severity}`, { count: String(count) }));
    const told = [...(stop > 0 ? [of("stop", stop)] : []), ...(look > 0 ? [of("look", look)] : [])];
    return sketch("span", { class: "counts" }, ...(told.length > 0 ? told : [words.text("page.sizing.all_good")]));
  }

  /** @param {SizingRow} row */
  #showPicked(row) {
    const words = this.#words;
    const { on_pallet, paper_g, paper_bought_g } = row;
    /** @type {[string, Arg][]} */
    const facts = [
      ["paper", { kind: "mass_small", value: paper_g }],
      ...(paper_bought_g > paper_g ? [/** @type {[string, Arg]} */ (["bought", { kind: "mass_small", value: paper_bought_g }])] : []),
      ["capacity", { kind: "volume", value: row.capacity_l }],
      ["headroom", { kind: "ratio", value: row.headroom }],
    ];
    if (on_pallet) {
      facts.push(
        ["pallet", { kind: "text", text: this.#onPallet(row) }],
        ["product", { kind: "mass", value: on_pallet.product_kg }],
        ["height", { kind: "length", value: Math.round(on_pallet.total_height_mm) }],
      );
    }
    const front = row.on_front ? [sketch("p", {}, words.text("page.sizing.of_front"))] : [];
    const count = row.findings.stop + row.findings.look;
    const worst = row.worst
      ? [
          ...(count > 1 ? [sketch("p", {}, words.text("page.sizing.worst_of", { count: String(count) }))] : []),
          sketch("p", { class: `worst of-${row.worst.severity}` }, `${words.text(`rule.${row.worst.rule}`)}: ${words.message(row.worst.message)}`),
        ]
      : [];
    put(
      this.#pickedBox,
      sketch("h4", {}, `${this.#size(row)}\u00a0${words.unit("mm")}`),
      sketch(
        "dl",
        {},
        ...facts.map(([name, arg]) =>
          sketch("div", {}, sketch("dt", {}, words.text(`page.sizing.column.${name}`)), sketch("dd", {}, words.arg(arg))),
        ),
      ),
      ...front,
      ...worst,
      sketch(
        "button",
        { type: "button", class: "strong", "data-hook": "sizing-take-picked", "data-size": key(row) },
        words.text("page.sizing.take_picked"),
      ),
    );
  }

  /** @param {Result} result */
  #notesOf({ found: { table }, order }) {
    const words = this.#words;
    const tubeStep = order.works?.tuber?.tube_length_step_mm;
    const [best] = table.rows;
    const ends = RANGES.filter((field) => best && isAtEnd(best[field], order[field]));
    const { progress, left_out } = table;
    const count = (/** @type {number} */ value) => /** @type {Arg} */ ({ kind: "count", value });
    const out = Object.entries(left_out).filter(([, number]) => number > 0);
    const share = (/** @type {number} */ value) => /** @type {Arg} */ ({ kind: "ratio", value });
    put(
      this.#notes,
      sketch("li", {}, words.text("page.sizing.screened", { count: count(progress.screened), kept: count(progress.kept) })),
      ...(typeof tubeStep !== "number"
        ? []
        : [sketch("li", {}, words.text("page.sizing.tube_step", { step: { kind: "length", value: tubeStep } }))]),
      ...ends.map((field) => sketch("li", {}, words.text("page.sizing.at_end", { field: words.text(`page.sizing.column.${field}`) }))),
      ...out.map(([why, number]) => sketch("li", {}, words.text(`page.sizing.left_out.${why}`, { count: count(number) }))),
      sketch(
        "li",
        {},
        words.text("page.sizing.errors", {
          capacity: share(table.capacity_error),
          pressed: share(table.pressed_error),
          limp: share(table.limp_error),
        }),
      ),
      ...(table.rows.some(({ on_pallet }) => (on_pallet?.area_used ?? 0) > 1)
        ? [sketch("li", {}, words.text("page.sizing.overhanging"))]
        : []),
      sketch("li", {}, words.text("page.sizing.plain")),
    );
  }

  /** The plain answer on the meeting table. */
  #showAnswer() {
    const best = this.#result?.found.table.rows[0];
    this.#answer.hidden = best === undefined;
    if (!best) return;
    write(
      this.#answer,
      this.#words.text(best.on_pallet ? "page.sizing.best_pallet" : "page.sizing.best", {
        size: `${this.#size(best)}\u00a0${this.#words.unit("mm")}`,
        paper: { kind: "mass_small", value: best.paper_g },
        sacks: { kind: "count", value: best.on_pallet?.sacks ?? 0 },
        count: { kind: "count", value: this.#result?.found.table.progress.screened ?? 0 },
      }),
    );
  }

  /** @param {MouseEvent} event */
  #pressed({ target }) {
    const button = target instanceof Element ? target.closest("button") : null;
    const row = this.#rowAt(target);
    if (row && button) this.#take(row);
    else if (row) this.#pick(row, false);
  }

  /** @param {EventTarget | null} target */
  #rowAt(target) {
    const size = target instanceof Element ? target.closest("[data-size]")?.getAttribute("data-size") : undefined;
    return this.#row(size ?? "");
  }

  /** @param {string} size */
  #row(size) {
    return this.#result?.found.table.rows.find((row) => key(row) === size);
  }

  /** @param {SizingRow | undefined} row */
  #light(row) {
    for (const line of this.#rows.children) line.classList.toggle("lit", row !== undefined && line.getAttribute("data-size") === key(row));
  }

  /** @param {SizingRow} row @param {boolean} drawn it was picked in the drawing */
  #pick(row, drawn) {
    this.#picked = key(row);
    this.#draw();
    if (drawn) this.#rows.querySelector('[aria-current="true"]')?.scrollIntoView({ block: "nearest" });
  }

  /** @param {SizingRow} row */
  #take(row) {
    const result = this.#result;
    if (!result) return;
    // What any candidate changes is set for this one, as another may have been taken over before.
    const fields = new Set(SIZE);
    for (const { set } of result.found.table.rows) for (const { field } of set) fields.add(field);
    /** @type {Map<string, unknown>} */
    const changes = new Map();
    for (const field of fields) {
      /** @type {any} */
      let value = result.sheet;
      for (const step of field.split(".")) value = value?.[step];
      changes.set(field, value);
    }
    for (const { field, value } of row.set) changes.set(field, value);
    changes.set("contents", result.order.contents);
    this.#dialog.close();
    this.#onTake(changes, this.#size(row));
  }
}

/** Whether a length is the first or the last that was tried. @param {number} value @param {{min: number, max: number, step: number}} range */
function isAtEnd(value, { min, max, step }) {
  return min < max && (value - min < step || max - value < step);
}

/** @param {SizingRow} row */
function key({ face_width_mm, length_mm, bottom_width_mm }) {
  return `${face_width_mm} ${length_mm} ${bottom_width_mm}`;
}

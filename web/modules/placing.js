/**
 * The valve sleeve in its bottom, in plan: dragged, turned and made longer by mouse, touch and keyboard, with the distances
 * that matter beside it and the room in which it may lie. The line's spout is slid in. Every number is the core's.
 *
 * @typedef {import("./words.js").Words} Words
 * @typedef {import("./drafter.js").Drafter} Drafter
 * @typedef {import("../pkg/sackwright_draft.js").Placing} Placed
 * @typedef {import("../pkg/sackwright_draft.js").SleevePlace} SleevePlace
 * @typedef {import("../pkg/sackwright_draft.js").SleeveDistance} Distance
 * @typedef {import("../pkg/sackwright_draft.js").Spot} Spot
 * @typedef {import("../pkg/sackwright_draft.js").SpoutSolid} SpoutSolid
 * @typedef {"sleeve" | "length" | "turn"} Grip
 * @typedef {[x: number, y: number, anchor: "start" | "middle" | "end"]} Place px
 * @typedef {[from: [number, number], to: [number, number]]} Stroke px
 * @typedef {{left: number, top: number, right: number, bottom: number}} Box px
 * @typedef {Pick<Distance, "key" | "severity"> & {text: string, dimension: Stroke, witnesses: Stroke[], places: Place[]}} Dimension
 * @typedef {{grip: Grip, at: DOMPoint, place: SleevePlace}} Hold what is dragged, from where, and how it lay then
 */
import { hook, makeSvg, put, sketch, sketchSvg, write } from "./dom.js";

/** What a sheet may say. */
const LIMITS = /** @type {const} */ ({
  outer_end_mm: [-500, 500],
  offset_from_centre_mm: [-200, 200],
  skew_deg: [-45, 45],
  length_mm: [10, 2000],
});
const MEASURES = /** @type {(keyof SleevePlace)[]} */ (["outer_end_mm", "offset_from_centre_mm", "skew_deg", "length_mm"]);
/** mm shown beyond the bottom along and across it. */
const AROUND = { along: 62, across: 34 };
/** px: narrower than this it is cut off behind the far pocket. */
const NARROW = 560;
/** px: between the rows of words at the foot, which are two where it is narrow. */
const ROW = 16;
/** px: how near a place holds the sleeve, and the size of a handle. */
const HOLDS = 6;
const HANDLE = 13;
const KNOB = 9;
/** Where to a grip goes, drawn on it: to all sides, in and out, round. px */
const WAYS = {
  sleeve: "M-11 0H11M0 -11V11M-8 -3l-3 3 3 3M8 -3l3 3 -3 3M-3 -8l3 -3 3 3M-3 8l3 3 3 -3",
  length: "M-6 0H6M-3.5 -2.5L-6 0l2.5 2.5M3.5 -2.5L6 0l-2.5 2.5",
  turn: "M-2 -5.5Q3.5 0 -2 5.5M-2.4 -2.4L-2 -5.5l3 .6M-2.4 2.4L-2 5.5l3 -.6",
};
/** px: the room that a number needs between two lines. */
const BETWEEN = 20;
/** px: how far the numbers along the bottom may stand lower, clear of the words at the foot. */
const LOWER = 14;
/** px: what letters may have below their base line. */
const APART = 6;
/** px: a figure's width, and what figures have above and below their base line. */
const LETTERS = { width: 7.6, up: 10, down: 1 };
/** px: the width of a line along which the spout touches. */
const TOUCH = 5;
/** What a number's place costs: beyond the plan, on another number, on a touch or a knob, on a line; and for each place before it. */
const COSTS = { beyond: 100, number: 50, heavy: 20, light: 2, place: 0.5 };
/** px beyond the sleeve's inner end. */
const LEVER = 44;
/** Degrees within which a sleeve that is turned lies straight, and the step it turns in. */
const STRAIGHT = 0.8;
const TURN = 0.5;
/** mm: what lengths are moved by, and by how much farther with Shift; a sixteenth and a quarter of an inch where it is worked in inches. */
const STEPS = /** @type {const} */ ({ metric: { fine: 1, coarse: 5 }, imperial: { fine: 25.4 / 16, coarse: 25.4 / 4 } });

export class Placing {
  #drafter;
  #words;
  #onPlace;
  #onPlaced;
  #onSay;
  #onSpout;
  #root = hook("placing", HTMLElement);
  #plan = hook("placing-plan", HTMLElement);
  #measures = hook("placing-measures", HTMLElement);
  #distances = hook("placing-distances", HTMLElement);
  #touches = hook("placing-touches", HTMLElement);
  #spout = hook("placing-spout", HTMLElement);
  #seen = hook("placing-seen", HTMLElement);
  #depth = hook("placing-depth", HTMLInputElement);
  #depthShown = hook("placing-depth-shown", HTMLElement);
  #none = hook("placing-none", HTMLElement);
  #help = hook("placing-help", HTMLElement);
  #ground = makeSvg("g");
  #over = makeSvg("g", { class: "over" });
  #sleeve = makeSvg("polygon", { class: "sleeve" });
  #mark = makeSvg("circle", { class: "mark", r: 3 });
  #moves = makeSvg("path", { class: "way", d: WAYS.sleeve });
  #lever = makeSvg("line", { class: "lever" });
  /** @type {Record<Grip, SVGGElement>} */
  #grips;
  #svg;
  /** @type {Placed | undefined} */
  #placed;
  /** px per mm, and where x = 0 and y = 0 lie. */
  #scale = { by: 1, x: 0, y: 0 };
  #width = 0;
  /** @type {Hold | undefined} */
  #hold;
  /** How it lay when a grip was taken. @type {SleevePlace | undefined} */
  #taken;
  /** mm; undefined: the spout's reach. @type {number | undefined} */
  #slidTo;
  /** Whether the spout is to be seen in the sack. */
  #spoutSeen = false;

  /**
   * @param {object} options
   * @param {Drafter} options.drafter
   * @param {Words} options.words
   * @param {(place: Partial<SleevePlace>) => void} options.onPlace
   * @param {() => void} options.onPlaced the hand has left it
   * @param {(text: string) => void} options.onSay
   * @param {(spout: SpoutSolid | undefined) => void} options.onSpout the spout is to be seen in the sack, or no more
   */
  constructor({ drafter, words, onPlace, onPlaced, onSay, onSpout }) {
    this.#drafter = drafter;
    this.#words = words;
    this.#onPlace = onPlace;
    this.#onPlaced = onPlaced;
    this.#onSay = onSay;
    this.#onSpout = onSpout;
    const grip = (/** @type {Grip} */ name, /** @type {SVGElement[]} */ ...parts) =>
      makeSvg(
        "g",
        {
          class: `grip grip-${name}`,
          tabindex: 0,
          role: name === "sleeve" ? "application" : "slider",
          "aria-roledescription": name === "sleeve" ? words.text("page.placing.grip.kind") : undefined,
          "data-hook": `placing-${name}`,
        },
        ...parts,
      );
    const knob = (/** @type {"length" | "turn"} */ way) => [
      makeSvg("circle", { class: "reach", r: HANDLE }),
      makeSvg("circle", { class: "knob", r: KNOB }),
      makeSvg("path", { class: "way", d: WAYS[way] }),
    ];
    this.#grips = {
      sleeve: grip("sleeve", this.#sleeve, this.#moves, this.#mark),
      length: grip("length", ...knob("length")),
      turn: grip("turn", ...knob("turn")),
    };
    this.#svg = makeSvg(
      "svg",
      { role: "group", "aria-label": words.text("page.placing.name") },
      makeSvg("defs", {}, hatch()),
      this.#ground,
      this.#grips.sleeve,
      this.#over,
      this.#lever,
      this.#grips.length,
      this.#grips.turn,
    );
    this.#plan.replaceChildren(this.#svg);
    for (const [name, element] of /** @type {[Grip, SVGGElement][]} */ (Object.entries(this.#grips))) {
      element.addEventListener("pointerdown", (event) => this.#take(event, name, element));
      // Beside the grips a finger goes on with the page.
      element.addEventListener("touchstart", (event) => event.preventDefault(), { passive: false });
      element.addEventListener("pointermove", (event) => this.#drag(event));
      element.addEventListener("pointerup", () => this.#leave());
      element.addEventListener("pointercancel", () => this.#putBack());
      element.addEventListener("keydown", (event) => this.#key(event, name));
      element.addEventListener("focus", () => this.#begin());
      element.addEventListener("blur", () => this.#leave());
    }
    this.#depth.addEventListener("input", () => {
      this.#slidTo = Number(this.#depth.value);
      this.show();
    });
    new ResizeObserver(([entry]) => {
      const width = Math.floor(entry?.contentRect.width ?? 0);
      if (width === this.#width || width === 0) return;
      this.#width = width;
      this.show();
    }).observe(this.#plan);
  }

  /** Shows the sack that the drafter has, when it is in sight. */
  show() {
    const inSight = this.#drafter.ready && this.#root.checkVisibility();
    const spout = inSight ? this.#drafter.spout(this.#slidTo) : undefined;
    if (spout || this.#spoutSeen) this.#onSpout(spout);
    this.#spoutSeen = spout !== undefined;
    if (!inSight || this.#width === 0) return;
    const placed = this.#drafter.placing(this.#slidTo);
    this.#none.hidden = placed !== null;
    this.#plan.hidden = placed === null;
    if (!placed) return;
    this.#placed = placed;
    this.#drawGround(placed);
    this.#drawSleeve(placed);
    this.#tell(placed);
  }

  /** @param {Placed} placed */
  #drawGround({ bottom, room, spout, place, sign }) {
    const tip = Math.max(...bottom.outline.map(([x]) => x));
    const half = Math.max(...bottom.outline.map(([, y]) => y));
    const rim = Math.max(...bottom.pocket_rims.map(([[x]]) => x));
    // Where there is little room for it, what lies behind the far pocket's rim is left out.
    const beyond = this.#width < NARROW ? rim + AROUND.across : tip + AROUND.along;
    const by = this.#width / (tip + AROUND.along + beyond);
    const height = Math.ceil(2 * (half + AROUND.across) * by + 60) + (this.#width < NARROW ? ROW : 0);
    this.#scale = { by, x: (sign < 0 ? tip + AROUND.along : beyond) * by, y: (half + AROUND.across) * by };
    this.#svg.setAttribute("viewBox", `0 0 ${this.#width} ${height}`);
    this.#svg.setAttribute("width", String(this.#width));
    this.#svg.setAttribute("height", String(height));
    const shape = (/** @type {string} */ name, /** @type {readonly Spot[]} */ spots) =>
      sketchSvg("polygon", { class: name, points: this.#points(spots) });
    const line = (/** @type {string} */ name, /** @type {readonly [Spot, Spot]} */ ends) => this.#line(name, ends);
    const [near, far] = bottom.seam_mm;
    const parts = [
      shape("outline", bottom.outline),
      ...(bottom.patch ? [shape("patch", bottom.patch)] : []),
      ...[near, far].map((x) => line("seam", [[x, -half], [x, half]])),
      ...bottom.flap_rims.map((rim) => line("flap-rim", rim)),
      ...bottom.pocket_rims.map((rim) => line("pocket-rim", rim)),
      ...bottom.end_edges.map((edge) => line(`end-edge${place.outer_end_mm === 0 ? " held" : ""}`, edge)),
      line(`centre${place.offset_from_centre_mm === 0 ? " held" : ""}`, [[-tip - AROUND.along, 0], [tip + AROUND.along, 0]]),
      ...(spout ? [shape("spout", spout.outline)] : []),
      ...room.possible.map((polygon) => shape("room possible", polygon)),
      ...room.good.map((polygon) => shape("room good", polygon)),
    ];
    put(this.#ground, ...parts);
  }

  /** @param {Placed} placed */
  #drawSleeve({ sleeve, ends, spout, distances, bottom, sign }) {
    const [mouth, inner] = ends;
    this.#sleeve.setAttribute("points", this.#points(sleeve));
    const at = (/** @type {SVGElement} */ element, /** @type {Spot} */ spot) => {
      const [x, y] = this.#at(spot);
      element.setAttribute("transform", `translate(${x.toFixed(2)} ${y.toFixed(2)})`);
    };
    const [x, y] = this.#at(mouth);
    this.#mark.setAttribute("cx", x.toFixed(2));
    this.#mark.setAttribute("cy", y.toFixed(2));
    const length = Math.hypot(inner[0] - mouth[0], inner[1] - mouth[1]);
    const beyond = (length + LEVER / this.#scale.by) / length;
    /** @type {Spot} */
    const end = [mouth[0] + (inner[0] - mouth[0]) * beyond, mouth[1] + (inner[1] - mouth[1]) * beyond];
    at(this.#moves, [(mouth[0] + inner[0]) / 2, (mouth[1] + inner[1]) / 2]);
    at(this.#grips.length, inner);
    at(this.#grips.turn, end);
    setEnds(this.#lever, this.#at(inner), this.#at(end));
    const half = Math.max(...bottom.outline.map(([, spotY]) => spotY));
    const foot = this.#at([0, -half])[1];
    // A short distance across has its number beyond it: there those along the bottom make room.
    const across = distances.flatMap(({ key, line }) => (key === "middle_side" && line ? [line.map((spot) => this.#at(spot)[1])] : []));
    const short = across.filter(([one = 0, other = 0]) => Math.abs(one - other) < BETWEEN).flat();
    const base = Math.max(foot, ...short.map((y) => Math.min(y + APART, foot + LOWER)));
    put(
      this.#over,
      ...(spout?.touches ?? []).map(({ line }) => this.#line("touch", line)),
      ...this.#dimensions(distances.flatMap((distance) => this.#dimension(distance, base, sign)), {
        heavy: (spout?.touches ?? []).map(({ line: [from, to] }) => [this.#at(from), this.#at(to)]),
        light: sleeve.map((corner, index) => [this.#at(corner), this.#at(sleeve[(index + 1) % sleeve.length] ?? corner)]),
        knobs: [inner, end].map((spot) => this.#at(spot)).map(([x, y]) => grown({ left: x, top: y, right: x, bottom: y }, HANDLE)),
      }),
      ...distances.flatMap((distance) => this.#beside(distance)),
    );
  }

  /** A distance that no line in the plan shows, from what to what in words at its foot. @param {Distance} distance */
  #beside({ key, value_mm, severity }) {
    const column = ["seam", "spout_round", "spout_fold"].indexOf(key);
    if (column < 0) return [];
    const over = key !== "spout_round" && value_mm < 0;
    const value = this.#words.bare("length", over ? -value_mm : value_mm);
    const text = this.#words.text(`page.placing.beside.${key}${over ? "_over" : ""}`, { value });
    const [x, anchor] = /** @type {const} */ ([[8, "start"], [this.#width * 0.47, "middle"], [this.#width - 8, "end"]])[column] ?? [];
    // Three beside each other in one row would meet.
    const y = this.#svg.viewBox.baseVal.height - 8 - (this.#width < NARROW && column === 1 ? ROW : 0);
    return [
      sketchSvg(
        "g",
        { class: "distance", "data-key": key, "data-severity": severity ?? undefined },
        sketchSvg("text", { x: Number(x).toFixed(1), y: y.toFixed(1), "text-anchor": anchor }, text),
      ),
    ];
  }

  /**
   * Distances with their lines; each number stands where the least lies under it.
   * @param {readonly Dimension[]} dimensions
   * @param {{heavy: readonly Stroke[], light: readonly Stroke[], knobs: readonly Box[]}} under what else numbers are to stand off
   */
  #dimensions(dimensions, { heavy, light, knobs }) {
    const words = this.#svg.viewBox.baseVal.height - 8 - LETTERS.up - (this.#width < NARROW ? ROW : 0);
    const lines = dimensions.flatMap(({ dimension, witnesses }) => [dimension, ...witnesses]);
    // A number that stands on a dimension line is that one's.
    const rows = dimensions.map(({ dimension }) => dimension);
    /** @type {Box[]} */
    const numbers = [];
    return dimensions.map(({ key, severity, text, dimension, witnesses, places }) => {
      const width = LETTERS.width * text.length;
      const ways = places.map((place, index) => {
        const [x, y, anchor] = place;
        const left = x - width * { start: 0, middle: 0.5, end: 1 }[anchor];
        const box = { left, top: y - LETTERS.up, right: left + width, bottom: y + LETTERS.down };
        const near = grown(box, TOUCH / 2 + 1);
        const isBeyond = box.left < 0 || box.right > this.#width || box.top < 0 || box.bottom > words;
        const cost =
          (isBeyond ? COSTS.beyond : 0) +
          COSTS.number * numbers.filter((other) => meet(box, other)).length +
          COSTS.heavy * heavy.filter((line) => crosses(near, line)).length +
          COSTS.heavy * knobs.filter((knob) => meet(box, knob)).length +
          COSTS.light * [...lines, ...light].filter((line) => crosses(box, line)).length +
          COSTS.light * rows.filter((row) => row !== dimension && crosses(grown(box, APART), row)).length +
          COSTS.place * index;
        return { place, box, cost };
      });
      const { place, box } = ways.reduce((best, way) => (way.cost < best.cost ? way : best));
      numbers.push(box);
      const [x, y, anchor] = place;
      return sketchSvg(
        "g",
        { class: "distance", "data-key": key, "data-severity": severity ?? undefined },
        ...witnesses.map((line) => sketchSvg("line", { class: "witness", ...ends(...line) })),
        sketchSvg("line", { class: "dimension", ...ends(...dimension) }),
        sketchSvg("text", { x: x.toFixed(1), y: y.toFixed(1), "text-anchor": anchor }, text),
      );
    });
  }

  /** A distance along the bottom below it, across it beside the sleeve, and where its number may stand, the usual place first. @param {Distance} distance @param {number} base px @param {number} sign @returns {Dimension[]} */
  #dimension({ key, value_mm, severity, line }, base, sign) {
    const row = { end_edge: 1, free: 0, far_pocket: 0, spout_past: 1 }[/** @type {string} */ (key)];
    const isAcross = key === "end_side" || key === "middle_side";
    if (!line || (row === undefined && !isAcross)) return [];
    const text = this.#words.bare("length", value_mm);
    const [from, to] = /** @type {Stroke} */ (line.map((spot) => this.#at(spot)));
    if (row !== undefined) {
      const level = base + 29 + 22 * row;
      const y = level - 4;
      /** @type {Place[]} */
      const beside = [[Math.max(from[0], to[0]) + 6, y, "start"], [Math.min(from[0], to[0]) - 6, y, "end"]];
      const along = (/** @type {number} */ share, /** @type {number} */ y) =>
        /** @type {Place} */ ([from[0] + (to[0] - from[0]) * share, y, "middle"]);
      const within = [0.5, 0.3, 0.7, 0.15, 0.85].map((share) => along(share, y));
      const below = [0.5, 0.15, 0.85].map((share) => along(share, level + 13));
      const outwards = sign > 0 ? beside : beside.toReversed();
      return [
        {
          key,
          severity,
          text,
          dimension: [[from[0], level], [to[0], level]],
          witnesses: [from, to].map(([px, py]) => [[px, py], [px, level + 4]]),
          places: key === "end_edge" ? [...outwards, ...within] : [...within, ...outwards.toReversed(), ...below],
        },
      ];
    }
    const [high, low] = [Math.min(from[1], to[1]), Math.max(from[1], to[1])];
    const lowest = base - APART + 13;
    // Beside it, or beyond it where it is short: no line lies there.
    const within = (high + low) / 2 + 4;
    const above = Math.max(high - 4, 12);
    const below = Math.min(low + 13, lowest);
    const heights = key === "end_side" ? [above, below] : [below, above];
    if (low - high >= BETWEEN) heights.unshift(Math.min(within, lowest));
    const x = from[0];
    const places = heights.flatMap((y) => [[x + 5, y, "start"], [x - 5, y, "end"]]);
    return [{ key, severity, text, dimension: [from, to], witnesses: [], places: /** @type {Place[]} */ (places) }];
  }

  /** In words: measures with their ranges, distances, what the spout touches. @param {Placed} placed */
  #tell({ place, ranges, distances, spout, room }) {
    const words = this.#words;
    const { fine, coarse } = this.#steps;
    write(
      this.#help,
      words.text("page.placing.help", { fine: { kind: "length", value: fine }, coarse: { kind: "length", value: coarse } }),
    );
    const quantity = (/** @type {string} */ key, /** @type {number} */ value) =>
      words.quantity(key.endsWith("_deg") ? "angle" : "length", value);
    const span = (/** @type {keyof SleevePlace} */ key) =>
      ranges[key]
        .map(([from, to]) => words.text("page.placing.span", { from: quantity(key, from), to: quantity(key, to) }))
        .join("; ") || words.text("page.placing.no_span");
    put(
      this.#measures,
      ...MEASURES.map((key) =>
        sketch(
          "tr",
          { "data-measure": key },
          sketch("th", { scope: "row" }, words.text(`page.placing.measure.${key}`)),
          sketch("td", {}, quantity(key, place[key])),
          sketch("td", {}, span(key)),
        ),
      ),
    );
    put(
      this.#distances,
      ...distances.map(({ key, value_mm, limit_mm, severity }) =>
        sketch(
          "tr",
          { "data-distance": key, "data-severity": severity ?? undefined },
          sketch("th", { scope: "row" }, words.text(`page.placing.distance.${key}`)),
          sketch("td", {}, quantity("", value_mm)),
          sketch("td", {}, limit_mm === null ? "" : quantity("", limit_mm)),
          sketch("td", {}, severity === null ? "" : words.text(`page.findings.severity.${severity}`)),
        ),
      ),
    );
    this.#spout.hidden = spout === null;
    this.#seen.hidden = spout === null;
    if (spout) {
      this.#depth.max = String(spout.reach_mm);
      this.#depth.value = String(spout.depth_mm);
      const depth = quantity("", spout.depth_mm);
      this.#depth.setAttribute("aria-valuetext", depth);
      this.#depthShown.textContent = depth;
    }
    const touches = (spout?.touches ?? []).map(({ what, from_mm, to_mm }) =>
      words.text(`page.placing.touch.${what}`, { from: quantity("", from_mm), to: quantity("", to_mm) }),
    );
    const free = spout && touches.length === 0 ? [words.text("page.placing.touch.nothing")] : touches;
    const nowhere = room.good.length === 0 ? [words.text("page.placing.nowhere")] : [];
    put(this.#touches, ...[...free, ...nowhere].map((text) => sketch("li", {}, text)));

    const lies = words.text("page.placing.lies", {
      out: quantity("", place.outer_end_mm),
      aside: quantity("", place.offset_from_centre_mm),
    });
    this.#grips.sleeve.setAttribute("aria-label", `${words.text("page.placing.grip.sleeve")}: ${lies}`);
    this.#slider("length", "length_mm", quantity("length_mm", place.length_mm));
    this.#slider("turn", "skew_deg", quantity("skew_deg", place.skew_deg));
  }

  /** @param {Grip} grip @param {keyof SleevePlace} key @param {string} text */
  #slider(grip, key, text) {
    const element = this.#grips[grip];
    const [least, most] = LIMITS[key];
    element.setAttribute("aria-label", this.#words.text(`page.placing.grip.${grip}`));
    element.setAttribute("aria-valuemin", String(least));
    element.setAttribute("aria-valuemax", String(most));
    element.setAttribute("aria-valuenow", String(this.#placed?.place[key] ?? 0));
    element.setAttribute("aria-valuetext", text);
  }

  /** @param {PointerEvent} event @param {Grip} grip @param {SVGGElement} element */
  #take(event, grip, element) {
    if (event.button !== 0 || !this.#placed || this.#hold) return;
    event.preventDefault();
    element.focus({ preventScroll: true });
    this.#begin();
    element.setPointerCapture(event.pointerId);
    this.#hold = { grip, at: this.#mm(event), place: this.#placed.place };
  }

  /** @param {PointerEvent} event */
  #drag(event) {
    const hold = this.#hold;
    if (!hold || !this.#placed || !event.isPrimary) return;
    const at = this.#mm(event);
    const { sign } = this.#placed;
    const near = HOLDS / this.#scale.by;
    const { outer_end_mm, offset_from_centre_mm, skew_deg, length_mm } = hold.place;
    if (hold.grip === "sleeve") {
      this.#put({
        outer_end_mm: snap(outer_end_mm + sign * (at.x - hold.at.x), near, this.#steps),
        offset_from_centre_mm: snap(offset_from_centre_mm + at.y - hold.at.y, near, this.#steps),
      });
      return;
    }
    const [mouth] = this.#placed.ends;
    if (hold.grip === "turn") {
      const angle = (/** @type {DOMPoint} */ spot) =>
        (Math.atan2(-sign * (spot.y - mouth[1]), -sign * (spot.x - mouth[0])) * 180) / Math.PI;
      const turned = skew_deg + angle(at) - angle(hold.at);
      this.#put({ skew_deg: Math.abs(turned) < STRAIGHT ? 0 : Math.round(turned / TURN) * TURN });
      return;
    }
    const turned = (skew_deg * Math.PI) / 180;
    const along = -sign * ((at.x - hold.at.x) * Math.cos(turned) + (at.y - hold.at.y) * Math.sin(turned));
    this.#put({ length_mm: snap(length_mm + along, 0, this.#steps) });
  }

  /** @param {KeyboardEvent} event @param {Grip} grip */
  #key(event, grip) {
    const { key } = event;
    if (event.ctrlKey || event.metaKey || !this.#placed) return;
    if (key === "Escape") {
      event.preventDefault();
      this.#putBack();
      return;
    }
    const { sign, place } = this.#placed;
    const step = event.shiftKey ? this.#steps.coarse : this.#steps.fine;
    const arrow = /** @type {Record<string, [number, number]>} */ ({
      ArrowLeft: [-1, 0],
      ArrowRight: [1, 0],
      ArrowUp: [0, 1],
      ArrowDown: [0, -1],
    })[key];
    const turn = { "[": -1, "]": 1 }[key] ?? ((event.altKey || grip === "turn") && arrow ? arrow[0] + arrow[1] : 0);
    if (turn !== 0) this.#put({ skew_deg: place.skew_deg + turn * TURN * (event.shiftKey ? 5 : 1) });
    else if (!arrow || event.altKey) return;
    else if (grip === "length") this.#put({ length_mm: place.length_mm + (arrow[0] + arrow[1]) * step });
    else if (arrow[0] !== 0) this.#put({ outer_end_mm: place.outer_end_mm + sign * arrow[0] * step });
    else this.#put({ offset_from_centre_mm: place.offset_from_centre_mm + arrow[1] * step });
    event.preventDefault();
    event.stopPropagation();
    this.#speak();
  }

  /** @param {Partial<SleevePlace>} wanted */
  #put(wanted) {
    /** @type {Partial<SleevePlace>} */
    const place = {};
    for (const key of MEASURES) {
      const value = wanted[key];
      if (value === undefined) continue;
      const [least, most] = LIMITS[key];
      // A sixteenth of an inch has four decimals: no tail of binary fractions on the sheet.
      const rounded = Math.round(Math.min(Math.max(value, least), most) * 1e4) / 1e4;
      if (rounded !== this.#placed?.place[key]) place[key] = rounded;
    }
    if (Object.keys(place).length > 0) this.#onPlace(place);
  }

  get #steps() {
    return STEPS[this.#words.system];
  }

  #begin() {
    this.#taken ??= this.#placed?.place;
  }

  #leave() {
    if (this.#hold) this.#speak();
    this.#hold = undefined;
    this.#taken = undefined;
    this.#onPlaced();
    if (Object.values(this.#grips).some((grip) => grip === document.activeElement)) this.#begin();
  }

  #putBack() {
    const before = this.#taken;
    this.#hold = undefined;
    if (before) this.#put(before);
    this.#leave();
    this.#speak();
  }

  /** Says where it lies, and what is not good about it. */
  #speak() {
    const words = this.#words;
    const { place, distances } = this.#placed ?? {};
    if (!place || !distances) return;
    const lies = words.text("page.placing.spoken", {
      out: words.quantity("length", place.outer_end_mm),
      aside: words.quantity("length", place.offset_from_centre_mm),
      skew: words.quantity("angle", place.skew_deg),
      length: words.quantity("length", place.length_mm),
    });
    const told = distances
      .filter(({ severity }) => severity === "stop" || severity === "look")
      .map(({ key, severity, value_mm }) =>
        words.text("page.placing.spoken_distance", {
          severity: words.text(`page.findings.severity.${severity}`),
          distance: words.text(`page.placing.distance.${key}`),
          value: words.quantity("length", value_mm),
        }),
      );
    this.#onSay([lies, ...told].join(" "));
  }

  /** @param {Spot} spot @returns {[number, number]} px */
  #at([x, y]) {
    return [this.#scale.x + x * this.#scale.by, this.#scale.y - y * this.#scale.by];
  }

  /** @param {readonly Spot[]} spots */
  #points(spots) {
    return spots.map((spot) => this.#at(spot).map((value) => value.toFixed(2)).join(",")).join(" ");
  }

  /** @param {string} name @param {readonly [Spot, Spot]} line */
  #line(name, [from, to]) {
    return sketchSvg("line", { class: name, ...ends(this.#at(from), this.#at(to)) });
  }

  /** Where the pointer is, in mm of the bottom. @param {PointerEvent} event */
  #mm({ clientX, clientY }) {
    const matrix = this.#svg.getScreenCTM();
    const { x, y } = new DOMPoint(clientX, clientY).matrixTransform(matrix?.inverse());
    return new DOMPoint((x - this.#scale.x) / this.#scale.by, (this.#scale.y - y) / this.#scale.by);
  }
}

/**
 * To nothing, a whole coarse step or a whole fine one.
 * @param {number} value mm
 * @param {number} near mm
 * @param {{fine: number, coarse: number}} steps mm
 */
function snap(value, near, { fine, coarse }) {
  if (Math.abs(value) < Math.min(near, 4)) return 0;
  const far = Math.round(value / coarse) * coarse;
  return Math.abs(value - far) < fine ? far : Math.round(value / fine) * fine;
}

/** @param {Box} box @param {number} by px @returns {Box} */
function grown({ left, top, right, bottom }, by) {
  return { left: left - by, top: top - by, right: right + by, bottom: bottom + by };
}

/** @param {Box} one @param {Box} other */
function meet(one, other) {
  return one.left < other.right && other.left < one.right && one.top < other.bottom && other.top < one.bottom;
}

/** Whether a line goes through a box. @param {Box} box @param {Stroke} line */
function crosses({ left, top, right, bottom }, [[x1, y1], [x2, y2]]) {
  let [enters, leaves] = [0, 1];
  for (const [from, by, least, most] of /** @type {const} */ ([[x1, x2 - x1, left, right], [y1, y2 - y1, top, bottom]])) {
    if (by === 0 && (from <= least || from >= most)) return false;
    if (by === 0) continue;
    const [one, other] = [(least - from) / by, (most - from) / by];
    enters = Math.max(enters, Math.min(one, other));
    leaves = Math.min(leaves, Math.max(one, other));
  }
  return enters < leaves;
}

/** @param {readonly number[]} from @param {readonly number[]} to */
function ends(from, to) {
  const [x1, y1, x2, y2] = [...from, ...to].map((value) => value.toFixed(2));
  return { x1, y1, x2, y2 };
}

/** @param {SVGLineElement} line @param {readonly number[]} from @param {readonly number[]} to */
function setEnds(line, from, to) {
  for (const [name, value] of Object.entries(ends(from, to))) line.setAttribute(name, value ?? "");
}

function hatch() {
  return makeSvg(
    "pattern",
    { id: "placing-hatch", width: 6, height: 6, patternUnits: "userSpaceOnUse", patternTransform: "rotate(45)" },
    makeSvg("line", { x1: 0, y1: 0, x2: 0, y2: 6 }),
  );
}

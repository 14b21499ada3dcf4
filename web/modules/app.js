/**
 * The controller: owns the sheet, its cards and what is shown of them. Parts tell it of edits and are given
 * values; every change goes one way, through the core and out to all parts.
 *
 * @typedef {import("./types.js").Report} Report
 * @typedef {import("./types.js").Figures} Figures
 * @typedef {import("./types.js").Finding} Finding
 * @typedef {import("./types.js").Problem} Problem
 * @typedef {import("./types.js").Place} Place
 * @typedef {import("./types.js").FillAnswer} FillAnswer
 * @typedef {import("./core.js").Workshop} Workshop
 * @typedef {import("./words.js").Words} Words
 */
import { Answers } from "./answers.js";
import { Artwork } from "./artwork.js";
import { CardDesk } from "./card-desk.js";
import { SackChooser } from "./choosers.js";
import { Desk, loadDesk } from "./desk.js";
import { hook, make, write } from "./dom.js";
import { Drafter } from "./drafter.js";
import { Drawings } from "./drawings.js";
import { fieldTrail } from "./field-names.js";
import { FigureTables } from "./figures.js";
import { FileDesk, fileName, save } from "./files.js";
import { FilledSack } from "./filled-sack.js";
import { FILL, Film } from "./film.js";
import { FilmRecorder } from "./film-recorder.js";
import { FindingsList } from "./findings.js";
import { Form } from "./form.js";
import { Frames } from "./frames.js";
import { HabitsDesk } from "./habits.js";
import { Keeper } from "./keeper.js";
import { LapMap } from "./lap.js";
import { Lesson } from "./lesson.js";
import { SYSTEMS } from "./measures.js";
import { recall, remember } from "./memory.js";
import { ModelFiles } from "./model-files.js";
import { NearPicture } from "./near-picture.js";
import { NoFilling } from "./no-filling.js";
import { Notices } from "./notices.js";
import { Pallets, loaded } from "./pallets.js";
import { OpenSheets } from "./open-sheets.js";
import { Placing } from "./placing.js";
import { Places } from "./places.js";
import { ProblemList, problemText } from "./problems.js";
import { parseFile } from "./sheet-document.js";
import { hasSheet, linkTo, sheetOf } from "./sheet-link.js";
import { Proposal } from "./proposal.js";
import { renewed } from "./report.js";
import { Specification } from "./specification.js";
import { SizingDesk } from "./sizing.js";
import { StackPicture } from "./stack-picture.js";
import { StaleMark } from "./stale.js";
import { StagePlayer } from "./stage-player.js";
import { StageView } from "./stage-view.js";
import { Theme } from "./theme.js";
import { Timeline } from "./timeline.js";
import { Waiting } from "./waiting.js";
import { Work } from "./work.js";

const HABITS_FORMAT = "sackwright-habits/";
/** The stage after which the valve lies in its place. */
const VALVE = "insert-valve";
/** Slow enough for the eye of someone who sees it for the first time. */
const BENCH_SPEED = 0.5;

export class App {
  #words;
  #workshop;
  /** What the core said last. @type {Report} */
  #report;
  #work = new Work();
  #keeper = new Keeper(() => this.#kept());
  /** What an earlier visit left: the browser is asked while the page is put together. */
  #found = this.#keeper.find();
  /** Whether what is typed differs from the sack that is shown. */
  #troubled = false;
  /** Which field's edit brought a problem of another field about, by problem. @type {Map<string, string>} */
  #causes = new Map();
  /** When a size was taken over last. @type {unknown} */
  #sizedAt;
  /** Whether the core has stopped: its instance can't be used any more. */
  #stopped = false;
  #reduced = matchMedia("(prefers-reduced-motion: reduce)");

  /** Has the core news that it has not been asked for? */
  #due = false;
  #frames = new Frames((elapsed) => this.#tick(elapsed));
  #player = new StagePlayer((change) => this.#moved(change));
  #desk = new Desk(loadDesk);
  #filled;
  #pallets;
  #film;
  #noFilling;
  #proposal;
  #stackPicture;
  #waiting = new Waiting();
  #view;
  #recorder;
  #saveFilm = hook("save-film", HTMLButtonElement);
  #timeline;
  #lesson;
  #sheetForm;
  /** By kind, in the order in which the sack meets them. @type {readonly CardDesk[]} */
  #cards;
  #habits;
  #sheetProblems;
  #stale;
  #findings;
  #figures;
  #laps;
  #drafter;
  #drawings;
  #answers;
  #artwork;
  #notices;
  #sacks;
  #openSheets;
  #sizing;
  #places;
  #live = hook("live", HTMLElement);
  #sackName = hook("sack-name", HTMLElement);
  #undo = hook("undo", HTMLButtonElement);
  #redo = hook("redo", HTMLButtonElement);

  /** @param {Awaited<ReturnType<typeof import("./core.js").loadCore>>} core @param {Words} words */
  constructor(core, words) {
    this.#words = words;
    this.#workshop = new core.Workshop();
    this.#report = this.#workshop.report();
    this.#notices = new Notices(hook("notices", HTMLElement), words);
    this.#answers = new Answers(words);
    this.#artwork = new Artwork({
      words,
      onName: (part, name) => {
        this.#work.sheet.set(`artwork.${part}`, name);
        if (Object.keys(Object(this.#work.sheet.get("artwork"))).length === 0) this.#work.sheet.set("artwork", undefined);
        this.#changed(`artwork ${part}`);
      },
      onTrouble: (text) => this.#notices.show("file", "trouble", text),
      onPrint: (print) => this.#view.setArtwork(print),
    });
    this.#figures = new FigureTables(hook("figures", HTMLElement), words);
    this.#filled = new FilledSack({
      desk: this.#desk,
      words,
      onAnswer: (answer, sheet) => this.#fill(answer, sheet),
      onTrouble: () => {
        this.#film.drop();
        this.#notFilled();
      },
    });
    this.#pallets = new Pallets({
      desk: this.#desk,
      words,
      way: () => this.#work.way,
      onWay: (way) => {
        this.#work.way = way;
        this.#work.record("way");
        this.#work.settle();
      },
      onStack: (answer) => {
        this.#workshop.setStack(answer?.stack);
        this.#takeSoon();
        this.#stackPicture.take(answer && loaded(answer));
      },
    });
    this.#film = new Film(
      this.#desk,
      () => this.#filmed(),
      () => this.#notFilled(),
    );
    this.#noFilling = new NoFilling({
      words,
      onRule: (rule) => {
        this.#places.go("board");
        this.#findings.lead(rule);
      },
      onContents: () => {
        this.#places.go("board");
        this.#sheetForm.focus("contents");
      },
    });
    this.#stackPicture = new StackPicture({
      onShow: (loaded) => this.#view.setStack(loaded),
      onHide: () => this.#pose(),
    });
    this.#laps = new LapMap(hook("laps", HTMLElement), words);
    this.#drafter = new Drafter(words);
    this.#drawings = new Drawings({
      drafter: this.#drafter,
      words,
      placing: new Placing({
        drafter: this.#drafter,
        words,
        onPlace: (place) => this.#placed(place),
        onPlaced: () => this.#work.settle(),
        onSay: (text) => this.#say(text),
        onSpout: (spout) => this.#view.setSpout(spout),
      }),
      onPoint: (place, title) =>
        this.#view.point(place === undefined ? undefined : { place, text: title, severity: "part" }),
      onPlacing: () => this.#bareSleeve(),
    });
    new ModelFiles({
      drafter: this.#drafter,
      words,
      film: this.#film,
      name: () => this.#report.sheet?.name ?? "",
      shown: () => this.#player,
      stack: () => this.#stackPicture.seen,
      onTrouble: (text) => this.#notices.show("file", "trouble", text),
    });
    new Specification({
      words,
      drawings: this.#drawings,
      prepare: () => this.#drafter.prepare(),
      report: () => this.#report,
      onAccept: (accepted) => {
        this.#work.sheet.set("accepted", accepted.length > 0 ? accepted : undefined);
        this.#changed("accept");
      },
    });
    this.#proposal = new Proposal({
      words,
      report: () => this.#report,
      filled: () => this.#filled.answer,
      stacked: () => this.#pallets.stacked ?? this.#pallets.why,
      seen: () => {
        const url = this.#view.printed();
        const { stage, at } = this.#player;
        const what = this.#stackPicture.shown ? "stack" : stage === FILL && at === 1 ? "filled" : stage;
        const shows = words.text(`page.proposal.seen.${what}`);
        return url === undefined ? undefined : { url, shows };
      },
    });
    this.#lesson = new Lesson({
      words,
      onNext: () => this.#step(1),
      onBack: () => this.#step(-1),
      onStage: (stage) => this.#showStage(stage),
      onPart: (part) =>
        this.#view.point(
          part === undefined
            ? undefined
            : { place: part, text: words.text(`page.bench.part.${part}.name`), severity: "part" },
        ),
    });
    this.#view = new StageView({
      Viewer: core.Viewer,
      words,
      onChange: () => this.#frames.request(),
      namePart: (picked) => this.#lesson.partName(picked),
    });
    this.#recorder = new FilmRecorder(hook("canvas", HTMLCanvasElement), (film, ending) => this.#filmSaved(film, ending));
    this.#saveFilm.hidden = !this.#view.viewer || !this.#recorder.can;
    this.#saveFilm.addEventListener("click", () => this.#recordFilm());
    new NearPicture([
      { part: hook("placing-plan", HTMLElement), onFirst: () => this.#view.setView("valve-end") },
      { part: hook("lesson", HTMLElement) },
      { part: hook("parts", HTMLElement) },
    ]);
    this.#timeline = new Timeline(this.#player, words);
    this.#findings = new FindingsList({
      list: hook("findings", HTMLElement),
      good: hook("findings-good", HTMLElement),
      care: hook("findings-care", HTMLElement),
      silent: hook("findings-silent", HTMLElement),
      silentCount: hook("findings-silent-count", HTMLElement),
      filter: hook("findings-filter", HTMLElement),
      shown: hook("findings-shown", HTMLElement),
      heading: hook("findings-title", HTMLElement),
      goodCount: hook("findings-good-count", HTMLElement),
      summary: hook("findings-summary", HTMLElement),
      strip: hook("findings-strip", HTMLElement),
      words,
      onPoint: (finding, title) => this.#point(finding, title),
      onCure: (finding) => this.#cure(finding),
      onSize: () => this.#sizing.open(),
    });
    this.#sheetForm = new Form({
      root: hook("sheet-form", HTMLElement),
      name: "sheet",
      schema: core.schema("sheet"),
      words,
      document: this.#work.sheet,
      onEdit: (path) => this.#sheetEdited(path),
      next: { revisions: nextRevision },
    });
    this.#cards = [
      this.#cardDesk("line", core, (text) => this.#workshop.setLine(text)),
      this.#cardDesk("works", core, (text) => this.#workshop.setWorks(text)),
      this.#cardDesk("pallet", core, (text) => {
        const problems = this.#workshop.setPallet(text);
        if (problems.length === 0) this.#pallets.hold(text);
        return problems;
      }),
    ];
    this.#habits = new HabitsDesk({
      schema: core.schema("habits"),
      words,
      card: this.#work.habits,
      trade: this.#report.habits,
      onChange: (what) => this.#habitsEdited(what),
    });
    this.#sheetProblems = new ProblemList(hook("sheet-problems", HTMLElement), words, (field) =>
      this.#sheetForm.focus(field),
    );
    this.#sacks = new SackChooser(
      hook("sacks", HTMLElement),
      hook("other-sacks", HTMLDetailsElement),
      words,
      ({ path, text }) => this.#openSheet(path, text, path),
    );
    this.#stale = new StaleMark(words, () => {
      this.#places.go("board");
      hook("sheet-problems", HTMLElement).focus();
    });
    this.#openSheets = new OpenSheets({
      judge: new core.Workshop(),
      words,
      onTurn: (id) => this.#turnTo(id),
      onClose: (id) => this.#close(id),
    });
    this.#sizing = new SizingDesk({
      desk: this.#desk,
      words,
      work: this.#work,
      sheet: () => this.#report.sheet,
      headroom: () => this.#filled.answer?.filled.content?.headroom,
      onEdit: (what) => {
        this.#work.record(what);
        this.#showUndo();
      },
      onTake: (changes, size) => {
        const seam = "seam.offset_from_middle_mm";
        const [aside, up] = /** @type {const} */ (["artwork.barcode.offset_from_middle_mm", "artwork.barcode.from_plain_end_mm"]);
        const from = new Map([seam, aside, up].map((field) => [field, this.#work.sheet.get(field) ?? 0]));
        for (const [field, value] of changes) this.#work.sheet.set(field, value);
        this.#changed(`size ${size}`);
        this.#sizedAt = this.#work.moment;
        const back = make("button", { type: "button", class: "link", "data-hook": "sizing-undo" }, words.text("page.sizing.take_back"));
        back.addEventListener("click", () => {
          if (this.#work.undo()) this.#showAll();
        });
        const to = (/** @type {string} */ field) => words.quantity("length", Number(changes.get(field) ?? 0));
        const moves = (/** @type {string} */ field) => typeof changes.get(field) === "number" && changes.get(field) !== from.get(field);
        const told = [
          words.text("page.sizing.taken", { size }),
          ...(moves(seam) ? [words.text("page.sizing.taken_seam", { to: to(seam) })] : []),
          ...(moves(aside) || moves(up) ? [words.text("page.sizing.taken_barcode", { aside: to(aside), up: to(up) })] : []),
        ];
        this.#notices.show("sizing", "note", told.join(" "), [back]);
      },
    });
    hook("copy-sheet", HTMLButtonElement).addEventListener("click", () => this.#copy());
    new FileDesk({
      onText: (name, text) => this.#open(name, text),
      onPicture: (file) => void this.#openPicture(file),
      onTooLarge: (name) => this.#notices.show("file", "trouble", words.text("page.file.too_large", { file: name })),
    });
    hook("save", HTMLButtonElement).addEventListener("click", () => this.#save());
    hook("copy-link", HTMLButtonElement).addEventListener("click", () => void this.#copyLink());
    addEventListener("hashchange", () => void this.#openLink());
    hook("ticket", HTMLElement).addEventListener("focusout", () => this.#work.settle());
    this.#undo.addEventListener("click", () => this.#work.undo() && this.#showAll());
    this.#redo.addEventListener("click", () => this.#work.redo() && this.#showAll());
    addEventListener("keydown", (event) => this.#key(event));
    addEventListener("beforeunload", (event) => {
      if (!this.#keeper.works && (this.#work.cardsEdited || this.#work.unsaved)) event.preventDefault();
    });
    addEventListener("error", ({ error }) => error instanceof WebAssembly.RuntimeError && this.#stop());
    hook("skip", HTMLAnchorElement).addEventListener("click", (event) => {
      // The address's fragment is the place; it must not become "picture".
      event.preventDefault();
      hook("stage", HTMLElement).focus();
    });
    const theme = new Theme(hook("theme", HTMLSelectElement), () => this.#view.setDark(theme.dark));
    this.#view.setDark(theme.dark);
    const measures = hook("measures", HTMLSelectElement);
    const chosen = SYSTEMS.find((system) => system === recall("measures"));
    if (chosen) this.#measureIn(chosen);
    measures.value = words.system;
    measures.addEventListener("change", () => {
      remember("measures", measures.value);
      this.#measureIn(measures.value === "imperial" ? "imperial" : "metric");
      this.#showAll();
    });
    this.#places = new Places(words, (place) => this.#entered(place));
    this.#entered(this.#places.current);
  }

  /** @param {import("./measures.js").System} system */
  #measureIn(system) {
    this.#words.system = system;
    this.#sacks.show();
    for (const part of [this.#sheetForm, ...this.#cards, this.#habits, this.#sizing]) part.rebuild();
  }

  get viewer() {
    return this.#view.viewer;
  }

  /** Settles when the sack carries its print. */
  get printed() {
    return this.#artwork.laid;
  }

  get workshop() {
    return this.#workshop;
  }

  /** @param {string} stage @param {number} at fraction */
  setPose(stage, at) {
    this.#player.setPose(stage, at);
  }

  redraw() {
    this.#frames.request();
  }

  /** Has what takes long computed from now on: the first picture is there. */
  startDesk() {
    void this.#desk.start();
  }

  /**
   * The examples, and the first of them as the first sack: on a first visit it folds itself, later it lies there finished, or
   * what was being worked on is back.
   * @param {readonly import("./examples.js").Example[]} sacks
   * @param {Record<import("./card-rack.js").CardKind, readonly import("./examples.js").Example[]>} cards
   * @param {ReadonlyMap<string, string>} pictures what is printed on them
   */
  async begin(sacks, cards, pictures) {
    const [first] = sacks;
    if (!first) return;
    this.#artwork.offer(pictures);
    const found = await this.#found;
    const resumed = found !== undefined && this.#resume(found.kept);
    if (!resumed) this.#work.open(first.value, first.path);
    else if (!found.own) this.#tellResumed(first);
    this.#sacks.show(sacks);
    // A line and a pallet from the start, so that the answers answer; a sack is not yet of any works.
    for (const desk of this.#cards) desk.offer(cards[desk.kind], desk.kind === "works" ? undefined : 0);
    this.#showAll();
    this.#work.begin();
    this.#showUndo();
    this.#player.finish();
    if (recall("seen") === undefined && !this.#reduced.matches) {
      remember("seen", "yes");
      this.#player.seek(0);
      this.#player.play();
    }
    this.#view.draw();
    await this.#openLink();
  }

  /** @param {string} head @param {string} [detail] */
  trouble(head, detail) {
    this.#notices.show("trouble", "trouble", head, detail === undefined ? [] : [detail]);
  }

  /** @param {number} elapsed ms @returns {boolean} */
  #tick(elapsed) {
    if (this.#stopped) return false;
    const playing = this.#player.advance(elapsed);
    this.#view.draw();
    return playing;
  }

  /** @param {import("./stage-player.js").Change} change */
  #moved(change) {
    const player = this.#player;
    // Who moves the fold wants to see it.
    if (change.moved) this.#stackPicture.hide();
    this.#pose();
    this.#timeline.show();
    this.#showLesson();
    if (this.#recorder.records && player.finished && !player.playing) this.#recorder.finish();
    if (change.stage) this.#say(this.#lesson.spoken(player.index, this.#places.current === "bench"));
    this.#frames.request();
  }

  /** Shows where the fold stands, or the filling behind it. */
  #pose() {
    const { stage, at } = this.#player;
    if (this.#stackPicture.shown) return;
    if (stage === FILL) this.#view.setFilling(this.#film, at);
    else this.#view.setPose(stage, at);
    this.#frames.request();
  }

  /** Plays fold and filling once and makes a film of it; pressed again, gives that up. */
  #recordFilm() {
    const player = this.#player;
    if (this.#recorder.records) {
      this.#recorder.giveUp();
      player.pause();
    } else {
      player.seek(0);
      this.#recorder.start();
      player.play();
    }
    this.#showRecording();
  }

  #showRecording() {
    write(this.#saveFilm, this.#words.text(this.#recorder.records ? "page.look.film_stop" : "page.look.film"));
  }

  /** @param {Blob | undefined} film @param {string} ending of its file's name */
  #filmSaved(film, ending) {
    this.#showRecording();
    const words = this.#words;
    if (!film) {
      this.#notices.show("file", "trouble", words.text("page.look.film_failed"));
      return;
    }
    const file = fileName(String(this.#report.sheet?.name ?? ""), ending);
    save(file, film, film.type);
    this.#notices.show("file", "note", words.text("page.file.saved", { file }));
  }

  /** One more frame of the filling is there. */
  #filmed() {
    this.#timeline.showFilmed(this.#film.whole);
    if (!this.#player.segments.some(({ name }) => name === FILL)) this.#showStages(this.#report);
    else if (this.#player.stage === FILL) this.#pose();
  }

  /** The filling can't be computed. */
  #notFilled() {
    this.#noFilling.trouble();
    this.#showStages(this.#report);
  }

  /** @param {Report} report */
  #showStages(report) {
    const stages = this.#film.stages(report.stages, report.sheet);
    const figures = { ...report.caption_figures, ...this.#film.figures(report.sheet) };
    this.#lesson.showStages(stages, figures, report.sheet);
    this.#player.setStages(stages.map(({ name }) => name));
    this.#timeline.showStages();
    this.#timeline.show();
    this.#showLesson();
  }

  /** @param {Place} place */
  #entered(place) {
    this.#view.picks = place === "bench";
    this.#view.point(undefined);
    this.#timeline.setSpeed(place === "bench" ? BENCH_SPEED : 1);
    this.#laps.redraw();
    this.#drawings.entered();
    // Elsewhere they are not seen, and not written.
    if (place === "table") this.#answers.show(this.#report);
    this.#showLesson(place);
    this.#frames.request();
  }

  #showLesson(place = this.#places.current) {
    const { index, at, finished } = this.#player;
    if (place === "bench") this.#lesson.show(index, at > 0, finished);
  }

  /** One stage on or back; on it is played, unless motion is unwanted. @param {1 | -1} way */
  #step(way) {
    const player = this.#player;
    const before = player.index;
    if (way < 0) player.stepBack();
    else if (player.finished) player.seek(0);
    else if (this.#reduced.matches) player.stepForward();
    else player.playStage();
    // The same stage again is worth telling too: the step was asked for.
    if (player.index === before) this.#say(this.#lesson.spoken(before, true));
  }

  /** @param {string} stage */
  #showStage(stage) {
    this.#player.setPose(stage, 0);
    if (this.#reduced.matches) this.#player.setPose(stage, 1);
    else this.#player.playStage();
  }

  /** Shows the sack before flaps and patch come over the valve: so it is seen while it is moved. */
  #bareSleeve() {
    const { segments, index } = this.#player;
    if (index > segments.findIndex(({ name }) => name === VALVE)) this.#player.setPose(VALVE, 1);
  }

  /** @param {string} text */
  #say(text) {
    this.#live.textContent = text;
  }

  /** @param {string} path */
  #sheetEdited(path) {
    this.#work.record(`sheet ${path}`);
    this.#setSheet(path);
  }

  /** The sleeve was moved in the drawing. @param {Partial<import("../pkg/sackwright_draft.js").SleevePlace>} place */
  #placed(place) {
    for (const [key, value] of Object.entries(place)) this.#work.sheet.set(`valve_end.valve.${key}`, value);
    this.#sheetForm.show();
    this.#sheetEdited("place");
  }

  /**
   * @param {import("./card-rack.js").CardKind} kind
   * @param {{schema: (kind: import("./card-rack.js").CardKind) => object}} core
   * @param {(text: string | undefined) => Problem[]} judge
   */
  #cardDesk(kind, core, judge) {
    return new CardDesk({
      kind,
      rack: this.#work.racks[kind],
      schema: () => core.schema(kind),
      words: this.#words,
      judge,
      onChoose: () => this.#changed(`choose ${kind}`),
      onEdit: () => {
        this.#work.record(kind);
        this.#take(false);
      },
      onSaved: (file) => this.#notices.show("file", "note", this.#words.text("page.file.saved", { file })),
      onGo: () => this.#places.go("board"),
    });
  }

  /** @param {string} what */
  #habitsEdited(what) {
    this.#work.record(what);
    this.#workshop.setHabits(this.#work.habits.text());
    this.#take(false);
  }

  /** Something other than a field was changed: notes it, and shows everything anew. @param {string} what */
  #changed(what) {
    this.#work.record(what);
    this.#work.settle();
    this.#showAll();
  }

  /** Shows everything that is being worked on. */
  #showAll() {
    for (const desk of this.#cards) desk.show();
    this.#workshop.setHabits(this.#work.habits.text());
    this.#sheetForm.show();
    this.#habits.show();
    this.#blame([]);
    this.#setSheet();
    this.#pallets.follow();
    this.#sizing.show();
  }

  #showUndo() {
    this.#undo.disabled = !this.#work.canUndo;
    this.#redo.disabled = !this.#work.canRedo;
    // After another change its undo would bring something else back.
    if (this.#sizedAt !== this.#work.moment) this.#notices.close("sizing");
    this.#keeper.note();
  }

  /** @param {number} id */
  #turnTo(id) {
    this.#work.turnTo(id);
    this.#showAll();
  }

  /** @param {number} id */
  #close(id) {
    this.#work.close(id);
    this.#changed("close");
    this.#say(this.#words.text("page.sheets.closed"));
  }

  #copy() {
    const name = String(this.#work.sheet.get("name") ?? "");
    this.#work.copy(this.#words.text("page.sheets.copy_name", { name }));
    this.#changed("copy");
    this.#sheetForm.focus("name");
  }

  /** What there is to keep: nothing while it is an example as it came. @returns {import("./keeper.js").Kept | undefined} */
  #kept() {
    const state = this.#work.state();
    if (state.sheets.length === 0 || (state.sheets.length === 1 && this.#work.example !== undefined && !this.#work.cardsEdited))
      return undefined;
    const good = this.#troubled && !this.#stopped && this.#report.sheet ? this.#workshop.sheetText() : undefined;
    return { version: 1, at: Date.now(), state, good };
  }

  /** @param {import("./keeper.js").Kept} kept @returns {boolean} whether there is a sack to show */
  #resume({ state, good }) {
    const before = this.#work.state();
    try {
      this.#work.restore(state);
      // A sheet with mistakes stands over the last good one.
      if (good !== undefined) this.#workshop.setSheet(good);
      this.#showAll();
      if (this.#report.sheet) return true;
    } catch (error) {
      // Written by another version of the page, or damaged.
      console.info(error);
    }
    this.#work.restore(before);
    return false;
  }

  /** Says that an earlier tab's work is back. @param {import("./examples.js").Example} example */
  #tellResumed(example) {
    const words = this.#words;
    const afresh = make("button", { type: "button", class: "link", "data-hook": "afresh" }, words.text("page.sheets.afresh"));
    afresh.addEventListener("click", () => {
      this.#notices.close("resumed");
      this.#work.open(example.value, example.path);
      for (const { id } of this.#work.state().sheets) if (id !== this.#work.current) this.#work.close(id);
      this.#changed("afresh");
    });
    const names = this.#work.state().sheets.map(({ snapshot }) => String(Object(snapshot.value).name ?? ""));
    this.#notices.show("resumed", "note", words.text("page.sheets.resumed"), [...names, afresh]);
  }

  /** @param {string} [edited] the field whose edit it is */
  #setSheet(edited) {
    const problems = this.#workshop.setSheet(this.#work.sheet.text());
    this.#blame(problems, edited);
    const good = problems.length === 0 ? this.#workshop.sheetText() : undefined;
    const known = good && this.#filled.take(JSON.parse(good));
    if (known && good) {
      this.#workshop.setFilled(known.filled);
      this.#noFilling.show(known, good);
    } else if (good) {
      this.#film.expire();
      this.#timeline.showFilmed(false);
    }
    this.#take(true);
    if (known && good) this.#pallets.take(good);
  }

  /** @param {FillAnswer} answer @param {string} sheet that it is of, as text */
  #fill(answer, sheet) {
    // A sheet that came to grief meanwhile left the sack as it was.
    const isSeen = Boolean(answer.rests[0]?.lying);
    if (isSeen) this.#film.make(sheet);
    else this.#film.drop();
    this.#noFilling.show(answer, sheet);
    this.#workshop.setFilled(answer.filled);
    // Why there is no filling is said as its stage goes, and as the finding with the cure comes.
    if (isSeen) this.#takeSoon();
    else this.#take(false);
    this.#pallets.take(sheet);
  }

  /** Notes which edit brought a problem about, and forgets those that are mended. @param {readonly Problem[]} problems @param {string} [edited] */
  #blame(problems, edited) {
    const before = this.#causes;
    this.#causes = new Map(
      problems.map((problem) => [keyOf(problem), before.get(keyOf(problem)) ?? edited ?? problem.field]),
    );
  }

  /** @param {readonly Problem[]} problems @returns {{path: string, text: string}[]} what edits brought about at other fields */
  #caused(problems) {
    return problems.flatMap((problem) => {
      const path = this.#causes.get(keyOf(problem)) ?? problem.field;
      return path === problem.field ? [] : [{ path, text: problemText(this.#words, problem) }];
    });
  }

  /** The core has news. While a hand drags there may be some several times a frame: the next change, or else the frame, tells of them. */
  #takeSoon() {
    if (this.#due) return;
    this.#due = true;
    requestAnimationFrame(() => this.#due && !this.#stopped && this.#take(false));
  }

  /** Asks the core what it says now, and shows it everywhere. @param {boolean} sackChanged */
  #take(sackChanged) {
    this.#due = false;
    const report = renewed(this.#report, this.#workshop.news());
    this.#report = report;
    this.#troubled = report.problems.length > 0;
    if (sackChanged && !this.#troubled) this.#view.setSack(this.#workshop);
    const { problems } = report;
    this.#sheetProblems.show(problems, this.#sheetForm.showProblems(problems, this.#caused(problems)));
    const news = this.#stale.show(problems.length);
    if (news !== undefined) this.#say(news);
    this.#habits.showProblems(report.habits_problems);
    const { findings, silent } = this.#waiting.merge(report, this.#filled.awaited);
    this.#findings.show(findings, silent, this.#troubled);
    const figures = /** @type {Figures | null} */ (report.figures);
    this.#figures.show(figures);
    if (this.#places.current === "table") this.#answers.show(report);
    if (report.sheet) {
      this.#laps.show(figures, {
        valve_end: report.sheet.valve_end.bottom_width_mm,
        plain_end: report.sheet.plain_end.bottom_width_mm,
      });
      write(this.#sackName, report.sheet.name);
      this.#artwork.show(report.sheet);
      this.#drafter.take({
        sheet: JSON.stringify(report.sheet),
        line: report.line ? JSON.stringify(report.line) : undefined,
        habits: JSON.stringify(report.habits),
      });
      this.#drawings.show(report.sheet.name);
    }
    this.#showStages(report);
    this.#sacks.mark(this.#work.example);
    this.#openSheets.show(this.#work, report);
    this.#proposal.renew();
    this.#showUndo();
    this.#frames.request();
  }

  /** @param {Finding | undefined} finding @param {string} title */
  #point(finding, title) {
    this.#view.point(finding && { place: finding.place, text: title, severity: finding.severity });
    this.#drawings.light(finding?.place);
  }

  /** @param {Finding} finding */
  #cure(finding) {
    if (!finding.cure) return;
    for (const { field, value } of finding.cure.set) this.#work.sheet.set(field, value);
    this.#changed(`cure ${finding.rule} ${finding.place}`);
    this.#say(this.#words.text("page.findings.applied", { cure: this.#words.cure(finding.cure) }));
  }

  /** @param {KeyboardEvent} event */
  #key(event) {
    if (!(event.ctrlKey || event.metaKey) || event.altKey) return;
    const key = event.key.toLowerCase();
    const back = key === "z" && !event.shiftKey;
    const on = key === "y" || (key === "z" && event.shiftKey);
    if (!back && !on) return;
    event.preventDefault();
    if (back ? this.#work.undo() : this.#work.redo()) this.#showAll();
  }

  /** A file of any kind. @param {string} name @param {string} text */
  #open(name, text) {
    const format = formatOf(text);
    const desk = this.#cards.find((desk) => format.startsWith(desk.format));
    if (desk) this.#openCard(desk, name, text);
    else if (format.startsWith(HABITS_FORMAT)) this.#openHabits(name, text);
    else this.#openSheet(name, text);
  }

  /** @param {File} file */
  async #openPicture(file) {
    if (!(await this.#artwork.put("front", file))) return;
    this.#notices.show("file", "note", this.#words.text("page.artwork.printed", { file: file.name }));
  }

  /** @param {string} name @param {string} text @param {string} [example] its path, when it is one */
  #openSheet(name, text, example) {
    const problems = this.#workshop.setSheet(text);
    if (problems.length > 0) {
      this.#refuse(name, problems);
      this.#setSheet();
      return;
    }
    this.#notices.close("file");
    this.#work.open(parseFile(text), example);
    this.#changed(`open ${name}`);
    if (example === undefined) this.#notices.show("file", "note", this.#words.text("page.file.opened", { file: name }));
  }

  /** Opens the sheet that the address has, if it has one: once, a reload shows what became of it. */
  async #openLink() {
    const { hash } = location;
    if (!hasSheet(hash)) return;
    history.replaceState(history.state, "", "#table");
    this.#places.follow();
    const text = await sheetOf(hash);
    const name = this.#words.text("page.link.name");
    if (text === undefined) this.#notices.show("file", "trouble", this.#words.text("page.link.damaged"));
    else this.#openSheet(name, text);
  }

  async #copyLink() {
    const words = this.#words;
    const { sheet } = this.#report;
    if (!sheet) return;
    const link = await linkTo(JSON.stringify(sheet));
    try {
      await navigator.clipboard.writeText(link);
      this.#notices.show("link", "note", words.text("page.link.copied"), [words.text("page.link.has")]);
    } catch {
      // No clipboard for this page: the link is there to be copied by hand.
      const field = make("input", { type: "text", readonly: true, value: link, "aria-label": words.text("page.link.name") });
      this.#notices.show("link", "note", words.text("page.link.here"), [field, words.text("page.link.has")]);
      field.select();
    }
  }

  /** @param {CardDesk} desk of its kind @param {string} name @param {string} text */
  #openCard(desk, name, text) {
    const problems = desk.open(text);
    if (problems.length > 0) {
      this.#refuse(name, problems);
      return;
    }
    this.#changed(`open ${name}`);
    this.#notices.show("file", "note", this.#words.text("page.file.opened", { file: name }));
  }

  /** @param {string} name @param {string} text */
  #openHabits(name, text) {
    const problems = this.#workshop.setHabits(text);
    if (problems.length > 0) {
      this.#refuse(name, problems);
      this.#workshop.setHabits(this.#work.habits.text());
      return;
    }
    this.#work.habits.load(this.#workshop.report().habits);
    this.#changed(`open ${name}`);
    this.#notices.show("file", "note", this.#words.text("page.file.opened", { file: name }));
  }

  /** Says why a file was not taken. @param {string} file @param {readonly Problem[]} problems */
  #refuse(file, problems) {
    const words = this.#words;
    const lines = problems.map((problem) => {
      const parts = [];
      // What concerns the whole file names its line itself.
      if (typeof problem.line === "number" && problem.field !== "")
        parts.push(words.text("page.file.line", { line: String(problem.line) }));
      if (problem.field !== "") parts.push(`${fieldTrail(words, problem.field)} (${problem.field})`);
      if (problem.value !== "") parts.push(words.text("page.file.value", { value: problem.value }));
      return [...parts, words.message(problem.message)].join(": ");
    });
    this.#notices.show("file", "trouble", words.text("page.file.refused", { file }), lines);
  }

  /** The core broke down. What was typed is still here and can be saved. */
  #stop() {
    if (this.#stopped) return;
    this.#stopped = true;
    this.trouble(this.#words.text("page.trouble.stopped"));
  }

  #save() {
    if (this.#stopped) {
      save(fileName(String(this.#work.sheet.get("name") ?? ""), "sack.json"), `${this.#work.sheet.text()}\n`);
      return;
    }
    const name = fileName(String(this.#report.sheet?.name ?? ""), "sack.json");
    save(name, `${JSON.stringify(this.#report.sheet, undefined, 2)}\n`);
    const key = this.#troubled ? "page.file.saved_last" : "page.file.saved";
    // A sheet with mistakes in it is not in the file.
    if (!this.#troubled) this.#work.keep();
    this.#notices.show("file", "note", this.#words.text(key, { file: name }));
  }
}

/** A new revision: the mark after the last one's, and today. @param {readonly {mark?: unknown}[]} before */
function nextRevision(before) {
  const last = String(before.at(-1)?.mark ?? "");
  const number = /^\d+$/.test(last) ? String(Number(last) + 1) : "";
  const letter = /^[A-Y]$/.test(last) ? String.fromCharCode(last.charCodeAt(0) + 1) : "";
  return { mark: last === "" ? "A" : number || letter, date: new Date().toISOString().slice(0, 10), by: "", note: "" };
}

/** Tells problems apart. @param {Problem} problem */
function keyOf({ field, message }) {
  return `${field} ${message.key}`;
}

/** The format that a file says it has; "" when it says none. @param {string} text */
function formatOf(text) {
  try {
    const { format } = parseFile(text);
    return typeof format === "string" ? format : "";
  } catch {
    // The core says what is wrong with it.
    return "";
  }
}

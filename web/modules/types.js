/**
 * The shapes that cross the boundary to the core, by the names the page uses. Lengths in mm, masses in kg unless a
 * key says otherwise. What the glue types loosely (figures, sheets) is written out here as far as the page reads it.
 *
 * @typedef {import("../pkg/sackwright_page.js").Arg} Arg
 * @typedef {Exclude<Arg["kind"], "text" | "word">} Quantity
 * @typedef {import("../pkg/sackwright_page.js").Message} Message
 * @typedef {import("../pkg/sackwright_page.js").Problem} Problem
 * @typedef {import("../pkg/sackwright_page.js").Cure} Cure
 * @typedef {import("../pkg/sackwright_page.js").Finding} Finding
 * @typedef {import("../pkg/sackwright_page.js").Silent} Silent
 * @typedef {import("../pkg/sackwright_page.js").Report} Report
 * @typedef {Finding["severity"]} Severity
 * @typedef {Report["stages"][number]} Stage
 * @typedef {{ply_over: number, ply_under: number, from_mm: number, to_mm: number}} Contact
 * @typedef {{flap_depth_mm: number, [key: string]: unknown}} EndFigures
 * @typedef {{a: number, b: number}} Rims
 * @typedef {{index: number, web_width_mm: number, side_folds_mm: number[], cut_area_mm2: number, mass_g: number,
 *   rims_mm: Record<End, Rims>}} PlyFigures
 * @typedef {{valve_end: EndFigures, plain_end: EndFigures, plies: PlyFigures[], lap_map: Record<End, Contact[]>,
 *   [key: string]: unknown}} Figures
 * @typedef {Record<string, any>} Plain
 * @typedef {import("../pkg/sackwright_desk.js").FillAnswer} FillAnswer
 * @typedef {import("../pkg/sackwright_desk.js").Rest} Rest
 * @typedef {import("../pkg/sackwright_desk.js").AtRest} AtRest
 * @typedef {import("../pkg/sackwright_desk.js").Upright} Upright
 * @typedef {import("../pkg/sackwright_desk.js").Stack} Stack
 * @typedef {import("../pkg/sackwright_desk.js").FilledMesh} FilledMesh
 * @typedef {import("../pkg/sackwright_desk.js").FilmFrame} FilmFrame
 * @typedef {import("../pkg/sackwright_desk.js").StackAnswer & {mesh: FilledMesh | undefined}} StackAnswer
 * @typedef {StackAnswer & {stack: Stack}} Stacked in one of the ways
 * @typedef {import("../pkg/sackwright_desk.js").SizingRow} SizingRow
 * @typedef {import("../pkg/sackwright_desk.js").SizingTable} SizingTable
 * @typedef {{table: SizingTable, spread: Float32Array}} SizingFound `spread`: paper in
 *   g, sacks on the pallet and findings to stop at, of every candidate
 * @typedef {import("../pkg/sackwright_desk.js").Detail} Detail
 * @typedef {"valve_end" | "plain_end"} End
 * @typedef {"table" | "board" | "bench"} Place
 *
 * What the desk's worker is asked, by kind, and what comes back, part by part.
 * @typedef {{fill: {sheet: string, details: readonly Detail[]}, pallet: {sheet: string, pallet: string},
 *   film: {sheet: string}, order: {}, sizing: {order: string}}} DeskQuestions
 * @typedef {{fill: FillAnswer, pallet: StackAnswer, film: FilmFrame, order: Record<string, any>,
 *   sizing: {problems: Problem[]} | SizingFound}} DeskAnswers
 * @typedef {{module: WebAssembly.Module} | {ask: number, kind: keyof DeskQuestions, question: unknown}
 *   | {cancel: number}} ToWorker
 * @typedef {{id: number, what: "progress", share: number} | {id: number, what: "part", part: any}
 *   | {id: number, what: "done"} | {id: number, what: "trouble" | "broken", text: string}} ToPage
 * @typedef {{progress: (share: number) => void, part: (part: unknown, transfer?: Transferable[]) => void}} Tell
 */
export {};

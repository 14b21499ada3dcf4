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
 * @typedef {{index: number, web_width_mm: number, cut_area_mm2: number, mass_g: number,
 *   rims_mm: Record<End, Rims>}} PlyFigures
 * @typedef {{valve_end: EndFigures, plain_end: EndFigures, plies: PlyFigures[], lap_map: Record<End, Contact[]>,
 *   [key: string]: unknown}} Figures
 * @typedef {Record<string, any>} Plain
 * @typedef {"valve_end" | "plain_end"} End
 * @typedef {"table" | "board" | "bench"} Place
 */
export {};

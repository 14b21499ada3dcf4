/** How the sack is drawn. `thickness` is a factor on the paper's own thickness, 1 (true) to 20. */
export interface Look { dark: boolean; thickness: number; plain: boolean }
/** A named view. */
export type View = "whole" | "above" | "below" | "side" | "valve-end" | "plain-end" | "corner";
/** What lies under a point of the canvas: panel name, its key in the words table, paper coordinates in mm. */
export interface Picked {
  part: string; word: string; end: "valve_end" | "plain_end" | null; ply: number | null;
  side: "outer" | "inner" | "edge"; paper: [number, number];
}
/** A point on the canvas in CSS px, and whether the eye sees what lies there. */
export interface CanvasPoint { x: number; y: number; visible: boolean }
/** A pallet of boards under a stack: its top is at z = 0, its middle at x = y = 0, mm. */
export interface Board { length_mm: number; width_mm: number; height_mm: number }
/** What would make a finding good, and what gets worse for it. */
export interface Cure {
  message: Message; set: { field: string; value: number }[]; worsens: { rule: string; place: string; severity: "stop" | "look" }[];
}
/** What a rule is about: does the sack go on the line, can it be made, does the product go in; or is it a caution. */
export type Topic = "line" | "make" | "fill" | "pallet" | "care";
/** What one rule says of the sack. */
export interface Finding {
  rule: string; topic: Topic; severity: "stop" | "look" | "good"; place: string; value: Arg | null; limit: Arg | null;
  source: string; certainty: "sure" | "usual" | "guess"; message: Message; cure: Cure | null;
}
/** A rule that says nothing of the sack, and why. */
export interface Silent { rule: string; topic: Topic; kind: "lacks" | "not-applicable"; message: Message }
/** What the core says: `sheet`, `line`, `figures`, `findings`, `silent` and `stages` of the last good sheet and cards. */
export interface Report {
  problems: Problem[]; habits_problems: Problem[];
  sheet: Record<string, any> | null; line: Record<string, any> | null;
  habits: Record<string, any>; figures: Record<string, any> | null;
  findings: Finding[]; silent: Silent[]; stages: { name: string; captions: { what: string; why: string; watch: string } }[];
  caption_figures: Record<string, Arg>;
}
/** Of a report what is not as it was in the last; an item of a list that was there already is the number of its place there. */
export type News = { [Part in keyof Report]?: Report[Part] extends (infer Item)[] ? (Item | number)[] : Report[Part] };

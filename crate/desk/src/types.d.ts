/** How fine the mesh of the filled shape is. */
export type Detail = "coarse" | "fine" | "finest";
/** What the bottoms are taken to be: flat and rigid, or as free to wrinkle and bulge as the walls. */
export type Bottoms = "stiff" | "free";
/** Where the paper is tightest, and how tight: tension over pressure in mm. */
export interface Tightest { panel: string; at_mm: [number, number, number]; tension_mm: number }
/** How far an answer may be trusted. */
export interface Trust {
  largest_stretch: number; lower_bound_l: number; volume_residual: number; iterations: number; vertices: number;
  mesh_mm: number; change_from_coarser: number | null; converged: boolean;
}
/** What every filled shape has. */
export interface Shape {
  volume_l: number; thickness_mm: number; length_mm: number; width_mm: number; wrinkled_share: number; tightest: Tightest;
}
/** The fully inflated sack. */
export interface Capacity extends Shape { trust: Trust }
/** The filled sack lying on a floor. */
export interface Lying extends Shape { contact_cm2: number; head_mm: number; trust: Trust }
/** The filled sack pressed between two level plates. */
export interface Pressed extends Shape { gap_mm: number; contact_cm2: number; trust: Trust }
/** A sack lying, or pressed: then its thickness is the plates' distance. */
export interface AtRest { thickness_mm: number; length_mm: number; width_mm: number; contact_cm2: number }
/** A volume in the sack, and how the sack lies and is pressed with it; null where that is not computed. */
export interface Amount { volume_l: number; ratio: number; lying: AtRest | null; pressed: AtRest | null }
/** A sack standing on its plain bottom, or hanging on the spout; `level_mm` below the valve bottom stays the product. */
export interface Upright { length_mm: number; width_mm: number; thickness_mm: number; level_mm: number }
/** What a filling leaves of the capacity, and the length and face width that would bring that into the range. */
export interface Headroom {
  share: number; asked: { least: number; most: number }; length_mm: number | null; face_width_mm: number | null;
}
/** A sack filled with its contents. */
export interface Filled {
  bottoms: Bottoms; capacity: { stiff_l: number; free_l: number };
  content: {
    mass_kg: number | null; filling: Amount; settled: Amount | null; standing: Upright | null; hanging: Upright | null;
    headroom: Headroom;
  } | null;
  trust: Trust;
}
/** An amount in the sack, and the sack at rest with it. */
export interface Rest { name: "filling" | "settled"; amount: Amount; lying: Lying | null; pressed: Pressed | null }
/** What is told of a filled sack: `full` is the inflated one, `rests` as filled and, when that differs, as settled. */
export interface FillAnswer { detail: Detail; filled: Filled; full: Capacity; rests: Rest[] }
/** Where a sack's middle lies in a layer, from a corner of the pallet's top, and its quarter turns seen from above. */
export interface Placed { x_mm: number; y_mm: number; quarter_turns: number }
/** Filled sacks on a pallet: `layers` from below, each in one of the `patterns`. */
export interface Stack {
  sack: { length_mm: number; width_mm: number; gap_mm: number; mass_kg: number };
  sacks_per_layer: number; most_per_layer: number; proven: boolean; patterns: Placed[][];
  layers: { pattern: number; z_mm: number }[]; ended_by: "height" | "mass" | "layers" | "no-room";
  sacks: number; load_kg: number; gross_mass_kg: number; total_height_mm: number;
  overhang_mm: { length_mm: number; width_mm: number }; area_used: number; binding: number;
  leeway: { looked_mm: number; longer_mm: number; wider_mm: number; shorter_mm: number | null; narrower_mm: number | null };
}
/** Ways to stack, the one that binds best first, on the pallet of the card; and why there is none when there is none. */
export interface StackAnswer {
  pallet: Record<string, any>; stacks: Stack[]; why: "no_contents" | "not_pressed" | null;
}
/**
 * A frame of the film: its positions and, while there is one, the spout's; with the first frame what all have in common, and
 * about where they will lie: points, three numbers (mm) each, the last eight those of the last frame.
 */
export interface FilmFrame {
  index: number; frames: number; positions: Float32Array; spout: Float32Array | null;
  common: { mesh: FilledMesh; spout: SpoutMesh; reach: Float32Array } | null;
}
/** A size for an order; `set`: the fields in which its sheet differs from the order's. Without `confirmed` it is estimated. */
export interface SizingRow {
  rank: number; score: number; face_width_mm: number; length_mm: number; bottom_width_mm: number;
  set: { field: string; value: number }[]; paper_g: number; paper_bought_g: number; capacity_l: number; headroom: number;
  filled: { length_mm: number; width_mm: number; gap_mm: number; mass_kg: number } | null;
  on_pallet: {
    sacks_per_layer: number; proven: boolean; layers: number; ended_by: "height" | "mass" | "layers" | "no-room";
    sacks: number; product_kg: number; area_used: number; total_height_mm: number; binding: number | null;
  } | null;
  findings: { stop: number; look: number; good: number };
  worst: { rule: string; severity: "stop" | "look"; message: Message } | null; on_front: boolean; confirmed: boolean;
}
/** Sizes for an order, best first, and why others were left out; errors of what is estimated, as shares. */
export interface SizingTable {
  progress: { screened: number; total: number; kept: number };
  left_out: { too_small: number; too_large: number; not_a_sack: number; not_estimated: number };
  confirmed: number; to_confirm: number; capacity_error: number; pressed_error: number; limp_error: number;
  rows: SizingRow[];
}

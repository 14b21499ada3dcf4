/** A point of the valve bottom in mm: x across the face, y from the centre line towards the sack's end. */
export type Spot = [number, number];
/** The measures that place the valve sleeve, as on the sheet. */
export interface SleevePlace { outer_end_mm: number; offset_from_centre_mm: number; skew_deg: number; length_mm: number }
/** A distance beside the sleeve. */
export interface SleeveDistance {
  key: "end_edge" | "free" | "far_pocket" | "end_side" | "middle_side" | "seam" | "spout_round" | "spout_fold" | "spout_past";
  value_mm: number; limit_mm: number | null; severity: "stop" | "look" | "good" | null; line: [Spot, Spot] | null;
}
/** Where the spout touches, from the end edge inwards along it. */
export interface SpoutTouch {
  what: "end_side" | "middle_side" | "end_fold" | "middle_fold" | "own_pocket" | "far_pocket"; from_mm: number; to_mm: number; line: [Spot, Spot];
}
/** The valve sleeve in its bottom; the room is where the middle of its outer end may lie. */
export interface Placing {
  side: "left" | "right"; sign: number; place: SleevePlace;
  bottom: {
    outline: Spot[]; end_edges: [Spot, Spot][]; pocket_rims: [Spot, Spot][]; flap_rims: [Spot, Spot][];
    patch: Spot[] | null; seam_mm: [number, number];
  };
  sleeve: Spot[]; ends: [Spot, Spot];
  spout: { depth_mm: number; reach_mm: number; outline: Spot[]; touches: SpoutTouch[] } | null;
  distances: SleeveDistance[]; room: { good: Spot[][]; possible: Spot[][] };
  ranges: Record<keyof SleevePlace, [number, number][]>;
}
/**
 * The spout as a solid in the sack's frame: x, y, z of every vertex (mm) and its normal, three vertices a triangle, the
 * first `within` triangles being the outside within the valve; two points for each line along which it touches.
 */
export interface SpoutSolid {
  positions: Float32Array; normals: Float32Array; triangles: Uint32Array; within: number; touches: Float32Array;
}
/** How a drawing at 1:1 falls onto sheets of paper, of which those with nothing on them are left out; mm from its upper left corner. */
export interface Tiling {
  window: number; columns: number; rows: number;
  tiles: {
    column: number; row: number; left_mm: number; top_mm: number;
    /** Where it is joined: left, top, right and bottom. */
    joints_mm: [number, number, number, number];
    crosses_mm: [number, number][];
    seen_mm: [number, number, number, number];
  }[];
  /** How far the arms of a cross reach. */
  arm_mm: number;
  /** Names of the parts that can be laid onto sheets alone. */
  parts: string[];
  /** How far the title block is moved to the right and down from where the drawing has it. */
  title_block_by_mm: [number, number];
}

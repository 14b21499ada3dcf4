/**
 * A filled shape as plain arrays, one entry per vertex. Frame of the core's `FilledMesh`: x across the face, y along the
 * sack towards the valve end, z up, mm; lying, z = 0 is the floor. Where `panels` is 0 (upper wall), 1 (side) or 2 (lower
 * wall), `paper` is s round the sack from the middle of wall A and y along it; where it is 3 (valve-end bottom) or 4
 * (plain-end bottom), x across the face and the distance from the bottom's edge on wall A, mm. Panels share no vertices;
 * triangles are counter-clockwise seen from outside.
 */
export interface FilledMesh { positions: Float32Array; paper: Float32Array; panels: Uint8Array; triangles: Uint32Array }
/** What of a film's spout stays while it moves: normals, three numbers a vertex, and triangles counter-clockwise seen from outside. */
export interface SpoutMesh { normals: Float32Array; triangles: Uint32Array }
/** A quantity with its dimension, what a person typed, or a word of the words table. */
export type Arg =
  | { kind: "length" | "mass" | "mass_small" | "volume" | "area" | "angle" | "ratio" | "count" | "density" | "rate"
      | "grammage" | "number" | "time"; value: number }
  | { kind: "text"; text: string }
  | { kind: "word"; key: string };
/** A key of the words table with what fills its placeholders. */
export interface Message { key: string; args: Record<string, Arg> }
/** Why a file can't be taken; `field` is a path, empty for the whole file; `value` is JSON text. */
export interface Problem { field: string; value: string; line: number | null; message: Message }

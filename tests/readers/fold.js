// Folds the crease patterns of FOLD files with an origami library that knows nothing of sacks, and compares: each folded
// state by its fold angles in space, and the closed sack once more by the library's flat folding.

import { readFile } from "node:fs/promises";
import { basename } from "node:path";
import ear from "rabbit-ear";

/** mm: coordinates in the files are rounded to 1e-9; sums over some ten faces stay far below this. */
const NEAR = 1e-5;

const subtract = (a, b) => a.map((x, i) => x - b[i]);
const dot = (a, b) => a.reduce((sum, x, i) => sum + x * b[i], 0);
const cross = (a, b) => [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
const unit = (a) => a.map((x) => x / Math.hypot(...a));

/** Points as seen from a face: its first corner, first side and normal are the axes. */
function seenFrom(face, points) {
  const [origin, along, other] = face.map((vertex) => points[vertex]);
  const x = unit(subtract(along, origin));
  const z = unit(cross(x, subtract(other, origin)));
  const axes = [x, cross(z, x), z];
  return points.map((point) => axes.map((axis) => dot(axis, subtract(point, origin))));
}

const in3d = (points) => points.map(([x, y, z = 0]) => [x, y, z]);

/** How far two sets of points, each seen from the same face, are apart at most. */
function apart(face, ours, theirs) {
  const [a, b] = [seenFrom(face, ours), seenFrom(face, theirs)];
  return Math.max(...a.map((point, i) => Math.hypot(...subtract(point, b[i]))));
}

const files = process.argv.slice(2);
if (files.length === 0) throw new Error("name at least one .fold file");
let faults = 0;
for (const file of files) {
  const { file_frames: frames, ...pattern } = JSON.parse(await readFile(file, "utf8"));
  const graph = ear.graph.populate(structuredClone(pattern));
  // A face whose first three corners are no straight line, to look from.
  const root = pattern.faces_vertices.findIndex((face) => {
    const [a, b, c] = face.map((vertex) => pattern.vertices_coords[vertex]);
    return Math.abs((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])) > 1;
  });
  const face = pattern.faces_vertices[root];
  let worst = 0;
  for (const frame of frames) {
    const turned = { ...graph, edges_foldAngle: frame.edges_foldAngle, edges_assignment: frame.edges_assignment };
    const theirs = ear.graph.makeVerticesCoordsFolded(turned, root);
    worst = Math.max(worst, apart(face, frame.vertices_coords, theirs));
  }
  const flat = in3d(ear.graph.makeVerticesCoordsFlatFolded(graph, root));
  const flatness = apart(face, frames.at(-1).vertices_coords, flat);
  console.log(
    `${basename(file)}: ${pattern.vertices_coords.length} corners, ${pattern.faces_vertices.length} faces, ` +
      `${frames.length} states; furthest apart ${worst.toExponential(1)} mm, flat ${flatness.toExponential(1)} mm`,
  );
  // Not "greater than": what is no number is a fault too.
  if (!(worst <= NEAR && flatness <= NEAR)) {
    console.error(`  more than ${NEAR} mm`);
    faults += 1;
  }
}
process.exit(faults === 0 ? 0 : 1);

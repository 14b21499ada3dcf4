//! The film's mesh: the whole closed surface, with a line of vertices along every crease that the flat sack and the filled
//! one have, and each vertex's place in the folded flat sack.
//!
//! The closed flat sack is isometric to the box's surface (geometry of the block-bottom sack, section 7), so its vertices
//! are in closed form: the walls lie flat up to the fold-back lines, where wall A's end comes back over the wall, and beyond
//! the pocket creases of 45 degrees the corner triangles P-R-R' lie as the pockets' upper layer. Layers are held apart by a
//! small gap that runs out towards the corner apex P, where all of them meet.
//!
//! As in [`super::mesh`] the surface is covered with rectangles cut by both diagonals. Near an end they are squares of the bottom's
//! width over an even number, so that diagonals run along the pocket creases. Half the sack is kept, x >= 0: left and
//! right are mirror images.

use super::mesh::{Panel, Sizes};
use super::result::FilledMesh;
use super::surface::{Motion, PlateVertices, Surface, flat_triangle};

/// Half of the sack's closed surface.
#[derive(Clone, Debug)]
pub(crate) struct FilmMesh {
    sizes: Sizes,
    /// Columns from the middle to the corner, and from there to the side fold.
    columns: [usize; 2],
    /// Rows between the two ends' zones, each a bottom wide.
    rows: usize,
    gap: f64,
    pieces: Vec<Piece>,
    vertices: usize,
}

/// A rectangle of the lattice of walls or of a bottom.
#[derive(Clone, Debug)]
struct Piece {
    panel: Panel,
    counts: [usize; 2],
    corners: Vec<u32>,
    centres: Vec<u32>,
    /// On the paper, as [`FilledMesh::paper`] has it: corners, then centres.
    paper: Vec<[f64; 2]>,
}

/// The lattice of the walls, from the middle of wall A round to the middle of wall B.
struct Walls {
    corners: Vec<u32>,
    /// s and y on the paper.
    paper: Vec<[f64; 2]>,
    width: usize,
}

impl FilmMesh {
    /// A mesh with `share` squares from the corner to the side fold, and rectangles about as large, or a sixteenth of the
    /// face width over half of `share`; layers of the flat sack lie `gap` mm apart.
    pub(crate) fn new(sizes: Sizes, share: usize, gap: f64) -> Self {
        let mean = f64::midpoint(sizes.bottoms[0], sizes.bottoms[1]);
        // Narrow bottoms leave the walls their usual mesh.
        let edge = (mean / 2.0).max(sizes.face_width / 8.0) / share as f64;
        let count = |length: f64| (length / edge + 0.5).floor().clamp(1.0, 60.0) as usize;
        let columns = [count((sizes.face_width - mean) / 2.0), share];
        let rows = count(sizes.length - 2.0 * mean);
        let mut mesh = Self { sizes, columns, rows, gap, pieces: Vec::new(), vertices: 0 };
        mesh.lay_out();
        mesh
    }

    fn lay_out(&mut self) {
        let [inner, outer] = self.columns;
        let width = 2 * (inner + outer);
        let height = 4 * outer + self.rows;
        let mut next = 0_u32;
        let mut new = || {
            next += 1;
            next - 1
        };
        let mut walls = Walls { corners: Vec::new(), paper: Vec::new(), width };
        for row in 0..=height {
            for column in 0..=width {
                walls.corners.push(new());
                walls.paper.push(self.on_wall(column, row));
            }
        }
        let bands = [
            (Panel::Upper, 0, inner),
            (Panel::Side, inner, inner + 2 * outer),
            (Panel::Lower, inner + 2 * outer, width),
        ];
        let mut pieces = Vec::new();
        for (panel, from, to) in bands {
            let at = (0..=height).flat_map(|row| (from..=to).map(move |column| row * (width + 1) + column));
            let (corners, paper) = at.map(|at| (walls.corners[at], walls.paper[at])).unzip();
            pieces.push(Piece { panel, counts: [to - from, height], corners, centres: Vec::new(), paper });
        }
        for (panel, row) in [(Panel::ValveBottom, height), (Panel::PlainBottom, 0)] {
            let bottom = self.sizes.bottoms[usize::from(panel == Panel::PlainBottom)];
            let half = (self.sizes.face_width - bottom) / 2.0;
            let (mut corners, mut paper) = (Vec::new(), Vec::new());
            for down in 0..=2 * outer {
                for across in 0..=inner {
                    // The edges are the walls' last row.
                    let column = match (down, across) {
                        (0, across) => Some(across),
                        (down, across) if down == 2 * outer => Some(width - across),
                        (down, across) if across == inner => Some(inner + down),
                        _ => None,
                    };
                    corners.push(column.map_or_else(&mut new, |column| walls.at(column, row)));
                    let share = |k: usize, n: usize| k as f64 / n as f64;
                    paper.push([half * share(across, inner), bottom * share(down, 2 * outer)]);
                }
            }
            pieces.push(Piece { panel, counts: [inner, 2 * outer], corners, centres: Vec::new(), paper });
        }
        for piece in &mut pieces {
            let [nx, ny] = piece.counts;
            for j in 0..ny {
                for i in 0..nx {
                    piece.centres.push(new());
                    let around = [0, 1, nx + 1, nx + 2].map(|k| piece.paper[j * (nx + 1) + i + k]);
                    let mean = |c: usize| around.iter().map(|at| at[c]).sum::<f64>() / 4.0;
                    piece.paper.push([mean(0), mean(1)]);
                }
            }
        }
        self.vertices = next as usize;
        self.pieces = pieces;
    }

    /// Where on the paper a corner of the walls' lattice is.
    fn on_wall(&self, column: usize, row: usize) -> [f64; 2] {
        let [inner, outer] = self.columns;
        let [valve, plain] = self.sizes.bottoms;
        let zone = 2 * outer;
        let share = |k: usize, n: usize| k as f64 / n as f64;
        let half_length = self.sizes.length / 2.0;
        // y, and the width between the two columns that run to the bottoms' corners.
        let (y, b) = if row <= zone {
            (plain * share(row, zone) - half_length, plain)
        } else if row >= zone + self.rows {
            (half_length - valve * share(2 * zone + self.rows - row, zone), valve)
        } else {
            let t = share(row - zone, self.rows);
            let (from, to) = (plain - half_length, half_length - valve);
            (from + (to - from) * t, plain + (valve - plain) * t)
        };
        let across = |column: usize| {
            let a = (self.sizes.face_width - b) / 2.0;
            if column <= inner { a * share(column, inner) } else { a + b / 2.0 * share(column - inner, outer) }
        };
        let fold = inner + outer;
        let s = if column <= fold { across(column) } else { self.sizes.face_width - across(2 * fold - column) };
        [s, y]
    }

    /// See [`Sizes::facet_stretch`].
    pub(crate) fn facet_stretch(&self) -> f64 {
        let [inner, outer] = self.columns;
        self.sizes.facet_stretch(inner, 2 * outer)
    }

    pub(crate) const fn sizes(&self) -> Sizes {
        self.sizes
    }

    /// y of the flat sack's lower end.
    pub(crate) fn foot(&self) -> f64 {
        let (line, _, width) = self.end(false);
        line - width / 2.0
    }

    /// The vertices of the valve bottom's middle line.
    pub(crate) fn valve_row(&self) -> Vec<u32> {
        let [inner, outer] = self.columns;
        self.pieces[3].corners[outer * (inner + 1)..][..=inner].to_vec()
    }

    /// Where every vertex is in the folded flat sack, in the sack's frame (see `fold`).
    pub(crate) fn flat(&self) -> Vec<[f64; 3]> {
        self.places(|panel, at| if panel.is_bottom() { self.flat_bottom(panel, at) } else { self.flat_wall(at) })
    }

    /// Positions from panel and place on the paper.
    fn places(&self, place: impl Fn(Panel, [f64; 2]) -> [f64; 3]) -> Vec<[f64; 3]> {
        let mut positions = vec![[0.0; 3]; self.vertices];
        for piece in &self.pieces {
            for (&vertex, &at) in piece.vertices().zip(&piece.paper) {
                positions[vertex as usize] = place(piece.panel, at);
            }
        }
        positions
    }

    /// y of an end's centre line in the sack's frame, its outward direction, and its bottom's width.
    fn end(&self, valve: bool) -> (f64, f64, f64) {
        let [v, p] = self.sizes.bottoms;
        if valve { (0.0, 1.0, v) } else { (f64::midpoint(v, p) - self.sizes.length, -1.0, p) }
    }

    fn flat_bottom(&self, panel: Panel, [x, down]: [f64; 2]) -> [f64; 3] {
        let (y, sign, b) = self.end(panel == Panel::ValveBottom);
        [x, y + sign * (down - b / 2.0), 3.0 * self.gap]
    }

    fn flat_wall(&self, [s, y]: [f64; 2]) -> [f64; 3] {
        let h = self.sizes.face_width / 2.0;
        let wall_a = s <= h;
        // From the side fold.
        let a = (h - s).abs();
        let taper = |from: f64| (from / (self.sizes.bottoms[0].max(self.sizes.bottoms[1]) / 2.0)).min(1.0) * self.gap;
        let y = y + f64::midpoint(self.sizes.bottoms[0], -self.sizes.length);
        let (line, sign, b) = self.end(y > self.end(true).0);
        // Beyond the fold-back line.
        let e = sign * (y - line);
        let side = if wall_a { -sign } else { sign };
        if e <= 0.0 {
            return [h - a, y, if wall_a { taper(a) } else { 0.0 }];
        }
        let share = e / (b / 2.0);
        if a >= e {
            let z = if wall_a { (1.0 - share) * taper(a - e) } else { 0.0 };
            [h - a, line + side * e, 3.0 * self.gap * share + z]
        } else {
            [h - e, line + side * a, 3.0 * self.gap * share]
        }
    }

    /// The surface to solve for, as a box, stiff bottoms upright.
    pub(crate) fn surface(&self, stiff: bool) -> Surface {
        let start = self.places(|panel, at| self.on_box(panel, at));
        let mut triangles = Vec::new();
        let mut plates = Vec::new();
        let mut plate_of = vec![None; self.vertices];
        for piece in &self.pieces {
            let rigid = stiff && piece.panel.is_bottom();
            triangles.extend(piece.triangles().filter_map(|corners| {
                let paper = corners.map(|corner| piece.paper[corner as usize]);
                flat_triangle(corners.map(|corner| piece.vertex(corner)), &paper, rigid)
            }));
            if rigid {
                let vertices: Vec<u32> = piece.vertices().copied().collect();
                for &vertex in &vertices {
                    plate_of[vertex as usize] = u32::try_from(plates.len()).ok();
                }
                plates.push(PlateVertices { vertices, motion: Motion::Tilting });
            }
        }
        let held = start.iter().map(|at| [at[0] == 0.0, false, false]).collect();
        Surface { start, held, triangles, plates, plate_of, copies: 2.0 }
    }

    fn on_box(&self, panel: Panel, [s, y]: [f64; 2]) -> [f64; 3] {
        let half = self.sizes.length / 2.0;
        if panel.is_bottom() {
            let b = self.sizes.bottoms[usize::from(panel == Panel::PlainBottom)];
            return [s, if panel == Panel::ValveBottom { half } else { -half }, b / 2.0 - y];
        }
        let [valve, plain] = self.sizes.bottoms;
        let b = plain + (valve - plain) * (y / self.sizes.length + 0.5);
        let a = (self.sizes.face_width - b) / 2.0;
        if s <= a {
            [s, y, b / 2.0]
        } else if s >= a + b {
            [self.sizes.face_width - s, y, -b / 2.0]
        } else {
            [a, y, b / 2.0 - (s - a)]
        }
    }

    /// The whole surface at positions of the half's vertices.
    pub(crate) fn filled(&self, positions: &[[f64; 3]]) -> FilledMesh {
        let mut mesh = FilledMesh::default();
        for piece in &self.pieces {
            for sign in [1.0, -1.0] {
                let first = mesh.positions.len() as u32;
                for (&vertex, &[s, y]) in piece.vertices().zip(&piece.paper) {
                    let [x, along, z] = positions[vertex as usize];
                    mesh.positions.push([sign * x, along, z]);
                    mesh.paper.push([sign * s, y]);
                    mesh.panel.push(piece.panel);
                }
                mesh.triangles.extend(piece.triangles().map(|corners| {
                    let [a, b, c] = corners.map(|corner| first + corner);
                    if sign > 0.0 { [a, b, c] } else { [b, a, c] }
                }));
            }
        }
        mesh
    }
}

impl Walls {
    fn at(&self, column: usize, row: usize) -> u32 {
        self.corners[row * (self.width + 1) + column]
    }
}

impl Piece {
    fn vertices(&self) -> impl Iterator<Item = &u32> {
        self.corners.iter().chain(&self.centres)
    }

    fn vertex(&self, at: u32) -> u32 {
        let at = at as usize;
        if at < self.corners.len() { self.corners[at] } else { self.centres[at - self.corners.len()] }
    }

    /// Triangles by position among the piece's vertices, counter-clockwise seen from outside.
    fn triangles(&self) -> impl Iterator<Item = [u32; 3]> {
        let [nx, ny] = self.counts;
        let (first, turned) = (self.corners.len(), self.panel == Panel::PlainBottom);
        (0..ny).flat_map(move |j| (0..nx).map(move |i| (i, j))).flat_map(move |(i, j)| {
            let a = j * (nx + 1) + i;
            let corners = [a, a + 1, a + nx + 2, a + nx + 1];
            (0..4).map(move |k| {
                let (a, b) = (corners[k] as u32, corners[(k + 1) % 4] as u32);
                let centre = (first + j * nx + i) as u32;
                if turned { [b, a, centre] } else { [a, b, centre] }
            })
        })
    }
}

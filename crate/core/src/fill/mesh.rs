//! The sack's surface as a mesh: the walls, W x L with side folds, and two bottoms, (W - B) x B, for equal and unequal
//! bottoms.
//!
//! The closed flat sack is isometric to this surface (geometry of the block-bottom sack, section 7). It is covered with
//! rectangles, each cut by both diagonals, whose sides run along the creases: triangles that cut the corners of a stiff
//! bottom would lock. With unequal bottoms the columns of the walls lean from corner to corner.
//!
//! Frame: x across the face, y along the sack towards the valve end, z up, wall A above; the origin is the middle.

use serde::Serialize;

use super::membrane::Triangle;
use super::surface::{Motion, PlateVertices, Surface, flat_triangle};
use crate::sheet::End;

/// The lengths that shape a sack's surface, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sizes {
    /// W.
    pub face_width: f64,
    /// L.
    pub length: f64,
    /// Widths of the valve end's bottom and the plain end's.
    pub bottoms: [f64; 2],
}

impl Sizes {
    /// Every length between a thousandth of a mm and a km, and both bottoms narrower than the face.
    pub(crate) fn are_sound(&self) -> bool {
        let sound = |length: f64| (1e-3..=1e6).contains(&length);
        let bottoms = self.bottoms.iter().all(|&width| sound(width) && width < self.face_width);
        sound(self.face_width) && sound(self.length) && bottoms
    }

    /// See [`Grid::facet_stretch`]: `across` cells from the middle of the face to the corner, `down` cells on a side.
    pub(crate) fn facet_stretch(&self, across: usize, down: usize) -> f64 {
        let mean = f64::midpoint(self.bottoms[0], self.bottoms[1]);
        let a = (self.face_width - mean) / 2.0;
        let (dx, dz) = (a / across as f64, mean / down as f64);
        let square = (a * dx * dx + mean / 2.0 * dz * dz) / (self.face_width / 2.0);
        let share = square / (self.face_width * self.face_width);
        1.0 + core::f64::consts::PI * core::f64::consts::PI / 36.0 * share
    }
}

/// Which mirror symmetries hold besides the one between left and right.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Mirrors {
    /// Between the two ends.
    pub ends: bool,
    /// Between the two walls.
    pub walls: bool,
}

/// A mesh of a sack's surface, in rectangles.
#[derive(Clone, Debug)]
pub(crate) struct Grid {
    sizes: Sizes,
    mirrors: Mirrors,
    /// Rectangles along x from the middle to the corner, along y, along z.
    cells: [usize; 3],
    pieces: Vec<Piece>,
    vertices: usize,
}

/// One rectangle of the surface, from the middle of the face outwards or from the upper edge downwards.
#[derive(Clone, Debug)]
struct Piece {
    panel: Panel,
    /// Cells along the first and second direction.
    counts: [usize; 2],
    corners: Vec<u32>,
    centres: Vec<u32>,
}

/// A piece as a mesh of its own.
pub(crate) struct PanelMesh {
    pub panel: Panel,
    /// Vertices of the surface, and where they are on the paper.
    pub vertices: Vec<(u32, [f64; 2])>,
    /// By position in `vertices`.
    pub triangles: Vec<[u32; 3]>,
}

/// What a piece of the surface belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Panel {
    /// The upper wall up to the box's edge, wall A.
    Upper,
    /// What turns into the side of the box, both walls, with the side fold in its middle.
    Side,
    /// The lower wall.
    Lower,
    /// The valve end's bottom.
    ValveBottom,
    /// The plain end's bottom.
    PlainBottom,
}

impl Panel {
    /// All, in the order of their numbers.
    pub const ALL: [Self; 5] = [Self::Upper, Self::Side, Self::Lower, Self::ValveBottom, Self::PlainBottom];
}

impl Grid {
    /// A mesh with rectangles of about `edge` mm.
    pub(crate) fn new(sizes: Sizes, mirrors: Mirrors, edge: f64) -> Self {
        let count = |length: f64| (length / edge + 0.5).floor().clamp(1.0, 400.0) as usize;
        let mean = f64::midpoint(sizes.bottoms[0], sizes.bottoms[1]);
        let nx = count((sizes.face_width - mean) / 2.0);
        let ny = count(sizes.length / 2.0) * if mirrors.ends { 1 } else { 2 };
        let nz = count(mean / 2.0) * if mirrors.walls { 1 } else { 2 };
        let mut grid = Self { sizes, mirrors, cells: [nx, ny, nz], pieces: Vec::new(), vertices: 0 };
        let mut table = vec![u32::MAX; (nx + 1) * (ny + 1) * (nz + 1)];
        let mut next = 0_u32;
        let mut piece = |panel: Panel, counts: [usize; 2], lattice: &dyn Fn(usize, usize) -> [usize; 3]| {
            let corners = (0..=counts[1]).flat_map(|j| (0..=counts[0]).map(move |i| (i, j))).map(|(i, j)| {
                let [x, y, z] = lattice(i, j);
                let entry = &mut table[(x * (ny + 1) + y) * (nz + 1) + z];
                if *entry == u32::MAX {
                    *entry = next;
                    next += 1;
                }
                *entry
            });
            let corners = corners.collect();
            let centres = (0..counts[0] * counts[1])
                .map(|_| {
                    next += 1;
                    next - 1
                })
                .collect();
            Piece { panel, counts, corners, centres }
        };
        let mut pieces =
            vec![piece(Panel::Upper, [nx, ny], &|i, j| [i, j, 0]), piece(Panel::Side, [nz, ny], &|i, j| [nx, j, i])];
        if !mirrors.walls {
            pieces.push(piece(Panel::Lower, [nx, ny], &|i, j| [nx - i, j, nz]));
        }
        pieces.push(piece(Panel::ValveBottom, [nx, nz], &|i, j| [i, ny, j]));
        if !mirrors.ends {
            pieces.push(piece(Panel::PlainBottom, [nx, nz], &|i, j| [i, 0, j]));
        }
        grid.pieces = pieces;
        grid.vertices = next as usize;
        grid
    }

    /// Whether another mesh has the same topology.
    pub(crate) fn is_like(&self, other: &Self) -> bool {
        self.cells == other.cells && self.mirrors == other.mirrors
    }

    /// The same mesh with its lengths a part of the way to another's.
    pub(crate) fn towards(&self, other: &Self, part: f64) -> Self {
        let (from, to) = (self.sizes, other.sizes);
        let way = |from: f64, to: f64| from + part * (to - from);
        let sizes = Sizes {
            face_width: way(from.face_width, to.face_width),
            length: way(from.length, to.length),
            bottoms: [0, 1].map(|end| way(from.bottoms[end], to.bottoms[end])),
        };
        Self { sizes, ..self.clone() }
    }

    pub(crate) const fn vertices(&self) -> usize {
        self.vertices
    }

    pub(crate) const fn mirrors(&self) -> Mirrors {
        self.mirrors
    }

    pub(crate) const fn sizes(&self) -> Sizes {
        self.sizes
    }

    /// The mean side of a rectangle, mm.
    pub(crate) fn edge(&self) -> f64 {
        let mean = f64::midpoint(self.sizes.bottoms[0], self.sizes.bottoms[1]);
        let [nx, ny, _] = self.cells.map(|count| count as f64);
        let dx = (self.sizes.face_width - mean) / 2.0 / nx;
        let dy = self.sizes.length / ny / if self.mirrors.ends { 2.0 } else { 1.0 };
        (dx * dy).sqrt()
    }

    /// The stretch that makes up for the facets: a round section of girth 2 W made of chords of length h holds
    /// 1 - pi^2 h^2/(12 W^2) of what it would smooth, and three directions share in it.
    pub(crate) fn facet_stretch(&self) -> f64 {
        let [nx, _, nz] = self.cells;
        self.sizes.facet_stretch(nx, if self.mirrors.walls { 2 * nz } else { nz })
    }

    /// The surface to solve for, beginning as a box.
    pub(crate) fn surface(&self, stiff: bool) -> Surface {
        let motion = if self.mirrors.walls { Motion::Along(1) } else { Motion::Tilting };
        self.covered(|panel| (stiff && panel.is_bottom()).then_some(motion))
    }

    /// The surface of the box; `motion` says how a panel moves if it is stiff.
    fn covered(&self, motion: impl Fn(Panel) -> Option<Motion>) -> Surface {
        let mut start = vec![[0.0; 3]; self.vertices];
        let mut triangles = Vec::new();
        let mut plates = Vec::new();
        let mut plate_of = vec![None; self.vertices];
        for piece in &self.pieces {
            self.visit(piece, |vertex, at| start[vertex as usize] = self.on_box(piece.panel, at));
            let motion = motion(piece.panel);
            self.triangles(piece, motion.is_some(), &mut triangles);
            if let Some(motion) = motion {
                let mut vertices = piece.corners.clone();
                vertices.extend(&piece.centres);
                for &vertex in &vertices {
                    plate_of[vertex as usize] = u32::try_from(plates.len()).ok();
                }
                plates.push(PlateVertices { vertices, motion });
            }
        }
        let held = start
            .iter()
            .map(|at| [at[0] == 0.0, self.mirrors.ends && at[1] == 0.0, self.mirrors.walls && at[2] == 0.0])
            .collect();
        let copies = 2.0 * if self.mirrors.ends { 2.0 } else { 1.0 } * if self.mirrors.walls { 2.0 } else { 1.0 };
        Surface { start, held, triangles, plates, plate_of, copies }
    }

    /// The surface to solve for standing upright, for a product with a level: x across the face, y towards wall B, z
    /// along the sack, the plain bottom of the box at 0. The bottom at `held` stays where it is: the plain bottom
    /// stands on the floor, or the valve bottom is carried level by the spout in it and is stiff in either case.
    pub(crate) fn upright(&self, stiff: bool, held: End) -> Surface {
        let is_held =
            |panel: Panel| panel == if held == End::ValveEnd { Panel::ValveBottom } else { Panel::PlainBottom };
        let on_spout = |panel: Panel| held == End::ValveEnd && is_held(panel);
        let mut surface = self.covered(|panel| {
            let motion = if is_held(panel) { Motion::Held } else { Motion::Along(2) };
            (panel.is_bottom() && (stiff || on_spout(panel))).then_some(motion)
        });
        for at in &mut surface.start {
            let [x, y, z] = upright(*at);
            *at = [x, y, z + 0.5 * self.sizes.length];
        }
        for held in &mut surface.held {
            *held = [held[0], held[2], held[1]];
        }
        surface
    }

    /// The places on this mesh's surface of another mesh's vertices, taken from `positions` of that other mesh. Both
    /// must have the mirror between left and right; where this one lacks a mirror that the other has, the other's
    /// image is used. Lengths are carried over as shares of the two sacks' lengths.
    pub(crate) fn carry(&self, other: &Self, positions: &[[f64; 3]]) -> Vec<[f64; 3]> {
        let mut carried = vec![[0.0; 3]; self.vertices];
        let ratio = [
            self.sizes.face_width / other.sizes.face_width,
            self.sizes.length / other.sizes.length,
            self.sizes.face_width / other.sizes.face_width,
        ];
        for piece in &self.pieces {
            self.visit(piece, |vertex, at| {
                let mut at = at;
                let mut panel = piece.panel;
                let mut flip = [1.0, 1.0, 1.0];
                // Shares along y and z of the whole sack, both from -1 to 1.
                if other.mirrors.ends && !self.mirrors.ends {
                    if panel == Panel::PlainBottom {
                        panel = Panel::ValveBottom;
                        flip[1] = -1.0;
                    } else if !panel.is_bottom() {
                        let share = 2.0 * at[1] - 1.0;
                        flip[1] = if share < 0.0 { -1.0 } else { 1.0 };
                        at[1] = share.abs();
                    }
                }
                if other.mirrors.walls && !self.mirrors.walls {
                    if panel == Panel::Lower {
                        panel = Panel::Upper;
                        flip[2] = -1.0;
                        at[0] = 1.0 - at[0];
                    } else if panel != Panel::Upper {
                        let share = if panel == Panel::Side { &mut at[0] } else { &mut at[1] };
                        let from_top = 2.0 * *share;
                        flip[2] = if from_top > 1.0 { -1.0 } else { 1.0 };
                        *share = if from_top > 1.0 { 2.0 - from_top } else { from_top };
                    }
                }
                let found = other.pieces.iter().find(|piece| piece.panel == panel);
                let place = found.map_or([0.0; 3], |piece| piece.sample(at, positions));
                carried[vertex as usize] = [0, 1, 2].map(|i| place[i] * flip[i] * ratio[i]);
            });
        }
        carried
    }

    /// The pieces as meshes of their own, mirrors not unfolded.
    pub(crate) fn panels(&self) -> impl Iterator<Item = PanelMesh> {
        self.pieces.iter().map(|piece| {
            let mut vertices: Vec<(u32, [f64; 2])> = Vec::with_capacity(piece.corners.len() + piece.centres.len());
            self.visit(piece, |vertex, at| vertices.push((vertex, self.on_paper(piece.panel, at))));
            let mut triangles = Vec::new();
            let centre = piece.corners.len();
            piece.cells(|corners, cell| {
                let m = (centre + cell) as u32;
                for k in 0..4 {
                    let (a, b) = (corners[k] as u32, corners[(k + 1) % 4] as u32);
                    triangles.push(if piece.panel == Panel::PlainBottom { [b, a, m] } else { [a, b, m] });
                }
            });
            PanelMesh { panel: piece.panel, vertices, triangles }
        })
    }

    /// On which panel a triangle of the surface is.
    pub(crate) fn panel_of_triangle(&self, triangle: usize) -> Option<Panel> {
        let mut first = 0;
        self.pieces
            .iter()
            .find(|piece| {
                first += 4 * piece.centres.len();
                triangle < first
            })
            .map(|piece| piece.panel)
    }

    /// Calls `each` with every vertex of a piece and its place on it, both from 0 to 1: corners, then centres.
    fn visit(&self, piece: &Piece, mut each: impl FnMut(u32, [f64; 2])) {
        let [nx, ny] = piece.counts;
        for j in 0..=ny {
            for i in 0..=nx {
                each(piece.corners[j * (nx + 1) + i], [i as f64 / nx as f64, j as f64 / ny as f64]);
            }
        }
        for j in 0..ny {
            for i in 0..nx {
                each(piece.centres[j * nx + i], [(i as f64 + 0.5) / nx as f64, (j as f64 + 0.5) / ny as f64]);
            }
        }
    }

    fn triangles(&self, piece: &Piece, rigid: bool, triangles: &mut Vec<Triangle>) {
        let mut paper = vec![[0.0; 2]; piece.corners.len() + piece.centres.len()];
        let mut at = 0;
        self.visit(piece, |_, place| {
            paper[at] = self.on_paper(piece.panel, place);
            at += 1;
        });
        piece.cells(|corners, cell| {
            let centre = piece.corners.len() + cell;
            for k in 0..4 {
                let (mut a, mut b) = (corners[k], corners[(k + 1) % 4]);
                if piece.panel == Panel::PlainBottom {
                    std::mem::swap(&mut a, &mut b);
                }
                let vertices = [piece.corners[a], piece.corners[b], piece.centres[cell]];
                // Every rectangle has an area: valid sacks leave a millimetre of everything.
                triangles.extend(flat_triangle(vertices, &[paper[a], paper[b], paper[centre]], rigid));
            }
        });
    }

    /// Width of the bottom at a share of the length, plain end 0 (or, with the mirror between ends, the middle) to
    /// valve end 1.
    fn bottom_at(&self, share: f64) -> f64 {
        let [valve, plain] = self.sizes.bottoms;
        if self.mirrors.ends { valve } else { plain + (valve - plain) * share }
    }

    /// A place on the flat paper, mm. Walls: s round the sack from the middle of the upper wall, y along it. Bottoms:
    /// x across the face, z down from the upper edge.
    fn on_paper(&self, panel: Panel, at: [f64; 2]) -> [f64; 2] {
        let height = |b: f64| if self.mirrors.walls { b / 2.0 } else { b };
        let along = |share: f64| {
            let from = if self.mirrors.ends { 0.0 } else { -0.5 };
            self.sizes.length * (from + (0.5 - from) * share)
        };
        match panel {
            Panel::Upper | Panel::Side | Panel::Lower => {
                let b = self.bottom_at(at[1]);
                let a = (self.sizes.face_width - b) / 2.0;
                let s = match panel {
                    Panel::Upper => a * at[0],
                    Panel::Side => a + height(b) * at[0],
                    _ => a + b + a * at[0],
                };
                [s, along(at[1])]
            }
            Panel::ValveBottom | Panel::PlainBottom => {
                let b = self.bottom_at(if panel == Panel::ValveBottom { 1.0 } else { 0.0 });
                [(self.sizes.face_width - b) / 2.0 * at[0], height(b) * at[1]]
            }
        }
    }

    /// A place on the box (with unequal bottoms a wedge) that the solver begins with.
    fn on_box(&self, panel: Panel, at: [f64; 2]) -> [f64; 3] {
        let paper = self.on_paper(panel, at);
        let share = match panel {
            Panel::ValveBottom => 1.0,
            Panel::PlainBottom => 0.0,
            _ => at[1],
        };
        let b = self.bottom_at(share);
        let a = (self.sizes.face_width - b) / 2.0;
        let down = if self.mirrors.walls { 1.0 } else { 2.0 };
        let z_at = |share: f64| b / 2.0 * (1.0 - down * share);
        match panel {
            Panel::Upper => [a * at[0], paper[1], b / 2.0],
            Panel::Side => [a, paper[1], z_at(at[0])],
            Panel::Lower => [a * (1.0 - at[0]), paper[1], -b / 2.0],
            Panel::ValveBottom => [a * at[0], self.sizes.length / 2.0, z_at(at[1])],
            Panel::PlainBottom => [a * at[0], -self.sizes.length / 2.0, z_at(at[1])],
        }
    }
}

impl Piece {
    /// Calls `each` with the four corners of every rectangle, counter-clockwise seen from outside (but for the plain
    /// bottom), as positions in `corners`, and the rectangle's number.
    fn cells(&self, mut each: impl FnMut([usize; 4], usize)) {
        let [nx, ny] = self.counts;
        for j in 0..ny {
            for i in 0..nx {
                let a = j * (nx + 1) + i;
                each([a, a + 1, a + nx + 2, a + nx + 1], j * nx + i);
            }
        }
    }

    /// The surface's place at a share of both directions.
    fn sample(&self, at: [f64; 2], positions: &[[f64; 3]]) -> [f64; 3] {
        let cell = |share: f64, count: usize| {
            let scaled = share.clamp(0.0, 1.0) * count as f64;
            let index = (scaled.floor() as usize).min(count - 1);
            (index, scaled - index as f64)
        };
        let [nx, ny] = self.counts;
        let ((i, x), (j, y)) = (cell(at[0], nx), cell(at[1], ny));
        let corner = |di: usize, dj: usize| positions[self.corners[(j + dj) * (nx + 1) + i + di] as usize];
        let centre = positions[self.centres[j * nx + i] as usize];
        // Which of the four triangles: towards the nearest side.
        let (u, v) = (2.0 * x - 1.0, 2.0 * y - 1.0);
        let (first, second, towards, across) = if v.abs() >= u.abs() {
            let row = usize::from(v > 0.0);
            (corner(0, row), corner(1, row), v.abs(), u)
        } else {
            let column = usize::from(u > 0.0);
            (corner(column, 0), corner(column, 1), u.abs(), v)
        };
        [0, 1, 2].map(|k| {
            centre[k] * (1.0 - towards) + 0.5 * (first[k] * (towards - across) + second[k] * (towards + across))
        })
    }
}

impl Panel {
    pub(crate) const fn is_bottom(self) -> bool {
        matches!(self, Self::ValveBottom | Self::PlainBottom)
    }
}

/// From the frame of a sack that lies (y along it, z up) to that of one that stands (z up along it).
pub(crate) const fn upright([x, y, z]: [f64; 3]) -> [f64; 3] {
    [x, -z, y]
}

/// Back from [`upright`].
pub(crate) const fn laid_down([x, y, z]: [f64; 3]) -> [f64; 3] {
    [x, z, -y]
}

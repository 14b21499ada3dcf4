//! A filled sack as a scene: the shape that the core's solver found, drawn as paper.
//!
//! The mesh comes as plain arrays, as another wasm module made it. It is refined for the picture alone: every edge is
//! halved, and its middle lies on the cubic through the ends that their normals ask for (curved PN triangles; Vlachos et
//! al. 2001), so that what is round looks round. Where the sheet is shorter in space than on the paper it wrinkles: the
//! shortening is measured triangle by triangle (singular values of the map from paper to space), and normals are tilted as
//! on waves across it. A wave of slope s shortens a sheet by s^2/4, which gives the slope; the volume is left alone.

use glam::{DMat2, DVec2, DVec3};
use sackwright::fold::{PanelName, Piece};
use sackwright::model::{Face, Part};
use sackwright::sheet::{End, Side};
use sackwright::tube::Wall;

use crate::place::Sizes;

/// Number of a panel at the boundary.
const PANELS: u8 = 5;
/// Numbers of the panels that are bottoms, valve end first.
const BOTTOMS: [u8; 2] = [3, 4];
/// Number of the lower wall.
const LOWER: u8 = 2;
/// A picture is refined up to so many triangles, all copies together.
const MOST_TRIANGLES: usize = 48_000;
/// Triangles with shorter edges are fine enough, mm.
const FINE_MM: f64 = 9.0;
/// Radius of what is roundest on a filled sack, about, mm.
const ROUND_MM: f64 = 30.0;
/// Places on the paper closer than this are the same, mm. No round number: places must not lie between two.
const SAME_MM: f64 = 0.0537;
/// Shortening below the first is no wrinkle; from the second on it shows in full.
const SHORTENING: [f64; 2] = [0.004, 0.03];
/// The steepest wave.
const STEEPEST: f64 = 0.38;
/// Length of a wave, and how far it runs, mm.
const WAVE_MM: [f64; 2] = [46.0, 190.0];
/// Waves run across one of so many directions, evenly turned.
const DIRECTIONS: usize = 4;

/// What a filled shape is given as; see `FilledMesh` in `types.d.ts`.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Given {
    /// Three per vertex, mm.
    pub positions: Vec<f32>,
    /// Two per vertex, mm.
    pub paper: Vec<f32>,
    /// One per vertex.
    pub panels: Vec<u8>,
    /// Three vertices per triangle.
    pub triangles: Vec<u32>,
}

impl Given {
    /// What is wrong with it, if anything: arrays that do not belong together.
    #[must_use]
    pub fn fault(&self) -> Option<String> {
        let vertices = self.panels.len();
        if self.positions.len() != 3 * vertices || self.paper.len() != 2 * vertices {
            return Some(format!(
                "{} positions and {} places on the paper for {vertices} vertices; 3 and 2 numbers per vertex would do",
                self.positions.len(),
                self.paper.len()
            ));
        }
        if vertices == 0 || self.triangles.is_empty() || !self.triangles.len().is_multiple_of(3) {
            return Some(format!("{} corners of triangles; 3 per triangle would do", self.triangles.len()));
        }
        if let Some(panel) = self.panels.iter().find(|&&panel| panel >= PANELS) {
            return Some(format!("panel {panel}; 0 to 4 would do"));
        }
        if let Some(index) = self.triangles.iter().find(|&&index| index as usize >= vertices) {
            return Some(format!("vertex {index}; 0 to {} would do", vertices - 1));
        }
        let finite = |numbers: &[f32]| numbers.iter().all(|number| number.is_finite());
        (!finite(&self.positions) || !finite(&self.paper)).then(|| "a number that is not finite".to_owned())
    }
}

/// One halving of all edges.
#[derive(Clone, Debug)]
struct Halving {
    /// How many vertices there are before it.
    vertices: usize,
    /// Triangles before it.
    triangles: Vec<[u32; 3]>,
    /// Ends of the edge whose middle each new vertex is, and whether that is straight.
    edges: Vec<([u32; 2], bool)>,
}

/// An edge with its two triangles, for the outline.
#[derive(Clone, Copy, Debug)]
pub struct Edge {
    /// Its ends.
    pub ends: [u32; 2],
    /// Its triangles; a rim has its one twice.
    pub sides: [u32; 2],
}

impl Edge {
    /// Whether the smooth surface ends there.
    pub const fn is_rim(&self) -> bool {
        self.sides[0] == self.sides[1]
    }

    /// The normal of the triangle that faces the eye, where the edge is the outline for it: the other does not, or there is none.
    /// `facets` are the triangles' normals, `sight` leads from the edge to the eye.
    pub fn outline(&self, facets: &[DVec3], sight: DVec3) -> Option<DVec3> {
        let [one, two] = self.sides.map(|side| facets[side as usize]);
        let [to_one, to_two] = [one, two].map(|normal| normal.dot(sight) > 0.0);
        (to_one != to_two || (self.is_rim() && to_one)).then_some(if to_one { one } else { two })
    }
}

/// What is kept of a filled shape while it moves.
#[derive(Clone, Debug)]
pub struct Filled {
    given: Vec<[u32; 3]>,
    /// Places on the paper of the given vertices, as given.
    given_paper: Vec<DVec2>,
    halvings: Vec<Halving>,
    /// Triangles of the picture.
    pub triangles: Vec<[u32; 3]>,
    /// Places in the charts, mm: walls in the ply's chart; bottoms x across and distance from the centre line, towards wall B.
    pub paper: Vec<[f64; 2]>,
    /// Panel of every vertex, as given.
    pub panels: Vec<u8>,
    /// For every vertex the first of those that are the same place of the same smooth surface.
    welded: Vec<u32>,
    /// Slope of a wave across each direction, per vertex.
    waves: Vec<[f32; DIRECTIONS]>,
    /// Edges between two triangles.
    pub edges: Vec<Edge>,
    /// Normals of the picture's triangles.
    pub facets: Vec<DVec3>,
    /// How far the picture's facets lie inside what they stand for, about, mm.
    pub sag_mm: f64,
    /// Where copies stand: x, y, z (mm) and quarter turns. Empty: one sack, as it is.
    pub copies: Vec<[f32; 4]>,
}

impl Filled {
    /// Takes a mesh without fault, for so many copies.
    #[must_use]
    pub fn new(given: &Given, sizes: &Sizes, copies: Vec<[f32; 4]>) -> Self {
        let triangles: Vec<[u32; 3]> = given.triangles.chunks_exact(3).map(|t| [t[0], t[1], t[2]]).collect();
        let given_paper: Vec<DVec2> =
            given.paper.chunks_exact(2).map(|p| DVec2::new(f64::from(p[0]), f64::from(p[1]))).collect();
        let mut filled = Self {
            given: triangles.clone(),
            given_paper: given_paper.clone(),
            halvings: Vec::new(),
            triangles,
            paper: Vec::new(),
            panels: given.panels.clone(),
            welded: Vec::new(),
            waves: Vec::new(),
            edges: Vec::new(),
            facets: Vec::new(),
            sag_mm: 0.0,
            copies,
        };
        let mut paper = given_paper;
        let sacks = filled.copies.len().max(1);
        while filled.triangles.len() * 4 * sacks <= MOST_TRIANGLES && filled.mean_edge(&paper) > FINE_MM {
            filled.halve(&mut paper);
        }
        // A chord of length l over a roundness of radius r: l^2/(8 r).
        filled.sag_mm = filled.mean_edge(&paper).powi(2) / (8.0 * ROUND_MM);
        filled.welded = weld(&paper, &filled.panels, 2.0 * sizes.face_width);
        filled.waves = paper.iter().map(|&at| waves(at)).collect();
        filled.paper = paper.iter().zip(&filled.panels).map(|(&at, &panel)| chart(at, panel, sizes)).collect();
        filled.edges = filled.find_edges(sizes);
        filled
    }

    fn mean_edge(&self, paper: &[DVec2]) -> f64 {
        let length = |[a, b, _]: &[u32; 3]| paper[*a as usize].distance(paper[*b as usize]);
        self.triangles.iter().map(length).sum::<f64>() / self.triangles.len().max(1) as f64
    }

    /// Halves every edge, and so makes four triangles of one. Edges at the rim of a panel stay straight where walls and
    /// bottoms meet, so that both halve them at the same place.
    fn halve(&mut self, paper: &mut Vec<DVec2>) {
        let vertices = paper.len();
        let before = std::mem::take(&mut self.triangles);
        let mut middles = vec![0; 3 * before.len()];
        let mut edges = Vec::new();
        for same in groups(before.iter().flat_map(|t| (0..3).map(|k| pair([t[k], t[(k + 1) % 3]])))) {
            let [i, k] = [same[0] as usize / 3, same[0] as usize % 3];
            let ends = [before[i][k], before[i][(k + 1) % 3]];
            let middle = (vertices + edges.len()) as u32;
            for &place in &same {
                middles[place as usize] = middle;
            }
            edges.push((ends, same.len() == 1));
            let [a, b] = ends.map(|end| end as usize);
            paper.push((paper[a] + paper[b]) / 2.0);
            self.panels.push(self.panels[a]);
        }
        self.triangles.reserve(4 * before.len());
        for (i, &[a, b, c]) in before.iter().enumerate() {
            let [ab, bc, ca] = [middles[3 * i], middles[3 * i + 1], middles[3 * i + 2]];
            self.triangles.extend([[a, ab, ca], [b, bc, ab], [c, ca, bc], [ab, bc, ca]]);
        }
        self.halvings.push(Halving { vertices, triangles: before, edges });
    }

    /// Edges with two triangles, over the rims of panels too.
    fn find_edges(&self, sizes: &Sizes) -> Vec<Edge> {
        let place: Vec<u32> = surface_places(&self.paper, &self.panels, sizes);
        let corners = self.triangles.iter().flat_map(|t| (0..3).map(|k| [t[k], t[(k + 1) % 3]]));
        groups(corners.map(|ends| pair(ends.map(|end| place[end as usize]))))
            .filter_map(|same| match *same {
                [one, two] => {
                    let t = self.triangles[one as usize / 3];
                    let k = one as usize % 3;
                    Some(Edge { ends: [t[k], t[(k + 1) % 3]], sides: [one / 3, two / 3] })
                }
                _ => None,
            })
            .collect()
    }

    /// Positions (mm) and normals of the picture's vertices, from the positions of the given ones; `None` when there are
    /// not three numbers per vertex.
    pub fn place(&mut self, given: &[f32], positions: &mut Vec<[f64; 3]>, normals: &mut Vec<[f64; 3]>) -> Option<()> {
        if given.len() != 3 * self.given_paper.len() || given.iter().any(|number| !number.is_finite()) {
            return None;
        }
        let mut at: Vec<DVec3> =
            given.chunks_exact(3).map(|p| DVec3::new(f64::from(p[0]), f64::from(p[1]), f64::from(p[2]))).collect();
        let mut shortened = self.shortening(&at);
        for halving in &self.halvings {
            let smooth = self.smooth(&halving.triangles, &at, halving.vertices, None);
            for &([a, b], straight) in &halving.edges {
                let [a, b] = [a as usize, b as usize];
                let (p, q, along) = (at[a], at[b], at[b] - at[a]);
                let rise = smooth[a] * along.dot(smooth[a]) - smooth[b] * along.dot(smooth[b]);
                at.push((p + q) / 2.0 - if straight { DVec3::ZERO } else { rise / 8.0 });
                shortened.push((shortened[a] + shortened[b]) * 0.5);
            }
        }
        let mut facets = std::mem::take(&mut self.facets);
        let smooth = self.smooth(&self.triangles, &at, at.len(), Some(&mut facets));
        self.facets = facets;
        let along = self.along_paper(&at);
        positions.clear();
        positions.extend(at.iter().map(|p| p.to_array()));
        normals.clear();
        for (vertex, &normal) in smooth.iter().enumerate() {
            let [du, dv] = along[self.welded[vertex] as usize];
            let tilt = self.tilt(vertex, shortened[vertex]);
            let tilted = normal - (du * tilt.x + dv * tilt.y);
            normals.push(tilted.normalize_or(normal).to_array());
        }
        Some(())
    }

    /// Slope of the wrinkles at a vertex, along the chart's axes.
    fn tilt(&self, vertex: usize, shortened: DMat2) -> DVec2 {
        let (most, along) = largest(shortened);
        if most < SHORTENING[0] {
            return DVec2::ZERO;
        }
        let shown = ((most - SHORTENING[0]) / (SHORTENING[1] - SHORTENING[0])).clamp(0.0, 1.0);
        let slope = (2.0 * most.sqrt()).min(STEEPEST) * shown;
        let mut tilt = DVec2::ZERO;
        for (direction, &wave) in directions().into_iter().zip(&self.waves[vertex]) {
            // The cosine of twice the angle between: 1 along it, 0 at 45 degrees.
            let share = 2.0 * direction.dot(along).powi(2) - 1.0;
            tilt += direction * (share.max(0.0) * f64::from(wave));
        }
        tilt * slope
    }

    /// Shortening of the paper at every given vertex: a symmetric matrix in the chart, mean over the triangles around.
    fn shortening(&self, at: &[DVec3]) -> Vec<DMat2> {
        let mut sums = vec![(DMat2::ZERO, 0.0); at.len()];
        for triangle in &self.given {
            let [a, b, c] = triangle.map(|i| i as usize);
            let flat =
                DMat2::from_cols(self.given_paper[b] - self.given_paper[a], self.given_paper[c] - self.given_paper[a]);
            let area = flat.determinant().abs();
            if area < 1e-9 {
                continue;
            }
            let [du, dv] = map(flat, at[b] - at[a], at[c] - at[a]);
            // Squares of the stretches; 1 - sqrt is the shortening, to be had direction by direction.
            let square = DMat2::from_cols(DVec2::new(du.dot(du), du.dot(dv)), DVec2::new(du.dot(dv), dv.dot(dv)));
            let (high, axis) = largest(square);
            let low = square.col(0).x + square.col(1).y - high;
            let lost = |square: f64| (1.0 - square.max(0.0).sqrt()).max(0.0);
            let across = DVec2::new(-axis.y, axis.x);
            let matrix = outer(axis) * lost(high) + outer(across) * lost(low);
            for i in [a, b, c] {
                let (sum, weight) = &mut sums[self.welded[i] as usize];
                *sum += matrix * area;
                *weight += area;
            }
        }
        self.welded[..at.len()]
            .iter()
            .map(|&i| sums[i as usize])
            .map(|(sum, weight)| sum * (1.0 / f64::max(weight, 1e-9)))
            .collect()
    }

    /// Normals of the first vertices, the mean of the triangles around, smooth within walls and within each bottom.
    fn smooth(
        &self,
        triangles: &[[u32; 3]],
        at: &[DVec3],
        vertices: usize,
        mut facets: Option<&mut Vec<DVec3>>,
    ) -> Vec<DVec3> {
        if let Some(facets) = &mut facets {
            facets.clear();
        }
        let mut sums = vec![DVec3::ZERO; vertices];
        for triangle in triangles {
            let [a, b, c] = triangle.map(|i| at[i as usize]);
            let normal = (b - a).cross(c - a);
            for &i in triangle {
                sums[self.welded[i as usize] as usize] += normal;
            }
            if let Some(facets) = &mut facets {
                facets.push(normal.normalize_or(DVec3::Z));
            }
        }
        self.welded[..vertices].iter().map(|&i| sums[i as usize].normalize_or(DVec3::Z)).collect()
    }

    /// Where the chart's axes run in space, per welded vertex, of length 1.
    fn along_paper(&self, at: &[DVec3]) -> Vec<[DVec3; 2]> {
        let mut sums = vec![[DVec3::ZERO; 2]; at.len()];
        for triangle in &self.triangles {
            let [a, b, c] = triangle.map(|i| i as usize);
            let paper = |i: usize| DVec2::from(self.paper[i]);
            let flat = DMat2::from_cols(paper(b) - paper(a), paper(c) - paper(a));
            if flat.determinant().abs() < 1e-9 {
                continue;
            }
            // The ply's chart runs along the sack from the valve end, the given one towards it.
            let [du, dv] = map(flat, at[b] - at[a], at[c] - at[a]);
            let dv = if BOTTOMS.contains(&self.panels[a]) { dv } else { -dv };
            for i in [a, b, c] {
                let [u, v] = &mut sums[self.welded[i] as usize];
                *u += du;
                *v += dv;
            }
        }
        sums.iter().map(|axes| axes.map(DVec3::normalize_or_zero)).collect()
    }
}

/// The spout of a film, beside the sack that it fills.
#[derive(Clone, Debug)]
pub struct Pipe {
    /// Where its vertices are, mm; none while it is not to be seen.
    pub positions: Vec<DVec3>,
    /// Of the vertices, outward, of length 1.
    pub normals: Vec<DVec3>,
    /// Counter-clockwise seen from outside.
    pub triangles: Vec<[u32; 3]>,
    /// Edges between two triangles, and rims: with their one triangle twice.
    pub edges: Vec<Edge>,
}

impl Pipe {
    /// From flat arrays, not to be seen yet; none when they do not belong together.
    #[must_use]
    pub fn new(normals: &[f32], triangles: &[u32]) -> Option<Self> {
        let normals = points(normals)?;
        if !triangles.len().is_multiple_of(3) || triangles.iter().any(|&vertex| vertex as usize >= normals.len()) {
            return None;
        }
        let triangles: Vec<[u32; 3]> = triangles.chunks_exact(3).map(|t| [t[0], t[1], t[2]]).collect();
        let sides: Vec<[u32; 2]> = triangles.iter().flat_map(|&[a, b, c]| [[a, b], [b, c], [c, a]]).collect();
        let edge = |same: Vec<u32>| {
            let [first, last] = [same[0], same[same.len() - 1]];
            Edge { ends: sides[first as usize], sides: [first / 3, last / 3] }
        };
        let edges = groups(sides.iter().map(|&ends| pair(ends))).map(edge).collect();
        Some(Self { positions: Vec::new(), normals, triangles, edges })
    }
}

/// Points from three finite numbers each.
#[must_use]
pub fn points(flat: &[f32]) -> Option<Vec<DVec3>> {
    let whole = flat.len().is_multiple_of(3) && flat.iter().all(|number| number.is_finite());
    whole.then(|| flat.chunks_exact(3).map(|p| DVec3::new(p[0].into(), p[1].into(), p[2].into())).collect())
}

/// Thickness of a pallet's boards at most, mm.
const BOARD_MM: f64 = 22.0;
/// Deck boards of a pallet.
const DECK: usize = 7;
/// The share of the deck that they cover.
const COVER: f64 = 0.82;

/// Boards and blocks of a pallet of that length, width and height (mm) as boxes, least and highest corner; its top is at
/// z = 0. Deck boards run along x on three boards across, those on nine blocks, and those on three boards along x.
#[must_use]
pub fn boards([length, width, height]: [f64; 3]) -> Vec<[DVec3; 2]> {
    let board = BOARD_MM.min(height / 5.0);
    let (x, y) = (length / 2.0, width / 2.0);
    let mut boxes = Vec::new();
    let mut add = |from: [f64; 3], to: [f64; 3]| boxes.push([DVec3::from(from), DVec3::from(to)]);
    let deck = width * COVER / DECK as f64;
    for k in 0..DECK {
        let at = -y + (width - deck) * k as f64 / (DECK - 1) as f64;
        add([-x, at, -board], [x, at + deck, 0.0]);
    }
    let block = (length / 9.0).min(width / 6.0);
    // Left edge, middle and right edge of something so wide between -half and half.
    let thirds = |half: f64, wide: f64| [-half, -wide / 2.0, half - wide];
    for across in thirds(x, block) {
        add([across, -y, -2.0 * board], [across + block, y, -board]);
        for along in thirds(y, block) {
            add([across, along, board - height], [across + block, along + block, -2.0 * board]);
        }
    }
    for along in thirds(y, block) {
        add([-x, along, -height], [x, along + block, board - height]);
    }
    boxes
}

/// The faces of a box: outward direction, and corners counter-clockwise seen from outside.
#[must_use]
pub fn faces([low, high]: [DVec3; 2]) -> [(DVec3, [DVec3; 4]); 6] {
    std::array::from_fn(|face| {
        let (axis, up) = (face / 2, face % 2 == 1);
        let (u, v) = ((axis + 1) % 3, (axis + 2) % 3);
        let mut normal = DVec3::ZERO;
        normal[axis] = if up { 1.0 } else { -1.0 };
        let corner = |a: bool, b: bool| {
            let mut p = if up { high } else { low };
            p[u] = if a { high[u] } else { low[u] };
            p[v] = if b { high[v] } else { low[v] };
            p
        };
        let around = [corner(false, false), corner(true, false), corner(true, true), corner(false, true)];
        let [a, b, c, d] = around;
        (normal, if up { around } else { [a, d, c, b] })
    })
}

/// The parts of a filled sack, and which of them a place on a panel is of.
#[must_use]
pub fn parts() -> Vec<Part> {
    let wall =
        |wall| Part { piece: Piece::Ply, ply: Some(0), end: None, panel: PanelName::Body(wall), face: Face::Outer };
    let mut parts = vec![wall(Wall::A), wall(Wall::B)];
    for end in End::ALL {
        let ply = |panel| Part { piece: Piece::Ply, ply: Some(0), end: Some(end), panel, face: Face::Outer };
        parts.extend([
            ply(PanelName::Flap(Wall::A)),
            ply(PanelName::Flap(Wall::B)),
            ply(PanelName::Pocket(Wall::A, Side::Left)),
            ply(PanelName::Pocket(Wall::A, Side::Right)),
            Part { piece: Piece::Patch, ply: None, end: Some(end), panel: PanelName::Patch, face: Face::Outer },
            Part { piece: Piece::Sleeve, ply: None, end: Some(end), panel: PanelName::SleeveOver, face: Face::Outer },
        ]);
    }
    parts
}

/// Parts of each bottom among [`parts`].
pub const BOTTOM_PARTS: usize = 6;

/// The first of a bottom's [`parts`].
#[must_use]
pub const fn first_part(end: End) -> usize {
    match end {
        End::ValveEnd => 2,
        End::PlainEnd => 2 + BOTTOM_PARTS,
    }
}

/// The part that lies on top at a place of the chart, an index into [`parts`]; `end` of a bottom.
#[must_use]
pub fn part_at(at: [f64; 2], end: Option<End>, sizes: &Sizes) -> usize {
    let Some(end) = end else {
        return usize::from(!(0.0..=sizes.face_width).contains(&at[0]));
    };
    let first = first_part(end);
    let plan = &sizes.plans[end as usize];
    let [x, c] = at;
    let on_patch = (x - plan.patch[2]).abs() < plan.patch[0] / 2.0 && c.abs() < plan.patch[1] / 2.0;
    // Depth into each flap from its fold, wall A's and wall B's.
    let depth = [plan.width / 2.0 + c, plan.width / 2.0 - c];
    let half = (sizes.face_width - plan.width) / 2.0;
    let flap = |wall: usize| depth[wall] < plan.reach[wall] && x.abs() < half - depth[wall];
    let on_sleeve = x * plan.sleeve[0] > 0.0 && (c - plan.sleeve[2]).abs() < plan.sleeve[1] / 2.0;
    let last = plan.last;
    first
        + if on_patch {
            4
        } else if flap(last) {
            last
        } else if flap(1 - last) {
            1 - last
        } else if on_sleeve {
            5
        } else {
            2 + usize::from(x > 0.0)
        }
}

/// The end of a bottom's panel.
#[must_use]
pub const fn end_of(panel: u8) -> Option<End> {
    match panel {
        3 => Some(End::ValveEnd),
        4 => Some(End::PlainEnd),
        _ => None,
    }
}

fn directions() -> [DVec2; DIRECTIONS] {
    std::array::from_fn(|k| DVec2::from_angle(std::f64::consts::PI * k as f64 / DIRECTIONS as f64))
}

/// Columns of the linear map that takes the columns of `flat` to `p` and `q`.
fn map(flat: DMat2, p: DVec3, q: DVec3) -> [DVec3; 2] {
    let inverse = flat.inverse();
    [p * inverse.col(0).x + q * inverse.col(0).y, p * inverse.col(1).x + q * inverse.col(1).y]
}

fn outer(v: DVec2) -> DMat2 {
    DMat2::from_cols(v * v.x, v * v.y)
}

/// Larger eigenvalue of a symmetric matrix, and its direction.
fn largest(m: DMat2) -> (f64, DVec2) {
    let (a, b, d) = (m.col(0).x, m.col(0).y, m.col(1).y);
    let half = (a - d) / 2.0;
    let root = half.hypot(b);
    let value = f64::midpoint(a, d) + root;
    // The longer of the two rows' normals.
    let (one, two) = (DVec2::new(b, value - a), DVec2::new(value - d, b));
    let axis = if one.length_squared() > two.length_squared() { one } else { two };
    (value, axis.normalize_or(DVec2::X))
}

/// A given place in the chart of the picture.
fn chart(at: DVec2, panel: u8, sizes: &Sizes) -> [f64; 2] {
    if let Some(end) = end_of(panel) {
        return [at.x, at.y - sizes.bottom_width[end as usize] / 2.0];
    }
    let around = at.x + sizes.face_width / 2.0;
    let u = if panel == LOWER && at.x < 0.0 { around + 2.0 * sizes.face_width } else { around };
    let flap = (sizes.bottom_width[0] + sizes.lap[0]) / 2.0;
    [u, flap + sizes.length() / 2.0 - at.y]
}

/// For every vertex the first at the same place of the same smooth surface.
fn weld(paper: &[DVec2], panels: &[u8], around: f64) -> Vec<u32> {
    let grid = |x: f64| (x / SAME_MM).round() as i64;
    let keys = paper.iter().zip(panels).map(|(at, &panel)| match end_of(panel) {
        Some(_) => (panel, grid(at.x), grid(at.y)),
        None => (0, grid(at.x.rem_euclid(around)).rem_euclid(grid(around).max(1)), grid(at.y)),
    });
    firsts(keys)
}

/// For every vertex the first at the same place of the closed surface.
fn surface_places(paper: &[[f64; 2]], panels: &[u8], sizes: &Sizes) -> Vec<u32> {
    let grid = |x: f64| (x / SAME_MM).round() as i64;
    let around = grid(2.0 * sizes.face_width).max(1);
    let flap = |end: usize| (sizes.bottom_width[end] + sizes.lap[end]) / 2.0;
    let rims = [flap(0), sizes.tube_length - flap(1)];
    let keys = paper.iter().zip(panels).map(|(&[u, v], &panel)| {
        let Some(end) = end_of(panel) else {
            return (0, grid(u).rem_euclid(around), grid(v));
        };
        let end = end as usize;
        let (half, width) = (sizes.bottom_width[end] / 2.0, sizes.face_width);
        let side = (width - 2.0 * half) / 2.0;
        let middle = width / 2.0;
        // On the rim the place is the wall's; the way round runs over the side fold.
        let round = if (v + half).abs() < SAME_MM {
            Some(middle + u)
        } else if (u - side).abs() < SAME_MM {
            Some(middle + side + half + v)
        } else if (u + side).abs() < SAME_MM {
            Some(middle - side - half - v)
        } else if (v - half).abs() < SAME_MM {
            Some(middle + width - u)
        } else {
            None
        };
        round.map_or((1 + end as u8, grid(u), grid(v)), |u| (0, grid(u).rem_euclid(around), grid(rims[end])))
    });
    firsts(keys)
}

fn firsts(keys: impl Iterator<Item = (u8, i64, i64)>) -> Vec<u32> {
    // Places on a grid of SAME_MM take 29 bits each, signs and sacks of 14 m included.
    let bits = |x: i64| (x + (1 << 28)) as u64;
    let keys: Vec<u64> = keys.map(|(panel, x, y)| u64::from(panel) << 58 | bits(x) << 29 | bits(y)).collect();
    let mut first = vec![0; keys.len()];
    for same in groups(keys.into_iter()) {
        for &vertex in &same {
            first[vertex as usize] = same[0];
        }
    }
    first
}

/// The numbers of what has the same key, in rising order.
pub fn groups(keys: impl Iterator<Item = u64>) -> impl Iterator<Item = Vec<u32>> {
    let mut numbered: Vec<(u64, u32)> = keys.zip(0..).collect();
    numbered.sort_unstable();
    let mut from = 0;
    std::iter::from_fn(move || {
        let key = numbered.get(from)?.0;
        let same: Vec<u32> = numbered[from..].iter().take_while(|one| one.0 == key).map(|one| one.1).collect();
        from += same.len();
        Some(same)
    })
}

/// A key for two ends, whichever comes first.
pub fn pair([a, b]: [u32; 2]) -> u64 {
    u64::from(a.min(b)) << 32 | u64::from(a.max(b))
}

/// Slopes at a place of waves across each direction, about -1 to 1.
fn waves(at: DVec2) -> [f32; DIRECTIONS] {
    let mut salt = 0;
    directions().map(|direction| {
        salt += 17;
        let across = DVec2::new(-direction.y, direction.x);
        let height = |off: f64| {
            let (p, q) = ((at.dot(direction) + off) / WAVE_MM[0], at.dot(across) / WAVE_MM[1]);
            noise(2.0 * p, q, salt)
        };
        let step = WAVE_MM[0] / 20.0;
        ((height(step) - height(-step)) * 2.4) as f32
    })
}

/// Smooth noise, -1 to 1, one value per unit.
fn noise(x: f64, y: f64, salt: i64) -> f64 {
    let (i, j) = (x.floor(), y.floor());
    let soft = |f: f64| f * f * (3.0 - 2.0 * f);
    let (fx, fy) = (soft(x - i), soft(y - j));
    let at = |di: i64, dj: i64| lattice(i as i64 + di, j as i64 + dj, salt);
    let low = at(0, 0) + (at(1, 0) - at(0, 0)) * fx;
    let high = at(0, 1) + (at(1, 1) - at(0, 1)) * fx;
    low + (high - low) * fy
}

/// A number from -1 to 1 for a lattice point, always the same.
fn lattice(i: i64, j: i64, salt: i64) -> f64 {
    // Three rounds of multiply and shift mix the bits (after Steele, Lea and Flood 2014).
    let mut h = (i.wrapping_mul(0x9e37_79b9) ^ j.wrapping_mul(0x85eb_ca6b) ^ salt.wrapping_mul(0xc2b2_ae35)) as u64;
    h = (h ^ (h >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    h = (h ^ (h >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    h ^= h >> 31;
    (h >> 11) as f64 / (1u64 << 52) as f64 - 1.0
}

#[cfg(test)]
mod tests {
    use std::ops::ControlFlow;

    use sackwright::fill::{Bottoms, Detail, FilledMesh, Question, Settings, Solver};

    use super::*;
    use crate::camera::View;
    use crate::pick;
    use crate::place::{self, Named};
    use crate::scene::{FLAG_LIT, Scene};
    use crate::testing::{STEPPED, ray_through, sack};

    fn given(mesh: &FilledMesh) -> Given {
        Given {
            positions: mesh.positions.iter().flatten().map(|&x| x as f32).collect(),
            paper: mesh.paper.iter().flatten().map(|&x| x as f32).collect(),
            panels: mesh.panel.iter().map(|&panel| panel as u8).collect(),
            triangles: mesh.triangles.iter().flatten().copied().collect(),
        }
    }

    fn full() -> Given {
        let mut solver = Solver::new(&sack(STEPPED), Settings { detail: Detail::Coarse, ..Settings::default() });
        solver.capacity(Bottoms::Stiff, &mut |_| ControlFlow::Continue(())).unwrap();
        given(&solver.mesh(Question::Capacity, Bottoms::Stiff).unwrap())
    }

    #[test]
    fn the_picture_of_a_filled_sack_is_closed() {
        let sizes = Sizes::of(&sack(STEPPED));
        let given = full();
        let filled = Filled::new(&given, &sizes, Vec::new());
        assert!(filled.triangles.len() > given.triangles.len(), "refined");
        assert_eq!(2 * filled.edges.len(), 3 * filled.triangles.len(), "two triangles at every edge");
    }

    #[test]
    fn halves_of_an_edge_meet_and_what_is_round_stays_round() {
        let sizes = Sizes::of(&sack(STEPPED));
        let given = full();
        let mut filled = Filled::new(&given, &sizes, Vec::new());
        let (mut at, mut normals) = (Vec::new(), Vec::new());
        filled.place(&given.positions, &mut at, &mut normals).unwrap();
        let places = surface_places(&filled.paper, &filled.panels, &sizes);
        for (vertex, &first) in places.iter().enumerate() {
            let gap = DVec3::from(at[vertex]).distance(DVec3::from(at[first as usize]));
            assert!(gap < 1e-3, "{gap} mm at {:?}", filled.paper[vertex]);
        }
        for normal in normals {
            assert!((DVec3::from(normal).length() - 1.0).abs() < 1e-9);
        }
    }

    #[test]
    fn only_where_paper_is_shortened_it_wrinkles() {
        let sizes = Sizes::of(&sack(STEPPED));
        let paper: Vec<f32> =
            (0..81).flat_map(|i| [(i % 9) as f32 * 20.0 - 80.0, (i / 9) as f32 * 20.0 - 80.0]).collect();
        let cells = (0..64u32).map(|i| i / 8 * 9 + i % 8);
        let triangles = cells.flat_map(|a| [a, a + 1, a + 10, a, a + 10, a + 9]).collect();
        let flat = |squeeze: f32| paper.chunks(2).flat_map(|p| [p[0] * squeeze, p[1], 0.0]).collect::<Vec<_>>();
        let given = Given { positions: flat(1.0), paper: paper.clone(), panels: vec![0; 81], triangles };
        let mut filled = Filled::new(&given, &sizes, Vec::new());
        let mut tilted = |squeeze: f32| {
            let (mut at, mut normals) = (Vec::new(), Vec::new());
            filled.place(&flat(squeeze), &mut at, &mut normals).unwrap();
            let most = |axis: usize| normals.iter().map(|n| n[axis].abs()).fold(0.0, f64::max);
            (most(0), most(1))
        };
        assert_eq!(tilted(1.0), (0.0, 0.0));
        let (across, along) = tilted(0.95);
        assert!(across > 0.1 && along < 1e-6, "{across} {along}");
    }

    #[test]
    fn what_is_pointed_at_on_a_filled_sack_has_its_name() {
        let sack = sack(STEPPED);
        let scene = Scene::filled(&sack, &full(), Vec::new(), None).unwrap();
        let named = |through: DVec3, along: DVec3| {
            let hit = pick::first(&scene, ray_through(through, along)).unwrap();
            scene.mesh.parts[scene.part_of(hit)].panel.name()
        };
        assert_eq!(named(DVec3::ZERO, -DVec3::Z), "body-a");
        assert_eq!(named(DVec3::ZERO, DVec3::Z), "body-b");
        assert_eq!(named(DVec3::ZERO, -DVec3::Y), "patch");
        // Beside the patch, towards wall B.
        assert_eq!(named(DVec3::new(0.0, 0.0, -57.5), -DVec3::Y), "flap-b");
    }

    /// A square prism along x from -300 to `end`: without its two ends.
    fn prism(end: f32) -> (Vec<f32>, Vec<f32>, Vec<u32>) {
        let round = [[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]];
        let ring = |x: f32| round.map(|[y, z]: [f32; 2]| [x, 20.0 * y, 20.0 * z]);
        let positions = [ring(end), ring(-300.0)].as_flattened().as_flattened().to_vec();
        let slant = std::f32::consts::FRAC_1_SQRT_2;
        let normals = [round; 2].as_flattened().iter().flat_map(|[y, z]| [0.0, y * slant, z * slant]).collect();
        let sides = (0..4u32).map(|k| [k, (k + 1) % 4, 4 + (k + 1) % 4, 4 + k]);
        let triangles = sides.flat_map(|[a, b, c, d]| [a, c, b, a, d, c]).collect();
        (positions, normals, triangles)
    }

    #[test]
    fn a_spout_is_drawn_where_it_is_and_not_at_all_while_it_is_nowhere() {
        let sack = sack(STEPPED);
        let given = full();
        let mut scene = Scene::filled(&sack, &given, Vec::new(), None).unwrap();
        let alone = scene.bounds;
        let (_, normals, triangles) = prism(0.0);
        let first = scene.paper.positions.len();
        scene.add_pipe(Pipe::new(&normals, &triangles).unwrap());
        let eye = DVec3::new(-900.0, -1500.0, 1200.0);
        let lines = |scene: &mut Scene| {
            scene.find_outline(eye);
            scene.ink.from.len()
        };
        let outline = lines(&mut scene);
        let vertices = |scene: &Scene| scene.paper.positions[first..].to_vec();
        assert_eq!(vertices(&scene).len(), 8);
        assert_eq!(scene.paper.positions.len(), scene.paper.tags.len());
        assert_eq!(scene.paper.positions.len(), scene.paper.paper.len());
        assert_eq!(scene.paper.positions.len(), scene.paper.normals.len());
        assert_eq!(vertices(&scene), [vertices(&scene)[0]; 8], "in one point nothing is drawn");
        for end in [-200.0, 150.0] {
            let (positions, ..) = prism(end);
            scene.move_filled(&given.positions, &positions).unwrap();
            assert_eq!(vertices(&scene).as_flattened(), positions);
            assert!((scene.bounds.min.x + 300.0).abs() < 1e-9 && scene.bounds.max == alone.max);
            // Two edges along it, and at both ends the rims of the two sides that are seen.
            assert_eq!(lines(&mut scene), outline + 2 + 4);
            assert!(scene.points(View::Whole).iter().all(|p| p.x >= alone.min.x), "views fit the sack");
        }
        scene.move_filled(&given.positions, &[]).unwrap();
        assert_eq!((scene.bounds, lines(&mut scene)), (alone, outline));
        assert_eq!(vertices(&scene), [vertices(&scene)[0]; 8]);
        scene.light_up(Named::parse("patch"));
        assert_eq!(scene.paper.positions.len(), scene.paper.tags.len());
    }

    #[test]
    fn a_spout_whose_arrays_do_not_agree_is_refused() {
        let (positions, normals, triangles) = prism(0.0);
        let new = Pipe::new;
        assert!(new(&normals, &triangles).is_some());
        assert!(new(&normals[1..], &triangles).is_none(), "half a normal");
        assert!(new(&normals, &triangles[1..]).is_none(), "half a triangle");
        assert!(new(&normals[3..], &triangles).is_none(), "a corner that is no vertex");
        assert!(new(&[f32::NAN; 24], &triangles).is_none());
        let given = full();
        let mut scene = Scene::filled(&sack(STEPPED), &given, Vec::new(), None).unwrap();
        assert!(scene.move_filled(&given.positions, &positions).is_none(), "a place for no spout");
        scene.add_pipe(new(&normals, &triangles).unwrap());
        assert!(scene.move_filled(&given.positions, &positions[3..]).is_none(), "fewer places than normals");
        assert!(scene.move_filled(&given.positions, &positions).is_some());
    }

    #[test]
    fn what_is_named_is_lit_on_the_bottoms_and_only_where_it_can_be_seen() {
        let mut scene = Scene::filled(&sack(STEPPED), &full(), Vec::new(), None).unwrap();
        let lit = |scene: &mut Scene, name: &str| {
            let named = Named::parse(name).unwrap();
            scene.light_up(Some(named));
            let bottoms = End::ALL.map(|end| scene.lit_parts(end));
            let flagged = |end: End| {
                let mut tags = scene.paper.tags.iter().zip(&scene.mesh.part);
                tags.any(|(tag, &part)| scene.mesh.parts[usize::from(part)].end == Some(end) && tag[3] & FLAG_LIT != 0)
            };
            assert_eq!(End::ALL.map(flagged), bottoms.map(|parts| parts != 0), "{name}");
            (bottoms, place::anchor(named, scene).map(|anchor| anchor.point))
        };
        let (bottoms, anchor) = lit(&mut scene, "patch");
        assert_eq!(bottoms, [1 << 4; 2]);
        assert!(anchor.unwrap().y.abs() > 0.9 * scene.bounds.max.y);
        assert_eq!(lit(&mut scene, "flap-b").0, [1 << 1; 2]);
        assert_eq!(lit(&mut scene, "body-a").0, [0; 2]);
        // A strip along the web says nothing of a bottom.
        assert_eq!(lit(&mut scene, "seam").0, [0; 2]);
        // The patch covers the sleeve, so no label leads there.
        assert_eq!(lit(&mut scene, "sleeve-over").1, None);
    }

    #[test]
    fn a_mesh_that_does_not_hold_together_is_refused_with_what_is_wrong() {
        let good = full();
        assert_eq!(good.fault(), None);
        let mut short = good.clone();
        short.positions.pop();
        let mut panel = good.clone();
        panel.panels[0] = 9;
        let mut index = good.clone();
        index.triangles[0] = 1_000_000;
        let mut number = good;
        number.positions[0] = f32::NAN;
        for (given, part) in [(short, "positions"), (panel, "panel 9"), (index, "vertex 1000000"), (number, "finite")] {
            assert!(given.fault().is_some_and(|fault| fault.contains(part)), "{part}");
        }
    }

    #[test]
    fn a_pallet_fills_its_box_and_its_boards_do_not_overlap() {
        let boxes = boards([1200.0, 800.0, 144.0]);
        let low = boxes.iter().fold(DVec3::INFINITY, |low, one| low.min(one[0]));
        let high = boxes.iter().fold(DVec3::NEG_INFINITY, |high, one| high.max(one[1]));
        assert!(low.distance(DVec3::new(-600.0, -400.0, -144.0)) < 1e-9, "{low}");
        assert!(high.distance(DVec3::new(600.0, 400.0, 0.0)) < 1e-9, "{high}");
        for (i, a) in boxes.iter().enumerate() {
            for b in &boxes[..i] {
                let apart = (0..3).any(|k| a[1][k] <= b[0][k] + 1e-9 || b[1][k] <= a[0][k] + 1e-9);
                assert!(apart, "{a:?} {b:?}");
            }
        }
    }

    #[test]
    fn a_stack_is_as_large_as_its_copies_and_boards() {
        let sack = sack(STEPPED);
        let one = Scene::filled(&sack, &full(), Vec::new(), None).unwrap().bounds;
        let copies = vec![[0.0, 0.0, 100.0, 0.0], [0.0, 0.0, 300.0, 1.0]];
        let stack = Scene::filled(&sack, &full(), copies, Some([1200.0, 1000.0, 144.0])).unwrap();
        assert!((stack.bounds.max.z - one.max.z - 300.0).abs() < 1e-6);
        assert!((stack.bounds.min.z + 144.0).abs() < 1e-6);
        assert!(stack.bounds.max.x >= one.max.y - 1e-6, "a quarter turn lays it across");
        for (name, view) in View::ALL {
            assert_eq!(stack.points(view), stack.bounds.corners(), "{name} shows all of it");
        }
    }
}

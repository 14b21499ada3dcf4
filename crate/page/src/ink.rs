//! The lines that are inked on the model: cut contours and creases of every ply.
//!
//! A cut line runs along each side of a cut edge. A crease is where triangles of two panels meet in the paper's chart,
//! which is in the middle of the bend between them.

use std::cmp::Ordering;

use glam::DVec3;
use sackwright::fold::{PanelName, Piece};
use sackwright::geom::sort_short;
use sackwright::model::{Face, Mesh, Part};
use sackwright::tube::Wall;

use crate::filled::{groups, pair};
use crate::place::Sizes;
use crate::sight::{Seen, Sight};

/// What a line stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Along the contour of a piece: cut or torn.
    Cut,
    /// Two panels meet.
    Crease,
}

/// A line between two vertices of the mesh.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Line {
    /// Its ends, indices of vertices.
    pub ends: [u32; 2],
    /// What it stands for.
    pub kind: Kind,
    /// The parts that it bounds, twice the same for a cut.
    pub parts: [u16; 2],
    /// Which way is up from the sheet that it is drawn on.
    pub up: Up,
}

/// Where the normal of a line's sheet comes from: the sheet moves from pose to pose, this does not.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Up {
    /// The normals at two vertices, one on each panel that meets there.
    Normals([u32; 2]),
    /// From the first vertex to the second, through the sheet from its other side to the line's; the third has the
    /// normal of the panel that the line bounds.
    Through([u32; 3]),
    /// Straight up: a sleeve lies flat.
    Level,
}

/// Chart coordinates closer than this are the same point, mm: charts are exact, neighbours repeat their points.
const SAME_MM: f64 = 1e-3;
/// Creases shorter than this part of the face width are the ends of bends around a corner, not creases.
const SHORTEST_CREASE: f64 = 0.03;

/// One edge of a triangle, by the chart points that it joins.
#[derive(Clone, Copy)]
struct Edge {
    points: [u32; 2],
    ends: [u32; 2],
    part: u16,
    /// The triangle's third corner.
    opposite: u32,
}

/// Finds the lines of meshes, one after the other. What follows from how a mesh hangs together is kept for the next that
/// hangs together alike: a sack whose sizes a hand drags.
#[derive(Debug, Default)]
pub struct Finder {
    /// How the last mesh hung together: its triangles, its parts, and its points of the chart.
    triangles: Vec<[u32; 3]>,
    part: Vec<u16>,
    parts: Vec<Part>,
    points: Points,
    /// Lines there may be, each with the part in whose sight it must be.
    found: Vec<(Line, usize)>,
}

impl Finder {
    /// Takes a mesh in; whether its triangles or parts are others than the last one's.
    pub fn take(&mut self, mesh: &Mesh) -> bool {
        let alike = self.triangles == mesh.triangles && self.part == mesh.part && self.parts == mesh.parts;
        if !alike {
            self.triangles.clone_from(&mesh.triangles);
            self.part.clone_from(&mesh.part);
            self.parts.clone_from(&mesh.parts);
            self.points = Points::default();
        }
        !alike
    }

    /// All lines that can be seen from anywhere, of the mesh that was taken in last.
    #[must_use]
    pub fn lines(&mut self, mesh: &Mesh, sizes: &Sizes) -> Vec<Line> {
        if self.points.take(mesh, 2.0 * sizes.face_width) {
            self.found = possible(mesh, &self.points.numbers);
        }
        let (sight, shortest) = (Sight::new(mesh, sizes), SHORTEST_CREASE * sizes.face_width);
        let shows = |&&(ref line, part): &&(Line, usize)| {
            let seen = || sight.of(&mesh.parts[part], chart(mesh, line.ends));
            match (line.kind, line.up) {
                (Kind::Cut, Up::Level) => long(mesh, line.ends, shortest),
                (Kind::Cut, _) => seen() != Seen::Nothing,
                (Kind::Crease, _) => seen() == Seen::All && long(mesh, line.ends, shortest),
            }
        };
        self.found.iter().filter(shows).map(|&(line, _)| line).collect()
    }
}

/// The lines of a mesh wherever they lie, each with the part in whose sight it must be; `points` numbers the chart's.
fn possible(mesh: &Mesh, points: &[u32]) -> Vec<(Line, usize)> {
    let flat = flat_vertices(mesh);
    let shared = shared(mesh, points);
    let (mut cuts, mut creases) = (Vec::new(), Vec::new());
    for triangle in &mesh.triangles {
        let part = mesh.part[triangle[0] as usize];
        let Part { piece, face, .. } = mesh.parts[usize::from(part)];
        for k in 0..3 {
            let ends = sorted([triangle[k], triangle[(k + 1) % 3]]);
            let joined = sorted(ends.map(|end| points[end as usize]));
            let opposite = triangle[(k + 2) % 3];
            let edge = Edge { points: joined, ends, part, opposite };
            let crease = match piece {
                Piece::Ply => joined.iter().all(|&point| shared[point as usize]),
                Piece::Sleeve => true,
                Piece::Patch => false,
            };
            if face == Face::Edge {
                cuts.push(edge);
            } else if crease && joined[0] != joined[1] {
                creases.push(edge);
            }
        }
    }
    let mut lines = Vec::new();
    // A cut edge is a band of triangles: what only one of them has and what leads along the contour is its side.
    for same in groups(cuts.iter().map(|edge| pair(edge.ends))) {
        let [alone] = *same else { continue };
        let Edge { points: [a, b], ends, part, opposite } = cuts[alone as usize];
        let across = points[opposite as usize];
        let Some(near) = ends.into_iter().find(|&end| points[end as usize] == across) else { continue };
        if a != b {
            let side = side_of(mesh, &flat, part, [opposite, near]);
            let up = Up::Through([opposite, near, flat[side]]);
            lines.push((Line { ends, kind: Kind::Cut, parts: [part, part], up }, side));
        }
    }
    for same in groups(creases.iter().map(|edge| pair(edge.points))) {
        let mut same: Vec<Edge> = same.into_iter().map(|number| creases[number as usize]).collect();
        sort_short(&mut same, |a, b| (a.part, a.ends) < (b.part, b.ends));
        let (first, last) = (same[0], same[same.len() - 1]);
        let piece = mesh.parts[usize::from(first.part)].piece;
        // The bend over a sleeve's fold has no paper of its own, so all of its edges fall together; drawn like a cut,
        // as it bounds the sleeve.
        if piece == Piece::Sleeve && same.len() > 2 {
            let Edge { ends, part, .. } = same[same.len() / 2];
            lines.push((Line { ends, kind: Kind::Cut, parts: [part, part], up: Up::Level }, usize::from(part)));
        }
        if piece == Piece::Ply && folds_between(mesh, first.part, last.part) {
            let parts = [first.part, last.part];
            let up = Up::Normals(parts.map(|part| flat[usize::from(part)]));
            lines.push((Line { ends: first.ends, kind: Kind::Crease, parts, up }, usize::from(first.part)));
        }
    }
    lines
}

fn sorted([a, b]: [u32; 2]) -> [u32; 2] {
    [a.min(b), a.max(b)]
}

/// Whether a fold runs between two parts. Wall B's half goes on into the body without one.
fn folds_between(mesh: &Mesh, a: u16, b: u16) -> bool {
    let [a, b] = [a, b].map(|part| match mesh.parts[usize::from(part)].panel {
        PanelName::Half(Wall::B) => PanelName::Body(Wall::B),
        panel => panel,
    });
    a != b
}

/// The first vertex of every part. A panel's flat polygon comes before its bends, so its normal is the panel's.
fn flat_vertices(mesh: &Mesh) -> Vec<u32> {
    let mut first = vec![0; mesh.parts.len()];
    for (vertex, &part) in mesh.part.iter().enumerate().rev() {
        first[usize::from(part)] = vertex as u32;
    }
    first
}

/// The outer or inner side that a line along a cut edge is drawn on; `up` leads through the sheet to the line. A
/// panel's parts are its outer side, its inner side and its edge, in this order.
fn side_of(mesh: &Mesh, flat: &[u32], edge: u16, up: [u32; 2]) -> usize {
    let edge = usize::from(edge);
    let outer = edge.saturating_sub(2);
    let [below, above] = up.map(|i| DVec3::from(mesh.positions[i as usize]));
    let outward = DVec3::from(mesh.normals[flat[outer] as usize]);
    if (above - below).dot(outward) > 0.0 { outer } else { edge.saturating_sub(1) }
}

fn chart(mesh: &Mesh, [a, b]: [u32; 2]) -> [[f64; 2]; 3] {
    [a, b, b].map(|i| mesh.paper[i as usize])
}

/// Whether two vertices are further apart than `least` on the paper.
fn long(mesh: &Mesh, ends: [u32; 2], least: f64) -> bool {
    let [a, b] = ends.map(|end| mesh.paper[end as usize]);
    let (du, dv) = (a[0] - b[0], a[1] - b[1]);
    du * du + dv * dv > least * least
}

/// The points of the chart that a mesh's vertices lie at.
#[derive(Debug, Default)]
struct Points {
    /// A number for every vertex, equal for vertices at the same point of the same side of the same sheet.
    numbers: Vec<u32>,
    /// The vertices by their points' places. In a sack a little larger they come in the same order, and to see that costs a
    /// fraction of sorting them.
    order: Vec<u32>,
}

impl Points {
    /// Takes a mesh in that hangs together like the last one, if there was one; whether its points are others. `around` is
    /// the width of a ply's chart: u = 0 and u = `around` are the same side fold, and bends over it may go on below 0.
    fn take(&mut self, mesh: &Mesh, around: f64) -> bool {
        let places = places(mesh, around);
        let stays = |pair: &[u32]| {
            let [a, b] = [pair[0], pair[1]].map(|vertex| vertex as usize);
            let order = places[a].cmp(&places[b]);
            order == if self.numbers[a] == self.numbers[b] { Ordering::Equal } else { Ordering::Less }
        };
        if !self.order.is_empty() && self.order.windows(2).all(stays) {
            return false;
        }
        let mut sorted: Vec<(u64, u32)> = places.iter().copied().zip(0..).collect();
        sorted.sort_unstable();
        self.order.clear();
        self.numbers.resize(sorted.len(), 0);
        let (mut number, mut last) = (0, None);
        for (place, vertex) in sorted {
            number += u32::from(last.replace(place).is_some_and(|last| last != place));
            self.numbers[vertex as usize] = number;
            self.order.push(vertex);
        }
        true
    }
}

/// The place of every vertex on its sheet, as one number.
fn places(mesh: &Mesh, around: f64) -> Vec<u64> {
    let sheets: Vec<(u32, bool)> = mesh.parts.iter().map(|part| (sheet(part), part.piece == Piece::Ply)).collect();
    // Ties to even is one instruction in wasm.
    let grid = |x: f64| (x / SAME_MM).round_ties_even() as i64;
    let around = grid(around).max(1);
    // Nearly all lie on the first round: a division for each would be felt.
    let wrapped = |u: i64| if (0..around).contains(&u) { u } else { u.rem_euclid(around) };
    let place = |(&[u, v], &part): (&[f64; 2], &u16)| {
        let (sheet, ply) = sheets[usize::from(part)];
        let u = if ply { wrapped(grid(u)) } else { grid(u) };
        // 27 bits each reach 67 m to either side.
        let [u, v] = [u, grid(v)].map(|x| (x as u64) & ((1 << 27) - 1));
        u64::from(sheet) << 54 | u << 27 | v
    };
    mesh.paper.iter().zip(&mesh.part).map(place).collect()
}

/// Whether triangles of several parts meet at a point of the chart: elsewhere there is no crease.
fn shared(mesh: &Mesh, points: &[u32]) -> Vec<bool> {
    let mut met: Vec<Option<u16>> = vec![None; points.len()];
    let mut shared = vec![false; points.len()];
    for triangle in &mesh.triangles {
        let part = mesh.part[triangle[0] as usize];
        for &corner in triangle {
            let point = points[corner as usize] as usize;
            shared[point] |= *met[point].get_or_insert(part) != part;
        }
    }
    shared
}

/// A number for the side of the sheet that a part belongs to.
fn sheet(part: &Part) -> u32 {
    let end = part.end.map_or(0, |end| 1 + end as u32);
    let sheet = match part.piece {
        // One chart for the whole ply, whatever the end.
        Piece::Ply => u32::from(part.ply.unwrap_or(0)),
        Piece::Patch => 100 + end,
        Piece::Sleeve => 200,
    };
    sheet * 3 + part.face as u32
}

#[cfg(test)]
mod tests {
    use sackwright::fold::Stage;

    use super::*;
    use crate::testing::{sack_of, scene};

    fn length(mesh: &Mesh, line: &Line) -> f64 {
        let [a, b] = line.ends.map(|end| mesh.paper[end as usize]);
        (a[0] - b[0]).hypot(a[1] - b[1])
    }

    #[test]
    fn a_flush_ply_is_cut_once_round_at_each_end_on_both_sides() {
        let scene = scene(&sack_of(1, 0.0), Stage::Tube, 0.0, 1.0);
        let lines = Finder::default().lines(&scene.mesh, &scene.sizes);
        let cuts = lines.iter().filter(|line| line.kind == Kind::Cut);
        let sum: f64 = cuts.map(|line| length(&scene.mesh, line)).sum();
        assert!((sum - 8.0 * scene.sizes.face_width).abs() < 1e-6, "{sum}");
    }

    #[test]
    fn creases_lie_where_panels_meet_and_none_is_lost_or_doubled() {
        let scene = scene(&sack_of(1, 0.0), Stage::Tube, 0.0, 1.0);
        let lines = Finder::default().lines(&scene.mesh, &scene.sizes);
        let creases: Vec<_> = lines.iter().filter(|line| line.kind == Kind::Crease).collect();
        // Per end and side of the sheet: one fold-back line, two flap folds, four pocket creases and four of their
        // flaps, four pocket folds, two side folds; and outside the body's two side folds.
        assert_eq!(creases.len(), 2 * 2 * 17 + 2);
        for line in creases {
            assert_ne!(line.parts[0], line.parts[1]);
        }
    }

    #[test]
    fn creases_stay_the_same_lines_while_the_sack_folds() {
        let sack = sack_of(3, 15.0);
        let at = |stage, at| {
            let scene = scene(&sack, stage, at, 1.0);
            let mut lines = Finder::default().lines(&scene.mesh, &scene.sizes);
            lines.retain(|line| line.kind == Kind::Crease);
            lines
        };
        assert_eq!(at(Stage::Tube, 0.0), at(Stage::OpenMouth, 0.6));
        assert_eq!(at(Stage::Tube, 0.0), at(Stage::PressPockets, 0.9));
    }

    #[test]
    fn a_finder_that_has_seen_another_sack_finds_the_same() {
        let mut finder = Finder::default();
        for (plies, step) in [(3, 15.0), (3, 12.0), (3, 0.0), (1, 0.0), (3, 15.0)] {
            let scene = scene(&sack_of(plies, step), Stage::OpenMouth, 0.4, 1.0);
            let fresh = Finder::default().lines(&scene.mesh, &scene.sizes);
            finder.take(&scene.mesh);
            assert!(finder.lines(&scene.mesh, &scene.sizes) == fresh, "{plies} {step}");
        }
    }
}

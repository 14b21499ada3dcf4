//! What of the paper can be seen from anywhere at all: plies lie on each other, and most of an inner ply is covered by
//! its neighbours at every pose. Only the stair of steps at the rims shows more than the outermost and innermost side.

use sackwright::fold::{PanelName, Piece};
use sackwright::model::{Face, Mesh, Part};
use sackwright::sheet::End;
use sackwright::tube::Wall;

use crate::place::Sizes;

/// What shows of an inner ply beyond its neighbour's rim is drawn this much further in, mm: bends and thickness move
/// rims a little against each other.
const UNDERCUT_MM: f64 = 3.0;

/// What of a triangle can be seen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Seen {
    /// Nothing, from nowhere.
    Nothing,
    /// All of it.
    All,
    /// Where this is positive: given at the corners, linear between.
    Where([f64; 3]),
}

/// Knows which plies cover which.
#[derive(Clone, Copy, Debug)]
pub struct Sight<'a> {
    sizes: &'a Sizes,
    innermost: u8,
}

impl<'a> Sight<'a> {
    /// For the plies of a mesh.
    #[must_use]
    pub fn new(mesh: &Mesh, sizes: &'a Sizes) -> Self {
        let innermost = mesh.parts.iter().filter_map(|part| part.ply).max().unwrap_or(0);
        Self { sizes, innermost }
    }

    /// Whether a part throws shadows. The outermost and the innermost ply throw all that the plies throw, and one
    /// side of a sheet throws what both do.
    #[must_use]
    pub fn casts(&self, part: &Part) -> bool {
        match part.piece {
            Piece::Ply => self.uncovered(part, part.ply.unwrap_or(0)) && part.face != Face::Edge,
            Piece::Patch | Piece::Sleeve => part.face == Face::Outer,
        }
    }

    /// What can be seen of a part's triangle, given by its chart coordinates.
    #[must_use]
    pub fn of(&self, part: &Part, chart: [[f64; 2]; 3]) -> Seen {
        let Some(ply) = part.ply.filter(|_| part.face != Face::Edge) else {
            return Seen::All;
        };
        // The walls between the bottoms lie on each other with their inner sides, always.
        if matches!(part.panel, PanelName::Body(_)) && part.face == Face::Inner && self.long(chart) {
            return Seen::Nothing;
        }
        if self.uncovered(part, ply) {
            return Seen::All;
        }
        let (Some(wall), Some(end)) = (wall_with_rim(part.panel), part.end) else {
            return Seen::Nothing;
        };
        let neighbour = if part.face == Face::Outer { ply - 1 } else { ply + 1 };
        let (rim, covered_from) = (self.rim(end, wall, ply), self.rim(end, wall, neighbour));
        if rim >= covered_from {
            return Seen::Nothing;
        }
        let limit = covered_from + UNDERCUT_MM;
        Seen::Where(chart.map(|[_, v]| limit - if end == End::ValveEnd { v } else { self.sizes.tube_length - v }))
    }

    /// Whether no ply lies on this side of the part.
    fn uncovered(&self, part: &Part, ply: u8) -> bool {
        ply == if part.face == Face::Outer { 0 } else { self.innermost }
    }

    /// Whether a triangle spans the wall between the bottoms; those of a bend do not.
    fn long(&self, chart: [[f64; 2]; 3]) -> bool {
        let low = chart.iter().fold(f64::INFINITY, |v, p| v.min(p[1]));
        let high = chart.iter().fold(f64::NEG_INFINITY, |v, p| v.max(p[1]));
        high - low > self.sizes.centre_distance / 2.0
    }

    /// Where a ply's tear line lies, from the nominal rim into the sack, mm.
    fn rim(&self, end: End, wall: Wall, ply: u8) -> f64 {
        let from_middle = f64::from(ply) - f64::from(self.innermost) / 2.0;
        let displacement = from_middle * self.sizes.step;
        match (end, wall) {
            (End::ValveEnd, Wall::A) | (End::PlainEnd, Wall::B) => -displacement,
            (End::ValveEnd, Wall::B) | (End::PlainEnd, Wall::A) => displacement,
        }
    }
}

/// The wall of a panel that reaches to the rim.
const fn wall_with_rim(panel: PanelName) -> Option<Wall> {
    match panel {
        PanelName::Flap(wall) | PanelName::Pocket(wall, _) | PanelName::PocketFlap(wall, _) => Some(wall),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use glam::DVec3;
    use sackwright::fold::Stage;

    use crate::pick;
    use crate::testing::{drawn, ray_through, sack_of, scene};

    /// What is left out may never be what one would see first: rays from all around, at every stage.
    #[test]
    fn what_is_not_drawn_is_covered_from_everywhere() {
        for (plies, step) in [(1, 0.0), (2, 0.0), (3, 15.0), (4, 8.0)] {
            let sack = sack_of(plies, step);
            for (stage, at) in [
                (Stage::Tube, 0.0),
                (Stage::OpenMouth, 0.7),
                (Stage::PressPockets, 0.5),
                (Stage::InsertValve, 1.0),
                (Stage::FoldFlaps, 0.3),
                (Stage::FoldFlaps, 1.0),
                (Stage::LayPatch, 1.0),
            ] {
                let scene = scene(&sack, stage, at, 3.0);
                let (mut met, mut missed) = (0, 0);
                for i in 0..400u32 {
                    // Evenly spread without a pattern: multiples of irrational numbers.
                    let f = |k: f64| (f64::from(i) * k).fract();
                    let (low, high) = (scene.bounds.min, scene.bounds.max);
                    let through = low + (high - low) * DVec3::new(f(0.618_034), f(0.414_214), f(0.732_051));
                    let (turn, rise) = (f(0.236_068) * std::f64::consts::TAU, f(0.302_776) * 2.0 - 1.0);
                    let level = (1.0 - rise * rise).sqrt();
                    let (s, c) = libm::sincos(turn);
                    let ray = ray_through(through, DVec3::new(level * c, level * s, rise));
                    let Some(hit) = pick::first(&scene, ray) else { continue };
                    met += 1;
                    // A slit between two bends may let one ray through in f32 and not in f64.
                    let near = drawn(&scene, ray).is_some_and(|distance| (distance - hit.distance).abs() < 0.3);
                    missed += i32::from(!near);
                }
                assert!(met > 60 && missed <= met / 100, "{plies} {stage:?} {at}: {missed} of {met}");
            }
        }
    }

    #[test]
    fn six_plies_cost_little_more_than_one() {
        let triangles = |plies| {
            let sack = sack_of(plies, 5.0);
            scene(&sack, Stage::Tube, 0.0, 1.0).paper.indices.len() / 3
        };
        assert!(triangles(6) < 4 * triangles(1), "{} {}", triangles(6), triangles(1));
    }
}

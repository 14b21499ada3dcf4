//! The spout as a solid in space, slid into the valve of a sack that lies folded, or as the film has it.
//!
//! A straight tube of round or elliptic section along the sleeve's middle line, its axis in the plane of the bottom. It is
//! as wide as the line's card says; the card says nothing of its wall, which is as thick as the eye wants it. Paper
//! opens round a spout; the folded sack's lies flat, so where one is drawn in the other, the tube goes through the paper.

use core::f64::consts::TAU;

use glam::{DVec2, DVec3};

use super::{Point, Spout, SpoutAxis};
use crate::cards::Line;
use crate::fill::SpoutPlace;
use crate::sack::Sack;
use crate::sheet::End;
use crate::tolerance::EXACT_MM;

/// Facets round the tube.
const FACETS: usize = 48;
/// mm of it that are there before the sleeve.
const BEFORE_MM: f64 = 110.0;
/// mm: its wall, where it is not too narrow for it.
const WALL_MM: f64 = 2.5;
/// mm of bottom and sleeve between the spout and the film's sheet, which is as thin as thought.
const PAPER_MM: f64 = 2.0;

/// A tube in the sack's frame: mm, closed, triangles counter-clockwise seen from outside.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct SpoutSolid {
    /// Of each vertex.
    pub positions: Vec<[f64; 3]>,
    /// Of each vertex, outward, of length 1.
    pub normals: Vec<[f64; 3]>,
    /// First those of the outside within the sleeve and the bottom, then those before it, then those of the bore within.
    pub triangles: Vec<[u32; 3]>,
    /// How many of the triangles are of the outside within.
    pub within: usize,
    /// How many are before the sleeve and the bottom.
    pub before: usize,
    /// The lines along which the spout touches, in the bottom's plane: z = 0.
    pub touches: Vec<[[f64; 3]; 2]>,
}

impl SpoutSolid {
    /// A line's spout, slid in beyond the end edge by `depth_mm`, its whole reach for `None`. `None` without a sleeve.
    #[must_use]
    pub fn new(sack: &Sack, line: &Line, depth_mm: Option<f64>) -> Option<Self> {
        let bottom = sack.bottom(End::ValveEnd);
        let sleeve = bottom.sleeve?;
        let spout = Spout::new(bottom, &sleeve, line, depth_mm);
        let card = &line.file().spout;
        let half = DVec2::from(card.section_mm()?) / 2.0;
        let sign = sleeve.side.sign();
        let axis = SpoutAxis::new(bottom, &sleeve);
        // The tube is made along x, from the end edge at x = 0, and then laid on the axis.
        let mouth = axis.sleeve[0].min(0.0);
        let [far, mouth, tip] = [mouth - BEFORE_MM, mouth, spout.depth_mm].map(|inwards| -sign * inwards);
        let bore = bore(half);

        let mut solid = Self::default();
        // The tube's ends: a ring each, with the outside's normal along the axis.
        let is_within = (tip - mouth).abs() > EXACT_MM;
        if is_within {
            solid.skin(half, 1.0, mouth, tip);
        }
        solid.end(half, bore, tip, -sign);
        solid.within = solid.triangles.len();
        solid.skin(half, 1.0, far, mouth);
        solid.end(half, bore, far, sign);
        solid.skin(bore, -1.0, far, mouth);
        solid.before = solid.triangles.len() - solid.within;
        if is_within {
            solid.skin(bore, -1.0, mouth, tip);
        }
        solid.lay(&axis);
        let space = |[x, y]: Point| [x, y, 0.0];
        solid.touches = spout.touches.iter().map(|touch| touch.line.map(space)).collect();
        Some(solid)
    }

    /// The spout of a frame of the film, all of it before the sleeve as the numbers of its triangles go: triangles and
    /// normals are the same in every frame.
    #[must_use]
    pub fn in_film(place: &SpoutPlace) -> Self {
        let half = DVec2::new(place.size.width_mm, place.size.height_mm) / 2.0;
        let bore = bore(half);
        let [x, y, z] = place.end_mm;
        let inwards = place.towards[0];
        let (far, tip) = (x - inwards * place.length_mm, x);
        let mut solid = Self::default();
        solid.skin(half, 1.0, far, tip);
        solid.end(half, bore, tip, inwards);
        solid.end(half, bore, far, -inwards);
        solid.skin(bore, -1.0, far, tip);
        solid.before = solid.triangles.len();
        for position in &mut solid.positions {
            *position = [position[0], position[1] + y, position[2] + z - PAPER_MM];
        }
        solid
    }

    /// Turns and moves what was made along x onto an axis.
    fn lay(&mut self, axis: &SpoutAxis) {
        let outwards = axis.inwards * -axis.sign;
        let turned = |[x, y, z]: [f64; 3]| (outwards * x + axis.across * y).extend(z);
        for position in &mut self.positions {
            *position = (axis.entry.extend(0.0) + turned(*position)).to_array();
        }
        for normal in &mut self.normals {
            *normal = turned(*normal).to_array();
        }
    }

    /// The elliptic skin between two places along x; `side` 1: its normals point away from the axis, -1: towards it.
    fn skin(&mut self, half: DVec2, side: f64, from: f64, to: f64) {
        let rings = [from, to].map(|x| {
            self.ring(half, x, |round| {
                let away = DVec2::new(round.x / half.x, round.y / half.y).normalize_or_zero() * side;
                DVec3::new(0.0, away.x, away.y)
            })
        });
        self.band(rings, (to - from) * side < 0.0);
    }

    /// The ring between outside and bore, facing along x as `side` says.
    fn end(&mut self, half: DVec2, bore: DVec2, x: f64, side: f64) {
        let rings = [half, bore].map(|half| self.ring(half, x, |_| DVec3::new(side, 0.0, 0.0)));
        self.band(rings, side < 0.0);
    }

    /// Vertices round the axis; returns the first's number.
    fn ring(&mut self, half: DVec2, x: f64, normal: impl Fn(DVec2) -> DVec3) -> usize {
        let first = self.positions.len();
        for facet in 0..FACETS {
            let (sin, cos) = libm::sincos(TAU * facet as f64 / FACETS as f64);
            let round = DVec2::new(half.x * cos, half.y * sin);
            self.positions.push([x, round.x, round.y]);
            self.normals.push(normal(round).to_array());
        }
        first
    }

    /// Triangles between two rings.
    fn band(&mut self, [one, two]: [usize; 2], turned: bool) {
        for facet in 0..FACETS {
            let next = (facet + 1) % FACETS;
            let [a, b, c, d] = [one + facet, one + next, two + next, two + facet].map(|vertex| vertex as u32);
            self.triangles.extend(if turned { [[a, c, b], [a, d, c]] } else { [[a, b, c], [a, c, d]] });
        }
    }
}

/// Half the bore of a tube that is so wide outside.
fn bore(half: DVec2) -> DVec2 {
    half - DVec2::splat(WALL_MM.min(half.min_element() / 3.0))
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use proptest::prelude::*;

    use super::*;
    use crate::cards::SpoutShape;
    use crate::check::support;
    use crate::fill::SpoutSize;
    use crate::fold::sleeve_placement;
    use crate::sheet::Sheet;

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(300))]

        /// Closed and turned outwards, as wide and as far in as the card says, its axis on the sleeve's middle line.
        #[test]
        fn the_tube_is_the_cards(file in support::valid_sheet(), line in support::valid_line(), share in 0.0..=1.0) {
            let sack = Sack::new(Sheet::new(file).unwrap());
            let card = &line.file().spout;
            let depth = share * card.reach_mm;
            let bottom = sack.bottom(End::ValveEnd);
            let Some(sleeve) = bottom.sleeve else {
                prop_assert!(SpoutSolid::new(&sack, &line, Some(depth)).is_none());
                return Ok(());
            };
            let solid = SpoutSolid::new(&sack, &line, Some(depth)).unwrap();
            is_closed(&solid);

            let (width, height) = match card.shape {
                SpoutShape::Round => (card.outside_diameter_mm.unwrap(), card.outside_diameter_mm.unwrap()),
                SpoutShape::Oval => (card.width_mm.unwrap(), card.height_mm.unwrap()),
            };
            // Seen from the sleeve's mouth: along it inwards, across it.
            let laid = sleeve_placement(bottom, &sleeve, 1.0);
            let (way, across) = (laid.dv, DVec3::Z.cross(laid.dv) * -sleeve.side.sign());
            let seen = |place: DVec3| {
                let from = place - laid.origin;
                DVec3::new(from.dot(way), from.dot(across), place.z)
            };
            let places: Vec<DVec3> = solid.positions.iter().map(|&place| seen(DVec3::from(place))).collect();
            let far = |axis: usize, side: f64| places.iter().map(|p| side * p[axis]).fold(f64::MIN, f64::max);
            for (axis, size) in [(1, width), (2, height)] {
                for side in [1.0, -1.0] {
                    prop_assert!((far(axis, side) - size / 2.0).abs() < 1e-9);
                }
            }
            for place in &places {
                prop_assert!(libm::hypot(2.0 * place.y / width, 2.0 * place.z / height) < 1.0 + 1e-9, "{place}");
            }
            // Its tip is so far inside the end edge; what is within begins at the mouth or the end edge.
            let entry = sleeve.outer_end_mm / libm::cos(sleeve.skew_deg.to_radians());
            prop_assert!((far(0, 1.0) - (entry + depth)).abs() < 1e-9);
            let begins = entry.min(0.0);
            for (number, triangle) in solid.triangles.iter().enumerate() {
                let outermost = triangle.map(|i| places[i as usize].x).into_iter().fold(f64::MAX, f64::min);
                let is_before = (solid.within..solid.within + solid.before).contains(&number);
                prop_assert_eq!(is_before, outermost < begins - 1e-9);
            }
        }
    }

    /// Every edge twice, once each way: edges by the places that they join. Turned outwards.
    fn is_closed(solid: &SpoutSolid) {
        let place = |i: u32| DVec3::from(solid.positions[i as usize]);
        let mut edges: BTreeMap<[[i64; 3]; 2], i32> = BTreeMap::new();
        let key = |i: u32| place(i).to_array().map(|value| (value * 1e6).round() as i64);
        let mut volume = 0.0;
        for &[a, b, c] in &solid.triangles {
            volume += place(a).dot(place(b).cross(place(c))) / 6.0;
            for (from, to) in [(a, b), (b, c), (c, a)] {
                let (from, to) = (key(from), key(to));
                let way = if from < to { 1 } else { -1 };
                *edges.entry([from.min(to), from.max(to)]).or_default() += way;
            }
            let normal = (place(b) - place(a)).cross(place(c) - place(a));
            for corner in [a, b, c] {
                assert!(normal.dot(DVec3::from(solid.normals[corner as usize])) > 0.0);
            }
        }
        assert!(volume > 0.0);
        assert!(edges.values().all(|&sum| sum == 0));
    }

    #[test]
    fn in_the_film_it_is_where_the_film_has_it() {
        let sack = Sack::new(Sheet::new(support::plain_sheet()).unwrap());
        let size = SpoutSize::new(&sack, None);
        for (side, length_mm) in [(1.0, 300.0), (-1.0, 20.0)] {
            let end_mm = [40.0 * side, -300.0, 700.0];
            let solid =
                SpoutSolid::in_film(&SpoutPlace { end_mm, towards: [-side, 0.0, 0.0], size, in_mm: 150.0, length_mm });
            is_closed(&solid);
            let far = |axis: usize, way: f64| solid.positions.iter().map(|p| way * p[axis]).fold(f64::MIN, f64::max);
            // Its end, and the other end so far outwards.
            assert!((far(0, -side) * -side - end_mm[0]).abs() < 1e-9 && (far(0, side) - 40.0 - length_mm).abs() < 1e-9);
            assert!((far(1, 1.0) + far(1, -1.0) - size.width_mm).abs() < 1e-9);
            // Under the bottom, which lies where the spout's top would be without paper between.
            assert!((far(2, 1.0) + PAPER_MM - end_mm[2] - size.height_mm / 2.0).abs() < 1e-9);
        }
    }

    #[test]
    fn it_touches_where_the_plan_says() {
        let mut file = support::plain_sheet();
        file.valve_end.valve.offset_from_centre_mm = 25.0;
        file.valve_end.valve.skew_deg = 5.0;
        let sack = Sack::new(Sheet::new(file).unwrap());
        let line = support::plain_line();
        let plan = Spout::new(sack.bottom(End::ValveEnd), &sack.bottom(End::ValveEnd).sleeve.unwrap(), &line, None);
        let solid = SpoutSolid::new(&sack, &line, None).unwrap();
        assert!(!plan.touches.is_empty());
        let flat: Vec<_> = solid.touches.iter().map(|line| line.map(|[x, y, _]| [x, y])).collect();
        assert_eq!(flat, plan.touches.iter().map(|touch| touch.line).collect::<Vec<_>>());
    }
}

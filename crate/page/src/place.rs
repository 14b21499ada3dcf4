//! What a name lights up and where its label goes: places of findings and names of panels, on the mesh.

use glam::DVec3;
use sackwright::bottom::Bottom;
use sackwright::finding::Place;
use sackwright::fold::{PanelName, Piece};
use sackwright::model::{Face, Part};
use sackwright::sack::Sack;
use sackwright::sheet::{End, Side};
use sackwright::tube::Wall;

use crate::camera::{Ray, View};
use crate::filled;
use crate::pick;
use crate::scene::{Run, Scene};
use crate::tone;

/// Width of the strip along a tear line that stands for the cut, mm.
const CUT_STRIP_MM: f64 = 12.0;
/// How far from the edge of the seam's overlap its shade can still be seen, mm.
const SEAM_SHADE_MM: f64 = 16.0;
/// An anchor this far behind the first paper in sight lies on it, mm: rounding, far below a ply.
const SAME_MM: f64 = 1e-3;

/// Every panel that can be named.
const PANELS: [PanelName; 17] = [
    PanelName::Body(Wall::A),
    PanelName::Body(Wall::B),
    PanelName::Half(Wall::A),
    PanelName::Half(Wall::B),
    PanelName::Flap(Wall::A),
    PanelName::Flap(Wall::B),
    PanelName::Pocket(Wall::A, Side::Left),
    PanelName::Pocket(Wall::A, Side::Right),
    PanelName::Pocket(Wall::B, Side::Left),
    PanelName::Pocket(Wall::B, Side::Right),
    PanelName::PocketFlap(Wall::A, Side::Left),
    PanelName::PocketFlap(Wall::A, Side::Right),
    PanelName::PocketFlap(Wall::B, Side::Left),
    PanelName::PocketFlap(Wall::B, Side::Right),
    PanelName::Patch,
    PanelName::SleeveUnder,
    PanelName::SleeveOver,
];

/// The sizes of a sack that places depend on, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sizes {
    /// Width of the flat tube.
    pub face_width: f64,
    /// Length of the cut tube.
    pub tube_length: f64,
    /// Centre line to centre line of the two bottoms.
    pub centre_distance: f64,
    /// Rim to centre line, valve end and plain end.
    pub opening_depth: [f64; 2],
    /// Overlap of the flaps, valve end and plain end.
    pub lap: [f64; 2],
    /// Bottom width, valve end and plain end.
    pub bottom_width: [f64; 2],
    /// Distance between the tear lines of neighbouring plies.
    pub step: f64,
    /// How far the outermost and innermost tear lines lie off the nominal rim.
    pub spread: f64,
    /// Middle of the seam of every ply, paper coordinate u; what there is no ply for repeats the last.
    pub seam: [f64; 6],
    /// Overlap of the seam.
    pub seam_lap: f64,
    /// The barcode on the outermost ply's chart: least u and v, greatest u and v.
    pub barcode: Option<[[f64; 2]; 2]>,
    /// Sign of x on the valve's side.
    pub valve_side: f64,
    /// The closed bottoms, valve end and plain end.
    pub plans: [Plan; 2],
}

/// What lies on a closed bottom, seen from outside: x across the face, c from the centre line towards wall B; mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Plan {
    /// Bottom width.
    pub width: f64,
    /// How far the outermost ply of wall A's and of wall B's flap reaches from its fold.
    pub reach: [f64; 2],
    /// The wall whose flap is folded last: 0 for A, 1 for B.
    pub last: usize,
    /// Length, width and offset along x of the patch; 0 long where there is none.
    pub patch: [f64; 3],
    /// Side of the sleeve (sign of x, 0 for none), its width and offset along c.
    pub sleeve: [f64; 3],
}

impl Plan {
    fn of(bottom: &Bottom, spread: f64) -> Self {
        // The outermost ply is the shortest on the wall folded first, and the longest on the other.
        let last = usize::from(bottom.first == Wall::A);
        let mut reach = [bottom.flap_depth_mm - spread; 2];
        reach[last] = bottom.flap_depth_mm + spread;
        let patch = bottom.patch.as_ref().map_or([0.0; 3], |p| [p.length_mm, p.width_mm, p.offset_mm]);
        let sleeve = bottom.sleeve.as_ref().map_or([0.0; 3], |s| [s.side.sign(), s.width_mm, s.offset_mm]);
        Self { width: bottom.width_mm, reach, last, patch, sleeve }
    }
}

impl Sizes {
    /// The sizes of a sack.
    #[must_use]
    pub fn of(sack: &Sack) -> Self {
        let tube = sack.tube();
        let both = |size: fn(&Bottom) -> f64| End::ALL.map(|end| size(sack.bottom(end)));
        let seam = |ply: usize| tube.plies.get(ply).or(tube.plies.last()).map_or(0.0, |p| p.seam_u_mm);
        let sleeve = sack.bottom(End::ValveEnd).sleeve.as_ref();
        Self {
            face_width: tube.face_width_mm,
            tube_length: tube.length_mm,
            centre_distance: tube.bottom_centre_distance_mm,
            opening_depth: both(|bottom| bottom.opening_depth_mm),
            lap: both(|bottom| bottom.lap_mm),
            bottom_width: both(|bottom| bottom.width_mm),
            step: tube.step_mm,
            spread: tube.spread_mm(),
            seam: std::array::from_fn(seam),
            seam_lap: tube.seam_lap_mm,
            barcode: sack.barcode_mm(),
            valve_side: sleeve.map_or(-1.0, |sleeve| sleeve.side.sign()),
            plans: End::ALL.map(|end| Plan::of(sack.bottom(end), tube.spread_mm())),
        }
    }

    /// Overall length of the flat sack, and of the filled one's wall, mm.
    #[must_use]
    pub fn length(&self) -> f64 {
        self.centre_distance + (self.bottom_width[0] + self.bottom_width[1]) / 2.0
    }
}

impl Sizes {
    /// What a view shows: points that are fitted into the canvas. The same at every stage, so that the picture does
    /// not jump while the sack folds: the flat tube, and the walls of the bottoms standing up.
    #[must_use]
    pub fn points(&self, view: View) -> Vec<DVec3> {
        let h = self.face_width / 2.0;
        let [valve, plain] = self.opening_depth;
        let far = -self.centre_distance;
        let across = |y: f64, z: f64| [DVec3::new(-h, y, z), DVec3::new(h, y, z)];
        match view {
            View::Whole | View::Above | View::Below | View::Side => {
                [across(valve, 0.0), across(0.0, valve), across(far, plain), across(far - plain, 0.0)].concat()
            }
            View::ValveEnd => [across(valve, 0.0), across(0.0, valve * 0.8), across(-valve, 0.0)].concat(),
            View::PlainEnd => [across(far - plain, 0.0), across(far, plain * 0.8), across(far + plain, 0.0)].concat(),
            View::Corner => {
                let edge = self.valve_side * h;
                let inner = edge - self.valve_side * valve * 2.2;
                let at = |x: f64, y: f64, z: f64| DVec3::new(x, y, z);
                vec![
                    at(edge, valve, 0.0),
                    at(edge, -valve, 0.0),
                    at(inner, valve * 1.1, 0.0),
                    at(inner, -valve * 1.1, 0.0),
                    at(edge, 0.0, valve * 0.5),
                    at(inner, 0.0, valve * 0.9),
                ]
            }
        }
    }
}

impl Sizes {
    /// Whether the seam, or its shade, runs through a triangle of a part, given by its chart coordinates.
    #[must_use]
    pub fn has_seam(&self, part: &Part, chart: [[f64; 2]; 3]) -> bool {
        let Some(ply) = part.ply.filter(|_| tone::on_wall_b(part) && part.face != Face::Edge) else {
            return false;
        };
        let middle = self.seam[usize::from(ply).min(self.seam.len() - 1)];
        let reach = self.seam_lap / 2.0 + SEAM_SHADE_MM;
        let low = chart.iter().fold(f64::INFINITY, |u, p| u.min(p[0]));
        let high = chart.iter().fold(f64::NEG_INFINITY, |u, p| u.max(p[0]));
        low < middle + reach && high > middle - reach
    }
}

/// The name of a part's side at the boundary.
#[must_use]
pub const fn side(part: &Part) -> &'static str {
    match part.face {
        Face::Outer => "outer",
        Face::Inner => "inner",
        Face::Edge => "edge",
    }
}

/// Something that can be lit up or labelled.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Named<'a> {
    /// A place of a finding.
    Place(Place),
    /// Every panel of that name, `pocket-a-left`.
    Panel(&'a str),
}

impl<'a> Named<'a> {
    /// Takes a place's or a panel's name.
    #[must_use]
    pub fn parse(name: &'a str) -> Option<Self> {
        let place = Place::ALL.into_iter().find(|place| place.name() == name);
        let panel = || PANELS.iter().any(|panel| panel.name() == name);
        place.map(Self::Place).or_else(|| panel().then_some(Self::Panel(name)))
    }

    /// Whether a part belongs to it; the band narrows it further.
    #[must_use]
    pub fn holds(self, part: &Part, sizes: &Sizes) -> bool {
        let panel = part.panel.name();
        let ply = part.piece == Piece::Ply;
        let starts = |heads: &[&str]| heads.iter().any(|head| panel.starts_with(head));
        let at = |end: End| part.end == Some(end);
        let bottom = |end| at(end) && part.piece != Piece::Sleeve;
        match self {
            Self::Panel(name) => panel == name,
            Self::Place(place) => match place {
                Place::FaceWidth => panel == "body-a",
                Place::Length | Place::Contents => starts(&["body"]),
                Place::Cut | Place::Plies => ply && starts(&["flap", "pocket"]),
                Place::Seam => ply && tone::on_wall_b(part),
                Place::Valve => {
                    let side = if sizes.valve_side < 0.0 { "left" } else { "right" };
                    let pocket = panel.starts_with("pocket-") && panel.ends_with(side);
                    part.piece == Piece::Sleeve || (at(End::ValveEnd) && pocket)
                }
                Place::Sleeve => part.piece == Piece::Sleeve,
                Place::ValveEndBottom => bottom(End::ValveEnd),
                Place::PlainEndBottom => bottom(End::PlainEnd),
                Place::ValveEndPockets => at(End::ValveEnd) && starts(&["pocket"]),
                Place::PlainEndPockets => at(End::PlainEnd) && starts(&["pocket"]),
                Place::ValveEndLap => at(End::ValveEnd) && starts(&["flap"]),
                Place::PlainEndLap => at(End::PlainEnd) && starts(&["flap"]),
                Place::ValveEndPatch => at(End::ValveEnd) && part.piece == Piece::Patch,
                Place::PlainEndPatch => at(End::PlainEnd) && part.piece == Piece::Patch,
                Place::Barcode => part.ply == Some(0) && starts(&["body"]),
            },
        }
    }

    /// The part of the paper that it is narrowed to.
    #[must_use]
    pub fn band(self, sizes: &Sizes) -> Band {
        let t = sizes.tube_length;
        let ends = |depth: f64| Band { v_low: depth, v_high: t - depth, ..Band::ALL };
        match self {
            Self::Place(Place::Cut | Place::Plies) => ends(sizes.spread + CUT_STRIP_MM),
            // The lap of ply i lies spread off the nominal one; the band takes them all in.
            Self::Place(Place::ValveEndLap) => ends(sizes.lap[0] + sizes.spread),
            Self::Place(Place::PlainEndLap) => ends(sizes.lap[1] + sizes.spread),
            Self::Place(Place::Seam) => Band {
                u_low: sizes.seam.into_iter().fold(f64::INFINITY, f64::min) - sizes.seam_lap / 2.0,
                u_high: sizes.seam.into_iter().fold(f64::NEG_INFINITY, f64::max) + sizes.seam_lap / 2.0,
                ..Band::ALL
            },
            Self::Place(Place::Barcode) => sizes.barcode.map_or(Band::ALL, |[[u_low, v_high], [u_high, v_low]]| Band {
                u_low,
                u_high,
                v_low,
                v_high,
            }),
            _ => Band::ALL,
        }
    }
}

/// A part of a ply's chart, mm: u between its limits, and v either below or above the tube's middle part; or, where its least v
/// at the plain end lies before the greatest at the valve end, between the two.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Band {
    /// Least u.
    pub u_low: f64,
    /// Greatest u.
    pub u_high: f64,
    /// Greatest v at the valve end.
    pub v_low: f64,
    /// Least v at the plain end.
    pub v_high: f64,
}

impl Band {
    /// Everything. The limits are far outside any chart, yet harmless in f32.
    pub const ALL: Self = Self { u_low: -1e6, u_high: 1e6, v_low: 1e6, v_high: 1e6 };

    /// What of a triangle in the chart lies in the band: polygons of (u, v).
    fn cut(self, triangle: [[f64; 2]; 3]) -> impl Iterator<Item = Vec<[f64; 2]>> {
        let inside = clip(clip(triangle.to_vec(), 0, self.u_low, 1.0), 0, self.u_high, -1.0);
        let far = clip(inside.clone(), 1, self.v_high, 1.0);
        if self.v_high < self.v_low {
            return [clip(far, 1, self.v_low, -1.0), Vec::new()].into_iter();
        }
        [clip(inside, 1, self.v_low, -1.0), far].into_iter()
    }
}

/// Keeps of a convex polygon what lies on the side `sign` of `limit` along an axis (Sutherland and Hodgman 1974).
fn clip(polygon: Vec<[f64; 2]>, axis: usize, limit: f64, sign: f64) -> Vec<[f64; 2]> {
    let off = |p: [f64; 2]| (p[axis] - limit) * sign;
    let mut kept = Vec::with_capacity(polygon.len() + 1);
    for (i, &p) in polygon.iter().enumerate() {
        let q = polygon[(i + 1) % polygon.len()];
        let (a, b) = (off(p), off(q));
        if a >= 0.0 {
            kept.push(p);
        }
        if (a > 0.0 && b < 0.0) || (a < 0.0 && b > 0.0) {
            let f = a / (a - b);
            kept.push([p[0] + (q[0] - p[0]) * f, p[1] + (q[1] - p[1]) * f]);
        }
    }
    kept
}

/// Where a label points at.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Anchor {
    /// In space, mm.
    pub point: DVec3,
}

/// The middle of what `named` holds: of its largest single panel in one ply, so that the label never points between
/// two pockets. None where the mesh has nothing of it (yet).
#[must_use]
pub fn anchor(named: Named, scene: &Scene) -> Option<Anchor> {
    let sizes = &scene.sizes;
    let band = named.band(sizes);
    let mut best: Option<(f64, DVec3)> = None;
    for run in &scene.runs {
        let part = scene.mesh.parts.get(run.part)?;
        // A filled sack's bottom is one run: what is of the name there is told triangle by triangle.
        let bottom = part.end.filter(|_| scene.filled.is_some());
        if part.face != Face::Outer || (bottom.is_none() && !named.holds(part, sizes)) {
            continue;
        }
        let (area, moment) = match bottom {
            None => middle(scene, run, band, &|_| true),
            Some(_) if band != Band::ALL => continue,
            Some(end) => middle(scene, run, band, &|at| {
                named.holds(&scene.mesh.parts[filled::part_at(at, Some(end), sizes)], sizes)
            }),
        };
        if area > best.map_or(1e-6, |(most, _)| most * 1.001) {
            best = Some((area, moment / area));
        }
    }
    best.map(|(_, point)| Anchor { point })
}

/// Area (mm2 of paper) of a run within the band, where the middle of a triangle is wanted, and area times middle in space.
fn middle(scene: &Scene, run: &Run, band: Band, wanted: &dyn Fn([f64; 2]) -> bool) -> (f64, DVec3) {
    let mesh = &scene.mesh;
    let mut sum = (0.0, DVec3::ZERO);
    for triangle in &scene.triangles[run.triangles.clone()] {
        let [a, b, c] = triangle.map(|i| mesh.paper[i as usize]);
        let space = triangle.map(|i| DVec3::from(mesh.positions[i as usize]));
        let cross =
            |p: [f64; 2], q: [f64; 2], r: [f64; 2]| (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0]);
        let whole = cross(a, b, c);
        if whole.abs() < 1e-9 || !wanted([(a[0] + b[0] + c[0]) / 3.0, (a[1] + b[1] + c[1]) / 3.0]) {
            continue;
        }
        for polygon in band.cut([a, b, c]) {
            for i in 2..polygon.len() {
                let (p, q, r) = (polygon[0], polygon[i - 1], polygon[i]);
                let area = (cross(p, q, r) / 2.0).abs();
                let m = [(p[0] + q[0] + r[0]) / 3.0, (p[1] + q[1] + r[1]) / 3.0];
                let weights = [cross(m, b, c) / whole, cross(a, m, c) / whole];
                let point = space[0] * weights[0] + space[1] * weights[1] + space[2] * (1.0 - weights[0] - weights[1]);
                sum.0 += area;
                sum.1 += point * area;
            }
        }
    }
    sum
}

/// Whether the eye sees the anchor, or something else of the same name in front of it.
#[must_use]
pub fn seen(anchor: Anchor, named: Named, scene: &Scene, eye: DVec3) -> bool {
    let way = anchor.point - eye;
    let distance = way.length();
    if distance < 1e-9 {
        return false;
    }
    let ray = Ray { origin: eye, direction: way / distance };
    pick::first(scene, ray).is_none_or(|hit| {
        let part = &scene.mesh.parts[hit.part];
        hit.distance >= distance - SAME_MM || named.holds(part, &scene.sizes)
    })
}

#[cfg(test)]
mod tests {
    use sackwright::fold::Stage;

    use super::*;
    use crate::testing::{STEPPED, sack, scene};

    #[test]
    fn every_name_is_known_and_no_other() {
        for place in Place::ALL {
            assert_eq!(Named::parse(place.name()), Some(Named::Place(place)));
        }
        let scene = scene(&sack(STEPPED), Stage::LayPatch, 1.0, 1.0);
        for part in &scene.mesh.parts {
            assert!(Named::parse(part.panel.name()).is_some());
        }
        assert_eq!(Named::parse("pocket"), None);
        assert_eq!(Named::parse(""), None);
    }

    #[test]
    fn every_place_has_an_anchor_on_the_finished_sack() {
        let scene = scene(&sack(STEPPED), Stage::LayPatch, 1.0, 1.0);
        for place in Place::ALL {
            let anchor = anchor(Named::Place(place), &scene).unwrap();
            let (low, high) = (scene.bounds.min - 1e-6, scene.bounds.max + 1e-6);
            assert!(anchor.point.cmpge(low).all() && anchor.point.cmple(high).all(), "{place:?}");
        }
    }

    #[test]
    fn a_sleeve_that_is_not_there_yet_has_no_anchor() {
        let scene = scene(&sack(STEPPED), Stage::Tube, 0.0, 1.0);
        assert_eq!(anchor(Named::Place(Place::Sleeve), &scene), None);
    }

    #[test]
    fn the_seam_is_on_the_back() {
        let scene = scene(&sack(STEPPED), Stage::Tube, 0.0, 1.0);
        let named = Named::Place(Place::Seam);
        let anchor = anchor(named, &scene).unwrap();
        let from = |z: f64| seen(anchor, named, &scene, anchor.point + DVec3::new(0.0, 0.0, z));
        assert!(from(-1000.0) && !from(1000.0));
        // u = 2W - (x + W/2) on wall B.
        let u = 1.5 * scene.sizes.face_width - anchor.point.x;
        let reach = scene.sizes.seam_lap / 2.0 + 1e-6;
        assert!(scene.sizes.seam.iter().any(|seam| (seam - u).abs() < reach + 60.0), "{u}");
    }

    #[test]
    fn a_lap_is_lit_along_the_rim_only() {
        let sizes = Sizes::of(&sack(STEPPED));
        let band = Named::Place(Place::ValveEndLap).band(&sizes);
        let inside = |v: f64| band.cut([[10.0, v], [11.0, v], [10.0, v + 0.1]]).any(|polygon| polygon.len() > 2);
        assert!(inside(sizes.lap[0] / 2.0));
        assert!(!inside(sizes.opening_depth[0]));
    }
}

//! Where the valve sleeve lies in its bottom, what stands beside it, and where it may lie.
//!
//! The rules of [`check`](crate::check) judge one place. Here their formulas are solved for the place: with skew, length
//! and width as they are, every limit is a bound of the outer end a, or of the offset c by functions of a that are linear
//! piece by piece, so that the places where the rules hold are polygons in (a, c), exact to rounding. With the bottom's
//! sign s, skew e, sleeve wv x ls, face W, opening depth d, lap o and bottom width B:
//!
//! - with q = (wv/2) |sin e|, by which a corner of an end stands farther than the end's middle: sleeve-reach
//!   a <= ls cos e - q - (B + o)/2 - free; sleeve-far-pocket a >= ls cos e + q - (W - B/2 - d) + margin; sleeve-mouth
//!   a -+ q in its range; spout-in-sleeve a >= (ls - margin - reach) cos e;
//! - sleeve-width |c|, |c - s ls sin e| <= (B - margins - wv cos e)/2;
//! - sleeve-straight |c - s sin e (a/cos e + u)| <= B/2 - (U/4) cos e at u = reach and where each side of the spout enters.
//!
//! Coordinates of the finished bottom: x across the face as on the sack's front, y from the centre line towards the
//! sack's end. Lengths in mm.

mod solid;

use glam::DVec2;
use serde::Serialize;

use crate::bottom::{Bottom, Sleeve};
use crate::cards::Line;
use crate::check::{Against, Habits, survey_sleeve};
use crate::finding::{Finding, Severity};
use crate::fold::sleeve_placement;
use crate::sack::Sack;
use crate::sheet::{End, Side, SleeveKind};
use crate::tolerance::EXACT_MM;
use crate::tube::Wall;

pub use solid::SpoutSolid;

/// A point of the bottom: x, y.
pub type Point = [f64; 2];

/// The rules that judge where the sleeve lies. The spout's reach does not depend on it, but on the turn: a range of it
/// minds spout-reach, unless that does not hold of a straight sleeve either.
pub const RULES: [&str; 6] =
    ["sleeve-reach", "sleeve-far-pocket", "sleeve-width", "sleeve-mouth", "sleeve-straight", "spout-in-sleeve"];

/// What a sheet may say at all: outer end and offset in mm, skew in degrees, length in mm.
const OUTER_END_MM: [f64; 2] = [-500.0, 500.0];
const OFFSET_MM: [f64; 2] = [-200.0, 200.0];
const SKEW_DEG: [f64; 2] = [-45.0, 45.0];

/// The valve sleeve in its bottom.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Placing {
    /// The end of the bottom at which it lies.
    pub side: Side,
    /// +1: the valve lies at x > 0.
    pub sign: f64,
    /// Where it lies.
    pub place: Place,
    /// The bottom round it.
    pub bottom: Ground,
    /// The sleeve's corners: its outer end's two, its inner end's two.
    pub sleeve: [Point; 4],
    /// The middles of its outer and its inner end.
    pub ends: [Point; 2],
    /// The filling line's spout, slid in.
    pub spout: Option<Spout>,
    /// The distances that matter.
    pub distances: Vec<Distance>,
    /// Where the middle of the outer end may lie with skew, length and width as they are.
    pub room: Room,
    /// The same with everything else as it is, one measure at a time; no interval where nothing would do.
    pub ranges: Ranges,
}

/// The sleeve's measures on the sheet.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Place {
    /// How far it stands out beyond the bottom's end edge.
    pub outer_end_mm: f64,
    /// Its middle from the centre line.
    pub offset_from_centre_mm: f64,
    /// Turned in the bottom's plane.
    pub skew_deg: f64,
    /// Its length.
    pub length_mm: f64,
}

/// The bottom's lines.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Ground {
    /// Outline of the closed bottom, from its right tip round.
    pub outline: [Point; 6],
    /// The end edges, left and right.
    pub end_edges: [[Point; 2]; 2],
    /// The pockets' rims, left and right.
    pub pocket_rims: [[Point; 2]; 2],
    /// Rims of the outermost ply's flaps, wall A's and wall B's.
    pub flap_rims: [[Point; 2]; 2],
    /// The patch.
    pub patch: Option<[Point; 4]>,
    /// Edges of the band of the longitudinal seams of all plies, in wall B's flap.
    pub seam_mm: [f64; 2],
}

/// A spout that was slid into the sleeve along its middle line, pressed flat.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Spout {
    /// How far beyond the bottom's end edge it ends, along itself.
    pub depth_mm: f64,
    /// How far it can be slid in.
    pub reach_mm: f64,
    /// Its outline: outside's two corners, its tip's two.
    pub outline: [Point; 4],
    /// Where it touches.
    pub touches: Vec<Touch>,
}

/// What a spout touches.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Touched {
    /// The sleeve's edge towards the sack's end.
    EndSide,
    /// The sleeve's edge towards the sack's middle.
    MiddleSide,
    /// The bottom's fold line towards the sack's end.
    EndFold,
    /// The bottom's fold line towards the sack's middle.
    MiddleFold,
    /// The pocket that the sleeve lies on: the spout ends above it.
    OwnPocket,
    /// The pocket opposite.
    FarPocket,
}

/// Where a spout touches.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Touch {
    /// What.
    pub what: Touched,
    /// From here, measured from the end edge inwards along the spout.
    pub from_mm: f64,
    /// To here.
    pub to_mm: f64,
    /// The line along which it touches.
    pub line: [Point; 2],
}

/// A distance that matters.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Distance {
    /// What it is.
    pub key: &'static str,
    /// mm.
    pub value_mm: f64,
    /// mm: what it should be at least, or, for the outer end, the bound it passes.
    pub limit_mm: Option<f64>,
    /// What the rule about it says.
    pub severity: Option<Severity>,
    /// Where it is measured; `None` for what does not lie in the bottom's plane.
    pub line: Option<[Point; 2]>,
}

/// Where the middle of the sleeve's outer end may lie.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Room {
    /// None of [`RULES`] asks for a look there.
    pub good: Vec<Vec<Point>>,
    /// None of them stops the sack there.
    pub possible: Vec<Vec<Point>>,
}

/// Intervals of one measure in which none of [`RULES`] asks for a look.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Ranges {
    /// mm.
    pub outer_end_mm: Vec<[f64; 2]>,
    /// mm.
    pub offset_from_centre_mm: Vec<[f64; 2]>,
    /// Degrees.
    pub skew_deg: Vec<[f64; 2]>,
    /// mm.
    pub length_mm: Vec<[f64; 2]>,
}

impl Placing {
    /// The sleeve of a sack's valve end; `depth_mm`: how far the line's spout is slid in beyond the end edge, its whole
    /// reach for `None`. `None` without a sleeve.
    #[must_use]
    pub fn new(sack: &Sack, line: Option<&Line>, habits: &Habits, depth_mm: Option<f64>) -> Option<Self> {
        let bottom = sack.bottom(End::ValveEnd);
        let sleeve = bottom.sleeve?;
        let sign = sleeve.side.sign();
        let laid = Laid::new(bottom, sleeve);
        let findings = survey_sleeve(sack, &Against { line, habits: Some(habits), ..Against::default() });
        let good = Limits::new(bottom, sleeve, line, habits, Severity::Look);
        let possible = Limits::new(bottom, sleeve, line, habits, Severity::Stop);
        let edge = end_edge(bottom);
        let plan = |limits: &Limits| {
            let polygons = polygons(&limits.bounds(), limits.outer_end());
            let point = |[a, c]: Point| [sign * (edge + a), c];
            polygons.into_iter().map(|polygon| polygon.into_iter().map(point).collect()).collect()
        };
        Some(Self {
            side: sleeve.side,
            sign,
            place: Place {
                outer_end_mm: sleeve.outer_end_mm,
                offset_from_centre_mm: sleeve.offset_mm,
                skew_deg: sleeve.skew_deg,
                length_mm: sleeve.length_mm,
            },
            bottom: Ground::new(sack, bottom),
            sleeve: laid.corners,
            ends: [laid.mouth, laid.inner],
            spout: line.map(|line| Spout::new(bottom, &sleeve, line, depth_mm)),
            distances: distances(sack, bottom, &sleeve, &laid, line, habits, &findings),
            room: Room { good: plan(&good), possible: plan(&possible) },
            ranges: good.ranges(),
        })
    }
}

/// |x| of the bottom's end edges.
fn end_edge(bottom: &Bottom) -> f64 {
    bottom.half_face_mm() - bottom.width_mm / 2.0
}

/// |x| of the pockets' rims on the centre line.
fn pocket_rim(bottom: &Bottom) -> f64 {
    bottom.half_face_mm() - bottom.opening_depth_mm
}

/// The sleeve as it lies.
struct Laid {
    mouth: Point,
    inner: Point,
    corners: [Point; 4],
}

impl Laid {
    fn new(bottom: &Bottom, sleeve: Sleeve) -> Self {
        let laid = sleeve_placement(bottom, &sleeve, 1.0);
        let at = |across: f64, along: f64| {
            let point = laid.at(DVec2::new(across, along));
            [point.x, point.y]
        };
        let (half, length) = (sleeve.width_mm / 2.0, sleeve.length_mm);
        Self {
            mouth: at(0.0, 0.0),
            inner: at(0.0, length),
            corners: [at(-half, 0.0), at(half, 0.0), at(half, length), at(-half, length)],
        }
    }
}

impl Ground {
    fn new(sack: &Sack, bottom: &Bottom) -> Self {
        let (h, half, edge, rim) = (bottom.half_face_mm(), bottom.width_mm / 2.0, end_edge(bottom), pocket_rim(bottom));
        let upright = |x: f64, reach: f64| [[x, -reach], [x, reach]];
        let tube = sack.tube();
        let flap_rim = |wall: Wall| {
            let rim = tube.rim_mm(bottom.end, wall, 0);
            let side = if wall == Wall::A { -1.0 } else { 1.0 };
            let (x, y) = (h - bottom.opening_depth_mm + rim, side * (bottom.width_mm - bottom.opening_depth_mm + rim));
            [[-x, y], [x, y]]
        };
        let seams = || tube.plies.iter().map(|ply| 1.5 * tube.face_width_mm - ply.seam_u_mm);
        Self {
            outline: [[h, 0.0], [edge, half], [-edge, half], [-h, 0.0], [-edge, -half], [edge, -half]],
            end_edges: [upright(-edge, half), upright(edge, half)],
            pocket_rims: [upright(-rim, half), upright(rim, half)],
            flap_rims: Wall::BOTH.map(flap_rim),
            patch: bottom.patch.map(|patch| {
                let (x, long, wide) = (patch.offset_mm, patch.length_mm / 2.0, patch.width_mm / 2.0);
                [[x - long, -wide], [x + long, -wide], [x + long, wide], [x - long, wide]]
            }),
            seam_mm: [
                seams().fold(f64::INFINITY, f64::min) - tube.seam_lap_mm / 2.0,
                seams().fold(f64::NEG_INFINITY, f64::max) + tube.seam_lap_mm / 2.0,
            ],
        }
    }
}

/// Where a spout lies that goes in along the sleeve's middle line: the operator pushes the sleeve over it, and the sack
/// turns with the sleeve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct SpoutAxis {
    /// +1: the valve lies at x > 0.
    sign: f64,
    /// Where the axis crosses the line of the bottom's end edge.
    entry: DVec2,
    /// Inwards along the axis, of length 1.
    inwards: DVec2,
    /// Across it, towards the sack's end, of length 1.
    across: DVec2,
    /// The sleeve's mouth and its inner end along the axis, from the end edge inwards.
    sleeve: [f64; 2],
}

impl SpoutAxis {
    pub(crate) fn new(bottom: &Bottom, sleeve: &Sleeve) -> Self {
        let sign = sleeve.side.sign();
        let (sine, cosine) = libm::sincos(sleeve.skew_deg.to_radians());
        let mouth = -sleeve.outer_end_mm / cosine;
        Self {
            sign,
            entry: DVec2::new(sign * end_edge(bottom), sleeve.offset_mm + sign * mouth * sine),
            inwards: DVec2::new(-sign * cosine, -sign * sine),
            across: DVec2::new(-sine, cosine),
            sleeve: [mouth, mouth + sleeve.length_mm],
        }
    }

    /// The point so far inwards from the end edge and so far aside.
    pub(crate) fn at(&self, inwards: f64, aside: f64) -> DVec2 {
        self.entry + self.inwards * inwards + self.across * aside
    }

    /// How far inwards along the spout a distance from the end edge along the bottom is, `aside` of the axis.
    fn along(&self, distance: f64, aside: f64) -> f64 {
        (distance + self.sign * self.across.x * aside) / (self.inwards.x * -self.sign)
    }
}

impl Spout {
    fn new(bottom: &Bottom, sleeve: &Sleeve, line: &Line, depth_mm: Option<f64>) -> Self {
        /// mm of it that are shown before the sleeve.
        const SHOWN_MM: f64 = 40.0;
        let axis = SpoutAxis::new(bottom, sleeve);
        let reach_mm = line.file().spout.reach_mm;
        let depth_mm = depth_mm.map_or(reach_mm, |depth| depth.clamp(0.0, reach_mm));
        let half = line.spout_girth_mm() / 4.0;
        let point = |inwards: f64, aside: f64| axis.at(inwards, aside).to_array();
        let [mouth, inner] = axis.sleeve;
        let out = mouth.min(0.0) - SHOWN_MM;
        let outline = [point(out, -half), point(out, half), point(depth_mm, half), point(depth_mm, -half)];

        let mut touches = Vec::new();
        let mut along = |what, span: Option<[f64; 2]>, aside: f64| {
            if let Some([from_mm, to_mm]) = span {
                touches.push(Touch { what, from_mm, to_mm, line: [point(from_mm, aside), point(to_mm, aside)] });
            }
        };
        for (sleeve_side, fold, side) in
            [(Touched::EndSide, Touched::EndFold, 1.0), (Touched::MiddleSide, Touched::MiddleFold, -1.0)]
        {
            // A sleeve that is narrower than the spout is touched as far as both go.
            if sleeve.sheets() > 1 {
                let spare = |_: f64| sleeve.width_mm / 2.0 - half;
                along(sleeve_side, below_zero(&spare, mouth, inner.min(depth_mm)), side * sleeve.width_mm / 2.0);
            }
            let spare = |inwards: f64| fold_spare(bottom, axis, side * half, inwards);
            let from = axis.along(0.0, side * half).max(0.0);
            along(fold, below_zero(&spare, from, depth_mm), side * half);
        }
        // The tip passes the pocket's rim with its hindmost corner, and meets the far one with its foremost.
        let [near, far] = bottom.spout_reaches_mm(sleeve, line.spout_girth_mm());
        let mut on = |what, from_mm: f64, to_mm: f64, at: f64| {
            if to_mm > from_mm + EXACT_MM {
                touches.push(Touch { what, from_mm, to_mm, line: [point(at, -half), point(at, half)] });
            }
        };
        on(Touched::OwnPocket, depth_mm, near, depth_mm);
        on(Touched::FarPocket, far, depth_mm, far);
        Self { depth_mm, reach_mm, outline, touches }
    }
}

/// How far a side of the spout keeps from the bottom's fold line on that side.
fn fold_spare(bottom: &Bottom, axis: SpoutAxis, aside: f64, inwards: f64) -> f64 {
    bottom.width_mm / 2.0 - aside.signum() * axis.at(inwards, aside).y
}

/// Where a linear function is below zero between two places.
fn below_zero(value: &impl Fn(f64) -> f64, from: f64, to: f64) -> Option<[f64; 2]> {
    if to <= from {
        return None;
    }
    let (start, end) = (value(from), value(to));
    let zero = || from + (to - from) * start / (start - end);
    match (start < -EXACT_MM, end < -EXACT_MM) {
        (true, true) => Some([from, to]),
        (true, false) => Some([from, zero()]),
        (false, true) => Some([zero(), to]),
        (false, false) => None,
    }
}

/// The values are the rules' own: of a turned sleeve, to that corner of an end that they judge.
fn distances(
    sack: &Sack,
    bottom: &Bottom,
    sleeve: &Sleeve,
    laid: &Laid,
    line: Option<&Line>,
    habits: &Habits,
    findings: &[Finding],
) -> Vec<Distance> {
    let said = |rule: &str| findings.iter().find(|finding| finding.rule == rule);
    let severity = |rule: &str| said(rule).map(|finding| finding.severity);
    let limit = |rule: &str| said(rule).and_then(|finding| finding.limit).map(|limit| limit.value);
    let (sign, edge, rim) = (sleeve.side.sign(), end_edge(bottom), pocket_rim(bottom));
    // Of two corners the one that lies farther out, or the other.
    let corner =
        |[one, other]: [Point; 2], outer: bool| if (sign * one[0] >= sign * other[0]) == outer { one } else { other };
    let [a, b, c, d] = laid.corners;
    let [hindmost, foremost] = sleeve.mouth_mm();
    let stands = said("sleeve-mouth").and_then(|finding| finding.value).map_or(foremost, |value| value.value);
    let mouth = corner([a, b], stands > hindmost);
    let ([near, far], [least, most]) = (sleeve.inner_end_mm(), [true, false].map(|outer| corner([c, d], outer)));
    let mut found = vec![
        Distance {
            key: "end_edge",
            value_mm: stands,
            limit_mm: limit("sleeve-mouth").filter(|_| severity("sleeve-mouth") != Some(Severity::Good)),
            severity: severity("sleeve-mouth"),
            line: Some([[sign * edge, mouth[1]], mouth]),
        },
        Distance {
            key: "free",
            value_mm: near - bottom.edge_to_pocket_rim_mm(),
            limit_mm: limit("sleeve-reach"),
            severity: severity("sleeve-reach"),
            line: Some([[sign * rim, least[1]], least]),
        },
        Distance {
            key: "far_pocket",
            value_mm: bottom.edge_to_far_pocket_mm() - far,
            limit_mm: Some(habits.sleeve_far_mm),
            severity: severity("sleeve-far-pocket"),
            line: Some([most, [-sign * rim, most[1]]]),
        },
    ];
    for (key, side) in [("end_side", 1.0), ("middle_side", -1.0)] {
        let [first, rest @ ..] = laid.corners;
        let farthest =
            rest.into_iter().fold(first, |far, corner| if side * corner[1] > side * far[1] { corner } else { far });
        let value_mm = bottom.width_mm / 2.0 - side * farthest[1];
        // The rule speaks of the narrower side.
        let told = if value_mm < -EXACT_MM {
            Severity::Stop
        } else if value_mm < habits.sleeve_side_mm - EXACT_MM {
            Severity::Look
        } else {
            Severity::Good
        };
        found.push(Distance {
            key,
            value_mm,
            limit_mm: Some(habits.sleeve_side_mm),
            severity: Some(told),
            line: Some([farthest, [farthest[0], side * bottom.width_mm / 2.0]]),
        });
    }
    found.push(seam_distance(sack, bottom, laid));
    let Some(line) = line else { return found };
    let girth = line.spout_girth_mm();
    found.push(Distance {
        key: "spout_round",
        value_mm: (2.0 * sleeve.width_mm - girth) / core::f64::consts::TAU,
        limit_mm: Some(line.file().spout_fit.min.unwrap_or(0.0) * girth / core::f64::consts::TAU),
        severity: severity("spout-fit"),
        line: None,
    });
    let axis = SpoutAxis::new(bottom, sleeve);
    let reach = line.file().spout.reach_mm;
    found.push(Distance {
        limit_mm: limit("sleeve-straight"),
        severity: severity("sleeve-straight"),
        ..spout_to_fold(bottom, axis, girth / 4.0, reach)
    });
    if sleeve.sheets() > 1 {
        found.push(Distance {
            key: "spout_past",
            value_mm: reach - sleeve.depth_mm(),
            limit_mm: Some(-habits.spout_before_sleeve_mm),
            severity: severity("spout-in-sleeve"),
            line: Some([laid.inner, axis.at(reach, 0.0).to_array()]),
        });
    }
    found
}

/// From the spout, pressed flat and slid in to its reach, to the nearer of the bottom's fold lines; negative beyond it.
fn spout_to_fold(bottom: &Bottom, axis: SpoutAxis, half: f64, reach: f64) -> Distance {
    let ends = [half, -half]
        .into_iter()
        .flat_map(|aside| [axis.along(0.0, aside).max(0.0).min(reach), reach].map(|inwards| (aside, inwards)));
    let spare = |&(aside, inwards): &(f64, f64)| fold_spare(bottom, axis, aside, inwards);
    let nearest = ends.min_by(|one, other| spare(one).total_cmp(&spare(other)));
    let (aside, inwards) = nearest.unwrap_or((half, reach));
    let value_mm = spare(&(aside, inwards));
    let from = axis.at(inwards, aside);
    Distance {
        key: "spout_fold",
        value_mm,
        limit_mm: None,
        severity: None,
        line: Some([from.to_array(), [from.x, aside.signum() * bottom.width_mm / 2.0]]),
    }
}

/// From the sleeve to the band of the seams, along the bottom; negative where they overlap.
fn seam_distance(sack: &Sack, bottom: &Bottom, laid: &Laid) -> Distance {
    let [near, far] = Ground::new(sack, bottom).seam_mm;
    let xs = laid.corners.map(|corner| corner[0]);
    let low = xs.into_iter().fold(f64::INFINITY, f64::min);
    let high = xs.into_iter().fold(f64::NEG_INFINITY, f64::max);
    let (value_mm, ends) = if near - high >= low - far { (near - high, [high, near]) } else { (low - far, [low, far]) };
    Distance { key: "seam", value_mm, limit_mm: None, severity: None, line: Some(ends.map(|x| [x, 0.0])) }
}

/// The rules' limits as bounds of the place, so that no rule weighs as much as a severity.
#[derive(Clone, Copy)]
struct Limits<'a> {
    bottom: &'a Bottom,
    sleeve: Sleeve,
    /// From the end edge inwards: all of the inner end lies between.
    inner_end: [f64; 2],
    /// How far the inner end's middle may lie from the end edge along the sleeve, with a spout.
    depth: f64,
    /// Beyond the end edge: all of the outer end lies between.
    mouth: [f64; 2],
    /// Of what the sleeve needs across the bottom.
    across: f64,
    /// Between the bottom's fold lines, with a spout.
    lane: Option<Lane>,
}

/// Where a spout has to stay.
#[derive(Clone, Copy)]
struct Lane {
    /// The bottom's width.
    width: f64,
    /// Half of what the spout, pressed flat, is wide.
    half: f64,
    reach: f64,
}

impl<'a> Limits<'a> {
    fn new(bottom: &'a Bottom, sleeve: Sleeve, line: Option<&Line>, habits: &Habits, below: Severity) -> Self {
        let looked_at = below == Severity::Look;
        let advised = |margin: f64| if looked_at { margin } else { 0.0 };
        let is_tube = sleeve.sheets() > 1;
        let near = bottom.edge_to_pocket_rim_mm()
            + if is_tube { advised(habits.sleeve_free_share * sleeve.width_mm) } else { 0.0 };
        let far = bottom.edge_to_far_pocket_mm() - advised(habits.sleeve_far_mm);
        let spout = line.filter(|_| is_tube && looked_at).map(|line| line.file().spout.reach_mm);
        Self {
            bottom,
            sleeve,
            inner_end: [near, far],
            depth: spout.map_or(f64::INFINITY, |reach| reach + habits.spout_before_sleeve_mm),
            mouth: match sleeve.kind {
                SleeveKind::External if looked_at => [habits.least_tuck_mm, habits.most_tuck_mm],
                SleeveKind::Internal if looked_at => [-habits.mouth_behind_mm, habits.mouth_before_mm],
                _ => [f64::NEG_INFINITY, f64::INFINITY],
            },
            across: bottom.width_mm - advised(2.0 * habits.sleeve_side_mm),
            lane: line.filter(|_| looked_at).map(|line| Lane {
                width: bottom.width_mm,
                half: line.spout_girth_mm() / 4.0,
                reach: line.file().spout.reach_mm,
            }),
        }
    }

    /// Of the outer end, with the length as it is.
    fn outer_end(&self) -> [f64; 2] {
        let ([long, corner], [near, far], [least, most]) = (self.sleeve.along_mm(), self.inner_end, self.mouth);
        let past = (self.sleeve.length_mm - self.depth) * self.cosine();
        [
            (long + corner - far).max(least + corner).max(past).max(OUTER_END_MM[0]),
            (long - corner - near).min(most - corner).min(OUTER_END_MM[1]),
        ]
    }

    /// Of the length, with the outer end as it is; none where no length would do.
    fn length(&self) -> Option<[f64; 2]> {
        let ([_, corner], [near, far], [least, most]) = (self.sleeve.along_mm(), self.inner_end, self.mouth);
        let [hindmost, foremost] = self.sleeve.mouth_mm();
        let along = |inner: f64| (inner + self.sleeve.outer_end_mm) / self.cosine();
        let stands = hindmost >= least - EXACT_MM && foremost <= most + EXACT_MM;
        stands.then(|| {
            let past = self.depth + self.sleeve.length_mm - self.sleeve.depth_mm();
            [along(near + corner), along(far - corner).min(past)]
        })
    }

    fn sine(&self) -> f64 {
        -self.sleeve.side.sign() * libm::sin(self.sleeve.skew_deg.to_radians())
    }

    fn cosine(&self) -> f64 {
        libm::cos(self.sleeve.skew_deg.to_radians())
    }

    /// Half of what the sleeve's middle line may stray across the bottom.
    fn aside(&self) -> f64 {
        (self.across - self.sleeve.width_mm * self.cosine()) / 2.0
    }

    /// What bounds the offset, as functions of the outer end.
    fn bounds(&self) -> Bounds {
        let (sine, length, edge) = (self.sine(), self.sleeve.length_mm, self.aside());
        let mut lines = vec![
            Bound::level(OFFSET_MM[0], OFFSET_MM[1]),
            Bound::level(-edge, edge),
            Bound::level(-edge - length * sine, edge - length * sine),
        ];
        lines.extend(self.for_spout().into_iter().flatten());
        Bounds(lines)
    }

    /// What the spout's sides ask for where they enter and at its tip.
    fn for_spout(&self) -> Option<[Bound; 2]> {
        let (Lane { width, half, reach }, sine, cos) = (self.lane?, self.sine(), self.cosine());
        let free = width / 2.0 - half * cos;
        let enters = |side: f64| (side * sine * half / cos).clamp(0.0, reach);
        let bound = |[lower, upper]: [f64; 2]| Bound {
            low: -free - sine * lower,
            high: free - sine * upper,
            drift: sine / cos,
        };
        Some([bound([enters(-1.0), enters(1.0)]), bound([reach, reach])])
    }

    fn ranges(&self) -> Ranges {
        let (a, c) = (self.sleeve.outer_end_mm, self.sleeve.offset_mm);
        let bounds = self.bounds();
        let outer_end = self.outer_end();
        let mut at_offset = self.bounds();
        at_offset.0.push(Bound::level(c, c));
        let spans = polygons(&at_offset, outer_end).into_iter().map(|polygon| {
            let xs = polygon.iter().map(|point| point[0]);
            [xs.clone().fold(f64::INFINITY, f64::min), xs.fold(f64::NEG_INFINITY, f64::max)]
        });
        let [low, high] = bounds.at(a);
        let is_out = a >= outer_end[0] - EXACT_MM && a <= outer_end[1] + EXACT_MM;
        Ranges {
            outer_end_mm: spans.collect(),
            offset_from_centre_mm: if is_out && low <= high { vec![[low, high]] } else { Vec::new() },
            skew_deg: self.skews(),
            length_mm: self.lengths().into_iter().collect(),
        }
    }

    /// |c + l sin| <= aside bounds a length l; the spout goes as far whatever the sleeve's length.
    fn lengths(&self) -> Option<[f64; 2]> {
        let c = self.sleeve.offset_mm;
        let (sine, aside) = (self.sine(), self.aside());
        let spout = Bounds(self.for_spout().into_iter().flatten().collect());
        let [lowest, highest] = spout.at(self.sleeve.outer_end_mm);
        if c.abs() > aside + EXACT_MM || c < lowest - EXACT_MM || c > highest + EXACT_MM {
            return None;
        }
        let [low, mut high] = self.length()?;
        if sine != 0.0 {
            high = high.min((if sine > 0.0 { aside - c } else { aside + c }) / sine.abs());
        }
        (low <= high).then_some([low, high])
    }

    /// What is left of the narrowest bound at a skew: below zero a rule speaks.
    fn spare(&self, skew_deg: f64) -> f64 {
        let turned = Self { sleeve: Sleeve { skew_deg, ..self.sleeve }, ..*self };
        let left = |[low, high]: [f64; 2], value: f64| (value - low).min(high - value);
        let a = self.sleeve.outer_end_mm;
        let lies = left(turned.bounds().at(a), self.sleeve.offset_mm).min(left(turned.outer_end(), a));
        let reaches = |Lane { half, reach, .. }: Lane, sleeve: &Sleeve| {
            left(self.bottom.spout_reaches_mm(sleeve, 4.0 * half), reach)
        };
        let straight = Sleeve { skew_deg: 0.0, ..self.sleeve };
        let lane = self.lane.filter(|lane| reaches(*lane, &straight) >= -EXACT_MM);
        lane.map_or(lies, |lane| lies.min(reaches(lane, &turned.sleeve)))
    }

    /// The bounds are no polynomials of the skew: their zeros are closed in on.
    fn skews(&self) -> Vec<[f64; 2]> {
        const STEPS: u32 = 180;
        let skew = |step: u32| SKEW_DEG[0] + (SKEW_DEG[1] - SKEW_DEG[0]) * f64::from(step) / f64::from(STEPS);
        let holds = |skew: f64| self.spare(skew) >= -EXACT_MM;
        let close_in = |mut inside: f64, mut outside: f64| {
            for _ in 0..50 {
                let middle = f64::midpoint(inside, outside);
                if holds(middle) { inside = middle } else { outside = middle }
            }
            inside
        };
        let mut spans: Vec<[f64; 2]> = Vec::new();
        let mut before = false;
        for step in 0..=STEPS {
            let (here, now) = (skew(step), holds(skew(step)));
            match (before, now) {
                (false, true) => {
                    let from = if step == 0 { here } else { close_in(here, skew(step - 1)) };
                    spans.push([from, here]);
                }
                (true, true) => spans.iter_mut().last().into_iter().for_each(|span| span[1] = here),
                (true, false) => {
                    let to = close_in(skew(step - 1), here);
                    spans.iter_mut().last().into_iter().for_each(|span| span[1] = to);
                }
                (false, false) => {}
            }
            before = now;
        }
        spans
    }
}

/// Least and largest offset as functions of the outer end.
struct Bound {
    low: f64,
    high: f64,
    /// How much both fall with the outer end.
    drift: f64,
}

impl Bound {
    const fn level(low: f64, high: f64) -> Self {
        Self { low, high, drift: 0.0 }
    }

    fn at(&self, a: f64) -> [f64; 2] {
        [self.low - self.drift * a, self.high - self.drift * a]
    }
}

/// All that bounds the offset.
struct Bounds(Vec<Bound>);

impl Bounds {
    fn at(&self, a: f64) -> [f64; 2] {
        let start = [f64::NEG_INFINITY, f64::INFINITY];
        self.0.iter().map(|line| line.at(a)).fold(start, |all, one| [all[0].max(one[0]), all[1].min(one[1])])
    }
}

/// The polygons of all (a, c) with c within the bounds and a within a range: between crossings everything is linear.
fn polygons(bounds: &Bounds, [from, to]: [f64; 2]) -> Vec<Vec<Point>> {
    if from > to {
        return Vec::new();
    }
    let mut breaks = vec![from, to];
    let lines: Vec<[f64; 2]> = bounds
        .0
        .iter()
        .flat_map(|line| {
            let (start, end) = (line.at(from), line.at(to));
            [[start[0], end[0]], [start[1], end[1]]]
        })
        .collect();
    for (index, one) in lines.iter().enumerate() {
        for other in &lines[..index] {
            let (start, end) = (one[0] - other[0], one[1] - other[1]);
            if start * end < 0.0 {
                breaks.push(from + (to - from) * start / (start - end));
            }
        }
    }
    breaks.sort_by(f64::total_cmp);
    breaks.dedup_by(|a, b| (*a - *b).abs() <= EXACT_MM);
    let columns = breaks.into_iter().map(|a| (a, bounds.at(a)));
    let columns: Vec<(f64, [f64; 2])> = columns.collect();
    columns
        .split(|(_, [low, high])| *low > *high + EXACT_MM)
        .filter(|run| !run.is_empty())
        .map(|run| {
            let lower = run.iter().map(|&(a, [low, _])| [a, low]);
            let upper = run.iter().rev().map(|&(a, [_, high])| [a, high]);
            lower.chain(upper).collect()
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::check::support;
    use crate::figures::{PasteHabits, figures};
    use crate::sheet::{Sheet, SheetFile, Valve, ValveEnd};

    /// A sheet whose sleeve has a chance to fit.
    fn fitting() -> impl Strategy<Value = SheetFile> {
        (
            support::valid_sheet(),
            0.3..1.0,
            0.2..1.1,
            -10.0..100.0,
            -0.4..0.4,
            prop_oneof![1 => Just(0.0), 2 => -12.0..12.0],
        )
            .prop_map(|(mut file, width, length, out, aside, skew): (SheetFile, f64, f64, f64, f64, f64)| {
                let (face, bottom) = (file.face_width_mm, file.valve_end.bottom_width_mm);
                let valve = &mut file.valve_end.valve;
                valve.flat_width_mm = width * bottom;
                valve.length_mm = 40.0 + length * (face - bottom);
                valve.outer_end_mm = if valve.sleeve == SleeveKind::External { out } else { out / 8.0 };
                valve.offset_from_centre_mm = aside * (1.0 - width) * bottom;
                valve.skew_deg = skew;
                file
            })
    }

    fn find(sack: &Sack, against: &Against, rules: &[&str]) -> Vec<Finding> {
        crate::check::survey(sack, against).into_iter().filter(|finding| rules.contains(&finding.rule)).collect()
    }

    fn placing(file: &SheetFile, line: Option<&Line>) -> Placing {
        let sack = Sack::new(Sheet::new(file.clone()).unwrap());
        Placing::new(&sack, line, &Habits::default(), None).unwrap()
    }

    fn worst(file: &SheetFile, line: Option<&Line>) -> Severity {
        worst_of(file, line, &RULES)
    }

    fn worst_of(file: &SheetFile, line: Option<&Line>, rules: &[&str]) -> Severity {
        let sack = Sack::new(Sheet::new(file.clone()).unwrap());
        let found = find(&sack, &Against { line, ..Against::default() }, rules);
        found.into_iter().map(|finding| finding.severity).min().unwrap_or(Severity::Good)
    }

    /// Whether a point lies in a polygon, and how far from its outline.
    fn within(polygons: &[Vec<Point>], [x, y]: Point) -> (bool, f64) {
        let (mut inside, mut distance) = (false, f64::INFINITY);
        for polygon in polygons {
            for (index, &[x1, y1]) in polygon.iter().enumerate() {
                let [x2, y2] = polygon[(index + 1) % polygon.len()];
                if (y1 > y) != (y2 > y) && x < x1 + (x2 - x1) * (y - y1) / (y2 - y1) {
                    inside = !inside;
                }
                let (way, from) = (DVec2::new(x2 - x1, y2 - y1), DVec2::new(x - x1, y - y1));
                let share = if way.length_squared() == 0.0 { 0.0 } else { from.dot(way) / way.length_squared() };
                distance = distance.min((from - way * share.clamp(0.0, 1.0)).length());
            }
        }
        (inside, distance)
    }

    fn in_spans(spans: &[[f64; 2]], value: f64) -> (bool, f64) {
        let inside = spans.iter().any(|[from, to]| (*from..=*to).contains(&value));
        let distance = spans.iter().flatten().map(|end| (end - value).abs()).fold(f64::INFINITY, f64::min);
        (inside, distance)
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(2000))]

        #[test]
        fn the_room_is_where_no_rule_speaks(
            file in fitting(), line in support::maybe_line(), out in -0.3..1.3, aside in -0.3..1.3, near in any::<bool>(),
        ) {
            let found = placing(&file, line.as_ref());
            for (room, below) in [(&found.room.good, Severity::Good), (&found.room.possible, Severity::Look)] {
                // A place in or round the room; anywhere where there is none.
                let points = || room.iter().flatten();
                let spread = |of: fn(&Point) -> f64, at: f64, [low, high]: [f64; 2]| {
                    let (from, to) = points().map(of).fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| (a.min(v), b.max(v)));
                    if near && from <= to { from + (to - from) * at } else { low + (high - low) * at }
                };
                let edge = file.face_width_mm / 2.0 - file.valve_end.bottom_width_mm / 2.0;
                let sign = found.sign;
                let x = spread(|point| point[0], out, [sign * (edge - 60.0), sign * (edge + 160.0)]);
                let y = spread(|point| point[1], aside, [-30.0, 30.0]);
                let mut moved = file.clone();
                moved.valve_end.valve.outer_end_mm = sign * x - edge;
                moved.valve_end.valve.offset_from_centre_mm = y;
                // A sheet can't say more.
                let sayable = |value: f64, [low, high]: [f64; 2]| (low..=high).contains(&value);
                prop_assume!(sayable(y, OFFSET_MM) && sayable(sign * x - edge, OUTER_END_MM));
                let (inside, distance) = within(room, [x, y]);
                if distance > 1e-6 {
                    prop_assert_eq!(inside, worst(&moved, line.as_ref()) >= below, "{} {}", x, y);
                }
            }
        }

        #[test]
        fn a_range_is_where_no_rule_speaks(
            file in fitting(), line in support::maybe_line(), at in 0.0..1.0, which in 0..4,
        ) {
            let found = placing(&file, line.as_ref());
            let mut moved = file.clone();
            let valve = &mut moved.valve_end.valve;
            let (spans, field, low, high) = match which {
                0 => (&found.ranges.outer_end_mm, &mut valve.outer_end_mm, -60.0, 160.0),
                1 => (&found.ranges.offset_from_centre_mm, &mut valve.offset_from_centre_mm, -30.0, 30.0),
                2 => (&found.ranges.skew_deg, &mut valve.skew_deg, -15.0, 15.0),
                _ => (&found.ranges.length_mm, &mut valve.length_mm, 40.0, 600.0),
            };
            *field = low + (high - low) * at;
            let (inside, distance) = in_spans(spans, *field);
            if distance > 1e-6 {
                let straight = Valve { skew_deg: 0.0, ..file.valve_end.valve };
                let straight = SheetFile { valve_end: ValveEnd { valve: straight, ..file.valve_end }, ..file.clone() };
                let turn_spoils = which == 2 && worst_of(&straight, line.as_ref(), &["spout-reach"]) == Severity::Good;
                let rules = if turn_spoils { [&RULES[..], &["spout-reach"]].concat() } else { RULES.to_vec() };
                prop_assert_eq!(inside, worst_of(&moved, line.as_ref(), &rules) == Severity::Good);
            }
        }

        #[test]
        fn distances_are_the_figures_and_lie_where_they_are_measured(file in fitting(), line in support::maybe_line()) {
            let sack = Sack::new(Sheet::new(file.clone()).unwrap());
            let found = placing(&file, line.as_ref());
            let figures = figures(&sack, line.as_ref(), &PasteHabits::default());
            let by = |key: &str| found.distances.iter().find(|distance| distance.key == key).unwrap();
            if file.valve_end.valve.skew_deg == 0.0 {
                prop_assert!((by("free").value_mm - figures.valve_end.free_sleeve_mm).abs() < 1e-9);
                let inside = file.valve_end.valve.length_mm - file.valve_end.valve.outer_end_mm;
                let pocket = figures.valve_end.edge_to_far_pocket_mm;
                prop_assert!((by("far_pocket").value_mm + inside - pocket).abs() < 1e-9);
            }
            // They start or end in what of the sleeve reaches farthest that way.
            let corners = |of: [Point; 2]| of.map(|corner| found.sign * corner[0]);
            let [a, b, c, d] = found.sleeve;
            let (mouth, inner) = (corners([a, b]), corners([c, d]));
            let measured = |key: &str, end: usize| found.sign * by(key).line.unwrap()[end][0];
            prop_assert_eq!(measured("free", 1), inner[0].max(inner[1]));
            prop_assert_eq!(measured("far_pocket", 0), inner[0].min(inner[1]));
            prop_assert!(mouth.contains(&measured("end_edge", 1)));
            for distance in &found.distances {
                let Some([from, to]) = distance.line else { continue };
                let measured = libm::hypot(to[0] - from[0], to[1] - from[1]);
                prop_assert!((measured - distance.value_mm.abs()).abs() < 1e-9, "{}", distance.key);
            }
            if let (Some(fit), Some(line)) = (figures.valve_end.spout_fit, line.as_ref()) {
                let girth = line.spout_girth_mm();
                prop_assert!((by("spout_round").value_mm * core::f64::consts::TAU / girth - fit).abs() < 1e-9);
            }
        }

        /// The narrower side weighs what the rule says, and the corners are the sleeve's own.
        #[test]
        fn sides_and_corners_are_the_sleeves(file in fitting()) {
            let found = placing(&file, None);
            let sack = Sack::new(Sheet::new(file.clone()).unwrap());
            let rule = find(&sack, &Against::default(), &["sleeve-width"]).remove(0).severity;
            let sides = found.distances.iter().filter(|one| one.key.ends_with("_side"));
            let least = sides.min_by(|a, b| a.value_mm.total_cmp(&b.value_mm)).unwrap();
            prop_assert_eq!(least.severity, Some(rule));
            let valve = &file.valve_end.valve;
            let side = |i: usize, j: usize| {
                let (a, b) = (found.sleeve[i], found.sleeve[j % 4]);
                libm::hypot(a[0] - b[0], a[1] - b[1])
            };
            for (index, want) in [valve.flat_width_mm, valve.length_mm].repeat(2).into_iter().enumerate() {
                prop_assert!((side(index, index + 1) - want).abs() < 1e-9);
            }
        }

        /// The rule about the spout, the distance told and the touches in the picture speak of one spout.
        #[test]
        fn the_rule_and_the_picture_judge_one_spout(file in fitting(), line in support::valid_line()) {
            let found = placing(&file, Some(&line));
            let sack = Sack::new(Sheet::new(file).unwrap());
            let rule = find(&sack, &Against { line: Some(&line), ..Against::default() }, &["sleeve-straight"]).remove(0);
            let told = found.distances.iter().find(|one| one.key == "spout_fold").unwrap();
            prop_assert!((told.value_mm - rule.value.unwrap().value).abs() < 1e-9);
            prop_assert_eq!(told.severity, Some(rule.severity));
            // A side that does not even reach the bottom touches nothing there.
            let edge = sack.file().face_width_mm / 2.0 - sack.file().valve_end.bottom_width_mm / 2.0;
            let spout = found.spout.unwrap();
            prop_assume!(spout.outline[2..].iter().all(|tip| found.sign * tip[0] < edge));
            let touched = spout.touches.iter().any(|touch| matches!(touch.what, Touched::EndFold | Touched::MiddleFold));
            prop_assert_eq!(touched, rule.severity != Severity::Good);
        }

        /// The spout lies in the sleeve: it touches the sleeve's edges exactly when it does not go on, the bottom's fold
        /// lines exactly where its outline passes them, and touches lie on its outline or across it.
        #[test]
        fn a_spout_goes_in_along_the_sleeve(
            file in fitting(), line in support::valid_line(), share in 0.0..=1.0, at in 0.0..=1.0,
        ) {
            let sack = Sack::new(Sheet::new(file.clone()).unwrap());
            let depth = share * line.file().spout.reach_mm;
            let found = Placing::new(&sack, Some(&line), &Habits::default(), Some(depth)).unwrap();
            let spout = found.spout.unwrap();
            let [mouth, inner] = found.ends.map(DVec2::from);
            let way = (inner - mouth).normalize();
            let [out_low, out_high, tip_high, tip_low] = spout.outline.map(DVec2::from);
            for middle in [(out_low + out_high) / 2.0, (tip_low + tip_high) / 2.0] {
                prop_assert!(way.perp_dot(middle - mouth).abs() < 1e-9, "off the sleeve's middle line");
            }
            let half = line.spout_girth_mm() / 4.0;
            prop_assert!((tip_low.distance(tip_high) - 2.0 * half).abs() < 1e-9);
            let bottom = sack.bottom(End::ValveEnd);
            let edge = end_edge(bottom);
            let entry = mouth + way * ((found.sign * mouth.x - edge) / -(found.sign * way.x));
            prop_assert!(((tip_low + tip_high) / 2.0).distance(entry) - depth < 1e-9);

            let touched = |what| spout.touches.iter().find(|touch| touch.what == what);
            let valve = &file.valve_end.valve;
            let goes_on = line.spout_girth_mm() <= 2.0 * valve.flat_width_mm + 1e-6;
            let into = depth + valve.outer_end_mm / libm::cos(valve.skew_deg.to_radians());
            if valve.sleeve != SleeveKind::Reinforcement && into > 1e-6 {
                for side in [Touched::EndSide, Touched::MiddleSide] {
                    prop_assert_eq!(touched(side).is_none(), goes_on);
                }
            }
            for (fold, side, corners) in [
                (Touched::EndFold, 1.0, [out_high, tip_high]),
                (Touched::MiddleFold, -1.0, [out_low, tip_low]),
            ] {
                let point = corners[0].lerp(corners[1], at);
                let inwards = way.dot(point - entry);
                let spare = bottom.width_mm / 2.0 - side * point.y;
                if spare.abs() < 1e-6 || inwards.abs() < 1e-6 || (edge - found.sign * point.x).abs() < 1e-6 {
                    continue;
                }
                let within = inwards > 0.0 && found.sign * point.x < edge;
                let told = touched(fold).is_some_and(|touch| (touch.from_mm..=touch.to_mm).contains(&inwards));
                prop_assert_eq!(told, within && spare < 0.0, "{:?} at {}", fold, point);
            }
            let [near, far] = [bottom.edge_to_pocket_rim_mm(), bottom.edge_to_far_pocket_mm()];
            let inside = [tip_low, tip_high].map(|tip| edge - found.sign * tip.x);
            let (hindmost, foremost) = (inside[0].min(inside[1]), inside[0].max(inside[1]));
            if (hindmost - near).abs() > 1e-6 {
                prop_assert_eq!(touched(Touched::OwnPocket).is_some(), hindmost < near);
            }
            if (foremost - far).abs() > 1e-6 {
                prop_assert_eq!(touched(Touched::FarPocket).is_some(), foremost > far);
            }
            for touch in &spout.touches {
                prop_assert!(touch.from_mm < touch.to_mm);
            }
        }
    }

    #[test]
    fn a_spout_that_leaves_the_bottom_is_told_by_how_much() {
        let mut file = support::plain_sheet();
        let line = support::plain_line();
        let by = |file: &SheetFile| {
            let found = placing(file, Some(&line));
            found.distances.into_iter().find(|distance| distance.key == "spout_fold").unwrap()
        };
        let half = line.spout_girth_mm() / 4.0;
        let straight = by(&file);
        assert!((straight.value_mm - (file.valve_end.bottom_width_mm / 2.0 - half)).abs() < 1e-9);
        file.valve_end.valve.offset_from_centre_mm = 25.0;
        let aside = by(&file);
        assert!((straight.value_mm - aside.value_mm - 25.0).abs() < 1e-9);
        assert_eq!(aside.severity, Some(Severity::Look));
    }
}

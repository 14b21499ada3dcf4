//! The fold: where every panel of every ply is at a stage and a fraction of it, in closed form and exact.
//!
//! Source: geometry of the block-bottom sack, sections 2 to 4. At each corner apex P four creases carry equal sectors
//! of 45 degrees, a spherical rhombus with one degree of freedom, so the mouth opens rigidly: the side fold's
//! direction is the mirror image of the fold-back line's in the plane of the two pocket creases. No solver, no easing
//! of lengths: every panel keeps its edge lengths, and panels that share a paper edge share it in space, at every
//! fraction (tests hold 1e-9 mm).
//!
//! Frames. *Sack*: mm, x across the face, y along the tube with 0 on the valve end's centre line and the valve end's rim
//! towards +y, z up, wall A above wall B. *End*: the same x and z, y from the end's centre line outwards; so the valve
//! end's frame is the sack's, the plain end's is its mirror image at y = -C/2. *Paper of an end*: x across the face, v
//! from the nominal rim into the sack. *Chart of a ply*: u once round the tube (wall A: x + W/2, wall B: 2W - x - W/2),
//! v along the tube from the valve end's nominal rim.

use core::f64::consts::PI;

use glam::{DVec2, DVec3};
use serde::Serialize;

use crate::bottom::{Bottom, Sleeve};
use crate::finding::{Args, Place};
use crate::geom::Placement;
use crate::sack::Sack;
use crate::sheet::{End, Side, SleeveKind};
use crate::tube::Wall;
use crate::units::{Quantity, count, length};

/// The stages of the fold, in order.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Stage {
    /// The cut tube lies flat.
    Tube,
    /// Wall A's end is lifted to upright.
    OpenMouth,
    /// It is laid back, and the pockets are pressed flat.
    PressPockets,
    /// The valve sleeve is laid on its pocket.
    InsertValve,
    /// The flaps are turned in, one after the other.
    FoldFlaps,
    /// The patches are pasted over.
    LayPatch,
}

impl Stage {
    /// Every stage, in order.
    pub const ALL: [Self; 6] =
        [Self::Tube, Self::OpenMouth, Self::PressPockets, Self::InsertValve, Self::FoldFlaps, Self::LayPatch];

    /// Its name in files, at the boundary and in the words table.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Tube => "tube",
            Self::OpenMouth => "open-mouth",
            Self::PressPockets => "press-pockets",
            Self::InsertValve => "insert-valve",
            Self::FoldFlaps => "fold-flaps",
            Self::LayPatch => "lay-patch",
        }
    }

    /// The stage of a name.
    #[must_use]
    pub fn from_name(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|stage| stage.name() == name)
    }
}

/// How far the fold has come.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pose {
    /// Half turns of wall A about its fold-back line: 0 flat tube, 1 opened flat.
    open: f64,
    /// Half turns of the flap folded first.
    first: f64,
    /// Half turns of the flap folded last.
    last: f64,
    /// How far the sleeve has come in, if it is there at all.
    sleeve: Option<f64>,
    /// How far the patch has come down, if it is there at all.
    patch: Option<f64>,
}

impl Pose {
    /// The pose at a fraction of a stage; `None` when `at` is not in 0..=1.
    #[must_use]
    pub fn new(stage: Stage, at: f64) -> Option<Self> {
        if !(0.0..=1.0).contains(&at) {
            return None;
        }
        let tube = Self { open: 0.0, first: 0.0, last: 0.0, sleeve: None, patch: None };
        let opened = Self { open: 1.0, ..tube };
        let filled = Self { sleeve: Some(1.0), ..opened };
        Some(match stage {
            Stage::Tube => tube,
            Stage::OpenMouth => Self { open: at / 2.0, ..tube },
            Stage::PressPockets => Self { open: f64::midpoint(1.0, at), ..tube },
            Stage::InsertValve => Self { sleeve: Some(at), ..opened },
            Stage::FoldFlaps => Self { first: (2.0 * at).min(1.0), last: (2.0 * at - 1.0).max(0.0), ..filled },
            Stage::LayPatch => Self { first: 1.0, last: 1.0, patch: Some(at), ..filled },
        })
    }

    /// Where the sleeve of this pose has come to, if it is there.
    #[must_use]
    pub const fn sleeve(&self) -> Option<f64> {
        self.sleeve
    }

    /// Where the patch of this pose has come to, if it is there.
    pub(crate) const fn patch(&self) -> Option<f64> {
        self.patch
    }
}

/// A panel by name.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum PanelName {
    /// A wall between the two bottoms.
    Body(Wall),
    /// Between centre line and flap fold.
    Half(Wall),
    /// A flap.
    Flap(Wall),
    /// A pocket's part on a wall.
    Pocket(Wall, Side),
    /// A pocket's part that turns with the flap.
    PocketFlap(Wall, Side),
    /// A patch.
    Patch,
    /// The sleeve's lower sheet.
    SleeveUnder,
    /// The sleeve's upper sheet.
    SleeveOver,
}

impl PanelName {
    /// Its name in files and at the boundary.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Body(Wall::A) => "body-a",
            Self::Body(Wall::B) => "body-b",
            Self::Half(Wall::A) => "half-a",
            Self::Half(Wall::B) => "half-b",
            Self::Flap(Wall::A) => "flap-a",
            Self::Flap(Wall::B) => "flap-b",
            Self::Pocket(Wall::A, Side::Left) => "pocket-a-left",
            Self::Pocket(Wall::A, Side::Right) => "pocket-a-right",
            Self::Pocket(Wall::B, Side::Left) => "pocket-b-left",
            Self::Pocket(Wall::B, Side::Right) => "pocket-b-right",
            Self::PocketFlap(Wall::A, Side::Left) => "pocket-flap-a-left",
            Self::PocketFlap(Wall::A, Side::Right) => "pocket-flap-a-right",
            Self::PocketFlap(Wall::B, Side::Left) => "pocket-flap-b-left",
            Self::PocketFlap(Wall::B, Side::Right) => "pocket-flap-b-right",
            Self::Patch => "patch",
            Self::SleeveUnder => "sleeve-under",
            Self::SleeveOver => "sleeve-over",
        }
    }

    /// Key of the word for it.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Body(_) => "part.body",
            Self::Half(_) => "part.half",
            Self::Flap(_) => "part.flap",
            Self::Pocket(..) => "part.pocket",
            Self::PocketFlap(..) => "part.pocket-flap",
            Self::Patch => "part.patch",
            Self::SleeveUnder | Self::SleeveOver => "part.sleeve",
        }
    }
}

/// What a panel is a piece of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Piece {
    /// A ply of the tube.
    Ply,
    /// A patch.
    Patch,
    /// The valve sleeve.
    Sleeve,
}

/// A panel in space, corner by corner.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PanelPose {
    /// The panel's name.
    pub name: &'static str,
    /// What it is a piece of.
    pub piece: Piece,
    /// Which ply, 0 the outermost; `None` for patch and sleeve.
    pub ply: Option<usize>,
    /// Which end; `None` for the body.
    pub end: Option<End>,
    /// Corners (u, v) in the piece's chart, mm.
    pub paper: Vec<[f64; 2]>,
    /// The same corners in the sack frame, mm.
    pub space: Vec<[f64; 3]>,
}

/// How far thick paper lifts the panels of an end above their exact places; all zero for paper without thickness.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Lift {
    /// Height of the axis about which wall A swings.
    pub open_axis: f64,
    /// Height of the axis about which a flap turns, wall A and B.
    pub flap_axis: [f64; 2],
}

/// Where the panels of one end lie: maps from the paper of the end to the end's frame (not yet the sack's).
#[derive(Clone, Copy, Debug)]
pub(crate) struct EndFold {
    pub body: [Placement; 2],
    pub half: [Placement; 2],
    pub flap: [Placement; 2],
    /// By wall, then left and right.
    pub pocket: [[Placement; 2]; 2],
    pub pocket_flap: [[Placement; 2]; 2],
}

/// Cosine and sine of so many half turns, exact at 0, 1/2 and 1.
fn half_turns(fraction: f64) -> (f64, f64) {
    if fraction <= 0.0 {
        (1.0, 0.0)
    } else if fraction >= 1.0 {
        (-1.0, 0.0)
    } else if fraction == 0.5 {
        (0.0, 1.0)
    } else {
        let (s, c) = libm::sincos(PI * fraction);
        (c, s)
    }
}

const fn wall_index(wall: Wall) -> usize {
    match wall {
        Wall::A => 0,
        Wall::B => 1,
    }
}

pub(crate) const fn side_index(side: Side) -> usize {
    match side {
        Side::Left => 0,
        Side::Right => 1,
    }
}

pub(crate) const SIDES: [Side; 2] = [Side::Left, Side::Right];

impl EndFold {
    pub(crate) fn new(bottom: &Bottom, pose: &Pose, lift: &Lift) -> Self {
        let (h, d) = (bottom.half_face_mm(), bottom.opening_depth_mm);
        let (c, s) = half_turns(pose.open);
        let flat = Placement { origin: DVec3::new(0.0, d, 0.0), du: DVec3::X, dv: DVec3::NEG_Y };
        // Wall A swings about its fold-back line, raised to where thick walls lie on each other.
        let raised = DVec3::new(0.0, 0.0, lift.open_axis);
        let swung = flat.turned_about_x(raised, (c, s));
        let shift = swung.origin - flat.turned_about_x(DVec3::ZERO, (c, s)).origin;

        // The side fold's direction, section 3; and wall A's and B's pocket crease seen from P.
        let side_fold = DVec3::new(c - 1.0, 2.0 * (1.0 + c), 2.0 * s) / (3.0 + c);
        let crease = [DVec3::new(-1.0, c, s), DVec3::new(-1.0, 1.0, 0.0)];
        let pocket_of = |wall: Wall, side: Side| {
            // Right-hand side: a paper point is P + (h - x) across + (d - v) side_fold.
            let across = crease[wall_index(wall)] - side_fold;
            let apex = DVec3::new(h, 0.0, 0.0);
            let right = Placement { origin: apex + across * h + side_fold * d, du: -across, dv: -side_fold };
            let placed = match side {
                Side::Right => right,
                Side::Left => {
                    let mirror = |p: DVec3| DVec3::new(-p.x, p.y, p.z);
                    Placement { origin: mirror(right.origin), du: -mirror(right.du), dv: mirror(right.dv) }
                }
            };
            if wall == Wall::A { placed.moved(shift) } else { placed }
        };
        let pocket = Wall::BOTH.map(|wall| SIDES.map(|side| pocket_of(wall, side)));

        // Each flap turns about its fold line, wall A's at y = -B/2, wall B's at y = +B/2.
        let turn_of = |wall: Wall| half_turns(if wall == bottom.first { pose.first } else { pose.last });
        let turned = |wall: Wall, placement: Placement| {
            let (c, s) = turn_of(wall);
            let sign = match wall {
                Wall::A => -1.0,
                Wall::B => 1.0,
            };
            let axis = DVec3::new(0.0, sign * bottom.width_mm / 2.0, lift.flap_axis[wall_index(wall)]);
            // Nothing to turn: keep the opened bottom exact.
            if (c, s) == (1.0, 0.0) { placement } else { placement.turned_about_x(axis, (c, sign * s)) }
        };
        let half = [swung, flat];
        Self {
            body: [flat, flat],
            half,
            flap: [turned(Wall::A, half[0]), turned(Wall::B, half[1])],
            pocket,
            pocket_flap: Wall::BOTH
                .map(|wall| SIDES.map(|side| turned(wall, pocket[wall_index(wall)][side_index(side)]))),
        }
    }

    pub(crate) const fn panel(&self, name: PanelName) -> Option<&Placement> {
        match name {
            PanelName::Body(wall) => Some(&self.body[wall_index(wall)]),
            PanelName::Half(wall) => Some(&self.half[wall_index(wall)]),
            PanelName::Flap(wall) => Some(&self.flap[wall_index(wall)]),
            PanelName::Pocket(wall, side) => Some(&self.pocket[wall_index(wall)][side_index(side)]),
            PanelName::PocketFlap(wall, side) => Some(&self.pocket_flap[wall_index(wall)][side_index(side)]),
            PanelName::Patch | PanelName::SleeveUnder | PanelName::SleeveOver => None,
        }
    }
}

/// A point or direction of an end's frame in the sack's frame.
#[derive(Clone, Copy, Debug)]
pub(crate) struct EndFrame {
    /// y of the end's centre line in the sack frame.
    y: f64,
    /// +1 at the valve end, -1 at the plain end.
    sign: f64,
}

impl EndFrame {
    pub(crate) fn new(sack: &Sack, end: End) -> Self {
        match end {
            End::ValveEnd => Self { y: 0.0, sign: 1.0 },
            End::PlainEnd => Self { y: -sack.tube().bottom_centre_distance_mm, sign: -1.0 },
        }
    }

    pub(crate) fn point(&self, p: DVec3) -> DVec3 {
        DVec3::new(p.x, self.y + self.sign * p.y, p.z)
    }

    pub(crate) fn direction(&self, p: DVec3) -> DVec3 {
        DVec3::new(p.x, self.sign * p.y, p.z)
    }
}

/// (u, v) of a ply's chart for the paper point (x, v) of an end's wall.
pub(crate) fn chart(sack: &Sack, end: End, wall: Wall, paper: DVec2) -> DVec2 {
    let width = sack.tube().face_width_mm;
    let across = paper.x + width / 2.0;
    let u = match wall {
        Wall::A => across,
        Wall::B => 2.0 * width - across,
    };
    let v = match end {
        End::ValveEnd => paper.y,
        End::PlainEnd => sack.tube().length_mm - paper.y,
    };
    DVec2::new(u, v)
}

/// Every panel of every ply, sleeve and patches, at a pose, for paper without thickness.
#[must_use]
pub fn panels(sack: &Sack, pose: &Pose) -> Vec<PanelPose> {
    let mut out = Vec::new();
    let plies = sack.tube().plies.len();
    for ply in 0..plies {
        for wall in Wall::BOTH {
            out.push(body_panel(sack, wall, ply));
        }
    }
    for end in End::ALL {
        let bottom = sack.bottom(end);
        let fold = EndFold::new(bottom, pose, &Lift::default());
        let frame = EndFrame::new(sack, end);
        for ply in 0..plies {
            for wall in Wall::BOTH {
                let rim = sack.tube().rim_mm(end, wall, ply);
                for (name, corners) in wall_panels(bottom, wall, rim) {
                    let Some(placement) = fold.panel(name) else { continue };
                    let paper = corners.iter().map(|&p| chart(sack, end, wall, p).to_array());
                    let space = corners.iter().map(|&p| frame.point(placement.at(p)).to_array());
                    out.push(PanelPose {
                        name: name.name(),
                        piece: Piece::Ply,
                        ply: Some(ply),
                        end: Some(end),
                        paper: paper.collect(),
                        space: space.collect(),
                    });
                }
            }
        }
        if let (Some(sleeve), Some(at)) = (&bottom.sleeve, pose.sleeve) {
            let sheets = [(PanelName::SleeveUnder, 0.0), (PanelName::SleeveOver, 1.0)];
            for (name, sheet) in sheets.into_iter().take(sleeve.sheets()) {
                let placement = sleeve_placement(bottom, sleeve, at);
                let wide = sleeve.width_mm;
                let corners = [(0.0, 0.0), (wide, 0.0), (wide, sleeve.length_mm), (0.0, sleeve.length_mm)];
                out.push(PanelPose {
                    name: name.name(),
                    piece: Piece::Sleeve,
                    ply: None,
                    end: Some(end),
                    paper: corners.iter().map(|&(w, v)| [sheet * wide + w, v]).collect(),
                    space: corners
                        .iter()
                        .map(|&(w, v)| {
                            // The upper sheet comes back over the lower one, sharing the fold at u = width.
                            let across = if sheet == 0.0 { wide / 2.0 - w } else { w - wide / 2.0 };
                            frame.point(placement.at(DVec2::new(across, v))).to_array()
                        })
                        .collect(),
                });
            }
        }
        if let (Some(patch), Some(at)) = (&bottom.patch, pose.patch) {
            let placement = patch_placement(end, patch.offset_mm, at);
            let (l, w) = (patch.length_mm, patch.width_mm);
            let corners = [(0.0, 0.0), (l, 0.0), (l, w), (0.0, w)];
            out.push(PanelPose {
                name: PanelName::Patch.name(),
                piece: Piece::Patch,
                ply: None,
                end: Some(end),
                paper: corners.iter().map(|&(u, v)| [u, v]).collect(),
                space: corners
                    .iter()
                    .map(|&(u, v)| frame.point(placement.at(DVec2::new(u - l / 2.0, v - w / 2.0))).to_array())
                    .collect(),
            });
        }
    }
    out
}

fn body_panel(sack: &Sack, wall: Wall, ply: usize) -> PanelPose {
    let (valve, plain) = (sack.bottom(End::ValveEnd), sack.bottom(End::PlainEnd));
    let h = valve.half_face_mm();
    let near = valve.opening_depth_mm;
    let far = sack.tube().length_mm - plain.opening_depth_mm;
    let corners = [(-h, near), (h, near), (h, far), (-h, far)].map(|(x, v)| DVec2::new(x, v));
    PanelPose {
        name: PanelName::Body(wall).name(),
        piece: Piece::Ply,
        ply: Some(ply),
        end: None,
        paper: corners.iter().map(|&p| chart(sack, End::ValveEnd, wall, p).to_array()).collect(),
        space: corners.iter().map(|p| [p.x, near - p.y, 0.0]).collect(),
    }
}

/// The panels of a wall at one end with their corners on the paper of the end, for a rim at `rim`.
fn wall_panels(bottom: &Bottom, wall: Wall, rim: f64) -> [(PanelName, Vec<DVec2>); 6] {
    let corners = bottom.corners(rim);
    let mirror = |p: DVec2| DVec2::new(-p.x, p.y);
    let (p, r, q, re, e) = (corners.p, corners.r, corners.q, corners.re, corners.e);
    let sided = |side: Side, points: &[DVec2]| {
        points.iter().map(|&point| if side == Side::Right { point } else { mirror(point) }).collect()
    };
    [
        (PanelName::Half(wall), vec![mirror(p), p, r, mirror(r)]),
        (PanelName::Flap(wall), vec![mirror(r), r, q, mirror(q)]),
        (PanelName::Pocket(wall, Side::Left), sided(Side::Left, &[p, r, re, e])),
        (PanelName::Pocket(wall, Side::Right), sided(Side::Right, &[p, r, re, e])),
        (PanelName::PocketFlap(wall, Side::Left), sided(Side::Left, &[r, q, re])),
        (PanelName::PocketFlap(wall, Side::Right), sided(Side::Right, &[r, q, re])),
    ]
}

/// Places the sleeve in the end's frame: u across from its middle, v from its outer end inwards. It comes in from
/// beyond the side, a little above the paper.
pub(crate) fn sleeve_placement(bottom: &Bottom, sleeve: &Sleeve, at: f64) -> Placement {
    /// mm: how far beyond its own length, and how high, the sleeve starts.
    const APPROACH_MM: (f64, f64) = (60.0, 40.0);
    let sign = sleeve.side.sign();
    let away = 1.0 - at;
    let (s, c) = libm::sincos(sleeve.skew_deg.to_radians());
    let inwards = DVec3::new(-sign * c, -sign * s, 0.0);
    let edge = bottom.half_face_mm() - bottom.width_mm / 2.0;
    let mouth = DVec3::new(
        sign * (edge + sleeve.outer_end_mm + away * (sleeve.length_mm + APPROACH_MM.0)),
        sleeve.offset_mm,
        away * APPROACH_MM.1,
    );
    Placement { origin: mouth, du: DVec3::Z.cross(inwards), dv: inwards }
}

/// Places a patch in the end's frame: u along the bottom and v towards the sack's middle, both from the patch's middle,
/// with the outside up. It comes from beyond the end, tilted, and is laid down.
pub(crate) fn patch_placement(end: End, offset_mm: f64, at: f64) -> Placement {
    /// mm beyond the end, mm high, half turns of tilt at the start.
    const APPROACH: (f64, f64, f64) = (150.0, 60.0, 0.1);
    let away = 1.0 - at;
    let (c, s) = half_turns(APPROACH.2 * away);
    let origin = DVec3::new(offset_mm, away * APPROACH.0, away * APPROACH.1);
    // Seen from above with its own end up, u runs to the right at either end; the plain end's frame is mirrored.
    let du = match end {
        End::ValveEnd => DVec3::X,
        End::PlainEnd => DVec3::NEG_X,
    };
    Placement { origin, du, dv: DVec3::new(0.0, -c, -s) }
}

/// What a stage is explained with: keys of the words table, to be filled from [`caption_figures`].
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Captions {
    /// What happens.
    pub what: String,
    /// Why.
    pub why: String,
    /// What to watch.
    pub watch: String,
}

/// The captions of a stage for a sack.
#[must_use]
pub fn captions(sack: &Sack, stage: Stage) -> Captions {
    let variant = variant(sack, stage);
    let key = |part: &str| format!("caption.{}.{variant}.{part}", stage.name());
    Captions { what: key("what"), why: key("why"), watch: key("watch") }
}

/// What the captions of a sack's stages may name of it, by placeholder.
#[must_use]
pub fn caption_figures(sack: &Sack) -> Args {
    let bottom = sack.bottom(End::ValveEnd);
    let mut figures = Args::default();
    let mut tell = |name, figure: Quantity| figures.insert(name, figure.into());
    for (name, figure) in [
        ("face_width", length(sack.tube().face_width_mm)),
        ("length", length(sack.file().length_mm)),
        ("bottom_width", length(bottom.width_mm)),
        ("lap", length(bottom.lap_mm)),
        ("opening_depth", length(bottom.opening_depth_mm)),
        ("flap_depth", length(bottom.flap_depth_mm)),
        ("corner_cover", length(bottom.corner_cover_mm())),
        ("step", length(sack.tube().step_mm)),
        ("plies", count(sack.tube().plies.len())),
    ] {
        tell(name, figure);
    }
    if let Some(patch) = bottom.patch.or(sack.bottom(End::PlainEnd).patch) {
        tell("patch_length", length(patch.length_mm));
        tell("patch_width", length(patch.width_mm));
    }
    if let Some(sleeve) = &bottom.sleeve {
        tell("valve_width", length(sleeve.width_mm));
        tell("sleeve_length", length(sleeve.length_mm));
    }
    figures
}

/// What a stage's captions depend on besides figures: how the tube is cut, which sleeve, patch or none.
fn variant(sack: &Sack, stage: Stage) -> &'static str {
    match stage {
        Stage::Tube | Stage::OpenMouth | Stage::PressPockets | Stage::FoldFlaps => {
            if sack.tube().plies.len() == 1 {
                "single"
            } else if sack.tube().step_mm > 0.0 {
                "stepped"
            } else {
                "flush"
            }
        }
        Stage::InsertValve => match sack.bottom(End::ValveEnd).sleeve.map_or(SleeveKind::Internal, |s| s.kind) {
            SleeveKind::Internal => "internal",
            SleeveKind::External => "external",
            SleeveKind::Reinforcement => "reinforcement",
        },
        Stage::LayPatch => {
            if End::ALL.iter().any(|&end| sack.bottom(end).patch.is_some()) {
                "patch"
            } else {
                "none"
            }
        }
    }
}

/// Where a place is on the sack: a point to put a mark at, and the panels that belong to it.
#[derive(Clone, Debug, PartialEq)]
pub struct Spot {
    /// A point in the sack frame, mm, for paper without thickness.
    pub point: DVec3,
    /// Panels with their end (`None`: either end).
    pub panels: Vec<(PanelName, Option<End>)>,
}

/// Finds a place on the sack at a pose.
#[must_use]
pub fn spot(sack: &Sack, pose: &Pose, place: Place) -> Spot {
    let valve = sack.bottom(End::ValveEnd);
    let h = valve.half_face_mm();
    let middle = -sack.tube().bottom_centre_distance_mm / 2.0;
    let body = vec![(PanelName::Body(Wall::A), None), (PanelName::Body(Wall::B), None)];
    let both = |make: fn(Wall) -> PanelName, end: End| Wall::BOTH.map(|wall| (make(wall), Some(end))).to_vec();
    let all_pockets = |make: fn(Wall, Side) -> PanelName, end: End| -> Vec<_> {
        Wall::BOTH.iter().flat_map(|&wall| SIDES.map(|side| (make(wall, side), Some(end)))).collect()
    };
    let on = |end: End, name: PanelName, paper: DVec2| {
        let fold = EndFold::new(sack.bottom(end), pose, &Lift::default());
        let point = fold.panel(name).map_or(DVec3::ZERO, |placement| placement.at(paper));
        EndFrame::new(sack, end).point(point)
    };
    let bottom_spot = |end: End| {
        let mut panels = both(PanelName::Flap, end);
        panels.extend(both(PanelName::Half, end));
        Spot { point: on(end, PanelName::Half(Wall::B), DVec2::new(0.0, sack.bottom(end).opening_depth_mm)), panels }
    };
    let pockets_spot = |end: End| {
        let bottom = sack.bottom(end);
        let mut panels = all_pockets(PanelName::Pocket, end);
        panels.extend(all_pockets(PanelName::PocketFlap, end));
        let inset = bottom.width_mm / 4.0;
        let paper = DVec2::new(h - inset, bottom.opening_depth_mm - bottom.width_mm / 2.0);
        Spot { point: on(end, PanelName::Pocket(Wall::B, Side::Right), paper), panels }
    };
    let lap_spot = |end: End| {
        let bottom = sack.bottom(end);
        let paper = DVec2::new(0.0, bottom.lap_mm / 2.0);
        Spot { point: on(end, PanelName::Flap(bottom.first.other()), paper), panels: both(PanelName::Flap, end) }
    };
    let patch_spot = |end: End| match (&sack.bottom(end).patch, pose.patch) {
        (Some(patch), Some(at)) => Spot {
            point: EndFrame::new(sack, end).point(patch_placement(end, patch.offset_mm, at).origin),
            panels: vec![(PanelName::Patch, Some(end))],
        },
        _ => bottom_spot(end),
    };
    let sleeve_spot = |along: f64| match (&valve.sleeve, pose.sleeve) {
        (Some(sleeve), Some(at)) => Spot {
            point: sleeve_placement(valve, sleeve, at).at(DVec2::new(0.0, along * sleeve.length_mm)),
            panels: vec![(PanelName::SleeveUnder, None), (PanelName::SleeveOver, None)],
        },
        (sleeve, _) => {
            let side = sleeve.as_ref().map_or(Side::Left, |sleeve| sleeve.side);
            let point = DVec3::new(side.sign() * (h - valve.width_mm / 2.0), 0.0, 0.0);
            let panels = Wall::BOTH.map(|wall| (PanelName::Pocket(wall, side), Some(End::ValveEnd))).to_vec();
            Spot { point, panels }
        }
    };
    match place {
        Place::FaceWidth => Spot { point: DVec3::new(h, middle, 0.0), panels: body },
        Place::Length => Spot { point: DVec3::new(h / 2.0, middle, 0.0), panels: body },
        Place::Plies | Place::Contents => Spot { point: DVec3::new(0.0, middle, 0.0), panels: body },
        Place::Seam => {
            let x = 1.5 * sack.tube().face_width_mm - sack.tube().plies.first().map_or(0.0, |ply| ply.seam_u_mm);
            Spot { point: DVec3::new(x, middle, 0.0), panels: vec![(PanelName::Body(Wall::B), None)] }
        }
        Place::Cut => {
            let bottom = sack.bottom(End::ValveEnd);
            let rim = sack.tube().rim_mm(End::ValveEnd, bottom.first, 0);
            let point = on(End::ValveEnd, PanelName::Flap(bottom.first), DVec2::new(0.0, rim));
            Spot { point, panels: both(PanelName::Flap, End::ValveEnd) }
        }
        Place::Valve => sleeve_spot(0.0),
        Place::Sleeve => sleeve_spot(0.5),
        Place::ValveEndBottom => bottom_spot(End::ValveEnd),
        Place::PlainEndBottom => bottom_spot(End::PlainEnd),
        Place::ValveEndPockets => pockets_spot(End::ValveEnd),
        Place::PlainEndPockets => pockets_spot(End::PlainEnd),
        Place::ValveEndLap => lap_spot(End::ValveEnd),
        Place::PlainEndLap => lap_spot(End::PlainEnd),
        Place::ValveEndPatch => patch_spot(End::ValveEnd),
        Place::PlainEndPatch => patch_spot(End::PlainEnd),
        Place::Barcode => {
            let [[left, top], [right, foot]] = sack.barcode_mm().unwrap_or_default();
            let (u, face) = (f64::midpoint(left, right), sack.tube().face_width_mm);
            let (wall, x) = if u < face { (Wall::A, u - h) } else { (Wall::B, 3.0 * h - u) };
            let point = DVec3::new(x, valve.opening_depth_mm - f64::midpoint(top, foot), 0.0);
            Spot { point, panels: vec![(PanelName::Body(wall), None)] }
        }
    }
}

//! The fold as a film: one mesh, joints that carry it, and where every joint is at the keys of the film.
//!
//! Method. A panel is rigid through the whole fold, thickness and all, so it gets one joint, shared by all plies: between
//! keys, too, no length on a panel changes. A bend gets a joint for each of its lines across, which turns about the
//! bend's own axis by its share of the fold angle, and moves by that share from the one panel's border to the other's. The mesh is
//! taken from where the bend is folded over. The middle of a corner hangs evenly on the panels around it. Sleeve and patches have a joint each
//! and come into being at their stage.
//!
//! Joints turn about points on or near their hinges, so that what turns about a hinge at rest hardly errs between keys; above all
//! the pockets need keys close to each other (`KEYS`): a test holds that between keys no panel is more than 0.1 mm from where
//! the fold has it, and bends no more than their paper is thick.

use std::collections::BTreeMap;

use glam::{DAffine3, DMat3, DQuat, DVec3};

use crate::fold::{PanelName, Pose, Stage};
use crate::model::{Hold, Mesh, Motions, Part, Thickness, build};
use crate::sack::Sack;
use crate::sheet::End;

/// How long each stage takes in seconds, and by how many keys it is divided.
const KEYS: [(Stage, f64, usize); 6] = [
    (Stage::Tube, 1.0, 1),
    (Stage::OpenMouth, 2.0, 24),
    (Stage::PressPockets, 2.0, 24),
    (Stage::InsertValve, 2.0, 1),
    (Stage::FoldFlaps, 4.0, 24),
    (Stage::LayPatch, 2.0, 2),
];

/// A mesh with joints that move it.
#[derive(Clone, Debug, PartialEq)]
pub struct Rig {
    /// The mesh as it is at the first key, with sleeve and patches.
    pub mesh: Mesh,
    /// The joints on which each vertex hangs, with weights that sum up to 255.
    pub influences: Vec<[(usize, u8); 4]>,
    /// The joints: some two hundred, whatever the sack.
    pub joints: Vec<Joint>,
    /// The keys' times, seconds.
    pub times: Vec<f64>,
    /// The keys' poses.
    pub poses: Vec<Pose>,
}

/// A joint.
#[derive(Clone, Debug, PartialEq)]
pub struct Joint {
    /// The panel that it carries, or the two of whose bend it carries a line.
    pub panels: [(PanelName, Option<End>); 2],
    /// Which line of the bend, counted from the first panel; 0 carries the panel itself.
    pub line: u8,
    /// Where it is at each key, in the sack frame, mm.
    pub keys: Vec<JointKey>,
    /// When what it carries comes into being, seconds; 0 for what is there all along.
    pub appears: f64,
}

/// Where a joint is at a key.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct JointKey {
    /// Its place, mm.
    pub translation: DVec3,
    /// How it is turned.
    pub rotation: DQuat,
}

type PanelKey = (PanelName, Option<End>);

const fn panel_of(part: &Part) -> PanelKey {
    (part.panel, part.end)
}

impl Rig {
    /// The rig of a sack whose paper is drawn `thickness` thick.
    #[must_use]
    pub fn new(sack: &Sack, thickness: Thickness) -> Self {
        let (times, poses) = keys();
        let (mut tube, mut closed) = (Mesh::default(), Mesh::default());
        if let (Some(first), Some(last)) = (poses.first(), poses.last()) {
            build(sack, first, thickness, &mut tube);
            build(sack, last, thickness, &mut closed);
        }
        let motions = poses.iter().map(|pose| Motions::new(sack, pose, thickness)).collect();
        let mut maker = Maker { sack, motions, joints: Vec::new(), numbers: BTreeMap::new(), middles: BTreeMap::new() };
        maker.find_middles(&closed);
        let corners = corner_panels(&closed);
        let mut mesh = closed.clone();
        let mut influences = Vec::with_capacity(closed.positions.len());
        for vertex in 0..closed.positions.len() {
            let hold = closed.hold[vertex];
            let panel = |part: u16| panel_of(&closed.parts[usize::from(part)]);
            if let Some(panels) = corners.get(&vertex) {
                let joints = panels.iter().map(|panel| maker.panel(*panel)).collect::<Vec<_>>();
                influences.push(evenly(&joints));
                (mesh.positions[vertex], mesh.normals[vertex]) = (tube.positions[vertex], tube.normals[vertex]);
                continue;
            }
            let (joint, taken) = if hold.from == hold.to {
                (maker.panel(panel(hold.from)), Taken::Closed)
            } else {
                maker.bend(panel(hold.from), panel(hold.to), hold.step)
            };
            influences.push(evenly(&[joint]));
            let from = match taken {
                Taken::Closed => &closed,
                Taken::Tube => &tube,
            };
            let to_first = maker.to_first(joint, taken);
            let at = to_first.transform_point3(from.positions[vertex].into());
            let normal = to_first.transform_vector3(from.normals[vertex].into());
            (mesh.positions[vertex], mesh.normals[vertex]) = (at.to_array(), normal.to_array());
        }
        let joints = maker.joints;
        Self { mesh, influences, joints, times, poses }
    }
}

/// Where the fold has come to at a time of the film in seconds; `None` after its end.
#[must_use]
pub fn pose_at(seconds: f64) -> Option<Pose> {
    let mut begin = 0.0;
    for (stage, lasts, _) in KEYS {
        if seconds <= begin + lasts {
            return Pose::new(stage, ((seconds - begin) / lasts).max(0.0));
        }
        begin += lasts;
    }
    None
}

/// Times and poses of the keys.
fn keys() -> (Vec<f64>, Vec<Pose>) {
    let mut begin = 0.0;
    let later = KEYS.into_iter().flat_map(|(_, lasts, count)| {
        let from = begin;
        begin += lasts;
        (1..=count).map(move |key| from + lasts * key as f64 / count as f64)
    });
    std::iter::once(0.0).chain(later).filter_map(|time| pose_at(time).map(|pose| (time, pose))).unzip()
}

/// When a stage begins, seconds.
fn begin_of(stage: Stage) -> f64 {
    KEYS.iter().take_while(|(other, ..)| *other != stage).map(|(_, seconds, _)| seconds).sum()
}

/// At which end of the film a vertex is taken from the mesh.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Taken {
    Tube,
    Closed,
}

fn evenly(joints: &[usize]) -> [(usize, u8); 4] {
    let share = 255 / joints.len().max(1);
    let mut rest = 255;
    let mut influences = [(0, 0); 4];
    for (number, (influence, joint)) in influences.iter_mut().zip(joints).enumerate() {
        let weight = if number + 1 == joints.len() { rest } else { share };
        rest -= weight;
        *influence = (*joint, weight as u8);
    }
    influences
}

/// The panels around the middle of each corner, four at most: where six meet, the walls between the bottoms move with
/// others that are there.
fn corner_panels(mesh: &Mesh) -> BTreeMap<usize, Vec<PanelKey>> {
    let mut corners: BTreeMap<usize, Vec<PanelKey>> = BTreeMap::new();
    for triangle in &mesh.triangles {
        for vertex in triangle.map(|vertex| vertex as usize) {
            if mesh.hold[vertex].step != Hold::CORNER {
                continue;
            }
            let panels = corners.entry(vertex).or_default();
            for hold in triangle.map(|other| mesh.hold[other as usize]) {
                if hold.from == hold.to && hold.step != Hold::CORNER {
                    panels.push(panel_of(&mesh.parts[usize::from(hold.from)]));
                }
            }
        }
    }
    for panels in corners.values_mut() {
        panels.sort_unstable();
        panels.dedup();
        if panels.len() > 4 {
            panels.retain(|(name, _)| !matches!(name, PanelName::Body(_)));
        }
        panels.truncate(4);
    }
    corners
}

struct Maker<'a> {
    sack: &'a Sack,
    /// At each key.
    motions: Vec<Motions<'a>>,
    joints: Vec<Joint>,
    numbers: BTreeMap<(PanelKey, PanelKey, u8), (usize, Taken)>,
    /// The middle of each panel, in its own axes.
    middles: BTreeMap<PanelKey, DVec3>,
}

impl Maker<'_> {
    /// The number of a panel's joint.
    fn panel(&mut self, panel: PanelKey) -> usize {
        if let Some((number, _)) = self.numbers.get(&(panel, panel, 0)) {
            return *number;
        }
        let origin = self.hinge(panel);
        let places = (0..self.motions.len()).map(|key| self.place(panel, key) * DAffine3::from_translation(origin));
        let places: Vec<DAffine3> = places.collect();
        // A panel's own axes may be a mirror image of the frame's; what turns is told from the first key.
        let turned_by = |place: &DAffine3| place.matrix3 * places[0].matrix3.transpose();
        let keys = places.iter().map(|place| key(place.translation, turned_by(place))).collect();
        self.add([panel, panel], 0, Taken::Closed, keys)
    }

    /// The number of the joint of a bend's line, and where its vertices are to be taken from. A bend that never moves
    /// hangs on its first panel.
    fn bend(&mut self, from: PanelKey, to: PanelKey, line: u8) -> (usize, Taken) {
        if let Some(found) = self.numbers.get(&(from, to, line)) {
            return *found;
        }
        let Some(bend) = Bend::new(self, from, to) else {
            let found = (self.panel(from), Taken::Closed);
            self.numbers.insert((from, to, line), found);
            return found;
        };
        let reference = bend.reference(self);
        let home = self.place(from, reference);
        let share = f64::from(line) / f64::from(Hold::LINES);
        let keys = (0..self.motions.len())
            .map(|at| {
                let (turn, step) = (bend.turn(share * bend.angles[at]), bend.steps[at] * share);
                let first = self.place(from, at);
                let rotation = first.matrix3 * turn * home.matrix3.inverse();
                key(first.transform_point3(bend.origin + step), rotation)
            })
            .collect();
        (self.add([from, to], line, bend.taken, keys), bend.taken)
    }

    fn add(&mut self, panels: [PanelKey; 2], line: u8, taken: Taken, keys: Vec<JointKey>) -> usize {
        let appears = match panels[0].0 {
            PanelName::SleeveUnder | PanelName::SleeveOver => begin_of(Stage::InsertValve),
            PanelName::Patch => begin_of(Stage::LayPatch),
            _ => 0.0,
        };
        self.numbers.insert((panels[0], panels[1], line), (self.joints.len(), taken));
        self.joints.push(Joint { panels, line, keys, appears });
        self.joints.len() - 1
    }

    fn find_middles(&mut self, closed: &Mesh) {
        let mut sums: BTreeMap<PanelKey, (DVec3, f64)> = BTreeMap::new();
        for (position, hold) in closed.positions.iter().zip(&closed.hold) {
            if hold.from == hold.to && hold.step != Hold::CORNER {
                let sum = sums.entry(panel_of(&closed.parts[usize::from(hold.from)])).or_default();
                *sum = (sum.0 + DVec3::from(*position), sum.1 + 1.0);
            }
        }
        let Some(last) = self.motions.len().checked_sub(1) else { return };
        let own = |(panel, (sum, count))| (panel, self.place(panel, last).inverse().transform_point3(sum / count));
        self.middles = sums.into_iter().map(own).collect();
    }

    /// A panel's motion at a key: from (x, v, height above its inner side) to the sack frame.
    fn place(&self, (name, end): PanelKey, key: usize) -> DAffine3 {
        self.motions[key].of(name, end)
    }

    /// A point of a panel's own, on its hinge.
    fn hinge(&self, (name, end): PanelKey) -> DVec3 {
        let Some(bottom) = end.map(|end| self.sack.bottom(end)) else { return DVec3::ZERO };
        let (h, d, f) = (bottom.half_face_mm(), bottom.opening_depth_mm, bottom.flap_depth_mm);
        match name {
            PanelName::Half(_) => DVec3::new(0.0, d, 0.0),
            PanelName::Flap(_) => DVec3::new(0.0, f, 0.0),
            PanelName::Pocket(_, side) => DVec3::new(side.sign() * h, d, 0.0),
            PanelName::PocketFlap(_, side) => DVec3::new(side.sign() * (h - bottom.width_mm / 2.0), f, 0.0),
            PanelName::Body(_) | PanelName::Patch | PanelName::SleeveUnder | PanelName::SleeveOver => DVec3::ZERO,
        }
    }

    /// From where a joint's vertices are taken to where they are at the first key.
    fn to_first(&self, joint: usize, taken: Taken) -> DAffine3 {
        let keys = &self.joints[joint].keys;
        let of = |key: &JointKey| DAffine3::from_rotation_translation(key.rotation, key.translation);
        match (taken, keys.first(), keys.last()) {
            (Taken::Closed, Some(first), Some(last)) => of(first) * of(last).inverse(),
            _ => DAffine3::IDENTITY,
        }
    }
}

fn key(translation: DVec3, rotation: DMat3) -> JointKey {
    JointKey { translation, rotation: DQuat::from_mat3(&rotation).normalize() }
}

/// How a panel turns against its neighbour, in the neighbour's own axes, measured from where they are folded over.
struct Bend {
    taken: Taken,
    /// Where the bend begins on the first panel, as high as the axis; and the axis' direction.
    origin: DVec3,
    axis: DVec3,
    /// Radians, at each key.
    angles: Vec<f64>,
    /// How far that place, carried by the second panel, is off, at each key.
    steps: Vec<DVec3>,
}

impl Bend {
    fn new(maker: &Maker, from: PanelKey, to: PanelKey) -> Option<Self> {
        /// Radians: less has not turned.
        const TURNED: f64 = 1e-6;
        let last = maker.motions.len().checked_sub(1)?;
        let relative = |key: usize| maker.place(from, key).inverse() * maker.place(to, key);
        // Folded over, the outer sides' normals point apart.
        let opening = |key: usize| maker.place(from, key).matrix3.z_axis.dot(maker.place(to, key).matrix3.z_axis);
        let (taken, folded, flat) =
            if opening(0) < opening(last) { (Taken::Tube, 0, last) } else { (Taken::Closed, last, 0) };
        let home = relative(folded).inverse();
        // Half a turn: (R + 1)/2 projects on the axis, and half of what is moved across it is the axis' place.
        let turned = relative(flat) * home;
        let projection = (turned.matrix3 + DMat3::IDENTITY) * 0.5;
        let columns = [projection.x_axis, projection.y_axis, projection.z_axis];
        let longest = columns.into_iter().max_by(|a, b| a.length_squared().total_cmp(&b.length_squared()))?;
        let is_half_turn =
            (turned.matrix3.col(0).x + turned.matrix3.col(1).y + turned.matrix3.col(2).z + 1.0).abs() < TURNED;
        if !is_half_turn {
            return None;
        }
        let axis = longest.try_normalize()?;
        let moved = turned.translation;
        let mut hinge = (moved - axis * moved.dot(axis)) / 2.0;
        // Of the axis, the place by the second panel's own hinge: it moves least.
        hinge += axis * axis.dot(relative(folded).transform_point3(maker.hinge(to)) - hinge);
        // The bend begins where the first panel ends, short of the hinge.
        let middle = maker.middles.get(&from).copied().unwrap_or_default() - hinge;
        let inwards = middle - axis * middle.dot(axis) - DVec3::Z * middle.z;
        let origin = hinge + inwards.normalize_or_zero() * maker.motions[folded].inset();
        let across = axis.any_orthonormal_vector();
        let mut angles = Vec::with_capacity(last + 1);
        let mut steps = Vec::with_capacity(last + 1);
        for key in 0..=last {
            let moved = relative(key) * home;
            let turned = moved.matrix3 * across;
            angles.push(libm::atan2(axis.dot(across.cross(turned)), across.dot(turned)));
            steps.push(moved.transform_point3(origin) - origin);
        }
        // Half a turn has two signs: it goes the way that it is seen going.
        let part = angles.iter().copied().find(|angle| (0.01..core::f64::consts::PI - 0.01).contains(&angle.abs()))?;
        for angle in &mut angles {
            if core::f64::consts::PI - angle.abs() < TURNED {
                *angle = core::f64::consts::PI * part.signum();
            }
        }
        Some(Self { taken, origin, axis, angles, steps })
    }

    /// The key at which the bend is folded over.
    fn reference(&self, maker: &Maker) -> usize {
        match self.taken {
            Taken::Tube => 0,
            Taken::Closed => maker.motions.len() - 1,
        }
    }

    /// Turned about the axis (Rodrigues' formula).
    fn turn(&self, angle: f64) -> DMat3 {
        let (s, c) = libm::sincos(angle);
        let turned = |v: DVec3| v * c + self.axis.cross(v) * s + self.axis * (self.axis.dot(v) * (1.0 - c));
        DMat3::from_cols(turned(DVec3::X), turned(DVec3::Y), turned(DVec3::Z))
    }
}

//! The film's joints carry the mesh as the fold does: at the keys, and between them.

#![allow(clippy::unwrap_used, clippy::expect_used)]

mod support;

use glam::{DQuat, DVec3};
use sackwright::export::film_glb;
use sackwright::fold::Pose;
use sackwright::model::{Hold, Mesh, Thickness, build};
use sackwright::rig::{JointKey, Rig, pose_at};
use sackwright::sack::Sack;
use sackwright::sheet::Sheet;

fn plain() -> Sack {
    Sack::new(Sheet::new(support::plain_sheet()).unwrap())
}

/// Between two turns the short way round at an even speed, as viewers do it.
fn slerp(a: DQuat, b: DQuat, share: f64) -> DQuat {
    let b = if a.dot(b) < 0.0 { -b } else { b };
    let angle = libm::acos(a.dot(b).clamp(-1.0, 1.0));
    if angle < 1e-9 {
        return a;
    }
    let (p, q) = (libm::sin((1.0 - share) * angle), libm::sin(share * angle));
    ((a * p + b * q) * (1.0 / libm::sin(angle))).normalize()
}

/// Where the joints are between key `key` and the next.
fn joints(rig: &Rig, key: usize, share: f64) -> Vec<JointKey> {
    rig.joints
        .iter()
        .map(|joint| {
            let (a, b) = (joint.keys[key], joint.keys[(key + 1).min(joint.keys.len() - 1)]);
            JointKey {
                translation: a.translation.lerp(b.translation, share),
                rotation: slerp(a.rotation, b.rotation, share),
            }
        })
        .collect()
}

/// The mesh as a viewer shows it.
fn shown(rig: &Rig, joints: &[JointKey]) -> Vec<DVec3> {
    let vertices = rig.mesh.positions.iter().zip(&rig.influences);
    vertices
        .map(|(position, influences)| {
            let moved = influences.iter().map(|&(joint, weight)| {
                let (first, now) = (rig.joints[joint].keys[0], joints[joint]);
                let own = first.rotation.inverse() * (DVec3::from(*position) - first.translation);
                (now.translation + now.rotation * own) * (f64::from(weight) / 255.0)
            });
            moved.sum()
        })
        .collect()
}

fn built(sack: &Sack, pose: &Pose, thickness: Thickness) -> Mesh {
    let mut mesh = Mesh::default();
    build(sack, pose, thickness, &mut mesh);
    mesh
}

/// Largest distance between the film and the model over the vertices of the plies: on panels, on bends, in corners.
fn apart(rig: &Rig, shown: &[DVec3], model: &Mesh) -> [f64; 3] {
    let mut most = [0.0_f64; 3];
    for (vertex, position) in model.positions.iter().enumerate() {
        if model.parts[usize::from(model.part[vertex])].ply.is_none() {
            continue;
        }
        let hold = rig.mesh.hold[vertex];
        let kind = if hold.step == Hold::CORNER { 2 } else { usize::from(hold.from != hold.to) };
        most[kind] = most[kind].max(shown[vertex].distance(DVec3::from(*position)));
    }
    most
}

/// How large panels, bends and corners are apart at worst over moments of the film.
fn worst(sack: &Sack, thickness: Thickness, shares: &[f64]) -> [f64; 3] {
    let rig = Rig::new(sack, thickness);
    assert!(rig.joints.len() < 256, "{} joints", rig.joints.len());
    let mut worst = [0.0_f64; 3];
    for key in 0..rig.times.len() - 1 {
        for &share in shares {
            let time = rig.times[key] + (rig.times[key + 1] - rig.times[key]) * share;
            let model = built(sack, &pose_at(time).unwrap(), thickness);
            let apart = apart(&rig, &shown(&rig, &joints(&rig, key, share)), &model);
            worst = [0, 1, 2].map(|kind| worst[kind].max(apart[kind]));
        }
    }
    worst
}

#[test]
fn the_film_is_the_model_at_its_keys_and_hardly_off_between_them() {
    let sack = plain();
    // Exaggerated, thick panels turn about higher axes.
    for (factor, panels) in [(1.0, 0.1), (8.0, 0.2)] {
        let thickness = Thickness::exaggerated(factor).unwrap();
        let wall = factor * sack.tube().wall_thickness_mm();
        let at_keys = worst(&sack, thickness, &[0.0, 1.0]);
        let between = worst(&sack, thickness, &[0.25, 0.5, 0.75]);
        // Bends are round in the film and cubic in the model; a corner's middle is the mean of its panels.
        for (kind, at_key, later) in
            [(0, 1e-9, panels), (1, 1.25 * wall, 1.25 * wall + panels), (2, 4.5 * wall, 4.5 * wall)]
        {
            assert!(at_keys[kind] < at_key, "{factor}: {at_keys:?} at keys");
            assert!(between[kind] < later, "{factor}: {between:?} between keys");
        }
    }
}

#[test]
fn a_film_is_the_same_every_time() {
    let film = || film_glb("a sack", &Rig::new(&plain(), Thickness::TRUE)).unwrap();
    assert_eq!(film(), film());
}

#[test]
fn panels_keep_their_lengths_between_keys() {
    let sack = plain();
    let rig = Rig::new(&sack, Thickness::TRUE);
    for key in 0..rig.times.len() - 1 {
        let shown = shown(&rig, &joints(&rig, key, 0.4));
        for [a, b, c] in &rig.mesh.triangles {
            for (a, b) in [(a, b), (b, c), (c, a)].map(|(a, b)| (*a as usize, *b as usize)) {
                let (one, two) = (rig.mesh.hold[a], rig.mesh.hold[b]);
                if one != two || one.from != one.to || one.step == Hold::CORNER {
                    continue;
                }
                let length = DVec3::from(rig.mesh.positions[a]).distance(DVec3::from(rig.mesh.positions[b]));
                assert!((shown[a].distance(shown[b]) - length).abs() < 1e-9, "after key {key}");
            }
        }
    }
}

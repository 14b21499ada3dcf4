//! Scenes for tests: the example sacks at a pose.

use glam::DVec3;
use sackwright::fold::{Pose, Stage};
use sackwright::model::{self, Thickness};
use sackwright::sack::Sack;

use crate::camera::Ray;
use crate::pick;
use crate::scene::Scene;

/// Three plies, stepped.
pub const STEPPED: &str = include_str!("../../../examples/sacks/bread-flour-25-kg.sack.json");

/// The example with that text.
pub fn sack(text: &str) -> Sack {
    Sack::read(text).unwrap()
}

/// A sheet like the example, with so many plies and this step; 0 is a flush cut.
pub fn sack_of(plies: usize, step: f64) -> Sack {
    let mut sheet: serde_json::Value = serde_json::from_str(STEPPED).unwrap();
    let ply = sheet["plies"][0].clone();
    sheet["plies"] = vec![ply; plies].into();
    sheet["cut"] = if step > 0.0 {
        serde_json::json!({ "kind": "stepped", "step_mm": step })
    } else {
        serde_json::json!({ "kind": "flush" })
    };
    Sack::read(&sheet.to_string()).unwrap()
}

/// A sack's scene at a pose.
pub fn scene(sack: &Sack, stage: Stage, at: f64, thickness: f64) -> Scene {
    let mut scene = Scene::new(sack);
    pose(&mut scene, sack, stage, at, thickness);
    scene
}

/// Brings a scene to a pose; tells whether its topology changed.
pub fn pose(scene: &mut Scene, sack: &Sack, stage: Stage, at: f64, thickness: f64) -> bool {
    let pose = Pose::new(stage, at).unwrap();
    let thickness = Thickness::exaggerated(thickness).unwrap();
    model::build(sack, &pose, thickness, &mut scene.mesh);
    scene.refresh(None)
}

/// A ray from far away along `direction` through a point.
pub fn ray_through(point: DVec3, direction: DVec3) -> Ray {
    let direction = direction.normalize();
    Ray { origin: point - direction * 3000.0, direction }
}

/// How far a ray goes until it meets a triangle that is drawn.
pub fn drawn(scene: &Scene, ray: Ray) -> Option<f64> {
    let place = |i: &u32| DVec3::from(scene.paper.positions[*i as usize].map(f64::from)) + scene.origin;
    let triangles = scene.paper.indices.chunks(3).map(|t| [place(&t[0]), place(&t[1]), place(&t[2])]);
    triangles.filter_map(|t| pick::meets(t, ray)).map(|(distance, ..)| distance).min_by(f64::total_cmp)
}

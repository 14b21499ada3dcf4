//! Picking: which point of which part a ray meets first. On the mesh itself in f64, so that it works without any
//! picture, and answers like the picture does: only fronts are met, as backs are not drawn.

use glam::DVec3;

use crate::camera::Ray;
use crate::scene::{Run, Scene};

/// What a ray met.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hit {
    /// Index into the mesh's parts.
    pub part: usize,
    /// From the ray's origin, mm.
    pub distance: f64,
    /// Paper coordinates in the piece's chart, mm.
    pub paper: [f64; 2],
}

/// The first front that `ray` meets; runs whose box it misses are passed over.
#[must_use]
pub fn first(scene: &Scene, ray: Ray) -> Option<Hit> {
    let mesh = &scene.mesh;
    let inverse = ray.direction.recip();
    let mut best: Option<Hit> = None;
    for run in &scene.runs {
        let limit = best.map_or(f64::INFINITY, |hit| hit.distance);
        if !enters(run, ray.origin, inverse, limit) {
            continue;
        }
        for triangle in &scene.triangles[run.triangles.clone()] {
            let corners = triangle.map(|i| DVec3::from(mesh.positions[i as usize]));
            let Some((distance, b, c)) = meets(corners, ray) else {
                continue;
            };
            if best.is_some_and(|hit| hit.distance <= distance) {
                continue;
            }
            let paper = triangle.map(|i| mesh.paper[i as usize]);
            let mix = |k: usize| paper[0][k] * (1.0 - b - c) + paper[1][k] * b + paper[2][k] * c;
            best = Some(Hit { part: run.part, distance, paper: [mix(0), mix(1)] });
        }
    }
    best
}

/// Whether the ray goes through the run's box before `limit` (slab test).
fn enters(run: &Run, origin: DVec3, inverse: DVec3, limit: f64) -> bool {
    let a = (run.bounds.min - origin) * inverse;
    let b = (run.bounds.max - origin) * inverse;
    // Not a number (0 * infinity) on a face parallel to the ray: min and max pass it over.
    let low = a.min(b).max_element();
    let high = a.max(b).min_element();
    low <= high + 1e-9 && high >= 0.0 && low <= limit
}

/// Distance and the weights of the second and third corner (Moeller and Trumbore 1997); fronts only.
pub(crate) fn meets([a, b, c]: [DVec3; 3], ray: Ray) -> Option<(f64, f64, f64)> {
    let (ab, ac) = (b - a, c - a);
    let p = ray.direction.cross(ac);
    let facing = ab.dot(p);
    if facing <= 0.0 {
        return None;
    }
    let s = ray.origin - a;
    let u = s.dot(p);
    if u < 0.0 || u > facing {
        return None;
    }
    let q = s.cross(ab);
    let v = ray.direction.dot(q);
    if v < 0.0 || u + v > facing {
        return None;
    }
    let distance = ac.dot(q) / facing;
    (distance > 0.0).then_some((distance, u / facing, v / facing))
}

#[cfg(test)]
mod tests {
    use sackwright::fold::Stage;
    use sackwright::model::Face;

    use super::*;
    use crate::testing::{STEPPED, ray_through, sack, scene};

    #[test]
    fn from_above_the_front_of_the_outermost_ply_is_met_where_its_chart_says() {
        let sack = sack(STEPPED);
        let scene = scene(&sack, Stage::Tube, 0.0, 1.0);
        let hit = first(&scene, ray_through(DVec3::new(20.0, -200.0, 0.0), -DVec3::Z)).unwrap();
        let part = &scene.mesh.parts[hit.part];
        assert_eq!((part.panel.name(), part.ply, part.face), ("body-a", Some(0), Face::Outer));
        let u = 20.0 + scene.sizes.face_width / 2.0;
        let v = 200.0 + scene.sizes.opening_depth[0];
        assert!((hit.paper[0] - u).abs() < 1e-6 && (hit.paper[1] - v).abs() < 1e-6, "{:?}", hit.paper);
    }

    #[test]
    fn beside_the_sack_nothing_is_met() {
        let sack = sack(STEPPED);
        let scene = scene(&sack, Stage::Tube, 0.0, 1.0);
        let beside = DVec3::new(scene.sizes.face_width, 0.0, 0.0);
        assert_eq!(first(&scene, ray_through(beside, -DVec3::Z)), None);
    }

    #[test]
    fn runs_that_are_passed_over_hold_nothing_that_would_be_met() {
        let sack = sack(STEPPED);
        let scene = scene(&sack, Stage::PressPockets, 0.4, 1.0);
        let all = Run { part: 0, triangles: 0..scene.triangles.len(), vertices: Vec::new(), bounds: scene.bounds };
        for i in 0..200 {
            let x = f64::from(i % 20) / 19.0 - 0.5;
            let y = f64::from(i / 20) / 9.0;
            let through = DVec3::new(x * scene.sizes.face_width, -y * scene.sizes.centre_distance, 20.0);
            let ray = ray_through(through, DVec3::new(0.2, 0.5, -0.8));
            let brute = scene.triangles[all.triangles.clone()]
                .iter()
                .filter_map(|t| meets(t.map(|i| DVec3::from(scene.mesh.positions[i as usize])), ray))
                .map(|(distance, ..)| distance)
                .min_by(f64::total_cmp);
            assert_eq!(first(&scene, ray).map(|hit| hit.distance), brute);
        }
    }
}

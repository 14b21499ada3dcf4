//! A filling line's spout in the valve: what is drawn of it, as buffers like the paper's.
//!
//! Outside the sack it is steel. Inside it is seen through the paper, as the folded sack's paper lies flat and hides
//! nothing of it: the tube goes through.

use glam::DVec3;
use sackwright::fold::Piece;

use crate::camera::Bounds;
use crate::scene::{Ink, Paper, Scene, packed};
use crate::tone::{self, Rgb};

/// A solid in the sack's frame, its axis at z = 0, mm.
#[derive(Clone, Debug)]
pub struct Spout {
    positions: Vec<[f32; 3]>,
    normals: Vec<[f32; 3]>,
    /// Those within the valve first.
    triangles: Vec<u32>,
    /// How many of them are those.
    within: usize,
    /// Two points a line.
    touches: Vec<[f32; 3]>,
}

impl Spout {
    /// From flat arrays; none when they are not whole or a number is not finite.
    #[must_use]
    pub fn new(
        positions: &[f32],
        normals: &[f32],
        triangles: Vec<u32>,
        within: usize,
        touches: &[f32],
    ) -> Option<Self> {
        let places = |flat: &[f32]| {
            let whole = flat.len().is_multiple_of(3) && flat.iter().all(|value| value.is_finite());
            whole.then(|| flat.as_chunks().0.to_vec())
        };
        let spout = Self {
            positions: places(positions)?,
            normals: places(normals)?,
            triangles,
            within,
            touches: places(touches)?,
        };
        let vertices = spout.positions.len();
        let whole = vertices == spout.normals.len()
            && spout.touches.len().is_multiple_of(2)
            && spout.triangles.len().is_multiple_of(3)
            && 3 * within <= spout.triangles.len()
            && spout.triangles.iter().all(|&vertex| (vertex as usize) < vertices);
        whole.then_some(spout)
    }

    /// How high its axis lies in a scene, mm: in the middle of the sleeve. None where there is no sleeve.
    #[must_use]
    pub fn height(scene: &Scene) -> Option<f64> {
        let mut runs = scene.runs.iter().filter(|run| scene.mesh.parts[run.part].piece == Piece::Sleeve);
        runs.next()
            .map(|first| runs.fold(first.bounds, |all, run| all.with(run.bounds.min).with(run.bounds.max)).middle().z)
    }

    /// The box around a scene and the spout in it.
    #[must_use]
    pub fn bounds(&self, scene: &Scene, height: f64) -> Bounds {
        let raise = DVec3::new(0.0, 0.0, height);
        self.positions.iter().fold(scene.bounds, |all, place| all.with(DVec3::from(place.map(f64::from)) + raise))
    }

    /// Its buffers in a scene. Of the indices, those of what is within come first; returns how many they are.
    pub fn put(&self, scene: &Scene, height: f64, paper: &mut Paper, ink: &mut Ink) -> usize {
        let near = |place: [f32; 3]| {
            (DVec3::from(place.map(f64::from)) + DVec3::new(0.0, 0.0, height) - scene.origin).as_vec3()
        };
        paper.positions = self.positions.iter().map(|&place| near(place).to_array()).collect();
        paper.normals = self.normals.iter().map(|normal| packed(normal.map(f64::from))).collect();
        // Steel has no fibres: one place of the grain for all of it.
        paper.paper = vec![[0.0; 2]; self.positions.len()];
        paper.indices.clone_from(&self.triangles);
        let tag = |[r, g, b]: Rgb| [r, g, b, 0];
        paper.tags = vec![tag(tone::STEEL); self.positions.len()];
        for &vertex in &self.triangles[..3 * self.within] {
            paper.tags[vertex as usize] = tag(tone::STEEL_WITHIN);
        }
        *ink = Ink::default();
        let up = packed([0.0, 0.0, 1.0]);
        for line in self.touches.chunks_exact(2) {
            let [from, to] = [line[0], line[1]].map(|place| near(place).extend(0.0).to_array());
            ink.from.push(from);
            ink.to.push(to);
            ink.normals.push(up);
            ink.others.push(up);
            // Like the rim of what is lit up, through other paper too.
            ink.style.push([0, 1, 1, 0]);
        }
        3 * self.within
    }
}

#[cfg(test)]
mod tests {
    use sackwright::fold::Stage;

    use super::*;
    use crate::testing::{STEPPED, sack, scene};

    const PLACES: [f32; 9] = [0.0, 0.0, 0.0, 10.0, 0.0, 0.0, 0.0, 400.0, 0.0];
    const NORMALS: [f32; 9] = [0.0, 0.0, 1.0, 0.0, 0.0, 1.0, 0.0, 0.0, 1.0];

    #[test]
    fn arrays_that_do_not_agree_are_refused() {
        let new = |places: &[f32], triangles: &[u32], within, touches: &[f32]| {
            Spout::new(places, &NORMALS, triangles.to_vec(), within, touches)
        };
        assert!(new(&PLACES, &[0, 1, 2], 1, &[0.0; 6]).is_some());
        assert!(new(&PLACES[..6], &[0, 1, 1], 1, &[]).is_none(), "fewer places than normals");
        assert!(new(&PLACES, &[0, 1, 3], 1, &[]).is_none(), "a corner that is no vertex");
        assert!(new(&PLACES, &[0, 1], 0, &[]).is_none(), "half a triangle");
        assert!(new(&PLACES, &[0, 1, 2], 2, &[]).is_none(), "more within than there are");
        assert!(new(&PLACES, &[0, 1, 2], 1, &[0.0; 3]).is_none(), "half a line");
        let mut endless = PLACES;
        endless[4] = f32::INFINITY;
        assert!(new(&endless, &[0, 1, 2], 1, &[]).is_none());
    }

    #[test]
    fn it_lies_in_the_sleeve_however_thick_the_paper_is_drawn() {
        let sack = sack(STEPPED);
        assert_eq!(Spout::height(&scene(&sack, Stage::PressPockets, 1.0, 1.0)), None);
        let spout = Spout::new(&PLACES, &NORMALS, vec![0, 1, 2], 1, &[0.0; 6]).unwrap();
        let heights = [1.0, 10.0].map(|thickness| {
            let scene = scene(&sack, Stage::LayPatch, 1.0, thickness);
            let height = Spout::height(&scene).unwrap();
            assert!((scene.bounds.min.z..scene.bounds.max.z).contains(&height));
            let (mut paper, mut ink) = (Paper::default(), Ink::default());
            assert_eq!(spout.put(&scene, height, &mut paper, &mut ink), 3);
            let back = DVec3::from(paper.positions[2].map(f64::from)) + scene.origin;
            assert!(back.distance(DVec3::new(0.0, 400.0, height)) < 1e-3);
            assert_eq!(ink.style, [[0, 1, 1, 0]]);
            let bounds = spout.bounds(&scene, height);
            assert!((bounds.max.y - 400.0).abs() < 1e-9 && bounds.min == scene.bounds.min);
            height
        });
        assert!(heights[1] > heights[0] + 1.0);
    }
}

//! Models with thickness: closed, in order, and nothing in one place twice.

#![allow(clippy::unwrap_used, clippy::expect_used)]

mod support;

use glam::DVec3;
use proptest::prelude::*;
use sackwright::fold::{PanelPose, Pose, Stage, panels};
use sackwright::model::{Face, Mesh, Thickness, build};
use sackwright::sack::Sack;
use sackwright::sheet::Sheet;

fn mesh_of(sack: &Sack, stage: Stage, at: f64, factor: f64) -> Mesh {
    let mut mesh = Mesh::default();
    build(sack, &Pose::new(stage, at).unwrap(), Thickness::exaggerated(factor).unwrap(), &mut mesh);
    mesh
}

fn flour(plies: usize, step: f64) -> Sack {
    let ply = r#"{"grammage_g_m2":80,"thickness_mm":0.12}"#;
    let plies = vec![ply; plies].join(",");
    let cut = if step > 0.0 {
        format!(r#"{{"kind":"stepped","step_mm":{step}}}"#)
    } else {
        r#"{"kind":"flush"}"#.to_string()
    };
    let text = format!(
        r#"{{"format":"sackwright-sheet/1","name":"x","face_width_mm":500,"length_mm":640,"cut":{cut},"plies":[{plies}],
        "valve_end":{{"bottom_width_mm":120,"lap_mm":20,"patch":{{}},"valve":{{"flat_width_mm":110,"length_mm":150}}}},
        "plain_end":{{"bottom_width_mm":120,"lap_mm":20,"patch":{{}}}}}}"#
    );
    Sack::read(&text).unwrap()
}

/// Heights at which the vertical line through (x, y) goes into (+1) and out of (-1) paper, from below.
fn crossings(mesh: &Mesh, x: f64, y: f64) -> Vec<(f64, i32)> {
    let mut found = Vec::new();
    for triangle in &mesh.triangles {
        let [a, b, c] = triangle.map(|i| DVec3::from_array(mesh.positions[i as usize]));
        let (u, v) = ((b - a).truncate(), (c - a).truncate());
        let det = u.perp_dot(v);
        if det == 0.0 {
            continue;
        }
        let p = glam::DVec2::new(x, y) - a.truncate();
        let (s, t) = (p.perp_dot(v) / det, u.perp_dot(p) / det);
        if s >= 0.0 && t >= 0.0 && s + t <= 1.0 {
            let z = a.z + s * (b.z - a.z) + t * (c.z - a.z);
            found.push((z, if det < 0.0 { 1 } else { -1 }));
        }
    }
    found.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    found
}

/// How many panels of all plies, patches and sleeves lie over (x, y), and how near the nearest of their borders is.
fn layers(all: &[PanelPose], x: f64, y: f64) -> (usize, f64) {
    let p = glam::DVec2::new(x, y);
    let mut nearest = f64::INFINITY;
    let mut count = 0;
    for panel in all {
        let corners: Vec<_> = panel.space.iter().map(|s| glam::DVec2::new(s[0], s[1])).collect();
        let mut inside = false;
        for i in 0..corners.len() {
            let (a, b) = (corners[i], corners[(i + 1) % corners.len()]);
            let t = ((p - a).dot(b - a) / (b - a).length_squared()).clamp(0.0, 1.0);
            nearest = nearest.min((a + (b - a) * t - p).length());
            if (a.y > p.y) != (b.y > p.y) && p.x < a.x + (b.x - a.x) * (p.y - a.y) / (b.y - a.y) {
                inside = !inside;
            }
        }
        count += usize::from(inside);
    }
    (count, nearest)
}

/// In every flat state each layer that the exact panels have is there, and no paper is inside other paper.
#[test]
fn layers_lie_on_each_other_and_never_in_each_other() {
    let flat = [
        (Stage::Tube, 0.0),
        (Stage::PressPockets, 1.0),
        (Stage::InsertValve, 1.0),
        (Stage::FoldFlaps, 0.5),
        (Stage::FoldFlaps, 1.0),
        (Stage::LayPatch, 1.0),
    ];
    for (plies, step) in [(1, 0.0), (2, 0.0), (3, 20.0), (4, 20.0), (6, 12.0)] {
        let sack = flour(plies, step);
        for (stage, at) in flat {
            for factor in [1.0, 5.0] {
                let mesh = mesh_of(&sack, stage, at, factor);
                let all = panels(&sack, &Pose::new(stage, at).unwrap());
                let mut probed = 0;
                for i in 0..40 {
                    for j in 0..40 {
                        let x = -255.0 + 13.1 * f64::from(i);
                        let y = 125.0 - 19.3 * f64::from(j);
                        let (count, nearest) = layers(&all, x, y);
                        // Bends are not flat, and the tips of the two pocket flaps share a place that is hidden.
                        let tip = (x.abs() - 120.0).abs() < 75.0 && (y.abs() < 45.0 || (y + 520.0).abs() < 45.0);
                        if nearest < 20.0 || tip {
                            continue;
                        }
                        probed += 1;
                        let found = crossings(&mesh, x, y);
                        assert_eq!(found.len(), 2 * count, "{plies} {stage:?} {at} x{factor} ({x}, {y})");
                        let mut depth = 0;
                        for k in 0..found.len() {
                            depth += found[k].1;
                            let touching = k + 1 < found.len() && found[k + 1].0 - found[k].0 < 1e-9;
                            assert!(
                                (0..=1).contains(&depth) || touching,
                                "paper in paper: {plies} {stage:?} {at} x{factor} ({x}, {y}) {found:?}"
                            );
                        }
                        assert_eq!(depth, 0);
                    }
                }
                assert!(probed > 300, "{probed}");
            }
        }
    }
}

/// Volume enclosed, by the divergence theorem; open seams between a ply's own pieces cancel.
fn volume(mesh: &Mesh) -> f64 {
    mesh.triangles
        .iter()
        .map(|triangle| {
            let [a, b, c] = triangle.map(|i| DVec3::from_array(mesh.positions[i as usize]));
            a.dot(b.cross(c)) / 6.0
        })
        .sum()
}

#[test]
fn the_solid_holds_the_paper_that_went_in() {
    let sack = flour(3, 20.0);
    // The exact panels know no seam lap: 2 W T of paper for each ply.
    let paper = 3.0 * 0.12 * 2.0 * 500.0 * sack.tube().length_mm;
    for (stage, at) in
        [(Stage::Tube, 0.0), (Stage::OpenMouth, 0.7), (Stage::PressPockets, 0.3), (Stage::FoldFlaps, 0.25)]
    {
        let sleeve = if stage == Stage::FoldFlaps { 2.0 * 110.0 * 150.0 * 0.12 } else { 0.0 };
        let found = volume(&mesh_of(&sack, stage, at, 1.0));
        assert!((found / (paper + sleeve) - 1.0).abs() < 0.01, "{stage:?} {at}: {found} {paper}");
    }
}

/// Every edge of a solid is shared by two triangles that run it opposite ways, once coincident vertices are one.
#[test]
fn every_piece_is_closed() {
    let sack = flour(2, 20.0);
    for (stage, at) in [(Stage::Tube, 0.0), (Stage::OpenMouth, 0.6), (Stage::PressPockets, 0.5), (Stage::LayPatch, 0.4)]
    {
        let mesh = mesh_of(&sack, stage, at, 3.0);
        let key = |i: u32| mesh.positions[i as usize].map(|c| (c * 1e6).round() as i64);
        let mut edges = std::collections::HashMap::new();
        for triangle in &mesh.triangles {
            for k in 0..3 {
                let (a, b) = (key(triangle[k]), key(triangle[(k + 1) % 3]));
                if a != b {
                    *edges.entry((a.min(b), a.max(b))).or_insert(0) += if a < b { 1 } else { -1 };
                }
            }
        }
        let open: Vec<_> = edges.iter().filter(|(_, n)| **n != 0).collect();
        let total: f64 = open
            .iter()
            .map(|((a, b), _)| a.iter().zip(b).map(|(p, q)| ((p - q) as f64 / 1e6).powi(2)).sum::<f64>().sqrt())
            .sum();
        assert!(
            open.is_empty(),
            "{stage:?} {at}: {} open edges, {total} mm: {:?}",
            open.len(),
            &open[..open.len().min(4)]
        );
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1000))]

    #[test]
    fn any_sack_at_any_stage_gives_a_sound_mesh(
        file in support::valid_sheet(),
        stage in prop::sample::select(Stage::ALL.to_vec()),
        at in 0.0..=1.0_f64,
        factor in 1.0..=20.0_f64,
    ) {
        let sack = Sack::new(Sheet::new(file).unwrap());
        let mesh = mesh_of(&sack, stage, at, factor);
        let n = mesh.positions.len();
        prop_assert!(n > 0 && mesh.normals.len() == n && mesh.paper.len() == n && mesh.part.len() == n);
        for i in 0..n {
            prop_assert!(mesh.positions[i].iter().chain(&mesh.paper[i]).all(|c| c.is_finite()));
            let length = DVec3::from_array(mesh.normals[i]).length();
            prop_assert!((length - 1.0).abs() < 1e-9, "normal of length {length}");
            prop_assert!((mesh.part[i] as usize) < mesh.parts.len());
        }
        prop_assert!(mesh.triangles.iter().flatten().all(|&i| (i as usize) < n));
    }

    /// The flat panels' triangles look where their vertices' normals look: the outer face shows the paper's outside.
    #[test]
    fn faces_look_outwards(file in support::valid_sheet(), stage in prop::sample::select(Stage::ALL.to_vec()), at in 0.0..=1.0_f64) {
        let sack = Sack::new(Sheet::new(file).unwrap());
        let mesh = mesh_of(&sack, stage, at, 1.0);
        for triangle in &mesh.triangles {
            let [a, b, c] = triangle.map(|i| DVec3::from_array(mesh.positions[i as usize]));
            let normals = triangle.map(|i| DVec3::from_array(mesh.normals[i as usize]));
            let flat = normals[0].dot(normals[1]).min(normals[0].dot(normals[2])) > 0.999_999;
            let area = (b - a).cross(c - a);
            if flat && area.length() > 1.0 {
                let part = mesh.parts[mesh.part[triangle[0] as usize] as usize];
                prop_assert!(area.normalize().dot(normals[0]) > 0.0, "{part:?}");
                prop_assert!(part.face == Face::Edge || area.normalize().dot(normals[0]) > 0.9, "{part:?}");
            }
        }
    }
}

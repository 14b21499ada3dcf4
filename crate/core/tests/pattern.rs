//! The crease pattern: a disc of paper that keeps its lengths in every fold, with the creases that flat folding needs.

#![allow(clippy::unwrap_used, clippy::expect_used)]

mod support;

use std::collections::BTreeMap;
use std::f64::consts::PI;

use glam::DVec2;
use proptest::prelude::*;
use sackwright::export::{FoldedState, fold};
use sackwright::fold::{Pose, Stage};
use sackwright::geom::signed_area;
use sackwright::pattern::{Folded, Pattern};
use sackwright::sack::Sack;
use sackwright::sheet::Sheet;
use sackwright::tolerance::SAME_CORNER_MM;

fn plain() -> Sack {
    Sack::new(Sheet::new(support::plain_sheet()).unwrap())
}

fn closed(sack: &Sack, pattern: &Pattern) -> Folded {
    pattern.fold(sack, &Pose::new(Stage::LayPatch, 1.0).unwrap())
}

fn polygon(pattern: &Pattern, face: usize) -> Vec<DVec2> {
    pattern.faces[face].vertices.iter().map(|vertex| pattern.vertices[*vertex]).collect()
}

proptest! {
    #[test]
    fn the_web_is_one_disc_of_the_cut_contour_s_area(sack in support::valid_sack(), ply in 0_usize..6) {
        prop_assert_eq!(Pattern::new(&sack, ply).is_some(), ply < sack.tube().plies.len());
        let Some(pattern) = Pattern::new(&sack, ply) else { return Ok(()) };
        let euler = pattern.vertices.len() + pattern.faces.len() - pattern.edges.len();
        prop_assert_eq!(euler, 1);
        let areas = (0..pattern.faces.len()).map(|face| signed_area(&polygon(&pattern, face)));
        prop_assert!(areas.clone().all(|area| area > 0.0));
        // The contour of a web that runs round no smaller former.
        let tube = sack.tube();
        let contour = signed_area(&tube.contour(ply));
        let narrower = 2.0 * tube.face_width_mm + tube.seam_lap_mm - tube.plies[ply].web_width_mm;
        let most = narrower * (tube.length_mm + 2.0 * tube.spread_mm()) + 1e-3;
        let area: f64 = areas.sum();
        prop_assert!(area - contour > -1e-3 && area - contour < most, "{} {}", area, contour);
    }

    #[test]
    fn folding_keeps_every_length_and_every_shared_corner(
        sack in support::valid_sack(),
        stage in prop::sample::select(Stage::ALL.to_vec()),
        at in prop_oneof![Just(0.0), Just(1.0), 0.0..=1.0],
    ) {
        let pattern = Pattern::new(&sack, 0).unwrap();
        let folded = pattern.fold(&sack, &Pose::new(stage, at).unwrap());
        for face in &pattern.faces {
            for (i, &a) in face.vertices.iter().enumerate() {
                for &b in &face.vertices[i + 1..] {
                    let (flat, space) =
                        (pattern.vertices[a].distance(pattern.vertices[b]), folded.vertices[a].distance(folded.vertices[b]));
                    // Corners that lie together within this were made one.
                    prop_assert!((flat - space).abs() < 4.0 * SAME_CORNER_MM, "{} {flat} {space}", face.panel);
                }
            }
        }
    }

    #[test]
    fn the_closed_pattern_folds_flat_after_maekawa_and_kawasaki(sack in support::valid_sack()) {
        let pattern = Pattern::new(&sack, 0).unwrap();
        let folded = closed(&sack, &pattern);
        let mut around: BTreeMap<usize, Vec<(f64, f64)>> = BTreeMap::new();
        for (edge, angle) in pattern.edges.iter().zip(&folded.angles) {
            prop_assert!(angle.abs() < 1e-6 || (angle.abs() - PI).abs() < 1e-9, "a part fold of {angle}");
            for end in [0, 1] {
                let (from, to) = (edge.vertices[end], edge.vertices[1 - end]);
                let out = pattern.vertices[to] - pattern.vertices[from];
                let turned = if edge.is_rim() { f64::NAN } else { *angle };
                around.entry(from).or_default().push((libm::atan2(out.y, out.x), turned));
            }
        }
        for creases in around.values_mut() {
            if creases.iter().any(|(_, angle)| angle.is_nan()) {
                continue;
            }
            creases.retain(|(_, angle)| angle.abs() > 1.0);
            creases.sort_by(|a, b| a.0.total_cmp(&b.0));
            if creases.is_empty() {
                continue;
            }
            let signs: f64 = creases.iter().map(|(_, angle)| angle.signum()).sum();
            let alternating: f64 = creases.iter().enumerate().map(|(i, (at, _))| if i % 2 == 0 { *at } else { -at }).sum();
            // A straight crease has two of a kind; elsewhere they differ by two.
            prop_assert_eq!(signs.abs(), 2.0);
            prop_assert!((alternating.abs() - PI).abs() < 1e-6, "{alternating}");
        }
    }
}

#[test]
fn the_pattern_s_creases_are_those_of_the_fold() {
    let sack = plain();
    let pattern = Pattern::new(&sack, 0).unwrap();
    let folded = closed(&sack, &pattern);
    let title = "closed".to_string();
    let states = [FoldedState { title, folded: folded.clone() }];
    let text = fold("a sack", &pattern, &folded, &states).unwrap();
    assert_eq!(text, fold("a sack", &pattern, &closed(&sack, &pattern), &states).unwrap());
    let file: serde_json::Value = serde_json::from_str(&text).unwrap();
    let edges = file["edges_vertices"].as_array().unwrap();
    let signs = file["edges_assignment"].as_array().unwrap();
    let angles = file["edges_foldAngle"].as_array().unwrap();
    assert_eq!((edges.len(), signs.len()), (angles.len(), angles.len()));
    for (sign, angle) in signs.iter().zip(angles) {
        let angle = angle.as_f64().unwrap();
        assert_eq!(
            angle,
            match sign.as_str().unwrap() {
                "V" => 180.0,
                "M" => -180.0,
                _ => 0.0,
            }
        );
    }
    let count = |of: &str| signs.iter().filter(|sign| *sign == of).count();
    // Outer sides together: both ends' fold-back lines, and four creases R-Re in the pockets of each end.
    assert_eq!(count("V"), 2 + 8);
    // The four side folds that the opened mouths lay flat.
    assert_eq!(count("F"), 4);
    // Wall B goes on into its halves without a crease: a piece of it either side of the seam, the lap twice.
    assert_eq!(count("J"), 2 * 2);
    assert_eq!(file["file_frames"][0]["vertices_coords"].as_array().unwrap().len(), pattern.vertices.len());
    assert_eq!(file["file_frames"][0]["frame_parent"], 0);
}

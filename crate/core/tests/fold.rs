//! The fold is exact: lengths and shared points hold at every stage, and its ends are what flat folding gives.

#![allow(clippy::unwrap_used, clippy::expect_used)]

mod support;

use glam::{DAffine2, DMat2, DVec2, DVec3};
use proptest::prelude::*;
use sackwright::fold::{PanelPose, Piece, Pose, Stage, panels};
use sackwright::sack::Sack;
use sackwright::sheet::{End, Sheet};
use sackwright::tolerance::EXACT_MM;

fn paper(panel: &PanelPose) -> Vec<DVec2> {
    panel.paper.iter().map(|p| DVec2::from_array(*p)).collect()
}

fn space(panel: &PanelPose) -> Vec<DVec3> {
    panel.space.iter().map(|p| DVec3::from_array(*p)).collect()
}

/// Where a panel puts a paper point, from three of its own corners.
fn place(panel: &PanelPose, point: DVec2) -> DVec3 {
    let (p, s) = (paper(panel), space(panel));
    let (a, b) = (p[1] - p[0], p[2] - p[0]);
    let det = a.perp_dot(b);
    let q = point - p[0];
    s[0] + (s[1] - s[0]) * (q.perp_dot(b) / det) + (s[2] - s[0]) * (a.perp_dot(q) / det)
}

/// Whether a paper point lies on the border of a panel.
fn on_border(panel: &PanelPose, point: DVec2) -> bool {
    let p = paper(panel);
    (0..p.len()).any(|i| {
        let (a, b) = (p[i], p[(i + 1) % p.len()]);
        let along = b - a;
        let t = ((point - a).dot(along) / along.length_squared()).clamp(0.0, 1.0);
        (a + along * t - point).length() < 1e-9
    })
}

/// The point of `panel` that answers to a point of another panel, if they meet there; u = 0 and 2W are one side fold.
fn answering(panel: &PanelPose, point: DVec2, girth: f64) -> Option<DVec2> {
    let shifts = [0.0, girth, -girth].map(|by| point + DVec2::new(by, 0.0));
    shifts.into_iter().find(|&p| on_border(panel, p))
}

fn sheet_of(file: sackwright::sheet::SheetFile) -> Sack {
    Sack::new(Sheet::new(file).unwrap())
}

fn any_stage() -> impl Strategy<Value = Stage> {
    prop::sample::select(Stage::ALL.to_vec())
}

/// A fraction, often at an end or in the middle.
fn any_fraction() -> impl Strategy<Value = f64> {
    prop_oneof![Just(0.0), Just(0.5), Just(1.0), 0.0..=1.0]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1200))]

    #[test]
    fn every_panel_keeps_its_lengths(file in support::valid_sheet(), stage in any_stage(), at in any_fraction()) {
        let sack = sheet_of(file);
        for panel in panels(&sack, &Pose::new(stage, at).unwrap()) {
            let (p, s) = (paper(&panel), space(&panel));
            for i in 0..p.len() {
                for j in 0..i {
                    let error = ((p[i] - p[j]).length() - (s[i] - s[j]).length()).abs();
                    prop_assert!(error <= EXACT_MM, "{} {:?} {i}-{j}: {error}", panel.name, panel.end);
                }
            }
        }
    }

    #[test]
    fn shared_paper_is_shared_in_space(file in support::valid_sheet(), stage in any_stage(), at in any_fraction()) {
        let sack = sheet_of(file);
        let girth = 2.0 * sack.tube().face_width_mm;
        let all = panels(&sack, &Pose::new(stage, at).unwrap());
        let mut met = 0;
        for one in all.iter().filter(|p| p.piece == Piece::Ply) {
            for other in all.iter().filter(|p| p.piece == Piece::Ply && p.ply == one.ply && p.name != one.name) {
                for (point, there) in paper(one).into_iter().zip(space(one)) {
                    if let Some(point) = answering(other, point, girth) {
                        met += 1;
                        let error = (place(other, point) - there).length();
                        prop_assert!(error <= EXACT_MM, "{} / {}: {error}", one.name, other.name);
                    }
                }
            }
        }
        // Each end of each ply has 8 creases and more: something must have met.
        prop_assert!(met > 60 * sack.tube().plies.len());
    }

    /// The referee knows nothing of angles: it folds the crease pattern flat by reflecting panel after panel over the
    /// edge shared with one already placed.
    #[test]
    fn the_closed_bottom_is_the_flat_folded_crease_pattern(file in support::valid_sheet()) {
        let sack = sheet_of(file);
        let girth = 2.0 * sack.tube().face_width_mm;
        let mut all = panels(&sack, &Pose::new(Stage::FoldFlaps, 1.0).unwrap());
        all.retain(|p| p.piece == Piece::Ply && p.ply == Some(0));
        let start = all.iter().position(|p| p.name == "body-b").unwrap();
        // Wall B lies as it is, seen from above: u runs against x, v against y.
        let base = place(&all[start], DVec2::ZERO);
        let flat = DAffine2::from_mat2_translation(
            DMat2::from_cols(DVec2::new(-1.0, 0.0), DVec2::new(0.0, -1.0)),
            base.truncate(),
        );
        let mut maps: Vec<Option<DAffine2>> = vec![None; all.len()];
        maps[start] = Some(flat);
        let mut queue = vec![start];
        while let Some(i) = queue.pop() {
            let map = maps[i].unwrap();
            for j in 0..all.len() {
                let Some((a, b, shift)) = shared_edge(&all[i], &all[j], girth) else { continue };
                let next = if stays_flat(all[i].name, all[j].name) {
                    map
                } else {
                    map * reflection(a, b)
                };
                let next = next * DAffine2::from_translation(DVec2::new(shift, 0.0));
                match maps[j] {
                    None => {
                        maps[j] = Some(next);
                        queue.push(j);
                    }
                    Some(known) => {
                        for p in paper(&all[j]) {
                            let error = (known.transform_point2(p) - next.transform_point2(p)).length();
                            prop_assert!(error < 1e-6, "{} does not fold flat: {error}", all[j].name);
                        }
                    }
                }
            }
        }
        for (panel, map) in all.iter().zip(&maps) {
            let map = map.expect("every panel hangs together with the rest");
            for (p, s) in paper(panel).into_iter().zip(space(panel)) {
                let error = (map.transform_point2(p).extend(0.0) - s).length();
                prop_assert!(error <= EXACT_MM, "{} {:?}: {error}", panel.name, panel.end);
            }
        }
    }
}

/// Two points of the edge that two panels share, on the first one's paper, and what to add to u on the second's to come
/// to the first's.
fn shared_edge(one: &PanelPose, other: &PanelPose, girth: f64) -> Option<(DVec2, DVec2, f64)> {
    if one.name == other.name && one.end == other.end {
        return None;
    }
    for shift in [0.0, girth, -girth] {
        let mut meet: Vec<DVec2> = Vec::new();
        for p in paper(other).into_iter().map(|p| p + DVec2::new(shift, 0.0)) {
            if on_border(one, p) {
                meet.push(p);
            }
        }
        for p in paper(one) {
            if on_border(other, p - DVec2::new(shift, 0.0)) {
                meet.push(p);
            }
        }
        for i in 1..meet.len() {
            if (meet[i] - meet[0]).length() > 1e-3 {
                return Some((meet[0], meet[i], shift));
            }
        }
    }
    None
}

/// At the closed bottom every crease is folded but two: wall B goes straight on into its half, and the side fold between
/// the pockets lies open.
fn stays_flat(one: &str, other: &str) -> bool {
    let pair =
        |a: &str, b: &str| (one.starts_with(a) && other.starts_with(b)) || (one.starts_with(b) && other.starts_with(a));
    pair("body-b", "half-b") || pair("pocket-a-", "pocket-b-")
}

fn reflection(a: DVec2, b: DVec2) -> DAffine2 {
    let t = (b - a).normalize();
    let m = DMat2::from_cols(
        DVec2::new(2.0 * t.x * t.x - 1.0, 2.0 * t.x * t.y),
        DVec2::new(2.0 * t.x * t.y, 2.0 * t.y * t.y - 1.0),
    );
    DAffine2::from_mat2_translation(m, a - m * a)
}

fn example(w: f64, l: f64, b: [f64; 2], o: [f64; 2]) -> Sack {
    let text = format!(
        r#"{{"format":"sackwright-sheet/1","name":"x","face_width_mm":{w},"length_mm":{l},
        "cut":{{"kind":"flush"}},"plies":[{{"grammage_g_m2":80}}],
        "valve_end":{{"bottom_width_mm":{},"lap_mm":{},"valve":{{"flat_width_mm":100,"length_mm":150}}}},
        "plain_end":{{"bottom_width_mm":{},"lap_mm":{}}}}}"#,
        b[0], o[0], b[1], o[1]
    );
    Sack::read(&text).unwrap()
}

fn corner(sack: &Sack, stage: Stage, at: f64, name: &str, index: usize) -> DVec3 {
    let all = panels(sack, &Pose::new(stage, at).unwrap());
    let panel = all.iter().find(|p| p.name == name && p.end == Some(End::ValveEnd)).unwrap();
    DVec3::from_array(panel.space[index])
}

#[test]
fn the_side_fold_opens_as_the_cases_say() {
    let cases: serde_json::Value =
        serde_json::from_str(include_str!("../../../tests/cases/flat-and-fold.json")).unwrap();
    for case in cases["cases"].as_array().unwrap() {
        let number = |key: &str| case[key].as_f64().unwrap();
        let pair = |key: &str| [case[key][0].as_f64().unwrap(), case[key][1].as_f64().unwrap()];
        let sack = example(number("face_width_mm"), number("length_mm"), pair("bottom_width_mm"), pair("lap_mm"));
        for step in case["side_fold_end_right"].as_array().unwrap() {
            let half_turns = step["theta_deg"].as_f64().unwrap() / 180.0;
            let (stage, at) = if half_turns <= 0.5 {
                (Stage::OpenMouth, 2.0 * half_turns)
            } else {
                (Stage::PressPockets, 2.0 * half_turns - 1.0)
            };
            let found = corner(&sack, stage, at, "pocket-b-right", 3);
            let want: Vec<f64> = step["E"].as_array().unwrap().iter().map(|v| v.as_f64().unwrap()).collect();
            // The cases are given to nine decimals.
            assert!((found - DVec3::new(want[0], want[1], want[2])).length() < 2e-9, "{found} {want:?}");
        }
    }
}

#[test]
fn the_ends_of_the_turns_are_exact() {
    let sack = example(500.0, 640.0, [120.0, 120.0], [20.0, 20.0]);
    let (h, d) = (250.0, 130.0);
    assert_eq!(corner(&sack, Stage::OpenMouth, 0.0, "pocket-a-right", 3), DVec3::new(h, d, 0.0));
    assert_eq!(corner(&sack, Stage::PressPockets, 1.0, "pocket-a-right", 3), DVec3::new(h - d, 0.0, 0.0));
    assert_eq!(corner(&sack, Stage::PressPockets, 1.0, "flap-a", 2), DVec3::new(h - d, -d, 0.0));
    // Closed: each flap reaches o/2 beyond the centre line.
    assert_eq!(corner(&sack, Stage::FoldFlaps, 1.0, "flap-a", 2), DVec3::new(h - d, 10.0, 0.0));
    assert_eq!(corner(&sack, Stage::FoldFlaps, 1.0, "flap-b", 2), DVec3::new(h - d, -10.0, 0.0));
}

#[test]
fn a_fraction_outside_the_stage_is_no_pose() {
    for at in [-0.1, 1.1, f64::NAN, f64::INFINITY] {
        assert_eq!(Pose::new(Stage::Tube, at), None);
    }
}

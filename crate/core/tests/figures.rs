//! The figures are the formulas of the block-bottom sack, written here once more and independently.

#![allow(clippy::unwrap_used, clippy::expect_used)]

mod support;

use proptest::prelude::*;
use sackwright::figures::{LapFigures, PasteHabits, figures};
use sackwright::sack::Sack;
use sackwright::sheet::{CutKind, End, Sheet, SheetFile};
use sackwright::tolerance::EXACT_MM;

fn near(found: f64, want: f64) -> bool {
    (found - want).abs() <= EXACT_MM.max(1e-12 * want.abs())
}

fn step(file: &SheetFile) -> f64 {
    if file.cut.kind == CutKind::Flush { 0.0 } else { file.cut.step_mm.unwrap() }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1000))]

    #[test]
    fn lengths_are_the_formulas(file in support::valid_sheet()) {
        let sack = Sack::new(Sheet::new(file.clone()).unwrap());
        let found = figures(&sack, None, &PasteHabits::default());
        let (w, l) = (file.face_width_mm, file.length_mm);
        let (b1, o1) = (file.valve_end.bottom_width_mm, file.valve_end.lap_mm);
        let (b2, o2) = (file.plain_end.bottom_width_mm, file.plain_end.lap_mm);
        let t = l + (b1 + b2) / 2.0 + (o1 + o2) / 2.0;
        prop_assert!(near(found.tube_length_mm, t));
        prop_assert!(near(found.bottom_centre_distance_mm, l - (b1 + b2) / 2.0));
        // C = T - d1 - d2 must come to the same.
        prop_assert!(near(found.bottom_centre_distance_mm, t - (b1 + o1 / 2.0) - (b2 + o2 / 2.0)));
        for (end, b, o) in [(&found.valve_end.bottom, b1, o1), (&found.plain_end, b2, o2)] {
            prop_assert!(near(end.opening_depth_mm, b + o / 2.0));
            prop_assert!(near(end.flap_depth_mm, (b + o) / 2.0));
            prop_assert!(near(end.corner_cover_mm, o / 2.0));
            prop_assert!(near(end.pocket_gap_mm, w - 2.0 * b - o));
        }
        let valve = &file.valve_end.valve;
        prop_assert!(near(found.valve_end.edge_to_pocket_rim_mm, (b1 + o1) / 2.0));
        prop_assert!(near(found.valve_end.edge_to_far_pocket_mm, w - b1 / 2.0 - (b1 + o1 / 2.0)));
        prop_assert!(near(found.valve_end.free_sleeve_mm, valve.length_mm - valve.outer_end_mm - (b1 + o1) / 2.0));
        let n = file.plies.len() as f64;
        for ply in &found.plies {
            let k = ply.index as f64 - (n - 1.0) / 2.0;
            let s = step(&file);
            let rims = ply.rims_mm;
            prop_assert!(near(rims.valve_end.a, -s * k) && near(rims.valve_end.b, s * k));
            prop_assert!(near(rims.plain_end.a, s * k) && near(rims.plain_end.b, -s * k));
            // A tear line ends one tube and begins the next: every ply is one tube length long.
            prop_assert!((ply.cut_area_mm2 / (ply.web_width_mm * t) - 1.0).abs() < 1e-12);
        }
        let thickness: Vec<f64> = file.plies.iter().map(sackwright::sheet::Ply::thickness_mm).collect();
        if thickness.iter().all(|t| near(*t, thickness[0])) {
            for ply in &found.plies {
                let inner = ply.index as f64 * 2.0 * std::f64::consts::PI * thickness[0];
                prop_assert!(near(ply.web_width_mm, 2.0 * w + file.seam.lap_mm - inner));
            }
        }
        if b1 == b2 {
            prop_assert!((found.box_volume_l / ((w - b1) * b1 * l * 1e-6) - 1.0).abs() < 1e-12);
        }
    }

    /// The map against its definition, point by point.
    #[test]
    fn the_lap_map_is_what_lies_on_what(file in support::valid_sheet(), share in 0.0..1.0_f64) {
        let sack = Sack::new(Sheet::new(file.clone()).unwrap());
        let found = figures(&sack, None, &PasteHabits::default());
        let n = file.plies.len();
        let s = step(&file);
        let k = |i: usize| i as f64 - (n as f64 - 1.0) / 2.0;
        for (end, map) in [(End::ValveEnd, &found.lap_map.valve_end), (End::PlainEnd, &found.lap_map.plain_end)] {
            let bottom = sack.bottom(end);
            let (b, f) = (bottom.width_mm, bottom.flap_depth_mm);
            let t = share * b;
            let under = (0..n).find(|&i| f + s * k(i) >= t);
            let over = (0..n).rev().find(|&i| b - f + s * k(i) <= t);
            let strip = map.iter().find(|strip| strip.from_mm <= t && t <= strip.to_mm);
            prop_assert_eq!(strip.map(|strip| (strip.ply_under, strip.ply_over)), under.zip(over));
            for pair in map.windows(2) {
                let same = |x: &LapFigures| (x.ply_over, x.ply_under);
                prop_assert!(pair[0].to_mm <= pair[1].from_mm && same(&pair[0]) != same(&pair[1]));
            }
        }
    }
}

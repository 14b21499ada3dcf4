//! The flat figures of a few sacks, computed by hand and by another program: tests/cases/flat-and-fold.json.

#![allow(clippy::unwrap_used, clippy::expect_used)]

mod support;

use sackwright::sack::Sack;
use sackwright::sheet::{CutKind, End, Sheet};
use sackwright::tolerance::EXACT_MM;
use sackwright::tube::Wall;
use serde::Deserialize;

#[derive(Deserialize)]
struct Table {
    cases: Vec<Case>,
}

/// Pairs are valve end first. Lengths in mm.
#[derive(Deserialize)]
struct Case {
    name: String,
    face_width_mm: f64,
    length_mm: f64,
    bottom_width_mm: [f64; 2],
    lap_mm: [f64; 2],
    plies: usize,
    step_mm: f64,
    tube_length_mm: f64,
    bottom_centre_distance_mm: f64,
    opening_depth_mm: [f64; 2],
    flap_depth_mm: [f64; 2],
    corner_cover_mm: [f64; 2],
    pocket_gap_mm: [f64; 2],
    rims_valve_end_mm: Vec<Rims>,
    rims_plain_end_mm: Vec<Rims>,
}

#[derive(Deserialize)]
struct Rims {
    a: f64,
    b: f64,
}

impl Case {
    fn sack(&self) -> Sack {
        let mut file = support::plain_sheet();
        file.face_width_mm = self.face_width_mm;
        file.length_mm = self.length_mm;
        file.plies = vec![file.plies[0].clone(); self.plies];
        file.cut.kind = if self.step_mm > 0.0 { CutKind::Stepped } else { CutKind::Flush };
        file.cut.step_mm = (self.step_mm > 0.0).then_some(self.step_mm);
        [file.valve_end.bottom_width_mm, file.plain_end.bottom_width_mm] = self.bottom_width_mm;
        [file.valve_end.lap_mm, file.plain_end.lap_mm] = self.lap_mm;
        Sack::new(Sheet::new(file).unwrap())
    }
}

#[test]
fn flat_figures_are_those_of_the_table() {
    let table: Table = serde_json::from_str(include_str!("../../../tests/cases/flat-and-fold.json")).unwrap();
    assert!(!table.cases.is_empty());
    for case in table.cases {
        let sack = case.sack();
        let same = |what: &str, ours: f64, theirs: f64| {
            assert!((ours - theirs).abs() <= EXACT_MM, "{}: {what} is {ours}, should be {theirs}", case.name);
        };
        let tube = sack.tube();
        same("tube length", tube.length_mm, case.tube_length_mm);
        same("bottom centre distance", tube.bottom_centre_distance_mm, case.bottom_centre_distance_mm);
        for (i, end) in End::ALL.into_iter().enumerate() {
            let bottom = sack.bottom(end);
            same("opening depth", bottom.opening_depth_mm, case.opening_depth_mm[i]);
            same("flap depth", bottom.flap_depth_mm, case.flap_depth_mm[i]);
            same("corner cover", bottom.corner_cover_mm(), case.corner_cover_mm[i]);
            same("pocket gap", bottom.pocket_gap_mm(), case.pocket_gap_mm[i]);
            let rims = [&case.rims_valve_end_mm, &case.rims_plain_end_mm][i];
            assert_eq!(rims.len(), tube.plies.len(), "{}", case.name);
            for (ply, rim) in rims.iter().enumerate() {
                same("rim on wall A", tube.rim_mm(end, Wall::A, ply), rim.a);
                same("rim on wall B", tube.rim_mm(end, Wall::B, ply), rim.b);
            }
        }
    }
}

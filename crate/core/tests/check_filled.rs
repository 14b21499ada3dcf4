//! The rules of the filled sack, with the solver's own figures: what they offer as a cure cures, computed anew.

#![allow(clippy::unwrap_used, clippy::expect_used)]

mod support;

use std::ops::ControlFlow;

use sackwright::check::{Against, Habits, apply, check_with};
use sackwright::fill::{Filled, Settings, Solver, StudySettings, study};
use sackwright::finding::{Finding, Severity};
use sackwright::sack::Sack;
use sackwright::sheet::{Contents, Sheet, SheetFile};

fn holding(mass_kg: f64) -> SheetFile {
    let contents = Contents {
        product: "test powder".into(),
        mass_kg,
        bulk_density_kg_m3: 680.0,
        aerated_density_kg_m3: Some(600.0),
        dusty: true,
        dangerous_goods: false,
    };
    SheetFile { contents: Some(contents), ..support::plain_sheet() }
}

fn found(file: &SheetFile, habits: &Habits) -> Vec<Finding> {
    let sack = Sack::new(Sheet::new(file.clone()).unwrap());
    let settings = StudySettings { headroom: habits.headroom(), ..StudySettings::default() };
    let mut solver = Solver::new(&sack, Settings::default());
    let filled: Filled = study(&mut solver, &sack, &settings, &mut |_| ControlFlow::Continue(())).unwrap();
    check_with(&sack, &Against { habits: Some(habits), filled: Some(&filled), ..Against::default() }).findings
}

fn of<'a>(findings: &'a [Finding], rule: &str) -> &'a Finding {
    findings.iter().find(|finding| finding.rule == rule).unwrap()
}

/// 500 x 640 x 120 holds some 44.4 l; 25 kg at 600 kg/m3 are 41.7 l.
#[test]
fn a_filling_that_suits_the_sack_is_good_all_round() {
    let findings = found(&holding(25.0), &Habits::default());
    for rule in ["capacity", "headroom", "fill-ratio"] {
        assert_eq!(of(&findings, rule).severity, Severity::Good, "{rule}");
    }
}

#[test]
fn too_much_and_too_little_are_cured_by_computed_lengths() {
    for (mass_kg, capacity) in [(30.0, Severity::Stop), (21.0, Severity::Good)] {
        let file = holding(mass_kg);
        let findings = found(&file, &Habits::default());
        assert_eq!(of(&findings, "capacity").severity, capacity);
        let headroom = of(&findings, "headroom");
        assert_eq!(headroom.severity, Severity::Look);
        let set = &headroom.cure.as_ref().unwrap().set;
        assert!(!set.is_empty(), "{headroom:?}");
        let cured = found(&apply(&file, set).unwrap(), &Habits::default());
        for rule in ["capacity", "headroom"] {
            assert_eq!(of(&cured, rule).severity, Severity::Good, "{mass_kg} kg: {rule}, {set:?}");
        }
    }
}

#[test]
fn a_works_own_headroom_moves_both_limit_and_cure() {
    let habits = Habits { least_headroom: 0.15, most_headroom: 0.25, ..Habits::default() };
    let file = holding(25.0);
    let headroom = of(&found(&file, &habits), "headroom").clone();
    assert_eq!(headroom.severity, Severity::Look);
    let cured = found(&apply(&file, &headroom.cure.unwrap().set).unwrap(), &habits);
    assert_eq!(of(&cured, "headroom").severity, Severity::Good);
}

//! The study of a filled sack: its parts agree with the single answers, and the lengths that cure do cure.

#![allow(clippy::unwrap_used, clippy::expect_used)]

mod support;

use std::ops::ControlFlow;

use sackwright::fill::{
    AtRest, Bottoms, Content, Detail, FillError, Filled, Filling, HeadroomRange, Progress, Recall, Settings, Solver,
    StudySettings, study, study_on,
};
use sackwright::sack::Sack;
use sackwright::sheet::{Contents, Sheet, SheetFile};

fn go(_: Progress) -> ControlFlow<()> {
    ControlFlow::Continue(())
}

fn sack(file: &SheetFile) -> Sack {
    Sack::new(Sheet::new(file.clone()).expect("valid"))
}

fn solver(sack: &Sack) -> Solver {
    Solver::new(sack, Settings { detail: Detail::Fine, ..Settings::default() })
}

/// The plain sheet with `mass_kg` of a powder of 500 kg/m3 that is filled at 450.
fn filled_with(mass_kg: f64) -> SheetFile {
    let contents = Contents {
        product: "test powder".into(),
        mass_kg,
        bulk_density_kg_m3: 500.0,
        aerated_density_kg_m3: Some(450.0),
        dusty: false,
        dangerous_goods: false,
    };
    SheetFile { contents: Some(contents), ..support::plain_sheet() }
}

fn studied(file: &SheetFile, settings: &StudySettings) -> Filled {
    let sack = sack(file);
    study(&mut solver(&sack), &sack, settings, &mut go).expect("not cancelled")
}

/// The mass that fills the plain sheet's sack to a share of its capacity with stiff bottoms.
fn mass_of(ratio: f64) -> f64 {
    let sack = sack(&support::plain_sheet());
    let capacity = solver(&sack).capacity(Bottoms::Stiff, &mut go).expect("not cancelled");
    ratio * capacity.shape.volume_l * 0.45
}

#[test]
fn it_has_what_the_single_questions_answer() {
    let file = filled_with(mass_of(0.9));
    let filled = studied(&file, &StudySettings::default());
    let sack = sack(&file);
    let mut solver = solver(&sack);
    let figures = solver.figures(&sack, Bottoms::Stiff, Filling::Contents, &mut go).expect("it goes in");
    assert_eq!(filled.capacity.stiff_l, figures.capacity_stiff_bottoms_l);
    assert_eq!(filled.capacity.free_l, figures.capacity_free_bottoms_l);
    let content = filled.content.expect("the sheet has contents");
    assert_eq!(content.filling.volume_l, figures.volume_l);
    assert_eq!(content.filling.lying, Some(AtRest::from(&figures.lying)));
    assert_eq!(content.filling.pressed, figures.pressed.as_ref().map(AtRest::from));
    assert!((content.headroom.share - 0.1).abs() < 1e-9, "{content:?}");
    // 0.9 lies in the range: there is nothing to cure.
    assert_eq!((content.headroom.length_mm, content.headroom.face_width_mm), (None, None));
    // Settled by a tenth, the sack is thinner.
    let settled = content.settled.expect("the sheet has contents");
    assert!((settled.volume_l / content.filling.volume_l - 0.9).abs() < 1e-12);
    let thickness = |at: Option<AtRest>| at.expect("a filling that it takes").thickness_mm;
    assert!(thickness(settled.lying) < thickness(content.filling.lying));
    assert!(thickness(settled.pressed) < thickness(content.filling.pressed));
    assert!(filled.trust.converged, "{filled:?}");
}

#[test]
fn the_lengths_that_cure_do_and_are_the_nearest() {
    let range = HeadroomRange::default();
    for ratio in [0.7, 0.985, 1.2] {
        let file = filled_with(mass_of(ratio));
        let headroom = studied(&file, &StudySettings::default()).content.expect("contents").headroom;
        assert!((headroom.share - (1.0 - ratio)).abs() < 1e-9, "{headroom:?}");
        let towards = if ratio > 0.96 { 1.0 } else { -1.0 };
        let cures = [
            headroom.length_mm.map(|length_mm| (length_mm - file.length_mm, SheetFile { length_mm, ..file.clone() })),
            headroom
                .face_width_mm
                .map(|face_width_mm| (face_width_mm - file.face_width_mm, SheetFile { face_width_mm, ..file.clone() })),
        ];
        for (which, cure) in cures.into_iter().enumerate() {
            let (change, cured) = cure.expect("there is a length that cures");
            assert!(change * towards > 0.0, "{ratio} {which}: {change}");
            let share = |file: &SheetFile| {
                let sack = sack(file);
                let capacity = solver(&sack).capacity(Bottoms::Stiff, &mut go).expect("not cancelled").shape.volume_l;
                1.0 - ratio * mass_of(1.0) / 0.45 / capacity
            };
            // Warm and cold answers of the fine mesh agree to 0.05 %.
            let slack = 5e-4;
            let there = share(&cured);
            assert!(there >= range.least - slack && there <= range.most + slack, "{ratio} {which}: {there}");
            let mut nearer = cured.clone();
            *(if which == 0 { &mut nearer.length_mm } else { &mut nearer.face_width_mm }) -= towards;
            let short = share(&nearer);
            assert!(short < range.least + slack || short > range.most - slack, "{ratio} {which}: {short}");
        }
    }
}

#[test]
fn what_does_not_go_in_is_said_and_not_computed() {
    let filled = studied(&filled_with(mass_of(1.3)), &StudySettings::default());
    let content = filled.content.expect("contents");
    assert!((content.filling.ratio - 1.3).abs() < 1e-9 && content.filling.lying.is_none(), "{content:?}");
    assert!(content.headroom.length_mm.is_some_and(|length| length > support::plain_sheet().length_mm));
}

#[test]
fn without_contents_the_capacities_remain() {
    let file = SheetFile { contents: None, ..support::plain_sheet() };
    let filled = studied(&file, &StudySettings::default());
    assert!(filled.content.is_none() && filled.capacity.stiff_l > 0.0);
    // A share of the capacity needs no contents, but has no mass.
    let settings = StudySettings { filling: Filling::Ratio(0.9), ..StudySettings::default() };
    let content = studied(&file, &settings).content.expect("a filling");
    assert!(content.mass_kg.is_none() && content.settled.is_none() && content.filling.lying.is_some());
}

#[test]
fn it_travels_as_json() {
    let filled = studied(&filled_with(mass_of(0.97)), &StudySettings::default());
    let text = serde_json::to_string(&filled).expect("plain data");
    let back: Filled = serde_json::from_str(&text).expect("plain data");
    assert_eq!(back, filled);
}

#[test]
fn it_can_be_cancelled() {
    let sack = sack(&filled_with(20.0));
    let mut count = 0;
    let mut stop = |_: Progress| {
        count += 1;
        if count == 40 { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
    };
    let stopped = study(&mut solver(&sack), &sack, &StudySettings::default(), &mut stop);
    assert_eq!(stopped, Err(FillError::Cancelled));
    assert_eq!(count, 40);
}

/// Broken off every so many iterations and taken up again, a study that looks for lengths too comes to the same.
#[test]
fn in_slices_it_comes_to_the_same() {
    let file = filled_with(mass_of(0.99));
    let whole = studied(&file, &StudySettings::default());
    let sack = sack(&file);
    let (mut solver, mut recall) = (solver(&sack), Recall::default());
    let (mut slice, mut breaks) = (25, 0);
    let sliced = loop {
        let before = recall.steps();
        let mut left = slice;
        let mut watch = |_| {
            left -= 1;
            if left > 0 { ControlFlow::Continue(()) } else { ControlFlow::Break(()) }
        };
        match study_on(&mut solver, &mut recall, &sack, &StudySettings::default(), &mut watch) {
            Ok(filled) => break filled,
            Err(error) => assert_eq!(error, FillError::Cancelled),
        }
        breaks += 1;
        slice = if recall.steps() > before { 25 } else { 2 * slice };
    };
    assert!(breaks > 4, "broken off {breaks} times");
    let (sliced, whole) = (sliced.content.expect("contents"), whole.content.expect("contents"));
    assert_eq!(sliced.headroom.length_mm, whole.headroom.length_mm);
    assert_eq!(sliced.headroom.face_width_mm, whole.headroom.face_width_mm);
    let thickness = |content: Content| content.filling.lying.expect("it goes in").thickness_mm;
    assert!((thickness(sliced) / thickness(whole) - 1.0).abs() < 1e-4);
    // What is known is asked for again without a single iteration.
    let again = study_on(&mut solver, &mut recall, &sack, &StudySettings::default(), &mut |_| ControlFlow::Break(()));
    assert_eq!(again.expect("recalled").content, Some(sliced));
}

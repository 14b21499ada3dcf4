//! Sizing: what is kept is what the order asks for, the ranking and the front are what they say, and the solver confirms
//! what was estimated.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::ops::ControlFlow;

use sackwright::check::{Against, apply, survey};
use sackwright::fill::{Detail, Progress};
use sackwright::finding::{Severity, Topic};
use sackwright::sack::Sack;
use sackwright::sheet::Sheet;
use sackwright::sizing::estimate::{CAPACITY_ERROR, PRESSED_ERROR};
use sackwright::sizing::{Grid, Order, OrderFile, Row, Sizing, Table, read_order};

const ORDER: &str = include_str!("../../../examples/orders/bread-flour-25-kg.order.json");
const SHEET: &str = include_str!("../../../examples/sacks/bread-flour-25-kg.sack.json");
const LINE: &str = include_str!("../../../examples/lines/harbour-mill-air-packer.line.json");
const WORKS: &str = include_str!("../../../examples/works/weir-street-works.works.json");
const PALLET: &str = include_str!("../../../examples/pallets/grain-hall-1200-x-800.pallet.json");

fn order() -> Order {
    let mut file = read_order(ORDER).unwrap();
    let texts = [SHEET, LINE, WORKS, PALLET];
    let parts: Vec<_> = file.files().into_iter().map(|(part, _)| part).collect();
    assert_eq!(parts.len(), texts.len());
    for (part, text) in parts.into_iter().zip(texts) {
        file.take(part, text).unwrap();
    }
    Order::new(file).unwrap()
}

fn go(_: Progress) -> ControlFlow<()> {
    ControlFlow::Continue(())
}

fn screened() -> Sizing {
    let mut sizing = Sizing::new(order(), 6, Detail::Finest);
    sizing.screen(usize::MAX);
    sizing
}

fn product_kg(row: &Row) -> f64 {
    row.on_pallet.unwrap().product_kg
}

#[test]
fn screening_in_steps_gives_the_same_table() {
    let mut stepwise = Sizing::new(order(), 6, Detail::Finest);
    let mut before = 0;
    loop {
        let progress = stepwise.screen(97);
        assert!(progress.screened - before <= 97 && progress.screened > before);
        before = progress.screened;
        if progress.screened == progress.total {
            break;
        }
    }
    assert_eq!(stepwise.table(), screened().table());
}

#[test]
fn every_candidate_is_kept_or_left_out_for_a_reason() {
    let Table { progress, left_out, rows, .. } = screened().table();
    let out = left_out.too_small + left_out.too_large + left_out.not_a_sack + left_out.not_estimated;
    assert_eq!((progress.screened, progress.kept), (progress.total, rows.len()));
    assert_eq!(out + rows.len(), progress.total);
    assert!(!rows.is_empty());
}

/// An order to a works that makes tubes in such steps.
fn in_steps(step_mm: f64, edit: impl Fn(&mut OrderFile)) -> Sizing {
    let mut file = order().file().clone();
    file.works.as_mut().unwrap().tuber.tube_length_step_mm = Some(step_mm);
    edit(&mut file);
    let mut sizing = Sizing::new(Order::new(file).unwrap(), 6, Detail::Finest);
    sizing.screen(usize::MAX);
    sizing
}

#[test]
fn lengths_are_those_whose_tube_the_works_makes() {
    // Ten teeth of module 1.5; finer than the grid, and coarser.
    for step in [5.0, 15.0 * std::f64::consts::PI, 10.0 * std::f64::consts::PI / 3.0] {
        let mut sizing = in_steps(step, |_| ());
        let (order, Table { progress, rows, .. }) = (sizing.order().clone(), sizing.table());
        assert_eq!((progress.screened, progress.total), (order.candidates(), order.candidates()));
        assert!(rows.len() > 100, "{} rows", rows.len());
        let against = Against { line: order.line(), works: order.works(), ..Against::default() };
        let mut sizes: Vec<[u64; 3]> = Vec::new();
        for row in &rows {
            let grid = order.file().length_mm;
            assert!((grid.min..=grid.max).contains(&row.length_mm), "{}", row.length_mm);
            sizes.push([row.face_width_mm, row.length_mm, row.bottom_width_mm].map(f64::to_bits));
            let sack = Sack::new(Sheet::new(apply(order.base(), &row.set).unwrap()).unwrap());
            let steps = sack.tube().length_mm / step;
            assert!((steps - steps.round()).abs() * step <= 0.05 + 1e-9, "{row:?}");
            let found = survey(&sack, &against);
            let judged = found.iter().find(|finding| finding.rule == "works-tube-length-step").unwrap();
            assert_eq!(judged.severity, Severity::Good);
        }
        sizes.sort_unstable();
        assert!(sizes.windows(2).all(|pair| pair[0] != pair[1]), "a size comes twice");
    }
}

/// A grid of millimetres has no more lengths than there are steps in it; one length that is not made becomes the nearest.
#[test]
fn lengths_that_are_not_made_come_once_or_become_the_nearest() {
    // T = L + 140: of 500 to 840 mm, 640 to 980, 7 steps of 50 are made: 650 to 950. Faces come in 17 widths.
    let fine = in_steps(50.0, |order| {
        order.length_mm = Grid { min: 500.0, max: 840.0, step: 1.0 };
        order.bottom_width_mm = Grid { min: 120.0, max: 120.0, step: 5.0 };
    });
    assert_eq!(fine.progress().total, 7 * 17);
    let mut sizing = in_steps(50.0, |order| order.length_mm = Grid { min: 668.0, max: 668.0, step: 10.0 });
    let rows = sizing.table().rows;
    assert!(!rows.is_empty() && rows.iter().all(|row| (row.length_mm + row.bottom_width_mm + 20.0) % 50.0 == 0.0));
}

#[test]
fn what_is_kept_is_what_the_order_asks_for() {
    let order = order();
    let against = Against { line: order.line(), works: order.works(), ..Against::default() };
    for row in screened().table().rows.iter().step_by(7) {
        let file = order.file();
        assert!(row.headroom >= file.headroom.min && row.headroom <= file.headroom.max);
        let sheet = apply(order.base(), &row.set).unwrap();
        assert_eq!((sheet.face_width_mm, sheet.length_mm), (row.face_width_mm, row.length_mm));
        assert_eq!(sheet.valve_end.bottom_width_mm, row.bottom_width_mm);
        let found = survey(&Sack::new(Sheet::new(sheet).unwrap()), &against);
        let stops = found.iter().filter(|f| f.severity == Severity::Stop && f.topic != Topic::Care).count();
        assert_eq!(row.findings.stop, stops);
    }
}

#[test]
fn the_ranking_and_the_front_are_what_they_say() {
    let rows = screened().table().rows;
    assert!(rows.iter().enumerate().all(|(index, row)| row.rank == index + 1));
    assert!(
        rows.windows(2)
            .all(|pair| { (pair[0].findings.stop, pair[0].score) <= (pair[1].findings.stop, pair[1].score) })
    );
    let sound: Vec<&Row> = rows.iter().filter(|row| row.findings.stop == 0).collect();
    for row in &rows {
        let beaten = sound.iter().any(|other| {
            let (no_worse, better) = (
                other.paper_g <= row.paper_g && product_kg(other) >= product_kg(row),
                other.paper_g < row.paper_g || product_kg(other) > product_kg(row),
            );
            no_worse && better
        });
        if row.on_front {
            assert!(row.findings.stop == 0 && !beaten, "{row:?}");
        } else if row.findings.stop == 0 {
            // Of equals the front has one.
            let equal = sound
                .iter()
                .any(|other| other.on_front && other.paper_g == row.paper_g && product_kg(other) == product_kg(row));
            assert!(beaten || equal, "{row:?}");
        }
    }
}

#[test]
fn the_solver_confirms_the_best_within_the_error_told() {
    let mut sizing = screened();
    let estimated = sizing.table().rows;
    while sizing.confirm_next(&mut go).unwrap() {}
    let confirmed = sizing.table().rows;
    assert!(confirmed.iter().take(6).all(|row| row.confirmed));
    for row in confirmed.iter().filter(|row| row.confirmed) {
        let before = estimated.iter().find(|before| before.set == row.set).unwrap();
        assert!((before.capacity_l / row.capacity_l - 1.0).abs() <= CAPACITY_ERROR);
        let (before, now) = (before.filled.unwrap(), row.filled.unwrap());
        for (before, now) in
            [(before.gap_mm, now.gap_mm), (before.length_mm, now.length_mm), (before.width_mm, now.width_mm)]
        {
            assert!((before / now - 1.0).abs() <= PRESSED_ERROR, "{before} {now}");
        }
        assert!(row.on_pallet.unwrap().binding.is_some());
    }
}

#[test]
fn breaking_off_leaves_the_table_as_it_was() {
    let mut sizing = screened();
    let before = sizing.table();
    assert!(sizing.confirm_next(&mut |_| ControlFlow::Break(())).is_err());
    assert_eq!(sizing.table(), before);
    assert!(sizing.confirm_next(&mut go).unwrap());
}

#[test]
fn what_was_broken_off_goes_on_to_the_same_end() {
    let begun = || {
        let mut sizing = Sizing::new(order(), 2, Detail::Coarse);
        sizing.screen(usize::MAX);
        sizing
    };
    let (mut whole, mut sliced) = (begun(), begun());
    while whole.confirm_next(&mut go).unwrap() {}
    let (mut calls, mut most) = (0, 4);
    loop {
        let (mut left, before) = (most, sliced.steps());
        let answer = sliced.confirm_next(&mut |_| {
            left -= 1;
            if left == 0 { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
        });
        calls += 1;
        // A step that is broken off begins anew.
        most = if sliced.steps() > before { 4 } else { 2 * most };
        if answer == Ok(false) {
            break;
        }
    }
    assert!(calls > 20, "{calls} calls");
    // A step that begins anew starts from another shape, and ends within the solver's tolerance of the same.
    let near = |a: f64, b: f64| (a / b - 1.0).abs() < 1e-5;
    for (row, other) in sliced.table().rows.iter().zip(&whole.table().rows) {
        assert_eq!((&row.set, row.confirmed, row.findings), (&other.set, other.confirmed, other.findings));
        assert_eq!(row.on_pallet.map(|it| it.sacks), other.on_pallet.map(|it| it.sacks));
        assert!(near(row.capacity_l, other.capacity_l));
        assert!(row.filled.zip(other.filled).is_none_or(|(a, b)| near(a.gap_mm, b.gap_mm)));
    }
}

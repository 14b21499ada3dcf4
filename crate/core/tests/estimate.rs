//! The quick estimate against the solver that it was fitted to: its errors at places that the fit has not seen. With `BLESS=1`
//! the fit is made anew.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::f64::consts::PI;
use std::fmt::Write;
use std::ops::ControlFlow;

use sackwright::fill::{Bottoms, Detail, FillError, Progress, Settings, Sizes, Solver};
use sackwright::sizing::estimate::{
    BOTTOM_RANGE, CAPACITY_ERROR, Footprint, PRESSED_ERROR, SHARE_RANGE, WIDTH_RANGE, capacity_l, capacity_terms,
    pressed, pressed_terms,
};

/// The ratios decide; the size does not.
const FACE_WIDTH_MM: f64 = 480.0;

fn go(_: Progress) -> ControlFlow<()> {
    ControlFlow::Continue(())
}

fn sizes(b: f64, u: f64) -> Sizes {
    Sizes { face_width: FACE_WIDTH_MM, length: FACE_WIDTH_MM / u, bottoms: [b * FACE_WIDTH_MM; 2] }
}

fn solver(sizes: Sizes) -> Solver {
    Solver::with_sizes(sizes, Settings { detail: Detail::Finest, ..Settings::default() }).unwrap()
}

fn solved_capacity_l(sizes: Sizes, bottoms: Bottoms) -> f64 {
    solver(sizes).capacity(bottoms, &mut go).unwrap().shape.volume_l
}

/// `None` where stiff bottoms keep the plates apart.
fn solved_pressed(solver: &mut Solver, share: f64) -> Option<Footprint> {
    let full = solver.capacity(Bottoms::Stiff, &mut go).unwrap().shape.volume_l;
    match solver.pressed(Bottoms::Stiff, share * full, &mut go) {
        Ok(found) => {
            Some(Footprint { gap_mm: found.gap_mm, length_mm: found.shape.length_mm, width_mm: found.shape.width_mm })
        }
        Err(FillError::BottomsStandOut { .. }) => None,
        Err(error) => panic!("{error:?}"),
    }
}

/// `count` Chebyshev nodes of a range.
fn nodes([least, most]: [f64; 2], count: usize) -> Vec<f64> {
    let node = |k: usize| libm::cos(PI * (k as f64 + 0.5) / count as f64);
    (0..count).map(|k| f64::midpoint(least, most) + 0.5 * (most - least) * node(k)).collect()
}

/// Places that no fit has seen: a Halton sequence.
fn halton(index: usize, base: usize, [least, most]: [f64; 2]) -> f64 {
    let (mut value, mut share, mut index) = (0.0, 1.0, index);
    while index > 0 {
        share /= base as f64;
        value += share * (index % base) as f64;
        index /= base;
    }
    least + value * (most - least)
}

/// Least squares by Gram and Schmidt, twice for accuracy: the coefficients with which `rows` come nearest to `values`.
fn fit(rows: &[Vec<f64>], values: &[f64]) -> Vec<f64> {
    let n = rows[0].len();
    let mut q: Vec<Vec<f64>> = (0..n).map(|j| rows.iter().map(|row| row[j]).collect()).collect();
    let mut r = vec![vec![0.0; n]; n];
    let dot = |a: &[f64], b: &[f64]| -> f64 { a.iter().zip(b).map(|(a, b)| a * b).sum() };
    for j in 0..n {
        for _ in 0..2 {
            let (before, rest) = q.split_at_mut(j);
            for (i, column) in before.iter().enumerate() {
                let share = dot(column, &rest[0]);
                r[i][j] += share;
                rest[0].iter_mut().zip(column).for_each(|(value, column)| *value -= share * column);
            }
        }
        r[j][j] = dot(&q[j], &q[j]).sqrt();
        let length = r[j][j];
        q[j].iter_mut().for_each(|value| *value /= length);
    }
    let mut x = vec![0.0; n];
    for j in (0..n).rev() {
        let rest: f64 = (j + 1..n).map(|k| r[j][k] * x[k]).sum();
        x[j] = (dot(&q[j], values) - rest) / r[j][j];
    }
    x
}

#[test]
fn the_stored_fit_is_as_near_as_it_says() {
    if std::env::var_os("BLESS").is_some() {
        bless();
        return;
    }
    let errors = measure();
    println!("{errors:#?}");
    for (name, errors, most) in &errors {
        let worst = errors.iter().fold(0.0_f64, |worst, error| worst.max(error.abs()));
        assert!(worst <= *most, "{name}: {worst}");
    }
}

fn measure() -> Vec<(&'static str, Vec<f64>, f64)> {
    let mut all: Vec<(&str, Vec<f64>, f64)> = [
        ("stiff", CAPACITY_ERROR),
        ("free", CAPACITY_ERROR),
        ("gap", PRESSED_ERROR),
        ("length", PRESSED_ERROR),
        ("width", PRESSED_ERROR),
    ]
    .map(|(name, most)| (name, Vec::new(), most))
    .to_vec();
    for index in 1..=40 {
        let sizes = sizes(halton(index, 2, BOTTOM_RANGE), halton(index, 3, WIDTH_RANGE));
        for (k, bottoms) in [Bottoms::Stiff, Bottoms::Free].into_iter().enumerate() {
            all[k].1.push(capacity_l(sizes, bottoms).unwrap() / solved_capacity_l(sizes, bottoms) - 1.0);
        }
        let share = halton(index, 5, SHARE_RANGE);
        if let Some(solved) = solved_pressed(&mut solver(sizes), share) {
            let found = pressed(sizes, share).unwrap();
            all[2].1.push(found.gap_mm / solved.gap_mm - 1.0);
            all[3].1.push(found.length_mm / solved.length_mm - 1.0);
            all[4].1.push(found.width_mm / solved.width_mm - 1.0);
        }
    }
    all
}

fn bless() {
    let mut table = String::from(
        "//! Coefficients of the quick estimate, in the order of its terms. Written by the test `estimate`; see `estimate.rs`.\n",
    );
    let (bs, us) = (nodes(BOTTOM_RANGE, 8), nodes(WIDTH_RANGE, 8));
    for (name, bottoms) in [("CAPACITY_STIFF", Bottoms::Stiff), ("CAPACITY_FREE", Bottoms::Free)] {
        let (mut rows, mut values) = (Vec::new(), Vec::new());
        for &b in &bs {
            for &u in &us {
                let sizes = sizes(b, u);
                let unit = sizes.face_width * sizes.face_width * sizes.length * 1e-6;
                rows.push(capacity_terms(b, u));
                values.push(solved_capacity_l(sizes, bottoms) / unit);
            }
        }
        put(&mut table, name, &rows, &values);
    }
    let least = (1.0 - SHARE_RANGE[1]).sqrt();
    let most = (1.0 - SHARE_RANGE[0]).sqrt();
    let (bs, us, ss) = (nodes(BOTTOM_RANGE, 7), nodes(WIDTH_RANGE, 7), nodes([least, most], 7));
    let (mut rows, mut values) = (Vec::new(), [Vec::new(), Vec::new(), Vec::new()]);
    for &b in &bs {
        for &u in &us {
            let sizes = sizes(b, u);
            let mut solver = solver(sizes);
            for &s in &ss {
                let share = 1.0 - s * s;
                let Some(found) = solved_pressed(&mut solver, share) else { continue };
                rows.push(pressed_terms(b, u, share));
                values[0].push(found.gap_mm / sizes.face_width);
                values[1].push(found.length_mm / sizes.length);
                values[2].push(found.width_mm / sizes.face_width);
            }
        }
    }
    println!("{} of {} pressed", rows.len(), bs.len() * us.len() * ss.len());
    for (name, values) in ["GAP", "LENGTH", "WIDTH"].into_iter().zip(&values) {
        put(&mut table, name, &rows, values);
    }
    std::fs::write(concat!(env!("CARGO_MANIFEST_DIR"), "/src/sizing/table.rs"), table).unwrap();
}

/// Fits, tells how near the fit comes where it was made, and writes the coefficients.
fn put(table: &mut String, name: &str, rows: &[Vec<f64>], values: &[f64]) {
    let row = fit(rows, values);
    let miss = rows.iter().zip(values).map(|(terms, value)| {
        let fitted: f64 = row.iter().zip(terms).map(|(a, b)| a * b).sum();
        (fitted / value - 1.0).abs()
    });
    println!("{name}: {} solves, at most {:.5}", rows.len(), miss.fold(0.0, f64::max));
    writeln!(table, "\npub(super) const {name}: [f64; {}] = [", row.len()).unwrap();
    for value in row {
        writeln!(table, "    {value:.9e},").unwrap();
    }
    writeln!(table, "];").unwrap();
}

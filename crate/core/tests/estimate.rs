//! The quick estimate against the solver that it was fitted to: its errors at places that the fit has not seen. With `BLESS=1`
//! the fit is made anew.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::f64::consts::PI;
use std::fmt::Write;
use std::ops::ControlFlow;

use sackwright::fill::{Bottoms, Detail, FillError, Progress, Settings, Sizes, Solver};
use sackwright::sizing::estimate::{
    BOTTOM_RANGE, CAPACITY_ERROR, Footprint, LIMP_ERROR, LIMP_RANGE, PRESSED_ERROR, SHARE_RANGE, WIDTH_RANGE,
    capacity_l, capacity_terms, limp_terms, pressed, pressed_terms, stands_upright,
};

/// The ratios decide; the size does not.
const FACE_WIDTH_MM: f64 = 480.0;

fn go(_: Progress) -> ControlFlow<()> {
    ControlFlow::Continue(())
}

fn sizes(b: f64, u: f64) -> Sizes {
    Sizes { face_width: FACE_WIDTH_MM, length: FACE_WIDTH_MM / u, bottoms: [b * FACE_WIDTH_MM; 2] }
}

fn solver(sizes: Sizes, detail: Detail) -> Solver {
    Solver::with_sizes(sizes, Settings { detail, ..Settings::default() }).unwrap()
}

fn solved_capacity_l(sizes: Sizes, bottoms: Bottoms) -> f64 {
    solver(sizes, Detail::Finest).capacity(bottoms, &mut go).unwrap().shape.volume_l
}

/// `None` where leaning bottoms come to no rest.
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
    if let Some(which) = std::env::var_os("BLESS") {
        if which != "limp" {
            bless();
        }
        bless_limp();
        return;
    }
    for (name, errors, most) in &measure() {
        let worst = errors.iter().fold(0.0_f64, |worst, error| worst.max(error.abs()));
        let mean = (errors.iter().map(|error| error * error).sum::<f64>() / errors.len() as f64).sqrt();
        println!("{name}: {} places, at most {worst:.5}, {mean:.5} in the mean square", errors.len());
        assert!(worst <= *most, "{name}: {worst}");
    }
}

fn measure() -> Vec<(&'static str, Vec<f64>, f64)> {
    let names = [
        ("capacity, stiff bottoms", CAPACITY_ERROR),
        ("capacity, free bottoms", CAPACITY_ERROR),
        ("pressed: gap", PRESSED_ERROR),
        ("pressed: length", PRESSED_ERROR),
        ("pressed: width", PRESSED_ERROR),
        ("limp: gap", LIMP_ERROR),
        ("limp: length", LIMP_ERROR),
        ("limp: width", LIMP_ERROR),
    ];
    let mut all = names.map(|(name, most)| (name, Vec::new(), most)).to_vec();
    for index in 1..=16 {
        let sizes = sizes(halton(index, 2, BOTTOM_RANGE), halton(index, 3, WIDTH_RANGE));
        for (k, bottoms) in [Bottoms::Stiff, Bottoms::Free].into_iter().enumerate() {
            all[k].1.push(capacity_l(sizes, bottoms).unwrap() / solved_capacity_l(sizes, bottoms) - 1.0);
        }
        let share = halton(index, 5, [LIMP_RANGE[0], SHARE_RANGE[1]]);
        let Some(found) = pressed(sizes, share) else { continue };
        let upright = share >= SHARE_RANGE[0] && stands_upright(sizes, found.gap_mm);
        // Leaning bottoms take long on the finest mesh, and the fine one is far nearer to it than the fit is.
        let detail = if upright { Detail::Finest } else { Detail::Fine };
        let Some(solved) = solved_pressed(&mut solver(sizes, detail), share) else { continue };
        let first = if upright { 2 } else { 5 };
        all[first].1.push(found.gap_mm / solved.gap_mm - 1.0);
        all[first + 1].1.push(found.length_mm / solved.length_mm - 1.0);
        all[first + 2].1.push(found.width_mm / solved.width_mm - 1.0);
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
    let upright =
        Points::solve([7; 3], SHARE_RANGE, Detail::Finest, &|sizes, found, _| stands_upright(sizes, found.gap_mm));
    upright.put(&mut table, pressed_terms);
    write("table.rs", &table);
}

fn bless_limp() {
    let mut table = String::from(
        "//! Coefficients of the quick estimate of limp sacks, in the order of its terms. Written by the test `estimate`; see `estimate.rs`.\n",
    );
    let limp = Points::solve([5, 5, 8], LIMP_RANGE, Detail::Coarse, &|sizes, found, share| {
        share < SHARE_RANGE[0] || !stands_upright(sizes, found.gap_mm)
    });
    limp.put(&mut table, limp_terms);
    write("table_limp.rs", &table);
}

fn write(name: &str, table: &str) {
    let path = format!("{}/src/sizing/{name}", env!("CARGO_MANIFEST_DIR"));
    std::fs::write(path, table).unwrap();
}

/// Pressed sacks at Chebyshev nodes: ratios and share, then gap, length and width as shares of the face width and the length.
struct Points(Vec<([f64; 3], [f64; 3])>);

impl Points {
    /// Those that `take` wants, of so many nodes of each number.
    fn solve(
        [nb, nu, ns]: [usize; 3],
        shares: [f64; 2],
        detail: Detail,
        take: &dyn Fn(Sizes, &Footprint, f64) -> bool,
    ) -> Self {
        let [most, least] = shares.map(|share| (1.0 - share).sqrt());
        let mut points = Vec::new();
        for &b in &nodes(BOTTOM_RANGE, nb) {
            for &u in &nodes(WIDTH_RANGE, nu) {
                let sizes = sizes(b, u);
                let mut solver = solver(sizes, detail);
                for s in nodes([least, most], ns) {
                    let share = 1.0 - s * s;
                    let Some(found) = solved_pressed(&mut solver, share) else { continue };
                    if take(sizes, &found, share) {
                        let (width, length) = (sizes.face_width, sizes.length);
                        let values = [found.gap_mm / width, found.length_mm / length, found.width_mm / width];
                        points.push(([b, u, share], values));
                    }
                }
            }
        }
        Self(points)
    }

    fn put(&self, table: &mut String, terms: fn(f64, f64, f64) -> Vec<f64>) {
        let rows: Vec<Vec<f64>> = self.0.iter().map(|([b, u, share], _)| terms(*b, *u, *share)).collect();
        for (k, name) in ["GAP", "LENGTH", "WIDTH"].into_iter().enumerate() {
            let values: Vec<f64> = self.0.iter().map(|(_, values)| values[k]).collect();
            put(table, name, &rows, &values);
        }
    }
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

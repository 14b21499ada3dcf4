//! A quick estimate of the filled shape: polynomials fitted to the solver's own answers.
//!
//! The surface of a sack with equal bottoms is, apart from its size, given by two ratios, B/W and W/L; a filling adds its
//! share r of the capacity. So V/(W W L) is a function of two numbers, and the gap, length and width of the pressed sack
//! over W or L are functions of three. They are sums of products of Chebyshev polynomials, by least squares on
//! solves at Chebyshev nodes; the variable of the filling is sqrt(1 - r), as a nearly full sack gives way with the square
//! root of what it lacks. Where the plates come closer than stiff bottoms are wide, these lean, and where little is filled in,
//! much else gives way: there a second fit of lower degree is taken, on coarser solves.
//!
//! `BLESS=1 cargo test -p sackwright --test estimate` solves, fits and writes `table.rs` and `table_limp.rs` anew
//! (`BLESS=limp` the latter only); the same test measures the errors at other places and holds them to
//! [`CAPACITY_ERROR`], [`PRESSED_ERROR`] and [`LIMP_ERROR`].
//!
//! **Where it ends.** Outside [`BOTTOM_RANGE`], [`WIDTH_RANGE`], and [`SHARE_RANGE`] or [`LIMP_RANGE`], there is no estimate. Bottoms of two
//! widths are taken for two of their mean, which is not in the errors told here.

use super::{table, table_limp};
use crate::fill::{Bottoms, Sizes};

/// B/W that the fit covers.
pub const BOTTOM_RANGE: [f64; 2] = [0.14, 0.38];
/// W/L that the fit covers.
pub const WIDTH_RANGE: [f64; 2] = [0.4, 1.2];
/// Shares of the capacity that the fit of the pressed sack covers whose bottoms stand upright.
pub const SHARE_RANGE: [f64; 2] = [0.7, 0.985];
/// Shares of the capacity that the fit of the limp sack covers.
pub const LIMP_RANGE: [f64; 2] = [0.5, 0.95];

/// Largest error of an estimated capacity against the solver's, as a share.
pub const CAPACITY_ERROR: f64 = 0.001;
/// Largest error of an estimated gap, length or width of a pressed sack against the solver's, as a share.
pub const PRESSED_ERROR: f64 = 0.015;

/// The same of a limp sack, or one whose bottoms lean.
pub const LIMP_ERROR: f64 = 0.06;

/// Highest total degree of the fits: of two numbers, and of three.
const CAPACITY_DEGREE: usize = 5;
const PRESSED_DEGREE: usize = 5;
const LIMP_DEGREE: usize = 3;

/// A pressed sack, estimated, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Footprint {
    /// Distance of the plates.
    pub gap_mm: f64,
    /// Overall length.
    pub length_mm: f64,
    /// Overall width.
    pub width_mm: f64,
}

/// Capacity in l; `None` outside the fitted range.
#[must_use]
pub fn capacity_l(sizes: Sizes, bottoms: Bottoms) -> Option<f64> {
    const MM3_PER_L: f64 = 1e6;
    let [b, u] = ratios(sizes)?;
    let row = match bottoms {
        Bottoms::Stiff => &table::CAPACITY_STIFF,
        Bottoms::Free => &table::CAPACITY_FREE,
    };
    let value = sum(row, &capacity_terms(b, u));
    Some(value * sizes.face_width * sizes.face_width * sizes.length / MM3_PER_L)
}

/// The sack pressed between plates with stiff bottoms, filled to a share of its capacity; `None` outside the fitted range.
#[must_use]
pub fn pressed(sizes: Sizes, share: f64) -> Option<Footprint> {
    let [b, u] = ratios(sizes)?;
    let upright = within(share, SHARE_RANGE)
        .then(|| of([&table::GAP, &table::LENGTH, &table::WIDTH], &pressed_terms(b, u, share), sizes));
    let limp = || {
        let rows: [&[f64]; 3] = [&table_limp::GAP, &table_limp::LENGTH, &table_limp::WIDTH];
        within(share, LIMP_RANGE).then(|| of(rows, &limp_terms(b, u, share), sizes))
    };
    upright.filter(|sack| stands_upright(sizes, sack.gap_mm)).or_else(limp)
}

/// Whether plates leave stiff bottoms the room to stand upright.
#[must_use]
pub fn stands_upright(sizes: Sizes, gap_mm: f64) -> bool {
    gap_mm >= f64::midpoint(sizes.bottoms[0], sizes.bottoms[1])
}

fn of(rows: [&[f64]; 3], terms: &[f64], sizes: Sizes) -> Footprint {
    let [gap, length, width] = rows.map(|row| sum(row, terms));
    Footprint { gap_mm: gap * sizes.face_width, length_mm: length * sizes.length, width_mm: width * sizes.face_width }
}

/// B/W and W/L, where the fit covers them.
fn ratios(sizes: Sizes) -> Option<[f64; 2]> {
    let bottom = f64::midpoint(sizes.bottoms[0], sizes.bottoms[1]);
    let (b, u) = (bottom / sizes.face_width, sizes.face_width / sizes.length);
    (within(b, BOTTOM_RANGE) && within(u, WIDTH_RANGE)).then_some([b, u])
}

fn within(value: f64, [least, most]: [f64; 2]) -> bool {
    (least..=most).contains(&value)
}

fn sum(row: &[f64], terms: &[f64]) -> f64 {
    row.iter().zip(terms).map(|(coefficient, term)| coefficient * term).sum()
}

/// The products of Chebyshev polynomials that a capacity is a sum of, in the table's order.
#[must_use]
pub fn capacity_terms(b: f64, u: f64) -> Vec<f64> {
    let (b, u) = (chebyshev(unit(b, BOTTOM_RANGE)), chebyshev(unit(u, WIDTH_RANGE)));
    let mut terms = Vec::with_capacity(21);
    for (i, b) in b[..=CAPACITY_DEGREE].iter().enumerate() {
        terms.extend(u[..=CAPACITY_DEGREE - i].iter().map(|u| b * u));
    }
    terms
}

/// The same for a pressed sack.
#[must_use]
pub fn pressed_terms(b: f64, u: f64, share: f64) -> Vec<f64> {
    terms_of_three(b, u, (share, SHARE_RANGE), PRESSED_DEGREE)
}

/// The same for a limp sack.
#[must_use]
pub fn limp_terms(b: f64, u: f64, share: f64) -> Vec<f64> {
    terms_of_three(b, u, (share, LIMP_RANGE), LIMP_DEGREE)
}

fn terms_of_three(b: f64, u: f64, (share, range): (f64, [f64; 2]), degree: usize) -> Vec<f64> {
    let [most, least] = range.map(|share| (1.0 - share).sqrt());
    let s = unit((1.0 - share).sqrt(), [least, most]);
    let (b, u, s) = (chebyshev(unit(b, BOTTOM_RANGE)), chebyshev(unit(u, WIDTH_RANGE)), chebyshev(s));
    let mut terms = Vec::with_capacity(56);
    for (i, b) in b[..=degree].iter().enumerate() {
        for (j, u) in u[..=degree - i].iter().enumerate() {
            terms.extend(s[..=degree - i - j].iter().map(|s| b * u * s));
        }
    }
    terms
}

/// A value in a range, as -1 to 1.
fn unit(value: f64, [least, most]: [f64; 2]) -> f64 {
    2.0 * (value - least) / (most - least) - 1.0
}

/// The Chebyshev polynomials of the first kind, from T0.
fn chebyshev(x: f64) -> [f64; 6] {
    let mut t = [1.0, x, 0.0, 0.0, 0.0, 0.0];
    for n in 2..t.len() {
        t[n] = 2.0 * x * t[n - 1] - t[n - 2];
    }
    t
}

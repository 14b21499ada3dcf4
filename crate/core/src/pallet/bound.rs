//! How many sacks a layer could hold at most.
//!
//! Three bounds, each valid for every layer whose sacks lie parallel to its sides:
//! - *area*: the rectangle over the sack, where the rectangle's sides count only as far as sums of sack lengths and
//!   widths reach (any layer can be pushed into a corner);
//! - *rods* (Barnes 1979): a sack of l x w is made of rods of length l, and of rods of length w. Rods of length p leave in
//!   X x Y at least min(r s, (p - r)(p - s)) free, r and s being what is left of X and Y after whole rods;
//! - *lines* (Isermann 1987): a line along X crosses i sacks lengthwise and j crosswise with i l + j w <= X. Adding up
//!   all such lines gives what of the two kinds fits, and likewise along Y; the largest sum of both kinds is a
//!   linear programme in two unknowns.

use crate::tolerance::EXACT_MM;

/// The share of a sack by which a quotient may fall short of a whole number and still count as it: far more than
/// rounding makes, far less than paper.
const ROUNDING: f64 = 1e-9;

/// The whole number of times that a quotient of lengths tells, rounding aside; not negative.
pub(super) fn whole(quotient: f64) -> usize {
    let whole = (quotient + ROUNDING).floor().max(0.0);
    // Quotients of layers and sacks are far below 2^32.
    if whole < f64::from(u32::MAX) { whole as usize } else { usize::MAX }
}

/// Bounds for sacks of one size.
#[derive(Clone, Copy, Debug)]
pub(super) struct Bounds {
    sack: [f64; 2],
}

impl Bounds {
    /// For sacks of a length and a width, mm.
    pub const fn new(sack: [f64; 2]) -> Self {
        Self { sack }
    }

    /// By area and rods, for a rectangle whose sides are sums of sack lengths and widths.
    pub fn of_area(&self, x: f64, y: f64) -> usize {
        let [length, width] = self.sack;
        if x.min(y) < length.min(width) - EXACT_MM || x.max(y) < length.max(width) - EXACT_MM {
            return 0;
        }
        let waste = self.sack.map(|rod| rods_waste(x, y, rod));
        let free = (x * y - waste[0].max(waste[1])).max(0.0);
        // The tolerance is a share of the whole: of an area that is a sum of many.
        whole(free / (length * width) * (1.0 + ROUNDING))
    }

    /// By lines, for any rectangle.
    pub fn of_lines(&self, x: f64, y: f64) -> usize {
        // Unknowns: how many sacks lie along x, and how many across it. Lines along x meet `i` of the former, each as
        // wide as a sack, and `j` of the latter, each as wide as a sack is long; lines along y the other way round.
        let [length, width] = self.sack;
        let along_x = hull(self.sack, x).into_iter().map(|[i, j]| [i * y / width, j * y / length]).collect::<Vec<_>>();
        let along_y = hull(self.sack, y).into_iter().map(|[i, j]| [j * x / length, i * x / width]).collect::<Vec<_>>();
        let mut planes = half_planes(&along_x);
        planes.extend(half_planes(&along_y.into_iter().rev().collect::<Vec<_>>()));
        let most = largest_sum(&planes);
        whole(most * (1.0 + ROUNDING))
    }
}

/// The least area that rods of length `p` leave free in `x` times `y`.
fn rods_waste(x: f64, y: f64, p: f64) -> f64 {
    let left = |side: f64| (side - whole(side / p) as f64 * p).max(0.0);
    let (r, s) = (left(x), left(y));
    (r * s).min((p - r) * (p - s))
}

/// Corners of the convex hull of all (i, j) with i l + j w <= side, from the most j to the most i.
fn hull([length, width]: [f64; 2], side: f64) -> Vec<[f64; 2]> {
    let mut hull: Vec<[f64; 2]> = Vec::new();
    for i in 0..=whole(side / length) {
        let used = i as f64 * length;
        let corner = [i as f64, whole((side - used).max(0.0) / width) as f64];
        while let [.., [ax, ay], [bx, by]] = hull[..] {
            let turns_right = (bx - ax) * (corner[1] - ay) - (by - ay) * (corner[0] - ax) < 0.0;
            if turns_right {
                break;
            }
            hull.pop();
        }
        hull.push(corner);
    }
    hull
}

/// a h + b v <= c with a, b >= 0.
type HalfPlane = [f64; 3];

/// The half planes that bound the convex region below and left of falling corners.
fn half_planes(corners: &[[f64; 2]]) -> Vec<HalfPlane> {
    let most = |axis: usize| corners.iter().map(|corner| corner[axis]).fold(0.0, f64::max);
    let mut planes = vec![[1.0, 0.0, most(0)], [0.0, 1.0, most(1)]];
    planes.extend(corners.windows(2).map(|pair| {
        let [[ax, ay], [bx, by]] = [pair[0], pair[1]];
        let (a, b) = (ay - by, bx - ax);
        [a, b, a * ax + b * ay]
    }));
    planes
}

/// The largest h + v >= 0 that all half planes allow. A linear programme in two unknowns has its best at a corner: every
/// pair of border lines is tried.
fn largest_sum(planes: &[HalfPlane]) -> f64 {
    let mut lines = planes.to_vec();
    lines.push([1.0, 0.0, 0.0]);
    lines.push([0.0, 1.0, 0.0]);
    let mut best = 0.0_f64;
    for (index, [a, b, c]) in lines.iter().enumerate() {
        for [d, e, f] in &lines[index + 1..] {
            let det = a * e - b * d;
            if det == 0.0 {
                continue;
            }
            let (h, v) = ((c * e - b * f) / det, (a * f - c * d) / det);
            let inside = |[a, b, c]: &HalfPlane| a * h + b * v <= c + ROUNDING * c.max(1.0);
            if h >= -ROUNDING && v >= -ROUNDING && planes.iter().all(inside) {
                best = best.max(h + v);
            }
        }
    }
    best
}

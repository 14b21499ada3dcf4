//! Sacks with unequal bottoms against a second method, small and slow: the whole sack without mirrors, its walls in
//! squares that do not lean, filled by a quasi-Newton method of limited memory (L-BFGS).
//!
//! The energy is the same as the solver's, k/2 sum A max(0, stretch - 1)^2 - p V, as the question is; nothing else is:
//! no Newton, no factorisation, no symmetry, no stretch limit that makes up for facets. Two meshes are extrapolated to
//! none, and paper that stretches a little to paper that doesn't.

#![allow(clippy::unwrap_used, clippy::expect_used)]

use std::collections::VecDeque;
use std::ops::ControlFlow;

use sackwright::fill::{Bottoms, Settings, Sizes, Solver};

type V3 = [f64; 3];

struct Sack {
    /// Where the vertices begin: on the box.
    start: Vec<V3>,
    triangles: Vec<[usize; 3]>,
    /// Inverse of the paper's edge matrix, and the paper's area.
    paper: Vec<([[f64; 2]; 2], f64)>,
    /// Of which bottom a vertex is part, if any.
    bottom: Vec<Option<usize>>,
}

/// What a rectangle of paper is glued to: its place on the box, and which bottom it is.
struct Sheet<'a> {
    size: [f64; 2],
    place: &'a dyn Fn(f64, f64) -> V3,
    bottom: Option<usize>,
    /// Counter-clockwise seen from outside as it is laid out?
    outward: bool,
}

impl Sack {
    /// Squares of side `h`, of which every length must be a multiple.
    fn new([w, l, valve, plain]: [f64; 4], h: f64) -> Self {
        let mut sack = Self { start: Vec::new(), triangles: Vec::new(), paper: Vec::new(), bottom: Vec::new() };
        let width = |v: f64| plain + (valve - plain) * v / l;
        // Round the box from the middle of the upper wall; the corners wander along it, the paper does not.
        let around = |s: f64, b: f64, y: f64| {
            let a = (w - b) / 2.0;
            let s = s.rem_euclid(2.0 * w);
            if s <= a {
                [s, y, b / 2.0]
            } else if s <= a + b {
                [a, y, b / 2.0 - (s - a)]
            } else if s <= 3.0 * a + b {
                [a - (s - a - b), y, -b / 2.0]
            } else if s <= 3.0 * a + 2.0 * b {
                [-a, y, -b / 2.0 + (s - 3.0 * a - b)]
            } else {
                [s - 2.0 * w, y, b / 2.0]
            }
        };
        sack.cover(
            h,
            &Sheet { size: [2.0 * w, l], place: &|s, v| around(s, width(v), v - l / 2.0), bottom: None, outward: true },
        );
        for (index, (b, y)) in [(valve, l / 2.0), (plain, -l / 2.0)].into_iter().enumerate() {
            let size = [w - b, b];
            let place = |u: f64, v: f64| [u - (w - b) / 2.0, y, b / 2.0 - v];
            sack.cover(h, &Sheet { size, place: &place, bottom: Some(index), outward: index == 0 });
        }
        sack
    }

    fn cover(&mut self, h: f64, sheet: &Sheet<'_>) {
        let counts = sheet.size.map(|length| (length / h).round() as usize);
        let mut at = |i: f64, j: f64, whole: bool| {
            let place = (sheet.place)(i * h, j * h);
            let near = |other: &V3| (0..3).all(|k| (other[k] - place[k]).abs() < 1e-6);
            // Corners of squares are glued where they meet on the box.
            let found = whole.then(|| self.start.iter().position(near)).flatten();
            let vertex = found.unwrap_or_else(|| {
                self.start.push(place);
                self.bottom.push(None);
                self.start.len() - 1
            });
            if sheet.bottom.is_some() {
                self.bottom[vertex] = sheet.bottom;
            }
            vertex
        };
        let mut squares = Vec::new();
        for j in 0..counts[1] {
            for i in 0..counts[0] {
                let (x, y) = (i as f64, j as f64);
                let corners = [(x, y), (x + 1.0, y), (x + 1.0, y + 1.0), (x, y + 1.0)];
                let vertices = corners.map(|(x, y)| at(x, y, true));
                squares.push((vertices, at(x + 0.5, y + 0.5, false)));
            }
        }
        for (corners, centre) in squares {
            for k in 0..4 {
                let (a, b) = (corners[k], corners[(k + 1) % 4]);
                // A quarter of a square: edges of h along its side and h/2 up to the centre.
                self.triangles.push(if sheet.outward { [a, b, centre] } else { [b, a, centre] });
                self.paper.push(([[1.0 / h, -1.0 / h], [0.0, 2.0 / h]], h * h / 4.0));
            }
        }
    }

    /// Energy, stretching energy, volume, and the gradient by the vertices, at pressure 1.
    fn energy(&self, x: &[V3], k: f64, gradient: &mut [V3]) -> [f64; 3] {
        gradient.fill([0.0; 3]);
        let (mut stretching, mut volume) = (0.0, 0.0);
        for (corners, (inverse, area)) in self.triangles.iter().zip(&self.paper) {
            let [a, b, c] = corners.map(|v| x[v]);
            let (p, q) = (sub(b, a), sub(c, a));
            let column = |j: usize| [0, 1, 2].map(|i| p[i] * inverse[0][j] + q[i] * inverse[1][j]);
            let f = [column(0), column(1)];
            let (c00, c01, c11) = (dot(f[0], f[0]), dot(f[0], f[1]), dot(f[1], f[1]));
            let angle = 0.5 * libm::atan2(2.0 * c01, c00 - c11);
            let (s, c_) = libm::sincos(angle);
            let mut stress = [[0.0; 3]; 2];
            for v in [[c_, s], [-s, c_]] {
                let fv = [0, 1, 2].map(|i| f[0][i] * v[0] + f[1][i] * v[1]);
                let stretch = dot(fv, fv).sqrt();
                if stretch > 1.0 {
                    stretching += 0.5 * k * area * (stretch - 1.0).powi(2);
                    let tension = k * area * (stretch - 1.0) / stretch;
                    for (stress, v) in stress.iter_mut().zip(v) {
                        (0..3).for_each(|i| stress[i] += tension * fv[i] * v);
                    }
                }
            }
            let by = |row: [f64; 2]| [0, 1, 2].map(|i| stress[0][i] * row[0] + stress[1][i] * row[1]);
            let (gb, gc) = (by(inverse[0]), by(inverse[1]));
            volume += dot(a, cross(b, c)) / 6.0;
            let presses = [cross(b, c), cross(c, a), cross(a, b)];
            for i in 0..3 {
                gradient[corners[0]][i] -= gb[i] + gc[i] + presses[0][i] / 6.0;
                gradient[corners[1]][i] += gb[i] - presses[1][i] / 6.0;
                gradient[corners[2]][i] += gc[i] - presses[2][i] / 6.0;
            }
        }
        [stretching - volume, stretching, volume]
    }

    /// The volume that paper which can't be stretched holds on this mesh.
    fn capacity(&self, bottoms: Bottoms, k: f64) -> f64 {
        let mut unknowns = Unknowns::of(self, bottoms);
        let n = unknowns.count;
        let mut x = vec![0.0; n];
        let mut places = self.start.clone();
        let mut gradient = vec![[0.0; 3]; places.len()];
        let mut value = |x: &[f64], out: &mut [f64]| {
            unknowns.place(self, x, &mut places);
            let found = self.energy(&places, k, &mut gradient);
            unknowns.gather(&gradient, out);
            found
        };
        let mut slope = vec![0.0; n];
        let mut now = value(&x, &mut slope);
        let mut pairs: VecDeque<(Vec<f64>, Vec<f64>, f64)> = VecDeque::new();
        let mut volumes = VecDeque::new();
        for _ in 0..20_000 {
            // Two loops over the pairs.
            let mut step: Vec<f64> = slope.iter().map(|g| -g).collect();
            let mut shares = Vec::new();
            for (s, y, r) in pairs.iter().rev() {
                let share = r * along(s, &step);
                shares.push(share);
                step.iter_mut().zip(y).for_each(|(d, y)| *d -= share * y);
            }
            let scale = pairs.back().map_or(1e-3, |(s, y, _)| along(s, y) / along(y, y));
            step.iter_mut().for_each(|d| *d *= scale);
            for ((s, y, r), share) in pairs.iter().zip(shares.iter().rev()) {
                let by = share - r * along(y, &step);
                step.iter_mut().zip(s).for_each(|(d, s)| *d += by * s);
            }
            let down = along(&slope, &step);
            let mut share = 1.0;
            let (mut next, mut next_slope) = (x.clone(), vec![0.0; n]);
            let found = loop {
                next.iter_mut().zip(&x).zip(&step).for_each(|((next, x), d)| *next = x + share * d);
                let found = value(&next, &mut next_slope);
                if found[0] <= now[0] + 1e-4 * share * down || share < 1e-12 {
                    break found;
                }
                share *= 0.5;
            };
            let s: Vec<f64> = step.iter().map(|d| share * d).collect();
            let y: Vec<f64> = next_slope.iter().zip(&slope).map(|(a, b)| a - b).collect();
            let curvature = along(&s, &y);
            if curvature > 1e-12 * along(&y, &y) {
                pairs.push_back((s, y, 1.0 / curvature));
                if pairs.len() > 30 {
                    pairs.pop_front();
                }
            }
            (x, slope, now) = (next, next_slope, found);
            let volume = now[2] - 2.0 * now[1];
            volumes.push_back(volume);
            if volumes.len() > 200 {
                let before: f64 = volumes.pop_front().unwrap();
                if (volume / before - 1.0).abs() < 2e-5 {
                    break;
                }
            }
        }
        now[2] - 2.0 * now[1]
    }
}

/// Which numbers move the vertices: three each, but one for a stiff bottom, which moves along the sack.
struct Unknowns {
    first: Vec<usize>,
    stiff: bool,
    count: usize,
}

impl Unknowns {
    fn of(sack: &Sack, bottoms: Bottoms) -> Self {
        let stiff = bottoms == Bottoms::Stiff;
        let mut count = if stiff { 2 } else { 0 };
        let first = sack.bottom.iter().map(|bottom| match bottom {
            Some(bottom) if stiff => *bottom,
            _ => {
                count += 3;
                count - 3
            }
        });
        let first = first.collect();
        Self { first, stiff, count }
    }

    fn place(&mut self, sack: &Sack, x: &[f64], places: &mut [V3]) {
        for (vertex, &first) in self.first.iter().enumerate() {
            places[vertex] = sack.start[vertex];
            if self.stiff && first < 2 {
                places[vertex][1] += x[first];
            } else {
                (0..3).for_each(|i| places[vertex][i] += x[first + i]);
            }
        }
    }

    fn gather(&self, gradient: &[V3], out: &mut [f64]) {
        out.fill(0.0);
        for (slope, &first) in gradient.iter().zip(&self.first) {
            if self.stiff && first < 2 {
                out[first] += slope[1];
            } else {
                (0..3).for_each(|i| out[first + i] += slope[i]);
            }
        }
    }
}

fn along(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

fn sub(a: V3, b: V3) -> V3 {
    [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
}

fn dot(a: V3, b: V3) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

fn cross(a: V3, b: V3) -> V3 {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}

#[test]
fn unequal_bottoms_hold_what_a_second_method_finds() {
    for sizes in [[320.0, 400.0, 80.0, 160.0], [400.0, 480.0, 160.0, 80.0], [240.0, 560.0, 80.0, 160.0]] {
        let [face_width, length, valve, plain] = sizes;
        for bottoms in [Bottoms::Free, Bottoms::Stiff] {
            let [coarse, fine] = [40.0, 20.0].map(|h| Sack::new(sizes, h).capacity(bottoms, 100.0 * face_width));
            // The error falls as h^1.7: measured on sacks with equal bottoms.
            let second = fine + (fine - coarse) / (libm::exp2(1.7) - 1.0);
            let sizes = Sizes { face_width, length, bottoms: [valve, plain] };
            let mut solver = Solver::with_sizes(sizes, Settings::default()).expect("sound sizes");
            let full = solver.capacity(bottoms, &mut |_| ControlFlow::Continue(())).expect("not cancelled");
            let error = full.shape.volume_l * 1e6 / second - 1.0;
            println!("{sizes:?} {bottoms:?}: {} {coarse} {fine} {second}: {error}", full.shape.volume_l);
            assert!(error.abs() <= 5e-3, "{sizes:?} {bottoms:?}: {error}, {coarse} {fine} {second}");
            assert!((fine / second - 1.0).abs() <= 1e-2, "{coarse} {fine}");
        }
    }
}

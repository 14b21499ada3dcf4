//! Where the sheet comes to lie on itself: what of it is near, what that costs, and how far a step may go before anything meets.
//!
//! Corners against triangles and edges against edges are looked at, and corners against the mirror plane x = 0, beyond which the
//! other half lies. A pair closer than [`REACH_MM`] stores energy that grows the more the closer it is
//! (the barrier of incremental potential contact, Li et al. 2020, with a power instead of a logarithm). For one of
//! Newton's iterations a pair's closest points and the direction between them stay as they are, so that the energy is convex. A step
//! ends before anything meets: between two convex bodies lies a slab across the direction of their closest points, and
//! as long as none has crossed it they are apart (conservative advancement, Mirtich 1996).

use std::collections::BTreeSet;

use super::membrane::{cross, dot, sub};
use super::surface::Surface;

/// Pairs of corners and triangles, and of edges, that may meet.
#[derive(Clone, Debug, Default)]
pub(crate) struct Contacts {
    triangles: Vec<[u32; 3]>,
    edges: Vec<[u32; 2]>,
    /// The corners that a triangle stands for, and the edges, as numbers among `edges`; all others are its neighbours'.
    own: Vec<[Vec<u32>; 2]>,
    /// Area about every vertex, mm2.
    areas: Vec<f64>,
    /// Vertices that the mirror plane does not hold.
    free: Vec<u32>,
    /// Boxes that vertices may move in while `near` has every pair that can meet.
    boxes: Vec<Bounds>,
    near: Vec<Near>,
    touches: Vec<Touch>,
}

/// Least and greatest coordinates.
type Bounds = [[f64; 3]; 2];

/// A corner and the corners of a triangle, or two edges.
#[derive(Clone, Copy, Debug)]
struct Near {
    vertices: [u32; 4],
    edges: bool,
}

/// A pair that is close.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Touch {
    pub vertices: [u32; 4],
    /// The distance is the sum of the vertices' places along `normal` by these.
    pub weights: [f64; 4],
    pub normal: [f64; 3],
    /// Energy per mm2.
    stiffness: f64,
    /// Distance when it was looked up, mm.
    distance: f64,
}

/// Distance below which a pair pushes, mm.
const REACH_MM: f64 = 0.5;
/// Pressure in mm of head at half of that.
const HARDNESS: f64 = 300.0;
/// Distance below which the push only grows in proportion, mm.
const LEAST_MM: f64 = 0.05;
/// How far vertices may move before pairs are looked for anew, mm.
const ROOM_MM: f64 = 3.0;
/// Share of its distance that a pair keeps in a step; of one that is closer than a part of a millimetre up to all but a tenth,
/// so that contacts have time to push.
const KEPT: f64 = 0.2;
const KEPT_NEAR: f64 = 0.9;
const NEAR_MM: f64 = 0.1;
/// How often a pair's slab is laid anew on the way, and the part of the way below which that is given up.
const ADVANCES: usize = 12;
const LEAST_ADVANCE: f64 = 0.01;
/// How often a way is halved or gone on with to find how long four points stay out of one plane.
const HALVINGS: usize = 12;
/// Square of the sine of the angle below which edges push the less the smaller it is: parallel ones have no one place where they
/// are closest, and are left to their ends.
const PARALLEL: f64 = 0.01;

impl Contacts {
    /// Everything that can meet on a surface.
    pub(crate) fn new(surface: &Surface) -> Self {
        let triangles: Vec<[u32; 3]> = surface.triangles.iter().map(|triangle| triangle.vertices).collect();
        let mut areas = vec![0.0; surface.start.len()];
        let mut seen = vec![false; surface.start.len()];
        let mut known = BTreeSet::new();
        let mut edges = Vec::new();
        let mut own = Vec::with_capacity(triangles.len());
        for triangle in &surface.triangles {
            let mut its = [Vec::new(), Vec::new()];
            for k in 0..3 {
                let [a, b] = [k, (k + 1) % 3].map(|k| triangle.vertices[k]);
                areas[a as usize] += triangle.area / 3.0;
                if !std::mem::replace(&mut seen[a as usize], true) {
                    its[0].push(a);
                }
                if known.insert([a.min(b), a.max(b)]) {
                    its[1].push(edges.len() as u32);
                    edges.push([a, b]);
                }
            }
            own.push(its);
        }
        let free = (0..).zip(&surface.held).filter(|(_, held)| !held[0]).map(|(v, _)| v).collect();
        Self { triangles, edges, own, areas, free, ..Self::default() }
    }

    pub(crate) const fn is_empty(&self) -> bool {
        self.triangles.is_empty()
    }

    pub(crate) fn touches(&self) -> &[Touch] {
        &self.touches
    }

    /// Finds what is close in a shape.
    pub(crate) fn look(&mut self, positions: &[[f64; 3]]) {
        self.cover(positions, positions);
        let mut touches = std::mem::take(&mut self.touches);
        touches.clear();
        for near in &self.near {
            if near.apart(positions, positions, 2.0 * REACH_MM) {
                continue;
            }
            let x = near.corners(positions);
            let closest = near.closest(&x);
            if closest.distance >= 2.0 * REACH_MM || closest.count == 0.0 {
                continue;
            }
            let area = |of: &[u32]| of.iter().map(|&v| self.areas[v as usize]).fold(f64::INFINITY, f64::min);
            let area = if near.edges { area(&near.vertices) } else { area(&near.vertices[..1]) };
            touches.push(Touch {
                vertices: near.vertices,
                weights: closest.weights,
                normal: closest.normal,
                stiffness: closest.count * HARDNESS / REACH_MM * area / 2.0,
                distance: closest.distance,
            });
        }
        for &v in &self.free {
            let distance = positions[v as usize][0];
            if distance < 2.0 * REACH_MM {
                let stiffness = HARDNESS / REACH_MM * self.areas[v as usize] / 2.0;
                let (weights, normal) = ([1.0, 0.0, 0.0, 0.0], [1.0, 0.0, 0.0]);
                touches.push(Touch { vertices: [v; 4], weights, normal, stiffness, distance });
            }
        }
        self.touches = touches;
    }

    /// Energy of what was close, in another shape.
    pub(crate) fn energy(&self, positions: &[[f64; 3]]) -> f64 {
        self.touches.iter().map(|touch| touch.stiffness * barrier(touch.distance_in(positions))[0]).sum()
    }

    /// The share of the way from one shape to another at which everything is still apart: 1, or less.
    pub(crate) fn reach(&mut self, from: &[[f64; 3]], to: &[[f64; 3]]) -> f64 {
        self.cover(from, to);
        let mut share = 1.0_f64;
        for &v in &self.free {
            let (x, gone) = (from[v as usize][0], to[v as usize][0] - from[v as usize][0]);
            if gone < 0.0 {
                share = share.min((1.0 - kept(x)) * x / -gone);
            }
        }
        for near in &self.near {
            if !near.apart(from, to, 0.0) {
                share = near.reach(&near.corners(from), &near.corners(to), share);
            }
        }
        share.max(0.0)
    }

    /// Makes sure that every pair that can meet on the way from one shape to another is known.
    fn cover(&mut self, from: &[[f64; 3]], to: &[[f64; 3]]) {
        // Twice the reach belongs to what is looked at.
        let known = self.boxes.len() == from.len()
            && self.boxes.iter().zip(from.iter().zip(to)).all(|([low, high], (a, b))| {
                (0..3).all(|c| low[c] + REACH_MM <= a[c].min(b[c]) && a[c].max(b[c]) <= high[c] - REACH_MM)
            });
        if known {
            return;
        }
        self.boxes.clear();
        for (a, b) in from.iter().zip(to) {
            let mut bounds = [*a; 2];
            for c in 0..3 {
                bounds[0][c] = a[c].min(b[c]) - ROOM_MM;
                bounds[1][c] = a[c].max(b[c]) + ROOM_MM;
            }
            self.boxes.push(bounds);
        }
        let about_edges: Vec<Bounds> = self.edges.iter().map(|edge| self.about(edge)).collect();
        let about: Vec<Bounds> = self.triangles.iter().map(|corners| self.about(corners)).collect();
        let mut order: Vec<u32> = (0..about.len() as u32).collect();
        order.sort_by(|&a, &b| about[a as usize][0][1].total_cmp(&about[b as usize][0][1]));
        let sorted: Vec<Bounds> = order.iter().map(|&index| about[index as usize]).collect();
        self.near.clear();
        for (rank, first) in sorted.iter().enumerate() {
            for (second, &other) in sorted[rank + 1..].iter().zip(&order[rank + 1..]) {
                if second[0][1] > first[1][1] {
                    break;
                }
                if !meet(first, second) {
                    continue;
                }
                let pair = [order[rank] as usize, other as usize];
                for [x, y] in [pair, [pair[1], pair[0]]] {
                    let with = self.triangles[y];
                    for &corner in &self.own[x][0] {
                        if !with.contains(&corner) && meet(&self.boxes[corner as usize], &about[y]) {
                            self.near.push(Near { vertices: [corner, with[0], with[1], with[2]], edges: false });
                        }
                    }
                }
                for &one in &self.own[pair[0]][1] {
                    for &two in &self.own[pair[1]][1] {
                        let ([a, b], [c, d]) = (self.edges[one as usize], self.edges[two as usize]);
                        if a != c
                            && a != d
                            && b != c
                            && b != d
                            && meet(&about_edges[one as usize], &about_edges[two as usize])
                        {
                            self.near.push(Near { vertices: [a, b, c, d], edges: true });
                        }
                    }
                }
            }
        }
    }

    /// The box of some vertices' boxes.
    fn about(&self, vertices: &[u32]) -> Bounds {
        let mut bounds = [[f64::INFINITY; 3], [f64::NEG_INFINITY; 3]];
        for &v in vertices {
            let [low, high] = &self.boxes[v as usize];
            for c in 0..3 {
                bounds[0][c] = bounds[0][c].min(low[c]);
                bounds[1][c] = bounds[1][c].max(high[c]);
            }
        }
        bounds
    }
}

/// Do two boxes meet?
#[inline]
fn meet(a: &Bounds, b: &Bounds) -> bool {
    a[0][0] <= b[1][0]
        && b[0][0] <= a[1][0]
        && a[0][2] <= b[1][2]
        && b[0][2] <= a[1][2]
        && a[0][1] <= b[1][1]
        && b[0][1] <= a[1][1]
}

impl Touch {
    /// Its distance in another shape.
    fn distance_in(&self, positions: &[[f64; 3]]) -> f64 {
        self.vertices
            .iter()
            .zip(self.weights)
            .map(|(&v, weight)| weight * dot(self.normal, positions[v as usize]))
            .sum()
    }

    /// Is it close enough to push?
    pub(crate) fn pushes(&self) -> bool {
        self.distance < REACH_MM
    }

    /// First and second derivative of its energy by its distance.
    pub(crate) fn derivatives(&self) -> [f64; 2] {
        let [_, first, second] = barrier(self.distance);
        [self.stiffness * first, self.stiffness * second]
    }
}

/// Share of a distance that is kept in a step.
fn kept(distance: f64) -> f64 {
    KEPT + (KEPT_NEAR - KEPT) * (1.0 - distance / NEAR_MM).max(0.0)
}

/// Energy of a distance and its two derivatives: (h - d)^3/d, nothing from h on, and a parabola for what is so close that it would
/// spoil the equations.
fn barrier(distance: f64) -> [f64; 3] {
    let left = REACH_MM - distance;
    if left <= 0.0 {
        return [0.0; 3];
    }
    let d = distance.max(LEAST_MM);
    let left = REACH_MM - d;
    let square = left * left;
    let along = 2.0 * d + REACH_MM;
    let first = -square * along / (d * d);
    let second = 2.0 * left * along / (d * d) + 2.0 * square * (d + REACH_MM) / (d * d * d);
    let below = distance - d;
    [square * left / d + below * (first + 0.5 * second * below), first + second * below, second]
}

/// Where two bodies are closest.
struct Closest {
    weights: [f64; 4],
    normal: [f64; 3],
    distance: f64,
    /// What it counts for: nothing when another pair has it already.
    count: f64,
}

impl Near {
    /// How many of the four vertices are the first body's.
    const fn split(&self) -> usize {
        if self.edges { 2 } else { 1 }
    }

    #[inline]
    fn corners(&self, positions: &[[f64; 3]]) -> [[f64; 3]; 4] {
        let [a, b, c, d] = self.vertices;
        [positions[a as usize], positions[b as usize], positions[c as usize], positions[d as usize]]
    }

    /// Are the boxes of what the two bodies pass over, from one shape to another, farther apart than `most` along an axis?
    #[inline]
    fn apart(&self, from: &[[f64; 3]], to: &[[f64; 3]], most: f64) -> bool {
        let (a, b) = (self.corners(from), self.corners(to));
        let split = self.split();
        for c in [2, 0, 1] {
            let (mut low, mut high) = (a[0][c].min(b[0][c]), a[0][c].max(b[0][c]));
            let (mut below, mut above) = (a[3][c].min(b[3][c]), a[3][c].max(b[3][c]));
            for i in 1..3 {
                let (least, greatest) = (a[i][c].min(b[i][c]), a[i][c].max(b[i][c]));
                if i < split {
                    low = low.min(least);
                    high = high.max(greatest);
                } else {
                    below = below.min(least);
                    above = above.max(greatest);
                }
            }
            if low - above > most || below - high > most {
                return true;
            }
        }
        false
    }

    fn closest(&self, x: &[[f64; 3]; 4]) -> Closest {
        let (weights, count) = if self.edges {
            let (s, t, count) = between_edges(x);
            ([1.0 - s, s, t - 1.0, -t], count)
        } else {
            let [a, b, c] = in_triangle(x[0], [x[1], x[2], x[3]]);
            ([1.0, -a, -b, -c], 1.0)
        };
        let mut across = [0.0; 3];
        for (x, weight) in x.iter().zip(weights) {
            for c in 0..3 {
                across[c] += weight * x[c];
            }
        }
        let distance = dot(across, across).sqrt();
        let scale = 1.0 / distance.max(f64::MIN_POSITIVE);
        let normal = [across[0] * scale, across[1] * scale, across[2] * scale];
        Closest { weights, normal, distance, count }
    }

    /// The share of the way, `most` or less, at which the two are still apart.
    fn reach(&self, from: &[[f64; 3]; 4], to: &[[f64; 3]; 4], most: f64) -> f64 {
        let split = self.split();
        let gone = [sub(to[0], from[0]), sub(to[1], from[1]), sub(to[2], from[2]), sub(to[3], from[3])];
        let mut share = 0.0;
        let (mut keep, mut least) = (0.0, 0.0);
        for advance in 0..ADVANCES {
            let mut x = *from;
            for (x, gone) in x.iter_mut().zip(&gone) {
                for c in 0..3 {
                    x[c] += share * gone[c];
                }
            }
            let Closest { normal, distance, .. } = self.closest(&x);
            if advance == 0 {
                keep = kept(distance);
                least = keep * distance;
            }
            let (mut places, mut ways) = ([0.0; 4], [0.0; 4]);
            for i in 0..4 {
                places[i] = dot(normal, x[i]);
                ways[i] = dot(normal, gone[i]);
            }
            let mut further = f64::INFINITY;
            for i in 0..split {
                for j in split..4 {
                    let closing = ways[j] - ways[i];
                    if closing > 0.0 {
                        further = further.min((places[i] - places[j] - least) / closing);
                    }
                }
            }
            if share + further < most {
                further = further.max(out_of_plane(&x, &gone, keep, most - share));
            }
            if share + further >= most {
                return most;
            }
            share += further.max(0.0);
            if further < LEAST_ADVANCE {
                break;
            }
        }
        share
    }
}

/// The share of the way, `most` or less, on which four points stay out of one plane and keep a share of the volume between
/// them: only in one can two edges, or a corner and a triangle, meet. The volume between them is a cubic polynomial, and no
/// less than its Bernstein coefficients.
fn out_of_plane(x: &[[f64; 3]; 4], gone: &[[f64; 3]; 4], keep: f64, most: f64) -> f64 {
    let ([a, b, c], [u, v, w]) = (
        [sub(x[1], x[0]), sub(x[2], x[0]), sub(x[3], x[0])],
        [sub(gone[1], gone[0]), sub(gone[2], gone[0]), sub(gone[3], gone[0])],
    );
    let (bc, vc, bw, vw) = (cross(b, c), cross(v, c), cross(b, w), cross(v, w));
    let volume = dot(a, bc);
    let sign = if volume < 0.0 { -1.0 } else { 1.0 };
    let cubic = [
        sign * volume,
        sign * (dot(u, bc) + dot(a, vc) + dot(a, bw)),
        sign * (dot(u, vc) + dot(u, bw) + dot(a, vw)),
        sign * dot(u, vw),
    ];
    let least = keep * cubic[0];
    let (mut share, mut part) = (0.0, most);
    for _ in 0..HALVINGS {
        // The polynomial from `share` on, over a part of the way.
        let [p, q, r, s] = cubic;
        let first = (q + share * (2.0 * r + share * 3.0 * s)) * part;
        let second = (r + share * 3.0 * s) * part * part;
        let start = p + share * (q + share * (r + share * s));
        let end = start + first + second + s * part * part * part;
        let between = [start + first / 3.0, start + (2.0 * first + second) / 3.0];
        if end > least && between[0] > least && between[1] > least {
            share += part;
            if share >= most {
                return most;
            }
        } else {
            part *= 0.5;
        }
    }
    share
}

/// Shares of a triangle's corners in its point closest to `p` (Ericson 2005, 5.1.5).
fn in_triangle(p: [f64; 3], [a, b, c]: [[f64; 3]; 3]) -> [f64; 3] {
    let (ab, ac, ap) = (sub(b, a), sub(c, a), sub(p, a));
    let (d1, d2) = (dot(ab, ap), dot(ac, ap));
    if d1 <= 0.0 && d2 <= 0.0 {
        return [1.0, 0.0, 0.0];
    }
    let bp = sub(p, b);
    let (d3, d4) = (dot(ab, bp), dot(ac, bp));
    if d3 >= 0.0 && d4 <= d3 {
        return [0.0, 1.0, 0.0];
    }
    let vc = d1 * d4 - d3 * d2;
    if vc <= 0.0 && d1 >= 0.0 && d3 <= 0.0 {
        let v = d1 / (d1 - d3);
        return [1.0 - v, v, 0.0];
    }
    let cp = sub(p, c);
    let (d5, d6) = (dot(ab, cp), dot(ac, cp));
    if d6 >= 0.0 && d5 <= d6 {
        return [0.0, 0.0, 1.0];
    }
    let vb = d5 * d2 - d1 * d6;
    if vb <= 0.0 && d2 >= 0.0 && d6 <= 0.0 {
        let w = d2 / (d2 - d6);
        return [1.0 - w, 0.0, w];
    }
    let va = d3 * d6 - d5 * d4;
    if va <= 0.0 && d4 >= d3 && d5 >= d6 {
        let w = (d4 - d3) / ((d4 - d3) + (d5 - d6));
        return [0.0, 1.0 - w, w];
    }
    let whole = va + vb + vc;
    let (v, w) = (vb / whole, vc / whole);
    [1.0 - v - w, v, w]
}

/// Shares of the ends of two edges at which they are closest (Ericson 2005, 5.1.9), and what that counts for: nothing at an
/// end of one, which is a corner of triangles.
fn between_edges(x: &[[f64; 3]; 4]) -> (f64, f64, f64) {
    let (u, v, r) = (sub(x[1], x[0]), sub(x[3], x[2]), sub(x[0], x[2]));
    let (a, e, f) = (dot(u, u), dot(v, v), dot(v, r));
    let (c, b) = (dot(u, r), dot(u, v));
    let across = a * e - b * b;
    let mut s = if across > 1e-12 * a * e { ((b * f - c * e) / across).clamp(0.0, 1.0) } else { 0.0 };
    let mut t = (b * s + f) / e;
    if t < 0.0 {
        t = 0.0;
        s = (-c / a).clamp(0.0, 1.0);
    } else if t > 1.0 {
        t = 1.0;
        s = ((b - c) / a).clamp(0.0, 1.0);
    }
    let inside = s > 0.0 && s < 1.0 && t > 0.0 && t < 1.0;
    (s, t, if inside { (across / (PARALLEL * a * e)).clamp(0.0, 1.0) } else { 0.0 })
}

//! Energy, forces and stiffness of one triangle: the sheet's own, and the load's.
//!
//! **Sheet.** With F the deformation gradient and lambda_i its singular values, a triangle of area A stores
//! A k/2 sum max(0, lambda_i - 1)^2: stretching costs, shortening is free, so a slack triangle carries nothing, a
//! wrinkled one carries tension one way (tension field). Gradient and second derivative are closed forms in the
//! singular values and vectors: two stretching modes, the twist and the flip that mix the two directions, and two modes
//! out of the plane. All of the second derivative's eigenvalues are >= 0. Source of the mode analysis: Smith, de Goes
//! and Kim, "Analytic eigensystems for isotropic distortion energies", 2019, here for a 3 x 2 gradient.
//!
//! **Load.** Volume and the moment of the volume about the floor by the divergence theorem, with the vertical component
//! of each triangle's area only: V = sum a_z mean(z), U = sum a_z mean(z^2)/2. Openings in vertical mirror planes and in
//! z = 0 add nothing, so the same sums serve a whole surface, a half, a quarter and an octant. (With a level, z = 0 must
//! not be open: what `level` averages does not vanish there.)

use super::level::Below;

/// A triangle of the sheet.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Triangle {
    pub vertices: [u32; 3],
    /// Gradients of the three linear shape functions on the flat paper, 1/mm.
    pub gradients: [[f64; 2]; 3],
    /// Area of the flat paper, mm2.
    pub area: f64,
    /// Part of a stiff bottom: carries the load, but does not deform.
    pub rigid: bool,
}

/// What presses: pressure `head` at z = 0, falling by `weight` per mm of height.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Load {
    pub head: f64,
    pub weight: f64,
    /// `None`: the product fills the sheet. A pressure: the product, of weight 1, stands up to z = `head` only, and air
    /// of this pressure, above and in it, keeps the rest of the sheet open.
    pub air: Option<f64>,
}

impl Load {
    /// A pressure that is the same everywhere.
    pub(crate) const AIR: Self = Self { head: 1.0, weight: 0.0, air: None };
    /// A product that fills the sheet; its head is where the solver begins.
    pub(crate) const fn heavy(head: f64) -> Self {
        Self { head, weight: 1.0, air: None }
    }
}

/// Principal stretches and directions of a triangle.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Stretch {
    /// Larger first.
    pub lambda: [f64; 2],
    /// Directions on the paper.
    pub paper: [[f64; 2]; 2],
    columns: [[f64; 3]; 2],
}

/// Rows and columns of a triangle's matrix: three vertices with three coordinates.
pub(crate) type Matrix = [[f64; 9]; 9];

impl Stretch {
    /// Of a triangle whose corners are at `x`.
    #[inline]
    pub(crate) fn new(triangle: &Triangle, x: &[[f64; 3]; 3]) -> Self {
        let g = &triangle.gradients;
        // Differences keep the sum free of cancellation far from the origin.
        let (e1, e2) = (sub(x[1], x[0]), sub(x[2], x[0]));
        let column = |j: usize| {
            [e1[0] * g[1][j] + e2[0] * g[2][j], e1[1] * g[1][j] + e2[1] * g[2][j], e1[2] * g[1][j] + e2[2] * g[2][j]]
        };
        let (f0, f1) = (column(0), column(1));
        let (c00, c01, c11) = (dot(f0, f0), dot(f0, f1), dot(f1, f1));
        let mean = 0.5 * (c00 + c11);
        let half = 0.5 * (c00 - c11);
        let radius = (half * half + c01 * c01).sqrt();
        // The direction of the larger eigenvalue, from whichever row does not cancel.
        let (a, b) = if half >= 0.0 { (half + radius, c01) } else { (c01, radius - half) };
        let norm = (a * a + b * b).sqrt();
        let (c, s) = if norm > 0.0 { (a / norm, b / norm) } else { (1.0, 0.0) };
        let turned = |c: f64, s: f64| [f0[0] * c + f1[0] * s, f0[1] * c + f1[1] * s, f0[2] * c + f1[2] * s];
        Self {
            lambda: [(mean + radius).max(0.0).sqrt(), (mean - radius).max(0.0).sqrt()],
            paper: [[c, s], [-s, c]],
            columns: [turned(c, s), turned(-s, c)],
        }
    }

    /// Tensions per unit of stiffness: by how much each stretch exceeds `limit`.
    #[inline]
    pub(crate) fn excess(&self, limit: f64) -> [f64; 2] {
        [(self.lambda[0] / limit - 1.0).max(0.0), (self.lambda[1] / limit - 1.0).max(0.0)]
    }

    /// Adds the gradient of the energy and, where wanted, the lower blocks of its second derivative.
    #[inline]
    pub(crate) fn derivatives(
        &self,
        triangle: &Triangle,
        stiffness: f64,
        limit: f64,
        gradient: &mut [[f64; 3]; 3],
        matrix: Option<&mut Matrix>,
    ) {
        let [e0, e1] = self.excess(limit);
        if e0 <= 0.0 {
            return;
        }
        // Everything in stretches relative to the limit.
        let [l0, l1] = [self.lambda[0] / limit, self.lambda[1] / limit];
        let scale = 1.0 / limit;
        let (t0, t1) = (stiffness * e0, stiffness * e1);
        let u0 = scaled(self.columns[0], 1.0 / self.lambda[0]);
        let u1 = if self.lambda[1] > 1e-9 { scaled(self.columns[1], 1.0 / self.lambda[1]) } else { perpendicular(u0) };
        let project = |d: [f64; 2]| {
            [0, 1, 2].map(|i| (triangle.gradients[i][0] * d[0] + triangle.gradients[i][1] * d[1]) * scale)
        };
        let (p, q) = (project(self.paper[0]), project(self.paper[1]));
        let area = triangle.area;
        for i in 0..3 {
            for c in 0..3 {
                gradient[i][c] += area * (t0 * p[i] * u0[c] + t1 * q[i] * u1[c]);
            }
        }
        let Some(matrix) = matrix else { return };
        let n = cross(u0, u1);
        let k0 = area * stiffness;
        let k1 = if e1 > 0.0 { k0 } else { 0.0 };
        // Twist (mixed derivatives with unlike signs) and flip (with like signs).
        let twist = area * (t0 + t1) / (l0 + l1);
        let flip = if e1 > 0.0 { k0 } else { area * t0 / (l0 - l1).max(e0) };
        let (same, mixed) = (0.5 * (flip + twist), 0.5 * (flip - twist));
        let (n0, n1) = (area * t0 / l0, if e1 > 0.0 { area * t1 / l1 } else { 0.0 });
        let block = |i: usize, j: usize| {
            let (pp, qq, pq, qp) = (p[i] * p[j], q[i] * q[j], p[i] * q[j], q[i] * p[j]);
            // Coefficients of u0 u0, u1 u1, n n, u0 u1, u1 u0.
            let a = k0 * pp + same * qq;
            let b = k1 * qq + same * pp;
            let d = n0 * pp + n1 * qq;
            let e = mixed * qp;
            let f = mixed * pq;
            [0, 1, 2].map(|r| {
                let (x, y, z) = (a * u0[r] + f * u1[r], b * u1[r] + e * u0[r], d * n[r]);
                [0, 1, 2].map(|c| x * u0[c] + y * u1[c] + z * n[c])
            })
        };
        // Moving a triangle as a whole costs nothing, so the first corner's blocks follow from the others'.
        let (b11, b21, b22) = (block(1, 1), block(2, 1), block(2, 2));
        for r in 0..3 {
            for c in 0..3 {
                let (b10, b20) = (-(b11[r][c] + b21[c][r]), -(b21[r][c] + b22[r][c]));
                matrix[r][c] += (b11[r][c] + b22[r][c]) + (b21[r][c] + b21[c][r]);
                matrix[3 + r][c] += b10;
                matrix[6 + r][c] += b20;
                matrix[3 + r][3 + c] += b11[r][c];
                matrix[6 + r][3 + c] += b21[r][c];
                matrix[6 + r][6 + c] += b22[r][c];
            }
        }
    }
}

/// Volume and moment of the volume (integral of z) of the product that a triangle stands for; with a level, the air's
/// energy is counted to the moment, so that the load's energy is always `weight` moment - `head` volume.
#[inline]
pub(crate) fn volume(x: &[[f64; 3]; 3], load: Load) -> (f64, f64) {
    let a = upward(x);
    let (z0, z1, z2) = (x[0][2], x[1][2], x[2][2]);
    let sum = z0 + z1 + z2;
    match load.air {
        None => (a * sum / 3.0, a * (sum * sum + z0 * z0 + z1 * z1 + z2 * z2) / 24.0),
        Some(air) => {
            let below = Below::new([z0, z1, z2].map(|z| load.head - z));
            (-a * below.depth, a * (below.square - load.head * below.depth - air * sum / 3.0))
        }
    }
}

/// The upward component of a triangle's area.
#[inline]
fn upward(x: &[[f64; 3]; 3]) -> f64 {
    0.5 * ((x[1][0] - x[0][0]) * (x[2][1] - x[0][1]) - (x[2][0] - x[0][0]) * (x[1][1] - x[0][1]))
}

/// Gradient of the volume of the product that a triangle stands for, and what raising the head adds to it.
#[inline]
pub(crate) fn volume_gradient(x: &[[f64; 3]; 3], load: Load) -> ([[f64; 3]; 3], f64) {
    if load.air.is_none() {
        return (load_gradient(x, Load { head: -1.0, weight: 0.0, air: None }), 0.0);
    }
    let a = upward(x);
    let below = Below::new([0, 1, 2].map(|i| load.head - x[i][2]));
    (by_corners(x, a, -below.depth, below.depth_slope), -a * below.share)
}

/// Gradient of a triangle's upward area times a density that depends on its corners' heights.
#[inline]
fn by_corners(x: &[[f64; 3]; 3], a: f64, density: f64, slope: [f64; 3]) -> [[f64; 3]; 3] {
    [0, 1, 2].map(|i| {
        let (j, k) = ((i + 1) % 3, (i + 2) % 3);
        [0.5 * (x[j][1] - x[k][1]) * density, 0.5 * (x[k][0] - x[j][0]) * density, a * slope[i]]
    })
}

/// The load's energy per upward area, and its derivatives by the corners' heights.
#[inline]
fn per_area(z: [f64; 3], load: Load) -> (f64, [f64; 3], [[f64; 3]; 3]) {
    let sum = z[0] + z[1] + z[2];
    match load.air {
        None => {
            let squares = sum * sum + z[0] * z[0] + z[1] * z[1] + z[2] * z[2];
            let (twelfth, sixth) = (load.weight / 12.0, load.weight / 6.0);
            (
                load.weight * squares / 24.0 - load.head * sum / 3.0,
                z.map(|z| load.weight * (sum + z) / 12.0 - load.head / 3.0),
                [[sixth, twelfth, twelfth], [twelfth, sixth, twelfth], [twelfth, twelfth, sixth]],
            )
        }
        Some(air) => {
            let below = Below::new(z.map(|z| load.head - z));
            (below.square - air * sum / 3.0, below.square_slope.map(|slope| -slope - air / 3.0), below.square_curve)
        }
    }
}

/// Gradient of the load's energy.
#[inline]
pub(crate) fn load_gradient(x: &[[f64; 3]; 3], load: Load) -> [[f64; 3]; 3] {
    let a = upward(x);
    let (density, slope, _) = per_area([x[0][2], x[1][2], x[2][2]], load);
    by_corners(x, a, density, slope)
}

/// Adds gradient and second derivative (lower blocks) of the load's energy.
#[inline]
pub(crate) fn load_derivatives(x: &[[f64; 3]; 3], load: Load, gradient: &mut [[f64; 3]; 3], matrix: &mut Matrix) {
    let a = upward(x);
    let (density, slope, curve) = per_area([x[0][2], x[1][2], x[2][2]], load);
    let base = [0, 1, 2].map(|i| {
        let (j, k) = ((i + 1) % 3, (i + 2) % 3);
        [0.5 * (x[j][1] - x[k][1]), 0.5 * (x[k][0] - x[j][0])]
    });
    for i in 0..3 {
        gradient[i][0] += base[i][0] * density;
        gradient[i][1] += base[i][1] * density;
        gradient[i][2] += a * slope[i];
        for j in 0..=i {
            let (r, c) = (3 * i, 3 * j);
            // a = sum over cyclic (i, j) of (x_i y_j - x_j y_i)/2.
            if i != j {
                let sign = if (j + 1) % 3 == i { -0.5 } else { 0.5 };
                matrix[r][c + 1] += sign * density;
                matrix[r + 1][c] -= sign * density;
            }
            matrix[r][c + 2] += base[i][0] * slope[j];
            matrix[r + 1][c + 2] += base[i][1] * slope[j];
            matrix[r + 2][c] += base[j][0] * slope[i];
            matrix[r + 2][c + 1] += base[j][1] * slope[i];
            matrix[r + 2][c + 2] += a * curve[i][j];
        }
    }
}

pub(super) fn sub(a: [f64; 3], b: [f64; 3]) -> [f64; 3] {
    [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
}

pub(super) fn dot(a: [f64; 3], b: [f64; 3]) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

fn scaled(a: [f64; 3], by: f64) -> [f64; 3] {
    [a[0] * by, a[1] * by, a[2] * by]
}

pub(super) fn cross(a: [f64; 3], b: [f64; 3]) -> [f64; 3] {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}

/// Some unit vector perpendicular to a unit vector.
fn perpendicular(u: [f64; 3]) -> [f64; 3] {
    let axis = if u[0] * u[0] < 0.5 { [1.0, 0.0, 0.0] } else { [0.0, 1.0, 0.0] };
    let v = cross(u, axis);
    scaled(v, 1.0 / dot(v, v).sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn triangle() -> Triangle {
        Triangle { vertices: [0, 1, 2], gradients: [[-1.0, -0.3], [1.0, -0.2], [0.0, 0.5]], area: 1.0, rigid: false }
    }

    fn energy(x: &[[f64; 3]; 3], load: Load, limit: f64) -> f64 {
        let [a, b] = Stretch::new(&triangle(), x).excess(limit);
        let (v, u) = volume(x, load);
        0.5 * 7.0 * (a * a + b * b) + load.weight * u - load.head * v
    }

    /// Central differences of energy and gradient, for triangles taut one way, taut both ways and slack.
    #[test]
    fn derivatives_agree_with_differences() {
        let shapes = [
            [[0.1, 0.0, 0.2], [1.3, 0.1, 0.5], [0.4, 1.5, 0.3]],
            [[0.1, 0.0, 0.2], [1.6, 0.3, 0.9], [0.7, 2.9, 0.4]],
            [[0.1, 0.0, 0.2], [0.3, 0.1, 0.3], [0.2, 0.5, 0.3]],
            [[0.1, 0.0, 0.2], [1.4, 0.0, 0.2], [0.5, 0.01, 0.2]],
        ];
        let limit = 1.01;
        let loads = [
            Load { head: 1.3, weight: 0.7, air: None },
            Load { air: Some(0.1), ..Load::heavy(0.35) },
            Load { air: Some(0.1), ..Load::heavy(0.25) },
        ];
        for (x, load) in shapes.into_iter().flat_map(|x| loads.map(|load| (x, load))) {
            let derivatives = |x: &[[f64; 3]; 3]| {
                let (mut g, mut m) = ([[0.0; 3]; 3], [[0.0; 9]; 9]);
                Stretch::new(&triangle(), x).derivatives(&triangle(), 7.0, limit, &mut g, Some(&mut m));
                load_derivatives(x, load, &mut g, &mut m);
                (g, m)
            };
            let (g, m) = derivatives(&x);
            let step = 1e-6;
            let raised = |by: f64| volume(&x, Load { head: load.head + by, ..load }).0;
            let surface = (raised(step) - raised(-step)) / (2.0 * step);
            assert!((surface - volume_gradient(&x, load).1).abs() < 1e-7, "{surface}");
            for i in 0..9 {
                let moved = |by: f64| {
                    let mut y = x;
                    y[i / 3][i % 3] += by;
                    y
                };
                let slope = (energy(&moved(step), load, limit) - energy(&moved(-step), load, limit)) / (2.0 * step);
                assert!((slope - g[i / 3][i % 3]).abs() < 1e-7, "{slope} {}", g[i / 3][i % 3]);
                let slope = (volume(&moved(step), load).0 - volume(&moved(-step), load).0) / (2.0 * step);
                let own = volume_gradient(&x, load).0[i / 3][i % 3];
                assert!((slope - own).abs() < 1e-7, "{slope} {own}");
                let (plus, minus) = (derivatives(&moved(step)).0, derivatives(&moved(-step)).0);
                for j in 0..9 {
                    let slope = (plus[j / 3][j % 3] - minus[j / 3][j % 3]) / (2.0 * step);
                    let entry = if j / 3 >= i / 3 { m[j][i] } else { m[i][j] };
                    assert!((slope - entry).abs() < 1e-6, "{i} {j}: {slope} {entry}");
                }
            }
        }
    }
}

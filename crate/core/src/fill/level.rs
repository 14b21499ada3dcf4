//! A product that stands only up to its level: averages over a triangle of what is below.
//!
//! With g the depth below the level, linear over the triangle, the means of step(g), max(0, g) and max(0, g)^2/2 are
//! divided differences of max(0, g)^n/n! at the corners (Hermite and Genocchi), so closed forms also where the level
//! cuts the triangle.

/// Means over a triangle, with derivatives by the depths of its corners.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Below {
    /// Of 1 below the level and 0 above.
    pub share: f64,
    /// Of max(0, g).
    pub depth: f64,
    pub depth_slope: [f64; 3],
    /// Of max(0, g)^2/2.
    pub square: f64,
    pub square_slope: [f64; 3],
    pub square_curve: [[f64; 3]; 3],
}

impl Below {
    /// Of a triangle with its corners at depths `g`.
    pub(crate) fn new(g: [f64; 3]) -> Self {
        let under = g.map(|g| g > 0.0);
        match under.into_iter().filter(|under| *under).count() {
            0 => Self::default(),
            1 => Self::one(g, under.iter().position(|under| *under).unwrap_or(0)),
            2 => {
                // max(0, g) = g + max(0, -g).
                let (all, above) =
                    (Self::all(g), Self::one(g.map(|g| -g), under.iter().position(|under| !under).unwrap_or(0)));
                Self {
                    share: 1.0 - above.share,
                    depth: all.depth + above.depth,
                    depth_slope: [0, 1, 2].map(|i| all.depth_slope[i] - above.depth_slope[i]),
                    square: all.square - above.square,
                    square_slope: [0, 1, 2].map(|i| all.square_slope[i] + above.square_slope[i]),
                    square_curve: [0, 1, 2]
                        .map(|i| [0, 1, 2].map(|j| all.square_curve[i][j] - above.square_curve[i][j])),
                }
            }
            _ => Self::all(g),
        }
    }

    fn all(g: [f64; 3]) -> Self {
        let sum = g[0] + g[1] + g[2];
        let mut curve = [[1.0 / 12.0; 3]; 3];
        (0..3).for_each(|i| curve[i][i] = 1.0 / 6.0);
        Self {
            share: 1.0,
            depth: sum / 3.0,
            depth_slope: [1.0 / 3.0; 3],
            square: (sum * sum + g[0] * g[0] + g[1] * g[1] + g[2] * g[2]) / 24.0,
            square_slope: g.map(|g| (sum + g) / 12.0),
            square_curve: curve,
        }
    }

    /// Only the corner `a` is below.
    fn one(g: [f64; 3], a: usize) -> Self {
        let (b, c) = ((a + 1) % 3, (a + 2) % 3);
        let h = g[a];
        let (r, s) = (1.0 / (h - g[b]), 1.0 / (h - g[c]));
        let q = r * s;
        let (h2, h3, h4) = (h * h, h * h * h, h * h * h * h);
        let mut below = Self { share: h2 * q, depth: h3 * q / 3.0, square: h4 * q / 12.0, ..Self::default() };
        below.depth_slope[a] = h2 * q - h3 * q * (r + s) / 3.0;
        below.depth_slope[b] = h3 * q * r / 3.0;
        below.depth_slope[c] = h3 * q * s / 3.0;
        below.square_slope[a] = h3 * q / 3.0 - h4 * q * (r + s) / 12.0;
        below.square_slope[b] = h4 * q * r / 12.0;
        below.square_slope[c] = h4 * q * s / 12.0;
        let curve = &mut below.square_curve;
        curve[a][a] = h2 * q - 2.0 * h3 * q * (r + s) / 3.0 + h4 * q * (r * r + q + s * s) / 6.0;
        curve[b][b] = h4 * q * r * r / 6.0;
        curve[c][c] = h4 * q * s * s / 6.0;
        curve[b][c] = h4 * q * q / 12.0;
        curve[a][b] = h3 * q * r / 3.0 - h4 * q * r * (2.0 * r + s) / 12.0;
        curve[a][c] = h3 * q * s / 3.0 - h4 * q * s * (2.0 * s + r) / 12.0;
        (curve[c][b], curve[b][a], curve[c][a]) = (curve[b][c], curve[a][b], curve[a][c]);
        below
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Sums over many small cells of the triangle.
    fn counted(g: [f64; 3]) -> [f64; 3] {
        let n = 400;
        let mut sums = [0.0; 3];
        let mut cells = 0.0;
        for i in 0..n {
            for j in 0..n - i {
                let (u, v) = ((f64::from(i) + 1.0 / 3.0) / f64::from(n), (f64::from(j) + 1.0 / 3.0) / f64::from(n));
                let depth = f64::max(0.0, g[0] + u * (g[1] - g[0]) + v * (g[2] - g[0]));
                let share = if depth > 0.0 { 1.0 } else { 0.0 };
                for (sum, value) in sums.iter_mut().zip([share, depth, 0.5 * depth * depth]) {
                    *sum += value;
                }
                cells += 1.0;
            }
        }
        sums.map(|sum| sum / cells)
    }

    #[test]
    fn means_and_slopes_are_right_however_the_level_cuts() {
        for g in [[3.0, 2.0, 1.0], [3.0, -2.0, -1.0], [-1.0, 4.0, -3.0], [2.0, -1.0, 0.5], [-0.2, 1.0, 3.0], [-1.0; 3]]
        {
            let below = Below::new(g);
            let [share, depth, square] = counted(g);
            assert!((below.share - share).abs() < 0.02, "{g:?} {below:?} {share}");
            assert!((below.depth - depth).abs() < 0.02 && (below.square - square).abs() < 0.03, "{g:?} {below:?}");
            let step = 1e-6;
            for i in 0..3 {
                let moved = |by: f64| {
                    let mut to = g;
                    to[i] += by;
                    Below::new(to)
                };
                let (plus, minus) = (moved(step), moved(-step));
                let slope = |of: fn(&Below) -> f64| (of(&plus) - of(&minus)) / (2.0 * step);
                assert!((slope(|b| b.depth) - below.depth_slope[i]).abs() < 1e-8, "{g:?} {i}");
                assert!((slope(|b| b.square) - below.square_slope[i]).abs() < 1e-8, "{g:?} {i}");
                for j in 0..3 {
                    let second = (plus.square_slope[j] - minus.square_slope[j]) / (2.0 * step);
                    assert!((second - below.square_curve[i][j]).abs() < 1e-7, "{g:?} {i} {j}");
                }
            }
            // Raising the level by 1 adds the share to the depth, and the depth to the square.
            assert!((below.depth_slope.iter().sum::<f64>() - below.share).abs() < 1e-12, "{g:?}");
            assert!((below.square_slope.iter().sum::<f64>() - below.depth).abs() < 1e-12, "{g:?}");
        }
    }
}

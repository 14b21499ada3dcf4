//! The filled shape against closed forms and against an independent solver's figures.

#![allow(clippy::unwrap_used, clippy::expect_used)]

use sackwright::fill::{Surface, inflate, lay, pour};

/// A rectangle of the paper with its corners in space, cut into `counts` cells by criss-cross diagonals.
struct Sheet {
    start: Vec<[f64; 3]>,
    held: Vec<[bool; 3]>,
    triangles: Vec<[u32; 3]>,
    paper: Vec<[[f64; 2]; 3]>,
}

impl Sheet {
    /// `place` maps the paper to space, `held` says what a mirror holds there.
    fn criss_cross(
        size: [f64; 2],
        counts: [usize; 2],
        place: impl Fn([f64; 2]) -> [f64; 3],
        held: impl Fn([f64; 2]) -> [bool; 3],
    ) -> Self {
        let [nx, ny] = counts;
        let (mut start, mut hold, mut flat) = (Vec::new(), Vec::new(), Vec::new());
        let mut add = |i: f64, j: f64| {
            let at = [size[0] * i / nx as f64, size[1] * j / ny as f64];
            flat.push(at);
            start.push(place(at));
            hold.push(held(at));
        };
        for j in 0..=ny {
            for i in 0..=nx {
                add(i as f64, j as f64);
            }
        }
        for j in 0..ny {
            for i in 0..nx {
                add(i as f64 + 0.5, j as f64 + 0.5);
            }
        }
        let mut triangles = Vec::new();
        for j in 0..ny {
            for i in 0..nx {
                let a = j * (nx + 1) + i;
                let corners = [a, a + 1, a + nx + 2, a + nx + 1];
                let centre = (nx + 1) * (ny + 1) + j * nx + i;
                for k in 0..4 {
                    triangles.push([corners[k], corners[(k + 1) % 4], centre].map(|v| u32::try_from(v).unwrap()));
                }
            }
        }
        let paper = triangles.iter().map(|corners| corners.map(|v| flat[v as usize])).collect();
        Self { start, held: hold, triangles, paper }
    }

    fn surface(self, copies: u32) -> Surface {
        Surface::new(self.start, self.held, &self.triangles, &self.paper, copies).expect("a sound mesh")
    }
}

fn reach(positions: &[[f64; 3]], axis: usize) -> f64 {
    positions.iter().map(|at| at[axis]).fold(f64::NEG_INFINITY, f64::max)
}

/// An octant of two discs of radius 1 joined at the rim: `rings` rings, and `spokes` spokes per quarter, all cells cut
/// criss-cross.
fn discs(rings: usize, spokes: usize) -> Surface {
    let mut start = Vec::new();
    let mut flat = Vec::new();
    let mut held = Vec::new();
    let mut add = |ring: f64, spoke: f64| {
        let radius = ring / rings as f64;
        let (s, c) = libm::sincos(core::f64::consts::FRAC_PI_2 * spoke / spokes as f64);
        let holds = [ring == 0.0 || spoke == spokes as f64, ring == 0.0 || spoke == 0.0, radius == 1.0];
        let at = [radius * c, radius * s];
        let space = [at[0], at[1], 0.2 * (1.0 - radius * radius)];
        start.push([0, 1, 2].map(|axis| if holds[axis] { 0.0 } else { space[axis] }));
        flat.push(at);
        held.push(holds);
    };
    add(0.0, 0.0);
    for ring in 1..=rings {
        (0..=spokes).for_each(|spoke| add(ring as f64, spoke as f64));
    }
    for ring in 1..rings {
        (0..spokes).for_each(|spoke| add(ring as f64 + 0.5, spoke as f64 + 0.5));
    }
    let vertex = |ring: usize, spoke: usize| if ring == 0 { 0 } else { 1 + (ring - 1) * (spokes + 1) + spoke };
    let mut triangles = Vec::new();
    for spoke in 0..spokes {
        triangles.push([0, vertex(1, spoke), vertex(1, spoke + 1)]);
        for ring in 1..rings {
            let centre = vertex(rings, spokes) + 1 + (ring - 1) * spokes + spoke;
            let corners =
                [vertex(ring, spoke), vertex(ring + 1, spoke), vertex(ring + 1, spoke + 1), vertex(ring, spoke + 1)];
            (0..4).for_each(|k| triangles.push([corners[k], corners[(k + 1) % 4], centre]));
        }
    }
    let triangles: Vec<_> = triangles.iter().map(|corners| corners.map(|v| u32::try_from(v).unwrap())).collect();
    let paper: Vec<_> = triangles.iter().map(|corners| corners.map(|v| flat[v as usize])).collect();
    Surface::new(start, held, &triangles, &paper, 8).expect("a sound mesh")
}

/// Mylar balloon: closed forms for volume, radius and thickness of two discs of radius 1 joined at the rim.
#[test]
fn mylar_balloon() {
    const EXACT: [f64; 3] = [1.218_524_216_1, 0.762_759_763_5, 0.913_893_162_1];
    let errors = [6, 12, 24, 48].map(|n| {
        let found = inflate(discs(n, n), 200);
        assert!(found.converged);
        assert!(found.largest_stretch <= 1.0 + 1e-3, "{}", found.largest_stretch);
        let figures = [found.volume, reach(&found.positions, 0), 2.0 * reach(&found.positions, 2)];
        [0, 1, 2].map(|i| figures[i] / EXACT[i] - 1.0)
    });
    for (coarse, fine) in errors.iter().zip(&errors[1..]) {
        let order = (coarse[0] / fine[0]).log2();
        assert!((1.7..2.3).contains(&order), "order {order} of the volume's error: {errors:?}");
    }
    for error in errors[3] {
        assert!(error.abs() <= 1e-3, "{errors:?}");
    }
}

/// A rectangular pillow of width 1 as an octant, `n` cells from its middle to its side.
fn pillow(length: f64, n: usize) -> Surface {
    let sheet = Sheet::criss_cross(
        [0.5, 0.5 * length],
        [n, (n as f64 * length) as usize],
        |[x, y]| [x, y, 0.3 * (0.5 - x) * (0.5 * length - y) / length],
        |[x, y]| [x == 0.0, y == 0.0, x == 0.5 || y == 0.5 * length],
    );
    sheet.surface(8)
}

/// Pillows of width 1: volumes and thicknesses of an independent solver.
#[test]
fn pillows() {
    let cases = [(1.0, 0.202_64, 0.5056), (1.5, 0.358_78, 0.5932), (2.0, 0.517_65, 0.6247), (4.0, 1.154_39, 0.6389)];
    for (length, volume, thickness) in cases {
        let [coarse, fine] = [16, 32].map(|n| inflate(pillow(length, n), 200));
        let [before, error] = [coarse.volume / volume - 1.0, fine.volume / volume - 1.0];
        assert!(error.abs() <= 3e-3 && error.abs() < before.abs(), "{length}: {before} {error}");
        let thick = 2.0 * reach(&fine.positions, 2);
        assert!((thick / thickness - 1.0).abs() <= 1e-2, "{length}: {thick}");
        assert!(fine.converged && fine.largest_stretch <= 1.0 + 1e-3, "{length}");
    }
}

/// A long pillow holds w^2 h/pi - 0.1188 w^3, so one that is twice as long holds w^2 h/pi more.
#[test]
fn long_pillows_are_cylinders() {
    let [short, long] = [4.0, 8.0].map(|length| inflate(pillow(length, 16), 200).volume);
    let growth = (long - short) / (4.0 / core::f64::consts::PI);
    assert!((growth - 1.0).abs() <= 3e-3, "{growth}");
}

/// Half of a tube of girth 1000 mm, `n` chords long, held to length; it begins as a stadium `height` mm high.
fn tube(n: usize, height: f64) -> Surface {
    const HALF_GIRTH: f64 = 500.0;
    let (radius, arc) = (0.5 * height, 0.5 * core::f64::consts::PI * height);
    let flat = 0.5 * (HALF_GIRTH - arc);
    let section = |s: f64| {
        if s < flat {
            (s, 0.0)
        } else if s < flat + arc {
            let (sin, cos) = libm::sincos((s - flat) / radius);
            (flat + radius * sin, radius * (1.0 - cos))
        } else {
            (HALF_GIRTH - s, height)
        }
    };
    let in_mirror = |s: f64| s == 0.0 || s == HALF_GIRTH;
    let sheet = Sheet::criss_cross(
        [HALF_GIRTH, HALF_GIRTH],
        [n, 1],
        |[s, y]| {
            let (x, z) = section(s);
            [if in_mirror(s) { 0.0 } else { x }, y, z]
        },
        |[s, _]| [in_mirror(s), true, false],
    );
    sheet.surface(2)
}

/// A long tube on a floor: solutions of tension times curvature = head - z.
#[test]
fn tube_on_a_floor() {
    // Head, height, width, area of the section.
    for [head, height, width, area] in [[249.385, 201.343, 394.603, 66_589.4], [122.283, 119.27, 443.039, 46_213.7]] {
        let errors = [20, 40, 80].map(|n| {
            let found = lay(tube(n, height), area * 500.0, 200);
            assert!(found.converged);
            assert!((found.volume / (area * 500.0) - 1.0).abs() <= 1e-4);
            let high = reach(&found.positions, 2);
            [found.head / head - 1.0, high / height - 1.0, 2.0 * reach(&found.positions, 0) / width - 1.0]
        });
        assert!(errors[2].iter().all(|error| error.abs() <= 3e-3), "{errors:?}");
        assert!(errors[2][1].abs() < errors[0][1].abs(), "{errors:?}");
    }
}

/// A long cloth held along both edges, with a fluid in it: below the level tension times curvature = level - z, above it
/// the cloth is straight.
#[test]
fn a_trough_with_a_level() {
    const LEVEL: f64 = 200.0;
    const EDGE: f64 = 260.0;
    const LONG: f64 = 500.0;
    for tension in [25_000.0, 14_000.0] {
        // From the lowest point at z = 0 up one side: angle, place, and half the area of the fluid.
        let step = 1e-3;
        let (mut angle, mut x, mut z, mut length, mut area) = (0.0, 0.0, 0.0, 0.0, 0.0);
        let mut widest = 0.0;
        while z < EDGE {
            // By midpoints: the error is of the order of the step squared.
            let bend = |z: f64| f64::max(0.0, LEVEL - z) / tension;
            let half = angle + 0.5 * step * bend(z);
            let (s, c) = libm::sincos(half);
            angle += step * bend(z + 0.5 * step * s);
            if z + 0.5 * step * s < LEVEL {
                area += step * s * (x + 0.5 * step * c);
            }
            (x, z, length) = (x + step * c, z + step * s, length + step);
            widest = f64::max(widest, x);
        }
        let (edge, volume) = (x, 2.0 * area * LONG);
        let errors = [20, 40, 80].map(|n| {
            let sheet = Sheet::criss_cross(
                [length, LONG],
                [n, 1],
                |[s, y]| {
                    let share = s / length;
                    // Its outside, which is below, in front.
                    [edge * share, -y, 50.0 + (EDGE - 50.0) * share * share]
                },
                |[s, _]| if s == length { [true; 3] } else { [s == 0.0, true, false] },
            );
            let found = pour(sheet.surface(2), volume, LEVEL + 20.0, 200);
            assert!(found.converged, "{n}: {found:?}");
            assert!((found.volume / volume - 1.0).abs() <= 1e-4, "{}", found.volume);
            let low = -reach(&found.positions.iter().map(|at| at.map(|x| -x)).collect::<Vec<_>>(), 2);
            [found.head / LEVEL - 1.0, low / LEVEL, reach(&found.positions, 0) / widest - 1.0]
        });
        assert!(errors.iter().flatten().all(|error| error.abs() <= 1e-2), "{errors:?}");
        assert!(errors[2].iter().all(|error| error.abs() <= 1e-3), "{errors:?}");
    }
}

//! The filled shape against closed forms and against an independent solver's figures.

use sackwright::fill::{Surface, inflate, lay};

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

#[test]
fn mylar_balloon() {
    const EXACT: [f64; 3] = [1.218_524_216_1, 0.762_759_763_5, 0.913_893_162_1];
    let mut before: Option<[f64; 3]> = None;
    for (rings, spokes) in [(6, 6), (12, 12), (24, 24), (48, 48), (12, 24), (24, 48)] {
        let found = inflate(discs(rings, spokes), 200);
        let figures = [found.volume, reach(&found.positions, 0), 2.0 * reach(&found.positions, 2)];
        let errors = [0, 1, 2].map(|i| figures[i] / EXACT[i] - 1.0);
        println!("mylar {rings} {spokes} {errors:?} {} {}", found.iterations, found.largest_stretch);
        before = Some(errors);
    }
    let _ = before;
}

#[test]
fn pillows() {
    for (h, volume, thick) in [(1.0, 0.20264, 0.5056), (1.5, 0.35878, 0.5932), (2.0, 0.51765, 0.6247), (4.0, 1.15439, 0.6389)] {
        for n in [8, 16, 32] {
            let size = [0.5, 0.5 * h];
            let ny = (n as f64 * h) as usize;
            let sheet = Sheet::criss_cross(
                size,
                [n, ny],
                |[x, y]| [x, y, 0.3 * (0.5 - x) * (0.5 * h - y) / h],
                |[x, y]| [x == 0.0, y == 0.0, x == 0.5 || y == 0.5 * h],
            );
            let found = inflate(sheet.surface(8), 200);
            println!("pillow {h} {n} {:.4}% thick {:.4} ({thick}) it {} st {} conv {}", (found.volume / volume - 1.0) * 100.0, 2.0 * reach(&found.positions, 2), found.iterations, found.largest_stretch, found.converged);
        }
    }
}

#[test]
fn tube_on_a_floor() {
    // Perimeter 1000; head, height, width, area, contact.
    for [head, height, width, area, _contact] in [[249.385, 201.343, 394.603, 66589.4, 267.01], [122.283, 119.27, 443.039, 46213.7, 377.92]] {
        for n in [20, 40, 80] {
            // An ellipse-like rounded start of about the area: a stadium of the given height.
            let b = 0.5 * 1000.0;
            let h0 = height;
            let flat = (1000.0 - core::f64::consts::PI * h0) / 2.0;
            let sheet = Sheet::criss_cross(
                [b, 500.0],
                [n, 1],
                |[s, y]| {
                    // From the bottom's middle round to the top's.
                    let half = flat / 2.0;
                    let arc = core::f64::consts::PI * h0 / 2.0;
                    let (x, z) = if s < half { (s, 0.0) } else if s < half + arc {
                        let (sin, cos) = libm::sincos((s - half) / (h0 / 2.0));
                        (half + h0 / 2.0 * sin, h0 / 2.0 * (1.0 - cos))
                    } else { (b - s, h0) };
                    [if s == 0.0 || s == b { 0.0 } else { x }, y, z]
                },
                |[s, _]| [s == 0.0 || s == b, true, false],
            );
            let found = lay(sheet.surface(2), area * 500.0, 300);
            println!("tube {n} head {:.4}% height {:.4}% width {:.4}% it {} st {} conv {}", (found.head / head - 1.0) * 100.0, (reach(&found.positions, 2) / height - 1.0) * 100.0, (2.0 * reach(&found.positions, 0) / width - 1.0) * 100.0, found.iterations, found.largest_stretch, found.converged);
        }
    }
}

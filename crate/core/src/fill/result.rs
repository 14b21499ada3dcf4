//! What a solve comes back with.

use serde::{Deserialize, Serialize};

use super::mesh::{Grid, Panel, PanelMesh};

/// How far an answer may be trusted.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Trust {
    /// Largest principal stretch of any triangle; 1: nothing is stretched.
    pub largest_stretch: f64,
    /// Volume over the largest stretch cubed, l: the shape made smaller by that stretch lengthens nothing, so paper
    /// that can't be stretched holds at least this much (with stiff bottoms: one whose bottoms are as much smaller).
    pub lower_bound_l: f64,
    /// How far the shape's volume is from the one asked for, as a share; 0 for a capacity.
    pub volume_residual: f64,
    /// Newton iterations, all meshes and stages together.
    pub iterations: usize,
    /// Vertices of the finest mesh, mirrors not unfolded.
    pub vertices: usize,
    /// Mean edge of its rectangles, mm.
    pub mesh_mm: f64,
    /// By what share the answer (capacity: volume; lying: thickness; pressed: gap) changed from the next coarser mesh.
    /// After a small change of the sack only the finest mesh is solved on: then as it was before.
    pub change_from_coarser: Option<f64>,
    /// Did the last stage end because there was nothing left to gain?
    pub converged: bool,
}

/// Where the paper is tightest. In corners the exact tension is without limit, so the figure grows as meshes get finer;
/// the place stays.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Tightest {
    /// On which panel.
    pub panel: Panel,
    /// Where in space, mm.
    pub at_mm: [f64; 3],
    /// Tension over pressure, mm: the radius of the sphere's great circle or cylinder that would be as tight. Lying: over
    /// the pressure at the floor.
    pub tension_mm: f64,
}

/// What every filled shape has.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Shape {
    /// Volume, l.
    pub volume_l: f64,
    /// Overall thickness (height), mm.
    pub thickness_mm: f64,
    /// Overall length, mm.
    pub length_mm: f64,
    /// Overall width, mm.
    pub width_mm: f64,
    /// Share of the paper that carries tension in one direction at most: there it wrinkles.
    pub wrinkled_share: f64,
    /// Where the paper is tightest.
    pub tightest: Tightest,
}

/// The fully inflated sack.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Capacity {
    /// Its shape; its volume is the capacity.
    #[serde(flatten)]
    pub shape: Shape,
    /// How far to trust it.
    pub trust: Trust,
}

/// The filled sack lying on a floor.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Lying {
    /// Its shape.
    #[serde(flatten)]
    pub shape: Shape,
    /// Area on the floor, cm2: weight over the pressure at the floor, so volume over head.
    pub contact_cm2: f64,
    /// Head: height to which the product would stand in a pipe let into the sack, above the floor, mm.
    pub head_mm: f64,
    /// How far to trust it.
    pub trust: Trust,
}

/// The filled sack pressed between two level plates.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Pressed {
    /// Its shape; its thickness is the gap.
    #[serde(flatten)]
    pub shape: Shape,
    /// Distance of the plates, mm.
    pub gap_mm: f64,
    /// Area on each plate, cm2.
    pub contact_cm2: f64,
    /// How far to trust it.
    pub trust: Trust,
}

/// The filled sack standing on its plain bottom.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Standing {
    /// From the floor to the highest of the valve end, which a little air keeps up, mm.
    pub height_mm: f64,
    /// Overall width, mm.
    pub width_mm: f64,
    /// Overall thickness, mm.
    pub thickness_mm: f64,
    /// How far below the valve bottom the product's level stays, mm; 0: the product presses against it.
    pub level_mm: f64,
    /// What the floor carries, as a share of the product's weight: 1 but for errors of the numbers.
    pub carried: f64,
    /// Where the paper is tightest; tension over the pressure at the floor.
    pub tightest: Tightest,
    /// How far to trust it.
    pub trust: Trust,
}

/// The filled sack hanging on the spout, with its foot free or on a saddle.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Hanging {
    /// From the valve bottom, under which the spout lies, to the foot, mm.
    pub length_mm: f64,
    /// Overall width, mm.
    pub width_mm: f64,
    /// Overall thickness, mm.
    pub thickness_mm: f64,
    /// How far below the valve bottom the product's level stays, mm; 0: the product presses against it.
    pub level_mm: f64,
    /// What the spout carries, as a share of the product's weight.
    pub on_spout: f64,
    /// What the saddle carries, as a share of the product's weight; the two make 1 but for errors of the numbers.
    pub on_saddle: f64,
    /// Where the paper is tightest; tension over the pressure at the lowest point.
    pub tightest: Tightest,
    /// How far to trust it.
    pub trust: Trust,
}

/// Why there is no answer.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum FillError {
    /// The caller broke off.
    Cancelled,
    /// The volume is not one that the sack can take.
    Volume {
        /// Asked for, l.
        volume_l: f64,
        /// The sack's capacity, l.
        capacity_l: f64,
    },
    /// Plates that press the sack this flat would have to come closer than its stiff bottoms are wide, and no shape with
    /// leaning bottoms was found.
    BottomsStandOut {
        /// The wider bottom, mm.
        bottom_mm: f64,
        /// What the sack holds between plates so far apart, l.
        holds_l: f64,
    },
    /// The saddle is so near to the spout that the sack has no room above it.
    Saddle {
        /// From the valve bottom to the saddle, mm.
        saddle_mm: f64,
    },
    /// A mass is to be filled, and the sheet does not say of what.
    NoContents,
    /// A length is not finite and positive, or a bottom is not narrower than the face.
    Sizes,
}

/// The whole surface of a filled sack, mirrors unfolded, for pictures. Frame: x across the face, y along the sack towards
/// the valve end, z up with wall A above; lying, z = 0 is the floor, else the middle.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct FilledMesh {
    /// Positions, mm. Panels do not share vertices, as their charts differ.
    pub positions: Vec<[f64; 3]>,
    /// Place on the paper, mm. Walls: s round the sack from the middle of wall A over the side fold of x > 0 (negative:
    /// the other way), y along the sack from its middle towards the valve end. Bottoms: x across the face, distance from the bottom's edge
    /// on wall A.
    pub paper: Vec<[f64; 2]>,
    /// Panel of each vertex.
    pub panel: Vec<Panel>,
    /// Counter-clockwise seen from outside.
    pub triangles: Vec<[u32; 3]>,
}

impl FilledMesh {
    pub(crate) fn new(grid: &Grid, positions: &[[f64; 3]]) -> Self {
        let mut mesh = Self::default();
        let mirrors = grid.mirrors();
        let both: &[bool] = &[false, true];
        let images = |mirror: bool| if mirror { both } else { &both[..1] };
        for part in grid.panels() {
            for &left in both {
                for &end in images(mirrors.ends) {
                    for &wall in images(mirrors.walls) {
                        mesh.add(grid, positions, &part, [left, end, wall]);
                    }
                }
            }
        }
        mesh
    }

    fn add(&mut self, grid: &Grid, positions: &[[f64; 3]], part: &PanelMesh, [left, end, wall]: [bool; 3]) {
        let panel = part.panel;
        let image = match (panel, end, wall) {
            (Panel::ValveBottom, true, _) => Panel::PlainBottom,
            (Panel::Upper, _, true) => Panel::Lower,
            (panel, ..) => panel,
        };
        let first = self.positions.len();
        let sign = |flip: bool| if flip { -1.0 } else { 1.0 };
        for &(vertex, [a, b]) in &part.vertices {
            let [x, y, z] = positions[vertex as usize];
            self.positions.push([sign(left) * x, sign(end) * y, sign(wall) * z]);
            let bottom = matches!(panel, Panel::ValveBottom | Panel::PlainBottom);
            let across = |s: f64| sign(left) * s;
            self.paper.push(if bottom {
                let width = grid.sizes().bottoms[usize::from(image == Panel::PlainBottom)];
                [across(a), if wall { width - b } else { b }]
            } else {
                [across(if wall { grid.sizes().face_width - a } else { a }), sign(end) * b]
            });
            self.panel.push(image);
        }
        let turned = left ^ end ^ wall;
        self.triangles.extend(part.triangles.iter().map(|corners| {
            let [a, b, c] = corners.map(|corner| u32::try_from(first).unwrap_or(u32::MAX) + corner);
            if turned { [b, a, c] } else { [a, b, c] }
        }));
    }
}

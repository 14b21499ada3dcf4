//! Any surface, filled: what the solver is held against closed forms with.

use std::ops::ControlFlow;

use super::membrane::Load;
use super::newton::{System, Task};
use super::solve::{ANSWER, AT_REST, FIRM, PASSING, SOFT, STIFF, tension};
use super::surface::Surface;

/// A filled surface.
#[derive(Clone, Debug, PartialEq)]
pub struct Inflated {
    /// Volume of the whole surface, mirrors unfolded, mm3: inflated, that of a sheet that can't be stretched at all.
    pub volume: f64,
    /// Where its vertices are, mm.
    pub positions: Vec<[f64; 3]>,
    /// Pressure at z = 0 over weight per volume, mm, so the height of a level; 1 when inflated.
    pub head: f64,
    /// Largest principal stretch.
    pub largest_stretch: f64,
    /// Newton iterations.
    pub iterations: usize,
    /// Was nothing left to gain?
    pub converged: bool,
}

/// Inflates a surface to the largest volume over all shapes that lengthen no line on it.
///
/// `iterations` are Newton's at most, per stage. Facets are not made up for: the answer is the mesh's own.
#[must_use]
pub fn inflate(surface: Surface, iterations: usize) -> Inflated {
    let task = Task {
        stiffness: 0.0,
        limit: 1.0,
        load: Load::AIR,
        volume: None,
        heights: [f64::NEG_INFINITY, f64::INFINITY],
        tolerance: PASSING,
        iterations,
    };
    solve(surface, task, 1.0)
}

/// Fills a surface with `volume` mm3 of a heavy, frictionless fluid, lying on the floor z = 0.
///
/// It begins as the surface does, which should lie on the floor and hold about the volume.
#[must_use]
pub fn lay(surface: Surface, volume: f64, iterations: usize) -> Inflated {
    let height = surface.start.iter().map(|at| at[2]).fold(0.0, f64::max);
    let task = Task {
        stiffness: 0.0,
        limit: 1.0,
        load: Load::heavy(0.0),
        volume: Some(volume / surface.copies),
        heights: [0.0, f64::INFINITY],
        tolerance: PASSING,
        iterations,
    };
    solve(surface, task, 1.2 * height)
}

/// Pours `volume` mm3 of a heavy, frictionless fluid into a surface that holds it up to a level: a vessel, held somewhere.
///
/// It begins as the surface does, the fluid reaching up to z = `level`. Nothing keeps what is above the level open.
#[must_use]
pub fn pour(surface: Surface, volume: f64, level: f64, iterations: usize) -> Inflated {
    let task = Task {
        stiffness: 0.0,
        limit: 1.0,
        load: Load { air: Some(0.0), ..Load::heavy(level) },
        volume: Some(volume / surface.copies),
        heights: [f64::NEG_INFINITY, f64::INFINITY],
        tolerance: PASSING,
        iterations,
    };
    solve(surface, task, level)
}

fn solve(surface: Surface, mut task: Task, head: f64) -> Inflated {
    let copies = surface.copies;
    let mirrored = surface.held.iter().any(|held| held[2]);
    let start = surface.start.clone();
    let mut system = System::new(surface);
    let mut state = system.state(start, head);
    let mut inflated =
        Inflated { volume: 0.0, positions: Vec::new(), head, largest_stretch: 1.0, iterations: 0, converged: false };
    let last = if task.volume.is_some() { AT_REST } else { ANSWER };
    for (stiffness, tolerance) in [(SOFT, PASSING), (FIRM, PASSING), (STIFF, PASSING), (5.0 * STIFF, last)] {
        task.stiffness = stiffness * tension(&system, &task, &state, mirrored);
        task.tolerance = tolerance;
        let Ok(outcome) = system.minimise(&task, &mut state, &mut || ControlFlow::Continue(())) else { break };
        inflated.iterations += outcome.iterations;
        inflated.converged = outcome.converged;
        let stretching = if task.volume.is_some() { 0.0 } else { 2.0 * outcome.measure.stretching / state.head };
        inflated.volume = copies * (outcome.measure.volume - stretching);
    }
    let stretches = system.stretches(&state.positions, &task).map(|(_, stretch, _)| stretch.lambda[0]);
    inflated.largest_stretch = stretches.fold(1.0, f64::max);
    inflated.head = state.head;
    inflated.positions = state.positions;
    inflated
}

//! From the last answer to a start for other lengths, another volume or another gap: where the answer moves to first order.
//!
//! Positions scaled with the lengths are no good start. Paper as stiff as an answer's bears its tension within some
//! 1e-3 of stretch, so that a sack 5 mm longer has lost it, and Newton's first steps are spent on finding it again. Moved
//! by the derivative of the answer, with the stiffness of the answer's own tensions, the paper stays about as taut as it
//! was. The derivative of the forces is a finite difference over a small part of the change.

use super::mesh::{Grid, laid_down, upright};
use super::newton::{State, System, Task};
use super::solve::{Last, Level, Question};

/// Part of the change over which forces are compared.
const PART: f64 = 0.01;

impl Level {
    /// The last answer moved to the present lengths and to `volume`, mm3 of the whole sack, if one is given; with plates,
    /// the last of which were `gap` apart, to the gap that holds the volume. `None` where the derivative does not tell: on
    /// another mesh, and with plates without a mirror plane between them, where bottoms lean.
    pub(super) fn ahead(&mut self, volume: Option<f64>, gap: Option<&mut f64>) -> Option<State> {
        let last = self.last.take()?;
        let follows = last.grid.is_like(&self.grid) && (gap.is_none() || last.grid.mirrors().walls);
        let moved = if follows { self.moved(&last, volume, gap) } else { None };
        self.last = Some(last);
        moved
    }

    fn moved(&mut self, last: &Last, volume: Option<f64>, gap: Option<&mut f64>) -> Option<State> {
        let Last { state, task, .. } = last;
        let present = self.system.surface().clone();
        let copies = present.copies;
        let more = volume.map_or(0.0, |volume| (volume - last.volume) / copies);
        let near = last.grid.towards(&self.grid, PART);
        let mut near_task = *task;
        near_task.limit = near.facet_stretch();

        self.system.reshape(self.surface_of(&last.grid));
        let measure = self.system.measure(&state.positions, task, state.head);
        let tangent = self.system.tangent(task, state);
        let top = tangent.pressed_up.clone();

        self.system.reshape(self.surface_of(&near));
        let mut near_state = self.carried(&near, last);
        let found = self.system.measure(&near_state.positions, &near_task, near_state.head);
        // What the plates must give way by, as a share of their distance: what the sheet holds more by itself is the
        // gain of its energy (envelope theorem).
        let mut raise = 0.0;
        if gap.is_some() {
            let grown = (found.volume - found.stretching - measure.volume + measure.stretching) / PART;
            raise = (more - grown) * state.head / tangent.reaction;
            if !raise.is_finite() {
                self.system.reshape(present);
                return None;
            }
            lift(&mut near_state, &top, PART * raise);
        }
        let pulled = self.system.slopes(&near_task, &near_state);
        let miss = (found.volume - measure.volume) / PART - more;

        self.system.reshape(present);
        let mut present_task = *task;
        present_task.limit = self.grid.facet_stretch();
        present_task.heights[1] += raise;
        let mut carried = self.carried(&self.grid, last);
        lift(&mut carried, &top, raise);
        if let Some(gap) = gap {
            *gap += 2.0 * raise;
        }
        self.system.respond(&present_task, tangent, (&pulled, PART), miss, &carried)
    }

    /// The last answer on a mesh of the same topology, scaled with the lengths.
    fn carried(&self, grid: &Grid, last: &Last) -> State {
        let State { positions, head, .. } = &last.state;
        let positions = if matches!(self.kind.0, Question::Standing | Question::Hanging) {
            let lying: Vec<_> = positions.iter().map(|&at| laid_down(at)).collect();
            grid.carry(&last.grid, &lying).into_iter().map(upright).collect()
        } else {
            grid.carry(&last.grid, positions)
        };
        self.system.state(positions, *head)
    }
}

/// Moves the upper one of two plates with a mirror plane between them by `by` mm, and the sheet with it to first order.
pub(super) fn raise_plate(system: &mut System, task: &mut Task, state: &mut State, by: f64) {
    let tangent = system.tangent(task, state);
    let top = tangent.pressed_up.clone();
    let mut near = state.clone();
    lift(&mut near, &top, PART * by);
    let pulled = system.slopes(task, &near);
    lift(state, &top, by);
    task.heights[1] += by;
    if let Some(moved) = system.respond(task, tangent, (&pulled, PART), 0.0, state) {
        *state = moved;
    }
}

fn lift(state: &mut State, vertices: &[u32], by: f64) {
    for &v in vertices {
        state.positions[v as usize][2] += by;
    }
}

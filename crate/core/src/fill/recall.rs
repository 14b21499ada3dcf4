//! Answers kept while a study runs, so that one broken off goes on where it was.
//!
//! A study asks a solver many questions one after the other. Whoever has to look up now and then (a worker that may be given
//! a newer sheet) breaks off by the watch and asks for the same study again: answers are recalled, bit by bit the
//! same, and only the question that was broken off is taken up anew, from what the solver keeps of it.

use super::mesh::Sizes;
use super::result::{Capacity, FillError, Hanging, Lying, Pressed, Standing};
use super::solve::{Bottoms, Solver, Watch};

/// Answers to questions about one sack's lengths.
#[derive(Clone, Debug, Default)]
pub struct Recall {
    sizes: Option<Sizes>,
    capacities: Vec<(Bottoms, Capacity)>,
    lying: Vec<((Bottoms, f64), Lying)>,
    pressed: Vec<((Bottoms, f64), Result<Pressed, FillError>)>,
    standing: Vec<((Bottoms, f64), Standing)>,
    hanging: Vec<((Bottoms, f64), Hanging)>,
    /// A solver for other lengths, and the capacities that it found, l.
    other: Option<Solver>,
    others: Vec<((Sizes, Bottoms), f64)>,
    steps: usize,
}

impl Recall {
    /// Goes over to the solver's lengths: answers for others are forgotten.
    pub(crate) fn turn_to(&mut self, solver: &Solver) {
        if self.sizes != Some(solver.sizes()) {
            *self = Self { sizes: Some(solver.sizes()), steps: self.steps, ..Self::default() };
        }
    }

    /// Questions answered so far, recalled ones not counted again.
    #[must_use]
    pub const fn steps(&self) -> usize {
        self.steps
    }

    /// See [`Solver::capacity`].
    ///
    /// # Errors
    /// As there.
    pub fn capacity(
        &mut self,
        solver: &mut Solver,
        bottoms: Bottoms,
        watch: &mut Watch<'_>,
    ) -> Result<Capacity, FillError> {
        recalled(&mut self.capacities, &mut self.steps, bottoms, || solver.capacity(bottoms, watch))
    }

    /// The capacity in l of a sack of other lengths.
    ///
    /// # Errors
    /// As for [`Solver::set_sizes`] and [`Solver::capacity`].
    pub(crate) fn capacity_of(
        &mut self,
        solver: &Solver,
        sizes: Sizes,
        bottoms: Bottoms,
        watch: &mut Watch<'_>,
    ) -> Result<f64, FillError> {
        let other = &mut self.other;
        recalled(&mut self.others, &mut self.steps, (sizes, bottoms), || {
            let other = other.get_or_insert_with(|| solver.for_capacities());
            other.set_sizes(sizes)?;
            Ok(other.capacity(bottoms, watch)?.shape.volume_l)
        })
    }

    /// See [`Solver::lying`].
    ///
    /// # Errors
    /// As there.
    pub fn lying(
        &mut self,
        solver: &mut Solver,
        (bottoms, volume_l): (Bottoms, f64),
        watch: &mut Watch<'_>,
    ) -> Result<Lying, FillError> {
        recalled(&mut self.lying, &mut self.steps, (bottoms, volume_l), || solver.lying(bottoms, volume_l, watch))
    }

    /// See [`Solver::pressed`].
    ///
    /// # Errors
    /// As there.
    pub fn pressed(
        &mut self,
        solver: &mut Solver,
        (bottoms, volume_l): (Bottoms, f64),
        watch: &mut Watch<'_>,
    ) -> Result<Pressed, FillError> {
        // That it can't be pressed so flat is an answer too.
        recalled(&mut self.pressed, &mut self.steps, (bottoms, volume_l), || {
            match solver.pressed(bottoms, volume_l, watch) {
                Err(FillError::Cancelled) => Err(FillError::Cancelled),
                answer => Ok(answer),
            }
        })?
    }

    /// See [`Solver::standing`].
    ///
    /// # Errors
    /// As there.
    pub fn standing(
        &mut self,
        solver: &mut Solver,
        (bottoms, volume_l): (Bottoms, f64),
        watch: &mut Watch<'_>,
    ) -> Result<Standing, FillError> {
        let key = (bottoms, volume_l);
        recalled(&mut self.standing, &mut self.steps, key, || solver.standing(bottoms, volume_l, watch))
    }

    /// See [`Solver::hanging`], with the foot free.
    ///
    /// # Errors
    /// As there.
    pub fn hanging(
        &mut self,
        solver: &mut Solver,
        (bottoms, volume_l): (Bottoms, f64),
        watch: &mut Watch<'_>,
    ) -> Result<Hanging, FillError> {
        let key = (bottoms, volume_l);
        recalled(&mut self.hanging, &mut self.steps, key, || solver.hanging(bottoms, volume_l, None, watch))
    }
}

/// The answer to a question asked before, or a new one, which is kept.
fn recalled<K: PartialEq, A: Copy>(
    known: &mut Vec<(K, A)>,
    steps: &mut usize,
    question: K,
    ask: impl FnOnce() -> Result<A, FillError>,
) -> Result<A, FillError> {
    if let Some((_, answer)) = known.iter().find(|(asked, _)| *asked == question) {
        return Ok(*answer);
    }
    let answer = ask()?;
    known.push((question, answer));
    *steps += 1;
    Ok(answer)
}

//! Hanging on the spout, and standing on the plain bottom.
//!
//! The sack is upright, with its mirror planes between left and right and between the walls.
//!
//! Hanging, the product stands up to a level and presses below it like a heavy, frictionless fluid. Above it, and in it,
//! air of a small pressure keeps the sack open, as the packer's does: without it, paper that nothing presses would have
//! no shape. The level is found with the shape, as a lying sack's head is. The valve bottom is stiff and level, as it is
//! when the spout reaches well into it; a spout that reaches less lets the far corner hang lower. It carries what the saddle
//! under the foot does not.
//!
//! Standing, the product fills the sack to its top, as it fills a lying one.

use super::membrane::Load;
use super::mesh::{Panel, laid_down, upright};
use super::newton::{State, Task};
use super::result::{FillError, Hanging, Standing, Tightest};
use super::solve::{
    Answer, Bottoms, Compared, Last, Level, Question, Run, Solver, Watch, extents, first, with_neighbour,
};

/// Pressure of the air, as a share of the pressure under a product that stands as high as the sack is long.
pub(super) const AIR: f64 = 0.05;
/// Energy left to gain, in head times volume, in the end: an upright sack is softer than a lying one.
const UPRIGHT: f64 = 2e-7;
/// Share of the capacity below which a standing sack is refused: as a limp sack of fluid it would be a heap.
pub const LIMPEST: f64 = 0.85;
/// Thrust on the spout, as a share of the product's weight, above which the saddle is too near.
const MOST_THRUST: f64 = 0.5;
/// Share of the weight that spout and saddle may carry too much or too little, together, in an answer.
const MOST_UNBALANCED: f64 = 0.1;
/// Stretch above which no shape was found.
const MOST_STRETCHED: f64 = 1.02;

impl Solver {
    /// A volume in l of product, the sack standing on its plain bottom.
    ///
    /// The product fills it up to the top: a limp sack of a fluid settles until it does, and the less is in it, the wider it
    /// squats. A powder, which carries itself in part, and paper that is not limp stand higher: up to what the sack
    /// measures hanging. That it does not fall over is taken for granted.
    ///
    /// # Errors
    /// As for [`Solver::lying`], with [`LIMPEST`] for [`super::EMPTIEST`].
    pub fn standing(&mut self, bottoms: Bottoms, volume_l: f64, watch: &mut Watch<'_>) -> Result<Standing, FillError> {
        let volume = self.admit(bottoms, volume_l, watch)?;
        let capacity_l = self.capacities[bottoms as usize].unwrap_or(volume) * 1e-6;
        if volume_l < LIMPEST * capacity_l {
            return Err(FillError::Volume { volume_l, capacity_l });
        }
        let answer = self.upright(Question::Standing, bottoms, volume, 0.0, watch)?;
        let level = self.level(Question::Standing, bottoms)?;
        let found = level.found(&answer, volume)?;
        Ok(Standing {
            height_mm: found.height_mm,
            width_mm: found.width_mm,
            thickness_mm: found.thickness_mm,
            level_mm: found.level_mm,
            carried: found.on_floor + found.held,
            tightest: found.tightest,
            trust: level.trust(&answer, found.residual),
        })
    }

    /// A volume in l of product, the sack hanging on the spout by its valve bottom, which the spout holds level; the foot is
    /// free, or on a saddle `saddle_mm` below the valve bottom.
    ///
    /// # Errors
    /// As for [`Solver::lying`]; [`FillError::Saddle`] when the saddle leaves no room for the sack.
    pub fn hanging(
        &mut self,
        bottoms: Bottoms,
        volume_l: f64,
        saddle_mm: Option<f64>,
        watch: &mut Watch<'_>,
    ) -> Result<Hanging, FillError> {
        if let Some(saddle_mm) = saddle_mm
            && !(saddle_mm.is_finite() && saddle_mm > 0.0)
        {
            return Err(FillError::Saddle { saddle_mm });
        }
        let volume = self.admit(bottoms, volume_l, watch)?;
        // The valve bottom is held where the box has it.
        let valve = self.sizes.length;
        let low = saddle_mm.map_or(f64::NEG_INFINITY, |distance| valve - distance);
        let answer = self.upright(Question::Hanging, bottoms, volume, low, watch)?;
        let level = self.level(Question::Hanging, bottoms)?;
        let found = level.found(&answer, volume)?;
        let mut trust = level.trust(&answer, found.residual);
        // The valve bottom is stiff here: a filling near the capacity with free bottoms may not go in, and then the level's
        // pressure grows without limit.
        trust.converged &= (found.held + found.on_floor - 1.0).abs() <= MOST_UNBALANCED;
        if let Some(saddle_mm) = saddle_mm
            && !(found.held >= -MOST_THRUST && trust.largest_stretch <= MOST_STRETCHED)
        {
            return Err(FillError::Saddle { saddle_mm });
        }
        Ok(Hanging {
            length_mm: found.below_valve_mm,
            width_mm: found.width_mm,
            thickness_mm: found.thickness_mm,
            level_mm: found.level_mm,
            on_spout: found.held,
            on_saddle: found.on_floor,
            tightest: found.tightest,
            trust,
        })
    }

    fn upright(
        &mut self,
        question: Question,
        bottoms: Bottoms,
        volume: f64,
        low: f64,
        watch: &mut Watch<'_>,
    ) -> Result<Answer, FillError> {
        self.prepare(question, bottoms);
        let settings = self.settings;
        let (capacities, others) = self.ladders.split_at_mut(1);
        let full = &capacities[0][bottoms as usize];
        let ladder = &mut others[question as usize - 1][bottoms as usize];
        let levels = ladder.len();
        let mut iterations = 0;
        let mut compared = Compared::default();
        let mut answer = None;
        ladder.iter_mut().for_each(|level| level.take_up(volume, low));
        // Another saddle is a change that the derivative knows nothing of.
        let same_floor = |level: &Level| level.last.as_ref().is_some_and(|last| last.task.heights[0] == low);
        let is_same = ladder.last().is_some_and(same_floor);
        let from = if is_same { first(ladder, Some(volume)) } else { 0 };
        for index in from..levels {
            let (level, neighbour) = with_neighbour(ladder, index, |finest| is_same && finest.near(Some(volume)));
            let warm = level.near(Some(volume));
            let ahead = if warm && same_floor(level) { level.ahead(Some(volume), None) } else { None };
            let risen = || level.rise(neighbour, full.first(), warm);
            let mut state = ahead.or_else(risen).ok_or(FillError::Cancelled)?;
            let mut task = level.task(Load::heavy(state.head), settings);
            task.heights = [low, f64::INFINITY];
            task.volume = Some(volume / level.system.surface().copies);
            if question == Question::Hanging {
                task.load.air = Some(AIR * level.grid.sizes().length);
            }
            if neighbour.is_none() && !warm {
                level.begin(&task, &mut state, volume);
            }
            let mut run = Run { question, level: index, levels, iterations: &mut iterations, watch };
            let outcome = run.stages(level, &mut task, &mut state, warm, UPRIGHT)?;
            let change = compared.change(level, extents(&state.positions)[2]);
            level.keep(state, &task, volume, outcome.converged, change);
            answer = Some(Answer { outcome, task, iterations: 0, converged: outcome.converged, volume, change });
        }
        let mut answer = answer.ok_or(FillError::Cancelled)?;
        answer.iterations = iterations;
        Ok(answer)
    }
}

/// What is read off an upright sack; lengths in mm, loads as shares of the product's weight.
struct Found {
    height_mm: f64,
    width_mm: f64,
    thickness_mm: f64,
    /// From the highest of the valve bottom to the lowest point.
    below_valve_mm: f64,
    /// From the valve bottom down to the level.
    level_mm: f64,
    /// On the floor or saddle, less what a held bottom carries.
    on_floor: f64,
    /// What holds the held bottom.
    held: f64,
    tightest: Tightest,
    residual: f64,
}

impl Level {
    /// Where to begin: at the last answer, or a neighbouring mesh's, or the full sack set up.
    fn rise(&self, neighbour: Option<&Self>, full: Option<&Self>, warm: bool) -> Option<State> {
        let of = |last: &Last, lies: bool| {
            let positions: Vec<_> = if lies {
                last.state.positions.clone()
            } else {
                last.state.positions.iter().map(|&at| laid_down(at)).collect()
            };
            let positions = self.grid.carry(&last.grid, &positions);
            self.system.state(positions.into_iter().map(upright).collect(), last.state.head)
        };
        let from = if warm { self.last.as_ref() } else { neighbour.and_then(|level| level.last.as_ref()) };
        if let Some(last) = from {
            let mut state = of(last, false);
            state.shift = state.head / self.system.scale();
            return Some(state);
        }
        let mut state = of(full?.last.as_ref()?, true);
        let low = state.positions.iter().map(|at| at[2]).fold(f64::INFINITY, f64::min);
        let positions = state.positions.iter().map(|&[x, y, z]| [x, y, z - low]).collect();
        state = self.system.state(positions, self.grid.sizes().length);
        Some(state)
    }

    /// Where a coarse mesh begins with a volume: the full sack lowered until it holds no more, or the level that the
    /// volume has in it.
    fn begin(&self, task: &Task, state: &mut State, volume: f64) {
        let part = volume / self.system.surface().copies;
        if task.load.air.is_none() {
            let share = part / self.system.measure(&state.positions, task, state.head).volume;
            let positions = state.positions.iter().map(|&[x, y, z]| [x, y, share * z]).collect();
            *state = self.system.state(positions, 1.2 * share * state.head);
            return;
        }
        let (mut low, mut high) = (0.0, self.grid.sizes().length);
        for _ in 0..30 {
            let head = f64::midpoint(low, high);
            let below = self.system.measure(&state.positions, task, head).volume;
            *(if below < part { &mut low } else { &mut high }) = head;
        }
        state.head = high;
    }

    fn found(&self, answer: &Answer, volume: f64) -> Result<Found, FillError> {
        let Last { grid, state, .. } = self.last.as_ref().ok_or(FillError::Cancelled)?;
        let copies = self.system.surface().copies;
        let [x, y, z] = extents(&state.positions);
        let mut tightest = self.shape(answer, volume).tightest;
        tightest.at_mm = laid_down(tightest.at_mm);
        let tops = grid.panels().filter(|part| part.panel == Panel::ValveBottom).flat_map(|part| part.vertices);
        let heights = tops.map(|(vertex, _)| state.positions[vertex as usize][2]);
        let valve = heights.fold(f64::NEG_INFINITY, f64::max);
        let lowest = state.positions.iter().map(|at| at[2]).fold(f64::INFINITY, f64::min);
        Ok(Found {
            height_mm: z,
            width_mm: 2.0 * x,
            thickness_mm: 2.0 * y,
            below_valve_mm: valve - lowest,
            level_mm: (valve - state.head).max(0.0),
            on_floor: copies * self.system.reaction(&answer.task, state) / volume,
            held: copies * self.system.held_by(&answer.task, state) / volume,
            tightest,
            residual: (copies * answer.outcome.measure.volume / volume - 1.0).abs(),
        })
    }
}

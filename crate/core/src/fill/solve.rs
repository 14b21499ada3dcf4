//! From a sack to its filled shapes: meshes from coarse to fine, stages from soft to stiff, warm starts.
//!
//! One solve at a stiffness k gives the capacity of paper that can't be stretched to second order, by the envelope
//! theorem: V = V_k - 2 E/p. Dimensions are not that exact, so every mesh is solved once more with stiffer paper, and the
//! finest with paper that is stiffest where it is tightest.

use std::ops::ControlFlow;

use serde::{Deserialize, Serialize};

use super::ahead::raise_plate;
use super::membrane::Load;
use super::mesh::{Grid, Mirrors, Panel, Sizes, laid_down};
use super::newton::{Outcome, State, Stopped, System, Task};
use super::result::{Capacity, FillError, FilledMesh, Lying, Pressed, Shape, Tightest, Trust};
use super::surface::Surface;
use crate::sack::Sack;
use crate::sheet::End;

/// What the bottoms are taken to be.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Bottoms {
    /// Flat, rigid rectangles: 6 to 10 layers of pasted paper are nearly that.
    Stiff,
    /// Ordinary sheet, as free to wrinkle and bulge as the walls: the other limit.
    Free,
}

/// How fine the mesh is. Errors are against an independent solver on five sacks, both limits of the bottoms.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Detail {
    /// An eighth of the face width: volumes within 1.3 %, mostly 0.2 %; thicknesses within 2.1 %. For a slider that moves.
    Coarse,
    /// A sixteenth: volumes within 0.5 %, mostly 0.1 %; thicknesses within 1 %.
    Fine,
    /// A thirty-second: volumes within 0.3 %, mostly 0.05 %; thicknesses within 0.6 %.
    Finest,
}

impl Detail {
    /// Every detail, coarse to fine.
    pub const ALL: [Self; 3] = [Self::Coarse, Self::Fine, Self::Finest];

    /// Its name at the boundary.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Coarse => "coarse",
            Self::Fine => "fine",
            Self::Finest => "finest",
        }
    }

    /// Meshes are solved from coarse to fine.
    const fn levels(self) -> usize {
        match self {
            Self::Coarse => 2,
            Self::Fine => 3,
            Self::Finest => 4,
        }
    }
}

/// How to solve, apart from what.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Settings {
    /// How fine.
    pub detail: Detail,
    /// Newton iterations that one stage on one mesh may take.
    pub iterations: usize,
}

impl Default for Settings {
    fn default() -> Self {
        Self { detail: Detail::Finest, iterations: 150 }
    }
}

/// What is being solved for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Question {
    /// The largest volume.
    Capacity,
    /// A given volume, lying on a floor.
    Lying,
    /// A given volume, pressed between plates.
    Pressed,
    /// A given volume, standing on the plain bottom.
    Standing,
    /// A given volume, hanging on the spout.
    Hanging,
}

/// Plates, closed.
struct Closed {
    outcome: Outcome,
    /// mm3, of paper that can't be stretched.
    volume: f64,
    /// Area on each plate, mm2.
    contact: f64,
}

/// How far a solve has come.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Progress {
    /// What is being solved for.
    pub question: Question,
    /// Which mesh, from 0, coarse to fine.
    pub level: usize,
    /// How many meshes.
    pub levels: usize,
    /// Newton iterations so far.
    pub iterations: usize,
}

/// Called at every iteration; breaking off makes the solve end with [`FillError::Cancelled`].
pub type Watch<'a> = dyn FnMut(Progress) -> ControlFlow<()> + 'a;

/// The coarsest mesh's edge, in face widths; each next mesh halves it.
const COARSEST: f64 = 0.25;
/// Stiffnesses, in units of [`Level::tension`]: for the shape, for volumes, for dimensions.
pub(crate) const SOFT: f64 = 30.0;
pub(crate) const FIRM: f64 = 100.0;
pub(crate) const STIFF: f64 = 2000.0;
/// Stretch that the last stage leaves at most, about.
pub(crate) const MOST_STRETCH: f64 = 7e-4;
/// How many times that is let be where the paper was stiffened for it already.
const SLACKER: f64 = 1.6;
/// Stretch over the limit up to which an answer counts as converged.
const MOST_LEFT: f64 = 2e-3;
/// Energy left to gain, in head times volume, at the end of a stage: passing through, and for an answer. Below it,
/// Newton would only follow scallops that a mesh happens to allow.
pub(crate) const PASSING: f64 = 1e-4;
pub(crate) const ANSWER: f64 = 3e-6;
/// The same for a lying sack, whose height is softer than its volume.
pub(crate) const AT_REST: f64 = 1e-7;
/// Share of the capacity above which a filling is refused: the head of a full sack is without limit.
pub const FULLEST: f64 = 0.995;
/// Share of the capacity below which a filling is refused: a sack so empty is a heap of folds with many ways to lie, and
/// the solver has been seen to end in odd ones at a fifth.
pub const EMPTIEST: f64 = 0.4;
/// Changes of the lengths and of the volume, as shares, up to which the last answer is a good start.
const NEAR_LENGTHS: f64 = 0.025;
const NEAR_VOLUME: f64 = 0.06;
/// Change of the gap, as a share, that the sheet follows to first order.
const NEAR_GAP: f64 = 0.03;
/// Volume error with which plates are closed, and how often their gap is set at most.
const GAP_TOLERANCE: f64 = 2e-5;
const GAP_ROUNDS: usize = 12;

const MM3_PER_L: f64 = 1e6;
const MM2_PER_CM2: f64 = 100.0;

/// A mesh with its last answer.
#[derive(Clone, Debug)]
pub(super) struct Level {
    pub(super) grid: Grid,
    pub(super) system: System,
    /// What it is a mesh of.
    pub(super) kind: (Question, bool),
    pub(super) last: Option<Last>,
    /// The answer before, when it was for quite another volume or floor: a sack is asked about as filled and settled in turn.
    other: Option<Last>,
}

/// An answer, with the mesh it belongs to.
#[derive(Clone, Debug)]
pub(super) struct Last {
    pub(super) grid: Grid,
    pub(super) state: State,
    pub(super) task: Task,
    pub(super) volume: f64,
    pub(super) converged: bool,
    /// Share by which it differed from the next coarser mesh's.
    pub(super) change: Option<f64>,
    /// How much stiffer than the task says its triangles were taken to be.
    stiffening: Vec<f64>,
}

impl Last {
    /// Is it about nearly the same volume, mm3, above the same floor?
    fn is_about(&self, volume: f64, floor: f64) -> bool {
        self.task.heights[0] == floor && is_near(self.volume, volume, NEAR_VOLUME)
    }
}

/// The meshes of one question.
pub(super) type Ladder = Vec<Level>;

/// The first mesh to be solved on; a volume is in mm3. Where the finest mesh's last answer is a good start, it is the finest
/// alone, or, where the next coarser one's answer no longer tells how far meshes differ, these two.
pub(super) fn first(ladder: &[Level], volume: Option<f64>) -> usize {
    match ladder {
        [.., coarser, finest] if finest.near(volume) => ladder.len() - if coarser.near(volume) { 1 } else { 2 },
        _ => 0,
    }
}

/// A mesh, and the one whose answer it begins with when its own last one is no good start: the finest where that `is_near`,
/// or the next coarser.
pub(super) fn with_neighbour(
    ladder: &mut [Level],
    index: usize,
    is_near: impl Fn(&Level) -> bool,
) -> (&mut Level, Option<&Level>) {
    let (coarser, rest) = ladder.split_at_mut(index);
    let (level, finer) = rest.split_at_mut(1);
    (&mut level[0], finer.last().filter(|finest| is_near(finest)).or(coarser.last()))
}

/// The figure that is compared from mesh to mesh, on the last mesh solved on.
#[derive(Default)]
pub(super) struct Compared(Option<f64>);

impl Compared {
    /// The share by which a mesh's figure differs from the next coarser mesh's; the last one known where that was not
    /// solved anew.
    pub(super) fn change(&mut self, level: &Level, figure: f64) -> Option<f64> {
        let known = || level.last.as_ref().and_then(|last| last.change);
        self.0.replace(figure).map_or_else(known, |coarser| Some(figure / coarser - 1.0))
    }
}

/// Solves for the filled shapes of one sack, and keeps its answers as starts for the next.
#[derive(Clone, Debug)]
pub struct Solver {
    pub(super) sizes: Sizes,
    pub(super) settings: Settings,
    /// By question and bottoms.
    pub(super) ladders: [[Ladder; 2]; 5],
    /// Stiff bottoms that lean between the plates.
    leaning: Ladder,
    /// Do they, in the last answer?
    leans: bool,
    /// Capacities found, mm3, by bottoms.
    pub(super) capacities: [Option<f64>; 2],
}

/// An answer before it is put in words.
pub(super) struct Answer {
    pub(super) outcome: Outcome,
    pub(super) task: Task,
    pub(super) iterations: usize,
    pub(super) converged: bool,
    /// Volume of the whole sack if its paper could not be stretched, mm3.
    pub(super) volume: f64,
    pub(super) change: Option<f64>,
}

impl Solver {
    /// A solver for a surface given by its lengths, also where no sack can be folded to it (bottoms up to nearly the
    /// face width).
    ///
    /// # Errors
    /// [`FillError::Sizes`] when a length is not between a thousandth of a mm and a km, or a bottom not narrower than the
    /// face.
    pub fn with_sizes(sizes: Sizes, settings: Settings) -> Result<Self, FillError> {
        if !sizes.are_sound() {
            return Err(FillError::Sizes);
        }
        Ok(Self {
            sizes,
            settings,
            ladders: Default::default(),
            leaning: Vec::new(),
            leans: false,
            capacities: [None; 2],
        })
    }

    /// A solver for a sack's surface.
    #[must_use]
    pub fn new(sack: &Sack, settings: Settings) -> Self {
        Self {
            sizes: sizes(sack),
            settings,
            ladders: Default::default(),
            leaning: Vec::new(),
            leans: false,
            capacities: [None; 2],
        }
    }

    /// Goes over to another sack. What was found becomes the start: the smaller the change, the sooner the answer.
    pub fn set_sack(&mut self, sack: &Sack) {
        self.turn_to(sizes(sack));
    }

    /// Goes over to other lengths; see [`Solver::set_sack`].
    ///
    /// # Errors
    /// As for [`Solver::with_sizes`]; the solver is left as it was.
    pub fn set_sizes(&mut self, sizes: Sizes) -> Result<(), FillError> {
        if !sizes.are_sound() {
            return Err(FillError::Sizes);
        }
        self.turn_to(sizes);
        Ok(())
    }

    /// A solver of its own that begins at what is known of the capacities.
    pub(crate) fn for_capacities(&self) -> Self {
        let mut ladders: [[Ladder; 2]; 5] = Default::default();
        ladders[Question::Capacity as usize].clone_from(&self.ladders[Question::Capacity as usize]);
        Self { ladders, leaning: Vec::new(), ..*self }
    }

    /// The lengths of the sack that it is at.
    #[must_use]
    pub const fn sizes(&self) -> Sizes {
        self.sizes
    }

    fn turn_to(&mut self, sizes: Sizes) {
        if sizes != self.sizes {
            self.sizes = sizes;
            self.capacities = [None; 2];
        }
    }

    /// The largest volume over all shapes that lengthen no line on the paper.
    ///
    /// # Errors
    /// [`FillError::Cancelled`] when `watch` breaks off. A solve that does not converge is no error: see
    /// [`Trust::converged`].
    pub fn capacity(&mut self, bottoms: Bottoms, watch: &mut Watch<'_>) -> Result<Capacity, FillError> {
        let answer = self.inflate(bottoms, watch)?;
        let level = self.level(Question::Capacity, bottoms)?;
        let shape = level.shape(&answer, answer.volume);
        Ok(Capacity { shape, trust: level.trust(&answer, 0.0) })
    }

    fn inflate(&mut self, bottoms: Bottoms, watch: &mut Watch<'_>) -> Result<Answer, FillError> {
        self.prepare(Question::Capacity, bottoms);
        let settings = self.settings;
        let ladder = &mut self.ladders[Question::Capacity as usize][bottoms as usize];
        let levels = ladder.len();
        let mut iterations = 0;
        let mut compared = Compared::default();
        let mut answer = None;
        for index in first(ladder, None)..levels {
            let (level, neighbour) = with_neighbour(ladder, index, |finest| finest.near(None));
            let warm = level.near(None);
            let ahead = if warm { level.ahead(None, None) } else { None };
            let mut state = ahead.unwrap_or_else(|| level.start(neighbour, warm));
            let mut task = level.task(Load::AIR, settings);
            let mut run =
                Run { question: Question::Capacity, level: index, levels, iterations: &mut iterations, watch };
            let outcome = run.stages(level, &mut task, &mut state, warm, ANSWER)?;
            let copies = level.system.surface().copies;
            let volume = copies * (outcome.measure.volume - 2.0 * outcome.measure.stretching);
            let change = compared.change(level, volume);
            level.keep(state, &task, volume, outcome.converged, change);
            answer = Some(Answer { outcome, task, iterations: 0, converged: outcome.converged, volume, change });
        }
        let mut answer = answer.ok_or(FillError::Cancelled)?;
        answer.iterations = iterations;
        self.capacities[bottoms as usize] = Some(answer.volume);
        Ok(answer)
    }

    /// A volume in l of a heavy, frictionless fluid, the sack lying on a flat floor: aerated powder, nearly.
    ///
    /// # Errors
    /// [`FillError::Volume`] when it is not between 40 and 99.5 % of the capacity;
    /// [`FillError::Cancelled`] when `watch` breaks off.
    pub fn lying(&mut self, bottoms: Bottoms, volume_l: f64, watch: &mut Watch<'_>) -> Result<Lying, FillError> {
        let volume = self.admit(bottoms, volume_l, watch)?;
        let (answer, head) = self.lay(bottoms, volume, watch)?;
        let level = self.level(Question::Lying, bottoms)?;
        let shape = level.shape(&answer, volume);
        let state = level.last.as_ref().map(|last| &last.state).ok_or(FillError::Cancelled)?;
        let copies = level.system.surface().copies;
        let contact = copies * level.system.reaction(&answer.task, state) / head;
        let found = copies * answer.outcome.measure.volume;
        Ok(Lying {
            shape,
            contact_cm2: contact / MM2_PER_CM2,
            head_mm: head,
            trust: level.trust(&answer, (found / volume - 1.0).abs()),
        })
    }

    fn lay(&mut self, bottoms: Bottoms, volume: f64, watch: &mut Watch<'_>) -> Result<(Answer, f64), FillError> {
        self.prepare(Question::Lying, bottoms);
        let settings = self.settings;
        let [capacity, lying, ..] = &mut self.ladders;
        let (capacity, ladder) = (&capacity[bottoms as usize], &mut lying[bottoms as usize]);
        let levels = ladder.len();
        let mut iterations = 0;
        let mut compared = Compared::default();
        let mut answer = None;
        ladder.iter_mut().for_each(|level| level.take_up(volume, 0.0));
        for index in first(ladder, Some(volume))..levels {
            let (level, neighbour) = with_neighbour(ladder, index, |finest| finest.near(Some(volume)));
            let copies = level.system.surface().copies;
            let warm = level.near(Some(volume));
            let ahead = if warm { level.ahead(Some(volume), None) } else { None };
            let mut state = if let Some(ahead) = ahead {
                ahead
            } else if warm || neighbour.is_some() {
                level.start(neighbour, warm)
            } else {
                level.squashed(&capacity[0], volume).ok_or(FillError::Cancelled)?
            };
            let mut task = level.task(Load::heavy(state.head), settings);
            task.volume = Some(volume / copies);
            task.heights = [0.0, f64::INFINITY];
            let mut run = Run { question: Question::Lying, level: index, levels, iterations: &mut iterations, watch };
            let outcome = run.stages(level, &mut task, &mut state, warm, AT_REST)?;
            let change = compared.change(level, extents(&state.positions)[2]);
            let head = state.head;
            level.keep(state, &task, volume, outcome.converged, change);
            let found = Answer { outcome, task, iterations: 0, converged: outcome.converged, volume, change };
            answer = Some((found, head));
        }
        let (mut answer, head) = answer.ok_or(FillError::Cancelled)?;
        answer.iterations = iterations;
        Ok((answer, head))
    }

    /// The smallest distance of two level plates between which the sack holds a volume in l: as belts flatten it before
    /// palletising.
    ///
    /// Stiff bottoms stand upright as long as the plates leave them room, then lean, both the same way: so both walls
    /// keep their length.
    ///
    /// # Errors
    /// As for [`Solver::lying`]; [`FillError::BottomsStandOut`] when bottoms that must lean come to no rest.
    pub fn pressed(&mut self, bottoms: Bottoms, volume_l: f64, watch: &mut Watch<'_>) -> Result<Pressed, FillError> {
        let volume = self.admit(bottoms, volume_l, watch)?;
        self.leans &= bottoms != Bottoms::Stiff;
        match self.press(bottoms, volume, watch) {
            Err(FillError::BottomsStandOut { bottom_mm, holds_l }) => {
                self.leans = true;
                let pressed = self.press(bottoms, volume, watch)?;
                if pressed.trust.converged {
                    Ok(pressed)
                } else {
                    self.leaning.clear();
                    self.leans = false;
                    Err(FillError::BottomsStandOut { bottom_mm, holds_l })
                }
            }
            other => other,
        }
    }

    fn press(&mut self, bottoms: Bottoms, volume: f64, watch: &mut Watch<'_>) -> Result<Pressed, FillError> {
        self.prepare(Question::Pressed, bottoms);
        let settings = self.settings;
        let [capacity, _, pressed, ..] = &mut self.ladders;
        let leans = self.leans && bottoms == Bottoms::Stiff;
        let ladder = if leans { &mut self.leaning } else { &mut pressed[bottoms as usize] };
        let capacity = &capacity[bottoms as usize];
        let levels = ladder.len();
        let mut iterations = 0;
        let mut compared = Compared::default();
        let mut gap = 0.0;
        let mut pressed = None;
        let floor = if leans { 0.0 } else { f64::NEG_INFINITY };
        ladder.iter_mut().for_each(|level| level.take_up(volume, floor));
        let from = first(ladder, Some(volume));
        for index in from..levels {
            let (level, neighbour) = with_neighbour(ladder, index, |finest| finest.near(Some(volume)));
            let warm = level.near(Some(volume));
            let mut ahead = None;
            if warm {
                let mut apart = level.last_gap();
                ahead = level.ahead(Some(volume), Some(&mut apart)).map(|state| (state, apart));
            }
            let is_ahead = ahead.is_some();
            let mut state = if let Some((state, apart)) = ahead {
                gap = apart;
                state
            } else if warm || neighbour.is_some() {
                level.start(neighbour, warm)
            } else {
                level.squashed(&capacity[0], volume).ok_or(FillError::Cancelled)?
            };
            if !is_ahead && index == from {
                gap = extents(&state.positions)[2] * if level.grid.mirrors().walls { 2.0 } else { 1.0 };
            }
            let mut task = level.task(Load::AIR, settings);
            state.head = 1.0;
            let mut run = Run { question: Question::Pressed, level: index, levels, iterations: &mut iterations, watch };
            let warm = warm && level.has_last_mesh();
            if !warm {
                level.system.soften();
                run.close(level, &mut task, &mut state, &mut gap, volume, (FIRM, PASSING))?;
            }
            let mut found = run.close(level, &mut task, &mut state, &mut gap, volume, (STIFF, ANSWER))?;
            if index + 1 == levels {
                // A warm start has its paper stiffened already, for nearly the same tensions.
                let allowed = if warm { SLACKER * MOST_STRETCH } else { MOST_STRETCH };
                if level.stretch_over(&task, &state) > allowed {
                    level.system.stiffen(&state.positions, &task, MOST_STRETCH);
                    found = run.close(level, &mut task, &mut state, &mut gap, volume, (STIFF, ANSWER))?;
                }
            }
            let change = compared.change(level, gap);
            level.keep(state, &task, volume, found.outcome.converged, change);
            pressed = Some((found, task, change));
        }
        let (found, task, change) = pressed.ok_or(FillError::Cancelled)?;
        let level = self.level(Question::Pressed, bottoms)?;
        let answer =
            Answer { outcome: found.outcome, task, iterations, converged: found.outcome.converged, volume, change };
        let shape = level.shape(&answer, volume);
        Ok(Pressed {
            shape,
            gap_mm: gap,
            contact_cm2: found.contact / MM2_PER_CM2,
            trust: level.trust(&answer, (found.volume / volume - 1.0).abs()),
        })
    }

    /// Checks a volume in l against the capacity; in mm3.
    pub(super) fn admit(&mut self, bottoms: Bottoms, volume_l: f64, watch: &mut Watch<'_>) -> Result<f64, FillError> {
        let capacity = match self.capacities[bottoms as usize] {
            Some(capacity) => capacity,
            None => self.inflate(bottoms, watch)?.volume,
        };
        let volume = volume_l * MM3_PER_L;
        if volume >= EMPTIEST * capacity && volume <= FULLEST * capacity {
            Ok(volume)
        } else {
            Err(FillError::Volume { volume_l, capacity_l: capacity / MM3_PER_L })
        }
    }

    /// The whole surface of the last answer to a question, for pictures; `None` when it has not been solved yet. Standing
    /// and hanging sacks, too, have y along the sack: up.
    #[must_use]
    pub fn mesh(&self, question: Question, bottoms: Bottoms) -> Option<FilledMesh> {
        let level = self.level(question, bottoms).ok()?;
        let Last { grid, state, .. } = level.last.as_ref()?;
        let laid: Vec<[f64; 3]>;
        let positions = if matches!(question, Question::Standing | Question::Hanging) {
            laid = state.positions.iter().map(|&at| laid_down(at)).collect();
            &laid
        } else {
            &state.positions
        };
        Some(FilledMesh::new(grid, positions))
    }

    pub(super) fn level(&self, question: Question, bottoms: Bottoms) -> Result<&Level, FillError> {
        let ladder = if self.is_leaning(question, bottoms) {
            &self.leaning
        } else {
            &self.ladders[question as usize][bottoms as usize]
        };
        ladder.last().ok_or(FillError::Cancelled)
    }

    fn is_leaning(&self, question: Question, bottoms: Bottoms) -> bool {
        self.leans && question == Question::Pressed && bottoms == Bottoms::Stiff
    }

    /// Meshes for a question; what fits is kept.
    pub(super) fn prepare(&mut self, question: Question, bottoms: Bottoms) {
        let leans = self.is_leaning(question, bottoms);
        let upright = matches!(question, Question::Standing | Question::Hanging);
        let ends = self.sizes.bottoms[0] == self.sizes.bottoms[1] && !leans && !upright;
        let walls = question != Question::Lying && !leans;
        let mirrors = Mirrors { ends, walls };
        let stiff = bottoms == Bottoms::Stiff;
        let [capacity, others @ ..] = &mut self.ladders;
        let (full, ladder) = match question {
            Question::Capacity => (None, &mut capacity[bottoms as usize]),
            Question::Pressed if leans => (None, &mut self.leaning),
            Question::Pressed => {
                (Some(&capacity[bottoms as usize]), &mut others[question as usize - 1][bottoms as usize])
            }
            _ => (None, &mut others[question as usize - 1][bottoms as usize]),
        };
        let mut edge = COARSEST * self.sizes.face_width;
        for index in 0..self.settings.detail.levels() {
            let grid = Grid::new(self.sizes, mirrors, edge);
            edge *= 0.5;
            let surface = surface_of(&grid, (question, stiff));
            match ladder.get_mut(index) {
                Some(level) => {
                    if let Some(surface) = level.system.reshape(surface) {
                        level.system = System::new(surface);
                    }
                    level.grid = grid;
                }
                None => {
                    // The full sack's mesh is the same one, and analysed already.
                    let known = full.and_then(|full| full.get(index)).map(|level| level.system.clone());
                    let system = match known {
                        Some(mut system) => match system.reshape(surface) {
                            Some(surface) => System::new(surface),
                            None => system,
                        },
                        None => System::new(surface),
                    };
                    ladder.push(Level { grid, system, kind: (question, stiff), last: None, other: None });
                }
            }
        }
    }
}

/// One solve on one mesh, and who is told of it.
pub(super) struct Run<'a, 'w> {
    pub(super) question: Question,
    pub(super) level: usize,
    pub(super) levels: usize,
    pub(super) iterations: &'a mut usize,
    pub(super) watch: &'a mut Watch<'w>,
}

impl Run<'_, '_> {
    /// Every stage of one mesh, from soft paper to stiff, to `finest` on the finest mesh, which is tightened too. A warm
    /// start on a mesh of the same cells needs the last one only, and only the coarsest mesh begins with the softest.
    pub(super) fn stages(
        &mut self,
        level: &mut Level,
        task: &mut Task,
        state: &mut State,
        warm: bool,
        finest: f64,
    ) -> Result<Outcome, FillError> {
        if !(warm && level.has_last_mesh()) {
            level.system.soften();
            if self.level == 0 {
                self.stage(level, task, state, SOFT, PASSING)?;
            }
            self.stage(level, task, state, FIRM, PASSING)?;
        }
        if self.level + 1 < self.levels {
            return self.stage(level, task, state, STIFF, ANSWER);
        }
        let outcome = self.stage(level, task, state, STIFF, finest)?;
        self.tighten(level, task, state, outcome)
    }

    /// One stage at one stiffness.
    fn stage(
        &mut self,
        level: &mut Level,
        task: &mut Task,
        state: &mut State,
        stiffness: f64,
        tolerance: f64,
    ) -> Result<Outcome, FillError> {
        task.stiffness = stiffness * level.tension(task, state);
        task.tolerance = tolerance;
        let before = *self.iterations;
        let mut count = 0;
        let (question, at, levels) = (self.question, self.level, self.levels);
        let watch = &mut *self.watch;
        let outcome = level.system.minimise(task, state, &mut || {
            count += 1;
            watch(Progress { question, level: at, levels, iterations: before + count })
        });
        *self.iterations += count;
        outcome.map_err(|Stopped| FillError::Cancelled)
    }

    /// Closes the plates until the sack holds a volume (of paper that can't be stretched). The volume grows with the gap
    /// by the contact area times the gap's growth, so this is Newton's method on the gap.
    fn close(
        &mut self,
        level: &mut Level,
        task: &mut Task,
        state: &mut State,
        gap: &mut f64,
        volume: f64,
        (stiffness, tolerance): (f64, f64),
    ) -> Result<Closed, FillError> {
        let mirrored = level.grid.mirrors().walls;
        let least = if mirrored { level.least_gap() } else { 0.0 };
        *gap = gap.max(least);
        let copies = level.system.surface().copies;
        let mut round = 0;
        loop {
            task.heights = if mirrored { [f64::NEG_INFINITY, 0.5 * *gap] } else { [0.0, *gap] };
            if !mirrored {
                level.system.lean(task, state);
            }
            let mut outcome = self.stage(level, task, state, stiffness, tolerance)?;
            let found = copies * (outcome.measure.volume - 2.0 * outcome.measure.stretching / state.head);
            let push = if mirrored { 0.5 * level.system.reaction(task, state) } else { level.system.push(task, state) };
            let contact = copies * push / state.head;
            let miss = found - volume;
            let near = miss.abs() <= GAP_TOLERANCE * volume;
            if near || round == GAP_ROUNDS || (tolerance > ANSWER && round > 0) {
                outcome.converged &= near;
                return Ok(Closed { outcome, volume: found, contact });
            }
            // Without contact the plates are still too far apart.
            let next = *gap - miss / contact.max(0.02 * volume / *gap);
            let next = next.clamp(0.5 * *gap, 1.5 * *gap).max(least);
            if next == *gap {
                return Err(FillError::BottomsStandOut { bottom_mm: least, holds_l: found / MM3_PER_L });
            }
            if mirrored && (next / *gap - 1.0).abs() <= NEAR_GAP {
                raise_plate(&mut level.system, task, state, 0.5 * (next - *gap));
            } else {
                let share = (next / *gap).min(1.0);
                for at in &mut state.positions {
                    at[2] *= share;
                }
            }
            *gap = next;
            round += 1;
        }
    }

    /// Stiffens the paper where it is tightest until nothing is stretched by much.
    fn tighten(
        &mut self,
        level: &mut Level,
        task: &mut Task,
        state: &mut State,
        mut outcome: Outcome,
    ) -> Result<Outcome, FillError> {
        let tolerance = task.tolerance;
        for _ in 0..3 {
            if !outcome.converged || level.stretch_over(task, state) <= SLACKER * MOST_STRETCH {
                break;
            }
            level.system.stiffen(&state.positions, task, MOST_STRETCH);
            outcome = self.stage(level, task, state, STIFF, tolerance)?;
        }
        Ok(outcome)
    }
}

impl Level {
    pub(super) fn keep(&mut self, state: State, task: &Task, volume: f64, converged: bool, change: Option<f64>) {
        let stiffening = self.system.stiffening().to_vec();
        let last = Last { grid: self.grid.clone(), state, task: *task, volume, converged, change, stiffening };
        let before = self.last.replace(last);
        if before.as_ref().is_some_and(|before| !before.is_about(volume, task.heights[0])) {
            self.other = before;
        }
    }

    /// Takes up the answer before the last one where that, and not the last, is about a volume in mm3 above a floor.
    pub(super) fn take_up(&mut self, volume: f64, floor: f64) {
        let is_it = |last: &Option<Last>| last.as_ref().is_some_and(|last| last.is_about(volume, floor));
        if !is_it(&self.last) && is_it(&self.other) {
            std::mem::swap(&mut self.last, &mut self.other);
            if let Some(last) = &self.last {
                self.system.take_stiffening(&last.stiffening);
            }
        }
    }

    /// The largest principal stretch over its limit.
    fn stretch_over(&self, task: &Task, state: &State) -> f64 {
        let most = self.system.stretches(&state.positions, task).map(|(_, stretch, _)| stretch.lambda[0]);
        most.fold(0.0, f64::max) / task.limit - 1.0
    }

    pub(super) fn surface_of(&self, grid: &Grid) -> Surface {
        surface_of(grid, self.kind)
    }

    pub(super) fn task(&self, load: Load, settings: Settings) -> Task {
        Task {
            stiffness: 0.0,
            limit: self.grid.facet_stretch(),
            load,
            volume: None,
            heights: [f64::NEG_INFINITY, f64::INFINITY],
            tolerance: ANSWER,
            iterations: settings.iterations,
        }
    }

    /// A tension that stiffnesses are multiples of: the pressure at half the height times twice the thickness. A flat
    /// sack is under little tension, and paper much stiffer than that would only hamper the solver.
    fn tension(&self, task: &Task, state: &State) -> f64 {
        tension(&self.system, task, state, self.grid.mirrors().walls)
    }

    /// How far plates with a mirror plane between them were apart, scaled to the present lengths.
    fn last_gap(&self) -> f64 {
        self.last.as_ref().map_or(0.0, |last| {
            2.0 * last.task.heights[1] * self.grid.sizes().face_width / last.grid.sizes().face_width
        })
    }

    /// Stiff bottoms stand upright between the plates, mm.
    fn least_gap(&self) -> f64 {
        let [valve, plain] = self.grid.sizes().bottoms;
        if self.system.surface().plates.is_empty() { 0.0 } else { valve.max(plain) }
    }

    /// Is the last answer near enough to begin with: lengths, and a given volume, within some per cent?
    pub(super) fn near(&self, volume: Option<f64>) -> bool {
        self.last.as_ref().is_some_and(|last| {
            let (old, new) = (last.grid.sizes(), self.grid.sizes());
            last.converged
                && is_near(old.face_width, new.face_width, NEAR_LENGTHS)
                && is_near(old.length, new.length, NEAR_LENGTHS)
                && (0..2).all(|end| is_near(old.bottoms[end], new.bottoms[end], NEAR_LENGTHS))
                && last.grid.mirrors() == self.grid.mirrors()
                && volume.is_none_or(|volume| is_near(last.volume, volume, NEAR_VOLUME))
        })
    }

    /// Is the last answer on a mesh of the same topology?
    pub(super) fn has_last_mesh(&self) -> bool {
        self.last.as_ref().is_some_and(|last| last.grid.is_like(&self.grid))
    }

    /// Where to begin: at the last answer, or a neighbouring mesh's, or as a box.
    fn start(&self, neighbour: Option<&Self>, warm: bool) -> State {
        let neighbour = || neighbour.and_then(|level| level.last.as_ref());
        let from = if warm { self.last.as_ref() } else { neighbour() };
        match from {
            Some(Last { grid, state, .. }) => {
                let mut start = self.system.state(self.grid.carry(grid, &state.positions), state.head);
                start.shift = state.head / self.system.scale();
                start
            }
            None => self.system.state(self.system.surface().start.clone(), 1.0),
        }
    }

    /// The full sack pressed flat to a volume: heights are scaled, which lengthens nothing, and the lowest is 0.
    fn squashed(&self, full: &Self, volume: f64) -> Option<State> {
        let Last { grid, state, .. } = full.last.as_ref()?;
        let mut positions = self.grid.carry(grid, &state.positions);
        let of = self.system.measure(&positions, &self.task(Load::AIR, Settings::default()), 1.0).volume;
        let share = volume / (of * self.system.surface().copies);
        let low = positions.iter().map(|at| at[2]).fold(f64::INFINITY, f64::min) * share;
        let low = if self.grid.mirrors().walls { 0.0 } else { low };
        for at in &mut positions {
            at[2] = at[2] * share - low;
        }
        let thickness = extents(&positions)[2];
        Some(self.system.state(positions, thickness * 1.2))
    }

    pub(super) fn shape(&self, answer: &Answer, volume: f64) -> Shape {
        let mirrors = self.grid.mirrors();
        let positions = self.last.as_ref().map_or(&[][..], |last| &last.state.positions);
        let [x, y, z] = extents(positions);
        let double = |mirror: bool, extent: f64| if mirror { 2.0 * extent } else { extent };
        let (mut area, mut wrinkled) = (0.0, 0.0);
        let mut tightest = (0.0, 0);
        for (index, stretch, tension) in self.system.stretches(positions, &answer.task) {
            let own = self.system.surface().triangles[index].area;
            area += own;
            if stretch.excess(answer.task.limit)[1] <= 0.0 {
                wrinkled += own;
            }
            if tension > tightest.0 {
                tightest = (tension, index);
            }
        }
        let vertices = self.system.surface().triangles.get(tightest.1).map_or([0; 3], |triangle| triangle.vertices);
        let mut at = [0.0; 3];
        for v in vertices {
            for (sum, x) in at.iter_mut().zip(positions.get(v as usize).unwrap_or(&[0.0; 3])) {
                *sum += x / 3.0;
            }
        }
        let head = self.last.as_ref().map_or(1.0, |last| last.state.head);
        Shape {
            volume_l: volume / MM3_PER_L,
            thickness_mm: double(mirrors.walls, z),
            length_mm: double(mirrors.ends, y),
            width_mm: 2.0 * x,
            wrinkled_share: wrinkled / area,
            tightest: Tightest {
                panel: self.grid.panel_of_triangle(tightest.1).unwrap_or(Panel::Upper),
                at_mm: at,
                tension_mm: tightest.0 / head,
            },
        }
    }

    pub(super) fn trust(&self, answer: &Answer, volume_residual: f64) -> Trust {
        let surface = self.system.surface();
        let positions = self.last.as_ref().map_or(&[][..], |last| &last.state.positions);
        let largest = self.system.stretches(positions, &answer.task).map(|(_, stretch, _)| stretch.lambda[0]);
        let largest = largest.fold(1.0, f64::max);
        let volume = answer.outcome.measure.volume * surface.copies;
        Trust {
            largest_stretch: largest,
            lower_bound_l: volume / (largest * largest * largest) / MM3_PER_L,
            volume_residual,
            iterations: answer.iterations,
            vertices: self.grid.vertices(),
            mesh_mm: self.grid.edge(),
            change_from_coarser: answer.change,
            // Paper that is stretched is no answer, however well the energy is at rest.
            converged: answer.converged && largest <= answer.task.limit * (1.0 + MOST_LEFT),
        }
    }
}

/// Do two lengths or volumes differ by no more than a share?
fn is_near(a: f64, b: f64, by: f64) -> bool {
    (a / b - 1.0).abs() <= by
}

fn surface_of(grid: &Grid, (question, stiff): (Question, bool)) -> Surface {
    match question {
        Question::Standing => grid.upright(stiff, End::PlainEnd),
        Question::Hanging => grid.upright(stiff, End::ValveEnd),
        _ => grid.surface(stiff),
    }
}

/// See [`Level::tension`]; `mirrored`: is only the half above z = 0 solved for?
pub(crate) fn tension(system: &System, task: &Task, state: &State, mirrored: bool) -> f64 {
    let height = extents(&state.positions)[2];
    let thickness = if mirrored { 2.0 * height } else { height };
    let pressure = (state.head - 0.5 * task.load.weight * height).max(0.25 * state.head);
    pressure * (2.0 * thickness).min(system.scale())
}

/// How far positions reach along x, y and z; of x, and of what a mirror halves, that is half the sack.
pub(crate) fn extents(positions: &[[f64; 3]]) -> [f64; 3] {
    [0, 1, 2].map(|c| {
        let (low, high) = positions
            .iter()
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), at| (low.min(at[c]), high.max(at[c])));
        high - low
    })
}

pub(crate) fn sizes(sack: &Sack) -> Sizes {
    Sizes {
        face_width: sack.tube().face_width_mm,
        length: sack.file().length_mm,
        bottoms: End::ALL.map(|end| sack.bottom(end).width_mm),
    }
}

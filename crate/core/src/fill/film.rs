//! The stage `fill` as a film: from the folded flat sack to the filled one, frame by frame, every frame a computed sheet.
//!
//! With these creases a paper bag can't unfold rigidly from flat to box, so nothing is keyframed: the whole sheet is
//! computed, as thin, unstretchable paper that may wrinkle ([`super::membrane`]), on a mesh that has the creases of both
//! states ([`super::film_mesh`]). It begins as the fold leaves the sack, lying on wall B with the bottoms folded flat onto
//! wall A, in the frame of `fold`. A little air opens it when the spout goes in; the product then fills it, lying on a table, as
//! a heavy, frictionless fluid whose volume grows from frame to frame; it comes to rest; plates press it.
//!
//! **Method.** Each frame is a few of Newton's steps on the solver's own energy ([`super::newton`]) at the frame's
//! volume, from the frame before. The shift by mass is what slows the sheet down: each frame is one implicit step of a sheet in
//! a viscous medium, so slack paper stays where it is and nothing jumps. Where the ends lie folded on themselves,
//! pairs of vertices keep the layers apart ([`super::contact`]). At rest and pressed, the same energy is minimised to the
//! end with paper as stiff as the solver's, so the film ends in the solver's shape.
//!
//! **Where it ends.** The sack is filled lying, not hanging on the spout; left and right are mirror images, so the spout pulls at
//! neither corner. Stiff bottoms stay upright between the plates, which come no closer than they are wide. Only layers that lie on each other in the flat sack know of each other.

use std::ops::ControlFlow;

use serde::Serialize;

use super::contact::Contacts;
use super::figures::Filling;
use super::film_mesh::FilmMesh;
use super::membrane::Load;
use super::newton::{State, Stopped, System, Task};
use super::result::{FillError, FilledMesh};
use super::solve::{ANSWER, AT_REST, Bottoms, Detail, MOST_STRETCH, STIFF, Settings, Solver, extents, sizes, tension};
use crate::sack::Sack;

/// What happens in a frame.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Phase {
    /// The spout goes into the valve, and a little air opens the sack.
    SpoutIn,
    /// Product flows in.
    Filling,
    /// The spout is out; product and paper come to rest.
    LyingDown,
    /// Plates close on the sack.
    Pressed,
}

impl Phase {
    /// Every phase, in order.
    pub const ALL: [Self; 4] = [Self::SpoutIn, Self::Filling, Self::LyingDown, Self::Pressed];

    /// How many frames of 96 it has.
    const fn share(self) -> usize {
        match self {
            Self::SpoutIn => 8,
            Self::Filling => 60,
            Self::LyingDown => 10,
            Self::Pressed => 18,
        }
    }
}

/// How fine a film is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct FilmSettings {
    /// Squares of the mesh in half a bottom's width, 2 to 4. (With one, the facets hold too little to be pressed.)
    pub squares: usize,
    /// Frames, 24 to 480; two or three per cent more or less may come, so that every phase has whole frames.
    pub frames: usize,
    /// Newton iterations that coming to rest may take.
    pub iterations: usize,
}

impl Default for FilmSettings {
    fn default() -> Self {
        Self { squares: 2, frames: 96, iterations: 150 }
    }
}

/// How far a film has come.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct FilmProgress {
    /// Which frame is being computed, from 0.
    pub frame: usize,
    /// How many frames.
    pub frames: usize,
    /// Newton iterations on this frame so far.
    pub iterations: usize,
}

/// Called at every iteration; breaking off ends the frame with [`FillError::Cancelled`].
pub type FilmWatch<'a> = dyn FnMut(FilmProgress) -> ControlFlow<()> + 'a;

/// A frame.
#[derive(Clone, Debug, PartialEq)]
pub struct Frame {
    /// The sheet, in the frame of `fold`: x across the face, y along the tube with 0 on the valve end's centre line and the valve
    /// end towards +y, z up. The table is z = 0. Vertices and triangles are the same in every frame of a film.
    pub mesh: FilledMesh,
    /// How much of the stage is over, 0 to 1.
    pub fraction: f64,
    /// What is happening.
    pub phase: Phase,
    /// What is in the sack, air and product together, l.
    pub volume_l: f64,
    /// Largest principal stretch of the sheet.
    pub largest_stretch: f64,
    /// Newton iterations.
    pub iterations: usize,
}

/// Computes the frames of a film, one after the other.
#[derive(Clone, Debug)]
pub struct Film {
    mesh: FilmMesh,
    system: System,
    state: State,
    /// Volume of the half, mm3: flat, and at last.
    volumes: [f64; 2],
    /// Distance of the plates at last, mm; `None` when stiff bottoms stand up to the sack's thickness and keep them off.
    gap: Option<f64>,
    /// Thickness at rest, once it is known, mm.
    thickness: f64,
    /// Of the paper on the way, head times mm.
    stiffness: f64,
    settings: FilmSettings,
    next: usize,
}

/// Gap between the flat sack's layers, mm: more than the thickness of any wall, less than an eye sees on a sack.
const LAYER_MM: f64 = 0.8;
/// Share of the gap that layers keep when pressed together.
const KEPT: f64 = 0.7;
/// Share of the volume that is in the sack when the spout is in.
const AIR: f64 = 0.03;
/// Stretch, and share of the volume missing, above which a frame goes on iterating, and how often it iterates.
const STRETCH_ON_THE_WAY: f64 = 0.012;
const VOLUME_ON_THE_WAY: f64 = 1e-3;
const STEPS: [usize; 2] = [3, 30];
/// Stretch at rest, about, and how much of it may make up for the facets of a coarse mesh.
const STRETCH_AT_REST: f64 = 1.7e-3;
const MOST_FACET_STRETCH: f64 = 1.2e-3;
/// Stiffness on the way, in units of the resting sack's tension.
const ON_THE_WAY: f64 = 400.0;
/// Shift at the beginning of a frame, in heads per scale.
const DRAG: f64 = 4.0;

const MM3_PER_L: f64 = 1e6;

impl Film {
    /// A film of a sack that is filled with a volume in l.
    ///
    /// # Errors
    /// [`FillError::Volume`] when the volume is not between 40 and 99.5 % of the capacity.
    pub fn new(sack: &Sack, bottoms: Bottoms, volume_l: f64, settings: FilmSettings) -> Result<Self, FillError> {
        let settings = FilmSettings {
            squares: settings.squares.clamp(2, 4),
            frames: settings.frames.clamp(24, 480),
            iterations: settings.iterations,
        };
        let mut solver = Solver::new(sack, Settings { detail: Detail::Fine, iterations: settings.iterations });
        let go = &mut |_| ControlFlow::Continue(());
        let lying = solver.lying(bottoms, volume_l, go)?;
        let thickness = lying.shape.thickness_mm;
        let gap = match solver.pressed(bottoms, volume_l, go) {
            Err(FillError::BottomsStandOut { bottom_mm, .. }) => bottom_mm,
            pressed => pressed?.gap_mm,
        };
        let sizes = sizes(sack);
        let least = if bottoms == Bottoms::Stiff { sizes.bottoms[0].max(sizes.bottoms[1]) } else { 0.0 };
        let gap = Some(gap.max(least)).filter(|gap| *gap < thickness);
        let mesh = FilmMesh::new(sizes, settings.squares, LAYER_MM);
        let flat = mesh.flat();
        let contacts = mesh.pairs().iter().map(|pair| {
            let apart = flat[pair.over as usize][2] - flat[pair.under as usize][2];
            ([pair.over, pair.under], pair.inside, KEPT * apart)
        });
        let system = System::with_contacts(mesh.surface(bottoms == Bottoms::Stiff), Contacts::new(contacts));
        let state = system.state(flat, 0.1 * lying.head_mm);
        let mut film = Self {
            mesh,
            system,
            state,
            volumes: [0.0, volume_l * MM3_PER_L / 2.0],
            gap,
            thickness,
            stiffness: ON_THE_WAY * (lying.head_mm - 0.5 * thickness) * 2.0 * thickness,
            settings,
            next: 0,
        };
        film.volumes[0] = film.system.measure(&film.state.positions, &film.task(0.0), 0.0).volume;
        Ok(film)
    }

    /// How many frames the film has.
    #[must_use]
    pub fn frames(&self) -> usize {
        1 + Phase::ALL.into_iter().map(|phase| self.frames_of(phase)).sum::<usize>()
    }

    fn frames_of(&self, phase: Phase) -> usize {
        if phase == Phase::Pressed && self.gap.is_none() { 0 } else { phase.share() * self.settings.frames / 96 }
    }

    /// The phase of a frame, and how much of it is over when the frame ends.
    fn phase(&self, frame: usize) -> (Phase, f64) {
        let mut first = 0;
        for phase in Phase::ALL {
            let count = self.frames_of(phase);
            if frame <= first + count && count > 0 {
                return (phase, (frame - first) as f64 / count as f64);
            }
            first += count;
        }
        (Phase::Pressed, 1.0)
    }

    /// The next frame; `None` after the last. The first is the folded flat sack.
    ///
    /// # Errors
    /// [`FillError::Cancelled`] when `watch` breaks off: the frame can be asked for again.
    pub fn next_frame(&mut self, watch: &mut FilmWatch<'_>) -> Result<Option<Frame>, FillError> {
        let frames = self.frames();
        if self.next >= frames {
            return Ok(None);
        }
        let (phase, share) = self.phase(self.next);
        let mut iterations = 0;
        let mut state = self.state.clone();
        if self.next > 0 {
            let frame = self.next;
            let mut count = || {
                iterations += 1;
                watch(FilmProgress { frame, frames, iterations })
            };
            self.advance(phase, share, &mut state, &mut count).map_err(|Stopped| FillError::Cancelled)?;
        }
        self.state = state;
        let fraction = self.next as f64 / (frames - 1) as f64;
        self.next += 1;
        if phase == Phase::LyingDown && share >= 1.0 {
            self.thickness = extents(&self.state.positions)[2];
        }
        Ok(Some(Frame {
            mesh: self.mesh.filled(&self.state.positions),
            fraction,
            phase,
            volume_l: 2.0 * self.system.measure(&self.state.positions, &self.task(0.0), 0.0).volume / MM3_PER_L,
            largest_stretch: self.stretch(&self.state),
            iterations,
        }))
    }

    /// Brings the sheet to where a frame is.
    fn advance(
        &mut self,
        phase: Phase,
        share: f64,
        state: &mut State,
        watch: &mut super::newton::Watch<'_>,
    ) -> Result<(), Stopped> {
        let [flat, full] = self.volumes;
        let air = flat.max(AIR * full);
        let volume = match phase {
            Phase::SpoutIn => flat + (air - flat) * share,
            Phase::Filling => air + (full - air) * share,
            Phase::LyingDown | Phase::Pressed => full,
        };
        let mut task = self.task(volume);
        if let (Phase::Pressed, Some(gap)) = (phase, self.gap) {
            // Plates slow down as they close.
            let left = (1.0 - share) * (1.0 - share);
            task.heights[1] = gap + (self.thickness - gap).max(0.0) * left;
        }
        let at_rest = share >= 1.0 && matches!(phase, Phase::LyingDown | Phase::Pressed);
        if matches!(phase, Phase::LyingDown | Phase::Pressed) {
            task.stiffness = STIFF * tension(&self.system, &task, state, false);
        }
        self.steps(&task, state, watch)?;
        if at_rest { self.come_to_rest(task, state, watch) } else { Ok(()) }
    }

    fn task(&self, volume: f64) -> Task {
        Task {
            stiffness: self.stiffness,
            limit: self.mesh.facet_stretch().min(1.0 + MOST_FACET_STRETCH),
            load: Load::heavy(self.state.head),
            volume: Some(volume),
            heights: [0.0, f64::INFINITY],
            tolerance: 0.0,
            iterations: 1,
        }
    }

    /// A few steps of Newton's, more when the paper is stretched.
    fn steps(&mut self, task: &Task, state: &mut State, watch: &mut super::newton::Watch<'_>) -> Result<(), Stopped> {
        state.shift = DRAG * state.head.abs() / self.system.scale();
        self.system.soften();
        for step in 0..STEPS[1] {
            self.system.touch(&state.positions);
            let outcome = self.system.minimise(task, state, watch)?;
            let missing = task.volume.map_or(0.0, |volume| (outcome.measure.volume / volume - 1.0).abs());
            let taut = self.stretch(state) <= 1.0 + STRETCH_ON_THE_WAY;
            if step + 1 >= STEPS[0] && taut && missing <= VOLUME_ON_THE_WAY {
                break;
            }
            if step >= STEPS[0] && !taut {
                self.system.stiffen(&state.positions, task, 0.5 * STRETCH_ON_THE_WAY);
            }
        }
        Ok(())
    }

    /// Minimises to the end, and stiffens the paper where it is tightest, as the solver does.
    fn come_to_rest(
        &mut self,
        mut task: Task,
        state: &mut State,
        watch: &mut super::newton::Watch<'_>,
    ) -> Result<(), Stopped> {
        task.iterations = self.settings.iterations;
        for tolerance in [ANSWER, AT_REST, AT_REST] {
            task.tolerance = tolerance;
            self.system.touch(&state.positions);
            self.system.minimise(&task, state, watch)?;
            self.system.stiffen(&state.positions, &task, (STRETCH_AT_REST + 1.0 - task.limit).min(MOST_STRETCH));
        }
        Ok(())
    }

    fn stretch(&self, state: &State) -> f64 {
        let task = self.task(0.0);
        self.system.stretches(&state.positions, &task).map(|(_, stretch, _)| stretch.lambda[0]).fold(1.0, f64::max)
    }
}

/// The frame of a film nearest to a fraction of the stage, 0 to 1.
///
/// # Errors
/// As for [`Film::new`] and [`Filling::volume_l`].
pub fn film_frame(sack: &Sack, bottoms: Bottoms, filling: Filling, at: f64) -> Result<Frame, FillError> {
    let settings = FilmSettings::default();
    let go = &mut |_| ControlFlow::Continue(());
    let mut solver = Solver::new(sack, Settings { detail: Detail::Coarse, iterations: settings.iterations });
    let capacity = solver.capacity(bottoms, go)?.shape.volume_l;
    let mut film = Film::new(sack, bottoms, filling.volume_l(sack, capacity)?, settings)?;
    let last = (at.clamp(0.0, 1.0) * (film.frames() - 1) as f64 + 0.5).floor() as usize;
    let mut watch = |_: FilmProgress| ControlFlow::Continue(());
    let mut frame = film.next_frame(&mut watch)?.ok_or(FillError::Cancelled)?;
    for _ in 0..last {
        frame = film.next_frame(&mut watch)?.ok_or(FillError::Cancelled)?;
    }
    Ok(frame)
}

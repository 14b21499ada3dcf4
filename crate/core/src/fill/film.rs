//! The stage `fill` as a film: from the folded flat sack to the filled one, frame by frame, every frame a computed sheet.
//!
//! With these creases a paper bag can't unfold rigidly from flat to box, so nothing is keyframed: the whole sheet is
//! computed, as thin, unstretchable paper that may wrinkle ([`super::membrane`]), on a mesh that has the creases of both
//! states ([`super::film_mesh`]). It begins as the fold leaves the sack, lying on wall B with the bottoms folded flat onto
//! wall A, in the frame of `fold`. It is set upright, the spout goes into the valve and carries the valve bottom level, and
//! air opens it. Product flows in and stands up to a level, which rises. The sack is taken off and laid down, comes to rest,
//! and plates press it.
//!
//! **Method.** Each frame is a few of Newton's steps on the solver's own energy ([`super::newton`]) at the frame's
//! volume, from the frame before. The shift by mass is what slows the sheet down: each frame is one implicit step of a sheet in
//! a viscous medium, so slack paper stays where it is and nothing jumps. The sheet never goes through itself: what comes close
//! pushes apart, and every step ends before anything meets ([`super::contact`]). The load is the hanging solver's ([`super::stand`]): a heavy,
//! frictionless fluid up to a level, with a small air pressure; gravity stays upright in space while the sack is turned, and a
//! turned sack is computed anew under it. At the end of the filling, at rest and pressed, the same energy is minimised to the
//! end, with paper as stiff as the solver's: the film hangs, lies and is pressed in the solver's shapes.
//!
//! **What is given** instead of computed: how the sack is turned as a whole, and where its valve bottom is held: a stiff
//! bottom altogether, a free one along its middle, by the spout and then by whoever lays it down.
//!
//! **Where it ends.** Left and right are mirror images: the spout holds the valve bottom level, and the far corner does not hang
//! lower. The spout goes in where the valve is, but the surface has no hole there. Stiff bottoms stay upright between the plates,
//! which come no closer than they are wide.

use std::ops::ControlFlow;

use serde::Serialize;

use super::contact::Contacts;
use super::figures::Filling;
use super::film_mesh::FilmMesh;
use super::membrane::Load;
use super::newton::{State, Stopped, System, Task};
use super::result::{FillError, FilledMesh};
use super::solve::{ANSWER, AT_REST, Bottoms, Detail, MOST_STRETCH, STIFF, Settings, Solver, extents, sizes, tension};
use super::spout::{SpoutPlace, SpoutSize};
use super::stand::AIR;
use crate::sack::Sack;

/// What happens in a frame.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Phase {
    /// The flat sack is set upright, the spout goes into the valve, and air opens the sack.
    SpoutIn,
    /// Product flows in; the sack hangs on the spout.
    Filling,
    /// The spout draws out, and the sack is laid down.
    TakenOff,
    /// Nothing holds it; product and paper come to rest.
    LyingDown,
    /// Plates close on the sack.
    Pressed,
}

impl Phase {
    /// Every phase, in order.
    pub const ALL: [Self; 5] = [Self::SpoutIn, Self::Filling, Self::TakenOff, Self::LyingDown, Self::Pressed];

    /// How many frames of 96 it has. A wide sack that is not full has far to go until it lies: 18 frames were measured.
    const fn share(self) -> usize {
        match self {
            Self::SpoutIn => 22,
            Self::Filling => 34,
            Self::TakenOff => 12,
            Self::LyingDown => 20,
            Self::Pressed => 8,
        }
    }
}

/// How fine a film is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct FilmSettings {
    /// Squares of the mesh in half a bottom's width, 2 to 4. (With one, the facets hold too little to be pressed.)
    pub squares: usize,
    /// Frames, 96 to 480; two or three per cent more or less may come, so that every phase has whole frames.
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
    /// The sheet. The first frame is in the frame of `fold`: x across the face, y along the tube with 0 on the valve end's centre
    /// line and the valve end towards +y, z up; all are in the same space. The table is z = 0. Vertices and triangles are the
    /// same in every frame of a film.
    pub mesh: FilledMesh,
    /// Where the spout is; nothing before it comes to the sack, which is upright then, and once it has left the sack.
    pub spout: Option<SpoutPlace>,
    /// How far the sack has been set upright, rad: from 0, lying, to a right angle, its valve end up.
    pub upright: f64,
    /// How much of the stage is over, 0 to 1.
    pub fraction: f64,
    /// What is happening.
    pub phase: Phase,
    /// What the sheet encloses, air and product, l.
    pub volume_l: f64,
    /// How much of it is product, l.
    pub product_l: f64,
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
    /// Volume of the half at last, mm3.
    full: f64,
    /// Distance of the plates at last, mm; `None` when stiff bottoms stand up to the sack's thickness and keep them off.
    gap: Option<f64>,
    /// Thickness at rest, once it is known, mm.
    thickness: f64,
    /// Width, length and thickness at last, as the solver has them, and how high the foot's middle lies then, mm.
    last: [f64; 4],
    /// Of the paper on the way, head times mm.
    stiffness: f64,
    spout: SpoutSize,
    /// The sign of x where the valve is.
    side: f64,
    settings: FilmSettings,
    next: usize,
}

/// Gap between the flat sack's layers, mm: more than the thickness of any wall, less than an eye sees on a sack.
const LAYER_MM: f64 = 0.8;
/// How high the flat sack's foot hangs over the table, mm.
const CLEAR_MM: f64 = 30.0;
/// Of [`Phase::SpoutIn`]: when the sack is upright, when its valve bottom is level, and when the spout begins to go in.
const RAISED: f64 = 0.25;
const LEVEL: f64 = 0.95;
const ENTERING: f64 = 0.6;
/// Into how many parts a frame is cut in which the valve bottom opens.
const PARTS: usize = 2;
/// Of [`Phase::Filling`]: when all is in.
const FULL: f64 = 0.85;
/// Of [`Phase::TakenOff`]: when the spout is out and the sack begins to be turned, and when its foot is on the table.
const DRAWN: f64 = 0.25;
const LANDED: f64 = 0.5;
/// Of [`Phase::LyingDown`]: when the medium is at its thinnest, and when the air is out. Air that goes before the sheet can sink
/// sucks the sides in instead.
const THINNED: f64 = 0.2;
const VENTED: f64 = 0.6;
/// How far off the bottom's end edge the spout's holder is, in face widths: out of it the spout comes, and back into it.
const AWAY: f64 = 0.35;
/// Pressure of the air before product comes in, as [`AIR`].
const AIR_AT_FIRST: f64 = 0.006;
/// Stretch, and share of the volume missing, above which a frame goes on iterating, and how often it iterates.
const STRETCH_ON_THE_WAY: f64 = 0.012;
const VOLUME_ON_THE_WAY: f64 = 1e-3;
const STEPS: [usize; 2] = [3, 30];
/// How far a vertex may go in a frame, in lengths of the sack, and of a sack that lies; how much thicker the medium
/// becomes for one that goes further, and how often.
const FARTHEST: f64 = 0.05;
const FARTHEST_LYING: f64 = 0.06;
const THICKER: f64 = 8.0;
const TRIES: usize = 6;
/// How far a vertex of a sack that lies down goes in a frame before the frame is over, if it is not at rest, and how many steps that may
/// take: where paper touches paper steps are short.
const FAR_ENOUGH: f64 = 0.05;
const MOST_STEPS: usize = 150;
/// After how many steps paper that is still stretched is made stiffer.
const STIFFENED: usize = 3;
/// Stretch at rest, about, and how much of it may make up for the facets of a coarse mesh.
const STRETCH_AT_REST: f64 = 1.7e-3;
const MOST_FACET_STRETCH: f64 = 1.2e-3;
/// Stretch at rest that is too much.
const MOST_STRETCH_AT_REST: f64 = 2e-3;
/// Stiffness on the way, in units of the resting sack's tension.
const ON_THE_WAY: f64 = 400.0;
/// The same of a hanging sack at rest, by its own tension; how thin the medium has become by then.
const HANGING: f64 = 500.0;
const THIN: f64 = 0.01;
/// Of a sack that lies: how thin the medium is at first, and at its thinnest.
const THIN_AT_FIRST: f64 = 0.1;
const THINNEST: f64 = 1e-3;
/// Rounds more in which paper that is stretched at rest is made stiffer.
const FIRMER: usize = 2;
/// How much the plates give way at last when paper is stretched between them all the same, as a share of their distance, and how often.
const GIVE: f64 = 0.002;
const GIVES: usize = 4;
/// Drag of the medium: upright in lengths per scale, the same while the sack is turned, between plates in heads per scale; and
/// the shift at the beginning of a frame, in drags.
const DRAG: f64 = 4.0;
const TURNING_DRAG: f64 = 20.0;
const LYING_DRAG: f64 = 1.0;
const SHIFT: f64 = 0.3;

const MM3_PER_L: f64 = 1e6;
const RIGHT_ANGLE: f64 = core::f64::consts::FRAC_PI_2;

impl Film {
    /// A film of a sack that is filled with a volume in l.
    ///
    /// # Errors
    /// [`FillError::Volume`] when the volume is not between 40 and 99.5 % of the capacity.
    pub fn new(sack: &Sack, bottoms: Bottoms, volume_l: f64, settings: FilmSettings) -> Result<Self, FillError> {
        let settings = FilmSettings {
            squares: settings.squares.clamp(2, 4),
            frames: settings.frames.clamp(96, 480),
            iterations: settings.iterations,
        };
        let mut solver = Solver::new(sack, Settings { detail: Detail::Fine, iterations: settings.iterations });
        let go = &mut |_| ControlFlow::Continue(());
        let lying = solver.lying(bottoms, volume_l, go)?;
        let thickness = lying.shape.thickness_mm;
        let (gap, shape) = match solver.pressed(bottoms, volume_l, go) {
            Err(FillError::BottomsStandOut { bottom_mm, .. }) => (bottom_mm, lying.shape),
            pressed => pressed.map(|pressed| (pressed.gap_mm, pressed.shape))?,
        };
        let sizes = sizes(sack);
        let least = if bottoms == Bottoms::Stiff { sizes.bottoms[0].max(sizes.bottoms[1]) } else { 0.0 };
        let gap = Some(gap.max(least)).filter(|gap| *gap < thickness);
        let thick = gap.unwrap_or(thickness);
        let high = if bottoms == Bottoms::Stiff { sizes.bottoms[1] } else { thick } / 2.0;
        let last = [shape.width_mm, shape.length_mm, thick, high];
        let mesh = FilmMesh::new(sizes, settings.squares, LAYER_MM);
        let flat = mesh.flat();
        let surface = mesh.surface(bottoms == Bottoms::Stiff);
        let contacts = Contacts::new(&surface);
        let system = System::with_contacts(surface, contacts);
        let state = system.state(flat, AIR * sizes.length);
        Ok(Self {
            mesh,
            system,
            state,
            full: volume_l * MM3_PER_L / 2.0,
            gap,
            thickness,
            last,
            stiffness: ON_THE_WAY * (lying.head_mm - 0.5 * thickness) * 2.0 * thickness,
            spout: SpoutSize::new(sack, None),
            side: sack.file().valve_end.valve.side.sign(),
            settings,
            next: 0,
        })
    }

    /// The same with another spout than one that fits the valve.
    #[must_use]
    pub fn with_spout(self, spout: SpoutSize) -> Self {
        Self { spout, ..self }
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

    /// About where sack and spout will be, before they are computed: corners of boxes, mm. The last eight are those of where the
    /// sack is at last.
    #[must_use]
    pub fn reach(&self) -> Vec<[f64; 3]> {
        let sizes = self.mesh.sizes();
        let (foot, thick) = (self.mesh.foot(), self.thickness);
        let upright = sizes.length + CLEAR_MM;
        let half = sizes.face_width / 2.0;
        let spout = self.spout();
        let [end, y, z] = spout.end_mm;
        let [wide, high] = [spout.size.width_mm / 2.0, spout.size.height_mm / 2.0];
        let holder = end + self.side * spout.length_mm;
        let beside = BESIDE * thick;
        let mut boxes = vec![
            [[-half, foot - beside, 0.0], [half, foot + beside, upright]],
            [[end.min(holder), y - wide, z - high], [end.max(holder), y + wide, z + high]],
        ];
        // It is laid down about its foot.
        for quarter in 1..4 {
            let (s, c) = libm::sincos(RIGHT_ANGLE * f64::from(quarter) / 4.0);
            boxes.push([[-half, foot, 0.0], [half, foot + c * upright + s * thick, s * upright + c * thick]]);
        }
        let [width, length, thick, high] = self.last;
        // The foot has turned about its edge on the table.
        let middle = foot + sizes.length / 2.0 + high;
        boxes.push([[-width / 2.0, middle - length / 2.0, 0.0], [width / 2.0, middle + length / 2.0, thick]]);
        let corner =
            |[low, high]: [[f64; 3]; 2], k: usize| [0, 1, 2].map(|c| if k >> c & 1 == 0 { low[c] } else { high[c] });
        boxes.into_iter().flat_map(|one| (0..8).map(move |k| corner(one, k))).collect()
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
        let frame = self.next;
        let (phase, share) = self.phase(frame);
        let mut iterations = 0;
        let mut state = self.state.clone();
        if frame > 0 {
            let mut count = || {
                iterations += 1;
                watch(FilmProgress { frame, frames, iterations })
            };
            self.advance(frame, &mut state, &mut count).map_err(|Stopped| FillError::Cancelled)?;
        }
        self.state = state;
        self.next += 1;
        if phase == Phase::LyingDown && share >= 1.0 {
            self.thickness = extents(&self.state.positions)[2];
        }
        let volume_l = 2.0 * self.enclosed(&self.state) / MM3_PER_L;
        Ok(Some(Frame {
            mesh: self.mesh.filled(&self.state.positions),
            spout: self.spout_at(frame),
            upright: self.upright(frame),
            fraction: frame as f64 / (frames - 1) as f64,
            phase,
            volume_l,
            product_l: match phase {
                Phase::SpoutIn => 0.0,
                Phase::Filling | Phase::TakenOff => {
                    let State { positions, head, .. } = &self.state;
                    2.0 * self.system.measure(positions, &self.level_task(0.0), *head).volume / MM3_PER_L
                }
                Phase::LyingDown | Phase::Pressed => volume_l.min(2.0 * self.full / MM3_PER_L),
            },
            largest_stretch: self.stretch(&self.state),
            iterations,
        }))
    }

    /// How far the sack is upright in a frame, rad.
    fn upright(&self, frame: usize) -> f64 {
        let (phase, share) = self.phase(frame);
        RIGHT_ANGLE
            * match phase {
                Phase::SpoutIn => eased(share / RAISED),
                Phase::Filling => 1.0,
                Phase::TakenOff => 1.0 - eased((share - DRAWN) / (1.0 - DRAWN)),
                Phase::LyingDown | Phase::Pressed => 0.0,
            }
    }

    /// Where the valve bottom's middle line is once the bottom is opened by an angle from flat, along y and z. It rises by half the
    /// bottom's width, which takes the folded-back wall along and leaves the rest where it is.
    fn middle(&self, angle: f64) -> [f64; 2] {
        let foot = self.mesh.foot();
        [foot, CLEAR_MM - foot + self.mesh.sizes().bottoms[0] / 2.0 * (1.0 - libm::cos(angle))]
    }

    /// Where the spout is while the sack is being filled.
    #[must_use]
    pub fn spout(&self) -> SpoutPlace {
        self.spout_out(1.0, RIGHT_ANGLE)
    }

    fn spout_at(&self, frame: usize) -> Option<SpoutPlace> {
        let (phase, share) = self.phase(frame);
        let out = match phase {
            Phase::SpoutIn => eased((share - ENTERING) / (1.0 - ENTERING)),
            Phase::Filling => 1.0,
            Phase::TakenOff => 1.0 - eased(share / DRAWN),
            Phase::LyingDown | Phase::Pressed => 0.0,
        };
        let opened = if phase == Phase::SpoutIn { opened(share) } else { RIGHT_ANGLE };
        (out > 0.0).then(|| self.spout_out(out, opened))
    }

    /// The spout, so far out of its holder, 0 to 1, along the inside of the valve bottom, which it opens by an angle from flat.
    fn spout_out(&self, out: f64, angle: f64) -> SpoutPlace {
        let sizes = self.mesh.sizes();
        let width = sizes.bottoms[0];
        let [y, z] = self.middle(angle);
        let (s, c) = libm::sincos(angle);
        let half = self.spout.height_mm / 2.0;
        let away = -AWAY * sizes.face_width;
        let reach = self.spout.reach_mm.min(sizes.face_width - width);
        let length_mm = (reach - away) * out;
        let in_mm = away + length_mm;
        let edge = (sizes.face_width - width) / 2.0;
        SpoutPlace {
            end_mm: [self.side * (edge - in_mm), y + half * c, z - half * s],
            towards: [-self.side, 0.0, 0.0],
            size: self.spout,
            in_mm,
            length_mm,
        }
    }

    /// Brings the sheet to where a frame is.
    fn advance(
        &mut self,
        frame: usize,
        state: &mut State,
        watch: &mut super::newton::Watch<'_>,
    ) -> Result<(), Stopped> {
        let (phase, share) = self.phase(frame);
        let drag = self.drag();
        match phase {
            Phase::SpoutIn => self.open(frame, share, state, watch),
            Phase::Filling => {
                let mut task = self.level_task(self.full * (share / FULL).min(1.0));
                self.find_level(&task, state);
                let last = (share - FULL) / (1.0 - FULL);
                if last > 0.0 {
                    // Paper becomes as stiff as at rest, and the medium thin, little by little.
                    let firm = HANGING * tension(&self.system, &task, state, false);
                    task.stiffness *= libm::pow(firm / task.stiffness, last);
                    self.steps(&task, drag * libm::pow(THIN, last), 0.0, state, watch)?;
                } else {
                    self.steps(&task, drag, 0.0, state, watch)?;
                }
                if share >= 1.0 {
                    let from = state.clone();
                    self.come_to_rest(task, (drag * THIN, FARTHEST), &[ANSWER, ANSWER], (&from, state), watch)
                } else {
                    Ok(())
                }
            }
            Phase::TakenOff => {
                if share > DRAWN {
                    self.system.hold(&[]);
                }
                self.lay_down(frame, state);
                let task = self.level_task(self.full);
                self.find_level(&task, state);
                self.steps(&task, drag * TURNING_DRAG / DRAG, 0.0, state, watch)
            }
            Phase::LyingDown => {
                self.system.hold(&[]);
                let count = self.frames_of(phase) as f64;
                let left = (VENTED - share) * count + 1.0;
                let enclosed = self.enclosed(state);
                let task = self.task(enclosed + (self.full - enclosed) / left.max(1.0));
                self.settle(task, (phase, share), state, watch)
            }
            Phase::Pressed => {
                let mut task = self.task(self.full);
                if let Some(gap) = self.gap {
                    // Plates slow down as they close.
                    let left = (1.0 - share) * (1.0 - share);
                    task.heights[1] = gap + (self.thickness - gap).max(0.0) * left;
                }
                self.settle(task, (phase, share), state, watch)
            }
        }
    }

    /// Sets the flat sack upright, then lifts the valve bottom until it is level, while air opens the sack.
    fn open(
        &mut self,
        frame: usize,
        share: f64,
        state: &mut State,
        watch: &mut super::newton::Watch<'_>,
    ) -> Result<(), Stopped> {
        if self.upright(frame - 1) < RIGHT_ANGLE {
            // Nothing bends the flat sack on the way.
            let angle = self.upright(frame);
            *state = self.system.state(self.mesh.flat(), state.head);
            self.system.turn(state, [self.mesh.foot(), 0.0], angle, CLEAR_MM * angle / RIGHT_ANGLE);
        }
        if share <= RAISED {
            return Ok(());
        }
        let before = self.phase(frame - 1).1;
        for part in 1..=PARTS {
            self.lift(opened(before + (share - before) * part as f64 / PARTS as f64), state);
            let mut task = self.task(0.0);
            task.volume = None;
            task.load.weight = 0.0;
            state.head = AIR_AT_FIRST * self.mesh.sizes().length;
            self.steps(&task, self.drag() * PARTS as f64, 0.0, state, watch)?;
        }
        Ok(())
    }

    /// Holds the valve bottom where the spout has it, opened by an angle from flat.
    fn lift(&mut self, angle: f64, state: &State) {
        let [y, z] = self.middle(angle);
        let width = self.mesh.sizes().bottoms[0];
        let (s, c) = libm::sincos(angle);
        let row = self.mesh.valve_row();
        self.system.hold(&row);
        let mut to = state.clone();
        for &v in &row {
            match self.system.surface().plate_of[v as usize] {
                Some(plate) => {
                    to.plates[plate as usize] =
                        [y + width / 2.0 * s, z + width / 2.0 * c, angle - core::f64::consts::PI];
                }
                None => {
                    let [_, along, height] = &mut to.positions[v as usize];
                    (*along, *height) = (y, z);
                }
            }
        }
        self.system.carry(&to);
    }

    /// Drag of the medium that the hanging sack is in.
    fn drag(&self) -> f64 {
        DRAG * self.mesh.sizes().length / self.system.scale()
    }

    /// Turns the sack towards lying, as a whole, and lowers it onto the table.
    fn lay_down(&self, frame: usize, state: &mut State) {
        let foot = |state: &State| {
            let mut low = [0.0, f64::INFINITY];
            for at in &state.positions {
                if at[2] < low[1] {
                    low = [at[1], at[2]];
                }
            }
            low
        };
        let height = |frame: usize| {
            let (phase, share) = self.phase(frame);
            1.0 - if phase == Phase::TakenOff { eased(share / LANDED) } else { 0.0 }
        };
        let from = foot(state);
        let [before, now] = [frame - 1, frame].map(height);
        self.system.turn(state, from, self.upright(frame) - self.upright(frame - 1), 0.0);
        let left = if before > 0.0 { now / before } else { 0.0 };
        let raise = from[1] * left - foot(state)[1];
        self.system.turn(state, from, 0.0, raise);
    }

    /// The level that the task's volume has in the present shape.
    fn find_level(&self, task: &Task, state: &mut State) {
        let heights = || state.positions.iter().map(|at| at[2]);
        let (mut low, mut high) =
            (heights().fold(f64::INFINITY, f64::min), heights().fold(f64::NEG_INFINITY, f64::max));
        let wanted = task.volume.unwrap_or(0.0);
        for _ in 0..BISECTIONS {
            let head = f64::midpoint(low, high);
            let below = self.system.measure(&state.positions, task, head).volume;
            *(if below < wanted { &mut low } else { &mut high }) = head;
        }
        state.head = high;
    }

    /// Volume of the half, mm3.
    fn enclosed(&self, state: &State) -> f64 {
        self.system.measure(&state.positions, &self.task(0.0), 0.0).volume
    }

    /// Product that fills the sheet.
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

    /// Product up to a level, and air.
    fn level_task(&self, volume: f64) -> Task {
        let mut task = self.task(volume);
        let share = volume / self.full;
        task.load.air = Some((AIR_AT_FIRST + (AIR - AIR_AT_FIRST) * share * share) * self.mesh.sizes().length);
        task
    }

    /// A frame's time in a medium, which becomes thicker when a vertex would go too far in it. It is not over before a vertex has gone
    /// `enough` lengths of the sack, or nothing more is to be gained.
    fn steps(
        &mut self,
        task: &Task,
        drag: f64,
        enough: f64,
        state: &mut State,
        watch: &mut super::newton::Watch<'_>,
    ) -> Result<(), Stopped> {
        let from = state.clone();
        let farthest = if enough > 0.0 { FARTHEST_LYING } else { FARTHEST } * self.mesh.sizes().length;
        let mut drag = drag;
        for tries in 1..=TRIES {
            self.step(task, drag, enough, state, watch)?;
            if farthest_gone(&from, state) <= farthest || tries == TRIES {
                break;
            }
            state.clone_from(&from);
            drag *= THICKER;
        }
        Ok(())
    }

    /// A few steps of Newton's, more when the paper is stretched or has not gone far enough.
    fn step(
        &mut self,
        task: &Task,
        drag: f64,
        enough: f64,
        state: &mut State,
        watch: &mut super::newton::Watch<'_>,
    ) -> Result<(), Stopped> {
        self.system.immerse(state, drag);
        state.shift = SHIFT * drag;
        self.system.soften();
        let (from, enough) = (state.clone(), enough * self.mesh.sizes().length);
        for step in 0..if enough > 0.0 { MOST_STEPS } else { STEPS[1] } {
            let outcome = self.system.minimise(task, state, watch)?;
            let missing = task.volume.map_or(0.0, |volume| (outcome.measure.volume / volume - 1.0).abs());
            let taut = self.stretch(state) <= 1.0 + STRETCH_ON_THE_WAY;
            let far = outcome.converged || farthest_gone(&from, state) >= enough;
            if step + 1 >= STEPS[0] && taut && far && self.system.arrived(state) && missing <= VOLUME_ON_THE_WAY {
                break;
            }
            if step >= STEPS[0] && step % STIFFENED == 0 && !taut {
                self.system.stiffen(&state.positions, task, 0.5 * STRETCH_ON_THE_WAY);
            }
        }
        Ok(())
    }

    /// A frame of a sack that lies: with stiff paper, and to the end when its phase is over.
    fn settle(
        &mut self,
        mut task: Task,
        (phase, share): (Phase, f64),
        state: &mut State,
        watch: &mut super::newton::Watch<'_>,
    ) -> Result<(), Stopped> {
        // Air that is let out may pull for a while.
        state.head = state.head.max(self.thickness);
        task.stiffness = STIFF * tension(&self.system, &task, state, false);
        task.tolerance = ANSWER;
        let (drag, enough) = match phase {
            Phase::Pressed => (LYING_DRAG * state.head / self.system.scale(), 0.0),
            _ => {
                let thinner = libm::pow(THINNEST / THIN_AT_FIRST, (share / THINNED).min(1.0));
                (self.drag() * THIN_AT_FIRST * thinner, FAR_ENOUGH)
            }
        };
        let from = state.clone();
        self.steps(&task, drag, enough, state, watch)?;
        if share >= 1.0 {
            self.come_to_rest(task, (0.0, FARTHEST_LYING), &[ANSWER, AT_REST, AT_REST], (&from, state), watch)?;
            // This mesh may hold a little less than the solver's between plates that are as near.
            for _ in 0..GIVES {
                if phase != Phase::Pressed || self.stretch(state) <= 1.0 + MOST_STRETCH_AT_REST {
                    break;
                }
                task.heights[1] *= 1.0 + GIVE;
                state.clone_from(&from);
                self.come_to_rest(task, (0.0, FARTHEST_LYING), &[ANSWER, AT_REST, AT_REST], (&from, state), watch)?;
            }
        }
        Ok(())
    }

    /// Minimises to the end, and stiffens the paper where it is tightest, as the solver does; from where the frame began and in a
    /// thicker medium when a vertex would go too far from there, in lengths of the sack.
    fn come_to_rest(
        &mut self,
        mut task: Task,
        (mut drag, farthest): (f64, f64),
        tolerances: &[f64],
        (from, state): (&State, &mut State),
        watch: &mut super::newton::Watch<'_>,
    ) -> Result<(), Stopped> {
        task.iterations = self.settings.iterations;
        let farthest = farthest * self.mesh.sizes().length;
        for tries in 1..=TRIES {
            for round in 0..tolerances.len() + FIRMER {
                let last = tolerances.len() - 1;
                if round > last && self.stretch(state) <= 1.0 + MOST_STRETCH_AT_REST {
                    break;
                }
                self.system.immerse(state, drag);
                task.tolerance = tolerances[round.min(last)];
                self.system.minimise(&task, state, watch)?;
                self.system.stiffen(&state.positions, &task, (STRETCH_AT_REST + 1.0 - task.limit).min(MOST_STRETCH));
            }
            if farthest_gone(from, state) <= farthest || tries == TRIES {
                break;
            }
            state.clone_from(from);
            drag = (drag * THICKER).max(self.drag() * THIN);
        }
        Ok(())
    }

    fn stretch(&self, state: &State) -> f64 {
        let task = self.task(0.0);
        self.system.stretches(&state.positions, &task).map(|(_, stretch, _)| stretch.lambda[0]).fold(1.0, f64::max)
    }
}

/// How far beside its foot an upright sack reaches to either side, in thicknesses of the lying one: about, 0.6 to 1.2 were measured.
const BESIDE: f64 = 0.8;
/// Halvings that find a level: to a thousandth of the sack's length.
const BISECTIONS: usize = 10;

/// How far any vertex has gone, mm.
fn farthest_gone(from: &State, to: &State) -> f64 {
    let gone = |(a, b): (&[f64; 3], &[f64; 3])| (0..3).map(|c| (a[c] - b[c]) * (a[c] - b[c])).sum::<f64>();
    from.positions.iter().zip(&to.positions).map(gone).fold(0.0, f64::max).sqrt()
}

/// How far the valve bottom is opened in a share of [`Phase::SpoutIn`], rad from flat: to a right angle, level.
fn opened(share: f64) -> f64 {
    RIGHT_ANGLE * eased((share - RAISED) / (LEVEL - RAISED))
}

/// From 0 to 1 with a rest at both ends.
fn eased(share: f64) -> f64 {
    let share = share.clamp(0.0, 1.0);
    share * share * (3.0 - 2.0 * share)
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

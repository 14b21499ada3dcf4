//! The solver's heart: Newton's method on energy, with a shift by mass, bounds on height and a given volume.
//!
//! The sheet's second derivative has no negative eigenvalue; the pressure's has. A multiple of the vertices' lumped
//! areas, adapted from step to step, makes the sum positive definite (Levenberg and Marquardt), and holds slack paper,
//! which nothing else holds. A second term resists steps that differ from vertex to vertex: they are what fine meshes fold
//! into scallops by, and what Newton's method would else spend its iterations on. Both terms act on steps only, so the
//! answer does not depend on them. Floor and plates are bounds: a vertex at its bound that is pressed against it is taken
//! out of the system, one that a step would take through its bound is led there, and steps are projected (Bertsekas
//! 1982). A given volume is an equation with the head as its multiplier: the bordered system is solved by two solves with
//! one factorisation.

use std::ops::ControlFlow;

use super::contact::{Contacts, Touch};
use super::factor::{Factor, Pattern};
use super::membrane::{Load, Matrix, Stretch, Triangle, load_derivatives, load_gradient, volume, volume_gradient};
use super::surface::{Motion, Surface};

/// No unknown.
const NONE: u32 = u32::MAX;

/// What is to be solved.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Task {
    /// Stiffness of the sheet, pressure times mm.
    pub stiffness: f64,
    /// Stretch up to which the sheet carries nothing.
    pub limit: f64,
    /// Pressure; with a given volume its head is where the solver begins.
    pub load: Load,
    /// Volume of the part that is solved for, mm3.
    pub volume: Option<f64>,
    /// Least and greatest height of every vertex, mm.
    pub heights: [f64; 2],
    /// Energy that may be left to gain, as a share of head times volume.
    pub tolerance: f64,
    /// Newton iterations at most.
    pub iterations: usize,
}

/// Where the sheet is.
#[derive(Clone, Debug)]
pub(crate) struct State {
    pub positions: Vec<[f64; 3]>,
    /// Per plate: y and z of its lower edge, and its tilt in rad; or its place along its axis, and nothing more.
    pub plates: Vec<[f64; 3]>,
    pub head: f64,
    /// Shift by mass, pressure per mm, that the last step took.
    pub shift: f64,
}

/// What an iteration comes back with.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Measure {
    /// Stored in the sheet.
    pub stretching: f64,
    pub volume: f64,
    /// Integral of z over the volume, less the energy of the air.
    pub moment: f64,
}

/// How a solve ended.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Outcome {
    pub iterations: usize,
    pub factorisations: usize,
    pub converged: bool,
    pub measure: Measure,
}

/// The solver was told to stop.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Stopped;

/// Called after every iteration.
pub(crate) type Watch<'a> = dyn FnMut() -> ControlFlow<()> + 'a;

/// A surface with everything that depends on its mesh alone.
#[derive(Clone, Debug)]
pub(crate) struct System {
    surface: Surface,
    /// Unknown of every coordinate.
    unknown: Vec<[u32; 3]>,
    /// First unknown of every plate.
    plate_unknown: Vec<u32>,
    /// Height above the lower edge of every vertex of a plate.
    plate_height: Vec<f64>,
    /// Width of every plate.
    plate_width: Vec<f64>,
    couplings: Vec<Coupling>,
    /// Lumped area of every unknown.
    mass: Vec<f64>,
    scale: f64,
    pattern: Pattern,
    factor: Factor,
    values: Vec<f64>,
    diagonal: Vec<u32>,
    /// How much stiffer than the task says a triangle is taken to be.
    stiffening: Vec<f64>,
    contacts: Contacts,
    /// Node of the pattern of every vertex; first unknown of every node and how many it has; which nodes triangles couple.
    node: Vec<u32>,
    first: Vec<u32>,
    sizes: Vec<usize>,
    cliques: Vec<Vec<u32>>,
    /// Which unknowns are held where they are.
    held: Vec<bool>,
    /// Where every held unknown is carried.
    carried: Option<Vec<f64>>,
    medium: Option<Medium>,
}

/// A viscous medium that holds the sheet back: how far it is from where it was costs its drag times mass times distance
/// squared over 2.
#[derive(Clone, Debug)]
struct Medium {
    /// Pressure per mm.
    drag: f64,
    /// Every unknown where it was.
    from: Vec<f64>,
}

/// Where a triangle's derivatives go.
#[derive(Clone, Debug)]
struct Coupling {
    count: usize,
    unknowns: [u32; 9],
    /// Local unknown that each coordinate is; 9: none.
    local: [u8; 9],
    slots: [u32; 45],
    /// Do some of the coordinates depend on the tilt of a plate?
    tilts: bool,
}

/// Gradients at a state, by unknown.
struct Gradients {
    /// Of the sheet's energy and of the load with the present head.
    all: Vec<f64>,
    volume: Vec<f64>,
    /// Of the volume by the head, where the product has a level: its free surface.
    surface: f64,
}

/// What moves an answer to first order; its matrix stays in the system.
pub(crate) struct Tangent {
    gradients: Gradients,
    out: Vec<bool>,
    shift: f64,
    /// Vertices that the upper bound holds.
    pub pressed_up: Vec<u32>,
    /// What the bounds push back with, as a force.
    pub reaction: f64,
}

/// A step's system: which unknowns are given, and what follows from that.
struct Led {
    out: Vec<bool>,
    /// How far every unknown that is out goes.
    way: Vec<f64>,
    /// The energy's gradient once they have gone there.
    slope: Vec<f64>,
    /// What is too much of the volume then, mm3.
    miss: f64,
    /// The matrix's diagonal without a shift.
    diagonal: Vec<f64>,
}

impl Gradients {
    /// Slope of the energy along a step, with the head that it rises to.
    fn along(&self, step: &[f64], raise: f64) -> f64 {
        step.iter().zip(&self.all).zip(&self.volume).map(|((d, g), v)| d * (g - raise * v)).sum()
    }

    /// The step, and the head's rise with which it keeps the volume.
    fn raised(&self, [step, along]: &[Vec<f64>; 2], led: &Led) -> Option<(Vec<f64>, f64)> {
        if along.is_empty() {
            return Some((step.clone(), 0.0));
        }
        let grown = |side: &[f64]| {
            let free = self.volume.iter().zip(side).zip(&led.out).filter(|(_, out)| !**out);
            free.map(|((v, d), _)| v * d).sum::<f64>()
        };
        let raise = (-led.miss - grown(step)) / (grown(along) + self.surface);
        let mut raised = step.clone();
        add(raise, along, &mut raised);
        raise.is_finite().then_some((raised, raise))
    }
}

impl System {
    /// Prepares a surface: unknowns, pattern, order of elimination.
    pub(crate) fn new(surface: Surface) -> Self {
        Self::with_contacts(surface, Contacts::default())
    }

    /// Prepares a surface whose sheet may come to lie on itself.
    pub(crate) fn with_contacts(surface: Surface, contacts: Contacts) -> Self {
        let n = surface.start.len();
        let mut unknown = vec![[NONE; 3]; n];
        let mut node = vec![NONE; n];
        let mut sizes = Vec::new();
        let mut count = 0_u32;
        for v in 0..n {
            if surface.plate_of[v].is_some() {
                continue;
            }
            let mut size = 0;
            for (unknown, held) in unknown[v].iter_mut().zip(surface.held[v]) {
                if !held {
                    *unknown = count;
                    count += 1;
                    size += 1;
                }
            }
            if size > 0 {
                node[v] = sizes.len() as u32;
                sizes.push(size);
            }
        }
        let mut plate_unknown = Vec::new();
        for plate in &surface.plates {
            plate_unknown.push(count);
            let size = plate.motion.freedoms();
            count += size;
            for &v in &plate.vertices {
                node[v as usize] = sizes.len() as u32;
            }
            sizes.push(size as usize);
        }
        let mut cliques = Vec::with_capacity(surface.triangles.len());
        for triangle in &surface.triangles {
            let mut clique: Vec<u32> =
                triangle.vertices.iter().map(|&v| node[v as usize]).filter(|&node| node != NONE).collect();
            clique.sort_unstable();
            clique.dedup();
            cliques.push(clique);
        }
        let first = sizes
            .iter()
            .scan(0, |next, &size| {
                let first = *next;
                *next += size as u32;
                Some(first)
            })
            .collect();
        let pattern = Pattern::new(&sizes, &cliques);
        let factor = Factor::new(&pattern);
        let values = vec![0.0; pattern.values()];
        let diagonal = (0..pattern.len()).map(|i| pattern.slot(i, i) as u32).collect();
        let scale = surface.scale();
        let mut system = Self {
            stiffening: vec![1.0; surface.triangles.len()],
            mass: vec![0.0; count as usize],
            surface,
            unknown,
            plate_unknown,
            plate_height: vec![0.0; n],
            plate_width: Vec::new(),
            couplings: Vec::new(),
            scale,
            pattern,
            factor,
            values,
            diagonal,
            contacts,
            node,
            first,
            sizes,
            cliques,
            held: vec![false; count as usize],
            carried: None,
            medium: None,
        };
        system.couple();
        system.measure_plates();
        system.weigh();
        system
    }

    pub(crate) const fn surface(&self) -> &Surface {
        &self.surface
    }

    pub(crate) const fn scale(&self) -> f64 {
        self.scale
    }

    /// Number of unknowns.
    pub(crate) const fn len(&self) -> usize {
        self.pattern.len()
    }

    /// The state at given positions; plates are laid through their lower and upper edges.
    pub(crate) fn state(&self, positions: Vec<[f64; 3]>, head: f64) -> State {
        let plates = self
            .surface
            .plates
            .iter()
            .map(|plate| {
                if plate.motion == Motion::Held {
                    return [plate.vertices.first().map_or(0.0, |&v| self.surface.start[v as usize][2]), 0.0, 0.0];
                }
                let edge = |upper: bool| {
                    let key = |v: &&u32| {
                        let height = self.plate_height[**v as usize];
                        if upper { -height } else { height }
                    };
                    plate
                        .vertices
                        .iter()
                        .min_by(|a, b| key(a).total_cmp(&key(b)))
                        .map_or([0.0; 3], |&v| positions[v as usize])
                };
                if let Some(axis) = plate.motion.axis() {
                    let mean = plate.vertices.iter().map(|&v| positions[v as usize][axis]).sum::<f64>();
                    [mean / plate.vertices.len() as f64, 0.0, 0.0]
                } else {
                    let (low, high) = (edge(false), edge(true));
                    [low[1], low[2], libm::atan2(high[1] - low[1], high[2] - low[2])]
                }
            })
            .collect();
        let mut state = State { positions, plates, head, shift: 0.0 };
        self.place_plates(&mut state);
        state
    }

    /// Holds vertices at their height and their place along y, and plates that they belong to altogether; all others are
    /// free again.
    pub(crate) fn hold(&mut self, vertices: &[u32]) {
        self.held.fill(false);
        self.carried = None;
        for &v in vertices {
            let v = v as usize;
            match self.surface.plate_of[v] {
                Some(plate) => {
                    let first = self.plate_unknown[plate as usize] as usize;
                    let freedoms = self.surface.plates[plate as usize].motion.freedoms() as usize;
                    self.held[first..first + freedoms].fill(true);
                }
                None => {
                    for &unknown in &self.unknown[v][1..] {
                        if unknown != NONE {
                            self.held[unknown as usize] = true;
                        }
                    }
                }
            }
        }
    }

    /// Puts the sheet into a viscous medium of a drag in pressure per mm, in which it was last at `state`: so a solve becomes
    /// one implicit step in time. Without a drag there is none.
    pub(crate) fn immerse(&mut self, state: &State, drag: f64) {
        self.medium = (drag > 0.0).then(|| Medium { drag, from: self.unknowns(state) });
    }

    /// Carries what is held to where it is in a state, with the next solves' first steps.
    pub(crate) fn carry(&mut self, to: &State) {
        self.carried = Some(self.unknowns(to));
    }

    /// What is left of the way to where the held unknowns are carried; `None` when they are there.
    fn way_left(&self, state: &State) -> Option<Vec<f64>> {
        let to = self.carried.as_ref()?;
        let mut way = self.unknowns(state);
        for ((way, to), held) in way.iter_mut().zip(to).zip(&self.held) {
            *way = if *held { to - *way } else { 0.0 };
        }
        way.iter().any(|way| way.abs() > ARRIVED).then_some(way)
    }

    /// Are the held unknowns where they are carried?
    pub(crate) fn arrived(&self, state: &State) -> bool {
        self.way_left(state).is_none()
    }

    /// Every unknown of a state.
    fn unknowns(&self, state: &State) -> Vec<f64> {
        let mut values = vec![0.0; self.len()];
        for (position, unknown) in state.positions.iter().zip(&self.unknown) {
            for (value, &unknown) in position.iter().zip(unknown) {
                if unknown != NONE {
                    values[unknown as usize] = *value;
                }
            }
        }
        for ((plate, place), &first) in self.surface.plates.iter().zip(&state.plates).zip(&self.plate_unknown) {
            let (first, count) = (first as usize, plate.motion.freedoms() as usize);
            values[first..first + count].copy_from_slice(&place[..count]);
        }
        values
    }

    /// Turns a state by `angle` about the axis along x through `(y, z)`, from y towards z, and raises it by `raise`.
    pub(crate) fn turn(&self, state: &mut State, [y, z]: [f64; 2], angle: f64, raise: f64) {
        let (s, c) = libm::sincos(angle);
        let turned = |[a, b]: [f64; 2]| [y + (a - y) * c - (b - z) * s, z + (a - y) * s + (b - z) * c + raise];
        for at in &mut state.positions {
            let [y, z] = turned([at[1], at[2]]);
            (at[1], at[2]) = (y, z);
        }
        for (plate, place) in self.surface.plates.iter().zip(&mut state.plates) {
            if plate.motion == Motion::Tilting {
                let [y, z] = turned([place[0], place[1]]);
                // A tilt turns from z towards y.
                *place = [y, z, place[2] - angle];
            }
        }
        self.place_plates(state);
    }

    pub(crate) fn place_plates(&self, state: &mut State) {
        for (plate, &[y, z, tilt]) in self.surface.plates.iter().zip(&state.plates) {
            let (s, c) = libm::sincos(tilt);
            for &v in &plate.vertices {
                let v = v as usize;
                let start = self.surface.start[v];
                state.positions[v] = start;
                if let Some(axis) = plate.motion.axis() {
                    state.positions[v][axis] = y;
                } else {
                    let h = self.plate_height[v];
                    state.positions[v] = [start[0], y + h * s, z + h * c];
                }
            }
        }
    }

    fn corners(&self, positions: &[[f64; 3]], triangle: usize) -> [[f64; 3]; 3] {
        self.surface.triangles[triangle].vertices.map(|v| positions[v as usize])
    }

    /// Takes another surface with the same topology: only lengths may differ. Gives it back when its topology is another.
    pub(crate) fn reshape(&mut self, surface: Surface) -> Option<Surface> {
        let same = self.surface.held == surface.held
            && self.surface.plate_of == surface.plate_of
            && self.surface.triangles.len() == surface.triangles.len()
            && self.surface.triangles.iter().zip(&surface.triangles).all(|(a, b)| a.vertices == b.vertices);
        if !same {
            return Some(surface);
        }
        self.scale = surface.scale();
        self.surface = surface;
        self.measure_plates();
        self.mass.fill(0.0);
        self.weigh();
        None
    }

    /// Makes triangles stiffer where they are stretched by more than `most` over the limit, so that the next solve
    /// brings them there; all others are as stiff as the task says.
    pub(crate) fn stiffen(&mut self, positions: &[[f64; 3]], task: &Task, most: f64) {
        for index in 0..self.stiffening.len() {
            let triangle = &self.surface.triangles[index];
            let [excess, _] = Stretch::new(triangle, &self.corners(positions, index)).excess(task.limit);
            let tension = excess * self.stiffening[index];
            self.stiffening[index] = (tension / most).clamp(1.0, 100.0);
        }
    }

    /// All triangles as stiff as the task says.
    pub(crate) fn soften(&mut self) {
        self.stiffening.fill(1.0);
    }

    /// How much stiffer than the task says every triangle is taken to be.
    pub(crate) fn stiffening(&self) -> &[f64] {
        &self.stiffening
    }

    /// Takes up what [`System::stiffening`] was on the same mesh; on another one it is left as it is.
    pub(crate) fn take_stiffening(&mut self, from: &[f64]) {
        if from.len() == self.stiffening.len() {
            self.stiffening.copy_from_slice(from);
        }
    }

    /// What the bounds push back with, as a force.
    pub(crate) fn reaction(&self, task: &Task, state: &State) -> f64 {
        let slopes = self.slopes(task, state);
        let out = self.taken_out(task, state, &slopes);
        self.pushed_back(&slopes, out)
    }

    fn pushed_back(&self, slopes: &[f64], mut out: Vec<bool>) -> f64 {
        self.held_plates().for_each(|first| out[first] = false);
        slopes.iter().zip(&out).filter(|(_, out)| **out).map(|(slope, _)| slope.abs()).sum()
    }

    /// An answer with what it takes to move it to first order.
    pub(crate) fn tangent(&mut self, task: &Task, state: &State) -> Tangent {
        let gradients = self.assemble(state, task);
        let out = self.taken_out(task, state, &gradients.all);
        let is_held = |v: &u32| {
            let (unknown, z) = (self.unknown[*v as usize][2], state.positions[*v as usize][2]);
            unknown != NONE && out[unknown as usize] && z >= task.heights[1]
        };
        Tangent {
            pressed_up: (0..state.positions.len() as u32).filter(is_held).collect(),
            reaction: self.pushed_back(&gradients.all, out.clone()),
            gradients,
            out,
            shift: LEAST_SHIFT * state.head / self.scale,
        }
    }

    /// Where `from`, which is an answer carried over to a change, comes to be to first order, within the task's bounds.
    /// `pulled` is the answer's gradient at a `part` of the change, and `miss` how much too large its volume gets. Newton's
    /// step with the tensions that the answer has; its tangent must be the last one taken of the system.
    ///
    /// A few vertices that it takes a little through a bound are led there. Where it takes one far through, many more will
    /// meet the bound, and the few would bend the sheet wrongly.
    pub(crate) fn respond(
        &mut self,
        task: &Task,
        Tangent { mut gradients, out, shift, .. }: Tangent,
        (pulled, part): (&[f64], f64),
        miss: f64,
        from: &State,
    ) -> Option<State> {
        for (slope, pulled) in gradients.all.iter_mut().zip(pulled) {
            *slope = (pulled - *slope) / part;
        }
        let mut state = State { shift, ..from.clone() };
        let given = self.given(&gradients, &out, None, miss);
        let mut sides = self.solve(task, &mut state, &gradients, &given, &mut 0)?;
        let (mut step, mut rise) = gradients.raised(&sides, &given)?;
        let through = self.through(task, from, &step, &given);
        let is_little = through.iter().all(|&(unknown, by)| (step[unknown] - by).abs() <= LITTLE * self.scale);
        if !through.is_empty() && through.len() <= FEW && is_little {
            self.correct(&mut sides, &through);
            (step, rise) = gradients.raised(&sides, &given)?;
        }
        self.moved(from, &step, 1.0, &mut state);
        self.place_plates(&mut state);
        state.head += rise;
        state.shift = from.shift;
        Some(state)
    }

    /// The force that holds the held plates, upwards.
    pub(crate) fn held_by(&self, task: &Task, state: &State) -> f64 {
        let slopes = self.slopes(task, state);
        self.held_plates().map(|first| slopes[first]).sum()
    }

    /// First unknowns of the plates that are held.
    fn held_plates(&self) -> impl Iterator<Item = usize> {
        let plates = self.surface.plates.iter().zip(&self.plate_unknown);
        plates.filter(|(plate, _)| plate.motion == Motion::Held).map(|(_, &first)| first as usize)
    }

    /// Stretch of every triangle that deforms, and its larger tension.
    pub(crate) fn stretches<'a>(
        &'a self,
        positions: &'a [[f64; 3]],
        task: &'a Task,
    ) -> impl Iterator<Item = (usize, Stretch, f64)> + 'a {
        self.surface.triangles.iter().enumerate().filter(|(_, triangle)| !triangle.rigid).map(|(index, triangle)| {
            let stretch = Stretch::new(triangle, &self.corners(positions, index));
            (index, stretch, stretch.excess(task.limit)[0] * task.stiffness * self.stiffening[index])
        })
    }

    /// Energy stored, volume and moment, at a head.
    pub(crate) fn measure(&self, positions: &[[f64; 3]], task: &Task, head: f64) -> Measure {
        let load = Load { head, ..task.load };
        let mut sum = Measure::default();
        for (index, triangle) in self.surface.triangles.iter().enumerate() {
            let x = self.corners(positions, index);
            let (v, u) = volume(&x, load);
            sum.volume += v;
            sum.moment += u;
            if !triangle.rigid {
                let [a, b] = Stretch::new(triangle, &x).excess(task.limit);
                let stiffness = task.stiffness * self.stiffening[index];
                sum.stretching += 0.5 * stiffness * triangle.area * (a * a + b * b);
            }
        }
        sum.stretching += self.contacts.energy(positions);
        sum
    }

    /// The same, with what the medium holds back among the energy stored.
    fn weighed(&self, state: &State, task: &Task, head: f64) -> Measure {
        let mut measure = self.measure(&state.positions, task, head);
        if let Some(medium) = &self.medium {
            let moved = self.unknowns(state).into_iter().zip(&medium.from).zip(&self.mass);
            measure.stretching +=
                0.5 * medium.drag * moved.map(|((at, from), mass)| mass * (at - from) * (at - from)).sum::<f64>();
        }
        measure
    }

    fn measure_plates(&mut self) {
        self.plate_width.clear();
        for plate in &self.surface.plates {
            let heights = || plate.vertices.iter().map(|&v| self.surface.start[v as usize][2]);
            let low = heights().fold(f64::INFINITY, f64::min);
            self.plate_width.push(heights().fold(low, f64::max) - low);
            for &v in &plate.vertices {
                self.plate_height[v as usize] = self.surface.start[v as usize][2] - low;
            }
        }
    }

    /// Looks where the sheet lies on itself, and makes room in the pattern for what touches.
    fn touch(&mut self, positions: &[[f64; 3]]) {
        self.contacts.look(positions);
        let couplings = |touch: &Touch| {
            let nodes = touch.vertices.map(|v| self.node[v as usize]);
            [(0, 1), (0, 2), (0, 3), (1, 2), (1, 3), (2, 3)].map(|(i, j)| [nodes[i], nodes[j]])
        };
        let known = |[a, b]: [u32; 2]| {
            a == b || a == NONE || b == NONE || {
                let [a, b] = [a, b].map(|node| self.first[node as usize] as usize);
                self.pattern.has(a, b)
            }
        };
        let pushing = self.contacts.touches().iter().filter(|touch| touch.pushes());
        if pushing.flat_map(couplings).all(known) {
            return;
        }
        let mut cliques = self.cliques.clone();
        cliques.extend(self.contacts.touches().iter().map(|touch| {
            let mut clique: Vec<u32> =
                touch.vertices.iter().map(|&v| self.node[v as usize]).filter(|&node| node != NONE).collect();
            clique.sort_unstable();
            clique.dedup();
            clique
        }));
        self.pattern = Pattern::new(&self.sizes, &cliques);
        self.factor = Factor::new(&self.pattern);
        self.values = vec![0.0; self.pattern.values()];
        self.diagonal = (0..self.pattern.len()).map(|i| self.pattern.slot(i, i) as u32).collect();
        self.couple();
    }

    /// Adds what contacts push with, and their second derivative into `values`.
    fn push_contacts(&self, turns: &[[f64; 2]], slopes: &mut [f64], mut values: Option<&mut [f64]>) {
        for touch in self.contacts.touches().iter().filter(|touch| touch.pushes()) {
            let [first, second] = touch.derivatives();
            let mut along = [(NONE, 0.0); 24];
            let mut count = 0;
            for (&v, weight) in touch.vertices.iter().zip(touch.weights) {
                for (c, n) in touch.normal.iter().enumerate() {
                    for (unknown, factor) in self.partials(turns, v as usize, c) {
                        let part = weight * n * factor;
                        if unknown == NONE || part == 0.0 {
                            continue;
                        }
                        match along[..count].iter_mut().find(|(other, _)| *other == unknown) {
                            Some((_, sum)) => *sum += part,
                            None => {
                                along[count] = (unknown, part);
                                count += 1;
                            }
                        }
                    }
                }
            }
            for i in 0..count {
                let (unknown, part) = along[i];
                slopes[unknown as usize] += first * part;
                if let Some(values) = values.as_deref_mut() {
                    for &(other, with) in &along[..=i] {
                        values[self.pattern.slot(unknown as usize, other as usize)] += second * part * with;
                    }
                }
            }
        }
    }

    /// Unknowns that a triangle touches, and where its matrix goes.
    fn couple(&mut self) {
        let couplings = self.surface.triangles.iter().map(|triangle| {
            let mut coupling = Coupling { count: 0, unknowns: [NONE; 9], local: [9; 9], slots: [0; 45], tilts: false };
            for (i, &v) in triangle.vertices.iter().enumerate() {
                let v = v as usize;
                let mut add = |unknown: u32, coordinate: Option<usize>| {
                    if unknown == NONE {
                        return;
                    }
                    let known = coupling.unknowns[..coupling.count].iter().position(|&other| other == unknown);
                    let local = known.unwrap_or(coupling.count);
                    coupling.unknowns[local] = unknown;
                    coupling.count = coupling.count.max(local + 1);
                    if let Some(coordinate) = coordinate {
                        coupling.local[coordinate] = local as u8;
                    }
                };
                match self.surface.plate_of[v] {
                    Some(plate) => {
                        let (motion, first) =
                            (self.surface.plates[plate as usize].motion, self.plate_unknown[plate as usize]);
                        (0..motion.freedoms()).for_each(|k| add(first + k, motion.axis().map(|axis| 3 * i + axis)));
                        coupling.tilts |= motion == Motion::Tilting;
                    }
                    None => (0..3).for_each(|c| add(self.unknown[v][c], Some(3 * i + c))),
                }
            }
            let mut at = 0;
            for i in 0..coupling.count {
                for j in 0..=i {
                    let (a, b) = (coupling.unknowns[i] as usize, coupling.unknowns[j] as usize);
                    coupling.slots[at] = self.pattern.slot(a, b) as u32;
                    at += 1;
                }
            }
            coupling
        });
        self.couplings = couplings.collect();
    }

    fn weigh(&mut self) {
        for triangle in &self.surface.triangles {
            for &v in &triangle.vertices {
                let v = v as usize;
                let share = triangle.area / 3.0;
                match self.surface.plate_of[v] {
                    Some(plate) => {
                        let first = self.plate_unknown[plate as usize] as usize;
                        self.mass[first] += share;
                        if self.surface.plates[plate as usize].motion == Motion::Tilting {
                            let h = self.plate_height[v];
                            self.mass[first + 1] += share;
                            self.mass[first + 2] += share * h * h;
                        }
                    }
                    None => {
                        for unknown in self.unknown[v] {
                            if unknown != NONE {
                                self.mass[unknown as usize] += share;
                            }
                        }
                    }
                }
            }
        }
    }

    /// Derivatives of a coordinate by the local unknowns of its triangle; `turns`: see [`turns`].
    fn partials(&self, turns: &[[f64; 2]], vertex: usize, coordinate: usize) -> [(u32, f64); 2] {
        let none = (NONE, 0.0);
        let Some(plate) = self.surface.plate_of[vertex] else {
            return [(self.unknown[vertex][coordinate], 1.0), none];
        };
        let plate = plate as usize;
        let first = self.plate_unknown[plate];
        if let Some(axis) = self.surface.plates[plate].motion.axis() {
            return if coordinate == axis { [(first, 1.0), none] } else { [none, none] };
        }
        let [s, c] = turns[plate];
        let h = self.plate_height[vertex];
        match coordinate {
            0 => [none, none],
            1 => [(first, 1.0), (first + 2, h * c)],
            _ => [(first + 1, 1.0), (first + 2, -h * s)],
        }
    }

    /// The energy's gradient by unknown.
    pub(crate) fn slopes(&self, task: &Task, state: &State) -> Vec<f64> {
        let load = Load { head: state.head, ..task.load };
        let turns = turns(state);
        let mut slopes = vec![0.0; self.len()];
        for (index, triangle) in self.surface.triangles.iter().enumerate() {
            let x = self.corners(&state.positions, index);
            let mut gradient = load_gradient(&x, load);
            if !triangle.rigid {
                let stiffness = task.stiffness * self.stiffening[index];
                Stretch::new(triangle, &x).derivatives(triangle, stiffness, task.limit, &mut gradient, None);
            }
            self.spread(&turns, index, &gradient, &mut slopes);
        }
        self.push_contacts(&turns, &mut slopes, None);
        slopes
    }

    /// Adds a triangle's gradient to one by unknown.
    fn spread(&self, turns: &[[f64; 2]], index: usize, gradient: &[[f64; 3]; 3], into: &mut [f64]) {
        let coupling = &self.couplings[index];
        if coupling.tilts {
            for (&v, gradient) in self.surface.triangles[index].vertices.iter().zip(gradient) {
                for (c, slope) in gradient.iter().enumerate() {
                    for (unknown, factor) in self.partials(turns, v as usize, c) {
                        if unknown != NONE {
                            into[unknown as usize] += factor * slope;
                        }
                    }
                }
            }
        } else {
            for (&local, slope) in coupling.local.iter().zip(gradient.as_flattened()) {
                if local < 9 {
                    into[coupling.unknowns[local as usize] as usize] += slope;
                }
            }
        }
    }

    /// Gradients, and the second derivative into `values`. Unknowns that are taken out get a unit diagonal.
    fn assemble(&mut self, state: &State, task: &Task) -> Gradients {
        let load = Load { head: state.head, ..task.load };
        let n = self.len();
        let turns = turns(state);
        let mut out = Gradients { all: vec![0.0; n], volume: vec![0.0; n], surface: 0.0 };
        let mut values = std::mem::take(&mut self.values);
        values.fill(0.0);
        let mut curved = vec![0.0; self.surface.plates.len()];
        for index in 0..self.surface.triangles.len() {
            let triangle = &self.surface.triangles[index];
            let x = self.corners(&state.positions, index);
            let mut gradient = [[0.0; 3]; 3];
            let mut matrix = [[0.0; 9]; 9];
            load_derivatives(&x, load, &mut gradient, &mut matrix);
            if !triangle.rigid {
                let stiffness = task.stiffness * self.stiffening[index];
                Stretch::new(triangle, &x).derivatives(
                    triangle,
                    stiffness,
                    task.limit,
                    &mut gradient,
                    Some(&mut matrix),
                );
            }
            self.spread(&turns, index, &gradient, &mut out.all);
            if task.volume.is_some() {
                let (volume, surface) = volume_gradient(&x, load);
                out.surface += surface;
                self.spread(&turns, index, &volume, &mut out.volume);
            }
            smooth(triangle, SMOOTHING * state.head, &mut matrix);
            let coupling = &self.couplings[index];
            if coupling.tilts {
                self.reduce(&turns, index, &matrix, &mut values);
                for (i, &v) in triangle.vertices.iter().enumerate() {
                    if let Some(plate) = self.surface.plate_of[v as usize] {
                        // Second derivative of a turned point: towards the axis.
                        let [s, c] = turns[plate as usize];
                        let h = self.plate_height[v as usize];
                        curved[plate as usize] -= h * (gradient[i][1] * s + gradient[i][2] * c);
                    }
                }
            } else if coupling.count == 9 {
                let mut slots = coupling.slots.iter();
                for (i, row) in matrix.iter().enumerate() {
                    for (entry, &slot) in row[..=i].iter().zip(slots.by_ref()) {
                        values[slot as usize] += entry;
                    }
                }
            } else {
                for (i, row) in matrix.iter().enumerate() {
                    for (j, entry) in row[..=i].iter().enumerate() {
                        let (a, b) = (coupling.local[i] as usize, coupling.local[j] as usize);
                        if a == 9 || b == 9 {
                            continue;
                        }
                        let (a, b) = (a.max(b), a.min(b));
                        // Two coordinates that are one unknown meet twice.
                        let times = if a == b && i != j { 2.0 } else { 1.0 };
                        values[coupling.slots[a * (a + 1) / 2 + b] as usize] += times * entry;
                    }
                }
            }
        }
        for (plate, curved) in curved.into_iter().enumerate() {
            if self.surface.plates[plate].motion == Motion::Tilting {
                values[self.diagonal[self.plate_unknown[plate] as usize + 2] as usize] += curved;
            }
        }
        self.push_contacts(&turns, &mut out.all, Some(&mut values));
        if let Some(medium) = &self.medium {
            for (unknown, at) in self.unknowns(state).into_iter().enumerate() {
                let drag = medium.drag * self.mass[unknown];
                out.all[unknown] += drag * (at - medium.from[unknown]);
                values[self.diagonal[unknown] as usize] += drag;
            }
        }
        self.values = values;
        out
    }

    /// A triangle's matrix by its unknowns, when some of its vertices belong to plates that tilt.
    fn reduce(&self, turns: &[[f64; 2]], index: usize, matrix: &Matrix, values: &mut [f64]) {
        let coupling = &self.couplings[index];
        let vertices = self.surface.triangles[index].vertices;
        // Local unknowns of every coordinate, 9 for none, and its derivatives by them.
        let parts: [[(usize, f64); 2]; 9] = std::array::from_fn(|r| {
            self.partials(turns, vertices[r / 3] as usize, r % 3).map(|(unknown, factor)| {
                let local = coupling.unknowns[..coupling.count].iter().position(|&other| other == unknown);
                (local.unwrap_or(9), factor)
            })
        });
        let mut by_unknown = [[0.0; 9]; 9];
        for (r, parts) in parts.iter().enumerate() {
            for &(local, factor) in parts.iter().filter(|(local, _)| *local < 9) {
                for (c, entry) in by_unknown[local].iter_mut().enumerate() {
                    // Only the lower blocks are filled.
                    *entry += factor * if r / 3 >= c / 3 { matrix[r][c] } else { matrix[c][r] };
                }
            }
        }
        let mut reduced = [[0.0; 9]; 9];
        for (c, parts) in parts.iter().enumerate() {
            for &(local, factor) in parts.iter().filter(|(local, _)| *local < 9) {
                for i in local..coupling.count {
                    reduced[i][local] += factor * by_unknown[i][c];
                }
            }
        }
        let mut at = 0;
        for (i, row) in reduced.iter().enumerate().take(coupling.count) {
            for entry in &row[..=i] {
                values[coupling.slots[at] as usize] += entry;
                at += 1;
            }
        }
    }
}

/// Adds a multiple of a vector.
fn add(times: f64, what: &[f64], to: &mut [f64]) {
    for (to, what) in to.iter_mut().zip(what) {
        *to += times * what;
    }
}

/// Sine and cosine of every plate's tilt.
fn turns(state: &State) -> Vec<[f64; 2]> {
    let turn = |&[_, _, tilt]: &[f64; 3]| {
        let (s, c) = libm::sincos(tilt);
        [s, c]
    };
    state.plates.iter().map(turn).collect()
}

/// Adds a resistance to steps that differ from vertex to vertex: head times the triangle's size times the square of the
/// step's gradient.
fn smooth(triangle: &Triangle, pressure: f64, matrix: &mut Matrix) {
    let weight = pressure * triangle.area * triangle.area.sqrt();
    let g = &triangle.gradients;
    for i in 0..3 {
        for j in 0..=i {
            let entry = weight * (g[i][0] * g[j][0] + g[i][1] * g[j][1]);
            for c in 0..3 {
                matrix[3 * i + c][3 * j + c] += entry;
            }
        }
    }
}

/// Shift at the start, at least and at most, in head per scale.
const FIRST_SHIFT: f64 = 4.0;
const LEAST_SHIFT: f64 = 1e-3;
const LARGEST_SHIFT: f64 = 1e7;
/// Resistance to steps that differ from vertex to vertex. Measured: with 3, two joined discs of 48 rings and spokes stay on
/// the smooth branch in 23 iterations; without, they fold into scallops in 108. Lying sacks take a third fewer.
const SMOOTHING: f64 = 3.0;
/// Longest step of a vertex, in scales.
const LONGEST_STEP: f64 = 0.25;
/// Share of the way to the top that a level may rise in a step, in a medium or while the sheet has room above it.
const CLOSEST: f64 = 0.5;
/// How far through a bound a step may take a vertex, to be stopped there and no more, in scales.
const THROUGH: f64 = 1e-5;
/// How far through a bound first order may take a vertex that is led there, in scales.
const LITTLE: f64 = 1e-3;
/// How many vertices are led to their bounds without a factorisation of their own.
const FEW: usize = 10;
/// How near what is carried comes to where it should be, mm or rad.
const ARRIVED: f64 = 1e-9;
/// A step that would bring something together becomes at least so much shorter.
const LARGEST_SHARE: f64 = 0.99;
/// A volume error of this share weighs as much as the head times the volume, when steps are compared.
const VOLUME_SHARE: f64 = 0.01;

impl System {
    /// Minimises the energy from `state`, which becomes the answer.
    ///
    /// # Errors
    /// [`Stopped`] when `watch` breaks.
    pub(crate) fn minimise(
        &mut self,
        task: &Task,
        state: &mut State,
        watch: &mut Watch<'_>,
    ) -> Result<Outcome, Stopped> {
        let unit = state.head / self.scale;
        if state.shift <= 0.0 {
            state.shift = FIRST_SHIFT * unit;
        }
        self.clamp(task, state);
        let mut measure = self.weighed(state, task, state.head);
        let touching = !self.contacts.is_empty();
        let mut outcome = Outcome { iterations: 0, factorisations: 0, converged: false, measure };
        let mut trial = state.clone();
        while outcome.iterations < task.iterations {
            if watch().is_break() {
                return Err(Stopped);
            }
            outcome.iterations += 1;
            if touching {
                self.touch(&state.positions);
                measure = self.weighed(state, task, state.head);
            }
            let gradients = self.assemble(state, task);
            let out = self.taken_out(task, state, &gradients.all);
            let miss = task.volume.map_or(0.0, |volume| measure.volume - volume);
            let way = self.way_left(state);
            let Some((step, raise)) =
                self.step(task, state, &gradients, (&out, way.as_deref()), miss, &mut outcome.factorisations)
            else {
                break;
            };
            let longest = step.iter().map(|d| d.abs()).fold(0.0, f64::max);
            let mut cut = (LONGEST_STEP * self.scale / longest.max(f64::MIN_POSITIVE)).min(1.0);
            if task.load.air.is_some() {
                // A level that leaps over the top leaves no free surface, and may stay there.
                let top = state.positions.iter().map(|at| at[2]).fold(f64::NEG_INFINITY, f64::max);
                let near = state.head < top && raise > CLOSEST * (top - state.head);
                if near && (self.medium.is_some() || self.has_room(state, task, top)) {
                    cut = cut.min(CLOSEST * (top - state.head) / raise);
                }
            }
            let head = state.head + raise;
            // The energy with the new head, and a penalty on what is missing of the volume.
            let weight = if task.volume.is_some() {
                head.abs() / (VOLUME_SHARE * measure.volume.abs().max(f64::MIN_POSITIVE))
            } else {
                0.0
            };
            let merit = |m: &Measure| {
                let miss = task.volume.map_or(0.0, |volume| m.volume - volume);
                m.stretching + task.load.weight * m.moment - head * m.volume + 0.5 * weight * miss * miss
            };
            let slope = gradients.along(&step, raise);
            // A level, raised, has more below it in the same shape.
            let start = if task.load.air.is_some() { self.weighed(state, task, head) } else { measure };
            let miss = task.volume.map_or(0.0, |volume| start.volume - volume);
            let shifted: f64 = step.iter().zip(&self.mass).map(|(d, m)| state.shift * m * d * d).sum();
            let gain = 0.5 * (-slope + shifted + weight * miss * miss);
            let before = merit(&start);
            let mut share = cut;
            let mut accepted = false;
            // How far contacts let it go.
            let mut whole = 1.0;
            while share > 1e-4 {
                self.moved(state, &step, share, &mut trial);
                self.clamp(task, &mut trial);
                if touching {
                    let reach = self.contacts.reach(&state.positions, &trial.positions);
                    if reach < 1.0 {
                        share *= reach.min(LARGEST_SHARE);
                        whole = share;
                        continue;
                    }
                }
                let after = self.weighed(&trial, task, head);
                if way.is_some() {
                    // What carries may do work.
                    measure = after;
                    accepted = true;
                    break;
                }
                let won = before - merit(&after);
                if won >= 1e-4 * share * (-slope + weight * miss * miss) - 1e-13 * (head * measure.volume).abs() {
                    let ratio = won / gain.max(f64::MIN_POSITIVE);
                    if share >= whole && ratio > 0.7 {
                        state.shift = (state.shift * 0.2).max(LEAST_SHIFT * unit);
                    } else if share < 0.3 * whole || ratio < 0.2 {
                        state.shift *= 3.0;
                    }
                    measure = after;
                    accepted = true;
                    break;
                }
                share *= 0.4;
            }
            if !accepted {
                state.shift *= 10.0;
                if state.shift > LARGEST_SHIFT * unit {
                    break;
                }
                continue;
            }
            std::mem::swap(&mut state.positions, &mut trial.positions);
            std::mem::swap(&mut state.plates, &mut trial.plates);
            state.head = if share >= 1.0 { head } else { state.head + share * raise };
            if task.load.air.is_some() && share < 1.0 {
                measure = self.weighed(state, task, state.head);
            }
            outcome.measure = measure;
            // A gain that only a strong shift makes small says nothing.
            let free = state.shift <= FIRST_SHIFT * unit;
            if free && share >= 1.0 && gain <= task.tolerance * (head * measure.volume).abs() {
                outcome.converged = true;
                break;
            }
        }
        Ok(outcome)
    }

    /// Does the sheet, filled up to its top, hold more than the volume asked for?
    fn has_room(&self, state: &State, task: &Task, top: f64) -> bool {
        task.volume.is_some_and(|volume| self.measure(&state.positions, task, top).volume > volume)
    }

    /// Newton's step and the rise of the head; `None` when nothing makes the system positive definite.
    ///
    /// Vertices that it would take through a bound are led to the bound, and the step is worked out once more with them
    /// there: were they only stopped, the paper around them would be in the wrong place for that, and soon too tight.
    fn step(
        &mut self,
        task: &Task,
        state: &mut State,
        gradients: &Gradients,
        (out, way): (&[bool], Option<&[f64]>),
        miss: f64,
        factorisations: &mut usize,
    ) -> Option<(Vec<f64>, f64)> {
        let mut led = self.given(gradients, out, way, miss);
        let mut sides = self.solve(task, state, gradients, &led, factorisations)?;
        let plain = gradients.raised(&sides, &led)?;
        let through = self.through(task, state, &plain.0, &led);
        if through.is_empty() {
            return Some(plain);
        }
        if through.len() <= FEW {
            self.correct(&mut sides, &through);
        } else {
            self.lead(gradients, &through, &mut led);
            sides = self.solve(task, state, gradients, &led, factorisations)?;
        }
        let found = gradients.raised(&sides, &led)?;
        Some(if gradients.along(&found.0, found.1) < 0.0 { found } else { plain })
    }

    /// The system with the unknowns that are out given, where they go a way or stay; the matrix is reduced to the others.
    fn given(&mut self, gradients: &Gradients, out: &[bool], way: Option<&[f64]>, miss: f64) -> Led {
        let diagonal = self.diagonal.iter().map(|&slot| self.values[slot as usize]).collect();
        let mut slope = gradients.all.clone();
        if let Some(way) = way {
            self.pattern.add_product(&self.values, way, &mut slope);
        }
        self.pattern.take_out(&mut self.values, out);
        let way = way.map_or_else(|| vec![0.0; out.len()], <[f64]>::to_vec);
        Led { out: out.to_vec(), way, slope, miss, diagonal }
    }

    /// Unknowns that a step takes through a bound, and how far the bound is.
    fn through(&self, task: &Task, state: &State, step: &[f64], led: &Led) -> Vec<(usize, f64)> {
        let [low, high] = task.heights;
        let slack = THROUGH * self.scale;
        let through = |(position, unknown): (&[f64; 3], &[u32; 3])| {
            let unknown = Some(unknown[2]).filter(|unknown| *unknown != NONE)? as usize;
            let z = position[2] + step[unknown];
            let is_through = !led.out[unknown] && (z < low - slack || z > high + slack);
            is_through.then(|| (unknown, z.clamp(low, high) - position[2]))
        };
        state.positions.iter().zip(&self.unknown).filter_map(through).collect()
    }

    /// Leads unknowns as far as given, and takes them out of the matrix.
    fn lead(&mut self, gradients: &Gradients, through: &[(usize, f64)], led: &mut Led) {
        let (mut out, mut way) = (vec![false; led.out.len()], vec![0.0; led.out.len()]);
        for &(unknown, by) in through {
            (out[unknown], way[unknown]) = (true, by);
            (led.out[unknown], led.way[unknown]) = (true, by);
            led.miss += gradients.volume[unknown] * by;
        }
        self.pattern.add_product(&self.values, &way, &mut led.slope);
        self.pattern.take_out(&mut self.values, &out);
    }

    /// Leads a few unknowns as far as given in a step that is solved for already: adds columns of the inverse, each less
    /// what it does to those before it. Spares a factorisation.
    fn correct(&mut self, [step, along]: &mut [Vec<f64>; 2], through: &[(usize, f64)]) {
        let mut columns: Vec<(usize, Vec<f64>)> = Vec::with_capacity(through.len());
        for pair in through.chunks(2) {
            let unit = |&(unknown, _): &(usize, f64)| {
                let mut unit = vec![0.0; step.len()];
                unit[unknown] = 1.0;
                unit
            };
            let mut solved: Vec<_> = pair.iter().map(unit).collect();
            match &mut solved[..] {
                [one, other] => self.factor.solve(&self.pattern, [one, other]),
                [one] => self.factor.solve(&self.pattern, [one]),
                _ => {}
            }
            for (&(unknown, by), mut column) in pair.iter().zip(solved) {
                for (before, other) in &columns {
                    add(-column[*before] / other[*before], other, &mut column);
                }
                for (side, to) in [(&mut *step, by), (&mut *along, 0.0)] {
                    if !side.is_empty() {
                        add((to - side[unknown]) / column[unknown], &column, side);
                    }
                }
                columns.push((unknown, column));
            }
        }
        for &(unknown, by) in through {
            step[unknown] = by;
        }
    }

    /// Solves for a step at the present head, with a shift large enough for it, and, with a given volume, for how a raised
    /// head moves the sheet.
    fn solve(
        &mut self,
        task: &Task,
        state: &mut State,
        gradients: &Gradients,
        led: &Led,
        factorisations: &mut usize,
    ) -> Option<[Vec<f64>; 2]> {
        loop {
            for (index, (&slot, value)) in self.diagonal.iter().zip(&led.diagonal).enumerate() {
                let shifted = value + state.shift * self.mass[index];
                self.values[slot as usize] = if led.out[index] { 1.0 } else { shifted };
            }
            *factorisations += 1;
            if self.factor.factorise(&self.pattern, &self.values) {
                break;
            }
            state.shift *= 4.0;
            if state.shift > LARGEST_SHIFT * state.head.abs() / self.scale || !state.shift.is_finite() {
                return None;
            }
        }
        let masked = |from: &[f64], sign: f64| -> Vec<f64> {
            from.iter().zip(&led.out).map(|(value, out)| if *out { 0.0 } else { sign * value }).collect()
        };
        let mut step = masked(&led.slope, -1.0);
        let mut along = Vec::new();
        if task.volume.is_some() {
            along = masked(&gradients.volume, 1.0);
            self.factor.solve(&self.pattern, [&mut step, &mut along]);
        } else {
            self.factor.solve(&self.pattern, [&mut step]);
        }
        for ((step, way), out) in step.iter_mut().zip(&led.way).zip(&led.out) {
            *step = if *out { *way } else { *step };
        }
        Some([step, along])
    }

    /// Which unknowns a bound holds: heights at their bound that are pressed against it.
    fn taken_out(&self, task: &Task, state: &State, gradient: &[f64]) -> Vec<bool> {
        let mut out = self.held.clone();
        let [low, high] = task.heights;
        for (position, unknown) in state.positions.iter().zip(&self.unknown) {
            if unknown[2] != NONE && !out[unknown[2] as usize] {
                let (z, slope) = (position[2], gradient[unknown[2] as usize]);
                out[unknown[2] as usize] = (z <= low && slope > 0.0) || (z >= high && slope < 0.0);
            }
        }
        for (plate, &first) in self.plate_unknown.iter().enumerate() {
            let first = first as usize;
            if self.held[first] {
                continue;
            }
            match self.surface.plates[plate].motion {
                Motion::Held => out[first] = true,
                Motion::Along(2) => {
                    let (z, slope) = (state.plates[plate][0], gradient[first]);
                    out[first] = (z <= low && slope > 0.0) || (z >= high && slope < 0.0);
                }
                Motion::Along(_) => {}
                Motion::Tilting => {
                    let ([_, z, tilt], slope) = (state.plates[plate], gradient[first + 1]);
                    let least = self.least_tilt(plate, task);
                    // Leaning between plates, it stands on the lower one.
                    out[first + 1] = (z <= low && slope > 0.0)
                        || least.is_some()
                        || (z >= self.highest(plate, task, tilt) && slope < 0.0);
                    out[first + 2] = least.is_some_and(|least| tilt <= least) && gradient[first + 2] > 0.0;
                }
            }
        }
        out
    }

    /// How far a plate at least leans, rad, when it is wider than the bounds on heights are apart.
    fn least_tilt(&self, plate: usize, task: &Task) -> Option<f64> {
        let share = (task.heights[1] - task.heights[0]) / self.plate_width[plate];
        (share < 1.0).then(|| libm::acos(share))
    }

    /// Shears a state so that plates lean as far as the bounds make them, and the sheet with them: walls keep their
    /// lengths.
    pub(crate) fn lean(&self, task: &Task, state: &mut State) {
        let mut by = 0.0;
        for plate in 0..state.plates.len() {
            if let Some(least) = self.least_tilt(plate, task)
                && state.plates[plate][2] < least
            {
                by += libm::tan(least) - libm::tan(state.plates[plate][2]);
                state.plates[plate][2] = least;
            }
        }
        by /= state.plates.len().max(1) as f64;
        for at in &mut state.positions {
            at[1] += by * (at[2] - task.heights[0]);
        }
    }

    /// How high a plate's lower edge may at most be.
    fn highest(&self, plate: usize, task: &Task, tilt: f64) -> f64 {
        task.heights[1] - self.plate_width[plate] * libm::cos(tilt)
    }

    /// What the bounds give way with, as energy per mm by which the upper one is raised.
    pub(crate) fn push(&self, task: &Task, state: &State) -> f64 {
        let slopes = self.slopes(task, state);
        let out = self.taken_out(task, state, &slopes);
        let [low, high] = task.heights;
        let mut push = 0.0;
        for (position, unknown) in state.positions.iter().zip(&self.unknown) {
            if unknown[2] != NONE && out[unknown[2] as usize] && position[2] >= high {
                push += slopes[unknown[2] as usize].abs();
            }
        }
        for (plate, &first) in self.plate_unknown.iter().enumerate() {
            let first = first as usize;
            if self.surface.plates[plate].motion != Motion::Tilting {
                continue;
            }
            if out[first + 2] {
                // The least tilt is acos(gap/width).
                let (width, gap) = (self.plate_width[plate], high - low);
                push += slopes[first + 2] / (width * width - gap * gap).max(f64::MIN_POSITIVE).sqrt();
            } else if out[first + 1] && slopes[first + 1] < 0.0 {
                push -= slopes[first + 1];
            }
        }
        push
    }

    /// The state a share of a step further.
    fn moved(&self, state: &State, step: &[f64], share: f64, to: &mut State) {
        to.positions.copy_from_slice(&state.positions);
        for (position, unknown) in to.positions.iter_mut().zip(&self.unknown) {
            for c in 0..3 {
                if unknown[c] != NONE {
                    position[c] += share * step[unknown[c] as usize];
                }
            }
        }
        for (plate, (to, from)) in to.plates.iter_mut().zip(&state.plates).enumerate() {
            let first = self.plate_unknown[plate] as usize;
            *to = *from;
            to[0] += share * step[first];
            if self.surface.plates[plate].motion == Motion::Tilting {
                to[1] += share * step[first + 1];
                to[2] += share * step[first + 2];
            }
        }
    }

    /// Keeps heights within their bounds, and lays the plates' vertices.
    fn clamp(&self, task: &Task, state: &mut State) {
        let [low, high] = task.heights;
        for (position, unknown) in state.positions.iter_mut().zip(&self.unknown) {
            if unknown[2] != NONE {
                position[2] = position[2].clamp(low, high);
            }
        }
        for (index, (plate, place)) in self.surface.plates.iter().zip(&mut state.plates).enumerate() {
            match plate.motion {
                Motion::Along(2) => place[0] = place[0].clamp(low, high),
                Motion::Along(_) | Motion::Held => {}
                Motion::Tilting => {
                    let least = self.least_tilt(index, task);
                    if let Some(least) = least {
                        place[2] = place[2].clamp(least, core::f64::consts::FRAC_PI_2);
                    }
                    let highest = if least.is_some() { low } else { self.highest(index, task, place[2]) };
                    place[1] = place[1].clamp(low, highest.max(low));
                }
            }
        }
        self.place_plates(state);
    }
}

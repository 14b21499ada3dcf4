//! The scene as plain data: the core's mesh and what is derived from it for picking, lines and buffers.
//!
//! Buffers hold f32 relative to the sack's middle, which is subtracted in f64. They are refilled in place: no vertex
//! costs an allocation. What follows from the mesh's topology alone (lines, runs, tones, indices) is kept while the
//! topology stays.

use std::ops::Range;

use glam::{DVec2, DVec3};
use sackwright::fold::Piece;
use sackwright::model::{Face, Mesh, Part};
use sackwright::sack::Sack;
use sackwright::sheet::End;

use crate::camera::{Bounds, View};
use crate::filled::{self, Filled, Given, Pipe};
use crate::ink::{Finder, Kind, Line, Up};
use crate::pick::Hit;
use crate::place::{Band, Named, Sizes};
use crate::sight::{Seen, Sight};
use crate::tone::{self, Paper as Stock};

/// Flag of a vertex: its part is lit up.
pub const FLAG_LIT: u8 = 1;
/// Flag of a vertex: its part is of wall B, where the seam runs.
pub const FLAG_SEAM: u8 = 2;
/// Flag of a vertex: an inner side.
pub const FLAG_INNER: u8 = 4;
/// Flag of a vertex: of a bend.
pub const FLAG_BEND: u8 = 64;
/// Flag of a vertex: on a side that is printed, the outer one of the outermost ply or of a patch.
pub const FLAG_PRINTED: u8 = 128;
/// The ply's index is shifted by this in the flags; plies are at most six.
pub const PLY_SHIFT: u8 = 3;
/// What stands in the ply's stead for the patch of the valve end; the plain end's is one more.
pub const PATCH: u8 = 6;

/// What covers may be drawn after what lies this much further down, mm.
const OUT_OF_ORDER_MM: f64 = 20.0;
/// Triangles narrower than this on the paper are of bends, mm: panels are wider.
const BEND_WIDTH_MM: f64 = 2.8;
/// Cosine between two panels' normals below which a line along their fold lies in one of their planes.
const SHARP: f64 = -0.2;
/// The same at which a fold is an outline: paper lies on paper, and its line is as strong as a cut's.
const SHARPEST: f64 = -0.9;
/// Cosine to a panel's normal above which a line along its cut edge lies in the plane of what it bounds.
const ALONG: f64 = 0.98;

/// The triangles of one part, with the box around them.
#[derive(Clone, Debug, PartialEq)]
pub struct Run {
    /// Index into the mesh's parts.
    pub part: usize,
    /// Which of [`Scene::triangles`].
    pub triangles: Range<usize>,
    /// The vertices of those, each once.
    pub vertices: Vec<u32>,
    /// The box around them, mm.
    pub bounds: Bounds,
}

/// What is drawn with one program.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Group {
    /// Paper through which no seam runs.
    Plain,
    /// Paper through which the seam runs.
    Seam,
    /// A wall of a filled sack, with its creases.
    Wall,
    /// A wall of a filled sack with creases and seam.
    SeamWall,
    /// A bottom of a filled sack.
    Bottom(End),
    /// What is no paper: the boards under a stack, a spout.
    Board,
}

impl Group {
    /// All of them.
    pub const ALL: [Self; 7] = [
        Self::Plain,
        Self::Seam,
        Self::Wall,
        Self::SeamWall,
        Self::Bottom(End::ValveEnd),
        Self::Bottom(End::PlainEnd),
        Self::Board,
    ];
}

/// What is drawn of one run with one program.
#[derive(Clone, Debug, PartialEq)]
pub struct Slice {
    /// Which of [`Scene::runs`].
    pub run: usize,
    /// What it is drawn with.
    pub group: Group,
    /// Which of [`Paper::indices`].
    pub indices: Range<usize>,
}

/// Buffers of the paper, one entry per vertex: those of the mesh, then those where triangles were cut off.
#[derive(Debug, Default)]
pub struct Paper {
    /// mm, relative to the origin.
    pub positions: Vec<[f32; 3]>,
    /// Outward, times 32767; the fourth is unused.
    pub normals: Vec<[i16; 4]>,
    /// Chart coordinates u, v, mm.
    pub paper: Vec<[f32; 2]>,
    /// Tone (sRGB red, green, blue) and flags.
    pub tags: Vec<[u8; 4]>,
    /// Three per triangle that can be seen from anywhere, in the order of [`Scene::slices`].
    pub indices: Vec<u32>,
    /// Three per triangle: the outermost and innermost plies, patch and sleeve, which throw every shadow there is.
    pub casters: Vec<u32>,
}

/// Buffers of the lines, one entry per line.
#[derive(Debug, Default)]
pub struct Ink {
    /// One end, mm, relative to the origin; the fourth is how high the first sheet lies over the line there.
    pub from: Vec<[f32; 4]>,
    /// The other end; the fourth is how high the second sheet lies.
    pub to: Vec<[f32; 4]>,
    /// Normal of the sheet that it is drawn on, times 32767; the fourth is 0 where the sheet is flat or bends a little,
    /// and grows from 1 to 32767 with how sharply it is folded.
    pub normals: Vec<[i16; 4]>,
    /// Normal of the other sheet at a sharp fold, else the same again; the fourth is unused.
    pub others: Vec<[i16; 4]>,
    /// Whether it is a crease, a rim of what is lit, a rim that shows through other paper; the fourth is unused.
    pub style: Vec<[u8; 4]>,
    /// The lines are the outline of what is round: paper beside them is nearer to the eye at once.
    pub outline: bool,
}

impl Ink {
    /// Adds a crease between two points, mm, relative to the origin, on a flat sheet with this normal; a sharp one is as strong
    /// as a rim.
    fn crease(&mut self, ends: [DVec3; 2], normal: DVec3, sharp: bool) {
        let [from, to] = ends.map(|end| end.as_vec3().extend(0.0).to_array());
        let mut normal = packed(normal.to_array());
        normal[3] = if sharp { i16::MAX } else { 0 };
        self.from.push(from);
        self.to.push(to);
        self.normals.push(normal);
        self.others.push(normal);
        self.style.push([1, 0, 0, 0]);
    }
}

/// A vertex between two of the mesh's, where a triangle was cut off.
#[derive(Clone, Copy, Debug)]
struct Between {
    ends: [u32; 2],
    at: f64,
}

/// The scene.
#[derive(Debug)]
pub struct Scene {
    /// The core's mesh, mm; refilled by whoever calls [`Scene::refresh`].
    pub mesh: Mesh,
    /// Sizes of the sack.
    pub sizes: Sizes,
    /// Papers of the plies, from outside in.
    pub papers: Vec<Stock>,
    /// The box around the mesh, mm.
    pub bounds: Bounds,
    /// What is subtracted from positions before they become f32, mm.
    pub origin: DVec3,
    /// The mesh's triangles, ordered by part.
    pub triangles: Vec<[u32; 3]>,
    /// One run per part that has triangles.
    pub runs: Vec<Run>,
    /// What is drawn of every run that is drawn at all.
    pub slices: Vec<Slice>,
    /// Buffers of the paper.
    pub paper: Paper,
    /// Buffers of the lines.
    pub ink: Ink,
    /// Paper that is lit up, within its parts.
    pub band: Band,
    /// The filled sack, if this is one.
    pub filled: Option<Filled>,
    finder: Finder,
    lines: Vec<Line>,
    /// What views of the whole show besides the flat sack, mm.
    reach: Vec<DVec3>,
    /// How much of the way they open from the flat sack to it, 0 to 1, and close again to its last eight points, 1 to 2.
    pub opened: f64,
    cuts: Vec<Between>,
    /// Boards and blocks under a stack, least and highest corner, mm.
    boards: Vec<[DVec3; 2]>,
    /// The spout that fills the sack.
    pipe: Option<Pipe>,
    /// Per vertex of the mesh: [`FLAG_BEND`] or nothing.
    bends: Vec<u8>,
    lit: Vec<bool>,
    /// The sack is another than when the mesh was taken in last.
    is_other: bool,
}

impl Scene {
    /// An empty scene for a sack: fill the mesh, then [`Scene::refresh`].
    #[must_use]
    pub fn new(sack: &Sack) -> Self {
        let sizes = Sizes::of(sack);
        let middle_y = (sizes.opening_depth[0] - sizes.opening_depth[1] - sizes.centre_distance) / 2.0;
        Self {
            mesh: Mesh::default(),
            sizes,
            papers: sack.file().plies.iter().map(|ply| Stock::of(&ply.paper)).collect(),
            bounds: Bounds::EMPTY,
            origin: DVec3::new(0.0, middle_y, 0.0),
            triangles: Vec::new(),
            runs: Vec::new(),
            slices: Vec::new(),
            paper: Paper::default(),
            ink: Ink::default(),
            band: Band::ALL,
            filled: None,
            finder: Finder::default(),
            lines: Vec::new(),
            reach: Vec::new(),
            opened: 0.0,
            cuts: Vec::new(),
            boards: Vec::new(),
            pipe: None,
            bends: Vec::new(),
            lit: Vec::new(),
            is_other: true,
        }
    }

    /// Becomes the scene of another sack, in the room that it has: fill the mesh, then [`Scene::refresh`].
    pub fn renew(&mut self, sack: &Sack) {
        let Self { sizes, papers, origin, .. } = Self::new(sack);
        (self.sizes, self.papers, self.origin) = (sizes, papers, origin);
        self.is_other = true;
    }

    /// Takes the mesh in after it was refilled. Returns whether its topology changed: then tags, indices, paper
    /// coordinates and line styles are new too, else only positions and normals are.
    pub fn refresh(&mut self, lit: Option<Named>) -> bool {
        let connected_anew = self.finder.take(&self.mesh);
        if connected_anew {
            self.find_runs();
        }
        let changed = connected_anew || self.is_other;
        if changed {
            self.is_other = false;
            self.lines = self.finder.lines(&self.mesh, &self.sizes);
            self.find_bends();
            self.index();
            self.light_up(lit);
        }
        self.measure();
        self.place_vertices();
        self.place_lines();
        changed
    }

    /// The scene of a filled sack, or of a stack of them on `board` (length, width and height, mm); none where `given`
    /// holds positions that can't be drawn.
    #[must_use]
    pub fn filled(sack: &Sack, given: &Given, copies: Vec<[f32; 4]>, board: Option<[f64; 3]>) -> Option<Self> {
        let mut scene = Self::new(sack);
        scene.origin = DVec3::ZERO;
        let shape = Filled::new(given, &scene.sizes, copies);
        scene.mesh.parts = filled::parts();
        scene.mesh.paper.clone_from(&shape.paper);
        let ends = || shape.panels.iter().map(|&panel| filled::end_of(panel));
        let part = |(&at, end): (&[f64; 2], Option<End>)| match end {
            // A bottom is one part here; what lies where on it is told by the chart.
            Some(end) => filled::first_part(end) + scene.sizes.plans[end as usize].last,
            None => filled::part_at(at, None, &scene.sizes),
        };
        scene.mesh.part = shape.paper.iter().zip(ends()).map(|pair| part(pair) as u16).collect();
        scene.mesh.triangles.clone_from(&shape.triangles);
        scene.bends = vec![0; shape.paper.len()];
        scene.filled = Some(shape);
        scene.fill_positions(&given.positions)?;
        scene.find_runs();
        scene.index_filled();
        if let Some(board) = board {
            scene.add_boards(board);
        }
        scene.measure();
        scene.place_vertices();
        scene.light_up(None);
        Some(scene)
    }

    /// Moves a filled sack and its spout, three numbers (mm) a vertex, no numbers for a spout that is not to be seen; none, and
    /// nothing moved, when there is not one finite place for every vertex given.
    pub fn move_filled(&mut self, positions: &[f32], spout: &[f32]) -> Option<()> {
        let places = filled::points(spout)?;
        if !places.is_empty() && self.pipe.as_ref().is_none_or(|pipe| pipe.normals.len() != places.len()) {
            return None;
        }
        self.fill_positions(positions)?;
        if let Some(pipe) = &mut self.pipe {
            pipe.positions = places;
        }
        self.measure();
        self.place_vertices();
        Some(())
    }

    fn fill_positions(&mut self, given: &[f32]) -> Option<()> {
        let Mesh { positions, normals, .. } = &mut self.mesh;
        self.filled.as_mut()?.place(given, positions, normals)
    }

    fn index_filled(&mut self) {
        let paper = &mut self.paper;
        paper.paper.extend(self.mesh.paper.iter().map(|p| p.map(|x| x as f32)));
        let mut with_seam = Vec::new();
        for (index, run) in self.runs.iter().enumerate() {
            let part = &self.mesh.parts[run.part];
            let first = paper.indices.len();
            for triangle in &self.triangles[run.triangles.clone()] {
                let seam =
                    part.end.is_none() && self.sizes.has_seam(part, triangle.map(|i| self.mesh.paper[i as usize]));
                if seam { &mut with_seam } else { &mut paper.indices }.extend(triangle);
            }
            let middle = paper.indices.len();
            paper.indices.append(&mut with_seam);
            let last = paper.indices.len();
            let plain = part.end.map_or(Group::Wall, Group::Bottom);
            for (group, indices) in [(plain, first..middle), (Group::SeamWall, middle..last)] {
                if !indices.is_empty() {
                    self.slices.push(Slice { run: index, group, indices });
                }
            }
        }
        paper.casters.clone_from(&paper.indices);
    }

    /// Has views of the whole show these points (mm), as far as they are opened, and the table lie under the lowest of them.
    pub fn keep_in_sight(&mut self, points: Vec<DVec3>) {
        self.reach = points;
        self.measure();
    }

    /// What a view shows: points that are fitted into the canvas.
    #[must_use]
    pub fn points(&self, view: View) -> Vec<DVec3> {
        if self.filled.is_none() {
            return self.sizes.points(view);
        }
        if !self.reach.is_empty() && matches!(view, View::Whole | View::Above | View::Below | View::Side) {
            let last = self.reach.len().saturating_sub(8);
            let mut points = if self.opened <= 1.0 { self.sizes.points(view) } else { self.reach[last..].to_vec() };
            let middle = points.iter().sum::<DVec3>() / points.len() as f64;
            let share = if self.opened <= 1.0 { self.opened } else { 2.0 - self.opened };
            points.extend(self.reach.iter().map(|point| middle + (point - middle) * share));
            // However fast the sack is taken up, the view does not lose it.
            points.extend(self.of_runs().corners());
            return points;
        }
        let mut bounds = if self.is_stack() { self.bounds } else { self.of_runs() };
        let [valve, plain] = self.sizes.bottom_width;
        match view {
            // Of a stack every view shows the whole.
            _ if self.is_stack() => {}
            View::Whole | View::Above | View::Below | View::Side => {}
            View::ValveEnd => bounds.min.y = bounds.max.y - 1.5 * valve,
            View::PlainEnd => bounds.max.y = bounds.min.y + 1.5 * plain,
            View::Corner => {
                bounds.min.y = bounds.max.y - 1.1 * valve;
                let reach = 2.0 * valve;
                if self.sizes.valve_side < 0.0 {
                    bounds.max.x = bounds.max.x.min(bounds.min.x + reach);
                } else {
                    bounds.min.x = bounds.min.x.max(bounds.max.x - reach);
                }
            }
        }
        bounds.corners().to_vec()
    }

    /// The box around all runs.
    fn of_runs(&self) -> Bounds {
        self.runs.iter().fold(Bounds::EMPTY, |all, run| all.with(run.bounds.min).with(run.bounds.max))
    }

    /// Whether this is a stack of copies.
    #[must_use]
    pub fn is_stack(&self) -> bool {
        self.filled.as_ref().is_some_and(|filled| !filled.copies.is_empty())
    }

    /// The part that was hit: on a filled sack's bottom the one that lies on top there.
    #[must_use]
    pub fn part_of(&self, hit: Hit) -> usize {
        let end = self.mesh.parts[hit.part].end;
        if self.filled.is_some() { filled::part_at(hit.paper, end, &self.sizes) } else { hit.part }
    }

    /// Finds the outline of a filled sack for an eye: edges between a triangle that faces it and one that does not.
    pub fn find_outline(&mut self, eye: DVec3) {
        let Some(filled) = &self.filled else { return };
        self.ink = Ink { outline: true, ..Ink::default() };
        let one = [[0.0; 4]];
        let copies: &[[f32; 4]] = if filled.copies.is_empty() { &one } else { &filled.copies };
        for copy in copies {
            let [x, y, z, turns] = copy.map(f64::from);
            let stand = |p: DVec3| quarter(p, turns) + DVec3::new(x, y, z);
            // The eye as the copy sees it.
            let seen_from = quarter(eye - DVec3::new(x, y, z), -turns);
            for edge in &filled.edges {
                let ends = edge.ends.map(|i| DVec3::from(self.mesh.positions[i as usize]));
                if let Some(front) = edge.outline(&filled.facets, seen_from - ends[0]) {
                    self.ink.crease(ends.map(|end| stand(end) - self.origin), quarter(front, turns), edge.is_rim());
                }
            }
        }
        if let Some(pipe) = self.pipe.as_ref().filter(|pipe| !pipe.positions.is_empty()) {
            let facets: Vec<DVec3> = pipe
                .triangles
                .iter()
                .map(|triangle| {
                    let [a, b, c] = triangle.map(|i| pipe.positions[i as usize]);
                    (b - a).cross(c - a).normalize_or(DVec3::Z)
                })
                .collect();
            for edge in &pipe.edges {
                let ends = edge.ends.map(|i| pipe.positions[i as usize]);
                if let Some(front) = edge.outline(&facets, eye - ends[0]) {
                    self.ink.crease(ends.map(|end| end - self.origin), front, false);
                }
            }
        }
        for (normal, corners) in self.boards.iter().flat_map(|&one| filled::faces(one)) {
            let faces_eye = normal.dot(eye - corners[0]) > 0.0;
            for k in (0..4).filter(|_| faces_eye) {
                let ends = [corners[k], corners[(k + 1) % 4]];
                self.ink.crease(ends.map(|end| end - self.origin), normal, false);
            }
        }
    }

    /// Lights up what is named; nothing for none. Tags, band and line styles are new after it.
    pub fn light_up(&mut self, named: Option<Named>) {
        self.band = named.map_or(Band::ALL, |named| named.band(&self.sizes));
        self.lit.clear();
        // A filled sack's bottoms have a chart of their own, on which bands say nothing.
        let whole = self.band == Band::ALL;
        let can = |part: &Part| whole || self.filled.is_none() || part.end.is_none();
        let holds = |part: &Part| named.is_some_and(|named| can(part) && named.holds(part, &self.sizes));
        self.lit.extend(self.mesh.parts.iter().map(holds));
        let mut part_tags: Vec<[u8; 4]> = self
            .mesh
            .parts
            .iter()
            .zip(&self.lit)
            .map(|(part, &lit)| {
                let [r, g, b] = tone::of(part, &self.papers);
                let sheet = match (part.piece, part.end) {
                    (Piece::Patch, Some(end)) => PATCH + end as u8,
                    _ => part.ply.unwrap_or(0),
                };
                let mut flags = sheet << PLY_SHIFT;
                flags |= if lit { FLAG_LIT } else { 0 };
                flags |= if tone::on_wall_b(part) { FLAG_SEAM } else { 0 };
                flags |= if part.face == Face::Inner { FLAG_INNER } else { 0 };
                flags |= if is_printed(part) { FLAG_PRINTED } else { 0 };
                [r, g, b, flags]
            })
            .collect();
        if self.filled.is_some() {
            // All of a bottom carries the flag; which of its parts are lit is told apart by the chart.
            for end in End::ALL {
                let first = filled::first_part(end);
                let flag = if self.lit_parts(end) == 0 { 0 } else { FLAG_LIT };
                for [.., flags] in &mut part_tags[first..first + filled::BOTTOM_PARTS] {
                    *flags = *flags & !FLAG_LIT | flag;
                }
            }
        }
        self.paper.tags.clear();
        let mesh = self.mesh.part.iter().zip(&self.bends);
        let cut = self.cuts.iter().map(|cut| cut.ends[0] as usize);
        let vertices = mesh.chain(cut.map(|i| (&self.mesh.part[i], &self.bends[i])));
        self.paper.tags.extend(vertices.map(|(&part, &bend)| {
            let [r, g, b, flags] = part_tags[usize::from(part)];
            [r, g, b, flags | bend]
        }));
        let innermost = self.mesh.parts.iter().filter_map(|part| part.ply).max();
        if self.filled.is_some() {
            let [r, g, b] = tone::BOARD;
            self.paper.tags.extend(std::iter::repeat_n([r, g, b, 0], 24 * self.boards.len()));
            let [r, g, b] = tone::STEEL;
            let spout = self.pipe.as_ref().map_or(0, |pipe| pipe.normals.len());
            self.paper.tags.extend(std::iter::repeat_n([r, g, b, 0], spout));
            return;
        }
        self.ink.style.clear();
        self.ink.style.extend(self.lines.iter().map(|line| {
            let [a, b] = line.parts.map(|part| self.lit[usize::from(part)]);
            let ply = self.mesh.parts[usize::from(line.parts[0])].ply;
            // The rim of what is lit: its cuts, and the creases towards what is not; not every ply's again, and
            // through other paper only one ply's.
            let rim = whole && if line.kind == Kind::Cut { a } else { a != b };
            let through = ply.is_none() || ply == Some(0);
            let rim = rim && (through || ply == innermost);
            let style = [line.kind == Kind::Crease, rim, rim && through, false];
            style.map(u8::from)
        }));
    }

    /// Which parts of a filled sack's bottom are lit, as bits in the order of [`filled::parts`].
    #[must_use]
    pub fn lit_parts(&self, end: End) -> i32 {
        let first = filled::first_part(end);
        (0..filled::BOTTOM_PARTS).filter(|part| self.lit.get(first + part) == Some(&true)).map(|part| 1 << part).sum()
    }

    /// Whether anything is lit up.
    #[must_use]
    pub fn is_lit(&self) -> bool {
        self.lit.contains(&true)
    }

    fn find_runs(&mut self) {
        let part_of = |triangle: &[u32; 3]| usize::from(self.mesh.part[triangle[0] as usize]);
        // Counted, not compared: this is done anew for every sack that a hand drags.
        let mut next = vec![0; self.mesh.parts.len() + 1];
        for triangle in &self.mesh.triangles {
            next[part_of(triangle) + 1] += 1;
        }
        self.runs.clear();
        for part in 0..self.mesh.parts.len() {
            let first = next[part];
            next[part + 1] += first;
            if next[part + 1] > first {
                let triangles = first..next[part + 1];
                self.runs.push(Run { part, triangles, vertices: Vec::new(), bounds: Bounds::EMPTY });
            }
        }
        self.triangles.resize(self.mesh.triangles.len(), [0; 3]);
        for triangle in &self.mesh.triangles {
            let place = &mut next[part_of(triangle)];
            self.triangles[*place] = *triangle;
            *place += 1;
        }
        let mut listed = vec![usize::MAX; self.mesh.positions.len()];
        for (number, run) in self.runs.iter_mut().enumerate() {
            for &vertex in self.triangles[run.triangles.clone()].iter().flatten() {
                if std::mem::replace(&mut listed[vertex as usize], number) != number {
                    run.vertices.push(vertex);
                }
            }
        }
    }

    fn find_bends(&mut self) {
        self.bends.clear();
        self.bends.resize(self.mesh.positions.len(), 0);
        for triangle in &self.mesh.triangles {
            // Patch and sleeve are one sheet each, lying on top; their bends share its vertices.
            let part = usize::from(self.mesh.part[triangle[0] as usize]);
            if self.mesh.parts[part].piece != Piece::Ply {
                continue;
            }
            let [a, b, c] = triangle.map(|i| DVec2::from(self.mesh.paper[i as usize]));
            let longest = [b - a, c - b, a - c].map(DVec2::length_squared).into_iter().fold(0.0, f64::max);
            let area = (b - a).perp_dot(c - a);
            if area * area < longest * BEND_WIDTH_MM * BEND_WIDTH_MM {
                for &i in triangle {
                    self.bends[i as usize] = FLAG_BEND;
                }
            }
        }
    }

    /// Lists the triangles to be drawn. What other plies cover from everywhere is left out, and what they leave free
    /// is cut off to that: software renderers shade what is covered too, so six plies would cost six times one.
    fn index(&mut self) {
        let paper = &mut self.paper;
        paper.indices.clear();
        paper.casters.clear();
        self.cuts.clear();
        self.slices.clear();
        let sight = Sight::new(&self.mesh, &self.sizes);
        let vertices = self.mesh.positions.len() as u32;
        let mut with_seam = Vec::new();
        for (index, run) in self.runs.iter().enumerate() {
            let part = &self.mesh.parts[run.part];
            let triangles = &self.triangles[run.triangles.clone()];
            if sight.casts(part) {
                paper.casters.extend(triangles.iter().flatten());
            }
            let first = paper.indices.len();
            with_seam.clear();
            for triangle in triangles {
                let chart = triangle.map(|i| self.mesh.paper[i as usize]);
                let into = if self.sizes.has_seam(part, chart) { &mut with_seam } else { &mut paper.indices };
                match sight.of(part, chart) {
                    Seen::All => into.extend(triangle),
                    Seen::Nothing => {}
                    Seen::Where(free) => into.extend(cut_off(*triangle, free, vertices, &mut self.cuts).flatten()),
                }
            }
            let middle = paper.indices.len();
            paper.indices.extend(&with_seam);
            let last = paper.indices.len();
            for (group, indices) in [(Group::Plain, first..middle), (Group::Seam, middle..last)] {
                if !indices.is_empty() {
                    self.slices.push(Slice { run: index, group, indices });
                }
            }
        }
        paper.paper.clear();
        paper.paper.extend(self.mesh.paper.iter().map(|p| p.map(|x| x as f32)));
        paper.paper.extend(self.cuts.iter().map(|cut| cut.mix(&self.mesh.paper).map(|x| x as f32)));
    }

    /// Which of [`Scene::slices`] to draw after which, so that what covers is drawn before what is covered: layers lie
    /// on each other along z, and software renderers shade what is painted over.
    #[must_use]
    pub fn order(&self, from_above: bool) -> Vec<usize> {
        let mut order: Vec<(u64, u32)> = (0..self.slices.len())
            .map(|slice| {
                let depth = self.depth(slice, from_above);
                // Bits of a number, turned so that they rise with it.
                let bits = depth.to_bits();
                (if depth.is_sign_negative() { !bits } else { bits | 1 << 63 }, slice as u32)
            })
            .collect();
        order.sort_unstable();
        order.into_iter().map(|(_, slice)| slice as usize).collect()
    }

    /// Whether `order` is one of [`Scene::slices`] in which nothing is drawn long before what covers it. Panels that swing
    /// past each other change places all the time, and to send them anew costs more than some paper painted over.
    #[must_use]
    pub fn is_in_order(&self, order: &[usize], from_above: bool) -> bool {
        let mut last = f64::NEG_INFINITY;
        order.len() == self.slices.len()
            && order.iter().all(|&slice| {
                let depth = self.depth(slice, from_above);
                last = last.max(depth);
                depth > last - OUT_OF_ORDER_MM
            })
    }

    /// How far away along z the nearest of a slice is, mm.
    fn depth(&self, slice: usize, from_above: bool) -> f64 {
        let bounds = self.runs[self.slices[slice].run].bounds;
        if from_above { -bounds.max.z } else { bounds.min.z }
    }

    fn measure(&mut self) {
        self.bounds = Bounds::EMPTY;
        for run in &mut self.runs {
            let place = |&i: &u32| DVec3::from(self.mesh.positions[i as usize]);
            run.bounds = run.vertices.iter().map(place).fold(Bounds::EMPTY, Bounds::with);
            self.bounds = self.bounds.with(run.bounds.min).with(run.bounds.max);
        }
        if let Some(pipe) = &self.pipe {
            self.bounds = pipe.positions.iter().fold(self.bounds, |bounds, &p| bounds.with(p));
        }
        self.bounds.min.z = self.reach.iter().fold(self.bounds.min.z, |low, point| low.min(point.z));
        if let Some(filled) = self.filled.as_ref().filter(|filled| !filled.copies.is_empty()) {
            let one = self.bounds;
            self.bounds = Bounds::EMPTY;
            for copy in &filled.copies {
                let [x, y, z, turns] = copy.map(f64::from);
                for corner in one.corners() {
                    self.bounds = self.bounds.with(quarter(corner, turns) + DVec3::new(x, y, z));
                }
            }
            self.bounds = self.boards.iter().flatten().fold(self.bounds, |bounds, &p| bounds.with(p));
        }
    }

    fn place_vertices(&mut self) {
        let origin = self.origin;
        let near = |p: [f64; 3]| (DVec3::from(p) - origin).as_vec3().to_array();
        let Mesh { positions, normals, .. } = &self.mesh;
        let paper = &mut self.paper;
        paper.positions.clear();
        paper.positions.extend(positions.iter().map(|&p| near(p)));
        paper.positions.extend(self.cuts.iter().map(|cut| near(cut.mix(positions))));
        paper.normals.clear();
        paper.normals.extend(normals.iter().map(|&n| packed(n)));
        paper.normals.extend(self.cuts.iter().map(|cut| packed(cut.mix(normals))));
        for (normal, corners) in self.boards.iter().flat_map(|&one| filled::faces(one)) {
            paper.positions.extend(corners.map(|corner| near(corner.to_array())));
            paper.normals.extend([packed(normal.to_array()); 4]);
        }
        if let Some(pipe) = &self.pipe {
            // All in one point it is not drawn.
            let hidden = self.bounds.middle();
            let place = |vertex| near(pipe.positions.get(vertex).copied().unwrap_or(hidden).to_array());
            paper.positions.extend((0..pipe.normals.len()).map(place));
            paper.normals.extend(pipe.normals.iter().map(|n| packed(n.to_array())));
        }
    }

    /// Puts a spout beside a filled sack, not to be seen yet: its vertices come after all others.
    pub fn add_pipe(&mut self, pipe: Pipe) {
        let paper = &mut self.paper;
        let first = self.mesh.positions.len() as u32;
        let from = paper.indices.len();
        // Steel has no fibres: one place of the grain for all of it.
        paper.paper.extend(pipe.normals.iter().map(|_| [0.0; 2]));
        paper.indices.extend(pipe.triangles.iter().flatten().map(|vertex| first + vertex));
        let indices = from..paper.indices.len();
        paper.casters.extend(&paper.indices[indices.clone()]);
        self.slices.push(Slice { run: 0, group: Group::Board, indices });
        self.pipe = Some(pipe);
        self.place_vertices();
        self.light_up(None);
    }

    /// Puts boards under a stack: their vertices come after all others.
    fn add_boards(&mut self, size: [f64; 3]) {
        self.boards = filled::boards(size);
        let paper = &mut self.paper;
        let mut first = self.mesh.positions.len() as u32;
        let from = paper.indices.len();
        for (normal, corners) in self.boards.iter().flat_map(|&one| filled::faces(one)) {
            // Like paper with its fibres along x.
            let flat = |p: DVec3| if normal.z == 0.0 { [p.z, p.x + p.y] } else { [p.y, p.x] };
            paper.paper.extend(corners.map(|corner| flat(corner).map(|x| x as f32)));
            paper.indices.extend([0, 1, 2, 0, 2, 3].map(|k| first + k));
            first += 4;
        }
        let indices = from..paper.indices.len();
        self.slices.push(Slice { run: 0, group: Group::Board, indices });
    }

    fn place_lines(&mut self) {
        let Mesh { positions, normals, .. } = &self.mesh;
        let place = |i: u32| DVec3::from(positions[i as usize]);
        let normal = |i: u32| DVec3::from(normals[i as usize]);
        self.ink.from.clear();
        self.ink.to.clear();
        self.ink.normals.clear();
        self.ink.others.clear();
        for line in &self.lines {
            let [a, b] = line.ends;
            // Where a sheet turns sharply the line lies on whichever of its two panels faces the eye.
            let (up, other, sharp, rises) = match line.up {
                Up::Level => (DVec3::Z, DVec3::Z, 1.0, [0.0; 2]),
                Up::Normals([one, two]) => {
                    let (n, m) = (normal(one), normal(two));
                    let turn = n.dot(m);
                    let rises = [one, two].map(|i| (place(i) - place(a)).dot(normal(i)) as f32);
                    if turn < SHARP {
                        (n, m, (SHARP - turn) / (SHARP - SHARPEST), rises)
                    } else {
                        // One panel may lie a step higher.
                        (n + m, n + m, 0.0, [rises[0].max(rises[1]).max(0.0); 2])
                    }
                }
                Up::Through([below, above, panel]) => {
                    let up = (place(above) - place(below)).normalize_or_zero();
                    let (up, sharp) = if up.dot(normal(panel)) < ALONG { (normal(panel), 1.0) } else { (up, 0.0) };
                    (up, up, sharp, [0.0; 2])
                }
            };
            let end = |i: u32, rise: f32| {
                let [x, y, z] = self.paper.positions[i as usize];
                [x, y, z, rise]
            };
            self.ink.from.push(end(a, rises[0]));
            self.ink.to.push(end(b, rises[1]));
            let [up, other] = [up, other].map(|normal| packed(normal.normalize_or(DVec3::Z).to_array()));
            let sharp = if sharp > 0.0 { 1 + (sharp.min(1.0) * 32766.0) as i16 } else { 0 };
            self.ink.normals.push([up[0], up[1], up[2], sharp]);
            self.ink.others.push(other);
        }
    }
}

/// Whether a part is of a side that is printed.
fn is_printed(part: &Part) -> bool {
    part.face == Face::Outer && (part.piece == Piece::Patch || (part.piece, part.ply) == (Piece::Ply, Some(0)))
}

/// A point turned about z by quarter turns.
fn quarter(p: DVec3, turns: f64) -> DVec3 {
    match (turns.round() as i64).rem_euclid(4) {
        0 => p,
        1 => DVec3::new(-p.y, p.x, p.z),
        2 => DVec3::new(-p.x, -p.y, p.z),
        _ => DVec3::new(p.y, -p.x, p.z),
    }
}

impl Between {
    fn mix<const N: usize>(&self, values: &[[f64; N]]) -> [f64; N] {
        let [a, b] = self.ends.map(|end| values[end as usize]);
        std::array::from_fn(|k| a[k] + (b[k] - a[k]) * self.at)
    }
}

/// A normal as buffers have it.
pub(crate) fn packed(normal: [f64; 3]) -> [i16; 4] {
    let [x, y, z] = normal.map(|c| (c * 32767.0) as i16);
    [x, y, z, 0]
}

/// Keeps of a triangle what is free: positive at its corners, linear between. New vertices are numbered from
/// `vertices` on, in the order of `cuts`.
fn cut_off(
    triangle: [u32; 3],
    free: [f64; 3],
    vertices: u32,
    cuts: &mut Vec<Between>,
) -> impl Iterator<Item = [u32; 3]> {
    let mut polygon = [0u32; 4];
    let mut corners = 0;
    for k in 0..3 {
        let m = (k + 1) % 3;
        if free[k] > 0.0 {
            polygon[corners] = triangle[k];
            corners += 1;
        }
        if (free[k] > 0.0) != (free[m] > 0.0) {
            polygon[corners] = vertices + cuts.len() as u32;
            corners += 1;
            let at = free[k] / (free[k] - free[m]);
            cuts.push(Between { ends: [triangle[k], triangle[m]], at });
        }
    }
    (2..corners).map(move |k| [polygon[0], polygon[k - 1], polygon[k]])
}

#[cfg(test)]
mod tests {
    use sackwright::finding::Place;
    use sackwright::fold::{PanelName, Stage};
    use sackwright::tube::Wall;

    use super::*;
    use crate::testing::{STEPPED, pose, sack, sack_of, scene};

    #[test]
    fn buffers_agree_with_the_mesh_to_a_thousandth_of_a_ply() {
        let scene = scene(&sack(STEPPED), Stage::PressPockets, 0.3, 1.0);
        for (near, exact) in scene.paper.positions.iter().zip(&scene.mesh.positions) {
            let back = DVec3::from(near.map(f64::from)) + scene.origin;
            assert!(back.distance(DVec3::from(*exact)) < 1e-4);
        }
        let vertices = scene.paper.positions.len();
        assert_eq!(scene.paper.normals.len(), vertices);
        assert_eq!(scene.paper.paper.len(), vertices);
        assert_eq!(scene.paper.tags.len(), vertices);
        assert!(scene.paper.indices.iter().all(|&i| (i as usize) < vertices));
        assert_eq!(scene.ink.from.len(), scene.ink.style.len());
        assert_eq!(scene.ink.from.len(), scene.ink.normals.len());
    }

    #[test]
    fn only_what_moves_is_made_anew_within_a_stage() {
        let sack = sack(STEPPED);
        let mut scene = scene(&sack, Stage::OpenMouth, 0.1, 1.0);
        let before = scene.paper.positions.clone();
        assert!(!pose(&mut scene, &sack, Stage::OpenMouth, 0.2, 1.0));
        assert_ne!(scene.paper.positions, before);
        // The sleeve comes in.
        assert!(pose(&mut scene, &sack, Stage::InsertValve, 0.5, 1.0));
    }

    #[test]
    fn what_is_named_is_lit_and_nothing_else() {
        let mut scene = scene(&sack(STEPPED), Stage::FoldFlaps, 1.0, 1.0);
        scene.light_up(Some(Named::Place(Place::Sleeve)));
        for (tags, &part) in scene.paper.tags.iter().zip(&scene.mesh.part) {
            let sleeve = scene.mesh.parts[usize::from(part)].panel.name().starts_with("sleeve");
            assert_eq!(tags[3] & FLAG_LIT != 0, sleeve);
        }
        assert!(scene.ink.style.iter().any(|style| style[2] == 1));
        scene.light_up(None);
        assert!(scene.paper.tags.iter().all(|tags| tags[3] & FLAG_LIT == 0));
        assert!(scene.ink.style.iter().all(|style| style[1] == 0));
    }

    #[test]
    fn the_outermost_ply_and_the_patches_are_printed_outside_and_nothing_else() {
        let scene = scene(&sack(STEPPED), Stage::LayPatch, 1.0, 1.0);
        let mut printed = Vec::new();
        for (tags, &part) in scene.paper.tags.iter().zip(&scene.mesh.part) {
            let part = &scene.mesh.parts[usize::from(part)];
            let number = tags[3] >> PLY_SHIFT & 7;
            match (part.piece, part.end) {
                (Piece::Patch, Some(end)) => assert_eq!(number, PATCH + end as u8),
                _ => assert_eq!(number, part.ply.unwrap_or(0)),
            }
            if tags[3] & FLAG_PRINTED != 0 {
                assert_eq!(part.face, Face::Outer);
                assert!(number == 0 || number >= PATCH, "{number}");
                printed.push(part.panel);
            }
        }
        for panel in [PanelName::Body(Wall::A), PanelName::Body(Wall::B), PanelName::Patch] {
            assert!(printed.contains(&panel), "{panel:?}");
        }
    }

    #[test]
    fn a_side_folds_line_lies_in_the_surface_of_its_walls() {
        let scene = scene(&sack_of(4, 15.0), Stage::LayPatch, 1.0, 1.0);
        let Scene { lines, ink, mesh, .. } = &scene;
        let mut found = 0;
        for (index, line) in lines.iter().enumerate() {
            let [a, b] = line.parts.map(|part| &mesh.parts[usize::from(part)]);
            if !matches!([a.panel, b.panel], [PanelName::Body(Wall::A), PanelName::Body(Wall::B)]) {
                continue;
            }
            let Up::Normals(panels) = line.up else { panic!("a crease lies on two panels") };
            let start = DVec3::from(mesh.positions[line.ends[0] as usize]);
            for (panel, rise) in panels.into_iter().zip([ink.from[index][3], ink.to[index][3]]) {
                let [place, normal] = [&mesh.positions, &mesh.normals].map(|list| DVec3::from(list[panel as usize]));
                let off = (start + normal * f64::from(rise) - place).dot(normal);
                assert!(off.abs() < 1e-6, "{off} mm off the panel");
                found += 1;
            }
        }
        assert_eq!(found, 4);
    }
}

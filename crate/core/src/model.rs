//! Meshes of the sack at any pose, with paper that has a thickness: for pictures and solids, never for figures.
//!
//! Every ply, patch and sleeve sheet is a closed thin solid. The way from the exact panels to it:
//!
//! - **Layers.** A ply's mid-surface lies above its panel's exact plane by what lies further inside, along the panel's
//!   own outward normal. Where walls come to lie on walls, panels turn about an axis raised to half-way between where
//!   the stack lies and where it will lie: a stack that folds over by 180 degrees reverses its order, so at the end
//!   every layer is exactly on the one below (`lifts`).
//! - **Bends.** Panels are inset from their creases, and the gap is closed by a strip lofted between the two offset
//!   edges along cubic curves that start and end in the panels' planes: a fillet for a part fold, a half-round nose
//!   for a full one, an S where a layer steps.
//! - **Corners.** Where creases meet, the ends of their strips make a ring around the corner; a fan closes it.
//!
//! Normals are smooth over bends; paper coordinates run in the ply's developed web.

use glam::{DAffine3, DMat3, DVec2, DVec3};

use crate::bottom::Bottom;
use crate::fold::{
    EndFold, EndFrame, Lift, PanelName, Piece, Pose, SIDES, chart, patch_placement, side_index, sleeve_placement,
};
use crate::geom::{Placement, meet, sort_short};
use crate::sack::Sack;
use crate::sheet::{End, Side};
use crate::tube::Wall;

/// Segments of a bend.
const BEND_SEGMENTS: usize = 6;

/// mm. A patch lies on paste, and over edges that it does not follow: it keeps this far off what is below.
const PASTE_MM: f64 = 0.3;

/// Which surface of a solid.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Face {
    /// The paper's outer side.
    Outer,
    /// Its inner side.
    Inner,
    /// A cut edge.
    Edge,
}

/// What a vertex belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Part {
    /// What it is a piece of.
    pub piece: Piece,
    /// Which ply, 0 the outermost; `None` for patch and sleeve.
    pub ply: Option<u8>,
    /// Which end; `None` for the body.
    pub end: Option<End>,
    /// Which panel.
    pub panel: PanelName,
    /// Which surface.
    pub face: Face,
}

/// What holds a vertex: a panel, a bend, or the corner where bends meet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Hold {
    /// Index into `parts` of the panel, or of the first one at a bend: its outer face.
    pub from: u16,
    /// The panel beyond the bend; on a panel, the same.
    pub to: u16,
    /// How far over the bend, 0 to [`Hold::LINES`]; [`Hold::CORNER`] in the middle of a corner.
    pub step: u8,
}

impl Hold {
    /// Lines of a bend, the last of them on the panel beyond it.
    pub const LINES: u8 = BEND_SEGMENTS as u8;
    /// The step of a corner's middle.
    pub const CORNER: u8 = u8::MAX;

    const fn panel(part: u16) -> Self {
        Self { from: part, to: part, step: 0 }
    }
}

/// A triangle mesh in the sack frame, mm.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Mesh {
    /// Positions, mm.
    pub positions: Vec<[f64; 3]>,
    /// Unit normals.
    pub normals: Vec<[f64; 3]>,
    /// (u, v) in the piece's chart, mm.
    pub paper: Vec<[f64; 2]>,
    /// Index into `parts`, per vertex.
    pub part: Vec<u16>,
    /// What holds each vertex.
    pub hold: Vec<Hold>,
    /// Counter-clockwise seen from outside the solid.
    pub triangles: Vec<[u32; 3]>,
    /// What the vertices belong to.
    pub parts: Vec<Part>,
}

impl Mesh {
    fn clear(&mut self) {
        self.positions.clear();
        self.normals.clear();
        self.paper.clear();
        self.part.clear();
        self.hold.clear();
        self.triangles.clear();
        self.parts.clear();
    }
}

/// How thick paper is drawn: true, or exaggerated by a factor. It multiplies thickness only.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Thickness(f64);

impl Thickness {
    /// As the sheet says.
    pub const TRUE: Self = Self(1.0);

    /// Exaggerated by `factor`; `None` when it is not in 1..=20.
    #[must_use]
    pub fn exaggerated(factor: f64) -> Option<Self> {
        (1.0..=20.0).contains(&factor).then_some(Self(factor))
    }
}

/// Builds the mesh of a sack at a pose into `mesh`, whose buffers are used again.
// Inlined, it and what it calls are compiled where they are used: with the optimisation of a page that builds one every frame.
#[inline]
pub fn build(sack: &Sack, pose: &Pose, thickness: Thickness, mesh: &mut Mesh) {
    mesh.clear();
    let layers = Layers::new(sack, thickness);
    let ends = end_scenes(sack, pose, &layers);
    for ply in 0..layers.plies.len() {
        let mut builder = PlyBuilder { sack, layers: &layers, ply, mesh };
        builder.body(&ends);
        for scene in &ends {
            builder.end(scene);
        }
    }
    for scene in &ends {
        if let Some(at) = pose.sleeve() {
            sleeve(scene, &layers, at, mesh);
        }
        if let Some(at) = pose.patch() {
            patch(scene, &layers, at, mesh);
        }
    }
}

fn end_scenes<'a>(sack: &'a Sack, pose: &Pose, layers: &Layers) -> [EndScene<'a>; 2] {
    End::ALL.map(|end| {
        let bottom = sack.bottom(end);
        let heights = lifts(bottom, layers);
        EndScene {
            end,
            bottom,
            fold: EndFold::new(bottom, pose, &heights.lift),
            frame: EndFrame::new(sack, end),
            heights,
        }
    })
}

/// Where the panels of a sack with thick paper are at a pose.
pub(crate) struct Motions<'a> {
    ends: [EndScene<'a>; 2],
    inset: f64,
    sleeve: f64,
    patch: f64,
}

impl<'a> Motions<'a> {
    pub(crate) fn new(sack: &'a Sack, pose: &Pose, thickness: Thickness) -> Self {
        let layers = Layers::new(sack, thickness);
        let ends = end_scenes(sack, pose, &layers);
        // What is not there yet waits where it comes from.
        let [sleeve, patch] = [pose.sleeve(), pose.patch()].map(Option::unwrap_or_default);
        Self { ends, inset: layers.inset, sleeve, patch }
    }

    /// How far panels end before their creases, mm.
    pub(crate) const fn inset(&self) -> f64 {
        self.inset
    }

    /// From a panel's own axes (its paper's two, and outwards) to the sack frame. Rigid, but the paper of a wall may be
    /// the mirror image of what is seen from outside.
    pub(crate) fn of(&self, name: PanelName, end: Option<End>) -> DAffine3 {
        let scene = &self.ends[usize::from(end == Some(End::PlainEnd))];
        let wall = match name {
            PanelName::Body(wall)
            | PanelName::Half(wall)
            | PanelName::Flap(wall)
            | PanelName::Pocket(wall, _)
            | PanelName::PocketFlap(wall, _) => wall,
            PanelName::Patch | PanelName::SleeveUnder | PanelName::SleeveOver => Wall::A,
        };
        let placement = match name {
            PanelName::Patch => {
                scene.bottom.patch.as_ref().map(|patch| patch_placement(scene.end, patch.offset_mm, self.patch))
            }
            PanelName::SleeveUnder | PanelName::SleeveOver => {
                scene.bottom.sleeve.as_ref().map(|sleeve| sleeve_placement(scene.bottom, sleeve, self.sleeve))
            }
            _ => scene.fold.panel(name).copied(),
        };
        let Some(placement) = placement else { return DAffine3::IDENTITY };
        let (placed, outwards) = scene.in_sack(&placement, wall);
        DAffine3 { matrix3: DMat3::from_cols(placed.du, placed.dv, outwards), translation: placed.origin }
    }
}

/// One ply's share of a wall.
#[derive(Clone, Copy, Debug)]
struct Layer {
    thickness: f64,
    /// Mid-surface above the wall's inner side.
    height: f64,
}

/// The wall's layers and what follows from their thickness.
struct Layers {
    plies: Vec<Layer>,
    /// Thickness of one wall.
    wall: f64,
    /// What a sleeve or patch sheet measures.
    factor: f64,
    /// How far panels are inset from their creases: the radius of a bend at a right angle.
    inset: f64,
}

impl Layers {
    fn new(sack: &Sack, thickness: Thickness) -> Self {
        let tube = sack.tube();
        // The smallest panel bounds what can be drawn thick: a flap's shortest ply, a pocket, the room between.
        let smallest = End::ALL
            .map(|end| {
                let bottom = sack.bottom(end);
                let flap = bottom.flap_depth_mm - tube.spread_mm();
                flap.min(bottom.width_mm / 2.0).min(bottom.pocket_gap_mm() - 2.0 * tube.spread_mm())
            })
            .into_iter()
            .fold(f64::INFINITY, f64::min);
        let true_wall = tube.wall_thickness_mm();
        let factor = thickness.0.min((0.12 * smallest / true_wall).max(1.0));
        let wall = true_wall * factor;
        let mut above = wall;
        let plies = tube
            .plies
            .iter()
            .map(|ply| {
                let thickness = ply.thickness_mm * factor;
                above -= thickness;
                Layer { thickness, height: above + thickness / 2.0 }
            })
            .collect();
        // 45-degree corners need 1 / sin 22.5 = 2.6 insets, twice along a crease.
        let inset = (0.5 + 2.0 * wall).min(smallest / 7.0);
        Self { plies, wall, factor, inset }
    }

    fn extra(&self, grammage_g_m2: f64) -> f64 {
        // Sleeves and patches are of the plies' kind of paper: the same thickness per grammage.
        grammage_g_m2 * 0.0015 * self.factor
    }
}

/// Heights at which things lie on the opened and the closed bottom.
struct Heights {
    lift: Lift,
    /// Underside of the sleeve.
    sleeve: f64,
    /// Outer side of the flap folded first, and of the flap folded last.
    closed: [f64; 2],
}

/// Where the layers of a bottom come to lie.
///
/// Opened, wall A's half lies on body A, two walls higher than wall B's. Each pocket lies on its half. Closed, the flap
/// folded first lies with its pocket flap under it on the higher pocket and the sleeve; the flap folded last lies so
/// high that in every strip of the lap map its lowest ply touches the ply below.
fn lifts(bottom: &Bottom, layers: &Layers) -> Heights {
    let wall = layers.wall;
    let sleeve = bottom.sleeve.as_ref().map_or(0.0, |s| s.sheets() as f64 * layers.extra(s.grammage_g_m2));
    let inner = [2.0 * wall, 0.0];
    let first = 4.0 * wall + sleeve;
    let rise = bottom
        .lap_map
        .iter()
        .map(|strip| {
            let under = &layers.plies[strip.ply_under];
            let over = &layers.plies[strip.ply_over];
            (under.height + under.thickness / 2.0) - (over.height - over.thickness / 2.0)
        })
        .fold(layers.plies.last().map_or(0.0, |ply| ply.thickness), f64::max);
    let last = first + rise;
    let landing = match bottom.first {
        Wall::A => [first, last],
        Wall::B => [last, first],
    };
    Heights {
        lift: Lift {
            open_axis: wall,
            flap_axis: [f64::midpoint(inner[0], landing[0]), f64::midpoint(inner[1], landing[1])],
        },
        sleeve: 3.0 * wall,
        closed: [first + wall, last + wall],
    }
}

struct EndScene<'a> {
    end: End,
    bottom: &'a Bottom,
    fold: EndFold,
    frame: EndFrame,
    heights: Heights,
}

impl EndScene<'_> {
    fn sign(&self) -> f64 {
        match self.end {
            End::ValveEnd => 1.0,
            End::PlainEnd => -1.0,
        }
    }

    /// A panel's placement in the sack's frame, and its outward normal there.
    #[inline]
    fn in_sack(&self, placement: &Placement, wall: Wall) -> (Placement, DVec3) {
        let placement = Placement {
            origin: self.frame.point(placement.origin),
            du: self.frame.direction(placement.du),
            dv: self.frame.direction(placement.dv),
        };
        // The paper of an end runs like the chart on wall A of the valve end; it is mirrored on B and at the plain end.
        let flip = self.sign() * if wall == Wall::A { 1.0 } else { -1.0 };
        (placement, placement.outward() * flip)
    }
}

/// A point of a mid-surface.
#[derive(Clone, Copy, Debug)]
struct Mid {
    at: DVec3,
    normal: DVec3,
    paper: DVec2,
    part: u16,
    hold: Hold,
}

/// Adds a thin solid's two faces: the mid-surface moved out and in by half the thickness. Triangles are counter-clockwise
/// seen from outside.
#[inline]
fn add_two_faces(mesh: &mut Mesh, mids: &[Mid], triangles: impl Iterator<Item = [usize; 3]>, thickness: f64) {
    let base = mesh.positions.len() as u32;
    let n = mids.len() as u32;
    for (face, sign) in [(0, 0.5), (1, -0.5)] {
        for mid in mids {
            mesh.positions.push((mid.at + mid.normal * (sign * thickness)).to_array());
            mesh.normals.push((mid.normal * (2.0 * sign)).to_array());
            mesh.paper.push(mid.paper.to_array());
            mesh.part.push(mid.part + face);
            mesh.hold.push(mid.hold);
        }
    }
    for triangle in triangles {
        let [a, b, c] = triangle.map(|i| base + i as u32);
        mesh.triangles.extend([[a, b, c], [a + n, c + n, b + n]]);
    }
}

/// Adds the two faces of a piece oriented by its chart: seen from outside it runs clockwise (dv x du points outwards), so
/// a triangle that is counter-clockwise on the paper is turned.
#[inline]
fn add_faces(mesh: &mut Mesh, mids: &[Mid], triangles: impl Iterator<Item = [usize; 3]>, thickness: f64) {
    let oriented = triangles.map(|[a, b, c]| {
        let (pa, pb, pc) = (mids[a].paper, mids[b].paper, mids[c].paper);
        let clockwise = (pb - pa).perp_dot(pc - pa) < 0.0;
        if clockwise { [a, b, c] } else { [a, c, b] }
    });
    add_two_faces(mesh, mids, oriented, thickness);
}

/// Which side of a cut edge the paper is on, given two neighbouring points of it.
type PaperIsLeft<'a> = &'a dyn Fn(Mid, Mid) -> bool;

/// The paper is where `inside`, a point on it, is.
fn left_of(inside: DVec2) -> impl Fn(Mid, Mid) -> bool {
    move |p, q| (q.paper - p.paper).perp_dot(inside - p.paper) > 0.0
}

/// Adds the cut edge along a row of mid-surface points.
#[inline]
fn add_rim(mesh: &mut Mesh, row: &[Mid], paper_is_left: PaperIsLeft, thickness: f64) {
    for pair in row.windows(2) {
        let (p, q) = (pair[0], pair[1]);
        let along = q.at - p.at;
        let paper_left = paper_is_left(p, q);
        let away = p.normal.cross(along) * if paper_left { 1.0 } else { -1.0 };
        let away = away.normalize_or(DVec3::Z);
        let base = mesh.positions.len() as u32;
        for (mid, sign) in [(p, 0.5), (q, 0.5), (q, -0.5), (p, -0.5)] {
            mesh.positions.push((mid.at + mid.normal * (sign * thickness)).to_array());
            mesh.normals.push(away.to_array());
            mesh.paper.push(mid.paper.to_array());
            mesh.part.push(mid.part + 2);
            mesh.hold.push(mid.hold);
        }
        let [a, b, c, d] = [base, base + 1, base + 2, base + 3];
        if paper_left {
            mesh.triangles.extend([[a, b, c], [a, c, d]]);
        } else {
            mesh.triangles.extend([[a, c, b], [a, d, c]]);
        }
    }
}

/// Adds the parts of a panel, one for each face, and returns the first one's index.
#[inline]
fn add_part(mesh: &mut Mesh, piece: Piece, ply: Option<u8>, end: Option<End>, panel: PanelName) -> u16 {
    let first = mesh.parts.len() as u16;
    mesh.parts.extend([Face::Outer, Face::Inner, Face::Edge].map(|face| Part { piece, ply, end, panel, face }));
    first
}

/// A panel ready to be drawn: where it lies, which way is out, which part it is.
#[derive(Clone, Copy)]
struct Leaf {
    placement: Placement,
    normal: DVec3,
    wall: Wall,
    part: u16,
}

/// An edge of a polygon on the paper: from a corner to the next, and how far the panel is inset from it.
#[derive(Clone, Copy)]
struct Side2 {
    from: DVec2,
    to: DVec2,
    inset: f64,
}

/// Corners of a polygon after insetting its edges; corner i lies between edge i-1 and edge i. Counter-clockwise or not.
#[inline]
fn inset_polygon<const N: usize>(corners: [DVec2; N], insets: [f64; N]) -> [DVec2; N] {
    let centre = corners.iter().sum::<DVec2>() / N as f64;
    let line = |i: usize| {
        let edge = Side2 { from: corners[i], to: corners[(i + 1) % N], inset: insets[i] };
        let along = (edge.to - edge.from).normalize_or_zero();
        let mut inwards = along.perp();
        if inwards.dot(centre - edge.from) < 0.0 {
            inwards = -inwards;
        }
        (edge.from + inwards * edge.inset, along)
    };
    core::array::from_fn(|i| {
        let (a, da) = line((i + N - 1) % N);
        let (b, db) = line(i);
        meet(a, da, b, db).unwrap_or(corners[i])
    })
}

struct PlyBuilder<'a> {
    sack: &'a Sack,
    layers: &'a Layers,
    ply: usize,
    mesh: &'a mut Mesh,
}

/// One bend's cross-section at one of its ends.
type Curve = [Mid; BEND_SEGMENTS + 1];

impl PlyBuilder<'_> {
    fn thickness(&self) -> f64 {
        self.layers.plies[self.ply].thickness
    }

    #[inline]
    fn leaf(&mut self, scene: &EndScene, name: PanelName, wall: Wall) -> Option<Leaf> {
        let (placement, normal) = scene.in_sack(scene.fold.panel(name)?, wall);
        let end = (!matches!(name, PanelName::Body(_))).then_some(scene.end);
        let part = add_part(self.mesh, Piece::Ply, Some(self.ply as u8), end, name);
        Some(Leaf { placement, normal, wall, part })
    }

    /// The mid-surface point of a panel's paper point. `wrap`: the left side fold is at u = 0 on wall A and u = 2W on
    /// wall B; what crosses it goes on below 0.
    #[inline]
    fn mid(&self, scene: &EndScene, leaf: &Leaf, paper: DVec2, wrap: bool) -> Mid {
        let mut uv = chart(self.sack, scene.end, leaf.wall, paper);
        if wrap && leaf.wall == Wall::B {
            uv.x -= 2.0 * self.sack.tube().face_width_mm;
        }
        Mid {
            at: leaf.placement.at(paper) + leaf.normal * self.layers.plies[self.ply].height,
            normal: leaf.normal,
            paper: uv,
            part: leaf.part,
            hold: Hold::panel(leaf.part),
        }
    }

    #[inline]
    fn polygon(&mut self, mids: &[Mid]) {
        let n = mids.len();
        let fan = (1..n - 1).map(|i| [0, i, i + 1]);
        add_faces(self.mesh, mids, fan, self.layers.plies[self.ply].thickness);
    }

    /// The cross-section of a bend from a point of one panel to a point of the next. `across` is the paper direction
    /// from the first panel over the crease, on the first panel's paper and on the second's.
    #[inline]
    fn curve(&self, from: Mid, to: Mid, one: (&Leaf, DVec2), two: (&Leaf, DVec2)) -> Curve {
        let t1 = one.0.placement.along(one.1);
        let t2 = two.0.placement.along(two.1);
        let crease = t1.cross(from.normal);
        let chord = to.at - from.at;
        let chord = (chord - crease * chord.dot(crease)).length();
        // Handles of a circular arc through an angle a over a chord c: c / (3 cos^2(a/4)).
        let cos_half = ((1.0 + t1.dot(t2)) / 2.0).max(0.0).sqrt();
        let handle = chord / (1.5 * (1.0 + cos_half));
        let (p0, p1, p2, p3) = (from.at, from.at + t1 * handle, to.at - t2 * handle, to.at);
        core::array::from_fn(|i| {
            let s = i as f64 / BEND_SEGMENTS as f64;
            let r = 1.0 - s;
            let at = p0 * (r * r * r) + p1 * (3.0 * r * r * s) + p2 * (3.0 * r * s * s) + p3 * (s * s * s);
            let slope = (p1 - p0) * (r * r) + (p2 - p1) * (2.0 * r * s) + (p3 - p2) * (s * s);
            let slope = slope - crease * slope.dot(crease);
            let normal = match i {
                0 => from.normal,
                BEND_SEGMENTS => to.normal,
                // t1 x normal is the crease, so crease x slope is the normal along the bend.
                _ => crease.cross(slope).normalize_or(from.normal),
            };
            let part = if 2 * i <= BEND_SEGMENTS { from.part } else { to.part };
            let hold = match i {
                0 => from.hold,
                BEND_SEGMENTS => to.hold,
                _ => Hold { from: one.0.part, to: two.0.part, step: i as u8 },
            };
            Mid { at, normal, paper: from.paper.lerp(to.paper, s), part, hold }
        })
    }

    /// The strip between the two end curves of a bend.
    #[inline]
    fn strip(&mut self, start: &Curve, end: &Curve) {
        let n = BEND_SEGMENTS + 1;
        let mut mids = [start[0]; 2 * (BEND_SEGMENTS + 1)];
        mids[..n].copy_from_slice(start);
        mids[n..].copy_from_slice(end);
        let quads = (0..BEND_SEGMENTS).flat_map(|i| [[i, i + 1, n + i], [i + 1, n + i + 1, n + i]]);
        add_faces(self.mesh, &mids, quads, self.layers.plies[self.ply].thickness);
    }

    /// Closes the ring of bend ends around a corner with a fan.
    #[inline]
    fn corner(&mut self, ring: &[&[Mid]]) {
        let mut mids: Vec<Mid> = Vec::with_capacity(1 + ring.len() * (BEND_SEGMENTS + 1));
        let first = ring[0][0];
        mids.push(first);
        for arc in ring {
            // The next arc begins where this one ends, on the same panel.
            mids.extend(&arc[..arc.len() - 1]);
        }
        let n = mids.len() - 1;
        let hold = Hold { step: Hold::CORNER, ..Hold::panel(first.part) };
        let mut centre = Mid { at: DVec3::ZERO, normal: DVec3::ZERO, paper: DVec2::ZERO, part: first.part, hold };
        for mid in &mids[1..] {
            centre.at += mid.at / n as f64;
            centre.normal += mid.normal;
            centre.paper += mid.paper / n as f64;
        }
        centre.normal = centre.normal.normalize_or(first.normal);
        mids[0] = centre;
        let fan = (0..n).map(|i| [0, 1 + i, 1 + (i + 1) % n]);
        add_faces(self.mesh, &mids, fan, self.layers.plies[self.ply].thickness);
    }

    #[inline]
    fn rim(&mut self, row: &[Mid], inside: DVec2) {
        let thickness = self.thickness();
        add_rim(self.mesh, row, &left_of(inside), thickness);
    }

    /// The two walls between the bottoms, and the side folds that join them.
    #[inline]
    fn body(&mut self, ends: &[EndScene; 2]) {
        let [valve, plain] = ends;
        let g = self.layers.inset;
        let h = valve.bottom.half_face_mm();
        let leaves = Wall::BOTH.map(|wall| self.leaf(valve, PanelName::Body(wall), wall));
        let [Some(a), Some(b)] = leaves else { return };
        let near = |wall: Wall| valve.bottom.opening_depth_mm + if wall == Wall::A { g } else { 0.0 };
        let far = |wall: Wall| {
            let inset = if wall == Wall::A { g } else { 0.0 };
            self.sack.tube().length_mm - plain.bottom.opening_depth_mm - inset
        };
        let corner = |wall: Wall, side: f64, v: f64| (wall, DVec2::new(side * (h - g), v));
        let mid = |this: &Self, (wall, paper): (Wall, DVec2), wrap: bool| {
            this.mid(valve, if wall == Wall::A { &a } else { &b }, paper, wrap)
        };
        let quad = [(-1.0, near(Wall::A)), (1.0, near(Wall::A)), (1.0, far(Wall::A)), (-1.0, far(Wall::A))];
        let mids = quad.map(|(side, v)| mid(self, corner(Wall::A, side, v), false));
        self.polygon(&mids);
        // Wall B goes on into its halves: their corners, at the pocket creases, are points of its border too.
        let half = h - g * core::f64::consts::SQRT_2;
        let (near_b, far_b) = (near(Wall::B), far(Wall::B));
        let ring = [
            (-h + g, near_b),
            (-half, near_b),
            (half, near_b),
            (h - g, near_b),
            (h - g, far_b),
            (half, far_b),
            (-half, far_b),
            (-h + g, far_b),
            (-h + g, near_b),
        ];
        let mids = ring.map(|(x, v)| mid(self, (Wall::B, DVec2::new(x, v)), false));
        self.corner(&[&mids]);
        for side in SIDES {
            let sign = side.sign();
            let wrap = side == Side::Left;
            let out = DVec2::new(sign, 0.0);
            let curve = |this: &Self, va: f64, vb: f64| {
                let from = mid(this, corner(Wall::A, sign, va), wrap);
                let to = mid(this, corner(Wall::B, sign, vb), wrap);
                this.curve(from, to, (&a, out), (&b, -out))
            };
            let start = curve(self, near(Wall::A), near(Wall::B));
            let end = curve(self, far(Wall::A), far(Wall::B));
            self.strip(&start, &end);
        }
    }

    /// Halves, flaps and pockets of one end with all bends and corners.
    #[inline]
    fn end(&mut self, scene: &EndScene) {
        let tube = self.sack.tube();
        let rims = Wall::BOTH.map(|wall| tube.rim_mm(scene.end, wall, self.ply));
        // The two walls share the side fold as far as both reach: beyond, the longer one is slit.
        let shared = rims[0].max(rims[1]);
        let mut walls = Vec::with_capacity(2);
        for (wall, rim) in Wall::BOTH.into_iter().zip(rims) {
            match self.wall(scene, wall, rim, shared) {
                Some(edges) => walls.push(edges),
                None => return,
            }
        }
        for side in SIDES {
            self.apex(scene, [&walls[0], &walls[1]], side, shared);
        }
    }

    /// One wall's panels at one end, with the bends between them; what the side folds need is handed back.
    #[inline]
    fn wall(&mut self, scene: &EndScene, wall: Wall, rim: f64, shared_rim: f64) -> Option<WallEdges> {
        let g = self.layers.inset;
        let mirror = |p: DVec2, side: Side| DVec2::new(side.sign() * p.x, p.y);
        let c = scene.bottom.corners(rim);
        let both = |p: DVec2| (mirror(p, Side::Left), p);

        let half = self.leaf(scene, PanelName::Half(wall), wall)?;
        let flap = self.leaf(scene, PanelName::Flap(wall), wall)?;
        let (pl, pr) = both(c.p);
        let (rl, rr) = both(c.r);
        let (ql, qr) = both(c.q);
        // Only wall A is folded back; wall B's half goes on into the body.
        let back = if wall == Wall::A { g } else { 0.0 };
        let half_at = inset_polygon([pl, pr, rr, rl], [back, g, g, g]);
        let flap_at = inset_polygon([rl, rr, qr, ql], [g, g, 0.0, g]);
        let half_mids = half_at.map(|p| self.mid(scene, &half, p, false));
        let flap_mids = flap_at.map(|p| self.mid(scene, &flap, p, false));
        self.polygon(&half_mids);
        self.polygon(&flap_mids);
        let towards_rim = DVec2::new(0.0, -1.0);
        let fold = [
            self.curve(half_mids[3], flap_mids[0], (&half, towards_rim), (&flap, towards_rim)),
            self.curve(half_mids[2], flap_mids[1], (&half, towards_rim), (&flap, towards_rim)),
        ];
        self.strip(&fold[0], &fold[1]);
        let inside = chart(self.sack, scene.end, wall, DVec2::new(0.0, scene.bottom.flap_depth_mm));
        self.rim(&[flap_mids[2], flap_mids[3]], inside);

        let mut pockets = Vec::with_capacity(2);
        for side in SIDES {
            let s = side_index(side);
            let pocket = self.leaf(scene, PanelName::Pocket(wall, side), wall)?;
            let pocket_flap = self.leaf(scene, PanelName::PocketFlap(wall, side), wall)?;
            let at = |p: DVec2| mirror(p, side);
            let pocket_at = inset_polygon([at(c.p), at(c.r), at(c.re), at(c.e)], [g, g, 0.0, g]);
            let pocket_flap_at = inset_polygon([at(c.r), at(c.q), at(c.re)], [g, 0.0, g]);
            let pm = pocket_at.map(|p| self.mid(scene, &pocket, p, false));
            let fm = pocket_flap_at.map(|p| self.mid(scene, &pocket_flap, p, false));
            if rim < shared_rim {
                // The slit begins on the pocket's border: a point of the border too.
                let slit = self.mid(scene, &pocket, at(DVec2::new(c.e.x - g, shared_rim)), false);
                self.polygon(&[pm[2], pm[3], slit, pm[0], pm[1]]);
            } else {
                self.polygon(&pm);
            }
            self.polygon(&fm);

            // Over the pocket crease, from the middle outwards; over the pocket's fold line, towards the crease.
            let over = DVec2::new(side.sign(), -1.0).normalize();
            let inwards = DVec2::new(-side.sign(), 0.0);
            let crease_p = self.curve(half_mids[s], pm[0], (&half, over), (&pocket, over));
            let crease_r = self.curve(half_mids[3 - s], pm[1], (&half, over), (&pocket, over));
            let flap_r = self.curve(flap_mids[s], fm[0], (&flap, over), (&pocket_flap, over));
            let flap_q = self.curve(flap_mids[3 - s], fm[1], (&flap, over), (&pocket_flap, over));
            let fold_r = self.curve(pm[1], fm[0], (&pocket, inwards), (&pocket_flap, inwards));
            let fold_re = self.curve(pm[2], fm[2], (&pocket, inwards), (&pocket_flap, inwards));
            self.strip(&crease_p, &crease_r);
            self.strip(&flap_r, &flap_q);
            self.strip(&fold_r, &fold_re);

            let reversed = |curve: &Curve| {
                let mut curve = *curve;
                curve.reverse();
                curve
            };
            // Around R: half, flap, pocket flap, pocket, and back to the half.
            self.corner(&[&fold[s], &flap_r, &reversed(&fold_r), &reversed(&crease_r)]);
            // The rim from the flap over the pocket flap to the side fold.
            self.rim(&flap_q, inside);
            self.rim(&[fm[1], fm[2]], inside);
            self.rim(&fold_re, inside);
            self.rim(&[pm[2], pm[3]], inside);
            pockets.push(PocketEdges { leaf: pocket, apex: pm[0], end: pm[3], rim, crease: crease_p });
        }
        let [left, right] = <[PocketEdges; 2]>::try_from(pockets).ok()?;
        let body = Leaf { placement: half.placement, normal: half.normal, wall, part: half.part };
        Some(WallEdges { half: body, apex: [half_mids[0], half_mids[1]], pockets: [left, right] })
    }

    /// The side fold between the pockets of both walls, and the corner apex where it ends.
    #[inline]
    fn apex(&mut self, scene: &EndScene, walls: [&WallEdges; 2], side: Side, shared_rim: f64) {
        let s = side_index(side);
        let wrap = side == Side::Left;
        let g = self.layers.inset;
        let h = scene.bottom.half_face_mm();
        let d = scene.bottom.opening_depth_mm;
        let sign = side.sign();
        let full = 2.0 * self.sack.tube().face_width_mm;
        let wrapped = |mut mid: Mid, wall: Wall| {
            if wrap && wall == Wall::B {
                mid.paper.x -= full;
            }
            mid
        };
        let [a, b] = walls.map(|wall| &wall.pockets[s]);
        let out = DVec2::new(sign, 0.0);
        let side_curve = |this: &Self, from: Mid, to: Mid| this.curve(from, to, (&a.leaf, out), (&b.leaf, -out));
        let at_apex = side_curve(self, wrapped(a.apex, Wall::A), wrapped(b.apex, Wall::B));
        let end_paper = DVec2::new(sign * (h - g), shared_rim);
        let end_a = self.mid(scene, &a.leaf, end_paper, wrap);
        let end_b = self.mid(scene, &b.leaf, end_paper, wrap);
        let at_rim = side_curve(self, end_a, end_b);
        self.strip(&at_apex, &at_rim);
        self.rim(&at_rim, at_apex[BEND_SEGMENTS / 2].paper);
        // The longer wall's slit edge.
        for (pocket, wall, end) in [(a, Wall::A, end_a), (b, Wall::B, end_b)] {
            if pocket.rim < shared_rim {
                let inside = chart(self.sack, scene.end, wall, DVec2::new(0.0, d));
                let mut end = end;
                if wrap && wall == Wall::B {
                    end.paper.x += full;
                }
                self.rim(&[end, pocket.end], inside);
            }
        }

        // Around P: body A, half A, pocket A, pocket B, half B (one with body B), and back to body A.
        let body = |this: &mut Self, wall: Wall, v: f64| {
            let name = PanelName::Body(wall);
            let (placement, normal) = scene.in_sack(&scene.fold.body[usize::from(wall == Wall::B)], wall);
            let part = this.mesh.parts.iter().rposition(|p| p.panel == name && p.face == Face::Outer).unwrap_or(0);
            let leaf = Leaf { placement, normal, wall, part: part as u16 };
            let mid = this.mid(scene, &leaf, DVec2::new(sign * (h - g), v), wrap);
            (leaf, mid)
        };
        let (leaf_a, body_a) = body(self, Wall::A, d + g);
        let (leaf_b, body_b) = body(self, Wall::B, d);
        let towards_rim = DVec2::new(0.0, -1.0);
        let half_a = wrapped(walls[0].apex[s], Wall::A);
        let half_b = wrapped(walls[1].apex[s], Wall::B);
        let fold_back = self.curve(body_a, half_a, (&leaf_a, towards_rim), (&walls[0].half, towards_rim));
        if side == Side::Left {
            let other = {
                let paper = DVec2::new(h - g, d + g);
                let from = self.mid(scene, &leaf_a, paper, false);
                self.curve(from, walls[0].apex[1], (&leaf_a, towards_rim), (&walls[0].half, towards_rim))
            };
            self.strip(&fold_back, &other);
        }
        let crease_a = a.crease.map(|mid| wrapped(mid, Wall::A));
        let mut crease_b = b.crease.map(|mid| wrapped(mid, Wall::B));
        crease_b.reverse();
        let mut side_fold = self.curve(body_a, body_b, (&leaf_a, out), (&leaf_b, -out));
        side_fold.reverse();
        self.corner(&[&fold_back, &crease_a, &at_apex, &crease_b, &[half_b, body_b], &side_fold]);
    }
}

/// What of a pocket the side fold needs.
struct PocketEdges {
    leaf: Leaf,
    apex: Mid,
    end: Mid,
    rim: f64,
    crease: Curve,
}

/// What of a wall the side folds need.
struct WallEdges {
    half: Leaf,
    apex: [Mid; 2],
    pockets: [PocketEdges; 2],
}

/// Adds the sleeve: one sheet, or two that are joined along both sides.
fn sleeve(scene: &EndScene, layers: &Layers, at: f64, mesh: &mut Mesh) {
    let Some(sleeve) = &scene.bottom.sleeve else { return };
    let thickness = layers.extra(sleeve.grammage_g_m2);
    let placement = sleeve_placement(scene.bottom, sleeve, at);
    let half = sleeve.width_mm / 2.0;
    let under = add_part(mesh, Piece::Sleeve, None, Some(scene.end), PanelName::SleeveUnder);
    // Cross-section from one cut or fold to the other: (across, height above the underside, normal, u, part).
    let mut section: Vec<(DVec2, DVec2, f64, u16)> = Vec::new();
    if sleeve.sheets() == 1 {
        for across in [half, -half] {
            section.push((DVec2::new(across, thickness / 2.0), DVec2::NEG_Y, half - across, under));
        }
    } else {
        let over = add_part(mesh, Piece::Sleeve, None, Some(scene.end), PanelName::SleeveOver);
        let radius = thickness / 2.0;
        let bend = |centre: f64, from: f64, u: f64, parts: [u16; 2]| {
            (0..=BEND_SEGMENTS).map(move |i| {
                let (s, c) = libm::sincos(from - core::f64::consts::PI * i as f64 / BEND_SEGMENTS as f64);
                let out = DVec2::new(c, s);
                let part = parts[usize::from(i == BEND_SEGMENTS)];
                (DVec2::new(centre, thickness) + out * radius, out, u, part)
            })
        };
        let quarter = core::f64::consts::FRAC_PI_2;
        // Under sheet from the right, round the left fold, over sheet to the right, round the right fold.
        section.extend(bend(-half + radius, -quarter, sleeve.width_mm, [under, over]));
        section.extend(bend(half - radius, quarter, 2.0 * sleeve.width_mm, [over, under]));
        let mut first = section[0];
        first.2 = 3.0 * sleeve.width_mm;
        section.push(first);
    }
    let lift = DVec3::Z * scene.heights.sleeve;
    let rows = [0.0, sleeve.length_mm].map(|v| {
        section
            .iter()
            .map(|&(place, normal, u, part)| {
                let space = |p: DVec2| placement.du * p.x + DVec3::Z * p.y;
                let at = placement.origin + lift + placement.dv * v + space(place);
                Mid {
                    at: scene.frame.point(at),
                    normal: space(normal),
                    paper: DVec2::new(u, v),
                    part,
                    hold: Hold::panel(part),
                }
            })
            .collect::<Vec<_>>()
    });
    let n = section.len();
    let mids: Vec<Mid> = rows.iter().flatten().copied().collect();
    let quads = (0..n - 1).flat_map(|i| [[i, i + 1, n + i], [i + 1, n + i + 1, n + i]]);
    add_faces_by_normal(mesh, &mids, quads, thickness);
    for (row, along) in rows.iter().zip([-placement.dv, placement.dv]) {
        let away = scene.frame.direction(along);
        add_rim(mesh, row, &|p, q| p.normal.cross(q.at - p.at).dot(away) > 0.0, thickness);
    }
    if sleeve.sheets() == 1 {
        let middle = DVec2::new(half, sleeve.length_mm / 2.0);
        for i in [0, n - 1] {
            add_rim(mesh, &[rows[0][i], rows[1][i]], &left_of(middle), thickness);
        }
    }
}

/// Like [`add_faces`] for pieces whose bends have no paper of their own: oriented by the normals.
#[inline]
fn add_faces_by_normal(mesh: &mut Mesh, mids: &[Mid], triangles: impl Iterator<Item = [usize; 3]>, thickness: f64) {
    let oriented = triangles.map(|[a, b, c]| {
        let across = (mids[b].at - mids[a].at).cross(mids[c].at - mids[a].at);
        if across.dot(mids[a].normal + mids[b].normal + mids[c].normal) < 0.0 { [a, c, b] } else { [a, b, c] }
    });
    add_two_faces(mesh, mids, oriented, thickness);
}

/// Adds a patch: it lies on the flap folded first and, over an S, on the flap folded last.
fn patch(scene: &EndScene, layers: &Layers, at: f64, mesh: &mut Mesh) {
    let Some(patch) = &scene.bottom.patch else { return };
    let thickness = layers.extra(patch.grammage_g_m2);
    let part = add_part(mesh, Piece::Patch, None, Some(scene.end), PanelName::Patch);
    let placement = patch_placement(scene.end, patch.offset_mm, at);
    let [low, high] = scene.heights.closed.map(|top| top + PASTE_MM + thickness / 2.0);
    // y of the last flap's longest ply, in the end's frame; its flap comes from the far side of the other's.
    let towards_first = match scene.bottom.first {
        Wall::A => -1.0,
        Wall::B => 1.0,
    };
    let reach = scene.bottom.flap_depth_mm + scene.bottom.longest_mm();
    let rim = -towards_first * (scene.bottom.width_mm / 2.0 - reach);
    let ramp = 2.0 * (high - low) + 4.0 * layers.wall;
    let half = DVec2::new(patch.length_mm, patch.width_mm) / 2.0;
    let mut stations: Vec<f64> =
        (0..=BEND_SEGMENTS).map(|i| rim + towards_first * ramp * i as f64 / BEND_SEGMENTS as f64).collect();
    stations.retain(|y| y.abs() < half.y);
    stations.extend([-half.y, half.y]);
    sort_short(&mut stations, |a, b| a < b);
    let height = |y: f64| {
        let t = ((y - rim) * towards_first / ramp).clamp(0.0, 1.0);
        let slope = 6.0 * t * (1.0 - t) / ramp * towards_first;
        let down = t * t * (3.0 - 2.0 * t);
        (high + (low - high) * down, (low - high) * slope)
    };
    let n = stations.len();
    let mut mids = Vec::with_capacity(2 * n);
    for x in [-half.x, half.x] {
        for &y in &stations {
            let (z, slope) = height(y);
            let up = placement.outward() * scene.sign();
            // v runs towards the sack's middle, against y.
            let at = placement.at(DVec2::new(x, -y)) + up * z;
            let normal = (up + placement.dv * slope).normalize();
            mids.push(Mid {
                at: scene.frame.point(at),
                normal: scene.frame.direction(normal),
                paper: DVec2::new(x + half.x, half.y - y),
                part,
                hold: Hold::panel(part),
            });
        }
    }
    let quads = (0..n - 1).flat_map(|i| [[i, i + 1, n + i], [i + 1, n + i + 1, n + i]]);
    add_faces(mesh, &mids, quads, thickness);
    for row in [&mids[..n], &mids[n..], &[mids[0], mids[n]], &[mids[n - 1], mids[2 * n - 1]]] {
        add_rim(mesh, row, &left_of(half), thickness);
    }
}

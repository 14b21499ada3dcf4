//! The crease pattern of a ply: its developed web with every crease on it, and the same web folded.
//!
//! Method: the exact panels of the ply (`fold`) are laid side by side on the web, which is cut open along its seam; a
//! panel under the seam becomes two, which overlap by the seam's lap when the web is folded. Corners that coincide are
//! made one, and a corner that lies on another panel's edge becomes a corner of that edge. Fold angles are measured
//! between the panels of a pose, so the pattern is nothing but the fold, unrolled.
//!
//! The pattern has no thickness: an inner ply is drawn as wide as it would be without the smaller former it runs round
//! (`TubePly::web_width_mm` has what it saves).

use glam::{DVec2, DVec3};

use crate::fold::{PanelPose, Piece, Pose, Stage, panels};
use crate::geom::signed_area;
use crate::sack::Sack;
use crate::tolerance::SAME_CORNER_MM;

/// A ply's web with its creases, seen from the outside of the sack.
#[derive(Clone, Debug, PartialEq)]
pub struct Pattern {
    /// Which ply, 0 the outermost.
    pub ply: usize,
    /// Corners, mm: x across the web from its edge under the seam, y along it towards the valve end, whose nominal rim
    /// is at the tube length.
    pub vertices: Vec<DVec2>,
    /// Edges, each from its lower to its higher corner.
    pub edges: Vec<Edge>,
    /// Faces, counter-clockwise.
    pub faces: Vec<PatternFace>,
}

/// A rim or a crease.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Edge {
    /// Its corners.
    pub vertices: [usize; 2],
    /// The face on its left, and the one on its right; one of them only at a rim.
    faces: [Option<usize>; 2],
    /// Is it a crease at any moment of the fold? If not, the two faces are one piece of wall.
    pub is_crease: bool,
    /// Which way it turns between flat and folded over: +1 outer sides together, -1 inner sides together.
    sense: f64,
}

impl Edge {
    /// Is it an edge of the web?
    #[must_use]
    pub const fn is_rim(&self) -> bool {
        self.faces[0].is_none() || self.faces[1].is_none()
    }
}

/// A panel on the web.
#[derive(Clone, Debug, PartialEq)]
pub struct PatternFace {
    /// Its corners.
    pub vertices: Vec<usize>,
    /// The panel's name.
    pub panel: &'static str,
    /// Which of the ply's panels it is a piece of, as `fold::panels` lists them.
    source: usize,
    /// From the web to (u, -v) of the panel's own chart.
    moved: DVec2,
}

/// A pattern folded to a pose.
#[derive(Clone, Debug, PartialEq)]
pub struct Folded {
    /// The corners in the sack frame, mm.
    pub vertices: Vec<DVec3>,
    /// Fold angles of the edges in radians, +pi outer sides together, -pi inner sides together; 0 at a rim.
    pub angles: Vec<f64>,
}

impl Pattern {
    /// The pattern of a ply; `None` when the sack has no such ply.
    #[must_use]
    pub fn new(sack: &Sack, ply: usize) -> Option<Self> {
        let web = Web::new(sack, ply)?;
        let tube = panels_of(sack, Stage::Tube, 0.0, ply);
        let mut pattern = Self { ply, vertices: Vec::new(), edges: Vec::new(), faces: Vec::new() };
        for (source, panel) in tube.iter().enumerate() {
            for (polygon, moved) in web.lay(panel) {
                let mut vertices: Vec<usize> = polygon.iter().map(|corner| pattern.vertex(*corner)).collect();
                vertices.dedup();
                pattern.faces.push(PatternFace { vertices, panel: panel.name, source, moved });
            }
        }
        pattern.add_corners_on_edges();
        pattern.add_edges();
        pattern.add_senses(sack);
        Some(pattern)
    }

    /// The pattern folded to a pose.
    #[must_use]
    pub fn fold(&self, sack: &Sack, pose: &Pose) -> Folded {
        let panels: Vec<PanelPose> = plies(panels(sack, pose), self.ply);
        let maps: Vec<Map> = panels.iter().map(Map::of).collect();
        let mut vertices = vec![DVec3::ZERO; self.vertices.len()];
        // Faces share their corners in space as on the web: the last one's is as good as any.
        for face in &self.faces {
            for &vertex in &face.vertices {
                vertices[vertex] = maps[face.source].at(self.vertices[vertex] + face.moved);
            }
        }
        let angles = self.edges.iter().map(|edge| self.angle(edge, &maps).unwrap_or(0.0)).collect();
        Folded { vertices, angles }
    }

    /// The angle between an edge's faces: 0 flat, positive when their outer sides turn towards each other.
    fn angle(&self, edge: &Edge, maps: &[Map]) -> Option<f64> {
        /// Closer than this to folded over, the measured angle's sign is rounding: it is the edge's own.
        const FOLDED_OVER: f64 = 1e-6;
        let [left, right] = edge.faces;
        let (left, right) = (&self.faces[left?], &self.faces[right?]);
        let (one, two) = (&maps[left.source], &maps[right.source]);
        let [from, to] = edge.vertices.map(|vertex| one.at(self.vertices[vertex] + left.moved));
        let along = (to - from).normalize_or_zero();
        let (n, m) = (one.outward(), two.outward());
        let angle = libm::atan2(m.cross(n).dot(along), n.dot(m));
        let folded_over = core::f64::consts::PI - angle.abs() < FOLDED_OVER;
        Some(if folded_over { core::f64::consts::PI * edge.sense } else { angle })
    }

    /// The number of the corner at a place on the web.
    fn vertex(&mut self, at: DVec2) -> usize {
        let found = self.vertices.iter().position(|vertex| vertex.distance(at) <= SAME_CORNER_MM);
        found.unwrap_or_else(|| {
            self.vertices.push(at);
            self.vertices.len() - 1
        })
    }

    fn add_corners_on_edges(&mut self) {
        let vertices = &self.vertices;
        for face in &mut self.faces {
            let n = face.vertices.len();
            let sides = (0..n).map(|i| (face.vertices[i], face.vertices[(i + 1) % n]));
            face.vertices = sides.flat_map(|(from, to)| side(vertices, from, to)).collect();
        }
    }

    fn add_edges(&mut self) {
        for (number, face) in self.faces.iter().enumerate() {
            let n = face.vertices.len();
            for i in 0..n {
                let (from, to) = (face.vertices[i], face.vertices[(i + 1) % n]);
                // Counter-clockwise, a face is on the left of its sides.
                let (vertices, hand) = if from < to { ([from, to], 0) } else { ([to, from], 1) };
                let found = self.edges.iter().position(|edge| edge.vertices == vertices);
                let index = found.unwrap_or_else(|| {
                    self.edges.push(Edge { vertices, faces: [None; 2], is_crease: false, sense: -1.0 });
                    self.edges.len() - 1
                });
                self.edges[index].faces[hand] = Some(number);
            }
        }
    }

    /// Finds out which edges ever fold, and which way, half-way through each motion. The side folds of the tube are
    /// folded over all along: inner sides together.
    fn add_senses(&mut self, sack: &Sack) {
        /// Half-way: the mouth upright, the flap folded first, the flap folded last.
        const HALF_WAY: [(Stage, f64); 3] =
            [(Stage::OpenMouth, 1.0), (Stage::FoldFlaps, 0.25), (Stage::FoldFlaps, 0.75)];
        const FLAT: f64 = 1e-6;
        let folds: Vec<Vec<Map>> = HALF_WAY
            .iter()
            .map(|&(stage, at)| panels_of(sack, stage, at, self.ply).iter().map(Map::of).collect())
            .collect();
        let angles = |edge: &Edge| folds.iter().filter_map(|maps| self.angle(edge, maps)).collect::<Vec<_>>();
        let found: Vec<(bool, f64)> = self
            .edges
            .iter()
            .map(|edge| {
                let angles = angles(edge);
                let part_folded = |angle: &&f64| (FLAT..core::f64::consts::PI - FLAT).contains(&angle.abs());
                let sense = angles.iter().find(part_folded).map_or(-1.0, |angle| angle.signum());
                (angles.iter().any(|angle| angle.abs() > FLAT), sense)
            })
            .collect();
        for (edge, (is_crease, sense)) in self.edges.iter_mut().zip(found) {
            (edge.is_crease, edge.sense) = (is_crease, sense);
        }
    }
}

/// The panels of a ply at a point of the fold.
fn panels_of(sack: &Sack, stage: Stage, at: f64, ply: usize) -> Vec<PanelPose> {
    Pose::new(stage, at).map_or_else(Vec::new, |pose| plies(panels(sack, &pose), ply))
}

fn plies(mut panels: Vec<PanelPose>, ply: usize) -> Vec<PanelPose> {
    panels.retain(|panel| panel.piece == Piece::Ply && panel.ply == Some(ply));
    panels
}

/// The corners from `from` up to `to`, without `to`: those that lie on the side between them, in order.
fn side(vertices: &[DVec2], from: usize, to: usize) -> Vec<usize> {
    let (start, end) = (vertices[from], vertices[to]);
    let length = start.distance(end);
    let along = (end - start) / length;
    let mut on: Vec<(f64, usize)> = vertices
        .iter()
        .enumerate()
        .map(|(number, vertex)| (along.dot(*vertex - start), along.perp_dot(*vertex - start), number))
        .filter(|(t, off, _)| off.abs() <= SAME_CORNER_MM && *t > SAME_CORNER_MM && *t < length - SAME_CORNER_MM)
        .map(|(t, _, number)| (t, number))
        .collect();
    on.sort_by(|a, b| a.0.total_cmp(&b.0));
    std::iter::once(from).chain(on.into_iter().map(|(_, number)| number)).collect()
}

/// How a ply's chart, once round the tube, is laid out as a web.
struct Web {
    face_width: f64,
    length: f64,
    /// Where on the chart the web's edge under the seam is, and its edge over it.
    under: f64,
    over: f64,
}

impl Web {
    fn new(sack: &Sack, ply: usize) -> Option<Self> {
        let tube = sack.tube();
        let seam = tube.plies.get(ply)?.seam_u_mm;
        Some(Self {
            face_width: tube.face_width_mm,
            length: tube.length_mm,
            under: seam - tube.seam_lap_mm / 2.0,
            over: seam + tube.seam_lap_mm / 2.0,
        })
    }

    /// A panel's pieces on the web, counter-clockwise, each with the way from the web to (u, -v) of its chart.
    fn lay(&self, panel: &PanelPose) -> Vec<(Vec<DVec2>, DVec2)> {
        let polygon: Vec<DVec2> = panel.paper.iter().map(|[u, v]| DVec2::new(*u, self.length - v)).collect();
        let middle = polygon.iter().map(|corner| corner.x).sum::<f64>() / polygon.len() as f64;
        // Wall A and what of wall B comes after it go on from wall B's part beyond the seam.
        let beyond = -self.under;
        let before = 2.0 * self.face_width - self.under;
        let pieces = if middle < self.face_width {
            vec![(polygon, before)]
        } else {
            vec![(cut(&polygon, |u| u - self.under), beyond), (cut(&polygon, |u| self.over - u), before)]
        };
        pieces
            .into_iter()
            .filter_map(|(mut polygon, shift)| {
                let area = signed_area(&polygon);
                if area < 0.0 {
                    polygon.reverse();
                }
                let is_paper = area.abs() > SAME_CORNER_MM * self.length;
                let onto = DVec2::new(shift, 0.0);
                is_paper
                    .then(|| (polygon.iter().map(|corner| *corner + onto).collect(), DVec2::new(-shift, -self.length)))
            })
            .collect()
    }
}

/// What of a convex polygon lies where `depth` of its x is not negative; `depth` has slope 1 or -1.
fn cut(polygon: &[DVec2], depth: impl Fn(f64) -> f64) -> Vec<DVec2> {
    let n = polygon.len();
    let mut kept = Vec::with_capacity(n + 1);
    for i in 0..n {
        let (from, to) = (polygon[i], polygon[(i + 1) % n]);
        let (a, b) = (depth(from.x), depth(to.x));
        if a >= 0.0 {
            kept.push(from);
        }
        if (a > 0.0 && b < 0.0) || (a < 0.0 && b > 0.0) {
            kept.push(from.lerp(to, a / (a - b)));
        }
    }
    kept
}

/// A panel's map from (u, -v) of its chart to the sack frame.
struct Map {
    paper: DVec2,
    space: DVec3,
    dx: DVec3,
    dy: DVec3,
}

impl Map {
    /// From the panel's corners: they lie in space as they lie on the paper.
    fn of(panel: &PanelPose) -> Self {
        let paper = |i: usize| DVec2::new(panel.paper[i][0], -panel.paper[i][1]);
        let space = |i: usize| DVec3::from(panel.space[i]);
        let (a, b) = (paper(1) - paper(0), paper(2) - paper(0));
        let (p, q) = (space(1) - space(0), space(2) - space(0));
        let area = a.perp_dot(b);
        Self { paper: paper(0), space: space(0), dx: (p * b.y - q * a.y) / area, dy: (q * a.x - p * b.x) / area }
    }

    fn at(&self, chart: DVec2) -> DVec3 {
        let off = chart - self.paper;
        self.space + self.dx * off.x + self.dy * off.y
    }

    fn outward(&self) -> DVec3 {
        self.dx.cross(self.dy)
    }
}

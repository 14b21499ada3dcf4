//! Where the sheet lies on itself: pairs of vertices that are kept apart while what they belong to lies face to face.
//!
//! Only pairs that the caller names are looked at. A pair's normal, looked up once per solve, is the mean of its two
//! vertices' where outer sides meet, and the upper one's where inner sides do: that is often a stiff bottom; pushed together past its gap a pair stores k/2 depth^2. When the two sides no longer face each other, because the
//! crease between them has opened, the pair does nothing.

use super::surface::Surface;

/// Pairs of vertices, and how they lie.
#[derive(Clone, Debug, Default)]
pub(crate) struct Contacts {
    contacts: Vec<Contact>,
}

#[derive(Clone, Copy, Debug)]
struct Contact {
    /// The first lies over the second.
    pair: [u32; 2],
    /// Do their inner sides meet, or their outer ones?
    inside: bool,
    /// How far they must stay apart, mm.
    gap: f64,
    /// Out of the second; nothing when they do not face each other.
    normal: [f64; 3],
    /// Force per mm.
    stiffness: f64,
    /// Has the crease between them opened, for good?
    parted: bool,
}

/// A pair that is too close.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Push {
    pub pair: [u32; 2],
    pub normal: [f64; 3],
    pub depth: f64,
    pub stiffness: f64,
}

/// Pressure per mm of depth, in mm of head per mm: products press with some hundred mm of head.
const HARDNESS: f64 = 500.0;
/// A pair deeper than this, mm, has not come to lie on itself: pushing it out would tear the paper.
const DEEPEST_MM: f64 = 12.0;
/// Cosine of the angle between outward normals below which two sides face each other.
const FACING: f64 = 0.3;

impl Contacts {
    /// Pairs with the gaps that they must keep, and whether they lie inside to inside.
    pub(crate) fn new(pairs: impl Iterator<Item = ([u32; 2], bool, f64)>) -> Self {
        let contacts = pairs.map(|(pair, inside, gap)| Contact {
            pair,
            inside,
            gap,
            normal: [0.0; 3],
            stiffness: 0.0,
            parted: false,
        });
        Self { contacts: contacts.collect() }
    }

    pub(crate) fn pairs(&self) -> impl Iterator<Item = [u32; 2]> {
        self.contacts.iter().map(|contact| contact.pair)
    }

    /// Looks up the normals anew.
    pub(crate) fn look(&mut self, surface: &Surface, positions: &[[f64; 3]]) {
        self.look_up(surface, positions, false);
    }

    /// Lets go for good of pairs that no longer face each other: a crease that has opened may bend the other way, and then
    /// the two sides' normals are as far apart again.
    pub(crate) fn part(&mut self, surface: &Surface, positions: &[[f64; 3]]) {
        self.look_up(surface, positions, true);
    }

    fn look_up(&mut self, surface: &Surface, positions: &[[f64; 3]], for_good: bool) {
        let mut normals = vec![[0.0; 3]; positions.len()];
        let mut areas = vec![0.0; positions.len()];
        for triangle in &surface.triangles {
            let [a, b, c] = triangle.vertices.map(|v| positions[v as usize]);
            let (u, v) = ([0, 1, 2].map(|k| b[k] - a[k]), [0, 1, 2].map(|k| c[k] - a[k]));
            let normal = [u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]];
            for &v in &triangle.vertices {
                let v = v as usize;
                areas[v] += triangle.area / 3.0;
                for k in 0..3 {
                    // In a mirror plane the normal has no part across.
                    normals[v][k] += if surface.held[v][k] { 0.0 } else { normal[k] };
                }
            }
        }
        let dot = |a: [f64; 3], b: [f64; 3]| a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
        let unit = |a: [f64; 3]| {
            let length = dot(a, a).sqrt();
            a.map(|x| if length > 0.0 { x / length } else { 0.0 })
        };
        for contact in &mut self.contacts {
            let [a, b] = contact.pair.map(|v| unit(normals[v as usize]));
            contact.normal = if contact.inside { a } else { unit([0, 1, 2].map(|k| b[k] - a[k])) };
            let area = areas[contact.pair[0] as usize].min(areas[contact.pair[1] as usize]);
            let faces = dot(a, b) < FACING;
            contact.parted |= for_good && !faces;
            let [a, b] = contact.pair.map(|v| positions[v as usize]);
            let near = contact.gap - dot(contact.normal, [0, 1, 2].map(|k| a[k] - b[k])) <= DEEPEST_MM;
            contact.stiffness = if faces && near && !contact.parted { HARDNESS * area } else { 0.0 };
        }
    }

    pub(crate) fn pushes<'a>(&'a self, positions: &'a [[f64; 3]]) -> impl Iterator<Item = (usize, Push)> + 'a {
        self.contacts.iter().enumerate().filter(|(_, contact)| contact.stiffness > 0.0).filter_map(
            |(index, contact)| {
                let [a, b] = contact.pair.map(|v| positions[v as usize]);
                let apart = (0..3).map(|k| contact.normal[k] * (a[k] - b[k])).sum::<f64>();
                let depth = contact.gap - apart;
                let Contact { pair, normal, stiffness, .. } = *contact;
                (depth > 0.0).then_some((index, Push { pair, normal, depth, stiffness }))
            },
        )
    }

    pub(crate) fn energy(&self, positions: &[[f64; 3]]) -> f64 {
        self.pushes(positions).map(|(_, push)| 0.5 * push.stiffness * push.depth * push.depth).sum()
    }
}

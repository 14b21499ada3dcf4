//! The surface that is filled: a mesh, its flat lengths, its mirrors, and what of it is stiff.

use super::membrane::Triangle;

/// A closed sheet, or the part of it that its mirror planes leave to be solved for.
///
/// Lengths in mm. The planes x = 0, y = 0 and z = 0 may be mirrors; a vertex in a mirror plane is held in it.
#[derive(Clone, Debug)]
pub struct Surface {
    /// Where the solver starts.
    pub(crate) start: Vec<[f64; 3]>,
    pub(crate) held: Vec<[bool; 3]>,
    pub(crate) triangles: Vec<Triangle>,
    pub(crate) plates: Vec<PlateVertices>,
    /// Into which plate a vertex is fixed.
    pub(crate) plate_of: Vec<Option<u32>>,
    /// How many times its mirrors repeat the part.
    pub(crate) copies: f64,
}

/// A stiff bottom: its vertices keep their places relative to one another.
#[derive(Clone, Debug)]
pub(crate) struct PlateVertices {
    pub vertices: Vec<u32>,
    pub motion: Motion,
}

/// How a stiff bottom may move.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Motion {
    /// Along one axis only, its plane across it.
    Along(usize),
    /// Not at all; its plane is across z.
    Held,
    /// Along y and z, and turning about its lower edge, which is along x.
    Tilting,
}

impl Motion {
    /// Number of unknowns.
    pub(crate) const fn freedoms(self) -> u32 {
        match self {
            Self::Along(_) | Self::Held => 1,
            Self::Tilting => 3,
        }
    }

    /// The axis along which it moves, or would if it were not held.
    pub(crate) const fn axis(self) -> Option<usize> {
        match self {
            Self::Along(axis) => Some(axis),
            Self::Held => Some(2),
            Self::Tilting => None,
        }
    }
}

/// Why a surface can't be solved for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SurfaceError {
    /// A triangle names a vertex that does not exist, or a list has the wrong length.
    Index,
    /// A triangle has no area on the paper, or a number is not finite.
    Degenerate,
}

impl Surface {
    /// A surface from its parts.
    ///
    /// `start`: where each vertex begins, mm; all triangles counter-clockwise seen from outside. `held`: which of its
    /// coordinates a mirror holds. `paper`: the corners of each triangle on the flat paper, mm, each triangle in a
    /// frame of its own. `copies`: how many times the mirrors repeat the part (8 for an octant).
    ///
    /// # Errors
    /// [`SurfaceError`] when the lists do not fit together or a triangle has no area.
    pub fn new(
        start: Vec<[f64; 3]>,
        held: Vec<[bool; 3]>,
        triangles: &[[u32; 3]],
        paper: &[[[f64; 2]; 3]],
        copies: u32,
    ) -> Result<Self, SurfaceError> {
        let known = |corner: &u32| (*corner as usize) < start.len();
        if held.len() != start.len()
            || paper.len() != triangles.len()
            || !triangles.iter().flatten().all(known)
            || triangles.is_empty()
        {
            return Err(SurfaceError::Index);
        }
        if !start.iter().flatten().all(|number| number.is_finite()) {
            return Err(SurfaceError::Degenerate);
        }
        let triangles = triangles
            .iter()
            .zip(paper)
            .map(|(vertices, paper)| flat_triangle(*vertices, paper, false).ok_or(SurfaceError::Degenerate))
            .collect::<Result<Vec<_>, _>>()?;
        let plate_of = vec![None; start.len()];
        Ok(Self { start, held, triangles, plates: Vec::new(), plate_of, copies: f64::from(copies) })
    }

    /// A length that says how large it is: the side of a square of half the whole surface's area, mm.
    pub(crate) fn scale(&self) -> f64 {
        (0.5 * self.copies * self.triangles.iter().map(|triangle| triangle.area).sum::<f64>()).sqrt()
    }
}

/// A triangle with the gradients of its shape functions; `None` when it has no area or is not finite.
pub(crate) fn flat_triangle(vertices: [u32; 3], paper: &[[f64; 2]; 3], rigid: bool) -> Option<Triangle> {
    let [a, b, c] = paper;
    let twice = (b[0] - a[0]) * (c[1] - a[1]) - (c[0] - a[0]) * (b[1] - a[1]);
    if twice == 0.0 || !twice.is_finite() {
        return None;
    }
    let gradient = |p: &[f64; 2], q: &[f64; 2]| [(p[1] - q[1]) / twice, (q[0] - p[0]) / twice];
    Some(Triangle {
        vertices,
        gradients: [gradient(b, c), gradient(c, a), gradient(a, b)],
        area: 0.5 * twice.abs(),
        rigid,
    })
}

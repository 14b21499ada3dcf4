//! Small `f64` geometry: placements of flat paper in space, polygons.

use glam::{DVec2, DVec3};

/// A rigid placement of flat paper in space: the chart's point (u, v) lies at `origin + u du + v dv`, with `du` and
/// `dv` orthonormal. The outside of the sack is the side that [`Placement::outward`] points to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Placement {
    /// Where (0, 0) would lie.
    pub origin: DVec3,
    /// Direction of u.
    pub du: DVec3,
    /// Direction of v.
    pub dv: DVec3,
}

impl Placement {
    /// The point in space of the chart's point (u, v).
    #[must_use]
    pub fn at(&self, paper: DVec2) -> DVec3 {
        self.origin + self.du * paper.x + self.dv * paper.y
    }

    /// The direction in space of a direction on the paper.
    #[must_use]
    pub fn along(&self, paper: DVec2) -> DVec3 {
        self.du * paper.x + self.dv * paper.y
    }

    /// Unit normal towards the outside of the sack: u runs round the tube so that dv x du points outwards.
    #[must_use]
    pub fn outward(&self) -> DVec3 {
        self.dv.cross(self.du)
    }

    /// Moved by `by`.
    #[must_use]
    pub fn moved(self, by: DVec3) -> Self {
        Self { origin: self.origin + by, ..self }
    }

    /// Turned about the axis through `pivot` along x; `turn` is (cosine, sine), from y towards z.
    #[must_use]
    pub fn turned_about_x(self, pivot: DVec3, turn: (f64, f64)) -> Self {
        let (c, s) = turn;
        let rotate = |p: DVec3| DVec3::new(p.x, c * p.y - s * p.z, s * p.y + c * p.z);
        Self { origin: pivot + rotate(self.origin - pivot), du: rotate(self.du), dv: rotate(self.dv) }
    }
}

/// Sorts a short list, equals in the order they had, by insertion: quadratic in its length, but a library's sort costs
/// some 10 KB of wasm for every kind of item.
pub fn sort_short<T>(list: &mut [T], mut is_before: impl FnMut(&T, &T) -> bool) {
    for end in 1..list.len() {
        let mut at = end;
        while at > 0 && is_before(&list[at], &list[at - 1]) {
            list.swap(at, at - 1);
            at -= 1;
        }
    }
}

/// Area of a simple polygon in mm2, positive when it runs counter-clockwise (shoelace formula).
#[must_use]
pub fn signed_area(polygon: &[DVec2]) -> f64 {
    let n = polygon.len();
    (0..n).map(|i| polygon[i].perp_dot(polygon[(i + 1) % n])).sum::<f64>() / 2.0
}

/// Where the line through `a` along `da` meets the line through `b` along `db`; `None` when they are parallel.
#[must_use]
pub fn meet(a: DVec2, da: DVec2, b: DVec2, db: DVec2) -> Option<DVec2> {
    let cross = da.perp_dot(db);
    if cross.abs() <= f64::EPSILON * da.length() * db.length() {
        return None;
    }
    Some(a + da * ((b - a).perp_dot(db) / cross))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn outward_of_the_upper_wall_is_up() {
        // Wall A lying flat: u to the right, v away from the valve end, which is towards -y.
        let wall = Placement { origin: DVec3::ZERO, du: DVec3::X, dv: DVec3::NEG_Y };
        assert_eq!(wall.outward(), DVec3::Z);
    }

    #[test]
    fn lines_meet_where_they_should() {
        let p = meet(DVec2::ZERO, DVec2::ONE, DVec2::new(4.0, 0.0), DVec2::new(-1.0, 1.0));
        assert_eq!(p, Some(DVec2::new(2.0, 2.0)));
        assert_eq!(meet(DVec2::ZERO, DVec2::X, DVec2::Y, DVec2::X), None);
    }
}

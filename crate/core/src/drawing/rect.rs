//! Rectangles, upright and turned, and what of a segment lies in a convex region.

use glam::DVec2;

/// `normal . p >= level`; the normal need not be a unit vector.
pub(super) type HalfPlane = (DVec2, f64);

/// An upright rectangle, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rect {
    /// Lower left corner.
    pub min: DVec2,
    /// Upper right corner.
    pub max: DVec2,
}

impl Rect {
    /// Holds nothing, and takes whatever is joined to it.
    pub(super) const EMPTY: Self = Self { min: DVec2::INFINITY, max: DVec2::NEG_INFINITY };

    pub(super) const fn new(min: DVec2, max: DVec2) -> Self {
        Self { min, max }
    }

    pub(super) fn around(points: &[DVec2]) -> Self {
        points.iter().fold(Self::EMPTY, |rect, &point| rect.with(point))
    }

    pub(super) fn with(self, point: DVec2) -> Self {
        Self { min: self.min.min(point), max: self.max.max(point) }
    }

    pub(super) fn join(self, other: Self) -> Self {
        Self { min: self.min.min(other.min), max: self.max.max(other.max) }
    }

    pub(super) fn grown(self, by: f64) -> Self {
        Self { min: self.min - DVec2::splat(by), max: self.max + DVec2::splat(by) }
    }

    pub(super) fn moved(self, by: DVec2) -> Self {
        Self { min: self.min + by, max: self.max + by }
    }

    /// Width and height.
    #[must_use]
    pub fn size(&self) -> DVec2 {
        self.max - self.min
    }

    pub(super) fn middle(&self) -> DVec2 {
        (self.min + self.max) / 2.0
    }

    pub(super) fn corners(&self) -> [DVec2; 4] {
        [self.min, DVec2::new(self.max.x, self.min.y), self.max, DVec2::new(self.min.x, self.max.y)]
    }

    /// Whether a point lies inside or on the edge.
    pub(super) fn holds(&self, point: DVec2) -> bool {
        point.cmpge(self.min).all() && point.cmple(self.max).all()
    }

    /// Whether the insides have anything in common.
    #[must_use]
    pub fn overlaps(&self, other: &Self) -> bool {
        self.min.cmplt(other.max).all() && other.min.cmplt(self.max).all()
    }

    /// Whether a segment goes through the inside.
    #[must_use]
    pub fn is_crossed(&self, [a, b]: [DVec2; 2]) -> bool {
        // Most segments lie apart.
        let (low, high) = (a.min(b), a.max(b));
        if high.cmple(self.min).any() || low.cmpge(self.max).any() {
            return false;
        }
        share_inside([a, b], &self.half_planes()).is_some()
    }

    /// The half planes whose common part it is.
    pub(super) const fn half_planes(&self) -> [HalfPlane; 4] {
        [(DVec2::X, self.min.x), (DVec2::NEG_X, -self.max.x), (DVec2::Y, self.min.y), (DVec2::NEG_Y, -self.max.y)]
    }
}

/// A rectangle that lies along a direction, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TurnedRect {
    /// The direction, of length 1.
    along: DVec2,
    /// In coordinates along the direction and to its left.
    rect: Rect,
}

impl From<Rect> for TurnedRect {
    fn from(rect: Rect) -> Self {
        Self { along: DVec2::X, rect }
    }
}

impl TurnedRect {
    /// A rectangle about the origin, turned to lie along a direction, then moved.
    pub(super) fn new(rect: Rect, along: DVec2, by: DVec2) -> Self {
        Self { along, rect }.moved(by)
    }

    fn own(&self, point: DVec2) -> DVec2 {
        DVec2::new(self.along.dot(point), self.along.perp_dot(point))
    }

    pub(super) fn moved(self, by: DVec2) -> Self {
        Self { rect: self.rect.moved(self.own(by)), ..self }
    }

    /// So much larger on every side.
    #[must_use]
    pub fn grown(self, by: f64) -> Self {
        Self { rect: self.rect.grown(by), ..self }
    }

    pub(super) fn corners(&self) -> [DVec2; 4] {
        self.rect.corners().map(|corner| self.along.rotate(corner))
    }

    /// The upright rectangle around it.
    #[must_use]
    pub fn upright(&self) -> Rect {
        if self.along == DVec2::X { self.rect } else { Rect::around(&self.corners()) }
    }

    /// Whether the insides have anything in common: no side of either parts them.
    #[must_use]
    pub fn overlaps(&self, other: &Self) -> bool {
        let seen = |one: &Self, other: &Self| Rect::around(&other.corners().map(|corner| one.own(corner)));
        if self.along == other.along {
            return self.rect.overlaps(&other.rect);
        }
        self.rect.overlaps(&seen(self, other)) && other.rect.overlaps(&seen(other, self))
    }

    /// Whether a segment goes through the inside.
    #[must_use]
    pub fn is_crossed(&self, segment: [DVec2; 2]) -> bool {
        self.rect.is_crossed(if self.along == DVec2::X { segment } else { segment.map(|point| self.own(point)) })
    }

    /// The half planes whose common part it is.
    pub(super) fn half_planes(&self) -> [HalfPlane; 4] {
        self.rect.half_planes().map(|(normal, level)| (self.along.rotate(normal), level))
    }
}

/// From where to where, as shares of its length, a segment lies in all the half planes `normal . p >= level`; `None`
/// when it only touches them or lies along their edge.
fn share_inside([a, b]: [DVec2; 2], half_planes: &[HalfPlane]) -> Option<(f64, f64)> {
    let (mut from, mut to) = (0.0_f64, 1.0_f64);
    for (normal, level) in half_planes {
        let (at_a, at_b) = (normal.dot(a) - level, normal.dot(b) - level);
        if at_a <= 0.0 && at_b <= 0.0 {
            return None;
        }
        if at_a * at_b < 0.0 {
            let cut = at_a / (at_a - at_b);
            if at_a < 0.0 { from = from.max(cut) } else { to = to.min(cut) }
        }
    }
    (from < to).then_some((from, to))
}

/// The half planes whose common part a convex polygon is.
pub(super) fn half_planes(polygon: &[DVec2]) -> Vec<HalfPlane> {
    let middle = polygon.iter().sum::<DVec2>() / polygon.len() as f64;
    let edges = polygon.iter().zip(polygon.iter().cycle().skip(1));
    let plane = |(a, b): (&DVec2, &DVec2)| {
        let normal = (*b - *a).perp();
        let normal = if normal.dot(middle - *a) < 0.0 { -normal } else { normal };
        (normal, normal.dot(*a))
    };
    edges.map(plane).collect()
}

/// The parts of a segment outside and inside of the half planes.
pub(super) fn split(segment: [DVec2; 2], half_planes: &[HalfPlane]) -> (Vec<[DVec2; 2]>, Option<[DVec2; 2]>) {
    let [a, b] = segment;
    let Some((from, to)) = share_inside(segment, half_planes) else { return (vec![segment], None) };
    let (first, last) = (a.lerp(b, from), a.lerp(b, to));
    let outside = [(from > 0.0).then_some([a, first]), (to < 1.0).then_some([last, b])];
    (outside.into_iter().flatten().collect(), Some([first, last]))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn touching_is_not_crossing() {
        let rect = Rect::new(DVec2::ZERO, DVec2::new(2.0, 1.0));
        assert!(rect.is_crossed([DVec2::new(-1.0, 0.5), DVec2::new(3.0, 0.5)]));
        assert!(rect.is_crossed([DVec2::new(1.0, 0.5), DVec2::new(1.0, 0.6)]));
        assert!(!rect.is_crossed([DVec2::new(-1.0, 1.0), DVec2::new(3.0, 1.0)]));
        assert!(!rect.is_crossed([DVec2::new(2.0, -1.0), DVec2::new(2.0, 3.0)]));
        assert!(!rect.is_crossed([DVec2::new(1.9, -1.0), DVec2::new(3.0, 0.2)]));
    }

    #[test]
    fn a_turned_rectangle_lies_where_its_corners_are() {
        let along = DVec2::new(0.6, 0.8);
        let turned = TurnedRect::new(Rect::new(DVec2::ZERO, DVec2::new(10.0, 5.0)), along, DVec2::new(1.0, 2.0));
        // (10, 0), (10, 5) and (0, 5), turned and moved.
        let corners = [(1.0, 2.0), (7.0, 10.0), (3.0, 13.0), (-3.0, 5.0)].map(|(x, y)| DVec2::new(x, y));
        for (corner, expected) in turned.corners().into_iter().zip(corners) {
            assert!(corner.distance(expected) < 1e-12, "{corner}");
        }
        assert!((turned.upright().size() - DVec2::new(10.0, 11.0)).length() < 1e-12);
        // In the upright rectangle around it, beside it.
        let aside = Rect::new(DVec2::new(4.0, 2.0), DVec2::new(7.0, 5.0)).into();
        assert!(!turned.overlaps(&aside) && !aside.overlaps(&turned));
        let on = Rect::new(DVec2::new(3.0, 4.0), DVec2::new(7.0, 5.0)).into();
        assert!(turned.overlaps(&on) && on.overlaps(&turned));
        assert!(!turned.is_crossed([DVec2::new(4.0, 2.0), DVec2::new(7.0, 8.0)]));
        assert!(turned.is_crossed([DVec2::new(1.0, 5.0), DVec2::new(1.0, 8.0)]));
        let inside = |point: DVec2| turned.half_planes().iter().all(|(normal, level)| normal.dot(point) > *level);
        assert!(inside(DVec2::new(2.0, 7.5)) && !inside(DVec2::new(6.0, 4.0)));
    }

    #[test]
    fn a_segment_falls_into_outside_and_inside() {
        let rect = [(DVec2::X, 0.0), (DVec2::NEG_X, -2.0)];
        let (outside, inside) = split([DVec2::new(-1.0, 0.0), DVec2::new(3.0, 0.0)], &rect);
        assert_eq!(inside, Some([DVec2::ZERO, DVec2::new(2.0, 0.0)]));
        assert_eq!(outside.len(), 2);
    }
}

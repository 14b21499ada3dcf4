//! A bottom in plan, opened and closed: where its corners, rims and creases lie.
//!
//! Source: geometry of the block-bottom sack, sections 2, 4 and 6. Coordinates of the end: x across the face as on the
//! sack's front, y from the bottom's centre line outwards, towards the rim of wall B; wall A's half lies at y < 0.

use glam::DVec2;

use super::rect::{HalfPlane, half_planes};
use crate::bottom::{Bottom, PatchPlace, Sleeve};
use crate::sack::Sack;
use crate::sheet::End;
use crate::tube::Wall;

/// A bottom and where its centre line lies in the view.
pub(super) struct Plan<'a> {
    pub sack: &'a Sack,
    pub bottom: &'a Bottom,
    /// y of the centre line in the view.
    pub y: f64,
    /// +1: outwards is up.
    pub up: f64,
}

/// A straight edge, and whether it is seen from outside.
pub(super) struct Edge {
    pub ends: [DVec2; 2],
    pub seen: bool,
}

impl<'a> Plan<'a> {
    /// The bottom as it lies on the front of the sack with its valve end up; the valve end's centre line at y = 0.
    pub(super) fn on_front(sack: &'a Sack, end: End) -> Self {
        let (y, up) = match end {
            End::ValveEnd => (0.0, 1.0),
            End::PlainEnd => (-sack.tube().bottom_centre_distance_mm, -1.0),
        };
        Self { sack, bottom: sack.bottom(end), y, up }
    }

    /// The bottom by itself, its centre line at y = 0.
    pub(super) fn alone(sack: &'a Sack, end: End) -> Self {
        Self { y: 0.0, ..Self::on_front(sack, end) }
    }

    /// A point of the end in the view.
    pub(super) fn at(&self, x: f64, y: f64) -> DVec2 {
        DVec2::new(x, self.y + self.up * y)
    }

    /// The side of the centre line on which a wall's half lies.
    pub(super) const fn sign(wall: Wall) -> f64 {
        match wall {
            Wall::A => -1.0,
            Wall::B => 1.0,
        }
    }

    /// Half the face, h.
    pub(super) const fn h(&self) -> f64 {
        self.bottom.half_face_mm()
    }

    /// Half the bottom's straight part, h - B/2: where fold lines end.
    pub(super) fn fold_end(&self) -> f64 {
        self.h() - self.bottom.width_mm / 2.0
    }

    /// Rims of a wall's plies from the nominal rim into the sack, outermost first.
    pub(super) fn rims(&self, wall: Wall) -> Vec<f64> {
        let tube = self.sack.tube();
        (0..tube.plies.len()).map(|ply| tube.rim_mm(self.bottom.end, wall, ply)).collect()
    }

    /// Half the width of a flap at its rim, and of the gap between the pockets at that rim: h - d + rim.
    pub(super) fn rim_half(&self, rim: f64) -> f64 {
        self.h() - self.bottom.opening_depth_mm + rim
    }

    /// y of a wall's rim, opened.
    pub(super) fn opened_y(&self, wall: Wall, rim: f64) -> f64 {
        Self::sign(wall) * (self.bottom.opening_depth_mm - rim)
    }

    /// y of a wall's rim, closed.
    pub(super) fn closed_y(&self, wall: Wall, rim: f64) -> f64 {
        Self::sign(wall) * (self.bottom.width_mm - self.bottom.opening_depth_mm + rim)
    }

    /// The wall whose flap is folded last.
    pub(super) const fn last(&self) -> Wall {
        self.bottom.first.other()
    }

    /// The closed bottom's six corners: tip, then round.
    pub(super) fn hexagon(&self) -> [DVec2; 6] {
        let (h, f, half) = (self.h(), self.fold_end(), self.bottom.width_mm / 2.0);
        [(h, 0.0), (f, half), (-f, half), (-h, 0.0), (-f, -half), (f, -half)].map(|(x, y)| self.at(x, y))
    }

    /// The edges of the closed bottom's flaps: fold lines, slanted sides, rims.
    pub(super) fn flaps(&self) -> Vec<Edge> {
        let (f, half, b) = (self.fold_end(), self.bottom.width_mm / 2.0, self.bottom.width_mm);
        let d = self.bottom.opening_depth_mm;
        let (first, last) = (self.bottom.first, self.last());
        let mut edges = Vec::new();
        let mut edge = |a: DVec2, b: DVec2, seen: bool| edges.push(Edge { ends: [a, b], seen });
        let on_last = Self::sign(last);
        // The flap folded last: its outermost ply is the longest and covers the others.
        for (ply, rim) in self.rims(last).into_iter().enumerate() {
            let (x, y) = (self.rim_half(rim), self.closed_y(last, rim));
            edge(self.at(-x, y), self.at(x, y), ply == 0);
            if ply == 0 {
                edge(self.at(-f, on_last * half), self.at(-x, y), true);
                edge(self.at(f, on_last * half), self.at(x, y), true);
            }
        }
        // The flap folded first disappears under the last: at t from its fold line where the last one is as wide and
        // reaches so far.
        let reach = d - half - self.rims(last).first().copied().unwrap_or_default();
        let hidden_from = half.max(b - reach);
        for (ply, rim) in self.rims(first).into_iter().enumerate() {
            let depth = d - half - rim;
            let (x, y) = (self.rim_half(rim), self.closed_y(first, rim));
            edge(self.at(-x, y), self.at(x, y), depth < b - reach);
            if ply + 1 == self.sack.tube().plies.len() {
                let seen = hidden_from.min(depth);
                let corner = |side: f64, t: f64| self.at(side * (f - t), -on_last * (half - t));
                for side in [-1.0, 1.0] {
                    edge(corner(side, 0.0), corner(side, seen), true);
                    if depth > seen {
                        edge(corner(side, seen), corner(side, depth), false);
                    }
                }
            }
        }
        for sign in [-1.0, 1.0] {
            edge(self.at(-f, sign * half), self.at(f, sign * half), true);
        }
        edges
    }

    /// The half planes that hold what lies within the patch; `None` without one.
    pub(super) fn patch(&self) -> Option<([DVec2; 4], [HalfPlane; 4])> {
        let patch = self.bottom.patch?;
        let (x, half, wide) = (patch.offset_mm, patch.length_mm / 2.0, patch.width_mm / 2.0);
        let corners = [(x - half, -wide), (x + half, -wide), (x + half, wide), (x - half, wide)];
        let planes = [
            (DVec2::X, x - half),
            (DVec2::NEG_X, -(x + half)),
            (DVec2::Y, self.y - wide),
            (DVec2::NEG_Y, -(self.y + wide)),
        ];
        Some((corners.map(|(x, y)| self.at(x, y)), planes))
    }

    /// A point on the patch, such a share of its length from its middle, on the side where no sleeve lies under it.
    pub(super) fn beside_sleeve(&self, patch: &PatchPlace, share: f64) -> DVec2 {
        let sign = self.bottom.sleeve.map_or(1.0, |sleeve| -sleeve.side.sign());
        self.at(patch.offset_mm + sign * share * patch.length_mm, 0.0)
    }

    /// The sleeve's corners, the outer end first: outer end's two, inner end's two.
    pub(super) fn sleeve(&self) -> Option<(Sleeve, [DVec2; 4])> {
        let sleeve = self.bottom.sleeve?;
        let sign = sleeve.side.sign();
        let (s, c) = libm::sincos(sleeve.skew_deg.to_radians());
        let inwards = DVec2::new(-sign * c, -sign * s);
        let across = inwards.perp() * (sleeve.width_mm / 2.0);
        let mouth = DVec2::new(sign * (self.fold_end() + sleeve.outer_end_mm), sleeve.offset_mm);
        let end = mouth + inwards * sleeve.length_mm;
        let corners = [mouth + across, mouth - across, end - across, end + across];
        Some((sleeve, corners.map(|corner| self.at(corner.x, corner.y))))
    }

    /// The half planes that hold what lies within the sleeve: nothing without one.
    pub(super) fn sleeve_planes(&self) -> Vec<HalfPlane> {
        let nothing = || vec![(DVec2::X, f64::INFINITY)];
        self.sleeve().map_or_else(nothing, |(_, corners)| half_planes(&corners))
    }

    /// The half planes of what the flaps leave uncovered at the tip of a side: the V, sign x - |y| > h - B.
    pub(super) fn open_tip(&self, sign: f64) -> [HalfPlane; 2] {
        let level = self.h() - self.bottom.width_mm;
        [(DVec2::new(sign, -1.0), level - self.y), (DVec2::new(sign, 1.0), level + self.y)]
    }
}

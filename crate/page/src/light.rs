//! The key light and the two shadow pictures it needs: depth seen from the light (paper on paper), and the sack's
//! footprint on the table.

use glam::{DMat4, DVec3, DVec4};

use crate::camera::Bounds;

/// From the sack to the key light, not yet of length 1: high, from the left beyond the valve end, so that what
/// stands up throws its shadow towards the viewer's right.
const KEY: DVec3 = DVec3::new(-0.50, 0.42, 0.82);

/// What the table's picture of the footprint leaves free around the sack for the shadow's soft rim, mm.
pub const RIM_MM: f64 = 70.0;

/// From the sack to the key light, of length 1.
#[must_use]
pub fn key() -> DVec3 {
    KEY.normalize()
}

/// The light's picture: x, y, depth from 0 to 1 over `bounds`, from positions relative to `origin`.
#[must_use]
pub fn light_from_space(bounds: Bounds, origin: DVec3) -> DMat4 {
    let forward = -key();
    // Along x, like the rims and fold lines whose shadows matter: along the picture's rows they have no stairs.
    let right = (DVec3::X - forward * forward.x).normalize();
    let up = right.cross(forward);
    let mut seen = Bounds::EMPTY;
    for corner in bounds.corners() {
        let p = corner - origin;
        seen = seen.with(DVec3::new(p.dot(right), p.dot(up), p.dot(forward)));
    }
    // A little air, so that nothing lies on the picture's last texel.
    let size = (seen.max - seen.min).max(DVec3::splat(1.0)) * 1.02;
    let min = seen.middle() - size / 2.0;
    let row = |axis: DVec3, size: f64, min: f64| (axis / size).extend(-min / size);
    DMat4::from_cols(row(right, size.x, min.x), row(up, size.y, min.y), row(forward, size.z, min.z), DVec4::W)
        .transpose()
}

/// The part of the table that the footprint's picture shows: what lies under the sack or in its shadow, with a rim.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Footprint {
    /// Corner with the least x and y, mm.
    pub min: [f64; 2],
    /// Extent in x and y, mm.
    pub size: [f64; 2],
}

impl Footprint {
    /// The footprint of what `bounds` hold on a table at their lowest z.
    #[must_use]
    pub fn of(bounds: Bounds) -> Self {
        let slide = key() / key().z * (bounds.max.z - bounds.min.z);
        let low = bounds.min.min(bounds.min - slide) - RIM_MM;
        let high = bounds.max.max(bounds.max - slide) + RIM_MM;
        Self { min: [low.x, low.y], size: [high.x - low.x, high.y - low.y] }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SACK: Bounds = Bounds { min: DVec3::new(-250.0, -650.0, 0.0), max: DVec3::new(250.0, 130.0, 90.0) };

    #[test]
    fn all_of_the_sack_is_in_the_lights_picture() {
        let origin = SACK.middle();
        let light = light_from_space(SACK, origin);
        for corner in SACK.corners() {
            let p = light.transform_point3(corner - origin);
            assert!(p.min_element() > 0.0 && p.max_element() < 1.0, "{p}");
        }
        // What is nearer to the light has the lesser depth.
        let near = light.transform_point3(key() * 10.0);
        assert!(near.z < light.transform_point3(DVec3::ZERO).z);
    }

    #[test]
    fn the_footprint_holds_the_shadow_of_the_highest_corner() {
        let footprint = Footprint::of(SACK);
        for corner in SACK.corners() {
            let shadow = corner - key() / key().z * (corner.z - SACK.min.z);
            for (at, low, size) in
                [(shadow.x, footprint.min[0], footprint.size[0]), (shadow.y, footprint.min[1], footprint.size[1])]
            {
                assert!(at > low && at < low + size);
            }
        }
    }
}

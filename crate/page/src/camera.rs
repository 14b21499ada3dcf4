//! The camera: it orbits about a target, pans, zooms, and jumps to named views that fit the sack into the canvas.
//!
//! All in the sack's frame, mm, f64; pixels are CSS pixels of the canvas, y down. A longish lens (24 degrees) keeps
//! the sack's parallels calm. Near and far lie close around what is drawn, so that plies 0.1 mm apart stay apart at
//! 24 bits of depth.

use glam::{DMat4, DVec3, DVec4};

/// Vertical opening of the lens, rad.
const LENS: f64 = 24.0 * std::f64::consts::PI / 180.0;
/// Turn per pixel of drag, rad.
const TURN_PER_PX: f64 = 0.007;
/// Part of the canvas that a fitted view leaves free on each side.
const MARGIN: f64 = 0.07;
/// The eye comes no nearer to its target than this part of the bounds' radius.
const NEAREST: f64 = 0.06;
/// The eye goes no further from its target than this many radii of the bounds.
const FARTHEST: f64 = 14.0;
/// Straight up and down, rad.
const POLE: f64 = std::f64::consts::FRAC_PI_2;

/// The canvas in CSS pixels.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Canvas {
    /// Width, CSS px, at least 1.
    pub width: f64,
    /// Height, CSS px, at least 1.
    pub height: f64,
}

/// An axis-parallel box, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bounds {
    /// Lowest corner.
    pub min: DVec3,
    /// Highest corner.
    pub max: DVec3,
}

impl Bounds {
    /// A box that holds nothing yet.
    pub const EMPTY: Self = Self { min: DVec3::INFINITY, max: DVec3::NEG_INFINITY };

    /// The same box, grown to hold `point`.
    #[must_use]
    pub fn with(self, point: DVec3) -> Self {
        Self { min: self.min.min(point), max: self.max.max(point) }
    }

    /// Its middle.
    #[must_use]
    pub fn middle(self) -> DVec3 {
        (self.min + self.max) / 2.0
    }

    /// Radius of the ball around it, mm.
    #[must_use]
    pub fn radius(self) -> f64 {
        (self.max - self.min).length() / 2.0
    }

    /// Its eight corners.
    #[must_use]
    pub fn corners(self) -> [DVec3; 8] {
        let pick = |bit: usize, low: f64, high: f64| if bit == 0 { low } else { high };
        std::array::from_fn(|i| {
            DVec3::new(
                pick(i & 1, self.min.x, self.max.x),
                pick(i & 2, self.min.y, self.max.y),
                pick(i & 4, self.min.z, self.max.z),
            )
        })
    }
}

/// A named view: where the eye stands. What it fits is told by the scene.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum View {
    /// The whole sack, from above its plain end.
    Whole,
    /// The whole sack, straight from above.
    Above,
    /// The whole sack, from below its valve end: its back.
    Below,
    /// The whole sack, low from its right-hand side.
    Side,
    /// The valve end, from beyond it.
    ValveEnd,
    /// The plain end, from beyond it.
    PlainEnd,
    /// The corner with the valve, close.
    Corner,
}

impl View {
    /// Every view with its name at the boundary.
    pub const ALL: [(&'static str, Self); 7] = [
        ("whole", Self::Whole),
        ("above", Self::Above),
        ("below", Self::Below),
        ("side", Self::Side),
        ("valve-end", Self::ValveEnd),
        ("plain-end", Self::PlainEnd),
        ("corner", Self::Corner),
    ];

    /// The view of that name.
    #[must_use]
    pub fn named(name: &str) -> Option<Self> {
        let found = Self::ALL.iter().find(|(known, _)| *known == name);
        found.map(|&(_, view)| view)
    }

    /// Direction in degrees: yaw (0: the eye towards -y, 90: towards +x) and pitch (90: straight above).
    const fn direction(self, valve_side: f64) -> (f64, f64) {
        match self {
            Self::Whole => (-24.0, 47.0),
            Self::Above => (0.0, 90.0),
            Self::Below => (160.0, -47.0),
            Self::Side => (68.0, 16.0),
            Self::ValveEnd => (180.0 - 28.0 * valve_side, 38.0),
            Self::PlainEnd => (-22.0, 38.0),
            Self::Corner => (180.0 - 52.0 * valve_side, 32.0),
        }
    }
}

/// A half line in space, for picking.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ray {
    /// Where it starts: the eye, mm.
    pub origin: DVec3,
    /// Where it goes, of length 1.
    pub direction: DVec3,
}

/// A place on the canvas.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spot {
    /// CSS px from the left.
    pub x: f64,
    /// CSS px from the top.
    pub y: f64,
    /// Distance along the line of sight, mm.
    pub depth: f64,
}

/// Where the eye is and where it looks.
///
/// ```
/// use glam::DVec3;
/// use sackwright_page::camera::{Bounds, Camera, Canvas, View};
///
/// let canvas = Canvas { width: 1280.0, height: 800.0 };
/// let sack = Bounds { min: DVec3::new(-250.0, -650.0, 0.0), max: DVec3::new(250.0, 130.0, 60.0) };
/// let mut camera = Camera::fitted(View::Above, 1.0, &sack.corners(), canvas);
///
/// // From straight above the middle of the sack is in the middle of the canvas, and +y is up.
/// let middle = camera.project(sack.middle(), canvas).unwrap();
/// assert!((middle.x - 640.0).abs() < 1.0 && (middle.y - 400.0).abs() < 1.0);
/// let rim = camera.project(DVec3::new(0.0, 130.0, 0.0), canvas).unwrap();
/// assert!(rim.y < middle.y);
///
/// // A drag to the right takes the near side along to the right.
/// camera.orbit(100.0, 0.0);
/// assert!(camera.project(DVec3::new(0.0, -650.0, 0.0), canvas).unwrap().x > middle.x);
///
/// // What a ray goes through is projected back to the pixel that it came from.
/// let ray = camera.ray(200.0, 300.0, canvas);
/// let spot = camera.project(ray.origin + ray.direction * 900.0, canvas).unwrap();
/// assert!((spot.x - 200.0).abs() < 1e-6 && (spot.y - 300.0).abs() < 1e-6);
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Camera {
    /// What the eye turns about, mm.
    pub target: DVec3,
    /// Turn about z, rad; 0: the eye stands towards -y of its target.
    pub yaw: f64,
    /// Height of the eye over the horizon, rad; a quarter turn: straight above.
    pub pitch: f64,
    /// Eye to target, mm.
    pub distance: f64,
}

impl Camera {
    /// The camera of a named view, as near as `points` (mm) allow with a margin around. `valve_side` is the sign of
    /// x on the valve's side: the views of the valve end look at it from there.
    #[must_use]
    pub fn fitted(view: View, valve_side: f64, points: &[DVec3], canvas: Canvas) -> Self {
        let (yaw, pitch) = view.direction(valve_side);
        let mut camera = Self { target: DVec3::ZERO, yaw: yaw.to_radians(), pitch: pitch.to_radians(), distance: 1.0 };
        camera.fit(points, canvas);
        camera
    }

    /// Moves the eye, without turning it, as near to `points` as the canvas allows with a margin around.
    ///
    /// In the camera's axes (a right, b up, c away) a point is inside the lens when |a - ea| <= k (c - ec): four
    /// half planes, each with one point that touches first. The eye sits where the pair that is tighter touches.
    fn fit(&mut self, points: &[DVec3], canvas: Canvas) {
        if points.is_empty() {
            return;
        }
        let [right, up, forward] = self.axes();
        let (kx, ky) = slopes(canvas);
        let (kx, ky) = (kx * (1.0 - 2.0 * MARGIN), ky * (1.0 - 2.0 * MARGIN));
        let bounds = points.iter().fold(Bounds::EMPTY, |b, &p| b.with(p));
        let middle = bounds.middle();
        let mut reach = [f64::NEG_INFINITY; 4];
        for &point in points {
            let p = point - middle;
            let (a, b, c) = (p.dot(right), p.dot(up), p.dot(forward));
            let planes = [a - kx * c, -a - kx * c, b - ky * c, -b - ky * c];
            for (reach, plane) in reach.iter_mut().zip(planes) {
                *reach = reach.max(plane);
            }
        }
        let away_x = (reach[0] + reach[1]) / (2.0 * kx);
        let away_y = (reach[2] + reach[3]) / (2.0 * ky);
        let (ea, eb) = ((reach[0] - reach[1]) / 2.0, (reach[2] - reach[3]) / 2.0);
        self.target = middle + right * ea + up * eb;
        self.distance = away_x.max(away_y).max(1.0);
    }

    /// Right, up and forward of the picture, each of length 1.
    #[must_use]
    pub fn axes(&self) -> [DVec3; 3] {
        let (sy, cy) = libm::sincos(self.yaw);
        let (sp, cp) = libm::sincos(self.pitch);
        [DVec3::new(cy, sy, 0.0), DVec3::new(-sy * sp, cy * sp, cp), DVec3::new(-sy * cp, cy * cp, -sp)]
    }

    /// Where the eye is, mm.
    #[must_use]
    pub fn eye(&self) -> DVec3 {
        self.target - self.axes()[2] * self.distance
    }

    /// Turns about the target by a drag of (dx, dy) CSS px.
    pub fn orbit(&mut self, dx: f64, dy: f64) {
        let turn = std::f64::consts::TAU;
        self.yaw = (self.yaw - dx * TURN_PER_PX).rem_euclid(turn);
        self.pitch = (self.pitch + dy * TURN_PER_PX).clamp(-POLE, POLE);
    }

    /// Moves sideways, so that what lies at the target's depth follows a drag of (dx, dy) CSS px. The target stays
    /// near `bounds`: the sack can't be lost.
    pub fn pan(&mut self, dx: f64, dy: f64, bounds: Bounds, canvas: Canvas) {
        let [right, up, _] = self.axes();
        let scale = self.mm_per_px(canvas);
        self.target += (up * dy - right * dx) * scale;
        self.keep_near(bounds);
    }

    /// Comes nearer by `factor` (above 1) or goes away (below 1); what lies under `at` (CSS px, the middle when
    /// none) at the target's depth stays there.
    pub fn zoom(&mut self, factor: f64, at: Option<(f64, f64)>, bounds: Bounds, canvas: Canvas) {
        if !factor.is_finite() || factor <= 0.0 {
            return;
        }
        let radius = bounds.radius().max(1.0);
        let before = self.mm_per_px(canvas);
        self.distance = (self.distance / factor).clamp(radius * NEAREST, radius * FARTHEST);
        let moved = before - self.mm_per_px(canvas);
        if let Some((x, y)) = at {
            let [right, up, _] = self.axes();
            let (dx, dy) = (x - canvas.width / 2.0, canvas.height / 2.0 - y);
            self.target += (right * dx + up * dy) * moved;
            self.keep_near(bounds);
        }
    }

    fn keep_near(&mut self, bounds: Bounds) {
        self.target = self.target.clamp(bounds.min, bounds.max);
    }

    /// mm in space for one CSS px, at the target's depth.
    #[must_use]
    pub fn mm_per_px(&self, canvas: Canvas) -> f64 {
        2.0 * self.distance * slopes(canvas).1 / canvas.height
    }

    /// The ray from the eye through a point of the canvas, CSS px.
    #[must_use]
    pub fn ray(&self, x: f64, y: f64, canvas: Canvas) -> Ray {
        let [right, up, forward] = self.axes();
        let (kx, ky) = slopes(canvas);
        let a = (2.0 * x / canvas.width - 1.0) * kx;
        let b = (1.0 - 2.0 * y / canvas.height) * ky;
        Ray { origin: self.eye(), direction: (forward + right * a + up * b).normalize() }
    }

    /// Where a point in space appears on the canvas; none behind the eye.
    #[must_use]
    pub fn project(&self, point: DVec3, canvas: Canvas) -> Option<Spot> {
        let [right, up, forward] = self.axes();
        let (kx, ky) = slopes(canvas);
        let p = point - self.eye();
        let depth = p.dot(forward);
        if depth <= 1e-6 {
            return None;
        }
        Some(Spot {
            x: (1.0 + p.dot(right) / (depth * kx)) * canvas.width / 2.0,
            y: (1.0 - p.dot(up) / (depth * ky)) * canvas.height / 2.0,
            depth,
        })
    }

    /// Nearest and farthest depth of what `bounds` hold, mm: close around it, and never behind the eye.
    #[must_use]
    pub fn depth_range(&self, bounds: Bounds) -> (f64, f64) {
        let radius = bounds.radius().max(1.0) * 1.01;
        let middle = (bounds.middle() - self.eye()).dot(self.axes()[2]);
        let near = (middle - radius).max(self.distance * 0.02).max(0.5);
        (near, (middle + radius).max(near * 1.5))
    }

    /// Clip space from positions relative to `origin`, which is subtracted in f64 so that f32 vertices lose nothing.
    #[must_use]
    pub fn clip_from_space(&self, origin: DVec3, bounds: Bounds, canvas: Canvas) -> DMat4 {
        let [right, up, forward] = self.axes();
        let eye = self.eye() - origin;
        let (kx, ky) = slopes(canvas);
        let (near, far) = self.depth_range(bounds);
        let row = |axis: DVec3, scale: f64| (axis * scale).extend(-axis.dot(eye) * scale);
        let x = row(right, 1.0 / kx);
        let y = row(up, 1.0 / ky);
        let w = row(forward, 1.0);
        let z = w * ((far + near) / (far - near)) - DVec4::new(0.0, 0.0, 0.0, 2.0 * far * near / (far - near));
        DMat4::from_cols(x, y, z, w).transpose()
    }
}

/// Half the lens' width and height at depth 1.
fn slopes(canvas: Canvas) -> (f64, f64) {
    // On a canvas that stands upright the lens' opening holds across, or a sack would be seen from far too near.
    let k = libm::tan(LENS / 2.0);
    let aspect = canvas.width / canvas.height;
    if aspect >= 1.0 { (k * aspect, k) } else { (k, k / aspect) }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SACK: Bounds = Bounds { min: DVec3::new(-250.0, -650.0, 0.0), max: DVec3::new(250.0, 130.0, 90.0) };

    #[test]
    fn every_view_shows_all_of_what_it_fits_and_touches_the_margin() {
        for (width, height) in [(1280.0, 800.0), (360.0, 640.0), (900.0, 200.0)] {
            let canvas = Canvas { width, height };
            for (name, view) in View::ALL {
                let camera = Camera::fitted(view, -1.0, &SACK.corners(), canvas);
                let mut gap = f64::INFINITY;
                for corner in SACK.corners() {
                    let spot = camera.project(corner, canvas).expect(name);
                    let x = spot.x.min(width - spot.x) / width;
                    let y = spot.y.min(height - spot.y) / height;
                    gap = gap.min(x).min(y);
                }
                assert!((gap - MARGIN).abs() < 1e-6, "{name} on {width}: {gap}");
            }
        }
    }

    #[test]
    fn a_zoom_keeps_what_is_under_the_pointer() {
        let canvas = Canvas { width: 1000.0, height: 600.0 };
        let mut camera = Camera::fitted(View::Above, 1.0, &SACK.corners(), canvas);
        let ray = camera.ray(420.0, 350.0, canvas);
        let [_, _, forward] = camera.axes();
        let point = ray.origin + ray.direction * (camera.distance / ray.direction.dot(forward));
        camera.zoom(1.7, Some((420.0, 350.0)), SACK, canvas);
        let spot = camera.project(point, canvas).unwrap();
        assert!((spot.x - 420.0).abs() < 1e-6 && (spot.y - 350.0).abs() < 1e-6);
    }

    #[test]
    fn the_sack_can_be_neither_lost_nor_passed_through() {
        let canvas = Canvas { width: 1000.0, height: 600.0 };
        let mut camera = Camera::fitted(View::Whole, 1.0, &SACK.corners(), canvas);
        for _ in 0..50 {
            camera.pan(-4000.0, 3000.0, SACK, canvas);
            camera.zoom(3.0, None, SACK, canvas);
            camera.orbit(13.0, 977.0);
        }
        assert!(SACK.middle().distance(camera.target) <= SACK.radius() + 1e-9);
        assert!(camera.distance >= SACK.radius() * NEAREST);
        assert!(camera.pitch <= POLE);
        camera.zoom(f64::NAN, Some((f64::NAN, 0.0)), SACK, canvas);
        assert!(camera.target.is_finite() && camera.distance.is_finite());
    }

    #[test]
    fn clip_space_agrees_with_projection_and_lies_between_near_and_far() {
        let canvas = Canvas { width: 1280.0, height: 800.0 };
        let origin = SACK.middle();
        for (name, view) in View::ALL {
            let camera = Camera::fitted(view, 1.0, &SACK.corners(), canvas);
            let clip = camera.clip_from_space(origin, SACK, canvas);
            for corner in SACK.corners() {
                let p = clip * (corner - origin).extend(1.0);
                let spot = camera.project(corner, canvas).unwrap();
                let x = (1.0 + p.x / p.w) * canvas.width / 2.0;
                let y = (1.0 - p.y / p.w) * canvas.height / 2.0;
                assert!((x - spot.x).abs() < 1e-6 && (y - spot.y).abs() < 1e-6, "{name}");
                assert!(p.z.abs() <= p.w, "{name}");
            }
        }
    }

    #[test]
    fn plies_a_tenth_of_a_millimetre_apart_keep_different_depths() {
        let canvas = Canvas { width: 1280.0, height: 800.0 };
        let bits = f64::from(1 << 24);
        for (name, view) in View::ALL {
            let camera = Camera::fitted(view, 1.0, &SACK.corners(), canvas);
            let clip = camera.clip_from_space(SACK.middle(), SACK, canvas);
            let depth = |z: f64| {
                let p = clip * DVec3::new(0.0, 0.0, z).extend(1.0);
                (p.z / p.w + 1.0) / 2.0 * bits
            };
            assert!((depth(0.0) - depth(0.1)).abs() > 50.0, "{name}");
        }
    }
}

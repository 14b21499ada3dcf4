//! The two block bottoms: creases, pockets, flaps, laps, lap map, patch and valve sleeve.
//!
//! Source: geometry of the block-bottom sack, sections 1, 2, 4, 5 and 6. Each end has coordinates of its own on the
//! paper: x across the face, 0 in the middle, and v from the nominal rim into the sack. Lengths in mm.

use glam::DVec2;

use crate::geom::sort_short;
use crate::sheet::{End, Patch, Sheet, Side, SleeveKind};
use crate::tolerance::LAP_STRIP_MM;
use crate::tube::{Tube, Wall};

/// A block bottom.
#[derive(Clone, Debug, PartialEq)]
pub struct Bottom {
    /// Which end of the sack.
    pub end: End,
    /// Bottom width B.
    pub width_mm: f64,
    /// Lap o, ply for ply.
    pub lap_mm: f64,
    /// Opening depth d = B + o/2: rim of the tube end to the centre line of the opened bottom.
    pub opening_depth_mm: f64,
    /// Flap depth f = (B + o)/2: fold line of a flap to its rim.
    pub flap_depth_mm: f64,
    /// The wall whose flap is folded first.
    pub first: Wall,
    /// What is in contact with what, across the bottom.
    pub lap_map: Vec<LapStrip>,
    /// The patch, if there is one.
    pub patch: Option<PatchPlace>,
    /// The valve sleeve, at the valve end.
    pub sleeve: Option<Sleeve>,
    half_face_mm: f64,
    longest_mm: f64,
}

/// One strip of the lap: which ply of the flap folded last lies on which ply of the flap folded first.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LapStrip {
    /// Ply of the flap folded last.
    pub ply_over: usize,
    /// Ply of the flap folded first.
    pub ply_under: usize,
    /// From here, measured from the fold line of the flap folded first.
    pub from_mm: f64,
    /// To here.
    pub to_mm: f64,
}

/// A patch in its place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PatchPlace {
    /// Length along the bottom.
    pub length_mm: f64,
    /// Width across.
    pub width_mm: f64,
    /// Its middle from the bottom's middle, to the right.
    pub offset_mm: f64,
    /// Mass per area in g/m2.
    pub grammage_g_m2: f64,
}

/// A valve sleeve in its place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sleeve {
    /// Which end of the bottom.
    pub side: Side,
    /// Tube or single sheet.
    pub kind: SleeveKind,
    /// Flat width.
    pub width_mm: f64,
    /// Length along the bottom.
    pub length_mm: f64,
    /// How far it stands out beyond the bottom's end edge.
    pub outer_end_mm: f64,
    /// Its middle from the centre line, towards the sack's end.
    pub offset_mm: f64,
    /// Turned in the bottom's plane, degrees.
    pub skew_deg: f64,
    /// Mass per area in g/m2.
    pub grammage_g_m2: f64,
}

impl Sleeve {
    /// How many sheets lie on each other: two for a tube.
    #[must_use]
    pub const fn sheets(&self) -> usize {
        match self.kind {
            SleeveKind::Internal | SleeveKind::External => 2,
            SleeveKind::Reinforcement => 1,
        }
    }

    /// Along the bottom, mm: what its middle line takes, ls cos e, and how much farther than the middle of an end one of
    /// that end's corners stands, because it is turned: (wv/2) |sin e|.
    #[must_use]
    pub fn along_mm(&self) -> [f64; 2] {
        let (sine, cosine) = libm::sincos(self.skew_deg.to_radians());
        [self.length_mm * cosine, self.width_mm / 2.0 * sine.abs()]
    }

    /// How far its outer end's corners stand out beyond the bottom's end edge, mm: the hindmost, the foremost.
    #[must_use]
    pub fn mouth_mm(&self) -> [f64; 2] {
        let [_, corner] = self.along_mm();
        [self.outer_end_mm - corner, self.outer_end_mm + corner]
    }

    /// How far from the bottom's end edge its inner end's corners lie inwards, mm: the hindmost, the foremost.
    #[must_use]
    pub fn inner_end_mm(&self) -> [f64; 2] {
        let [middle, corner] = self.along_mm();
        [middle - self.outer_end_mm - corner, middle - self.outer_end_mm + corner]
    }

    /// How far from the bottom's end edge its inner end lies inwards on its own middle line, mm.
    #[must_use]
    pub fn depth_mm(&self) -> f64 {
        self.length_mm - self.outer_end_mm / libm::cos(self.skew_deg.to_radians())
    }
}

/// Corners on the paper of one ply at one end, right-hand side; the left is the mirror image.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Corners {
    /// Corner apex, on the side fold.
    pub p: DVec2,
    /// Where the flap's fold line meets the pocket crease.
    pub r: DVec2,
    /// Where the pocket crease meets the ply's rim.
    pub q: DVec2,
    /// The fold line's other end, on the pocket, at the ply's rim.
    pub re: DVec2,
    /// The side fold's end at the ply's rim.
    pub e: DVec2,
}

impl Bottom {
    /// Derives the bottom of an end.
    #[must_use]
    pub fn new(sheet: &Sheet, tube: &Tube, end: End) -> Self {
        let width_mm = sheet.bottom_width_mm(end);
        let lap_mm = sheet.lap_mm(end);
        let face = sheet.file().face_width_mm;
        let sleeve = (end == End::ValveEnd).then(|| {
            let valve = &sheet.file().valve_end.valve;
            Sleeve {
                side: valve.side,
                kind: valve.sleeve,
                width_mm: valve.flat_width_mm,
                length_mm: valve.length_mm,
                outer_end_mm: valve.outer_end_mm,
                offset_mm: valve.offset_from_centre_mm,
                skew_deg: valve.skew_deg,
                grammage_g_m2: valve.grammage_g_m2,
            }
        });
        let mut bottom = Self {
            end,
            width_mm,
            lap_mm,
            opening_depth_mm: width_mm + lap_mm / 2.0,
            flap_depth_mm: f64::midpoint(width_mm, lap_mm),
            // The flap whose innermost ply is longest goes first; the far end has the complementary stair.
            first: match end {
                End::ValveEnd => Wall::A,
                End::PlainEnd => Wall::B,
            },
            lap_map: Vec::new(),
            patch: sheet.patch(end).map(|patch| place_patch(patch, face, width_mm)),
            sleeve,
            half_face_mm: face / 2.0,
            longest_mm: tube.spread_mm(),
        };
        bottom.lap_map = bottom.map_lap(tube);
        bottom
    }

    /// Half the face width, h.
    #[must_use]
    pub const fn half_face_mm(&self) -> f64 {
        self.half_face_mm
    }

    /// How much deeper than f the longest ply of a flap is: s (n-1)/2.
    #[must_use]
    pub const fn longest_mm(&self) -> f64 {
        self.longest_mm
    }

    /// By how much the flaps cover the pocket's rim on the centre line: o/2, the sack's tightest seal.
    #[must_use]
    pub const fn corner_cover_mm(&self) -> f64 {
        self.lap_mm / 2.0
    }

    /// What is left between the two pockets: W - 2d.
    #[must_use]
    pub fn pocket_gap_mm(&self) -> f64 {
        2.0 * (self.half_face_mm - self.opening_depth_mm)
    }

    /// From the bottom's end edge to the pocket's rim along the centre line: d - B/2.
    #[must_use]
    pub fn edge_to_pocket_rim_mm(&self) -> f64 {
        self.opening_depth_mm - self.width_mm / 2.0
    }

    /// From the bottom's end edge to the far pocket's rim: W - B/2 - d.
    #[must_use]
    pub fn edge_to_far_pocket_mm(&self) -> f64 {
        2.0 * self.half_face_mm - self.width_mm / 2.0 - self.opening_depth_mm
    }

    /// Between what reaches, mm along itself from the end edge, a spout of a girth (mm) that goes in along a sleeve has all
    /// of its tip past the pocket's rim and none on the far pocket; pressed flat it is half its girth wide.
    #[must_use]
    pub fn spout_reaches_mm(&self, sleeve: &Sleeve, girth: f64) -> [f64; 2] {
        let (sine, cosine) = libm::sincos(sleeve.skew_deg.to_radians());
        let corner = girth / 4.0 * sine.abs();
        [(self.edge_to_pocket_rim_mm() + corner) / cosine, (self.edge_to_far_pocket_mm() - corner) / cosine]
    }

    /// What of a sleeve that is not turned lies free inside the sack, past the pocket's rim; `None` without a sleeve.
    #[must_use]
    pub fn free_sleeve_mm(&self) -> Option<f64> {
        self.sleeve.map(|sleeve| sleeve.length_mm - sleeve.outer_end_mm - self.edge_to_pocket_rim_mm())
    }

    /// The corners on the paper for a rim at `rim_mm`.
    #[must_use]
    pub fn corners(&self, rim_mm: f64) -> Corners {
        let (h, d) = (self.half_face_mm, self.opening_depth_mm);
        let fold = h - self.width_mm / 2.0;
        Corners {
            p: DVec2::new(h, d),
            r: DVec2::new(fold, self.flap_depth_mm),
            q: DVec2::new(h - d + rim_mm, rim_mm),
            re: DVec2::new(fold, rim_mm),
            e: DVec2::new(h, rim_mm),
        }
    }

    /// Area pasted in mm2: flap on flap after the lap map, and the pocket flaps on the pockets.
    ///
    /// At t from its fold line a flap is h - B/2 - t wide to either side, so a strip of the lap is as wide as the
    /// narrower flap there; flaps on pockets are four triangles of (B + o)^2/8.
    #[must_use]
    pub fn pasted_area_mm2(&self) -> f64 {
        let (b, h) = (self.width_mm, self.half_face_mm);
        // Integral of max(t, B - t).
        let reach = |t: f64| {
            let over = (t - b / 2.0).max(0.0);
            let under = t.min(b / 2.0);
            b * under - under * under / 2.0 + (b / 2.0) * over + over * over / 2.0
        };
        let lap: f64 = self
            .lap_map
            .iter()
            .map(|strip| {
                let width = strip.to_mm - strip.from_mm;
                2.0 * ((h - b / 2.0) * width - (reach(strip.to_mm) - reach(strip.from_mm)))
            })
            .sum();
        lap + (b + self.lap_mm) * (b + self.lap_mm) / 2.0
    }

    /// At t the flap folded first shows the outermost ply that reaches it, min { i : f + s k_i >= t }; the flap folded
    /// last lies there with its innermost ply that reaches it, max { i : B - f + s k_i <= t }.
    fn map_lap(&self, tube: &Tube) -> Vec<LapStrip> {
        let (b, f) = (self.width_mm, self.flap_depth_mm);
        let reach_first = |ply: usize| f + tube.plies[ply].displacement_mm;
        let start_last = |ply: usize| b - f + tube.plies[ply].displacement_mm;
        let plies = 0..tube.plies.len();
        let mut lines: Vec<f64> = plies.clone().flat_map(|i| [reach_first(i), start_last(i)]).collect();
        lines.extend([0.0, b]);
        lines.retain(|t| (0.0..=b).contains(t));
        sort_short(&mut lines, |a, b| a < b);
        let mut strips: Vec<LapStrip> = Vec::new();
        for pair in lines.windows(2) {
            let (from_mm, to_mm) = (pair[0], pair[1]);
            if to_mm - from_mm <= LAP_STRIP_MM {
                continue;
            }
            let t = f64::midpoint(from_mm, to_mm);
            let under = plies.clone().find(|&i| reach_first(i) >= t);
            let over = plies.clone().rev().find(|&i| start_last(i) <= t);
            let (Some(ply_under), Some(ply_over)) = (under, over) else { continue };
            match strips.last_mut() {
                Some(last)
                    if (last.ply_over, last.ply_under) == (ply_over, ply_under)
                        && from_mm - last.to_mm <= LAP_STRIP_MM =>
                {
                    last.to_mm = to_mm;
                }
                _ => strips.push(LapStrip { ply_over, ply_under, from_mm, to_mm }),
            }
        }
        strips
    }
}

fn place_patch(patch: &Patch, face_mm: f64, bottom_mm: f64) -> PatchPlace {
    /// mm that the trade leaves free beside a patch in all, both sides together.
    const MARGIN_MM: f64 = 10.0;
    PatchPlace {
        length_mm: patch.length_mm.unwrap_or(face_mm - bottom_mm),
        width_mm: patch.width_mm.unwrap_or(bottom_mm - MARGIN_MM),
        offset_mm: patch.offset_mm,
        grammage_g_m2: patch.grammage_g_m2,
    }
}

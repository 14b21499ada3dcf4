//! The tube: webs, nested plies, seams and the step cut, as the contour of every ply at both ends.
//!
//! Source: geometry of the block-bottom sack, sections 1 and 6 (DEVELOPERS.md tells them in short). Lengths in mm.

use glam::DVec2;

use crate::sheet::{End, Sheet};

/// One of the tube's two walls. A lies above and is the front; B lies below, is the back and carries the seam.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Wall {
    /// Above, the front.
    A,
    /// Below, the back.
    B,
}

impl Wall {
    /// Both walls.
    pub const BOTH: [Self; 2] = [Self::A, Self::B];

    /// The other wall.
    #[must_use]
    pub const fn other(self) -> Self {
        match self {
            Self::A => Self::B,
            Self::B => Self::A,
        }
    }
}

/// One ply of the tube.
#[derive(Clone, Debug, PartialEq)]
pub struct TubePly {
    /// 0 is the outermost.
    pub index: usize,
    /// Thickness in mm.
    pub thickness_mm: f64,
    /// Mass per area in g/m2.
    pub grammage_g_m2: f64,
    /// Width of the web in mm: twice the face width and the seam lap, less what the smaller former saves.
    pub web_width_mm: f64,
    /// How far its tear line is displaced, in mm: s (i - (n-1)/2).
    pub displacement_mm: f64,
    /// Where the middle of its seam runs, in the chart's u.
    pub seam_u_mm: f64,
}

/// The cut tube, lying flat.
#[derive(Clone, Debug, PartialEq)]
pub struct Tube {
    /// Face width W.
    pub face_width_mm: f64,
    /// Tube length T; every ply's cut length, and the print repeat.
    pub length_mm: f64,
    /// Bottom centre distance C.
    pub bottom_centre_distance_mm: f64,
    /// Step s, 0 for a flush cut.
    pub step_mm: f64,
    /// Seam lap.
    pub seam_lap_mm: f64,
    /// The plies from the outside in.
    pub plies: Vec<TubePly>,
}

impl Tube {
    /// Derives the tube: T = L + (B1 + B2)/2 + (o1 + o2)/2, C = L - (B1 + B2)/2.
    #[must_use]
    pub fn new(sheet: &Sheet) -> Self {
        let file = sheet.file();
        let bottoms = f64::midpoint(sheet.bottom_width_mm(End::ValveEnd), sheet.bottom_width_mm(End::PlainEnd));
        let laps = f64::midpoint(sheet.lap_mm(End::ValveEnd), sheet.lap_mm(End::PlainEnd));
        let width = file.face_width_mm;
        let middle = (file.plies.len() as f64 - 1.0) / 2.0;
        // Between the mid-surfaces of ply 0 and ply i: half of each and all that lies between.
        let mut depth = 0.0;
        let mut before = None;
        let plies = file.plies.iter().enumerate().map(|(index, ply)| {
            let thickness_mm = ply.thickness_mm();
            if let Some(outer) = before.replace(thickness_mm) {
                depth += f64::midpoint(outer, thickness_mm);
            }
            let i = index as f64;
            TubePly {
                index,
                thickness_mm,
                grammage_g_m2: ply.grammage_g_m2,
                web_width_mm: 2.0 * width + file.seam.lap_mm - 2.0 * core::f64::consts::PI * depth,
                displacement_mm: sheet.step_mm() * (i - middle),
                seam_u_mm: 1.5 * width + file.seam.offset_from_middle_mm + i * file.seam.stagger_mm,
            }
        });
        Self {
            plies: plies.collect(),
            face_width_mm: width,
            length_mm: file.length_mm + bottoms + laps,
            bottom_centre_distance_mm: file.length_mm - bottoms,
            step_mm: sheet.step_mm(),
            seam_lap_mm: file.seam.lap_mm,
        }
    }

    /// Where a ply's tear line lies on a wall, in the end's own v: mm from the nominal rim into the sack, negative
    /// where the ply stands out. At the valve end wall A's outermost ply is the shortest; the far end of a tube is the
    /// same tear line as the next one's near end, so there the signs are exchanged.
    #[must_use]
    pub fn rim_mm(&self, end: End, wall: Wall, ply: usize) -> f64 {
        let displacement = self.plies[ply].displacement_mm;
        match (end, wall) {
            (End::ValveEnd, Wall::A) | (End::PlainEnd, Wall::B) => -displacement,
            (End::ValveEnd, Wall::B) | (End::PlainEnd, Wall::A) => displacement,
        }
    }

    /// How far a tear line reaches from the nominal rim at most: s (n-1)/2.
    #[must_use]
    pub fn spread_mm(&self) -> f64 {
        self.plies.last().map_or(0.0, |ply| ply.displacement_mm.abs())
    }

    /// Thickness of one wall: all plies, mm.
    #[must_use]
    pub fn wall_thickness_mm(&self) -> f64 {
        self.plies.iter().map(|ply| ply.thickness_mm).sum()
    }

    /// Where a ply's side folds lie across its web, left and right of wall A, in mm from the edge at which
    /// [`Self::contour`] begins.
    #[must_use]
    pub fn side_folds_mm(&self, ply: usize) -> [f64; 2] {
        let web = &self.plies[ply];
        // The seam lies on wall B; from its middle to the side fold, wall A, and back to the seam. An inner ply's web
        // is narrower all round by the same share.
        let scale = (web.web_width_mm - self.seam_lap_mm) / (2.0 * self.face_width_mm);
        let first = self.seam_lap_mm / 2.0 + (2.0 * self.face_width_mm - web.seam_u_mm) * scale;
        [first, first + self.face_width_mm * scale]
    }

    /// The cut contour of a ply's web, counter-clockwise: x across the web from its edge under the seam, y along the
    /// tube from the valve end's nominal rim. The steps at the side folds are the lengthwise slits.
    #[must_use]
    pub fn contour(&self, ply: usize) -> Vec<DVec2> {
        let web = &self.plies[ply];
        let [first, second] = self.side_folds_mm(ply);
        let a = self.rim_mm(End::ValveEnd, Wall::A, ply);
        let b = self.rim_mm(End::ValveEnd, Wall::B, ply);
        let line = [(0.0, b), (first, b), (first, a), (second, a), (second, b), (web.web_width_mm, b)];
        let near = line.iter().map(|&(x, y)| DVec2::new(x, y));
        // The far end is the same line, one tube length on.
        let far = line.iter().rev().map(|&(x, y)| DVec2::new(x, y + self.length_mm));
        near.chain(far).collect()
    }
}

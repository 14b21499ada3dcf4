//! The derived figures of a sack, under the keys that files and pages use.

use serde::Serialize;

use crate::bottom::{Bottom, LapStrip, Sleeve};
use crate::cards::Line;
use crate::sack::Sack;
use crate::sheet::{End, SleeveKind};
use crate::tube::Wall;

/// Every derived figure of a sack.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Figures {
    /// T.
    pub tube_length_mm: f64,
    /// C.
    pub bottom_centre_distance_mm: f64,
    /// The valve end's bottom.
    pub valve_end: ValveEndFigures,
    /// The plain end's bottom.
    pub plain_end: EndFigures,
    /// The plies from the outside in.
    pub plies: Vec<PlyFigures>,
    /// What is pasted to what at both ends.
    pub lap_map: LapMaps,
    /// Sides of the block that the flat bottoms would make: (W - B) x B x L. With unequal bottoms B is their mean.
    pub box_mm: [f64; 3],
    /// Volume of that block; with unequal bottoms the width changes evenly from end to end.
    pub box_volume_l: f64,
    /// Mass of the empty sack with its dry paste.
    pub empty_sack_mass_g: f64,
    /// Paper in 1000 sacks, without waste.
    pub paper_per_1000_kg: f64,
    /// Wet paste for 1000 sacks.
    pub paste_per_1000_kg: f64,
}

/// Figures of a bottom.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct EndFigures {
    /// d.
    pub opening_depth_mm: f64,
    /// f.
    pub flap_depth_mm: f64,
    /// o/2.
    pub corner_cover_mm: f64,
    /// W - 2d.
    pub pocket_gap_mm: f64,
}

/// Figures of the valve end's bottom.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct ValveEndFigures {
    /// What every bottom has.
    #[serde(flatten)]
    pub bottom: EndFigures,
    /// From the bottom's end edge to the pocket's rim, on the centre line.
    pub edge_to_pocket_rim_mm: f64,
    /// What of the sleeve lies free past the pocket's rim, its turn left out.
    pub free_sleeve_mm: f64,
    /// From the bottom's end edge to the far pocket's rim.
    pub edge_to_far_pocket_mm: f64,
    /// How much wider than the spout the sleeve is; `None` without a filling line.
    pub spout_fit: Option<f64>,
}

/// Figures of a ply.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PlyFigures {
    /// 0 is the outermost.
    pub index: usize,
    /// Width of its web.
    pub web_width_mm: f64,
    /// Its side folds, left and right of wall A seen from outside with the valve end up, from its web's left edge.
    pub side_folds_mm: [f64; 2],
    /// Area of its cut contour.
    pub cut_area_mm2: f64,
    /// Its mass.
    pub mass_g: f64,
    /// Where its tear lines lie, from the nominal rim into the sack.
    pub rims_mm: Rims,
}

/// Tear lines of a ply at both ends.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Rims {
    /// At the valve end.
    pub valve_end: WallRims,
    /// At the plain end.
    pub plain_end: WallRims,
}

/// Tear lines of a ply on both walls.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct WallRims {
    /// On wall A.
    pub a: f64,
    /// On wall B.
    pub b: f64,
}

/// The lap maps of both ends.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LapMaps {
    /// At the valve end.
    pub valve_end: Vec<LapFigures>,
    /// At the plain end.
    pub plain_end: Vec<LapFigures>,
}

/// One strip of a lap map.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct LapFigures {
    /// Ply of the flap folded last.
    pub ply_over: usize,
    /// Ply of the flap folded first.
    pub ply_under: usize,
    /// From here, measured from the fold line of the flap folded first.
    pub from_mm: f64,
    /// To here.
    pub to_mm: f64,
}

impl From<&LapStrip> for LapFigures {
    fn from(strip: &LapStrip) -> Self {
        Self { ply_over: strip.ply_over, ply_under: strip.ply_under, from_mm: strip.from_mm, to_mm: strip.to_mm }
    }
}

/// How a works pastes. The values are the trade's orders of magnitude, not measurements: they differ from works to
/// works, so they are an input with a default.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PasteHabits {
    /// Wet film on seams, g/m2.
    pub seam_film_g_m2: f64,
    /// Width of the stripe in each seam, mm.
    pub seam_stripe_mm: f64,
    /// Wet film on bottoms and patches, g/m2.
    pub bottom_film_g_m2: f64,
    /// Share of the paste that stays when it has dried.
    pub solids: f64,
}

impl Default for PasteHabits {
    fn default() -> Self {
        Self { seam_film_g_m2: 50.0, seam_stripe_mm: 12.5, bottom_film_g_m2: 80.0, solids: 0.25 }
    }
}

/// Computes every figure of a sack; `line` adds the spout's fit.
#[must_use]
pub fn figures(sack: &Sack, line: Option<&Line>, paste: &PasteHabits) -> Figures {
    let tube = sack.tube();
    let valve = sack.bottom(End::ValveEnd);
    let plain = sack.bottom(End::PlainEnd);
    let plies: Vec<PlyFigures> = (0..tube.plies.len()).map(|ply| ply_figures(sack, ply)).collect();

    let extras: f64 = [valve, plain].into_iter().map(extras_mass_g).sum();
    let paper_g = plies.iter().map(|ply| ply.mass_g).sum::<f64>() + extras;
    let seams = tube.plies.len() as f64 * tube.length_mm * paste.seam_stripe_mm * paste.seam_film_g_m2;
    let glued: f64 = [valve, plain]
        .into_iter()
        .map(|bottom| bottom.pasted_area_mm2() + bottom.patch.map_or(0.0, |patch| patch.length_mm * patch.width_mm))
        .sum();
    let paste_g = G_PER_MM2 * (seams + glued * paste.bottom_film_g_m2);

    let (width, length) = (tube.face_width_mm, sack.file().length_mm);
    let (b1, b2) = (valve.width_mm, plain.width_mm);
    let mean = f64::midpoint(b1, b2);
    Figures {
        tube_length_mm: tube.length_mm,
        bottom_centre_distance_mm: tube.bottom_centre_distance_mm,
        valve_end: ValveEndFigures {
            bottom: end_figures(valve),
            edge_to_pocket_rim_mm: valve.edge_to_pocket_rim_mm(),
            free_sleeve_mm: valve.free_sleeve_mm().unwrap_or_default(),
            edge_to_far_pocket_mm: valve.edge_to_far_pocket_mm(),
            spout_fit: line.zip(valve.sleeve.as_ref()).map(|(line, sleeve)| line.spout_fit(sleeve.width_mm)),
        },
        plain_end: end_figures(plain),
        lap_map: LapMaps {
            valve_end: valve.lap_map.iter().map(LapFigures::from).collect(),
            plain_end: plain.lap_map.iter().map(LapFigures::from).collect(),
        },
        plies,
        box_mm: [width - mean, mean, length],
        // Integral of (W - B) B over the length with B running evenly from B1 to B2.
        box_volume_l: length * (width * mean - (b1 * b1 + b1 * b2 + b2 * b2) / 3.0) * 1e-6,
        empty_sack_mass_g: paper_g + paste_g * paste.solids,
        paper_per_1000_kg: paper_g,
        paste_per_1000_kg: paste_g,
    }
}

/// g/m2 times mm2 to g.
const G_PER_MM2: f64 = 1e-6;

fn end_figures(bottom: &Bottom) -> EndFigures {
    EndFigures {
        opening_depth_mm: bottom.opening_depth_mm,
        flap_depth_mm: bottom.flap_depth_mm,
        corner_cover_mm: bottom.corner_cover_mm(),
        pocket_gap_mm: bottom.pocket_gap_mm(),
    }
}

fn ply_figures(sack: &Sack, index: usize) -> PlyFigures {
    let tube = sack.tube();
    let ply = &tube.plies[index];
    let cut_area_mm2 = crate::geom::signed_area(&tube.contour(index));
    let rims = |end| WallRims { a: tube.rim_mm(end, Wall::A, index), b: tube.rim_mm(end, Wall::B, index) };
    PlyFigures {
        index,
        web_width_mm: ply.web_width_mm,
        side_folds_mm: tube.side_folds_mm(index),
        cut_area_mm2,
        mass_g: cut_area_mm2 * ply.grammage_g_m2 * G_PER_MM2,
        rims_mm: Rims { valve_end: rims(End::ValveEnd), plain_end: rims(End::PlainEnd) },
    }
}

/// Mass in g of patch and sleeve.
fn extras_mass_g(bottom: &Bottom) -> f64 {
    let patch = bottom.patch.map_or(0.0, |patch| patch.length_mm * patch.width_mm * patch.grammage_g_m2);
    let sleeve = bottom.sleeve.map_or(0.0, |sleeve| sleeve_area_mm2(&sleeve) * sleeve.grammage_g_m2);
    (patch + sleeve) * G_PER_MM2
}

/// Area of a sleeve's blank: a tube needs its girth and an overlap for its own seam (trade: 20 to 30 mm).
fn sleeve_area_mm2(sleeve: &Sleeve) -> f64 {
    const SEAM_MM: f64 = 25.0;
    let across = match sleeve.kind {
        SleeveKind::Internal | SleeveKind::External => 2.0 * sleeve.width_mm + SEAM_MM,
        SleeveKind::Reinforcement => sleeve.width_mm,
    };
    across * sleeve.length_mm
}

//! The spout that the film fills the sack from: how large, and where it is.
//!
//! A horizontal spout along the valve bottom, just under it. The sack's surface is closed: it has no hole where the valve is,
//! and the spout does not push at it. It carries the valve bottom, and the film holds that where the spout is.

use serde::Serialize;

use crate::cards::Spout;
use crate::sack::Sack;
use crate::sheet::End;

/// A spout's measures outside, mm.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct SpoutSize {
    /// Across the sack's thickness; of a round spout its diameter.
    pub width_mm: f64,
    /// Upright; of a round spout its diameter.
    pub height_mm: f64,
    /// How far its end comes beyond the bottom's end edge.
    pub reach_mm: f64,
}

/// Where a spout is, in the frame of the film.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct SpoutPlace {
    /// Middle of its open end, mm.
    pub end_mm: [f64; 3],
    /// Unit vector along its axis, the way the product flows.
    pub towards: [f64; 3],
    /// Its measures.
    pub size: SpoutSize,
    /// How far its end is beyond the bottom's end edge, mm; negative outside.
    pub in_mm: f64,
    /// How long it is, from its end back to where it comes out of its holder, mm.
    pub length_mm: f64,
}

/// Girth of the sleeve over the spout's, where nobody has said what spout it is: the middle of what is usual on a card.
const USUAL_FIT: f64 = 1.185;
/// Of a bottom's width, the most that a spout whose measures nobody has said is high.
const USUAL_HEIGHT: f64 = 0.8;

impl SpoutSize {
    /// That of a line's card, or else a round one that fits the valve and ends in the middle of the sack.
    #[must_use]
    pub fn new(sack: &Sack, card: Option<&Spout>) -> Self {
        let bottom = sack.bottom(End::ValveEnd);
        let middle = (sack.tube().face_width_mm - bottom.width_mm) / 2.0;
        if let Some((card, [width_mm, height_mm])) = card.and_then(|card| Some((card, card.section_mm()?))) {
            return Self { width_mm, height_mm, reach_mm: card.reach_mm };
        }
        let girth = 2.0 * sack.file().valve_end.valve.flat_width_mm / USUAL_FIT;
        let diameter = (girth / core::f64::consts::PI).min(USUAL_HEIGHT * bottom.width_mm);
        Self { width_mm: diameter, height_mm: diameter, reach_mm: middle }
    }
}

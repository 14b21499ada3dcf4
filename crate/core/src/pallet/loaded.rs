//! From a sack sheet to a filled sack as it lies in a stack, by way of the filled shape.

use super::stack::Loaded;
use crate::figures::{PasteHabits, figures};
use crate::fill::{AtRest, Bottoms, FillError, Filled, Solver, Watch};
use crate::sack::Sack;

const L_PER_M3: f64 = 1e3;
const KG_PER_G: f64 = 1e-3;

impl Loaded {
    /// A filled sack, settled and pressed between plates, as it lies in a stack; `None` when the sheet has no contents, or
    /// a volume of them that is not computed.
    #[must_use]
    pub fn of(sack: &Sack, filled: &Filled) -> Option<Self> {
        let contents = sack.file().contents.as_ref()?;
        let settled = filled.content.as_ref()?.settled.as_ref()?;
        Some(Self::at_rest(sack, contents.mass_kg, &settled.pressed?))
    }

    pub(crate) fn at_rest(sack: &Sack, contents_kg: f64, pressed: &AtRest) -> Self {
        let empty_g = figures(sack, None, &PasteHabits::default()).empty_sack_mass_g;
        Self {
            length_mm: pressed.length_mm,
            width_mm: pressed.width_mm,
            gap_mm: pressed.thickness_mm,
            mass_kg: contents_kg + empty_g * KG_PER_G,
        }
    }
}

/// The same straight from the solver, which goes over to the sack and keeps its answers as starts for the next.
///
/// Bottoms are stiff; where they come to no rest between the plates, they give way and are taken for free.
///
/// # Errors
/// [`FillError::Cancelled`] when `watch` breaks off.
pub fn loaded(solver: &mut Solver, sack: &Sack, watch: &mut Watch<'_>) -> Result<Option<Loaded>, FillError> {
    let Some(contents) = &sack.file().contents else { return Ok(None) };
    let volume_l = contents.mass_kg / contents.bulk_density_kg_m3 * L_PER_M3;
    solver.set_sack(sack);
    let pressed = match solver.pressed(Bottoms::Stiff, volume_l, watch) {
        Err(FillError::BottomsStandOut { .. }) => solver.pressed(Bottoms::Free, volume_l, watch),
        other => other,
    };
    match pressed {
        Ok(pressed) => Ok(Some(Loaded::at_rest(sack, contents.mass_kg, &AtRest::from(&pressed)))),
        Err(FillError::Cancelled) => Err(FillError::Cancelled),
        Err(_) => Ok(None),
    }
}

//! The figures of a filled sack, under the keys that files and pages use.

use serde::Serialize;

use super::result::{FillError, Hanging, Lying, Pressed, Standing, Trust};
use super::solve::{Bottoms, Solver, Watch};
use super::stand::LIMPEST;
use crate::sack::Sack;

/// How much goes in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Filling {
    /// A volume, l.
    Volume(f64),
    /// A mass, kg, of the sheet's contents as they are at the moment of filling: aerated, if the sheet says how much.
    Mass(f64),
    /// A share of the capacity.
    Ratio(f64),
    /// The mass that the sheet's contents have.
    Contents,
}

impl Filling {
    /// The volume, l, in a sack of a capacity of `capacity_l`.
    ///
    /// # Errors
    /// [`FillError::NoContents`] when a mass is to be filled of contents that the sheet does not have.
    pub fn volume_l(self, sack: &Sack, capacity_l: f64) -> Result<f64, FillError> {
        const L_PER_M3: f64 = 1e3;
        let of_mass = |mass_kg: Option<f64>| {
            let contents = sack.file().contents.as_ref().ok_or(FillError::NoContents)?;
            let density = contents.aerated_density_kg_m3.unwrap_or(contents.bulk_density_kg_m3);
            Ok(mass_kg.unwrap_or(contents.mass_kg) / density * L_PER_M3)
        };
        match self {
            Self::Volume(volume_l) => Ok(volume_l),
            Self::Ratio(ratio) => Ok(ratio * capacity_l),
            Self::Mass(mass_kg) => of_mass(Some(mass_kg)),
            Self::Contents => of_mass(None),
        }
    }
}

/// Every figure of a filled sack.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct FillFigures {
    /// Capacity with stiff bottoms, which real ones are nearer to.
    pub capacity_l: f64,
    /// Capacity with bottoms that wrinkle and bulge like the walls.
    pub capacity_free_bottoms_l: f64,
    /// Capacity with flat, rigid bottoms.
    pub capacity_stiff_bottoms_l: f64,
    /// What is filled in.
    pub volume_l: f64,
    /// Its share of the capacity with the chosen bottoms.
    pub ratio: f64,
    /// The sack lying on a floor.
    pub lying: Lying,
    /// The sack pressed between plates; `None` when they would have to come closer than its stiff bottoms are wide, and
    /// these come to no rest leaning.
    pub pressed: Option<Pressed>,
    /// The sack standing on its plain bottom; `None` when it is too limp.
    pub standing: Option<Standing>,
    /// The sack hanging on the spout, its foot free.
    pub hanging: Hanging,
    /// How far all of it may be trusted, but for standing, which says it itself: the worst of each figure; the lower bound
    /// is the chosen capacity's.
    pub trust: Trust,
}

impl Solver {
    /// Both capacities, and the sack lying, pressed, standing and hanging at a filling, with the bottoms chosen.
    ///
    /// `sack` is the one that the solver was made for, or turned to, last.
    ///
    /// # Errors
    /// See [`Solver::lying`] and [`Filling::volume_l`].
    pub fn figures(
        &mut self,
        sack: &Sack,
        bottoms: Bottoms,
        filling: Filling,
        watch: &mut Watch<'_>,
    ) -> Result<FillFigures, FillError> {
        let free = self.capacity(Bottoms::Free, watch)?;
        let stiff = self.capacity(Bottoms::Stiff, watch)?;
        let chosen = match bottoms {
            Bottoms::Free => &free,
            Bottoms::Stiff => &stiff,
        };
        let volume_l = filling.volume_l(sack, chosen.shape.volume_l)?;
        let lying = self.lying(bottoms, volume_l, watch)?;
        let pressed = match self.pressed(bottoms, volume_l, watch) {
            Err(FillError::BottomsStandOut { .. }) => None,
            other => Some(other?),
        };
        let standing = if volume_l < LIMPEST * chosen.shape.volume_l {
            None
        } else {
            Some(self.standing(bottoms, volume_l, watch)?)
        };
        let hanging = self.hanging(bottoms, volume_l, None, watch)?;
        let all = [
            Some(&free.trust),
            Some(&stiff.trust),
            Some(&lying.trust),
            pressed.as_ref().map(|pressed| &pressed.trust),
            Some(&hanging.trust),
        ];
        Ok(FillFigures {
            capacity_l: stiff.shape.volume_l,
            capacity_free_bottoms_l: free.shape.volume_l,
            capacity_stiff_bottoms_l: stiff.shape.volume_l,
            volume_l,
            ratio: volume_l / chosen.shape.volume_l,
            lying,
            pressed,
            standing,
            hanging,
            trust: all.into_iter().flatten().fold(chosen.trust, worst),
        })
    }
}

/// The worse of each figure, the larger of each size; the lower bound of the first.
pub(super) fn worst(a: Trust, b: &Trust) -> Trust {
    let larger = |a: Option<f64>, b: Option<f64>| match (a, b) {
        (Some(a), Some(b)) if b.abs() > a.abs() => Some(b),
        (a, b) => a.or(b),
    };
    Trust {
        largest_stretch: a.largest_stretch.max(b.largest_stretch),
        lower_bound_l: a.lower_bound_l,
        volume_residual: a.volume_residual.max(b.volume_residual),
        iterations: a.iterations.max(b.iterations),
        vertices: a.vertices.max(b.vertices),
        mesh_mm: a.mesh_mm.max(b.mesh_mm),
        change_from_coarser: larger(a.change_from_coarser, b.change_from_coarser),
        converged: a.converged && b.converged,
    }
}

//! A filled sack's figures as plain data: what checks, pallets and pages read, with no solver behind it.
//!
//! [`super::study`] computes it; it travels as JSON, so that who reads it need not be where it was computed.

use serde::{Deserialize, Serialize};

use super::result::{Hanging, Lying, Pressed, Standing, Trust};
use super::solve::Bottoms;

/// A sack filled with its contents.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Filled {
    /// What the bottoms were taken to be in everything but [`Filled::capacity`], which has both limits.
    pub bottoms: Bottoms,
    /// How much the sack holds at most.
    pub capacity: Capacities,
    /// What is filled in; `None` when nothing is known of it.
    pub content: Option<Content>,
    /// How far all of it may be trusted, but for [`Content::standing`]: the worst of each figure; the lower bound is the
    /// chosen capacity's.
    pub trust: Trust,
}

/// Both limits of the capacity.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Capacities {
    /// With flat, rigid bottoms, which real ones are nearer to, l.
    pub stiff_l: f64,
    /// With bottoms that wrinkle and bulge like the walls, l.
    pub free_l: f64,
}

/// What is filled in, as it was filled and as it settles.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Content {
    /// Mass, kg; `None` when the sheet does not say of what.
    pub mass_kg: Option<f64>,
    /// At the moment of filling, aerated.
    pub filling: Amount,
    /// Settled in the sack; `None` when the sheet does not say of what.
    pub settled: Option<Amount>,
    /// At the moment of filling, standing on the plain bottom; `None` when the ratio is not one that is computed
    /// ([`super::LIMPEST`], [`super::FULLEST`]), and when the sack comes to no rest.
    pub standing: Option<Upright>,
    /// At the moment of filling, hanging on the spout with the foot free; `None` as for [`Amount::lying`].
    pub hanging: Option<Upright>,
    /// What the filling leaves of the capacity.
    pub headroom: Headroom,
}

/// A volume in the sack, and how the sack lies and is pressed with it.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Amount {
    /// Volume, l.
    pub volume_l: f64,
    /// Its share of the capacity with the chosen bottoms; more than 1: it does not go in.
    pub ratio: f64,
    /// Lying on a floor; `None` when the ratio is not one that is computed ([`super::EMPTIEST`], [`super::FULLEST`]).
    pub lying: Option<AtRest>,
    /// Pressed between plates; `None` as for `lying`, and when the plates would have to come closer than stiff bottoms
    /// are wide.
    pub pressed: Option<AtRest>,
}

/// A sack lying on a floor, or pressed between plates.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AtRest {
    /// Overall thickness (height), mm; pressed: the gap.
    pub thickness_mm: f64,
    /// Overall length, mm.
    pub length_mm: f64,
    /// Overall width, mm.
    pub width_mm: f64,
    /// Area on the floor, or on each plate, cm2.
    pub contact_cm2: f64,
}

/// A sack standing on its plain bottom, or hanging on the spout.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Upright {
    /// Standing: the height; hanging: from the valve bottom, under which the spout lies, to the foot, mm.
    pub length_mm: f64,
    /// Overall width, mm.
    pub width_mm: f64,
    /// Overall thickness, mm.
    pub thickness_mm: f64,
    /// How far below the valve bottom the product's level stays, mm; 0: the product presses against it.
    pub level_mm: f64,
}

/// What a filling leaves of the capacity, and what would bring that into a range.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Headroom {
    /// 1 less the filling's share of the capacity; negative: the filling does not go in.
    pub share: f64,
    /// Least and greatest share that were asked for.
    pub asked: HeadroomRange,
    /// The nearest length in whole mm, everything else as it is, that brings it into the range; `None` when it is there,
    /// or when no length of a valid sheet does.
    pub length_mm: Option<f64>,
    /// The same for the face width.
    pub face_width_mm: Option<f64>,
}

/// How much headroom a filling should leave, as shares of the capacity.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct HeadroomRange {
    /// Least.
    pub least: f64,
    /// Most.
    pub most: f64,
}

impl Default for HeadroomRange {
    /// Sacks are designed to be 88 to 96 % full at the moment of filling. Trade habit, low certainty.
    fn default() -> Self {
        Self { least: 0.04, most: 0.12 }
    }
}

impl HeadroomRange {
    /// Does a share lie in it?
    #[must_use]
    pub fn has(self, share: f64) -> bool {
        (self.least..=self.most).contains(&share)
    }
}

impl From<&Lying> for AtRest {
    fn from(lying: &Lying) -> Self {
        let shape = &lying.shape;
        Self {
            thickness_mm: shape.thickness_mm,
            length_mm: shape.length_mm,
            width_mm: shape.width_mm,
            contact_cm2: lying.contact_cm2,
        }
    }
}

impl From<&Pressed> for AtRest {
    fn from(pressed: &Pressed) -> Self {
        let shape = &pressed.shape;
        Self {
            thickness_mm: pressed.gap_mm,
            length_mm: shape.length_mm,
            width_mm: shape.width_mm,
            contact_cm2: pressed.contact_cm2,
        }
    }
}

impl From<&Standing> for Upright {
    fn from(standing: &Standing) -> Self {
        let &Standing { height_mm, width_mm, thickness_mm, level_mm, .. } = standing;
        Self { length_mm: height_mm, width_mm, thickness_mm, level_mm }
    }
}

impl From<&Hanging> for Upright {
    fn from(hanging: &Hanging) -> Self {
        let &Hanging { length_mm, width_mm, thickness_mm, level_mm, .. } = hanging;
        Self { length_mm, width_mm, thickness_mm, level_mm }
    }
}

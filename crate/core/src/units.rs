//! Quantities: a value in the project's unit together with its dimension, so that whoever puts it into words knows
//! which units may be offered. The core computes in bare `f64` in these units; a [`Quantity`] is made where a value
//! leaves the core.

use serde::Serialize;

/// What a value measures, and with it the unit that the core holds it in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Dimension {
    /// Length, mm.
    Length,
    /// Mass of goods, kg.
    Mass,
    /// Mass of paper and small things, g.
    MassSmall,
    /// Volume, l.
    Volume,
    /// Area, mm2.
    Area,
    /// Angle, degrees.
    Angle,
    /// A ratio; 0.04 is 4 %.
    Ratio,
    /// A number of things.
    Count,
    /// Density, kg/m3.
    Density,
    /// Sacks per hour.
    Rate,
    /// Mass of paper per area, g/m2.
    Grammage,
    /// Time, s.
    Time,
    /// A bare number without a unit.
    Number,
}

impl Dimension {
    /// The dimension that a file key tells by its ending: `length_mm` is a length, `mass_kg` a mass.
    #[must_use]
    pub fn of_key(key: &str) -> Self {
        let ends: [(&str, Self); 9] = [
            ("_mm", Self::Length),
            ("_kg", Self::Mass),
            ("_deg", Self::Angle),
            ("_kg_m3", Self::Density),
            ("_g_m2", Self::Grammage),
            ("_g", Self::MassSmall),
            ("_l", Self::Volume),
            ("_s", Self::Time),
            ("_per_h", Self::Rate),
        ];
        // The longest ending wins: `_kg_m3` must not be read by a shorter one.
        ends.iter()
            .filter(|(end, _)| key.ends_with(end))
            .max_by_key(|(end, _)| end.len())
            .map_or(Self::Number, |&(_, dimension)| dimension)
    }
}

/// A value with its dimension.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Quantity {
    /// What it measures.
    #[serde(rename = "kind")]
    pub dimension: Dimension,
    /// The value in the dimension's unit.
    pub value: f64,
}

/// A length in mm.
#[must_use]
pub const fn length(value: f64) -> Quantity {
    quantity(Dimension::Length, value)
}

/// A ratio; 0.04 is 4 %.
#[must_use]
pub const fn ratio(value: f64) -> Quantity {
    quantity(Dimension::Ratio, value)
}

/// A count.
#[must_use]
pub fn count(value: usize) -> Quantity {
    // Counts here are plies and layers: far below 2^53.
    #[allow(clippy::cast_precision_loss)]
    quantity(Dimension::Count, value as f64)
}

/// A quantity of any dimension.
#[must_use]
pub const fn quantity(dimension: Dimension, value: f64) -> Quantity {
    Quantity { dimension, value }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_longest_ending_tells_the_dimension() {
        assert_eq!(Dimension::of_key("bulk_density_kg_m3"), Dimension::Density);
        assert_eq!(Dimension::of_key("grammage_g_m2"), Dimension::Grammage);
        assert_eq!(Dimension::of_key("mass_kg"), Dimension::Mass);
        assert_eq!(Dimension::of_key("rate_sacks_per_h"), Dimension::Rate);
        assert_eq!(Dimension::of_key("air_resistance_gurley_s"), Dimension::Time);
        assert_eq!(Dimension::of_key("tea_md_j_m2"), Dimension::Number);
    }
}

//! The cards a sack is held against: the filling line, the pallet, the sack works.

mod pallet;
mod works;

use serde::{Deserialize, Serialize};

use crate::file::{self, FileKind};
use crate::finding::{Message, Problem};
use crate::units::{Dimension, quantity};

pub use pallet::{PALLET_FORMAT, PALLET_KIND, Pallet, PalletFile, read_pallet};
pub use works::{Bottomer, CountRange, Tuber, WORKS_FORMAT, WORKS_KIND, Works, WorksFile, read_works};

/// The format of a filling-line card that this version reads.
pub const LINE_FORMAT: &str = "sackwright-line/1";

/// The kind of file that a filling-line card is.
pub static LINE_KIND: FileKind =
    FileKind::new(LINE_FORMAT, include_str!(concat!(env!("OUT_DIR"), "/line.schema.json")));

/// A filling line: the packer's spout, and what its placer takes.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
#[cfg_attr(test, schemars(title = "Filling line"))]
pub struct LineFile {
    /// Format and version of the file: `sackwright-line/1`.
    pub format: String,
    /// What the line is called.
    #[cfg_attr(test, schemars(length(max = 200)))]
    pub name: String,
    /// How the packer moves the product.
    pub packer: Packer,
    /// The filling spout.
    pub spout: Spout,
    /// How much wider than the spout the sleeve may be round, as a share of the spout's girth.
    #[serde(default = "spout_fit")]
    pub spout_fit: FitRange,
    /// From the spout to the saddle that carries the sack's foot.
    #[serde(default)]
    pub spout_to_saddle_mm: LengthRange,
    /// What the line takes.
    #[serde(default)]
    pub takes: Takes,
    /// Output of the line.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(test, schemars(range(min = 1, max = 20_000)))]
    pub rate_sacks_per_h: Option<f64>,
}

/// Packer types.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Packer {
    /// Product fluidised by air and blown through the spout.
    Air,
    /// A rotor throws the product through the spout.
    Impeller,
    /// A screw pushes the product.
    Screw,
    /// Product falls or slides through the spout.
    Gravity,
}

/// The filling spout.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Spout {
    /// Round or oval.
    pub shape: SpoutShape,
    /// Outside diameter of a round spout.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(test, schemars(range(min = 5, max = 500)))]
    pub outside_diameter_mm: Option<f64>,
    /// Outside width of an oval spout.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(test, schemars(range(min = 5, max = 500)))]
    pub width_mm: Option<f64>,
    /// Outside height of an oval spout.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(test, schemars(range(min = 5, max = 500)))]
    pub height_mm: Option<f64>,
    /// How far the spout reaches into the valve, from the bottom's end edge.
    #[cfg_attr(test, schemars(range(min = 5, max = 2000)))]
    pub reach_mm: f64,
}

impl Spout {
    /// Outside width and height, mm: of a round spout its diameter twice. `None` where the card lacks what its shape needs,
    /// which no [`Line`] does.
    #[must_use]
    pub fn section_mm(&self) -> Option<[f64; 2]> {
        match self.shape {
            SpoutShape::Round => self.outside_diameter_mm.map(|diameter| [diameter; 2]),
            SpoutShape::Oval => Some([self.width_mm?, self.height_mm?]),
        }
    }
}

/// Round or oval.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum SpoutShape {
    /// A circle.
    Round,
    /// An ellipse.
    Oval,
}

/// A range of lengths; either end may be missing.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct LengthRange {
    /// Least.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(test, schemars(range(min = 0, max = 10_000)))]
    pub min: Option<f64>,
    /// Most.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(test, schemars(range(min = 0, max = 10_000)))]
    pub max: Option<f64>,
}

/// A range of masses; either end may be missing.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct MassRange {
    /// Least.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(test, schemars(range(min = 0, max = 2000)))]
    pub min: Option<f64>,
    /// Most.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(test, schemars(range(min = 0, max = 2000)))]
    pub max: Option<f64>,
}

/// A range of fits; either end may be missing.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct FitRange {
    /// Least.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(test, schemars(range(min = -1, max = 10)))]
    pub min: Option<f64>,
    /// Most.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(test, schemars(range(min = -1, max = 10)))]
    pub max: Option<f64>,
}

/// The trade's habit: tighter than 4 % tears the sleeve, looser than 33 % (a quarter of the girth) blows dust back.
const fn spout_fit() -> FitRange {
    FitRange { min: Some(0.04), max: Some(0.33) }
}

/// What a line takes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Takes {
    /// Face width.
    #[serde(default)]
    pub face_width_mm: LengthRange,
    /// Sack length.
    #[serde(default)]
    pub length_mm: LengthRange,
    /// Width of the valve bottom.
    #[serde(default)]
    pub bottom_width_mm: LengthRange,
    /// Flat width of the valve.
    #[serde(default)]
    pub valve_width_mm: LengthRange,
    /// Mass of one filling.
    #[serde(default)]
    pub mass_kg: MassRange,
}

/// A filling line whose spout is whole and whose ranges are the right way round.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    file: LineFile,
    girth_mm: f64,
}

impl Line {
    /// Takes a card whose spout has the measures of its shape and whose ranges have min <= max.
    ///
    /// # Errors
    /// Every fault that was found; lines are not known here.
    pub fn new(file: LineFile) -> Result<Self, Vec<Problem>> {
        let mut problems = Vec::new();
        let missing = |field: &str| Problem {
            field: field.into(),
            value: String::new(),
            line: None,
            message: Message::new("problem.missing"),
        };
        let odd = |field: &str, value: f64| Problem {
            field: field.into(),
            value: file::shown_number(value),
            line: None,
            message: Message::new("problem.not_of_this_shape"),
        };
        let spout = &file.spout;
        let named = [
            ("spout.outside_diameter_mm", spout.outside_diameter_mm, SpoutShape::Round),
            ("spout.width_mm", spout.width_mm, SpoutShape::Oval),
            ("spout.height_mm", spout.height_mm, SpoutShape::Oval),
        ];
        for (field, value, shape) in named {
            match value {
                None if shape == spout.shape => problems.push(missing(field)),
                Some(value) if shape != spout.shape => problems.push(odd(field, value)),
                _ => {}
            }
        }
        let ranges = [
            // A sleeve without a least fit goes on the spout all the same.
            ("spout_fit.max", Some(file.spout_fit.min.unwrap_or(0.0)), file.spout_fit.max),
            ("spout_to_saddle_mm.max", file.spout_to_saddle_mm.min, file.spout_to_saddle_mm.max),
            ("takes.face_width_mm.max", file.takes.face_width_mm.min, file.takes.face_width_mm.max),
            ("takes.length_mm.max", file.takes.length_mm.min, file.takes.length_mm.max),
            ("takes.bottom_width_mm.max", file.takes.bottom_width_mm.min, file.takes.bottom_width_mm.max),
            ("takes.valve_width_mm.max", file.takes.valve_width_mm.min, file.takes.valve_width_mm.max),
            ("takes.mass_kg.max", file.takes.mass_kg.min, file.takes.mass_kg.max),
        ];
        problems.extend(reversed(&ranges));
        if !problems.is_empty() {
            return Err(problems);
        }
        let girth_mm = match spout.shape {
            SpoutShape::Round => core::f64::consts::PI * spout.outside_diameter_mm.unwrap_or_default(),
            SpoutShape::Oval => {
                let half = |value: Option<f64>| value.unwrap_or_default() / 2.0;
                ellipse_girth(half(spout.width_mm), half(spout.height_mm))
            }
        };
        Ok(Self { file, girth_mm })
    }

    /// The card as a file holds it.
    #[must_use]
    pub const fn file(&self) -> &LineFile {
        &self.file
    }

    /// Girth of the spout in mm: pi D, or the ellipse's circumference.
    #[must_use]
    pub const fn spout_girth_mm(&self) -> f64 {
        self.girth_mm
    }

    /// Height of the spout in mm: what must fit under the flaps.
    #[must_use]
    pub fn spout_height_mm(&self) -> f64 {
        self.file.spout.section_mm().map_or(0.0, |[_, height]| height)
    }

    /// How much wider than the spout a sleeve of flat width `valve_mm` is when opened: 2 v / girth - 1.
    #[must_use]
    pub fn spout_fit(&self, valve_mm: f64) -> f64 {
        2.0 * valve_mm / self.girth_mm - 1.0
    }
}

/// The ranges, each with the field of its most, whose least is more than their most.
pub(crate) fn reversed(ranges: &[(&str, Option<f64>, Option<f64>)]) -> Vec<Problem> {
    let problem = |(field, min, max): &(&str, Option<f64>, Option<f64>)| {
        let (min, max) = (*min).zip(*max)?;
        let dimension = Dimension::of_key(field.strip_suffix(".max").unwrap_or(field));
        (min > max).then(|| Problem {
            field: (*field).into(),
            value: file::shown_number(max),
            line: None,
            message: Message::new("problem.range_reversed").with("min", quantity(dimension, min)),
        })
    };
    ranges.iter().filter_map(problem).collect()
}

/// Circumference of an ellipse with half axes `a` and `b` in mm, by the arithmetic-geometric mean (Gauss): exact to
/// rounding after a few steps, as the convergence is quadratic.
fn ellipse_girth(a: f64, b: f64) -> f64 {
    let (mut x, mut y) = (a.max(b), a.min(b));
    let mut sum = (x * x + y * y) / 2.0;
    let mut power = 0.5;
    while (x - y).abs() > 1e-12 * x {
        let difference = (x - y) / 2.0;
        (x, y) = (f64::midpoint(x, y), (x * y).sqrt());
        power *= 2.0;
        sum -= power * difference * difference;
    }
    2.0 * core::f64::consts::PI * sum / x
}

/// Reads a filling-line card.
///
/// # Errors
/// Every fault of the file; see [`FileKind::read`].
pub fn read_line(text: &str) -> Result<Line, Vec<Problem>> {
    let file = LINE_KIND.read::<LineFile>(text)?;
    Line::new(file).map_err(|mut problems| {
        file::locate(text, &mut problems);
        problems
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_ellipse_has_its_known_circumference() {
        assert!((ellipse_girth(30.0, 30.0) - 60.0 * core::f64::consts::PI).abs() < 1e-9);
        // 4 a E(e) for a = 40, b = 25 by numerical integration of the arc length with many steps.
        let n = 200_000;
        let mut sum = 0.0;
        for i in 0..n {
            let t = (f64::from(i) + 0.5) / f64::from(n) * core::f64::consts::FRAC_PI_2;
            let (s, c) = libm::sincos(t);
            sum += libm::hypot(40.0 * s, 25.0 * c);
        }
        let integral = 4.0 * sum * core::f64::consts::FRAC_PI_2 / f64::from(n);
        assert!((ellipse_girth(40.0, 25.0) - integral).abs() < 1e-7, "{integral}");
    }
}

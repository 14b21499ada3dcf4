//! The sack works: what its tuber and its bottomer can make.

use serde::{Deserialize, Serialize};

use super::{LengthRange, reversed};
use crate::file::{self, FileKind};
use crate::finding::Problem;
use crate::sheet::Side;

/// The format of a works card that this version reads.
pub const WORKS_FORMAT: &str = "sackwright-works/1";

/// The kind of file that a works card is.
pub static WORKS_KIND: FileKind =
    FileKind::new(WORKS_FORMAT, include_str!(concat!(env!("OUT_DIR"), "/works.schema.json")));

/// A sack works: its tuber, its bottomer, its waste. A range left out or empty is no limit.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
#[cfg_attr(test, schemars(title = "Sack works"))]
pub struct WorksFile {
    /// Format and version of the file: `sackwright-works/1`.
    pub format: String,
    /// What the works is called.
    #[cfg_attr(test, schemars(length(max = 200)))]
    pub name: String,
    /// Paper that goes in and does not come out as sacks: per cent of what goes in.
    #[serde(default)]
    #[cfg_attr(test, schemars(range(min = 0, max = 90)))]
    pub waste_percent: f64,
    /// What the tuber makes.
    #[serde(default)]
    pub tuber: Tuber,
    /// What the bottomer makes.
    #[serde(default)]
    pub bottomer: Bottomer,
}

/// What a tuber makes: webs to tubes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Tuber {
    /// Width of a web.
    #[serde(default)]
    pub web_width_mm: LengthRange,
    /// Face width of the tube.
    #[serde(default)]
    pub face_width_mm: LengthRange,
    /// Length of the tube.
    #[serde(default)]
    pub tube_length_mm: LengthRange,
    /// It makes tubes of whole multiples of this length, as its gears or its print cylinders go; left out: of any length.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(test, schemars(range(min = 0.5, max = 100)))]
    pub tube_length_step_mm: Option<f64>,
    /// Plies.
    #[serde(default)]
    pub plies: CountRange,
    /// Step between the tear lines of neighbouring plies.
    #[serde(default)]
    pub step_mm: LengthRange,
    /// Print repeat.
    #[serde(default)]
    pub print_repeat_mm: LengthRange,
    /// Printing colours; left out: not told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(test, schemars(range(min = 0, max = 20)))]
    pub colours: Option<usize>,
    /// Output; left out: not told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(test, schemars(range(min = 1, max = 2000)))]
    pub tubes_per_min: Option<f64>,
}

impl Tuber {
    /// The two lengths of tube nearest to one that is asked for, mm, the nearer one first; `None` where it makes any.
    #[must_use]
    pub fn nearest_tube_lengths_mm(&self, tube_mm: f64) -> Option<[f64; 2]> {
        let step = self.tube_length_step_mm?;
        let steps = tube_mm / step;
        let nearest = steps.round().max(1.0);
        let other = if steps < nearest && nearest > 1.0 { nearest - 1.0 } else { nearest + 1.0 };
        Some([nearest * step, other * step])
    }

    /// The same for the lengths of sacks, mm, to a tenth of a millimetre; a tube is longer than its sack by `ends_mm`.
    #[must_use]
    pub fn nearest_sack_lengths_mm(&self, sack_mm: f64, ends_mm: f64) -> Option<[f64; 2]> {
        let tubes = self.nearest_tube_lengths_mm(sack_mm + ends_mm)?;
        Some(tubes.map(|tube| ((tube - ends_mm) * 10.0).round() / 10.0))
    }
}

/// What a bottomer makes: tubes to sacks.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Bottomer {
    /// Face width of the tube.
    #[serde(default)]
    pub face_width_mm: LengthRange,
    /// Length of the tube.
    #[serde(default)]
    pub tube_length_mm: LengthRange,
    /// From the middle of one bottom to the middle of the other.
    #[serde(default)]
    pub bottom_centre_distance_mm: LengthRange,
    /// Width of a finished bottom.
    #[serde(default)]
    pub bottom_width_mm: LengthRange,
    /// Sides on which the valve can be; left out: both.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(test, schemars(length(min = 1, max = 2)))]
    pub valve_sides: Option<Vec<Side>>,
    /// Length of the valve sleeve.
    #[serde(default)]
    pub sleeve_length_mm: LengthRange,
    /// Length of a patch.
    #[serde(default)]
    pub patch_length_mm: LengthRange,
    /// Width of a patch.
    #[serde(default)]
    pub patch_width_mm: LengthRange,
    /// Output; left out: not told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(test, schemars(range(min = 1, max = 2000)))]
    pub sacks_per_min: Option<f64>,
}

/// A range of counts; either end may be missing.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct CountRange {
    /// Least.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(test, schemars(range(min = 0, max = 100)))]
    pub min: Option<usize>,
    /// Most.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(test, schemars(range(min = 0, max = 100)))]
    pub max: Option<usize>,
}

/// A works whose ranges are the right way round.
#[derive(Clone, Debug, PartialEq)]
pub struct Works {
    file: WorksFile,
}

impl Works {
    /// Takes a card whose ranges have min <= max.
    ///
    /// # Errors
    /// Every fault that was found; lines are not known here.
    pub fn new(file: WorksFile) -> Result<Self, Vec<Problem>> {
        let (tuber, bottomer) = (&file.tuber, &file.bottomer);
        let lengths = [
            ("tuber.web_width_mm.max", tuber.web_width_mm),
            ("tuber.face_width_mm.max", tuber.face_width_mm),
            ("tuber.tube_length_mm.max", tuber.tube_length_mm),
            ("tuber.step_mm.max", tuber.step_mm),
            ("tuber.print_repeat_mm.max", tuber.print_repeat_mm),
            ("bottomer.face_width_mm.max", bottomer.face_width_mm),
            ("bottomer.tube_length_mm.max", bottomer.tube_length_mm),
            ("bottomer.bottom_centre_distance_mm.max", bottomer.bottom_centre_distance_mm),
            ("bottomer.bottom_width_mm.max", bottomer.bottom_width_mm),
            ("bottomer.sleeve_length_mm.max", bottomer.sleeve_length_mm),
            ("bottomer.patch_length_mm.max", bottomer.patch_length_mm),
            ("bottomer.patch_width_mm.max", bottomer.patch_width_mm),
        ];
        let mut ranges: Vec<_> = lengths.map(|(field, range)| (field, range.min, range.max)).to_vec();
        let number = |value: Option<usize>| value.map(|value| value as f64);
        ranges.push(("tuber.plies.max", number(tuber.plies.min), number(tuber.plies.max)));
        let problems = reversed(&ranges);
        if problems.is_empty() { Ok(Self { file }) } else { Err(problems) }
    }

    /// The card as a file holds it.
    #[must_use]
    pub const fn file(&self) -> &WorksFile {
        &self.file
    }

    /// Paper that has to be bought for paper that ends in sacks, as a factor: 1 / (1 - waste).
    #[must_use]
    pub fn gross_factor(&self) -> f64 {
        1.0 / (1.0 - self.file.waste_percent / 100.0)
    }
}

/// Reads a works card.
///
/// # Errors
/// Every fault of the file; see [`FileKind::read`].
pub fn read_works(text: &str) -> Result<Works, Vec<Problem>> {
    let file = WORKS_KIND.read::<WorksFile>(text)?;
    Works::new(file).map_err(|mut problems| {
        file::locate(text, &mut problems);
        problems
    })
}

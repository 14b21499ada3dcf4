//! The order file: a product, what it is filled and stacked on, a sheet to start from, and the sizes that may be tried.
//!
//! The sheet and the cards stand in the order itself, or in files beside it that are named by their paths: the core does
//! no I/O, so whoever reads the order gives it those files' texts ([`OrderFile::take`]).

use serde::{Deserialize, Serialize};

use crate::cards::{
    LINE_FORMAT, LINE_KIND, Line, LineFile, PALLET_FORMAT, PALLET_KIND, Pallet, PalletFile, WORKS_FORMAT, WORKS_KIND,
    Works, WorksFile,
};
use crate::file::{self, FileKind};
use crate::finding::{Arg, Message, Problem};
use crate::sheet::{self, Contents, Sheet, SheetFile};
use crate::sizing::follow::Size;
use crate::tolerance::EXACT_MM;
use crate::units::{count, length, ratio};

/// The format of an order file that this version reads.
pub const ORDER_FORMAT: &str = "sackwright-order/1";

/// The kind of file that an order is.
pub static ORDER_KIND: FileKind =
    FileKind::new(ORDER_FORMAT, include_str!(concat!(env!("OUT_DIR"), "/order.schema.json")));

/// Candidates of an order, at most.
pub const MOST_CANDIDATES: usize = 200_000;

/// An order: a product that needs a sack.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
#[cfg_attr(test, schemars(title = "Order"))]
pub struct OrderFile {
    /// Format and version of the file: `sackwright-order/1`.
    pub format: String,
    /// What the order is called.
    #[cfg_attr(test, schemars(length(max = 200)))]
    pub name: String,
    /// What goes in.
    pub contents: Contents,
    /// The sheet to start from: its plies, cut, seam, laps, valve and patches are kept or follow the size.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sheet: Option<SheetFile>,
    /// The same as a path beside the order.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(test, schemars(length(max = 400)))]
    pub sheet_file: Option<String>,
    /// The filling line; left out: none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub line: Option<LineFile>,
    /// The same as a path beside the order.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(test, schemars(length(max = 400)))]
    pub line_file: Option<String>,
    /// The sack works; left out: none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub works: Option<WorksFile>,
    /// The same as a path beside the order.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(test, schemars(length(max = 400)))]
    pub works_file: Option<String>,
    /// The pallet; left out: none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pallet: Option<PalletFile>,
    /// The same as a path beside the order.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(test, schemars(length(max = 400)))]
    pub pallet_file: Option<String>,
    /// Face widths that are tried.
    pub face_width_mm: Grid,
    /// Lengths that are tried.
    pub length_mm: Grid,
    /// Widths of the valve bottom that are tried; the plain bottom keeps its difference from it.
    pub bottom_width_mm: Grid,
    /// What the filling leaves of the capacity, as shares.
    #[serde(default)]
    pub headroom: ShareRange,
    /// What counts how much in the order of the candidates.
    #[serde(default)]
    pub weights: Weights,
}

/// Values from `min` in steps of `step` up to `max`.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Grid {
    /// Least.
    #[cfg_attr(test, schemars(range(min = 20, max = 3000)))]
    pub min: f64,
    /// Most.
    #[cfg_attr(test, schemars(range(min = 20, max = 3000)))]
    pub max: f64,
    /// Distance between neighbours.
    #[serde(default = "step_mm")]
    #[cfg_attr(test, schemars(range(min = 0.5, max = 500)))]
    pub step: f64,
}

const fn step_mm() -> f64 {
    10.0
}

impl Grid {
    /// How many values there are.
    pub(super) fn count(self) -> usize {
        // Within the schema's limits: 6000 at most. A thousandth of a step is rounding.
        ((self.max - self.min) / self.step + 1e-3).floor().max(0.0) as usize + 1
    }

    /// The value at a place.
    pub(super) fn value(self, index: usize) -> f64 {
        self.min + index as f64 * self.step
    }
}

/// Shares of the capacity.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct ShareRange {
    /// Least.
    #[cfg_attr(test, schemars(range(min = 0, max = 0.9)))]
    pub min: f64,
    /// Most.
    #[cfg_attr(test, schemars(range(min = 0, max = 0.9)))]
    pub max: f64,
}

impl Default for ShareRange {
    /// Sacks are designed to be 88 to 96 % full at the moment of filling. Trade habit, low certainty.
    fn default() -> Self {
        Self { min: 0.04, max: 0.12 }
    }
}

impl ShareRange {
    pub(super) fn has(self, share: f64) -> bool {
        (self.min..=self.max).contains(&share)
    }
}

/// What counts how much. A candidate's score is paper over the least paper, times its weight, and the largest
/// pallet load over the candidate's, times its weight, and so much for each point to look at; the least score is
/// first.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(default, deny_unknown_fields)]
pub struct Weights {
    /// Paper.
    #[cfg_attr(test, schemars(range(min = 0, max = 100)))]
    pub paper: f64,
    /// The product on a pallet.
    #[cfg_attr(test, schemars(range(min = 0, max = 100)))]
    pub pallet: f64,
    /// A finding that says look.
    #[cfg_attr(test, schemars(range(min = 0, max = 100)))]
    pub look: f64,
}

impl Default for Weights {
    /// Paper and pallet alike; a point to look at as much as 1 % of either.
    fn default() -> Self {
        Self { paper: 1.0, pallet: 1.0, look: 0.01 }
    }
}

/// What an order can name by a path.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    /// The sheet to start from.
    Sheet,
    /// The filling line's card.
    Line,
    /// The works' card.
    Works,
    /// The pallet's card.
    Pallet,
}

impl OrderFile {
    /// The files that the order names for what does not stand in it, by their paths relative to it.
    #[must_use]
    pub fn files(&self) -> Vec<(Part, &str)> {
        let named = [
            (Part::Sheet, self.sheet.is_some(), &self.sheet_file),
            (Part::Line, self.line.is_some(), &self.line_file),
            (Part::Works, self.works.is_some(), &self.works_file),
            (Part::Pallet, self.pallet.is_some(), &self.pallet_file),
        ];
        let open = named.into_iter().filter(|(_, given, _)| !given);
        open.filter_map(|(part, _, path)| Some((part, path.as_deref()?))).collect()
    }

    /// Takes a named file's text into the order, in place of its path.
    ///
    /// # Errors
    /// Every fault of that file; see [`FileKind::read`].
    pub fn take(&mut self, part: Part, text: &str) -> Result<(), Vec<Problem>> {
        match part {
            Part::Sheet => {
                self.sheet = Some(sheet::read(text)?.file().clone());
                self.sheet_file = None;
            }
            Part::Line => {
                self.line = Some(LINE_KIND.read(text)?);
                self.line_file = None;
            }
            Part::Works => {
                self.works = Some(WORKS_KIND.read(text)?);
                self.works_file = None;
            }
            Part::Pallet => {
                self.pallet = Some(PALLET_KIND.read(text)?);
                self.pallet_file = None;
            }
        }
        Ok(())
    }
}

/// Reads an order file; what it names by paths is still to be taken, and all of it to be validated by [`Order::new`].
///
/// # Errors
/// Every fault of the file; see [`FileKind::read`].
pub fn read_order(text: &str) -> Result<OrderFile, Vec<Problem>> {
    ORDER_KIND.read(text)
}

/// An order whose sheet and cards are sound.
#[derive(Clone, Debug, PartialEq)]
pub struct Order {
    file: OrderFile,
    base: SheetFile,
    line: Option<Line>,
    works: Option<Works>,
    pallet: Option<Pallet>,
}

impl Order {
    /// Takes an order that has everything in it, whose sheet and cards are sound, and whose sizes are not too many.
    ///
    /// # Errors
    /// Every fault that was found; lines are not known here ([`file::locate`] adds them).
    pub fn new(file: OrderFile) -> Result<Self, Vec<Problem>> {
        let mut problems = Vec::new();
        let named = [
            ("sheet", file.sheet.is_some(), &file.sheet_file),
            ("line", file.line.is_some(), &file.line_file),
            ("works", file.works.is_some(), &file.works_file),
            ("pallet", file.pallet.is_some(), &file.pallet_file),
        ];
        for (key, given, path) in named {
            let Some(path) = path else { continue };
            let message = if given { "problem.given_twice" } else { "problem.not_embedded" };
            let message = Message::new(message).with("other", Arg::text(key));
            problems.push(fault(&format!("{key}_file"), format!("\"{path}\""), message));
        }
        if file.sheet.is_none() && file.sheet_file.is_none() {
            problems.push(fault("sheet", String::new(), Message::new("problem.missing")));
        }
        let base = file.sheet.clone().and_then(|mut base| {
            base.contents = Some(file.contents.clone());
            let format = base.format.clone();
            embedded("sheet", &format, sheet::FORMAT, Sheet::new(base), &mut problems)
        });
        let line = file.line.clone().and_then(|card| {
            let format = card.format.clone();
            embedded("line", &format, LINE_FORMAT, Line::new(card), &mut problems)
        });
        let works = file.works.clone().and_then(|card| {
            let format = card.format.clone();
            embedded("works", &format, WORKS_FORMAT, Works::new(card), &mut problems)
        });
        let pallet = file.pallet.clone().and_then(|card| {
            let format = card.format.clone();
            embedded("pallet", &format, PALLET_FORMAT, Pallet::new(card), &mut problems)
        });
        problems.extend(reversed(&file));
        match base {
            Some(base) if problems.is_empty() => Ok(Self { base: base.file().clone(), line, works, pallet, file }),
            _ => Err(problems),
        }
    }

    /// The order as a file holds it.
    #[must_use]
    pub const fn file(&self) -> &OrderFile {
        &self.file
    }

    /// The sheet to start from, with the order's contents.
    #[must_use]
    pub const fn base(&self) -> &SheetFile {
        &self.base
    }

    /// The filling line.
    #[must_use]
    pub const fn line(&self) -> Option<&Line> {
        self.line.as_ref()
    }

    /// The works.
    #[must_use]
    pub const fn works(&self) -> Option<&Works> {
        self.works.as_ref()
    }

    /// The pallet.
    #[must_use]
    pub const fn pallet(&self) -> Option<&Pallet> {
        self.pallet.as_ref()
    }

    /// The sizes that are tried: lengths run fastest, then bottoms, then face widths. Where the works makes tubes in steps, a
    /// length of the grid becomes the nearest whose tube is made, within the grid's ends as far as there is one, and comes
    /// once.
    pub(super) fn sizes(&self) -> Vec<Size> {
        let values = |grid: Grid| (0..grid.count()).map(move |index| grid.value(index));
        let OrderFile { face_width_mm, length_mm, bottom_width_mm, .. } = self.file;
        let mut sizes = Vec::with_capacity(face_width_mm.count() * length_mm.count() * bottom_width_mm.count());
        for face_width_mm in values(face_width_mm) {
            for bottom_width_mm in values(bottom_width_mm) {
                for length in values(length_mm) {
                    let length_mm = self.made_length_mm(length, bottom_width_mm);
                    let size = Size { face_width_mm, length_mm, bottom_width_mm };
                    if sizes.last() != Some(&size) {
                        sizes.push(size);
                    }
                }
            }
        }
        sizes
    }

    /// The sack length nearest to one that is asked for whose tube the works makes, mm.
    fn made_length_mm(&self, length: f64, bottom: f64) -> f64 {
        let (valve, plain) = (&self.base.valve_end, &self.base.plain_end);
        let ends = bottom + (plain.bottom_width_mm - valve.bottom_width_mm + valve.lap_mm + plain.lap_mm) / 2.0;
        let tuber = self.works.as_ref().map(|works| works.file().tuber);
        let made = tuber.and_then(|tuber| tuber.nearest_sack_lengths_mm(length, ends));
        let Some([nearest, other]) = made else { return length };
        let Grid { min, max, .. } = self.file.length_mm;
        let is_tried = |length: f64| (min - EXACT_MM..=max + EXACT_MM).contains(&length);
        if !is_tried(nearest) && is_tried(other) { other } else { nearest }
    }

    /// How many sizes there are to try.
    #[must_use]
    pub fn candidates(&self) -> usize {
        self.sizes().len()
    }
}

fn fault(field: &str, value: String, message: Message) -> Problem {
    Problem { field: field.into(), value, line: None, message }
}

/// A card that stands in the order: its faults under its own key.
fn embedded<T>(
    key: &str,
    format: &str,
    expected: &'static str,
    read: Result<T, Vec<Problem>>,
    problems: &mut Vec<Problem>,
) -> Option<T> {
    if format != expected {
        let message = Message::new("problem.format_other").with("format", Arg::text(expected));
        problems.push(fault(&format!("{key}.format"), format!("\"{format}\""), message));
    }
    match read {
        Ok(card) => Some(card),
        Err(found) => {
            problems.extend(
                found.into_iter().map(|problem| Problem { field: format!("{key}.{}", problem.field), ..problem }),
            );
            None
        }
    }
}

fn reversed(file: &OrderFile) -> Vec<Problem> {
    let mut problems = Vec::new();
    let grids = [
        ("face_width_mm", file.face_width_mm),
        ("length_mm", file.length_mm),
        ("bottom_width_mm", file.bottom_width_mm),
    ];
    let mut candidates = 1_usize;
    for (key, grid) in grids {
        if grid.min > grid.max {
            let message = Message::new("problem.range_reversed").with("min", length(grid.min));
            problems.push(fault(&format!("{key}.max"), file::shown_number(grid.max), message));
        }
        candidates = candidates.saturating_mul(grid.count());
    }
    if file.headroom.min > file.headroom.max {
        let message = Message::new("problem.range_reversed").with("min", ratio(file.headroom.min));
        problems.push(fault("headroom.max", file::shown_number(file.headroom.max), message));
    }
    if candidates > MOST_CANDIDATES {
        let message =
            Message::new("problem.too_many_sizes").with("found", count(candidates)).with("max", count(MOST_CANDIDATES));
        problems.push(fault("length_mm.step", file::shown_number(file.length_mm.step), message));
    }
    problems
}

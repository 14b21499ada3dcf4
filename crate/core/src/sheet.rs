//! The sack sheet: what is to be made. Raw file types (their serde names are the file format), and the validated
//! [`Sheet`] that everything else is derived from.
//!
//! Where a field may be left out, its default is in the schema; defaults that depend on other fields (a patch as long
//! as the bottom allows) are resolved when the sack is derived and noted in the field's description.

use serde::{Deserialize, Serialize};
use serde_json::Value;

use crate::file::{self, FileKind};
use crate::finding::{Arg, Message, Problem};
use crate::tolerance::LEAST_PANEL_MM;
use crate::units::length;

/// The format that this version reads and writes.
pub const FORMAT: &str = "sackwright-sheet/1";

/// The kind of file that a sack sheet is.
pub static KIND: FileKind = FileKind::new(FORMAT, include_str!(concat!(env!("OUT_DIR"), "/sheet.schema.json")));

/// A sack sheet as a file holds it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
#[cfg_attr(test, schemars(title = "Sack sheet"))]
pub struct SheetFile {
    /// Format and version of the file: `sackwright-sheet/1`.
    pub format: String,
    /// What the sack is called.
    #[cfg_attr(test, schemars(length(max = 200)))]
    pub name: String,
    /// Free text about the customer and the order.
    #[serde(default)]
    #[cfg_attr(test, schemars(length(max = 4000)))]
    pub customer_note: String,
    /// How the sack is built.
    #[serde(default)]
    pub construction: Construction,
    /// Width of the flat tube between its two side folds.
    #[cfg_attr(test, schemars(range(min = 50, max = 2000)))]
    pub face_width_mm: f64,
    /// Overall length of the flat finished sack, outer fold to outer fold.
    #[cfg_attr(test, schemars(range(min = 50, max = 3000)))]
    pub length_mm: f64,
    /// How the tube's ends are cut.
    pub cut: Cut,
    /// The longitudinal seam on the back.
    #[serde(default)]
    pub seam: Seam,
    /// The plies from the outside in, 1 to 6.
    #[cfg_attr(test, schemars(length(min = 1, max = 6)))]
    pub plies: Vec<Ply>,
    /// The bottom with the valve.
    pub valve_end: ValveEnd,
    /// The bottom at the other end.
    pub plain_end: PlainEnd,
    /// What goes in.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub contents: Option<Contents>,
    /// What is printed on it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub artwork: Option<Artwork>,
    /// What was changed from one revision of the sheet to the next, the first one first.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[cfg_attr(test, schemars(length(max = 200)))]
    pub revisions: Vec<Revision>,
    /// Findings that somebody has accepted.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[cfg_attr(test, schemars(length(max = 200)))]
    pub accepted: Vec<Acceptance>,
}

/// How the sack is built.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Construction {
    /// Two block bottoms, one with a valve.
    #[default]
    Valved,
    /// One block bottom, the other end open for sewing or pasting after filling.
    OpenMouth,
    /// A tube sewn at one end.
    Sewn,
}

impl Construction {
    const fn name(self) -> &'static str {
        match self {
            Self::Valved => "valved",
            Self::OpenMouth => "open-mouth",
            Self::Sewn => "sewn",
        }
    }
}

/// How the tube's ends are cut.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Cut {
    /// Stepped or flush.
    pub kind: CutKind,
    /// Distance between the tear lines of neighbouring plies; needed for a stepped cut, left out for a flush one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(test, schemars(range(min = 1, max = 100)))]
    pub step_mm: Option<f64>,
}

/// Stepped or flush.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum CutKind {
    /// Each ply is torn on its own line, so that like is pasted to like.
    Stepped,
    /// All plies are cut on one line.
    Flush,
}

/// The longitudinal seam on the back.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Seam {
    /// How far the two edges of a web overlap.
    #[serde(default = "seam_lap_mm")]
    #[cfg_attr(test, schemars(range(min = 0, max = 200)))]
    pub lap_mm: f64,
    /// Where the outermost ply's seam runs, from the middle of the back.
    #[serde(default)]
    #[cfg_attr(test, schemars(range(min = -1000, max = 1000)))]
    pub offset_from_middle_mm: f64,
    /// How far the seam of each next ply is moved.
    #[serde(default)]
    #[cfg_attr(test, schemars(range(min = -200, max = 200)))]
    pub stagger_mm: f64,
}

const fn seam_lap_mm() -> f64 {
    30.0
}

impl Default for Seam {
    fn default() -> Self {
        Self { lap_mm: seam_lap_mm(), offset_from_middle_mm: 0.0, stagger_mm: 0.0 }
    }
}

/// One ply.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Ply {
    /// Kind of paper.
    #[serde(default = "paper_name")]
    #[cfg_attr(test, schemars(length(max = 200)))]
    pub paper: String,
    /// Mass per area.
    #[cfg_attr(test, schemars(range(min = 5, max = 500)))]
    pub grammage_g_m2: f64,
    /// Thickness of the ply; left out: 1.5 um per g/m2, as sack kraft has.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(test, schemars(range(min = 0.005, max = 2)))]
    pub thickness_mm: Option<f64>,
    /// Tensile energy absorption in the running direction.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(test, schemars(range(min = 0, max = 2000)))]
    pub tea_md_j_m2: Option<f64>,
    /// Tensile energy absorption across the running direction.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(test, schemars(range(min = 0, max = 2000)))]
    pub tea_cd_j_m2: Option<f64>,
    /// Air resistance (Gurley), seconds.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(test, schemars(range(min = 0, max = 100_000)))]
    pub air_resistance_gurley_s: Option<f64>,
    /// Price of the paper per tonne, in the works' own currency.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(test, schemars(range(min = 0, max = 100_000)))]
    pub price_per_tonne: Option<f64>,
}

fn paper_name() -> String {
    "sack kraft".into()
}

impl Ply {
    /// Thickness of the ply in mm: as given, or 1.5 um per g/m2 (trade value for sack kraft, 1.40 to 1.60).
    #[must_use]
    pub fn thickness_mm(&self) -> f64 {
        self.thickness_mm.unwrap_or(self.grammage_g_m2 * 0.0015)
    }
}

/// The bottom with the valve.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct ValveEnd {
    /// Width of the finished bottom.
    #[cfg_attr(test, schemars(range(min = 20, max = 1000)))]
    pub bottom_width_mm: f64,
    /// How far the two flaps overlap, ply for ply.
    #[cfg_attr(test, schemars(range(min = 0, max = 500)))]
    pub lap_mm: f64,
    /// The strip pasted over the closed bottom; left out: none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub patch: Option<Patch>,
    /// The valve.
    pub valve: Valve,
}

/// The bottom at the other end.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct PlainEnd {
    /// Width of the finished bottom.
    #[cfg_attr(test, schemars(range(min = 20, max = 1000)))]
    pub bottom_width_mm: f64,
    /// How far the two flaps overlap, ply for ply.
    #[cfg_attr(test, schemars(range(min = 0, max = 500)))]
    pub lap_mm: f64,
    /// The strip pasted over the closed bottom; left out: none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub patch: Option<Patch>,
}

/// A capping strip.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Patch {
    /// Length along the bottom; left out: face width less bottom width.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(test, schemars(range(min = 10, max = 3000)))]
    pub length_mm: Option<f64>,
    /// Width across the bottom; left out: bottom width less 10 mm.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(test, schemars(range(min = 10, max = 1000)))]
    pub width_mm: Option<f64>,
    /// How far its middle stands from the bottom's middle, along the bottom, to the right.
    #[serde(default)]
    #[cfg_attr(test, schemars(range(min = -1000, max = 1000)))]
    pub offset_mm: f64,
    /// Mass per area.
    #[serde(default = "extra_grammage")]
    #[cfg_attr(test, schemars(range(min = 5, max = 500)))]
    pub grammage_g_m2: f64,
}

const fn extra_grammage() -> f64 {
    80.0
}

/// The valve and its sleeve.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Valve {
    /// Which end of the bottom, seen from the front with the valve bottom up.
    #[serde(default)]
    pub side: Side,
    /// Kind of sleeve.
    #[serde(default)]
    pub sleeve: SleeveKind,
    /// Width of the sleeve lying flat.
    #[cfg_attr(test, schemars(range(min = 10, max = 1000)))]
    pub flat_width_mm: f64,
    /// Length of the sleeve along the bottom.
    #[cfg_attr(test, schemars(range(min = 10, max = 2000)))]
    pub length_mm: f64,
    /// How far the sleeve's outer end stands out beyond the bottom's end edge.
    #[serde(default)]
    #[cfg_attr(test, schemars(range(min = -500, max = 500)))]
    pub outer_end_mm: f64,
    /// How far the sleeve's middle stands from the bottom's centre line, towards the sack's end.
    #[serde(default)]
    #[cfg_attr(test, schemars(range(min = -200, max = 200)))]
    pub offset_from_centre_mm: f64,
    /// How far the sleeve is turned in the bottom's plane.
    #[serde(default)]
    #[cfg_attr(test, schemars(range(min = -45, max = 45)))]
    pub skew_deg: f64,
    /// Mass per area of the sleeve's sheet.
    #[serde(default = "extra_grammage")]
    #[cfg_attr(test, schemars(range(min = 5, max = 500)))]
    pub grammage_g_m2: f64,
}

/// Left or right.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Side {
    /// Left.
    #[default]
    Left,
    /// Right.
    Right,
}

impl Side {
    /// The sign of x on this side.
    #[must_use]
    pub const fn sign(self) -> f64 {
        match self {
            Self::Left => -1.0,
            Self::Right => 1.0,
        }
    }

    /// The name in files and panel names.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Left => "left",
            Self::Right => "right",
        }
    }
}

/// Kind of sleeve.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum SleeveKind {
    /// A tube that lies inside; the product presses it shut.
    #[default]
    Internal,
    /// A tube that stands out and is tucked in by hand after filling.
    External,
    /// A single reinforcing sheet rather than a tube.
    Reinforcement,
}

/// What goes in.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Contents {
    /// The product.
    #[cfg_attr(test, schemars(length(max = 200)))]
    pub product: String,
    /// Mass of one filling.
    #[cfg_attr(test, schemars(range(min = 0.1, max = 2000)))]
    pub mass_kg: f64,
    /// Bulk density settled in the sack.
    #[cfg_attr(test, schemars(range(min = 10, max = 20_000)))]
    pub bulk_density_kg_m3: f64,
    /// Bulk density at the moment of filling.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(test, schemars(range(min = 10, max = 20_000)))]
    pub aerated_density_kg_m3: Option<f64>,
    /// Whether the product makes dust.
    #[serde(default)]
    pub dusty: bool,
    /// Whether rules for the transport of dangerous goods hold for the product.
    #[serde(default)]
    pub dangerous_goods: bool,
}

/// What is printed on it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Artwork {
    /// Picture for the front, a path beside the sheet.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(test, schemars(length(max = 400)))]
    pub front: Option<String>,
    /// The same for the back.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(test, schemars(length(max = 400)))]
    pub back: Option<String>,
    /// The same for the patch of the valve end.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(test, schemars(length(max = 400)))]
    pub valve_patch: Option<String>,
    /// The same for the patch of the plain end.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(test, schemars(length(max = 400)))]
    pub plain_patch: Option<String>,
    /// Print repeat; left out: the tube length.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(test, schemars(range(min = 10, max = 5000)))]
    pub repeat_mm: Option<f64>,
    /// The barcode; left out: none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub barcode: Option<Barcode>,
}

/// A barcode on the front or the back.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Barcode {
    /// Width over all its bars and the quiet zones beside them.
    #[serde(default = "barcode_width_mm")]
    #[cfg_attr(test, schemars(range(min = 5, max = 1000)))]
    pub width_mm: f64,
    /// Height of its bars.
    #[serde(default = "barcode_height_mm")]
    #[cfg_attr(test, schemars(range(min = 5, max = 1000)))]
    pub height_mm: f64,
    /// How far its middle stands from the middle of its face, to the right as one looks at that face, valve end up.
    #[serde(default)]
    #[cfg_attr(test, schemars(range(min = -1000, max = 1000)))]
    pub offset_from_middle_mm: f64,
    /// How far its middle stands from the plain end, where the face of the filled sack begins.
    #[serde(default = "barcode_from_end_mm")]
    #[cfg_attr(test, schemars(range(min = 0, max = 3000)))]
    pub from_plain_end_mm: f64,
    /// Whether it is on the back, else on the front.
    #[serde(default)]
    pub on_back: bool,
    /// Whether its bars run across the sack, else along it.
    #[serde(default)]
    pub bars_across: bool,
}

const fn barcode_width_mm() -> f64 {
    75.0
}

const fn barcode_height_mm() -> f64 {
    35.0
}

const fn barcode_from_end_mm() -> f64 {
    200.0
}

impl Barcode {
    /// Half of what it takes of the face, mm: across the sack, along it.
    #[must_use]
    pub const fn half_mm(&self) -> [f64; 2] {
        let [wide, high] = [self.width_mm / 2.0, self.height_mm / 2.0];
        if self.bars_across { [high, wide] } else { [wide, high] }
    }
}

/// One revision of the sheet.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Revision {
    /// What the revision is called: a letter or a number.
    #[cfg_attr(test, schemars(length(max = 20)))]
    pub mark: String,
    /// The day, as people write it.
    #[serde(default)]
    #[cfg_attr(test, schemars(length(max = 40)))]
    pub date: String,
    /// Who made it.
    #[serde(default)]
    #[cfg_attr(test, schemars(length(max = 200)))]
    pub by: String,
    /// What was changed.
    #[serde(default)]
    #[cfg_attr(test, schemars(length(max = 2000)))]
    pub note: String,
}

/// A finding that somebody has accepted as it is.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Acceptance {
    /// The rule's name.
    #[cfg_attr(test, schemars(length(max = 100)))]
    pub rule: String,
    /// Where on the sack.
    #[cfg_attr(test, schemars(length(max = 100)))]
    pub place: String,
    /// Who accepted it.
    #[cfg_attr(test, schemars(length(max = 200)))]
    pub by: String,
    /// The day, as people write it.
    #[serde(default)]
    #[cfg_attr(test, schemars(length(max = 40)))]
    pub date: String,
    /// Why.
    #[serde(default)]
    #[cfg_attr(test, schemars(length(max = 2000)))]
    pub note: String,
}

/// One of the two ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum End {
    /// The end with the valve.
    ValveEnd,
    /// The other end.
    PlainEnd,
}

impl End {
    /// Both ends, the valve end first.
    pub const ALL: [Self; 2] = [Self::ValveEnd, Self::PlainEnd];

    /// The key of the end in files.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::ValveEnd => "valve_end",
            Self::PlainEnd => "plain_end",
        }
    }
}

/// A sheet that describes a sack which can exist. Made by [`read`] or [`Sheet::new`] only.
#[derive(Clone, Debug, PartialEq)]
pub struct Sheet {
    file: SheetFile,
}

impl Sheet {
    /// Takes a sheet whose sack can exist: pockets that do not meet, flaps of every ply with something left of them,
    /// bottoms that do not lie on each other.
    ///
    /// # Errors
    /// Every fault that was found; lines are not known here ([`read`] adds them).
    pub fn new(file: SheetFile) -> Result<Self, Vec<Problem>> {
        let problems = validate(&file);
        if problems.is_empty() { Ok(Self { file }) } else { Err(problems) }
    }

    /// The sheet as a file holds it.
    #[must_use]
    pub const fn file(&self) -> &SheetFile {
        &self.file
    }

    /// The step in mm: 0 for a flush cut.
    #[must_use]
    pub fn step_mm(&self) -> f64 {
        self.file.step_mm()
    }

    /// Bottom width in mm of an end.
    #[must_use]
    pub const fn bottom_width_mm(&self, end: End) -> f64 {
        self.file.bottom(end).0
    }

    /// Lap in mm of an end.
    #[must_use]
    pub const fn lap_mm(&self, end: End) -> f64 {
        self.file.bottom(end).1
    }

    /// The patch of an end, if it has one.
    #[must_use]
    pub const fn patch(&self, end: End) -> Option<&Patch> {
        match end {
            End::ValveEnd => self.file.valve_end.patch.as_ref(),
            End::PlainEnd => self.file.plain_end.patch.as_ref(),
        }
    }

    /// The sheet as JSON.
    #[must_use]
    pub fn to_json(&self) -> String {
        self.file.to_json()
    }
}

impl SheetFile {
    fn to_json(&self) -> String {
        // Strings and finite numbers only: this can't fail.
        serde_json::to_string(self).unwrap_or_default()
    }

    /// The sheet as a tree of values by field. By way of its text: a second writer for every type of the sheet would cost
    /// the page more than this takes.
    pub(crate) fn to_tree(&self) -> Value {
        serde_json::from_str(&self.to_json()).unwrap_or_default()
    }

    fn step_mm(&self) -> f64 {
        match self.cut.kind {
            CutKind::Flush => 0.0,
            CutKind::Stepped => self.cut.step_mm.unwrap_or(0.0),
        }
    }

    const fn bottom(&self, end: End) -> (f64, f64) {
        match end {
            End::ValveEnd => (self.valve_end.bottom_width_mm, self.valve_end.lap_mm),
            End::PlainEnd => (self.plain_end.bottom_width_mm, self.plain_end.lap_mm),
        }
    }
}

/// Reads a sack sheet.
///
/// # Errors
/// Every fault of the file, or, where the file is sound, every reason why the sack can't exist; see
/// [`FileKind::read`].
pub fn read(text: &str) -> Result<Sheet, Vec<Problem>> {
    let file = KIND.read::<SheetFile>(text)?;
    Sheet::new(file).map_err(|mut problems| {
        file::locate(text, &mut problems);
        problems
    })
}

fn validate(file: &SheetFile) -> Vec<Problem> {
    let mut problems = Vec::new();
    let mut fault = |field: String, value: f64, message: Message| {
        problems.push(Problem { field, value: file::shown_number(value), line: None, message });
    };
    if file.construction != Construction::Valved {
        problems.push(Problem {
            field: "construction".into(),
            value: format!("\"{}\"", file.construction.name()),
            line: None,
            message: Message::new("problem.construction_not_yet").with("does", Arg::text("valved")),
        });
        return problems;
    }
    match (file.cut.kind, file.cut.step_mm) {
        (CutKind::Stepped, None) => problems.push(Problem {
            field: "cut.step_mm".into(),
            value: String::new(),
            line: None,
            message: Message::new("problem.step_missing"),
        }),
        (CutKind::Flush, Some(step)) => fault("cut.step_mm".into(), step, Message::new("problem.step_on_flush")),
        _ => {}
    }
    if !problems.is_empty() {
        return problems;
    }
    let mut fault = |field: String, value: f64, message: Message| {
        problems.push(Problem { field, value: file::shown_number(value), line: None, message });
    };

    let width = file.face_width_mm;
    // Half of what the tear lines of all plies spread over; the middle ply lies on the nominal rim.
    let spread = file.step_mm() * (file.plies.len().saturating_sub(1)) as f64 / 2.0;
    for end in End::ALL {
        let (bottom, lap) = file.bottom(end);
        let name = end.name();
        if lap > bottom {
            let message = Message::new("problem.lap_over_bottom").with("max", length(bottom));
            fault(format!("{name}.lap_mm"), lap, message);
        }
        // Pockets of the longest ply must not meet: W > 2 (d + spread), with d = B + o/2 (geometry, sections 4 and 6).
        let least_width = 2.0 * (bottom + lap / 2.0 + spread) + LEAST_PANEL_MM;
        if width < least_width {
            let most = bottom - (least_width - width) / 2.0;
            let message = Message::new("problem.pockets_meet")
                .with("least_width", length(least_width))
                .with("most_bottom", length(most.max(0.0)));
            fault(format!("{name}.bottom_width_mm"), bottom, message);
        }
        // The shortest ply's flap must still be there: (B + o)/2 - spread.
        let flap = (bottom + lap) / 2.0 - spread;
        if flap < LEAST_PANEL_MM {
            let most = file.step_mm() * ((bottom + lap) / 2.0 - LEAST_PANEL_MM) / spread;
            let message = Message::new("problem.step_eats_flap").with("most_step", length(most));
            fault("cut.step_mm".into(), file.step_mm(), message);
        }
    }
    // The closed bottoms lie on one face: C > (B1 + B2)/2, i.e. L > B1 + B2.
    let bottoms = file.valve_end.bottom_width_mm + file.plain_end.bottom_width_mm;
    if file.length_mm < bottoms + LEAST_PANEL_MM {
        let message = Message::new("problem.bottoms_meet").with("least_length", length(bottoms + LEAST_PANEL_MM));
        fault("length_mm".into(), file.length_mm, message);
    }
    let last = file.plies.len().saturating_sub(1) as f64;
    let outermost = file.seam.offset_from_middle_mm;
    let innermost = outermost + file.seam.stagger_mm * last;
    let reach = outermost.abs().max(innermost.abs()) + file.seam.lap_mm / 2.0;
    if reach > width / 2.0 {
        let most = (outermost.abs() - (reach - width / 2.0)).max(0.0);
        let message = Message::new("problem.seam_off_face").with("most_offset", length(most));
        fault("seam.offset_from_middle_mm".into(), outermost, message);
    }
    problems
}

//! The command line's arguments. What a value may be is checked here, so that a wrong one is told with its name.

use std::path::{Path, PathBuf};

use clap::{Args as ClapArgs, Parser, Subcommand};
use sackwright::drawing::{LengthUnit, What};
use sackwright::fill::{Bottoms, Filling};
use sackwright::fold::{Pose, Stage};
use sackwright::model::Thickness;
use sackwright::sizing::CONFIRMED;

/// Figures, checks, fillings, poses, drawings and models of a paper sack.
#[derive(Debug, Parser)]
#[command(name = "sackwright", version, disable_help_subcommand = true)]
pub struct Args {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
}

/// What to do.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Print every derived figure as JSON, or write them as a table.
    Figures {
        /// The sack sheet, *.sack.json.
        sheet: PathBuf,
        /// A filling-line card, *.line.json, for the spout's fit.
        #[arg(long, value_name = "FILE")]
        line: Option<PathBuf>,
        /// Print comma-separated values, a figure a row with its unit, rather than JSON.
        #[arg(long, conflicts_with = "to")]
        csv: bool,
        /// Write comma-separated values into this file, *.csv, rather than print.
        #[arg(long, value_name = "FILE.csv", value_parser = csv_path)]
        to: Option<PathBuf>,
    },
    /// Print the findings; exits with 1 when one of them says stop.
    Check {
        /// The sack sheet, *.sack.json.
        sheet: PathBuf,
        /// A filling-line card, *.line.json, to hold the sack against.
        #[arg(long, value_name = "FILE")]
        line: Option<PathBuf>,
        /// A sack works' card, *.works.json, to hold the sack against.
        #[arg(long, value_name = "FILE")]
        works: Option<PathBuf>,
        /// A pallet card, *.pallet.json: fills the sack, stacks it, and holds the stack against the card.
        #[arg(long, value_name = "FILE")]
        pallet: Option<PathBuf>,
        /// The works' own limits where the trade has habits, *.habits.json.
        #[arg(long, value_name = "FILE")]
        habits: Option<PathBuf>,
        /// Print JSON rather than a table.
        #[arg(long)]
        json: bool,
    },
    /// Print the capacity, and the sack lying and pressed at a filling, as JSON.
    Fill {
        /// The sack sheet, *.sack.json.
        sheet: PathBuf,
        /// Bottoms as flat, rigid rectangles, or free to bulge: `stiff` or `free`.
        #[arg(long, value_name = "NAME", value_parser = bottoms, default_value = "stiff")]
        bottoms: Bottoms,
        #[command(flatten)]
        filling: FillingArgs,
    },
    /// Print where every panel is at a point of the fold, as JSON in mm.
    Pose {
        /// The sack sheet, *.sack.json.
        sheet: PathBuf,
        #[command(flatten)]
        pose: PoseArgs,
        /// Panels are exact and have no thickness: `off` is the only value, and the default.
        #[arg(long, value_name = "off", value_parser = ["off"], default_value = "off", hide_possible_values = true)]
        thickness: String,
    },
    /// Write a drawing at 1:1; the file's own lengths are mm.
    Draw {
        /// The sack sheet, *.sack.json.
        sheet: PathBuf,
        #[command(flatten)]
        drawing: DrawArgs,
    },
    /// Print candidate sizes for an order, best first: screened by an estimate, the best confirmed by the solver.
    Size {
        /// The order, *.order.json; the sheet and cards that it names by paths stand beside it.
        order: PathBuf,
        /// How many candidates to print.
        #[arg(long, value_name = "N", default_value = "10")]
        rows: usize,
        /// How many of the best to confirm: each is filled, pressed, stacked and checked in full.
        #[arg(long, value_name = "N", default_value_t = CONFIRMED)]
        confirm: usize,
        /// Print JSON rather than a table.
        #[arg(long)]
        json: bool,
    },
    /// Write a 3D model, a crease pattern or a film of the fold.
    Model {
        /// The sack sheet, *.sack.json.
        sheet: PathBuf,
        #[command(flatten)]
        model: ModelArgs,
    },
}

/// How much goes in; by default the mass that the sheet's contents have, at their density when filled.
#[derive(Debug, ClapArgs)]
#[group(multiple = false)]
pub struct FillingArgs {
    /// A volume in l.
    #[arg(long, value_name = "V", value_parser = positive, allow_negative_numbers = true)]
    volume_l: Option<f64>,
    /// A mass in kg of the sheet's contents.
    #[arg(long, value_name = "M", value_parser = positive, allow_negative_numbers = true)]
    mass_kg: Option<f64>,
    /// A share of the capacity.
    #[arg(long, value_name = "0..1", value_parser = fraction, allow_negative_numbers = true)]
    ratio: Option<f64>,
}

impl FillingArgs {
    /// The filling.
    pub fn filling(&self) -> Filling {
        let volume = self.volume_l.map(Filling::Volume);
        let mass = self.mass_kg.map(Filling::Mass);
        volume.or(mass).or(self.ratio.map(Filling::Ratio)).unwrap_or(Filling::Contents)
    }

    /// The option that was given, as it was given.
    pub fn given(&self) -> String {
        let told = |name: &str, value: Option<f64>| value.map(|value| format!("{name} {value}"));
        let mass = || told("--mass-kg", self.mass_kg).or_else(|| told("--ratio", self.ratio));
        told("--volume-l", self.volume_l).or_else(mass).unwrap_or_else(|| "contents".into())
    }
}

/// A point of the fold.
#[derive(Debug, ClapArgs)]
pub struct PoseArgs {
    /// The stage: tube, open-mouth, press-pockets, insert-valve, fold-flaps, lay-patch.
    #[arg(long, value_name = "NAME", value_parser = stage)]
    stage: Stage,
    /// How far the stage has come, 0 to 1.
    #[arg(long, value_name = "0..1", value_parser = fraction, allow_negative_numbers = true)]
    at: f64,
}

impl DrawArgs {
    /// Whether the file is to be DXF rather than SVG.
    pub fn is_dxf(&self) -> bool {
        has_ending(&self.to, "dxf")
    }
}

impl PoseArgs {
    /// The pose.
    ///
    /// # Errors
    /// See [`pose`].
    pub fn pose(&self) -> Result<Pose, String> {
        pose(self.stage, self.at)
    }
}

/// What to write.
#[derive(Debug, ClapArgs)]
pub struct ModelArgs {
    /// The stage: tube, open-mouth, press-pockets, insert-valve, fold-flaps, lay-patch, fill.
    #[arg(long, value_name = "NAME", value_parser = model_stage)]
    stage: Option<ModelStage>,
    /// How far the stage has come, 0 to 1.
    #[arg(long, value_name = "0..1", value_parser = fraction, allow_negative_numbers = true)]
    at: Option<f64>,
    /// The whole fold as an animation (.glb only).
    #[arg(long, conflicts_with_all = ["stage", "at"])]
    film: bool,
    /// Which ply's crease pattern, 0 the outermost (.fold only).
    #[arg(long, value_name = "NUMBER", allow_negative_numbers = true)]
    ply: Option<usize>,
    /// Paper this many times as thick as it is, 1 to 20 (not for .fold, nor for the filled shape, which is a skin).
    #[arg(long, value_name = "FACTOR", value_parser = thickness)]
    thickness: Option<Thickness>,
    /// The file to write: *.stl (solids, mm), *.glb (glTF 2.0, metres), *.fold (crease pattern with folded states).
    #[arg(long, value_name = "FILE", value_parser = model_path)]
    pub to: PathBuf,
}

/// A stage of the fold, or the filled shape.
#[derive(Clone, Copy, Debug, PartialEq)]
enum ModelStage {
    Fold(Stage),
    Fill,
}

/// What a model is written as.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Format {
    /// Triangles, mm.
    Stl,
    /// Binary glTF.
    Glb,
}

/// A model that can be written.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Model {
    /// Every ply with its thickness, at a point of the fold.
    Solid(Pose, Thickness, Format),
    /// The skin of the sack at a fraction of its being filled with what the sheet says.
    Filled(f64, Format),
    /// The whole fold as an animation.
    Film(Thickness),
    /// The crease pattern of a ply, with a folded state or one for every stage.
    Pattern(usize, Option<(Stage, f64)>),
}

impl ModelArgs {
    /// The model that is asked for.
    ///
    /// # Errors
    /// When the options don't go together; says what would do.
    pub fn model(&self) -> Result<Model, String> {
        if self.film && self.ending() != "glb" {
            return Err(format!("--film: .{} holds no animation; a file ending in .glb would do", self.ending()));
        }
        let format = match self.ending() {
            "stl" => Format::Stl,
            "glb" => Format::Glb,
            _ => return self.pattern(),
        };
        if self.ply.is_some() {
            return Err("--ply is for crease patterns: a file ending in .fold would do, or leave it out".into());
        }
        if self.film {
            return Ok(Model::Film(self.thickness.unwrap_or(Thickness::TRUE)));
        }
        let (Some(stage), Some(at)) = (self.stage, self.at) else {
            return Err(format!("a model in .{} needs --stage and --at (or --film, in .glb)", self.ending()));
        };
        match stage {
            ModelStage::Fill if self.thickness.is_some() => {
                Err("--thickness is for paper: the filled shape is a skin without thickness, leave it out".into())
            }
            ModelStage::Fill => Ok(Model::Filled(at, format)),
            ModelStage::Fold(stage) => {
                Ok(Model::Solid(pose(stage, at)?, self.thickness.unwrap_or(Thickness::TRUE), format))
            }
        }
    }

    fn pattern(&self) -> Result<Model, String> {
        if self.thickness.is_some() {
            return Err("--thickness is for solids: a crease pattern has none, leave it out".into());
        }
        let state = match (self.stage, self.at) {
            (None, None) => None,
            (Some(ModelStage::Fold(stage)), Some(at)) => Some((stage, at)),
            (Some(ModelStage::Fill), _) => {
                return Err("--stage fill: a crease pattern ends with lay-patch; .stl or .glb would do".into());
            }
            _ => return Err("--stage and --at go together; leave both out for every stage".into()),
        };
        Ok(Model::Pattern(self.ply.unwrap_or(0), state))
    }

    /// The ending of the file's name, in small letters, as its parser has let through.
    fn ending(&self) -> &'static str {
        MODEL_ENDINGS.into_iter().find(|ending| has_ending(&self.to, ending)).unwrap_or_default()
    }
}

/// The pose at a fraction of a stage.
///
/// # Errors
/// When the fraction is outside 0..=1, which its parser has ruled out.
pub fn pose(stage: Stage, at: f64) -> Result<Pose, String> {
    Pose::new(stage, at).ok_or_else(|| format!("--at {at}: a number from 0 to 1 would do"))
}

/// Which drawing, into which file, and what stands in its title block.
#[derive(Debug, ClapArgs)]
pub struct DrawArgs {
    /// The drawing: sack, valve-bottom, plain-bottom, lap, webs, artwork.
    #[arg(long, value_name = "NAME", value_parser = what)]
    pub what: What,
    /// The file to write: *.svg or *.dxf.
    #[arg(long, value_name = "FILE", value_parser = drawing_path)]
    pub to: PathBuf,
    /// A filling-line card, *.line.json, for the spout in its place.
    #[arg(long, value_name = "FILE")]
    pub line: Option<PathBuf>,
    /// The works' own limits where the trade has habits, *.habits.json, for what the print keeps clear of.
    #[arg(long, value_name = "FILE")]
    pub habits: Option<PathBuf>,
    /// What lengths are told in: mm or in (inches).
    #[arg(long, value_name = "NAME", value_parser = unit, default_value = "mm")]
    pub unit: LengthUnit,
    /// Date in the title block, as it is to stand there; left out: empty.
    #[arg(long, value_name = "TEXT", default_value = "", hide_default_value = true)]
    pub date: String,
    /// Revision in the title block; left out: empty.
    #[arg(long, value_name = "TEXT", default_value = "", hide_default_value = true)]
    pub revision: String,
}

fn unit(text: &str) -> Result<LengthUnit, String> {
    let names = || LengthUnit::ALL.map(LengthUnit::name).join(" or ");
    LengthUnit::from_name(text).ok_or_else(|| format!("no such unit; {} would do", names()))
}

fn what(text: &str) -> Result<What, String> {
    let names = || What::ALL.map(What::name).join(", ");
    What::from_name(text).ok_or_else(|| format!("no such drawing; one of {} would do", names()))
}

/// What drawings can be written as.
const DRAWING_ENDINGS: [&str; 2] = ["svg", "dxf"];

fn drawing_path(text: &str) -> Result<PathBuf, String> {
    let path = PathBuf::from(text);
    let is_known = DRAWING_ENDINGS.iter().any(|ending| has_ending(&path, ending));
    if is_known { Ok(path) } else { Err("a name that ends in .svg or .dxf would do".into()) }
}

fn stage(text: &str) -> Result<Stage, String> {
    let names = || Stage::ALL.map(Stage::name).join(", ");
    let what = if text == "fill" { "a filled sack has no rigid panels" } else { "no such stage" };
    Stage::from_name(text).ok_or_else(|| format!("{what}; one of {} would do", names()))
}

fn model_stage(text: &str) -> Result<ModelStage, String> {
    if text == "fill" {
        Ok(ModelStage::Fill)
    } else {
        stage(text).map(ModelStage::Fold).map_err(|error| error.replace(" would do", " or fill would do"))
    }
}

fn fraction(text: &str) -> Result<f64, String> {
    let number = text.parse::<f64>().ok().filter(|number| (0.0..=1.0).contains(number));
    number.ok_or_else(|| "a number from 0 to 1 would do".into())
}

fn positive(text: &str) -> Result<f64, String> {
    let number = text.parse::<f64>().ok().filter(|number| *number > 0.0 && number.is_finite());
    number.ok_or_else(|| "a number above 0 would do".into())
}

fn bottoms(text: &str) -> Result<Bottoms, String> {
    match text {
        "stiff" => Ok(Bottoms::Stiff),
        "free" => Ok(Bottoms::Free),
        _ => Err("stiff or free would do".into()),
    }
}

fn thickness(text: &str) -> Result<Thickness, String> {
    let factor = text.parse::<f64>().ok().and_then(Thickness::exaggerated);
    factor.ok_or_else(|| "a number from 1 to 20 would do".into())
}

/// What models can be written as.
const MODEL_ENDINGS: [&str; 3] = ["stl", "glb", "fold"];

fn model_path(text: &str) -> Result<PathBuf, String> {
    let path = PathBuf::from(text);
    let is_known = MODEL_ENDINGS.iter().any(|ending| has_ending(&path, ending));
    if is_known { Ok(path) } else { Err("a name that ends in .stl, .glb or .fold would do".into()) }
}

fn csv_path(text: &str) -> Result<PathBuf, String> {
    let path = PathBuf::from(text);
    if has_ending(&path, "csv") { Ok(path) } else { Err("a name that ends in .csv would do".into()) }
}

fn has_ending(path: &Path, ending: &str) -> bool {
    path.extension().is_some_and(|own| own.eq_ignore_ascii_case(ending))
}

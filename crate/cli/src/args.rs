//! The command line's arguments. What a value may be is checked here, so that a wrong one is told with its name.

use std::path::PathBuf;

use clap::{Args as ClapArgs, Parser, Subcommand};
use sackwright::fill::{Bottoms, Filling};
use sackwright::fold::{Pose, Stage};
use sackwright::model::Thickness;

/// Figures, checks, fillings, poses and models of a paper sack.
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
    /// Print every derived figure as JSON.
    Figures {
        /// The sack sheet, *.sack.json.
        sheet: PathBuf,
        /// A filling-line card, *.line.json, for the spout's fit.
        #[arg(long, value_name = "FILE")]
        line: Option<PathBuf>,
    },
    /// Print the findings; exits with 1 when one of them says stop.
    Check {
        /// The sack sheet, *.sack.json.
        sheet: PathBuf,
        /// A filling-line card, *.line.json, to hold the sack against.
        #[arg(long, value_name = "FILE")]
        line: Option<PathBuf>,
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
    /// Write the 3D model at a point of the fold as binary STL in mm.
    Model {
        /// The sack sheet, *.sack.json.
        sheet: PathBuf,
        #[command(flatten)]
        pose: PoseArgs,
        /// The file to write, *.stl.
        #[arg(long, value_name = "FILE.stl", value_parser = stl_path)]
        to: PathBuf,
        /// Paper this many times as thick as it is, 1 to 20.
        #[arg(long, value_name = "FACTOR", value_parser = thickness, default_value = "1")]
        thickness: Thickness,
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

impl PoseArgs {
    /// The pose.
    ///
    /// # Errors
    /// When the fraction is outside 0..=1, which its parser has ruled out.
    pub fn pose(&self) -> Result<Pose, String> {
        Pose::new(self.stage, self.at).ok_or_else(|| format!("--at {}: a number from 0 to 1 would do", self.at))
    }
}

fn stage(text: &str) -> Result<Stage, String> {
    let names = || Stage::ALL.map(Stage::name).join(", ");
    Stage::from_name(text).ok_or_else(|| format!("no such stage; one of {} would do", names()))
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

fn stl_path(text: &str) -> Result<PathBuf, String> {
    let path = PathBuf::from(text);
    let is_stl = path.extension().is_some_and(|end| end.eq_ignore_ascii_case("stl"));
    if is_stl { Ok(path) } else { Err("a name that ends in .stl would do: it is the one format written".into()) }
}

//! The pallet that filled sacks are stacked on.

use serde::{Deserialize, Serialize};

use crate::file::{self, FileKind};
use crate::finding::{Message, Problem};
use crate::units::length;

/// The format of a pallet card that this version reads.
pub const PALLET_FORMAT: &str = "sackwright-pallet/1";

/// The kind of file that a pallet card is.
pub static PALLET_KIND: FileKind =
    FileKind::new(PALLET_FORMAT, include_str!(concat!(env!("OUT_DIR"), "/pallet.schema.json")));

/// A pallet and how it may be loaded.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
#[cfg_attr(test, schemars(title = "Pallet"))]
pub struct PalletFile {
    /// Format and version of the file: `sackwright-pallet/1`.
    pub format: String,
    /// What the pallet is called.
    #[cfg_attr(test, schemars(length(max = 200)))]
    pub name: String,
    /// Length of its top.
    #[cfg_attr(test, schemars(range(min = 100, max = 5000)))]
    pub length_mm: f64,
    /// Width of its top.
    #[cfg_attr(test, schemars(range(min = 100, max = 5000)))]
    pub width_mm: f64,
    /// Its own height.
    #[cfg_attr(test, schemars(range(min = 0, max = 1000)))]
    pub height_mm: f64,
    /// Its own mass.
    #[cfg_attr(test, schemars(range(min = 0, max = 1000)))]
    pub own_mass_kg: f64,
    /// Height of pallet and load together, at most; left out: no limit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(test, schemars(range(min = 1, max = 10_000)))]
    pub max_total_height_mm: Option<f64>,
    /// Mass that it carries, at most; left out: no limit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(test, schemars(range(min = 1, max = 20_000)))]
    pub max_load_kg: Option<f64>,
    /// How far sacks may stand out beyond its edge, on each side.
    #[serde(default)]
    #[cfg_attr(test, schemars(range(min = 0, max = 500)))]
    pub max_overhang_mm: f64,
    /// Layers, at most; left out: no limit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(test, schemars(range(min = 1, max = 100)))]
    pub max_layers: Option<usize>,
}

/// A pallet on which something can stand, and on which a stack ends somewhere.
#[derive(Clone, Debug, PartialEq)]
pub struct Pallet {
    file: PalletFile,
}

impl Pallet {
    /// Takes a card that limits height, mass or layers, and whose height leaves room above the pallet itself.
    ///
    /// # Errors
    /// Every fault that was found; lines are not known here.
    pub fn new(file: PalletFile) -> Result<Self, Vec<Problem>> {
        let field = "max_total_height_mm";
        let fault = |value: Option<f64>, message| Problem {
            field: field.into(),
            value: value.map(file::shown_number).unwrap_or_default(),
            line: None,
            message,
        };
        let endless = file.max_total_height_mm.is_none() && file.max_load_kg.is_none() && file.max_layers.is_none();
        if endless {
            return Err(vec![fault(None, Message::new("problem.stack_without_end"))]);
        }
        match file.max_total_height_mm {
            Some(most) if most <= file.height_mm => {
                let message = Message::new("problem.no_room_on_pallet").with("own", length(file.height_mm));
                Err(vec![fault(Some(most), message)])
            }
            _ => Ok(Self { file }),
        }
    }

    /// The card as a file holds it.
    #[must_use]
    pub const fn file(&self) -> &PalletFile {
        &self.file
    }

    /// Length and width that a layer may take, mm: the pallet's top and the overhang allowed on each side.
    #[must_use]
    pub fn layer_room_mm(&self) -> [f64; 2] {
        [self.file.length_mm, self.file.width_mm].map(|side| side + 2.0 * self.file.max_overhang_mm)
    }
}

/// Reads a pallet card.
///
/// # Errors
/// Every fault of the file; see [`FileKind::read`].
pub fn read_pallet(text: &str) -> Result<Pallet, Vec<Problem>> {
    let file = PALLET_KIND.read::<PalletFile>(text)?;
    Pallet::new(file).map_err(|mut problems| {
        file::locate(text, &mut problems);
        problems
    })
}

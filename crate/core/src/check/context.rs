//! What a rule is given.

use crate::bottom::{Bottom, PatchPlace, Sleeve};
use crate::cards::{Line, Pallet, PalletFile, Works, WorksFile};
use crate::check::Habits;
use crate::check::rule::Silence;
use crate::fill::{Content, Filled};
use crate::finding::{Place, Severity};
use crate::pallet::Stack;
use crate::sack::Sack;
use crate::sheet::{Artwork, Contents, CutKind, End, SheetFile};
use crate::tolerance::EXACT_MM;

/// What a sack is held against. All of it may be missing: a rule says which card it lacks.
///
/// A new card is a field here and a method of `Context` that gives it or says that it is lacking.
#[derive(Clone, Copy, Debug, Default)]
pub struct Against<'a> {
    /// The filling line.
    pub line: Option<&'a Line>,
    /// The works' own limits where the trade has habits; `None`: the trade's.
    pub habits: Option<&'a Habits>,
    /// The sack works.
    pub works: Option<&'a Works>,
    /// The pallet.
    pub pallet: Option<&'a Pallet>,
    /// The filled sacks on that pallet.
    pub stack: Option<&'a Stack>,
    /// This very sack filled, as the solver has it: the rules read its figures and never compute them.
    pub filled: Option<&'a Filled>,
}

/// What a rule reads.
#[derive(Clone, Copy)]
pub(super) struct Context<'a> {
    /// The sack.
    pub sack: &'a Sack,
    /// The cards.
    pub against: Against<'a>,
    /// Limits that are habits of the trade.
    pub habits: &'a Habits,
}

impl<'a> Context<'a> {
    /// The sheet.
    pub fn file(&self) -> &'a SheetFile {
        self.sack.file()
    }

    /// Face width W, mm.
    pub fn face_width_mm(&self) -> f64 {
        self.sack.tube().face_width_mm
    }

    /// Both bottoms.
    pub fn bottoms(&self) -> [&'a Bottom; 2] {
        End::ALL.map(|end| self.sack.bottom(end))
    }

    /// The valve end's bottom and its sleeve.
    pub fn valve(&self) -> Result<(&'a Bottom, Sleeve), Silence> {
        let bottom = self.sack.bottom(End::ValveEnd);
        let sleeve = bottom.sleeve.ok_or_else(|| Silence::not_applicable("silent.no_sleeve"))?;
        Ok((bottom, sleeve))
    }

    /// The same for a sleeve that is a tube.
    pub fn tubular_valve(&self) -> Result<(&'a Bottom, Sleeve), Silence> {
        let (bottom, sleeve) = self.valve()?;
        if sleeve.sheets() < 2 {
            return Err(Silence::not_applicable("silent.no_tube"));
        }
        Ok((bottom, sleeve))
    }

    /// The step of a stepped cut with more than one ply, mm.
    pub fn step_mm(&self) -> Result<f64, Silence> {
        let tube = self.sack.tube();
        if tube.plies.len() < 2 {
            return Err(Silence::not_applicable("silent.one_ply"));
        }
        match self.file().cut.kind {
            CutKind::Flush => Err(Silence::not_applicable("silent.flush_cut")),
            CutKind::Stepped => Ok(tube.step_mm),
        }
    }

    /// The bottoms that have a patch, each with it; at least one.
    pub fn patches(&self) -> Result<Vec<(&'a Bottom, PatchPlace)>, Silence> {
        let patches = self.bottoms().into_iter().filter_map(|bottom| Some((bottom, bottom.patch?)));
        let patches: Vec<_> = patches.collect();
        if patches.is_empty() { Err(Silence::not_applicable("silent.no_patch")) } else { Ok(patches) }
    }

    /// The filling line's card.
    pub fn line(&self) -> Result<&'a Line, Silence> {
        self.against.line.ok_or_else(|| Silence::lacks("silent.line"))
    }

    /// The sack works' card.
    pub fn works(&self) -> Result<&'a WorksFile, Silence> {
        self.against.works.map(Works::file).ok_or_else(|| Silence::lacks("silent.works"))
    }

    /// The pallet's card.
    pub fn pallet(&self) -> Result<&'a PalletFile, Silence> {
        self.against.pallet.map(Pallet::file).ok_or_else(|| Silence::lacks("silent.pallet"))
    }

    /// The filled sacks on the pallet.
    pub fn stack(&self) -> Result<&'a Stack, Silence> {
        self.pallet()?;
        self.against.stack.ok_or_else(|| Silence::lacks("silent.stack"))
    }

    /// The same with one layer at least.
    pub fn layers(&self) -> Result<&'a Stack, Silence> {
        let stack = self.stack()?;
        if stack.layers.is_empty() {
            return Err(Silence::not_applicable("silent.no_layer"));
        }
        Ok(stack)
    }

    /// The filled sack.
    pub fn filled(&self) -> Result<&'a Filled, Silence> {
        self.against.filled.ok_or_else(|| Silence::lacks("silent.filled"))
    }

    /// What is filled in.
    pub fn content(&self) -> Result<&'a Content, Silence> {
        self.contents()?;
        self.filled()?.content.as_ref().ok_or_else(|| Silence::lacks("silent.contents"))
    }

    /// The length, mm, and the face width, mm, either of which would leave the headroom that the habits ask for; none where
    /// they were not computed for that.
    pub fn sizes_for_headroom(&self) -> [Option<f64>; 2] {
        let headroom = self.content().ok().map(|content| content.headroom);
        match headroom.filter(|headroom| headroom.asked == self.habits.headroom()) {
            Some(headroom) => [headroom.length_mm, headroom.face_width_mm],
            None => [None; 2],
        }
    }

    /// What is printed on the sack.
    pub fn artwork(&self) -> Result<&'a Artwork, Silence> {
        self.file().artwork.as_ref().ok_or_else(|| Silence::lacks("silent.artwork"))
    }

    /// Air resistance of all plies together, s (Gurley): plies in series add up.
    pub fn gurley_s(&self) -> Result<f64, Silence> {
        let sum: Option<f64> = self.file().plies.iter().map(|ply| ply.air_resistance_gurley_s).sum();
        sum.ok_or_else(|| Silence::lacks("silent.gurley"))
    }

    /// What goes in.
    pub fn contents(&self) -> Result<&'a Contents, Silence> {
        self.file().contents.as_ref().ok_or_else(|| Silence::lacks("silent.contents"))
    }
}

/// Whether a length reaches a limit, rounding aside.
pub(super) fn reaches(value: f64, limit: f64) -> bool {
    value >= limit - EXACT_MM
}

/// Whether a length stays within a limit, rounding aside.
pub(super) fn within(value: f64, limit: f64) -> bool {
    value <= limit + EXACT_MM
}

/// Stop when `possible` does not hold, look when only `advised` does not, else good.
pub(super) const fn weigh(possible: bool, advised: bool) -> Severity {
    match (possible, advised) {
        (false, _) => Severity::Stop,
        (true, false) => Severity::Look,
        (true, true) => Severity::Good,
    }
}

/// The place of an end's bottom.
pub(super) const fn bottom_place(end: End) -> Place {
    match end {
        End::ValveEnd => Place::ValveEndBottom,
        End::PlainEnd => Place::PlainEndBottom,
    }
}

/// The place of an end's pockets.
pub(super) const fn pockets_place(end: End) -> Place {
    match end {
        End::ValveEnd => Place::ValveEndPockets,
        End::PlainEnd => Place::PlainEndPockets,
    }
}

/// The place of an end's lap.
pub(super) const fn lap_place(end: End) -> Place {
    match end {
        End::ValveEnd => Place::ValveEndLap,
        End::PlainEnd => Place::PlainEndLap,
    }
}

/// The place of an end's patch.
pub(super) const fn patch_place(end: End) -> Place {
    match end {
        End::ValveEnd => Place::ValveEndPatch,
        End::PlainEnd => Place::PlainEndPatch,
    }
}

/// The path of a field of an end.
pub(super) fn end_field(end: End, field: &str) -> String {
    format!("{}.{field}", end.name())
}

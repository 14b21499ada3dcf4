//! What a rule is given, and what it gives back.

use crate::bottom::{Bottom, Sleeve};
use crate::cards::Line;
use crate::check::Habits;
use crate::finding::{Arg, Change, Cure, Finding, Message, Place, Severity, Topic};
use crate::sack::Sack;
use crate::sheet::{End, SheetFile};
use crate::tolerance::EXACT_MM;
use crate::units::{Quantity, length};

/// What a rule reads.
#[derive(Clone, Copy)]
pub(super) struct Context<'a> {
    /// The sack.
    pub sack: &'a Sack,
    /// The filling line, if there is one.
    pub line: Option<&'a Line>,
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
    pub fn valve(&self) -> Option<(&'a Bottom, Sleeve)> {
        let bottom = self.sack.bottom(End::ValveEnd);
        bottom.sleeve.map(|sleeve| (bottom, sleeve))
    }
}

/// What a rule says at one place, with the remedies that its formula gives, the preferred one first.
pub(super) struct Judgement {
    /// The finding, its cure still open.
    pub finding: Finding,
    /// Remedies, not tried yet.
    pub remedies: Vec<Cure>,
}

impl Judgement {
    /// A judgement without figures yet.
    pub fn new(
        rule: &'static str,
        place: Place,
        severity: Severity,
        source: &'static str,
        message: &'static str,
    ) -> Self {
        let message = Message::new(message);
        // The table of rules says what each is about.
        let topic = Topic::Make;
        let finding = Finding { rule, topic, severity, place, value: None, limit: None, source, message, cure: None };
        Self { finding, remedies: Vec::new() }
    }

    /// The sack's value and the limit that it was compared with; they fill {value} and {limit} too.
    pub fn compared(self, value: Quantity, limit: Quantity) -> Self {
        self.weighed(value, limit).with("value", value).with("limit", limit)
    }

    /// The sack's value and the limit that it was compared with, where the message says them in another way.
    pub fn weighed(mut self, value: Quantity, limit: Quantity) -> Self {
        self.finding.value = Some(value);
        self.finding.limit = Some(limit);
        self
    }

    /// One more placeholder of the message, where there is something to fill it.
    pub fn with_some(self, name: &'static str, arg: Option<impl Into<Arg>>) -> Self {
        match arg {
            Some(arg) => self.with(name, arg),
            None => self,
        }
    }

    /// One more placeholder of the message.
    pub fn with(mut self, name: &'static str, arg: impl Into<Arg>) -> Self {
        self.finding.message = self.finding.message.with(name, arg);
        self
    }

    /// One more remedy.
    pub fn remedy(mut self, remedy: Cure) -> Self {
        self.remedies.push(remedy);
        self
    }
}

/// A remedy that sets one length; the message's {value} is that length.
pub(super) fn set_length(message: &'static str, field: impl Into<String>, value: f64) -> Cure {
    Cure {
        message: Message::new(message).with("value", length(value)),
        set: vec![Change { field: field.into(), value }],
    }
}

/// A remedy that sets several lengths; each fills a placeholder of its own.
pub(super) fn set_lengths<const N: usize>(message: &'static str, set: [(&'static str, String, f64); N]) -> Cure {
    let words = set.iter().fold(Message::new(message), |words, (name, _, value)| words.with(name, length(*value)));
    Cure { message: words, set: set.map(|(_, field, value)| Change { field, value }).to_vec() }
}

/// A remedy that sets one field to 0; its message needs no figure.
pub(super) fn set_zero(message: &'static str, field: impl Into<String>) -> Cure {
    Cure { message: Message::new(message), set: vec![Change { field: field.into(), value: 0.0 }] }
}

/// A remedy that is not a change of the sheet; the message's {value} is a length.
pub(super) fn elsewhere(message: &'static str, value: f64) -> Cure {
    Cure { message: Message::new(message).with("value", length(value)), set: Vec::new() }
}

/// Whether a length reaches a limit, rounding aside.
pub(super) fn reaches(value: f64, limit: f64) -> bool {
    value >= limit - EXACT_MM
}

/// Whether a length stays within a limit, rounding aside.
pub(super) fn within(value: f64, limit: f64) -> bool {
    value <= limit + EXACT_MM
}

/// The next whole millimetre that is no smaller.
pub(super) fn up(value: f64) -> f64 {
    (value - EXACT_MM).ceil()
}

/// The next whole millimetre that is no larger.
pub(super) fn down(value: f64) -> f64 {
    (value + EXACT_MM).floor()
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

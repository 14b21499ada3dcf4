//! Making remedies: what a rule proposes from its own formula.

use crate::bottom::Sleeve;
use crate::check::context::end_field;
use crate::finding::{Change, Cure, Message};
use crate::sheet::End;
use crate::tolerance::EXACT_MM;
use crate::units::length;

/// Sets one length; the message's {value} is that length.
pub(super) fn set_length(message: &'static str, field: impl Into<String>, value: f64) -> Cure {
    Cure::new(Message::new(message).with("value", length(value)), vec![Change { field: field.into(), value }])
}

/// Sets several lengths; each fills a placeholder of its own.
pub(super) fn set_lengths<const N: usize>(message: &'static str, set: [(&'static str, String, f64); N]) -> Cure {
    let words = set.iter().fold(Message::new(message), |words, (name, _, value)| words.with(name, length(*value)));
    Cure::new(words, set.map(|(_, field, value)| Change { field, value }).to_vec())
}

/// Sets the step and an end's lap to the same length.
pub(super) fn step_and_lap(end: End, both: f64) -> Cure {
    set_lengths(
        "cure.step_and_lap",
        ["cut.step_mm".into(), end_field(end, "lap_mm")].map(|field| ("value", field, both)),
    )
}

/// Sets fields to 0; the message needs no figure.
pub(super) fn set_zero<const N: usize>(message: &'static str, fields: [String; N]) -> Cure {
    Cure::new(Message::new(message), fields.map(|field| Change { field, value: 0.0 }).to_vec())
}

/// Turns the sleeve straight; none where it is.
pub(super) fn unturned(sleeve: &Sleeve) -> Option<Cure> {
    (sleeve.skew_deg != 0.0).then(|| set_zero("cure.sleeve_unturned", ["valve_end.valve.skew_deg".into()]))
}

/// Not a change of the sheet; the message's {value} is a length.
pub(super) fn elsewhere(message: &'static str, value: f64) -> Cure {
    Cure::new(Message::new(message).with("value", length(value)), Vec::new())
}

/// Another spout; none where no card can have one with this measure, mm.
pub(super) fn spout(message: &'static str, value: f64) -> Option<Cure> {
    is_spout_size(value).then(|| elsewhere(message, value))
}

/// Whether a card can have a spout with such a measure, mm: as its schema has it, but for a reach, which may be longer
/// than any sack's.
pub(super) fn is_spout_size(value: f64) -> bool {
    (5.0..=500.0).contains(&value)
}

/// Not a change of the sheet, and without a figure.
pub(super) fn advice(message: &'static str) -> Cure {
    Cure::new(Message::new(message), Vec::new())
}

/// The next whole millimetre that is no smaller.
pub(super) fn up(value: f64) -> f64 {
    (value - EXACT_MM).ceil()
}

/// The next whole millimetre that is no larger.
pub(super) fn down(value: f64) -> f64 {
    (value + EXACT_MM).floor()
}

//! What the core has to say: messages, problems, findings and cures. Never a sentence: a key into the words table and
//! typed quantities. The page and the command line put them into words, units and locale from the same table.

use std::borrow::Cow;

use serde::{Serialize, Serializer};

use crate::units::Quantity;

/// What fills a placeholder of a message.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(untagged)]
pub enum Arg {
    /// A value with its dimension.
    Quantity(Quantity),
    /// Text as a person or a file gave it.
    Text {
        /// Always `"text"`; tells it apart from a quantity in JSON.
        kind: TextKind,
        /// The text.
        text: String,
    },
    /// A word of the table.
    Word {
        /// Always `"word"`.
        kind: WordKind,
        /// The word's key.
        key: String,
    },
}

/// The tag of [`Arg::Text`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum TextKind {
    /// Text.
    Text,
}

/// The tag of [`Arg::Word`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum WordKind {
    /// Word.
    Word,
}

impl From<Quantity> for Arg {
    fn from(quantity: Quantity) -> Self {
        Self::Quantity(quantity)
    }
}

impl Arg {
    /// Text as a person or a file gave it.
    pub fn text(text: impl Into<String>) -> Self {
        Self::Text { kind: TextKind::Text, text: text.into() }
    }

    /// A word of the table by its key.
    pub fn word(key: impl Into<String>) -> Self {
        Self::Word { kind: WordKind::Word, key: key.into() }
    }
}

/// A key into the words table with what fills its placeholders.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Message {
    /// The key, a path with dots.
    pub key: Cow<'static, str>,
    /// Placeholder name to value.
    pub args: Args,
}

impl Message {
    /// A message without placeholders yet.
    pub fn new(key: impl Into<Cow<'static, str>>) -> Self {
        Self { key: key.into(), args: Args::default() }
    }

    /// The same message with one more placeholder filled.
    #[must_use]
    pub fn with(mut self, name: &'static str, arg: impl Into<Arg>) -> Self {
        self.args.insert(name, arg.into());
        self
    }
}

/// What fills a message's placeholders, by name in order of the alphabet. A list: messages have a handful of them, and rules
/// are tried by the hundred.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Args(Vec<(&'static str, Arg)>);

impl Args {
    /// What fills a placeholder.
    #[must_use]
    pub fn get(&self, name: &str) -> Option<&Arg> {
        self.iter().find(|(known, _)| *known == name).map(|(_, arg)| arg)
    }

    /// Names with what fills them.
    pub fn iter(&self) -> impl Iterator<Item = (&'static str, &Arg)> {
        self.0.iter().map(|(name, arg)| (*name, arg))
    }

    /// Fills a placeholder, anew if it was filled before.
    pub(crate) fn insert(&mut self, name: &'static str, arg: Arg) {
        let after = self.0.iter().position(|(known, _)| *known >= name).unwrap_or(self.0.len());
        match self.0.get_mut(after) {
            Some((known, old)) if *known == name => *old = arg,
            _ => self.0.insert(after, (name, arg)),
        }
    }
}

impl Serialize for Args {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_map(self.iter())
    }
}

/// Why a file can't be taken: one entry per fault, all of them at once.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Problem {
    /// Path of the field, `valve_end.valve.flat_width_mm` or `plies.2.grammage_g_m2`; empty for the whole file.
    pub field: String,
    /// The value as it stands in the file, as JSON text; empty when there is none.
    pub value: String,
    /// Line in the file, from 1; `None` for a field that is not there.
    pub line: Option<usize>,
    /// What is wrong and what would do.
    pub message: Message,
}

/// How much a finding weighs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Severity {
    /// The sack can't be made, filled or sold like this.
    Stop,
    /// Somebody should look at it.
    Look,
    /// Holds.
    Good,
}

/// What a finding is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Topic {
    /// Whether the sack goes on the filling line.
    Line,
    /// Whether the sack can be made as it is drawn.
    Make,
    /// Whether the product goes in, and how the sack lies with it.
    Fill,
    /// How the filled sacks lie on the pallet.
    Pallet,
    /// A caution: it tells of the product or of handling, and stands in no sack's way.
    Care,
}

/// How sure a limit is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Certainty {
    /// Follows from the folding, or is as a card or a rule says.
    Sure,
    /// Habit of the trade; works differ.
    Usual,
    /// An assumption, or hearsay: ask somebody who knows.
    Guess,
}

impl Certainty {
    /// Every certainty, the surest first.
    pub const ALL: [Self; 3] = [Self::Sure, Self::Usual, Self::Guess];

    /// Its name in files and at the boundary.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Sure => "sure",
            Self::Usual => "usual",
            Self::Guess => "guess",
        }
    }
}

/// Where on the sack a finding is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Place {
    /// Across the face.
    FaceWidth,
    /// Along the sack.
    Length,
    /// The tear or cut lines.
    Cut,
    /// The longitudinal seam.
    Seam,
    /// The stack of plies.
    Plies,
    /// What goes in.
    Contents,
    /// The valve's mouth.
    Valve,
    /// The valve sleeve.
    Sleeve,
    /// The valve end's bottom.
    ValveEndBottom,
    /// The plain end's bottom.
    PlainEndBottom,
    /// The valve end's pockets.
    ValveEndPockets,
    /// The plain end's pockets.
    PlainEndPockets,
    /// The valve end's lap.
    ValveEndLap,
    /// The plain end's lap.
    PlainEndLap,
    /// The valve end's patch.
    ValveEndPatch,
    /// The plain end's patch.
    PlainEndPatch,
    /// The barcode.
    Barcode,
}

impl Place {
    /// Every place, in reading order.
    pub const ALL: [Self; 17] = [
        Self::FaceWidth,
        Self::Length,
        Self::Cut,
        Self::Seam,
        Self::Plies,
        Self::Contents,
        Self::Valve,
        Self::Sleeve,
        Self::ValveEndBottom,
        Self::PlainEndBottom,
        Self::ValveEndPockets,
        Self::PlainEndPockets,
        Self::ValveEndLap,
        Self::PlainEndLap,
        Self::ValveEndPatch,
        Self::PlainEndPatch,
        Self::Barcode,
    ];

    /// Its name in files and at the boundary.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::FaceWidth => "face-width",
            Self::Length => "length",
            Self::Cut => "cut",
            Self::Seam => "seam",
            Self::Plies => "plies",
            Self::Contents => "contents",
            Self::Valve => "valve",
            Self::Sleeve => "sleeve",
            Self::ValveEndBottom => "valve-end-bottom",
            Self::PlainEndBottom => "plain-end-bottom",
            Self::ValveEndPockets => "valve-end-pockets",
            Self::PlainEndPockets => "plain-end-pockets",
            Self::ValveEndLap => "valve-end-lap",
            Self::PlainEndLap => "plain-end-lap",
            Self::ValveEndPatch => "valve-end-patch",
            Self::PlainEndPatch => "plain-end-patch",
            Self::Barcode => "barcode",
        }
    }
}

/// A change of one field that a cure proposes.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Change {
    /// Path of the field in the sheet.
    pub field: String,
    /// The new value, in the field's unit.
    pub value: f64,
}

/// What would make a finding good, computed from the rule's own formula.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Cure {
    /// In words: "valve 114 mm or wider".
    pub message: Message,
    /// The fields to set, a barcode's that goes along among them; empty when the cure is not a change of the sheet.
    pub set: Vec<Change>,
    /// What gets worse for it. What can't be told before the filled shape is computed anew is not among it.
    pub worsens: Vec<Worse>,
}

impl Cure {
    /// A cure of which nothing is known yet to get worse.
    #[must_use]
    pub const fn new(message: Message, set: Vec<Change>) -> Self {
        Self { message, set, worsens: Vec::new() }
    }
}

/// A finding that a cure brings about, or makes weigh more.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Worse {
    /// Name of the rule whose finding it is.
    pub rule: &'static str,
    /// Where on the sack.
    pub place: Place,
    /// How much it weighs then.
    pub severity: Severity,
}

/// What one rule says of a sack.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Finding {
    /// The rule's name.
    pub rule: &'static str,
    /// What it is about.
    pub topic: Topic,
    /// How much it weighs.
    pub severity: Severity,
    /// Where on the sack.
    pub place: Place,
    /// The sack's value.
    pub value: Option<Quantity>,
    /// The limit that was compared with.
    pub limit: Option<Quantity>,
    /// Key of the words that say where the limit comes from.
    pub source: &'static str,
    /// How sure the limit is.
    pub certainty: Certainty,
    /// What was found.
    pub message: Message,
    /// What would do.
    pub cure: Option<Cure>,
}

/// Why a rule says nothing of a sack.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum SilenceKind {
    /// It lacks an input.
    Lacks,
    /// The sack has nothing that it is about.
    NotApplicable,
}

/// A rule that says nothing of a sack, and why.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Silent {
    /// The rule's name.
    pub rule: &'static str,
    /// What it is about.
    pub topic: Topic,
    /// Why, in short.
    pub kind: SilenceKind,
    /// What it lacks, or why it does not apply.
    pub message: Message,
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::length;

    #[test]
    fn a_message_in_json_is_a_key_with_typed_quantities() {
        let message = Message::new("finding.x").with("gap", length(12.5)).with("who", Arg::text("me"));
        assert_eq!(
            serde_json::to_string(&message).unwrap(),
            r#"{"key":"finding.x","args":{"gap":{"kind":"length","value":12.5},"who":{"kind":"text","text":"me"}}}"#
        );
    }

    #[test]
    fn places_are_named_alike_in_json_and_by_name() {
        for place in Place::ALL {
            assert_eq!(serde_json::to_string(&place).unwrap(), format!("\"{}\"", place.name()));
        }
    }

    #[test]
    fn certainties_are_named_alike_in_json_and_by_name() {
        for certainty in Certainty::ALL {
            assert_eq!(serde_json::to_string(&certainty).unwrap(), format!("\"{}\"", certainty.name()));
        }
    }
}

//! The words of the page's own table, with typed quantities written in.

use sackwright::drawing::LengthUnit;
use sackwright::finding::{Arg, Message};
use sackwright::units::{Dimension, Quantity};
use serde_json::Value;

/// The one table of words that page and command share.
const TABLE: &str = include_str!("../../../web/words/en.json");

/// A table of words, and what lengths are told in.
#[derive(Clone, Debug)]
pub struct Words {
    table: Value,
    unit: LengthUnit,
}

impl Words {
    /// The English table.
    ///
    /// # Errors
    /// When the table that was built in is not JSON.
    pub fn load() -> Result<Self, String> {
        let table = serde_json::from_str(TABLE).map_err(|error| format!("words: {error}"))?;
        Ok(Self { table, unit: LengthUnit::Millimetre })
    }

    /// The same words with lengths in another unit.
    pub fn lengths_in(mut self, unit: LengthUnit) -> Self {
        self.unit = unit;
        self
    }

    /// A length in mm as a number in the unit that lengths are told in.
    pub fn bare_length(&self, value_mm: f64) -> String {
        self.length(value_mm, 1)
    }

    /// An inch is told with a decimal more.
    fn length(&self, value_mm: f64, decimals: usize) -> String {
        match self.unit {
            LengthUnit::Millimetre => number(value_mm, decimals),
            LengthUnit::Inch => number(value_mm / 25.4, decimals + 1),
        }
    }

    /// The words of a key; the key itself where the table has none, so that nothing is lost.
    pub fn text(&self, key: &str) -> String {
        let found = key.split('.').try_fold(&self.table, |table, step| table.get(step));
        found.and_then(Value::as_str).unwrap_or(key).to_string()
    }

    /// A message with its placeholders filled.
    pub fn message(&self, message: &Message) -> String {
        let more = self.more_decimals(message);
        let mut rest = self.text(&message.key);
        let mut text = String::new();
        // Left to right, so that what a person typed is never taken for a placeholder.
        while let Some(start) = rest.find('{') {
            let Some(length) = rest[start..].find('}') else { break };
            let name = &rest[start + 1..start + length];
            text += &rest[..start];
            match message.args.get(name) {
                Some(arg) => text += &self.arg(arg, more),
                None => text += &rest[start..=start + length],
            }
            rest = rest[start + length + 1..].to_string();
        }
        text + &rest
    }

    /// How many decimals more a message's quantities take, so that its value does not read like a limit that it misses.
    fn more_decimals(&self, message: &Message) -> usize {
        let Some(&Arg::Quantity(value)) = message.args.get("value") else { return 0 };
        let others = || {
            message.args.iter().filter_map(|(_, arg)| match arg {
                Arg::Quantity(other) if other.dimension == value.dimension && other.value != value.value => {
                    Some(*other)
                }
                _ => None,
            })
        };
        let differs = |more: &usize| others().all(|other| self.quantity(other, *more) != self.quantity(value, *more));
        (0..=MOST_MORE_DECIMALS).find(differs).unwrap_or(0)
    }

    fn arg(&self, arg: &Arg, more: usize) -> String {
        match arg {
            Arg::Quantity(quantity) => self.quantity(*quantity, more),
            Arg::Text { text, .. } => text.clone(),
            Arg::Word { key, .. } => self.text(key),
        }
    }

    /// With so many decimals more than usual, at most.
    fn quantity(&self, Quantity { dimension, value }: Quantity, more: usize) -> String {
        let unit = |name: &str| format!(" {}", self.text(&format!("page.unit.{name}")));
        match dimension {
            // Paper is thinner than a tenth of a millimetre is wide.
            Dimension::Length if value.abs() < 1.0 => self.length(value, 2 + more) + &unit(self.unit.name()),
            Dimension::Length => self.length(value, 1 + more) + &unit(self.unit.name()),
            Dimension::Mass => number(value, 2 + more) + &unit("kg"),
            Dimension::MassSmall => number(value, 1 + more) + &unit("g"),
            Dimension::Volume => number(value, 1 + more) + &unit("l"),
            Dimension::Area => number(value, more) + &unit("mm2"),
            Dimension::Angle => number(value, 1 + more) + self.text("page.unit.deg").as_str(),
            Dimension::Ratio => number(100.0 * value, 1 + more) + &unit("percent"),
            Dimension::Density => number(value, more) + &unit("kg_m3"),
            Dimension::Rate => number(value, more) + &unit("per_h"),
            Dimension::Grammage => number(value, 1 + more) + &unit("g_m2"),
            Dimension::Time => number(value, 1 + more) + &unit("s"),
            Dimension::Count => number(value, more),
            Dimension::Number => number(value, 3 + more),
        }
    }
}

/// What is nearer to a limit than this many decimals more can tell reads like the limit.
const MOST_MORE_DECIMALS: usize = 4;

/// A number with at most so many decimals, with the sign for minus.
pub fn number(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    let short = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    if short == "-0" { "0".into() } else { short.replace('-', "\u{2212}") }
}

#[cfg(test)]
mod tests {
    use super::*;
    use sackwright::units::{length, ratio};

    #[test]
    fn numbers_carry_no_needless_noughts() {
        assert_eq!(number(114.0, 1), "114");
        assert_eq!(number(0.12, 2), "0.12");
        assert_eq!(number(-0.001, 1), "0");
        assert_eq!(number(100.0, 0), "100");
    }

    #[test]
    fn quantities_are_written_with_the_page_s_units() {
        let words = Words::load().unwrap();
        assert_eq!(words.quantity(length(107.75), 0), "107.8 mm");
        assert_eq!(words.quantity(ratio(0.04), 0), "4 %");
        let inches = words.clone().lengths_in(LengthUnit::Inch);
        assert_eq!(inches.quantity(length(107.95), 0), "4.25 in");
        assert_eq!(inches.bare_length(-12.7), "\u{2212}0.5");
        assert_eq!(words.quantity(ratio(-0.18), 0), "\u{2212}18 %");
        for dimension in [
            Dimension::Mass,
            Dimension::MassSmall,
            Dimension::Volume,
            Dimension::Area,
            Dimension::Angle,
            Dimension::Density,
            Dimension::Rate,
            Dimension::Grammage,
            Dimension::Time,
        ] {
            let text = words.quantity(Quantity { dimension, value: 3.0 }, 0);
            assert!(!text.contains("page."), "{text}");
        }
    }

    #[test]
    fn a_value_does_not_read_like_the_limit_that_it_misses() {
        let words = Words::load().unwrap();
        let said = |value: f64| {
            let message = Message::new("finding.lap.short").with("value", length(value)).with("limit", length(20.0));
            words.message(&message)
        };
        assert!(said(19.94).contains("by 19.9 mm; 20 mm"), "{}", said(19.94));
        assert!(said(19.97).contains("by 19.97 mm; 20 mm"), "{}", said(19.97));
        assert!(said(19.9996).contains("by 19.9996 mm; 20 mm"), "{}", said(19.9996));
        assert!(said(20.0 - 1e-10).contains("by 20 mm; 20 mm"));
    }

    #[test]
    fn what_a_person_typed_is_not_a_placeholder() {
        let words = Words::load().unwrap();
        let message = Message::new("problem.unknown_key").with("key", Arg::text("{key}"));
        assert!(words.message(&message).contains("{key}"));
        assert_eq!(words.text("no.such.key"), "no.such.key");
    }
}

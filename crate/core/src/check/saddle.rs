//! The saddle can be set for the sack: the flat sack length L against the card's distance from spout to saddle.
//!
//! A first estimate: the filled sack is shorter than the flat one, and its foot is round. Medium certainty, so never
//! more than a look.

use crate::check::context::{Context, reaches, within};
use crate::check::remedy::{down, elsewhere, set_length, up};
use crate::check::rule::{Judgement, Outcome, Rule, Silence};
use crate::finding::{Certainty, Place, Severity, Topic};
use crate::units::length;

const FIELD: &str = "length_mm";

pub(super) const RULE: Rule =
    Rule { name: "saddle", topic: Topic::Line, source: "source.saddle", certainty: Certainty::Usual, check };

fn check(context: &Context) -> Outcome {
    let line = context.line()?;
    if context.content().is_ok_and(|content| content.hanging.is_some()) {
        return Err(Silence::not_applicable("silent.hanging_known"));
    }
    let range = line.file().spout_to_saddle_mm;
    let value = context.file().length_mm;
    let judge = |severity, message, limit| {
        Judgement::new(Place::Length, severity, message).compared(length(value), length(limit))
    };
    // Where the card has both ends of the range, both are said.
    let of = |other: Option<f64>, both, one| if other.is_some() { both } else { one };
    let judgement = match (range.min, range.max) {
        (Some(min), max) if !reaches(value, min) => {
            judge(Severity::Look, of(max, "finding.saddle.too_short_of", "finding.saddle.too_short"), min)
                .with_some("most", max.map(length))
                .remedy(|| set_length("cure.length_least", FIELD, up(min)))
                .remedy(|| set_length("cure.length_least", FIELD, min))
                .remedy(|| elsewhere("cure.saddle_other", value))
        }
        (min, Some(max)) if !within(value, max) => {
            judge(Severity::Look, of(min, "finding.saddle.too_long_of", "finding.saddle.too_long"), max)
                .with_some("least", min.map(length))
                .remedy(|| set_length("cure.length_most", FIELD, down(max)))
                .remedy(|| set_length("cure.length_most", FIELD, max))
                .remedy(|| elsewhere("cure.saddle_other", value))
        }
        (Some(min), Some(max)) => judge(Severity::Good, "finding.saddle.holds", max).with("least", length(min)),
        (None, Some(max)) => judge(Severity::Good, "finding.saddle.holds_to", max),
        (Some(min), None) => judge(Severity::Good, "finding.saddle.holds_from", min),
        (None, None) => return Err(Silence::lacks("silent.saddle")),
    };
    Ok(vec![judgement])
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::check::{support, testing};

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(1000))]

        #[test]
        fn it_judges_by_the_flat_length(file in support::valid_sheet(), line in support::valid_line()) {
            let range = line.file().spout_to_saddle_mm;
            let outside =
                range.min.is_some_and(|min| file.length_mm < min) || range.max.is_some_and(|max| file.length_mm > max);
            let asked = range.min.is_some() || range.max.is_some();
            let expected = asked.then_some(if outside { Severity::Look } else { Severity::Good });
            prop_assert_eq!(testing::severity(&file, Some(&line), &RULE, Place::Length), expected);
        }
    }
}

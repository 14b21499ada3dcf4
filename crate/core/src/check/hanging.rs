//! The saddle can be set for the filled sack: its length hanging on the spout against the card's distance from spout to
//! saddle.
//!
//! min <= length <= max, from the valve bottom, under which the spout lies, to the foot. The length is computed with the
//! filled shape; medium certainty, so never more than a look. Where it is not computed, the flat length stands in for it.

use crate::check::context::{Context, reaches, within};
use crate::check::remedy::elsewhere;
use crate::check::rule::{Judgement, Outcome, Rule, Silence};
use crate::finding::{Certainty, Place, Severity, Topic};
use crate::units::length;

pub(super) const RULE: Rule =
    Rule { name: "hanging", topic: Topic::Line, source: "source.hanging", certainty: Certainty::Usual, check };

fn check(context: &Context) -> Outcome {
    let range = context.line()?.file().spout_to_saddle_mm;
    let long = context.content()?.hanging.ok_or_else(|| Silence::lacks("silent.hanging"))?.length_mm;
    let judge = |severity, message, limit| {
        Judgement::new(Place::Length, severity, message).compared(length(long), length(limit))
    };
    let judgement = match (range.min, range.max) {
        (Some(min), _) if !reaches(long, min) => judge(Severity::Look, "finding.hanging.short", min),
        (_, Some(max)) if !within(long, max) => judge(Severity::Look, "finding.hanging.long", max),
        (Some(min), Some(max)) => judge(Severity::Good, "finding.hanging.holds", max).with("least", length(min)),
        (None, Some(max)) => judge(Severity::Good, "finding.hanging.holds_to", max),
        (Some(min), None) => judge(Severity::Good, "finding.hanging.holds_from", min),
        (None, None) => return Err(Silence::lacks("silent.saddle")),
    };
    Ok(vec![judgement.remedy(|| elsewhere("cure.saddle_filled", long))])
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::check::{Against, support, testing};

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(1000))]

        /// One of the two rules for the saddle speaks: of the filled sack where that is known, else of the flat one.
        #[test]
        fn it_judges_by_the_filled_length(
            file in support::valid_sheet(), line in support::valid_line(), filled in support::maybe_filled(),
        ) {
            let range = line.file().spout_to_saddle_mm;
            let content = filled.as_ref().and_then(|filled| filled.content).filter(|_| file.contents.is_some());
            let hanging = content.and_then(|content| content.hanging);
            let outside = |long: f64| range.min.is_some_and(|min| long < min) || range.max.is_some_and(|max| long > max);
            let asked = range.min.is_some() || range.max.is_some();
            let expected = |long: f64| asked.then_some(if outside(long) { Severity::Look } else { Severity::Good });
            let against = Against { line: Some(&line), filled: filled.as_ref(), ..Against::default() };
            let flat = testing::severity_against(&file, &against, &crate::check::saddle::RULE, Place::Length);
            let found = testing::severity_against(&file, &against, &RULE, Place::Length);
            match hanging {
                Some(hanging) => prop_assert_eq!((found, flat), (expected(hanging.length_mm), None)),
                None => prop_assert_eq!((found, flat), (None, expected(file.length_mm))),
            }
        }
    }
}

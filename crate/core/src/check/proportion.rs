//! The sack is longer than wide, by a usual proportion: else width and length may have been exchanged.
//!
//! 1.1 <= L/W <= 1.7. Trade habit, medium certainty: the order in which sizes are written differs from buyer to buyer, and
//! this is how an exchange shows.

use crate::check::context::{Context, reaches, within};
use crate::check::remedy::{down, set_length, up};
use crate::check::rule::{Judgement, Outcome, Rule};
use crate::finding::{Certainty, Place, Severity, Topic};
use crate::units::{Dimension, Quantity, quantity};

pub(super) const RULE: Rule =
    Rule { name: "proportion", topic: Topic::Make, source: "source.proportion", certainty: Certainty::Usual, check };

fn check(context: &Context) -> Outcome {
    let (width, long) = (context.face_width_mm(), context.file().length_mm);
    let (least, most) = (context.habits.least_proportion, context.habits.most_proportion);
    let times = |value: f64| quantity(Dimension::Number, value);
    let judge = |severity, message, limit: Quantity| {
        Judgement::new(Place::Length, severity, message)
            .weighed(times(long / width), limit)
            .with("value", times(long / width))
            .with("least", times(least))
            .with("most", times(most))
    };
    // Compared as lengths, so that the tolerance is a length.
    let judgement = if !reaches(long, least * width) {
        judge(Severity::Look, "finding.proportion.short", times(least))
            .remedy(|| set_length("cure.length_least", "length_mm", up(least * width)))
    } else if !within(long, most * width) {
        judge(Severity::Look, "finding.proportion.long", times(most))
            .remedy(|| set_length("cure.length_most", "length_mm", down(most * width)))
            .remedy(|| set_length("cure.face_width_least", "face_width_mm", up(long / most)))
    } else {
        judge(Severity::Good, "finding.proportion.holds", times(most))
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
        fn it_judges_by_the_usual_proportion(file in support::valid_sheet(), habits in support::habits()) {
            let (least, most) = (habits.least_proportion, habits.most_proportion);
            let times = file.length_mm / file.face_width_mm;
            prop_assume!((times - least).abs() > 1e-9 && (times - most).abs() > 1e-9);
            let expected = if (least..=most).contains(&times) { Severity::Good } else { Severity::Look };
            prop_assert_eq!(testing::severity_by(&habits, &file, None, &RULE, Place::Length), Some(expected));
        }
    }
}

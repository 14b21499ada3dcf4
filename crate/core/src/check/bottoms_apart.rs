//! Folded flat, the two bottoms keep apart on the face that both lie on.
//!
//! L >= B1 + B2 + gap: each bottom hides its width of the face. Bottoms that meet are no sack at all and never come here.
//! Follows from the folding; the gap is an assumption, low certainty.

use crate::check::context::{Context, reaches};
use crate::check::remedy::{set_length, up};
use crate::check::rule::{Judgement, Outcome, Rule};
use crate::finding::{Certainty, Place, Topic};
use crate::units::length;

pub(super) const RULE: Rule = Rule {
    name: "bottoms-apart",
    topic: Topic::Make,
    source: "source.bottoms_apart",
    certainty: Certainty::Guess,
    check,
};

fn check(context: &Context) -> Outcome {
    let bottoms: f64 = context.bottoms().map(|bottom| bottom.width_mm).iter().sum();
    let distance = context.file().length_mm - bottoms;
    let least = context.habits.folded_gap_mm;
    let judgement = Judgement::advised(
        Place::Length,
        reaches(distance, least),
        ["finding.bottoms_apart.holds", "finding.bottoms_apart.close"],
    )
    .compared(length(distance), length(least))
    .remedy(|| set_length("cure.length_least", "length_mm", up(bottoms + least)));
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
        fn it_judges_by_what_the_bottoms_leave_of_the_face(file in support::valid_sheet(), habits in support::habits()) {
            let seen = file.length_mm - file.valve_end.bottom_width_mm - file.plain_end.bottom_width_mm;
            let expected = testing::expected(seen, f64::NEG_INFINITY, habits.folded_gap_mm);
            prop_assume!(expected.is_some());
            prop_assert_eq!(testing::severity_by(&habits, &file, None, &RULE, Place::Length), expected);
        }
    }
}

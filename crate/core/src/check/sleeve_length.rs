//! A tubular sleeve is long against its width, so that it lies flat when the product presses on it.
//!
//! ls >= 1.2 wv; for fine powders works take 1.5. Trade habit, medium certainty. How far it must reach past the pocket is
//! another rule's.

use crate::check::context::{Context, reaches};
use crate::check::remedy::{down, set_length, up};
use crate::check::rule::{Judgement, Outcome, Rule};
use crate::finding::{Certainty, Place, Topic};
use crate::units::length;

pub(super) const RULE: Rule = Rule {
    name: "sleeve-length",
    topic: Topic::Make,
    source: "source.sleeve_length",
    certainty: Certainty::Usual,
    check,
};

fn check(context: &Context) -> Outcome {
    let (_, sleeve) = context.tubular_valve()?;
    let share = context.habits.sleeve_length_share;
    let least = share * sleeve.width_mm;
    let judgement = Judgement::advised(
        Place::Sleeve,
        reaches(sleeve.length_mm, least),
        ["finding.sleeve_length.holds", "finding.sleeve_length.short"],
    )
    .compared(length(sleeve.length_mm), length(least))
    .remedy(|| set_length("cure.sleeve_length_least", "valve_end.valve.length_mm", up(least)))
    .remedy(|| set_length("cure.valve_width_most", "valve_end.valve.flat_width_mm", down(sleeve.length_mm / share)));
    Ok(vec![judgement])
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::check::{support, testing};
    use crate::sheet::SleeveKind;

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(1000))]

        #[test]
        fn it_judges_by_the_sleeve_s_width(file in support::valid_sheet(), habits in support::habits()) {
            let valve = &file.valve_end.valve;
            let expected = testing::expected(valve.length_mm - habits.sleeve_length_share * valve.flat_width_mm, f64::NEG_INFINITY, 0.0);
            prop_assume!(expected.is_some());
            let expected = expected.filter(|_| valve.sleeve != SleeveKind::Reinforcement);
            prop_assert_eq!(testing::severity_by(&habits, &file, None, &RULE, Place::Sleeve), expected);
        }
    }
}

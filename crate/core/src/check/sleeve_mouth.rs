//! The sleeve's mouth stands where its kind wants it.
//!
//! An internal sleeve ends at the bottom's end edge, 5 mm behind it to 10 mm before it; an external one stands out by 60 to
//! 150 mm, to be tucked in. Trade habit, low certainty.

use crate::check::context::{Context, reaches, within};
use crate::check::remedy::set_length;
use crate::check::rule::{Judgement, Outcome, Rule};
use crate::finding::{Certainty, Place, Severity, Topic};
use crate::sheet::SleeveKind;
use crate::units::length;

pub(super) const RULE: Rule = Rule {
    name: "sleeve-mouth",
    topic: Topic::Make,
    source: "source.sleeve_mouth",
    certainty: Certainty::Guess,
    check,
};

fn check(context: &Context) -> Outcome {
    let (_, sleeve) = context.tubular_valve()?;
    let habits = context.habits;
    let external = sleeve.kind == SleeveKind::External;
    let (least, most) = if external {
        (habits.least_tuck_mm, habits.most_tuck_mm)
    } else {
        (-habits.mouth_behind_mm, habits.mouth_before_mm)
    };
    let out = sleeve.outer_end_mm;
    let (severity, limit, message) = if !reaches(out, least) {
        let message =
            if external { "finding.sleeve_mouth.external_short" } else { "finding.sleeve_mouth.internal_back" };
        (Severity::Look, least, message)
    } else if !within(out, most) {
        let message = if external { "finding.sleeve_mouth.external_long" } else { "finding.sleeve_mouth.internal_out" };
        (Severity::Look, most, message)
    } else {
        (Severity::Good, most, "finding.sleeve_mouth.holds")
    };
    let judgement = Judgement::new(Place::Sleeve, severity, message)
        .weighed(length(out), length(limit))
        .with("value", length(out))
        .with("least", length(least))
        .with("most", length(most))
        .remedy(|| set_length("cure.sleeve_mouth", "valve_end.valve.outer_end_mm", limit));
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
        fn it_judges_by_the_kind_of_sleeve(file in support::valid_sheet(), habits in support::habits()) {
            let valve = &file.valve_end.valve;
            let range = match valve.sleeve {
                SleeveKind::Internal => Some(-habits.mouth_behind_mm..=habits.mouth_before_mm),
                SleeveKind::External => Some(habits.least_tuck_mm..=habits.most_tuck_mm),
                SleeveKind::Reinforcement => None,
            };
            let expected =
                range.map(|range| if range.contains(&valve.outer_end_mm) { Severity::Good } else { Severity::Look });
            prop_assert_eq!(testing::severity_by(&habits, &file, None, &RULE, Place::Sleeve), expected);
        }
    }
}

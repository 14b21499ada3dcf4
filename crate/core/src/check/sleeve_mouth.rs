//! The sleeve's mouth stands where its kind wants it.
//!
//! An internal sleeve ends at the bottom's end edge, 5 mm behind it to 10 mm before it; an external one stands out by 60 to
//! 150 mm, to be tucked in. Trade habit, low certainty. Turned by e, its outer end's corners stand at a -+ (wv/2) |sin e|;
//! both have to lie there.

use crate::check::context::{Context, reaches, within};
use crate::check::remedy::{down, set_length, unturned, up};
use crate::check::rule::{Judgement, Outcome, Rule};
use crate::finding::{Certainty, Cure, Place, Severity, Topic};
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
    let [hindmost, foremost] = sleeve.mouth_mm();
    let (severity, out, limit, message) = if !reaches(hindmost, least) {
        let message =
            if external { "finding.sleeve_mouth.external_short" } else { "finding.sleeve_mouth.internal_back" };
        (Severity::Look, hindmost, least, message)
    } else if !within(foremost, most) {
        let message = if external { "finding.sleeve_mouth.external_long" } else { "finding.sleeve_mouth.internal_out" };
        (Severity::Look, foremost, most, message)
    } else {
        (Severity::Good, foremost, most, "finding.sleeve_mouth.holds")
    };
    let [_, corner] = sleeve.along_mm();
    let place = |turned: f64| {
        // A whole millimetre, where the room for it has one.
        let (near, far) = (least + turned, most - turned);
        if limit == least {
            Some(up(near)).filter(|whole| within(*whole, far)).unwrap_or(near)
        } else {
            Some(down(far)).filter(|whole| reaches(*whole, near)).unwrap_or(far)
        }
    };
    let put = |message, turned| set_length(message, "valve_end.valve.outer_end_mm", place(turned));
    let judgement = Judgement::new(Place::Sleeve, severity, message)
        .weighed(length(out), length(limit))
        .with("value", length(out))
        .with("least", length(least))
        .with("most", length(most))
        .remedy(|| put("cure.sleeve_mouth", corner))
        .remedy_if_any(|| unturned(&sleeve))
        .remedy_if_any(|| {
            let (straight, put) = (unturned(&sleeve)?, put("cure.sleeve_unturned_mouth", 0.0));
            Some(Cure::new(put.message, [straight.set, put.set].concat()))
        });
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
            let [mouth, _] = testing::sleeve_spans(&file);
            let near = |a: f64, b: f64| (a - b).abs() < 1e-6;
            prop_assume!(range.as_ref().is_none_or(|range| !near(mouth[0], *range.start()) && !near(mouth[1], *range.end())));
            let expected = range.map(|range| {
                if mouth.iter().all(|corner| range.contains(corner)) { Severity::Good } else { Severity::Look }
            });
            prop_assert_eq!(testing::severity_by(&habits, &file, None, &RULE, Place::Sleeve), expected);
        }
    }
}

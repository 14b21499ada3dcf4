//! The longitudinal seam overlaps enough to hold, and no more than is pasted: lap >= 10 mm, the least that one national
//! standard asks for, and 20 to 40 mm as a trade habit, medium certainty; 25 to 35 mm is most usual.

use crate::check::context::{Context, reaches, within};
use crate::check::remedy::{set_length, set_lengths};
use crate::check::rule::{Judgement, Outcome, Rule};
use crate::finding::{Certainty, Place, Severity, Topic};
use crate::units::length;

pub(super) const RULE: Rule =
    Rule { name: "seam-lap", topic: Topic::Make, source: "source.seam_lap", certainty: Certainty::Usual, check };

fn check(context: &Context) -> Outcome {
    let (lap, habits) = (context.file().seam.lap_mm, context.habits);
    let (floor, least, most) = (habits.seam_lap_mm, habits.least_seam_lap_mm, habits.most_seam_lap_mm);
    let judge = |severity, message, limit| {
        Judgement::new(Place::Seam, severity, message)
            .weighed(length(lap), length(limit))
            .with("value", length(lap))
            .with("least", length(least))
            .with("most", length(most))
    };
    let wider = |judgement: Judgement| {
        let better = least.max(floor);
        judgement
            .remedy(|| set_length("cure.seam_lap_least", "seam.lap_mm", better))
            // At the very edge of the back a wider seam has no room: there it moves to the middle.
            .remedy(|| {
                set_lengths(
                    "cure.seam_lap_least_in_the_middle",
                    [
                        ("value", "seam.lap_mm".into(), better),
                        ("offset", "seam.offset_from_middle_mm".into(), 0.0),
                        ("stagger", "seam.stagger_mm".into(), 0.0),
                    ],
                )
            })
    };
    let judgement = if !reaches(lap, floor) {
        wider(judge(Severity::Stop, "finding.seam_lap.short", floor).with("limit", length(floor)))
    } else if !reaches(lap, least) {
        wider(judge(Severity::Look, "finding.seam_lap.narrow", least))
    } else if !within(lap, most) {
        judge(Severity::Look, "finding.seam_lap.wide", most)
            .remedy(|| set_length("cure.seam_lap_most", "seam.lap_mm", most))
    } else {
        judge(Severity::Good, "finding.seam_lap.holds", most)
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
        fn it_judges_by_the_standard_s_least_and_the_usual_range(file in support::valid_sheet(), habits in support::habits()) {
            let most = habits.most_seam_lap_mm;
            let lap = file.seam.lap_mm;
            let expected = testing::expected(lap, habits.seam_lap_mm, habits.least_seam_lap_mm).filter(|_| (lap - most).abs() > 1e-6);
            prop_assume!(expected.is_some());
            let expected = if lap > most { Some(Severity::Look) } else { expected };
            prop_assert_eq!(testing::severity_by(&habits, &file, None, &RULE, Place::Seam), expected);
        }
    }
}

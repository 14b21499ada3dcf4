//! The step between neighbouring plies is one that a works can make and paste.
//!
//! 10 <= s <= 30 mm. Trade habit, medium certainty; machines differ. One ply has no step.

use crate::check::context::{Context, reaches, within};
use crate::check::remedy::{set_length, set_lengths, up};
use crate::check::rule::{Judgement, Outcome, Rule};
use crate::finding::{Certainty, Place, Severity, Topic};
use crate::units::length;

const FIELD: &str = "cut.step_mm";

pub(super) const RULE: Rule =
    Rule { name: "step", topic: Topic::Make, source: "source.step", certainty: Certainty::Usual, check };

fn check(context: &Context) -> Outcome {
    let (step, least, most) = (context.step_mm()?, context.habits.least_step_mm, context.habits.most_step_mm);
    let judge = |severity, message, limit| {
        Judgement::new(Place::Cut, severity, message)
            .weighed(length(step), length(limit))
            .with("value", length(step))
            .with("least", length(least))
            .with("most", length(most))
    };
    let judgement = if !reaches(step, least) {
        judge(Severity::Look, "finding.step.small", least)
            .remedy(|| set_length("cure.step_least", FIELD, least))
            // The longest ply's pockets come closer together by as much as all steps grow.
            .remedy(|| {
                let more = (least - step) * context.sack.tube().plies.len().saturating_sub(1) as f64;
                let face = up(context.face_width_mm() + more);
                set_lengths(
                    "cure.step_and_face_least",
                    [("value", FIELD.into(), least), ("face", "face_width_mm".into(), face)],
                )
            })
    } else if !within(step, most) {
        judge(Severity::Look, "finding.step.large", most).remedy(|| set_length("cure.step_most", FIELD, most))
    } else {
        judge(Severity::Good, "finding.step.holds", most)
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
        fn it_judges_by_the_usual_range(file in support::valid_sheet(), habits in support::habits()) {
            let step = file.cut.step_mm.filter(|_| file.plies.len() > 1);
            let expected =
                step.map(|step| if (habits.least_step_mm..=habits.most_step_mm).contains(&step) { Severity::Good } else { Severity::Look });
            prop_assert_eq!(testing::severity_by(&habits, &file, None, &RULE, Place::Cut), expected);
        }
    }
}

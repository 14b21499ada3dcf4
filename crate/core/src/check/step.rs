//! The step between neighbouring plies is one that a works can make and paste.
//!
//! 10 <= s <= 30 mm. Trade habit, medium certainty; machines differ. One ply has no step.

use crate::check::context::{Context, Judgement, reaches, set_length, within};
use crate::finding::{Place, Severity};
use crate::sheet::CutKind;
use crate::units::length;

const RULE: &str = "step";
const SOURCE: &str = "source.step";
const FIELD: &str = "cut.step_mm";

pub(super) fn check(context: &Context) -> Vec<Judgement> {
    let tube = context.sack.tube();
    if context.file().cut.kind == CutKind::Flush || tube.plies.len() < 2 {
        return Vec::new();
    }
    let (step, least, most) = (tube.step_mm, context.habits.least_step_mm, context.habits.most_step_mm);
    let judge = |severity, message, limit| {
        Judgement::new(RULE, Place::Cut, severity, SOURCE, message)
            .weighed(length(step), length(limit))
            .with("value", length(step))
            .with("least", length(least))
            .with("most", length(most))
    };
    let judgement = if !reaches(step, least) {
        judge(Severity::Look, "finding.step.small", least).remedy(set_length("cure.step_least", FIELD, least))
    } else if !within(step, most) {
        judge(Severity::Look, "finding.step.large", most).remedy(set_length("cure.step_most", FIELD, most))
    } else {
        judge(Severity::Good, "finding.step.holds", most)
    };
    vec![judgement]
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::check::{support, testing};

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(1000))]

        #[test]
        fn it_judges_by_the_usual_range(file in support::valid_sheet()) {
            let step = file.cut.step_mm.filter(|_| file.plies.len() > 1);
            let expected =
                step.map(|step| if (10.0..=30.0).contains(&step) { Severity::Good } else { Severity::Look });
            prop_assert_eq!(testing::severity(&file, None, RULE, Place::Cut), expected);
        }
    }
}

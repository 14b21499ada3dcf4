//! Settled and flattened, the sack is flat enough to be stacked: its thickness against its width.
//!
//! t <= 0.5 w, pressed between plates or, where that is not computed, lying on a floor. Trade habit (0.45 is the aim), low
//! certainty.

use crate::check::context::{Context, weigh, within};
use crate::check::remedy::advice;
use crate::check::rule::{Judgement, Outcome, Rule, Silence};
use crate::finding::{Certainty, Place, Severity, Topic};
use crate::units::length;

pub(super) const RULE: Rule =
    Rule { name: "thickness", topic: Topic::Fill, source: "source.thickness", certainty: Certainty::Guess, check };

fn check(context: &Context) -> Outcome {
    let content = context.content()?;
    let settled = content.settled.unwrap_or(content.filling);
    let (at_rest, holds, thick) = match (settled.pressed, settled.lying) {
        (Some(pressed), _) => (pressed, "finding.thickness.pressed", "finding.thickness.pressed_thick"),
        (None, Some(lying)) => (lying, "finding.thickness.lying", "finding.thickness.lying_thick"),
        (None, None) => return Err(Silence::lacks("silent.at_rest")),
    };
    let most = context.habits.most_thickness_share * at_rest.width_mm;
    let severity = weigh(true, within(at_rest.thickness_mm, most));
    let message = if severity == Severity::Good { holds } else { thick };
    let judgement = Judgement::new(Place::Contents, severity, message)
        .compared(length(at_rest.thickness_mm), length(most))
        .with("width", length(at_rest.width_mm))
        .with("long", length(at_rest.length_mm))
        .remedy(|| advice("cure.flatter"));
    Ok(vec![judgement])
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::check::{Against, support, testing};

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(1000))]

        #[test]
        fn it_judges_the_flattest_that_is_known(file in support::valid_sheet(), filled in support::maybe_filled(), habits in support::habits()) {
            let content = filled.as_ref().and_then(|filled| filled.content).filter(|_| file.contents.is_some());
            let settled = content.map(|content| content.settled.unwrap_or(content.filling));
            let at_rest = settled.and_then(|settled| settled.pressed.or(settled.lying));
            let expected = at_rest.map(|at_rest| {
                if at_rest.thickness_mm <= habits.most_thickness_share * at_rest.width_mm { Severity::Good } else { Severity::Look }
            });
            let against = Against { filled: filled.as_ref(), habits: Some(&habits), ..Against::default() };
            prop_assert_eq!(testing::severity_against(&file, &against, &RULE, Place::Contents), expected);
        }
    }
}

//! The filling leaves headroom, but not much: the share of the capacity that stays empty at the moment of filling.
//!
//! 0.04 <= 1 - V / capacity <= 0.12, with V = m / rho_aerated and stiff bottoms. Sacks are designed to be 88 to 96 % full:
//! trade habit, low certainty.

use crate::check::context::{Context, weigh};
use crate::check::remedy::{advice, set_length};
use crate::check::rule::{Judgement, Outcome, Rule};
use crate::finding::{Certainty, Place, Severity, Topic};
use crate::units::ratio;

pub(super) const RULE: Rule =
    Rule { name: "headroom", topic: Topic::Fill, source: "source.headroom", certainty: Certainty::Guess, check };

fn check(context: &Context) -> Outcome {
    let share = context.content()?.headroom.share;
    let range = context.habits.headroom();
    let severity = weigh(true, range.has(share));
    let judge = |message, limit: f64| {
        Judgement::new(Place::Contents, severity, message)
            .weighed(ratio(share), ratio(limit))
            .with("least", ratio(range.least))
            .with("most", ratio(range.most))
    };
    let [length, face] = context.sizes_for_headroom();
    let judgement = if severity == Severity::Good {
        judge("finding.headroom.holds", range.least).with("value", ratio(share))
    } else if share < range.least {
        let judgement = if share < 0.0 {
            judge("finding.headroom.none", range.least).with("over", ratio(-share))
        } else {
            judge("finding.headroom.little", range.least).with("value", ratio(share))
        };
        judgement
            .computed(length.map(|value| set_length("cure.length_least", "length_mm", value)))
            .computed(face.map(|value| set_length("cure.face_width_least", "face_width_mm", value)))
            .remedy(|| advice("cure.fill_less"))
    } else {
        judge("finding.headroom.much", range.most)
            .with("value", ratio(share))
            .computed(length.map(|value| set_length("cure.length_most", "length_mm", value)))
            .computed(face.map(|value| set_length("cure.face_width_most", "face_width_mm", value)))
            .remedy(|| advice("cure.smaller_sack"))
    };
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
        fn it_judges_by_the_share_that_stays_empty(file in support::valid_sheet(), filled in support::maybe_filled(), habits in support::habits()) {
            let content = filled.as_ref().and_then(|filled| filled.content).filter(|_| file.contents.is_some());
            let expected = content.map(|content| {
                let share = 1.0 - content.filling.ratio;
                if (habits.least_headroom..=habits.most_headroom).contains(&share) { Severity::Good } else { Severity::Look }
            });
            let against = Against { filled: filled.as_ref(), habits: Some(&habits), ..Against::default() };
            prop_assert_eq!(testing::severity_against(&file, &against, &RULE, Place::Contents), expected);
        }
    }
}

//! Settled, the product still fills the sack: else it is limp, leans on the pallet, and its valve does not close.
//!
//! V / capacity >= 0.80, with V = m / rho_bulk and stiff bottoms. Trade habit, medium certainty. A product that settles by
//! much leaves no size that is full enough settled and has its headroom as it is filled; then a smaller sack is no cure.

use crate::check::context::Context;
use crate::check::remedy::advice;
use crate::check::rule::{Judgement, Outcome, Rule, Silence};
use crate::finding::{Certainty, Place, Topic};
use crate::units::ratio;

pub(super) const RULE: Rule =
    Rule { name: "fill-ratio", topic: Topic::Fill, source: "source.fill_ratio", certainty: Certainty::Usual, check };

fn check(context: &Context) -> Outcome {
    let content = context.content()?;
    let settled = content.settled.ok_or_else(|| Silence::lacks("silent.contents"))?;
    let least = context.habits.least_fill_ratio;
    let fullest = settled.ratio / content.filling.ratio * (1.0 - context.habits.least_headroom);
    let judgement = Judgement::advised(
        Place::Contents,
        settled.ratio >= least,
        ["finding.fill_ratio.holds", "finding.fill_ratio.limp"],
    )
    .compared(ratio(settled.ratio), ratio(least))
    .remedy(|| advice(if fullest >= least { "cure.smaller_sack" } else { "cure.fill_denser" }));
    Ok(vec![judgement])
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::check::{Against, support, testing};
    use crate::finding::Severity;
    use crate::sack::Sack;
    use crate::sheet::Sheet;

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(1000))]

        #[test]
        fn it_judges_by_the_settled_share(file in support::valid_sheet(), filled in support::maybe_filled(), habits in support::habits()) {
            let content = filled.as_ref().and_then(|filled| filled.content).filter(|_| file.contents.is_some());
            let settled = content.and_then(|content| content.settled);
            let expected = settled.map(|settled| if settled.ratio >= habits.least_fill_ratio { Severity::Good } else { Severity::Look });
            let against = Against { filled: filled.as_ref(), habits: Some(&habits), ..Against::default() };
            prop_assert_eq!(testing::severity_against(&file, &against, &RULE, Place::Contents), expected);
        }

        #[test]
        fn a_smaller_sack_is_its_cure_only_where_one_takes_the_product(file in support::valid_sheet(), filled in support::maybe_filled(), habits in support::habits()) {
            let sack = Sack::new(Sheet::new(file).unwrap());
            let against = Against { filled: filled.as_ref(), habits: Some(&habits), ..Against::default() };
            let judged = check(&Context { sack: &sack, against, habits: &habits }).unwrap_or_default();
            let content = filled.as_ref().and_then(|filled| filled.content);
            for (judgement, content) in judged.into_iter().zip(content) {
                let (_, remedies) = judgement.of(&RULE);
                // The smallest sack that still leaves its headroom.
                let capacity = content.filling.volume_l / (1.0 - habits.least_headroom);
                let is_firm = content.settled.unwrap().volume_l / capacity >= habits.least_fill_ratio;
                let key = if is_firm { "cure.smaller_sack" } else { "cure.fill_denser" };
                prop_assert!(remedies.iter().all(|remedy| remedy.cure().message.key == key), "{}", key);
            }
        }
    }
}

//! Settled, the product still fills the sack: else it is limp, leans on the pallet, and its valve does not close.
//!
//! V / capacity >= 0.80, with V = m / rho_bulk and stiff bottoms. Trade habit, medium certainty.

use crate::check::context::Context;
use crate::check::remedy::advice;
use crate::check::rule::{Judgement, Outcome, Rule, Silence};
use crate::finding::{Certainty, Place, Topic};
use crate::units::ratio;

pub(super) const RULE: Rule =
    Rule { name: "fill-ratio", topic: Topic::Fill, source: "source.fill_ratio", certainty: Certainty::Usual, check };

fn check(context: &Context) -> Outcome {
    let settled = context.content()?.settled.ok_or_else(|| Silence::lacks("silent.contents"))?;
    let least = context.habits.least_fill_ratio;
    let judgement = Judgement::advised(
        Place::Contents,
        settled.ratio >= least,
        ["finding.fill_ratio.holds", "finding.fill_ratio.limp"],
    )
    .compared(ratio(settled.ratio), ratio(least))
    .remedy(|| advice("cure.smaller_sack"));
    Ok(vec![judgement])
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::check::{Against, support, testing};
    use crate::finding::Severity;

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
    }
}

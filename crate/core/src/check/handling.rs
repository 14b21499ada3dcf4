//! A caution on lifting: above 25 kg, the reference mass for lifting in ideal conditions, a sack calls for a look at
//! how it is handled. Medium certainty. ISO 11228-1 and local rules decide, below that mass too.

use crate::check::context::{Context, within};
use crate::check::remedy::advice;
use crate::check::rule::{Judgement, Outcome, Rule};
use crate::finding::{Certainty, Place, Topic};
use crate::units::{Dimension, quantity};

pub(super) const RULE: Rule =
    Rule { name: "handling", topic: Topic::Care, source: "source.handling", certainty: Certainty::Usual, check };

fn check(context: &Context) -> Outcome {
    let contents = context.contents()?;
    let most = context.habits.handling_kg;
    let mass = |value| quantity(Dimension::Mass, value);
    let judgement = Judgement::advised(
        Place::Contents,
        within(contents.mass_kg, most),
        ["finding.handling.holds", "finding.handling.heavy"],
    )
    .compared(mass(contents.mass_kg), mass(most))
    .remedy(|| advice("cure.handling"));
    Ok(vec![judgement])
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::check::{support, testing};
    use crate::finding::Severity;

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(1000))]

        #[test]
        fn a_mass_above_the_reference_is_worth_a_look(file in support::valid_sheet(), habits in support::habits()) {
            let mass = file.contents.as_ref().map(|contents| contents.mass_kg);
            let expected = mass.map(|mass| if mass > habits.handling_kg { Severity::Look } else { Severity::Good });
            prop_assert_eq!(testing::severity_by(&habits, &file, None, &RULE, Place::Contents), expected);
        }
    }
}

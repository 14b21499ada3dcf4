//! The product is no denser when it is filled than when it has settled: aerated density <= bulk density. A slip of the pen
//! otherwise; certain.

use crate::check::context::Context;
use crate::check::rule::{Judgement, Outcome, Rule, Silence};
use crate::finding::{Certainty, Change, Cure, Message, Place, Topic};
use crate::units::{Dimension, quantity};

pub(super) const RULE: Rule =
    Rule { name: "densities", topic: Topic::Fill, source: "source.densities", certainty: Certainty::Sure, check };

fn check(context: &Context) -> Outcome {
    let contents = context.contents()?;
    let aerated = contents.aerated_density_kg_m3.ok_or_else(|| Silence::lacks("silent.aerated"))?;
    let settled = contents.bulk_density_kg_m3;
    let density = |value| quantity(Dimension::Density, value);
    let set = |field: &str, value| Change { field: field.into(), value };
    let exchange = vec![set("contents.aerated_density_kg_m3", settled), set("contents.bulk_density_kg_m3", aerated)];
    let judgement = Judgement::advised(
        Place::Contents,
        aerated <= settled,
        ["finding.densities.holds", "finding.densities.exchanged"],
    )
    .compared(density(aerated), density(settled))
    .remedy(|| Cure::new(Message::new("cure.densities"), exchange));
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
        fn it_judges_by_which_is_larger(file in support::valid_sheet()) {
            let both = file.contents.as_ref().and_then(|all| Some((all.aerated_density_kg_m3?, all.bulk_density_kg_m3)));
            let expected = both.map(|(aerated, settled)| if aerated > settled { Severity::Look } else { Severity::Good });
            prop_assert_eq!(testing::severity(&file, None, &RULE, Place::Contents), expected);
        }
    }
}

//! A caution on dusty products: fine dust can explode and harms those who breathe it. Certain in general; how much it
//! matters here is for a dust hazard analysis and local rules to say. A product without dust calls for no words.

use crate::check::context::Context;
use crate::check::remedy::advice;
use crate::check::rule::{Judgement, Outcome, Rule, Silence};
use crate::finding::{Certainty, Place, Severity, Topic};

pub(super) const RULE: Rule =
    Rule { name: "dust", topic: Topic::Care, source: "source.dust", certainty: Certainty::Sure, check };

fn check(context: &Context) -> Outcome {
    if !context.contents()?.dusty {
        return Err(Silence::not_applicable("silent.no_dust"));
    }
    let caution = Judgement::new(Place::Contents, Severity::Look, "finding.dust.dusty").remedy(|| advice("cure.dust"));
    Ok(vec![caution])
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::check::{support, testing};

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(1000))]

        #[test]
        fn it_speaks_of_dusty_products_only(file in support::valid_sheet()) {
            let dusty = file.contents.as_ref().is_some_and(|contents| contents.dusty);
            let expected = dusty.then_some(Severity::Look);
            prop_assert_eq!(testing::severity(&file, None, &RULE, Place::Contents), expected);
        }
    }
}

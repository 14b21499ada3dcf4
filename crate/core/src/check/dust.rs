//! A caution on dusty products: fine dust can explode and harms those who breathe it. Certain in general; how much it
//! matters here is for a dust hazard analysis and local rules to say. A product without dust calls for no words.

use crate::check::context::{Context, Judgement};
use crate::finding::{Cure, Message, Place, Severity};

const RULE: &str = "dust";
const SOURCE: &str = "source.dust";

pub(super) fn check(context: &Context) -> Vec<Judgement> {
    let dusty = context.file().contents.as_ref().is_some_and(|contents| contents.dusty);
    let caution = || {
        Judgement::new(RULE, Place::Contents, Severity::Look, SOURCE, "finding.dust.dusty")
            .remedy(Cure { message: Message::new("cure.dust"), set: Vec::new() })
    };
    dusty.then(caution).into_iter().collect()
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
            prop_assert_eq!(testing::severity(&file, None, RULE, Place::Contents), expected);
        }
    }
}

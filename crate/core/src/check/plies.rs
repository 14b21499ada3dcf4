//! A valved sack usually has two plies or more; one ply is made for small or light fillings. Trade habit, medium
//! certainty. More than six can't be in a sheet.

use crate::check::context::{Context, Judgement, weigh};
use crate::finding::{Cure, Message, Place, Severity};
use crate::units::count;

const RULE: &str = "plies";
const SOURCE: &str = "source.plies";

pub(super) fn check(context: &Context) -> Vec<Judgement> {
    let (plies, least) = (context.file().plies.len(), context.habits.least_plies);
    let severity = weigh(true, plies >= least);
    let message = match severity {
        Severity::Good => "finding.plies.holds",
        Severity::Look | Severity::Stop => "finding.plies.few",
    };
    let judgement = Judgement::new(RULE, Place::Plies, severity, SOURCE, message)
        .compared(count(plies), count(least))
        .remedy(Cure { message: Message::new("cure.plies_least").with("value", count(least)), set: Vec::new() });
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
        fn one_ply_is_worth_a_look(file in support::valid_sheet()) {
            let expected = if file.plies.len() == 1 { Severity::Look } else { Severity::Good };
            prop_assert_eq!(testing::severity(&file, None, RULE, Place::Plies), Some(expected));
        }
    }
}

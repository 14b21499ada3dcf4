//! A valved sack usually has two plies or more; one ply is made for small or light fillings. Trade habit, medium
//! certainty. More than six can't be in a sheet.

use crate::check::context::Context;
use crate::check::rule::{Judgement, Outcome, Rule};
use crate::finding::{Certainty, Cure, Message, Place, Topic};
use crate::units::count;

pub(super) const RULE: Rule =
    Rule { name: "plies", topic: Topic::Make, source: "source.plies", certainty: Certainty::Usual, check };

fn check(context: &Context) -> Outcome {
    let (plies, least) = (context.file().plies.len(), context.habits.least_plies);
    let judgement = Judgement::advised(Place::Plies, plies >= least, ["finding.plies.holds", "finding.plies.few"])
        .compared(count(plies), count(least))
        .remedy(|| Cure::new(Message::new("cure.plies_least").with("value", count(least)), Vec::new()));
    Ok(vec![judgement])
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::check::{Habits, support, testing};
    use crate::finding::Severity;

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(1000))]

        #[test]
        fn fewer_than_usual_are_worth_a_look(file in support::valid_sheet(), least_plies in 1_usize..=6) {
            let habits = Habits { least_plies, ..Habits::default() };
            let expected = if file.plies.len() < least_plies { Severity::Look } else { Severity::Good };
            prop_assert_eq!(testing::severity_by(&habits, &file, None, &RULE, Place::Plies), Some(expected));
        }
    }
}

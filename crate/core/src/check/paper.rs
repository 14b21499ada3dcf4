//! There is paper enough for what goes in: the plies' mass per area, added up, against the mass of one filling.
//!
//! sum of g/m2 >= 4 g/m2 for each kg. After usual constructions: 110 g/m2 for 25 kg on easy routes, 180 for 40 kg, 200 for
//! 50 kg. Low certainty: what a sack stands is the paper's tensile energy absorption and the route's to say, and drop tests
//! decide.

use crate::check::context::{Context, reaches};
use crate::check::rule::{Judgement, Outcome, Rule};
use crate::finding::{Certainty, Cure, Message, Place, Topic};
use crate::units::{Dimension, quantity};

pub(super) const RULE: Rule =
    Rule { name: "paper", topic: Topic::Make, source: "source.paper", certainty: Certainty::Guess, check };

fn check(context: &Context) -> Outcome {
    let mass_kg = context.contents()?.mass_kg;
    let paper: f64 = context.file().plies.iter().map(|ply| ply.grammage_g_m2).sum();
    let least = context.habits.paper_per_kg_g_m2 * mass_kg;
    let said = |value| quantity(Dimension::Grammage, value);
    let judgement =
        Judgement::advised(Place::Plies, reaches(paper, least), ["finding.paper.holds", "finding.paper.little"])
            .compared(said(paper), said(least))
            .with("mass", quantity(Dimension::Mass, mass_kg))
            .remedy(|| Cure::new(Message::new("cure.paper_least").with("value", said(least.ceil())), Vec::new()));
    Ok(vec![judgement])
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::check::{support, testing};

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(1000))]

        #[test]
        fn it_judges_by_the_sum_of_all_plies(file in support::valid_sheet(), habits in support::habits()) {
            let paper: f64 = file.plies.iter().map(|ply| ply.grammage_g_m2).sum();
            let room = file.contents.as_ref().map(|contents| paper / contents.mass_kg - habits.paper_per_kg_g_m2);
            let expected = room.map(|room| testing::expected(room, f64::NEG_INFINITY, 0.0));
            prop_assume!(expected != Some(None));
            let found = testing::severity_by(&habits, &file, None, &RULE, Place::Plies);
            prop_assert_eq!(found, expected.flatten());
        }
    }
}

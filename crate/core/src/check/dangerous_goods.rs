//! Dangerous goods in sacks of several plies of paper (5M1, 5M2): three plies or more, at most 50 kg net, and a design
//! that is tested and approved. UN Model Regulations, 6.1.4.18: plies and mass are certain. Packing instruction, mode of
//! transport and approval are for the competent authority, so that a caution stays.

use crate::check::context::{Context, within};
use crate::check::remedy::advice;
use crate::check::rule::{Judgement, Outcome, Rule, Silence};
use crate::finding::{Certainty, Cure, Message, Place, Severity, Topic};
use crate::units::{Dimension, count, quantity};

const LEAST_PLIES: usize = 3;
const MOST_KG: f64 = 50.0;

pub(super) const RULE: Rule = Rule {
    name: "dangerous-goods",
    topic: Topic::Care,
    source: "source.dangerous_goods",
    certainty: Certainty::Sure,
    check,
};

fn check(context: &Context) -> Outcome {
    let contents = context.contents()?;
    if !contents.dangerous_goods {
        return Err(Silence::not_applicable("silent.no_danger"));
    }
    let plies = context.file().plies.len();
    let (severity, message) = if plies >= LEAST_PLIES {
        (Severity::Good, "finding.dangerous_goods.plies")
    } else {
        (Severity::Stop, "finding.dangerous_goods.few_plies")
    };
    let enough = Judgement::new(Place::Plies, severity, message)
        .compared(count(plies), count(LEAST_PLIES))
        .remedy(|| Cure::new(Message::new("cure.plies_least").with("value", count(LEAST_PLIES)), Vec::new()));
    let (severity, message) = if within(contents.mass_kg, MOST_KG) {
        (Severity::Look, "finding.dangerous_goods.care")
    } else {
        (Severity::Stop, "finding.dangerous_goods.heavy")
    };
    let mass = |value| quantity(Dimension::Mass, value);
    let caution = Judgement::new(Place::Contents, severity, message)
        .compared(mass(contents.mass_kg), mass(MOST_KG))
        .remedy(|| advice("cure.dangerous_goods"));
    Ok(vec![enough, caution])
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::check::{support, testing};

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(1000))]

        #[test]
        fn few_plies_or_a_large_mass_stop_dangerous_goods_alone(file in support::valid_sheet()) {
            let expected = |stops: bool, otherwise| if stops { Severity::Stop } else { otherwise };
            let contents = file.contents.as_ref().filter(|contents| contents.dangerous_goods);
            let plies = contents.map(|_| expected(file.plies.len() < 3, Severity::Good));
            let mass = contents.map(|contents| expected(contents.mass_kg > 50.0, Severity::Look));
            prop_assert_eq!(testing::severity(&file, None, &RULE, Place::Plies), plies);
            prop_assert_eq!(testing::severity(&file, None, &RULE, Place::Contents), mass);
        }
    }
}

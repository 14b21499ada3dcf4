//! Air gets out through the walls while a powder is filled: the plies' air resistances, which add up, stay low.
//!
//! sum of Gurley seconds <= 15 s. Trade habit (12 to 15 s for fast filling), medium certainty; sacks with perforated
//! plies do with more. Products without dust let air out as they are filled, and screws and gravity carry little in.

use crate::cards::Packer;
use crate::check::context::{Context, within};
use crate::check::remedy::advice;
use crate::check::rule::{Judgement, Outcome, Rule, Silence};
use crate::finding::{Certainty, Place, Topic};
use crate::units::{Dimension, quantity};

pub(super) const RULE: Rule =
    Rule { name: "air", topic: Topic::Fill, source: "source.air", certainty: Certainty::Usual, check };

fn check(context: &Context) -> Outcome {
    if !context.contents()?.dusty {
        return Err(Silence::not_applicable("silent.no_dust"));
    }
    if let Some(line) = context.against.line
        && matches!(line.file().packer, Packer::Screw | Packer::Gravity)
    {
        return Err(Silence::not_applicable("silent.little_air"));
    }
    let (sum, most) = (context.gurley_s()?, context.habits.most_gurley_s);
    let seconds = |value| quantity(Dimension::Time, value);
    let judgement = Judgement::advised(Place::Plies, within(sum, most), ["finding.air.holds", "finding.air.tight"])
        .compared(seconds(sum), seconds(most))
        .remedy(|| advice("cure.air"));
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
        fn it_judges_by_the_sum_of_all_plies(file in support::valid_sheet(), line in support::maybe_line(), habits in support::habits()) {
            let sum: Option<f64> = file.plies.iter().map(|ply| ply.air_resistance_gurley_s).sum();
            prop_assume!(sum.is_none_or(|sum| (sum - habits.most_gurley_s).abs() > 1e-6));
            let dusty = file.contents.as_ref().is_some_and(|contents| contents.dusty);
            let airy = line.as_ref().is_none_or(|line| matches!(line.file().packer, Packer::Air | Packer::Impeller));
            let expected = sum.filter(|_| dusty && airy).map(|sum| if sum > habits.most_gurley_s { Severity::Look } else { Severity::Good });
            prop_assert_eq!(testing::severity_by(&habits, &file, line.as_ref(), &RULE, Place::Plies), expected);
        }
    }
}

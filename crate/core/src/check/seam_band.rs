//! The seams of all plies lie in one band, narrow enough for what presses and prints round it.
//!
//! |stagger| (n - 1) + lap <= 120 mm. Trade habit (60 to 120), low certainty.

use crate::check::context::{Context, within};
use crate::check::remedy::{down, set_length};
use crate::check::rule::{Judgement, Outcome, Rule, Silence};
use crate::finding::{Certainty, Place, Topic};
use crate::units::length;

pub(super) const RULE: Rule =
    Rule { name: "seam-band", topic: Topic::Make, source: "source.seam_band", certainty: Certainty::Guess, check };

fn check(context: &Context) -> Outcome {
    let gaps = context.file().plies.len().saturating_sub(1) as f64;
    if gaps < 1.0 {
        return Err(Silence::not_applicable("silent.one_seam"));
    }
    let (seam, most) = (&context.file().seam, context.habits.seam_band_mm);
    let band = seam.stagger_mm.abs() * gaps + seam.lap_mm;
    let judgement =
        Judgement::advised(Place::Seam, within(band, most), ["finding.seam_band.holds", "finding.seam_band.wide"])
            .compared(length(band), length(most));
    let stagger = down((most - seam.lap_mm) / gaps);
    let judgement = if stagger >= 0.0 {
        let value = stagger.copysign(seam.stagger_mm);
        judgement.remedy(|| set_length("cure.seam_stagger_most", "seam.stagger_mm", value))
    } else {
        judgement
    };
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
        fn it_judges_by_the_outermost_edges_of_all_seams(file in support::valid_sheet(), habits in support::habits()) {
            let middles = (0..file.plies.len()).map(|i| i as f64 * file.seam.stagger_mm);
            let (low, high) = middles.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), x| (low.min(x), high.max(x)));
            let expected = testing::expected(-(high - low + file.seam.lap_mm), f64::NEG_INFINITY, -habits.seam_band_mm);
            prop_assume!(expected.is_some());
            let expected = expected.filter(|_| file.plies.len() > 1);
            let found = testing::severity_by(&habits, &file, None, &RULE, Place::Seam);
            prop_assert_eq!(found, expected);
        }
    }
}

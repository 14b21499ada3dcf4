//! The patch closes the V that the slanted flap edges leave open at each end of the bottom.
//!
//! lp/2 - |c| >= W/2 - B + margin: the V's point lies at W/2 - B from the middle (exact). The margin is an assumption,
//! low certainty.

use crate::bottom::{Bottom, PatchPlace};
use crate::check::context::{Context, end_field, patch_place, reaches};
use crate::check::remedy::{set_length, set_zero, up};
use crate::check::rule::{Judgement, Outcome, Rule};
use crate::finding::{Certainty, Topic};
use crate::units::length;

pub(super) const RULE: Rule = Rule {
    name: "patch-closes",
    topic: Topic::Make,
    source: "source.patch_margin",
    certainty: Certainty::Guess,
    check,
};

fn check(context: &Context) -> Outcome {
    let judge = |(bottom, patch): (&Bottom, PatchPlace)| {
        let aside = 2.0 * patch.offset_mm.abs();
        let least = 2.0 * (bottom.half_face_mm() - bottom.width_mm + context.habits.patch_margin_mm) + aside;
        let mut judgement = Judgement::advised(
            patch_place(bottom.end),
            reaches(patch.length_mm, least),
            ["finding.patch_closes.holds", "finding.patch_closes.leaves_open"],
        )
        .compared(length(patch.length_mm), length(least));
        if aside > 0.0 {
            judgement = judgement.remedy(|| set_zero("cure.patch_centred", [end_field(bottom.end, "patch.offset_mm")]));
        }
        judgement.remedy(|| set_length("cure.patch_length_least", end_field(bottom.end, "patch.length_mm"), up(least)))
    };
    Ok(context.patches()?.into_iter().map(judge).collect())
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::check::{support, testing};
    use crate::finding::Place;

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(1000))]

        #[test]
        fn it_judges_by_the_point_of_the_v(file in support::valid_sheet(), habits in support::habits()) {
            let ends = [
                (Place::ValveEndPatch, file.valve_end.bottom_width_mm, file.valve_end.patch),
                (Place::PlainEndPatch, file.plain_end.bottom_width_mm, file.plain_end.patch),
            ];
            for (place, b, patch) in ends {
                let found = testing::severity_by(&habits, &file, None, &RULE, place);
                let Some(patch) = patch else {
                    prop_assert_eq!(found, None);
                    continue;
                };
                let reach = patch.length_mm.unwrap_or(file.face_width_mm - b) / 2.0 - patch.offset_mm.abs();
                let past = reach - (file.face_width_mm / 2.0 - b);
                let Some(expected) = testing::expected(past, f64::NEG_INFINITY, habits.patch_margin_mm) else { continue };
                prop_assert_eq!(found, Some(expected));
            }
        }
    }
}

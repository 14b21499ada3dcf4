//! The patch stays on the bottom: its corners lie within the slanted ends of the hexagon |x| + |y| <= W/2.
//!
//! lp + wp + 2|c| <= W, with the patch's length lp, width wp and offset c. Follows from the folding, exact.

use crate::bottom::{Bottom, PatchPlace};
use crate::check::context::{Context, end_field, patch_place, within};
use crate::check::remedy::{down, set_length, set_lengths, set_zero};
use crate::check::rule::{Judgement, Outcome, Rule};
use crate::finding::{Certainty, Severity, Topic};
use crate::units::length;

pub(super) const RULE: Rule =
    Rule { name: "patch-on-bottom", topic: Topic::Make, source: "source.geometry", certainty: Certainty::Sure, check };

fn check(context: &Context) -> Outcome {
    let face = context.face_width_mm();
    let judge = |(bottom, patch): (&Bottom, PatchPlace)| {
        let aside = 2.0 * patch.offset_mm.abs();
        let most = face - patch.width_mm - aside;
        let (severity, message) = if within(patch.length_mm, most) {
            (Severity::Good, "finding.patch_on_bottom.holds")
        } else {
            (Severity::Stop, "finding.patch_on_bottom.over_the_end")
        };
        let mut judgement =
            Judgement::new(patch_place(bottom.end), severity, message).compared(length(patch.length_mm), length(most));
        if aside > 0.0 {
            judgement = judgement.remedy(|| set_zero("cure.patch_centred", [end_field(bottom.end, "patch.offset_mm")]));
        }
        let shorter = set_length("cure.patch_length_most", end_field(bottom.end, "patch.length_mm"), down(most));
        let narrower = set_length(
            "cure.patch_width_most",
            end_field(bottom.end, "patch.width_mm"),
            down(face - patch.length_mm - aside),
        );
        // As long and as wide as a patch without measures of its own.
        let usual = set_lengths(
            "cure.patch_usual",
            [
                ("length", end_field(bottom.end, "patch.length_mm"), down(face - bottom.width_mm)),
                ("width", end_field(bottom.end, "patch.width_mm"), down(bottom.width_mm - 10.0)),
                ("offset", end_field(bottom.end, "patch.offset_mm"), 0.0),
            ],
        );
        judgement.remedy(|| shorter).remedy(|| narrower).remedy(|| usual)
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
        fn it_judges_by_the_corners_of_the_patch(file in support::valid_sheet()) {
            let ends = [
                (Place::ValveEndPatch, file.valve_end.bottom_width_mm, file.valve_end.patch),
                (Place::PlainEndPatch, file.plain_end.bottom_width_mm, file.plain_end.patch),
            ];
            for (place, b, patch) in ends {
                let found = testing::severity(&file, None, &RULE, place);
                let Some(patch) = patch else {
                    prop_assert_eq!(found, None);
                    continue;
                };
                let x = patch.length_mm.unwrap_or(file.face_width_mm - b) / 2.0 + patch.offset_mm.abs();
                let y = patch.width_mm.unwrap_or(b - 10.0) / 2.0;
                let Some(expected) = testing::expected(file.face_width_mm / 2.0 - x - y, 0.0, 0.0) else { continue };
                prop_assert_eq!(found, Some(expected));
            }
        }
    }
}

//! The patch is no wider than the bottom: wp <= B. Follows from the folding, exact.

use crate::bottom::Bottom;
use crate::check::context::{Context, Judgement, down, end_field, patch_place, set_length, up, within};
use crate::finding::Severity;
use crate::units::length;

const RULE: &str = "patch-width";
const SOURCE: &str = "source.geometry";

pub(super) fn check(context: &Context) -> Vec<Judgement> {
    let judge = |bottom: &Bottom| {
        let patch = bottom.patch?;
        let (severity, message) = if within(patch.width_mm, bottom.width_mm) {
            (Severity::Good, "finding.patch_width.holds")
        } else {
            (Severity::Stop, "finding.patch_width.too_wide")
        };
        let judgement = Judgement::new(RULE, patch_place(bottom.end), severity, SOURCE, message)
            .compared(length(patch.width_mm), length(bottom.width_mm))
            .remedy(set_length("cure.patch_width_most", end_field(bottom.end, "patch.width_mm"), down(bottom.width_mm)))
            .remedy(set_length(
                "cure.bottom_width_least",
                end_field(bottom.end, "bottom_width_mm"),
                up(patch.width_mm),
            ));
        Some(judgement)
    };
    context.bottoms().into_iter().filter_map(judge).collect()
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
        fn it_judges_by_the_bottom_s_width(file in support::valid_sheet()) {
            let ends = [
                (Place::ValveEndPatch, file.valve_end.bottom_width_mm, file.valve_end.patch),
                (Place::PlainEndPatch, file.plain_end.bottom_width_mm, file.plain_end.patch),
            ];
            for (place, b, patch) in ends {
                // A patch without a width of its own is 10 mm narrower than the bottom.
                let expected = patch.map(|patch| {
                    if patch.width_mm.unwrap_or(b - 10.0) > b { Severity::Stop } else { Severity::Good }
                });
                prop_assert_eq!(testing::severity(&file, None, RULE, place), expected);
            }
        }
    }
}

//! The patch lies on the bottom and covers it: wp <= B, exact; and B - 15 <= wp <= B - 5, so that its edges keep off the
//! fold lines. Trade habit, medium certainty.

use crate::bottom::{Bottom, PatchPlace};
use crate::check::context::{Context, end_field, patch_place, reaches, within};
use crate::check::remedy::{down, set_length, up};
use crate::check::rule::{Judgement, Outcome, Rule};
use crate::finding::{Certainty, Severity, Topic};
use crate::units::length;

pub(super) const RULE: Rule =
    Rule { name: "patch-width", topic: Topic::Make, source: "source.geometry", certainty: Certainty::Sure, check };

fn check(context: &Context) -> Outcome {
    let habits = context.habits;
    let judge = |(bottom, patch): (&Bottom, PatchPlace)| {
        let width = bottom.width_mm;
        let (least, most) = (width - habits.most_patch_side_mm, width - habits.least_patch_side_mm);
        let judge = |severity, message, limit| {
            Judgement::new(patch_place(bottom.end), severity, message)
                .stops_for_sure()
                .weighed(length(patch.width_mm), length(limit))
                .with("value", length(patch.width_mm))
                .with("bottom", length(width))
                .with("least", length(least))
                .with("most", length(most))
        };
        let set = |message, value| set_length(message, end_field(bottom.end, "patch.width_mm"), value);
        let wider = set_length(
            "cure.bottom_width_least",
            end_field(bottom.end, "bottom_width_mm"),
            up(patch.width_mm + habits.least_patch_side_mm),
        );
        if !within(patch.width_mm, width) {
            judge(Severity::Stop, "finding.patch_width.too_wide", width)
                .remedy(|| set("cure.patch_width_most", down(most)))
                .remedy(|| wider)
        } else if !within(patch.width_mm, most) {
            judge(Severity::Look, "finding.patch_width.wide", most)
                .remedy(|| set("cure.patch_width_most", down(most)))
                .remedy(|| wider)
        } else if !reaches(patch.width_mm, least) {
            judge(Severity::Look, "finding.patch_width.narrow", least)
                .remedy(|| set("cure.patch_width_least", up(least)))
        } else {
            judge(Severity::Good, "finding.patch_width.holds", most)
        }
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
        fn it_judges_by_the_bottom_s_width(file in support::valid_sheet(), habits in support::habits()) {
            let ends = [
                (Place::ValveEndPatch, file.valve_end.bottom_width_mm, file.valve_end.patch),
                (Place::PlainEndPatch, file.plain_end.bottom_width_mm, file.plain_end.patch),
            ];
            let (least, most) = (habits.least_patch_side_mm, habits.most_patch_side_mm);
            for (place, b, patch) in ends {
                // A patch without a width of its own is 10 mm narrower than the bottom.
                let narrower = patch.map(|patch| b - patch.width_mm.unwrap_or(b - 10.0));
                if narrower.is_some_and(|narrower| [0.0, least, most].iter().any(|edge| (narrower - edge).abs() < 1e-6)) {
                    continue;
                }
                let expected = narrower.map(|narrower| match narrower {
                    ..0.0 => Severity::Stop,
                    _ if (least..=most).contains(&narrower) => Severity::Good,
                    _ => Severity::Look,
                });
                prop_assert_eq!(testing::severity_by(&habits, &file, None, &RULE, place), expected);
            }
        }
    }
}

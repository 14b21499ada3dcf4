//! The pockets of a bottom leave a gap, so that the flaps are held between them.
//!
//! W - 2d >= gap, which is W >= 2B + o + gap. Pockets that meet are no sack at all and never come here; the advised gap
//! is a trade habit, medium certainty.

use crate::bottom::Bottom;
use crate::check::context::{Context, end_field, pockets_place, reaches};
use crate::check::remedy::{down, set_length, up};
use crate::check::rule::{Judgement, Outcome, Rule};
use crate::finding::{Certainty, Topic};
use crate::units::length;

pub(super) const RULE: Rule =
    Rule { name: "pocket-gap", topic: Topic::Make, source: "source.pocket_gap", certainty: Certainty::Usual, check };

fn check(context: &Context) -> Outcome {
    let least = context.habits.pocket_gap_mm;
    let judge = |bottom: &Bottom| {
        let gap = bottom.pocket_gap_mm();
        Judgement::advised(
            pockets_place(bottom.end),
            reaches(gap, least),
            ["finding.pocket_gap.holds", "finding.pocket_gap.narrow"],
        )
        .compared(length(gap), length(least))
        .remedy(|| set_length("cure.face_width_least", "face_width_mm", up(context.face_width_mm() + least - gap)))
        .remedy(|| {
            set_length(
                "cure.bottom_width_most",
                end_field(bottom.end, "bottom_width_mm"),
                down(bottom.width_mm - (least - gap) / 2.0),
            )
        })
    };
    Ok(context.bottoms().map(judge).into())
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
        fn it_judges_by_the_face_width(file in support::valid_sheet(), habits in support::habits()) {
            let ends = [
                (Place::ValveEndPockets, file.valve_end.bottom_width_mm, file.valve_end.lap_mm),
                (Place::PlainEndPockets, file.plain_end.bottom_width_mm, file.plain_end.lap_mm),
            ];
            for (place, b, o) in ends {
                let Some(expected) = testing::expected(file.face_width_mm - 2.0 * b - o, 0.0, habits.pocket_gap_mm) else { continue };
                prop_assert_eq!(testing::severity_by(&habits, &file, None, &RULE, place), Some(expected));
            }
        }
    }
}

//! The shortest ply's flap is deep enough for its band of paste.
//!
//! (B + o)/2 - s (n-1)/2 >= 25 mm. The depth is exact; that a band of paste needs 25 mm is a trade habit, medium
//! certainty.

use crate::bottom::Bottom;
use crate::check::context::{Context, bottom_place, end_field, reaches};
use crate::check::remedy::{down, set_length, set_lengths, up};
use crate::check::rule::{Judgement, Outcome, Rule};
use crate::finding::{Certainty, Severity, Topic};
use crate::units::length;

pub(super) const RULE: Rule =
    Rule { name: "flap-depth", topic: Topic::Make, source: "source.flap_depth", certainty: Certainty::Usual, check };

fn check(context: &Context) -> Outcome {
    let tube = context.sack.tube();
    let (spread, least) = (tube.spread_mm(), context.habits.flap_mm);
    let judge = |bottom: &Bottom| {
        let depth = bottom.flap_depth_mm - spread;
        let (severity, message) = if reaches(depth, least) {
            (Severity::Good, "finding.flap_depth.holds")
        } else {
            (Severity::Stop, "finding.flap_depth.short")
        };
        let mut judgement =
            Judgement::new(bottom_place(bottom.end), severity, message).compared(length(depth), length(least));
        if spread > 0.0 {
            let step = tube.step_mm * (bottom.flap_depth_mm - least) / spread;
            judgement = judgement
                .remedy(|| set_length("cure.step_most", "cut.step_mm", down(step)))
                .remedy(|| set_length("cure.step_most", "cut.step_mm", step));
        }
        let missing = 2.0 * (least - depth);
        judgement
            .remedy(|| set_length("cure.lap_least", end_field(bottom.end, "lap_mm"), up(bottom.lap_mm + missing)))
            .remedy(|| {
                set_length(
                    "cure.bottom_width_least",
                    end_field(bottom.end, "bottom_width_mm"),
                    up(bottom.width_mm + missing),
                )
            })
            // A wider bottom takes the pockets closer together by twice as much.
            .remedy(|| {
                set_lengths(
                    "cure.bottom_and_face_least",
                    [
                        ("value", end_field(bottom.end, "bottom_width_mm"), up(bottom.width_mm + missing)),
                        ("face", "face_width_mm".into(), up(context.face_width_mm() + 2.0 * missing + 2.0)),
                    ],
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
        fn it_judges_by_the_shortest_ply(file in support::valid_sheet(), habits in support::habits()) {
            let step = file.cut.step_mm.unwrap_or(0.0);
            let ends = [
                (Place::ValveEndBottom, file.valve_end.bottom_width_mm, file.valve_end.lap_mm),
                (Place::PlainEndBottom, file.plain_end.bottom_width_mm, file.plain_end.lap_mm),
            ];
            for (place, b, o) in ends {
                let depth = (b + o - step * (file.plies.len() as f64 - 1.0)) / 2.0;
                let Some(expected) = testing::expected(depth, habits.flap_mm, habits.flap_mm) else { continue };
                prop_assert_eq!(testing::severity_by(&habits, &file, None, &RULE, place), Some(expected));
            }
        }
    }
}

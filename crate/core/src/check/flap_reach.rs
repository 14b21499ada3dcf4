//! The longest ply's flap ends before the opposite fold line, so that it does not hang over the bottom's edge.
//!
//! (B + o)/2 + s (n-1)/2 <= B. Follows from the folding, exact.

use crate::bottom::Bottom;
use crate::check::context::{Context, bottom_place, end_field, within};
use crate::check::remedy::{down, set_length, set_lengths, step_and_lap, up};
use crate::check::rule::{Judgement, Outcome, Rule};
use crate::finding::{Certainty, Severity, Topic};
use crate::units::length;

pub(super) const RULE: Rule =
    Rule { name: "flap-reach", topic: Topic::Make, source: "source.geometry", certainty: Certainty::Sure, check };

fn check(context: &Context) -> Outcome {
    let tube = context.sack.tube();
    let spread = tube.spread_mm();
    let judge = |bottom: &Bottom| {
        let reach = bottom.flap_depth_mm + spread;
        let (severity, message) = if within(reach, bottom.width_mm) {
            (Severity::Good, "finding.flap_reach.holds")
        } else {
            (Severity::Stop, "finding.flap_reach.over_the_edge")
        };
        let mut judgement = Judgement::new(bottom_place(bottom.end), severity, message)
            .compared(length(reach), length(bottom.width_mm));
        if spread > 0.0 {
            let step = tube.step_mm * (bottom.width_mm - bottom.flap_depth_mm) / spread;
            judgement = judgement
                .remedy(|| set_length("cure.step_most", "cut.step_mm", down(step)))
                .remedy(|| set_length("cure.step_most", "cut.step_mm", step))
                // (B + o + s (n-1))/2 <= B with o = s.
                .remedy(|| {
                    let most = bottom.width_mm / tube.plies.len() as f64;
                    step_and_lap(bottom.end, down(most.min(context.habits.most_step_mm)))
                });
        }
        let over = 2.0 * (reach - bottom.width_mm);
        judgement
            .remedy(|| set_length("cure.lap_most", end_field(bottom.end, "lap_mm"), down(bottom.lap_mm - over)))
            .remedy(|| {
                set_length(
                    "cure.bottom_width_least",
                    end_field(bottom.end, "bottom_width_mm"),
                    up(bottom.width_mm + over),
                )
            })
            // A wider bottom takes the pockets closer together by twice as much.
            .remedy(|| {
                set_lengths(
                    "cure.bottom_and_face_least",
                    [
                        ("value", end_field(bottom.end, "bottom_width_mm"), up(bottom.width_mm + over)),
                        ("face", "face_width_mm".into(), up(context.face_width_mm() + 2.0 * over + 2.0)),
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
        fn it_judges_by_the_longest_ply(file in support::valid_sheet()) {
            let step = file.cut.step_mm.unwrap_or(0.0);
            let ends = [
                (Place::ValveEndBottom, file.valve_end.bottom_width_mm, file.valve_end.lap_mm),
                (Place::PlainEndBottom, file.plain_end.bottom_width_mm, file.plain_end.lap_mm),
            ];
            for (place, b, o) in ends {
                let room = (b - o - step * (file.plies.len() as f64 - 1.0)) / 2.0;
                let Some(expected) = testing::expected(room, 0.0, 0.0) else { continue };
                prop_assert_eq!(testing::severity(&file, None, &RULE, place), Some(expected));
            }
        }
    }
}

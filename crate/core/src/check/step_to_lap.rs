//! Lap and step of a stepped cut agree, so that every ply is pasted to its like over the whole lap.
//!
//! |o - s| <= tolerance. The laps of the plies lie side by side at pitch s: o < s leaves strips of s - o without paste,
//! o > s pastes o - s of each ply to its neighbour. The relation is exact; the tolerance is an assumption from usual
//! laps and steps, low certainty. One ply has no step to agree with.

use crate::bottom::Bottom;
use crate::check::context::{Context, Judgement, end_field, lap_place, set_length, within};
use crate::finding::Severity;
use crate::sheet::CutKind;
use crate::units::length;

const RULE: &str = "step-to-lap";
const SOURCE: &str = "source.step_to_lap";

pub(super) fn check(context: &Context) -> Vec<Judgement> {
    let tube = context.sack.tube();
    if context.file().cut.kind == CutKind::Flush || tube.plies.len() < 2 {
        return Vec::new();
    }
    let (step, tolerance) = (tube.step_mm, context.habits.lap_from_step_mm);
    let judge = |bottom: &Bottom| {
        let lap = bottom.lap_mm;
        let (severity, message) = if within((lap - step).abs(), tolerance) {
            (Severity::Good, "finding.step_to_lap.holds")
        } else if lap < step {
            (Severity::Look, "finding.step_to_lap.strips_without_paste")
        } else {
            (Severity::Look, "finding.step_to_lap.pasted_to_neighbour")
        };
        Judgement::new(RULE, lap_place(bottom.end), severity, SOURCE, message)
            .compared(length(lap), length(step))
            .with("strip", length((lap - step).abs()))
            .remedy(set_length("cure.lap_as_step", end_field(bottom.end, "lap_mm"), step))
            .remedy(set_length("cure.step_as_lap", "cut.step_mm", lap))
    };
    context.bottoms().map(judge).into()
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
        fn it_judges_by_the_difference(file in support::valid_sheet()) {
            for (place, lap) in [(Place::ValveEndLap, file.valve_end.lap_mm), (Place::PlainEndLap, file.plain_end.lap_mm)] {
                let step = file.cut.step_mm.filter(|_| file.plies.len() > 1);
                let expected = step.map(|step| {
                    if lap > step + 5.0 || lap < step - 5.0 { Severity::Look } else { Severity::Good }
                });
                prop_assert_eq!(testing::severity(&file, None, RULE, place), expected);
            }
        }
    }
}

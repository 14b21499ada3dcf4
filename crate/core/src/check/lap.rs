//! The flaps of a bottom overlap enough to be pasted.
//!
//! o below the floor does not hold; o should reach 20 mm for a flush cut, 15 mm ply for ply for a stepped one. Trade
//! habits, medium certainty. A lap over the whole bottom is no sack at all and never comes here.

use crate::bottom::Bottom;
use crate::check::context::{Context, end_field, lap_place, reaches, weigh};
use crate::check::remedy::{set_length, set_lengths, up};
use crate::check::rule::{Judgement, Outcome, Rule};
use crate::finding::{Certainty, Severity, Topic};
use crate::sheet::CutKind;
use crate::units::length;

pub(super) const RULE: Rule =
    Rule { name: "lap", topic: Topic::Make, source: "source.lap", certainty: Certainty::Usual, check };

fn check(context: &Context) -> Outcome {
    let habits = context.habits;
    let usual = match context.file().cut.kind {
        CutKind::Flush => habits.lap_flush_mm,
        CutKind::Stepped => habits.lap_stepped_mm,
    };
    let advised = usual.max(habits.lap_floor_mm);
    let face = context.face_width_mm();
    let judge = |bottom: &Bottom| {
        let lap = bottom.lap_mm;
        let better = up(advised);
        let severity = weigh(reaches(lap, habits.lap_floor_mm), reaches(lap, advised));
        let (message, limit) = match severity {
            Severity::Good => ("finding.lap.holds", advised),
            Severity::Look => ("finding.lap.short", advised),
            Severity::Stop => ("finding.lap.too_short", habits.lap_floor_mm),
        };
        Judgement::new(lap_place(bottom.end), severity, message)
            .compared(length(lap), length(limit))
            .remedy(|| set_length("cure.lap_least", end_field(bottom.end, "lap_mm"), better))
            // A longer lap takes the pockets closer together; a face wider by as much keeps them where they are.
            .remedy(|| {
                set_lengths(
                    "cure.lap_and_face_least",
                    [
                        ("value", end_field(bottom.end, "lap_mm"), better),
                        ("face", "face_width_mm".into(), up(face + better - lap)),
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
        fn it_judges_by_the_kind_of_cut(file in support::valid_sheet(), habits in support::habits()) {
            let advised = if file.cut.kind == CutKind::Flush { habits.lap_flush_mm } else { habits.lap_stepped_mm };
            for (place, lap) in [(Place::ValveEndLap, file.valve_end.lap_mm), (Place::PlainEndLap, file.plain_end.lap_mm)] {
                let Some(expected) = testing::expected(lap, habits.lap_floor_mm, advised) else { continue };
                prop_assert_eq!(testing::severity_by(&habits, &file, None, &RULE, place), Some(expected));
            }
        }
    }
}

//! Lap and step of a stepped cut agree, so that every ply is pasted to its like over the whole lap.
//!
//! |o - s| <= tolerance. The laps of the plies lie side by side at pitch s. With o < s there are strips of s - o between
//! them where a ply lies on its neighbour, and o = 0 leaves no ply on its like. With o > s the laps run into each other
//! by o - s, where unlike plies lie on each other; from o = 2 s on only the outermost and the innermost ply meet their
//! like at all. Paste where unlike plies meet joins the wrong ones. The relation is exact; the tolerance is an
//! assumption from usual laps and steps, low certainty. One ply has no step to agree with.

use crate::bottom::Bottom;
use crate::check::context::{Context, end_field, lap_place, within};
use crate::check::remedy::{down, set_length, step_and_lap};
use crate::check::rule::{Judgement, Outcome, Rule};
use crate::finding::{Certainty, Severity, Topic};
use crate::tolerance::LAP_STRIP_MM;
use crate::units::length;

/// A strip narrower than this, in mm, is none that anybody could draw or paste.
const NO_STRIP_MM: f64 = 0.5;

pub(super) const RULE: Rule =
    Rule { name: "step-to-lap", topic: Topic::Make, source: "source.step_to_lap", certainty: Certainty::Guess, check };

fn check(context: &Context) -> Outcome {
    let plies = context.sack.tube().plies.len();
    let habits = context.habits;
    let (step, tolerance) = (context.step_mm()?, habits.lap_from_step_mm);
    let judge = |bottom: &Bottom| {
        let lap = bottom.lap_mm;
        let strip = (lap - step).abs();
        let (severity, message) = if lap <= LAP_STRIP_MM {
            (Severity::Look, "finding.step_to_lap.none_on_its_like")
        } else if plies > 2 && lap >= 2.0 * step - LAP_STRIP_MM {
            (Severity::Look, "finding.step_to_lap.inner_not_on_their_like")
        } else if strip < NO_STRIP_MM {
            (Severity::Good, "finding.step_to_lap.holds")
        } else if within(strip, tolerance) {
            (Severity::Good, "finding.step_to_lap.nearly_holds")
        } else if lap < step {
            (Severity::Look, "finding.step_to_lap.strips_between")
        } else {
            (Severity::Look, "finding.step_to_lap.runs_over")
        };
        let shown_strip = (message != "finding.step_to_lap.holds").then_some(length(strip));
        Judgement::new(lap_place(bottom.end), severity, message)
            .compared(length(lap), length(step))
            .with_some("strip", shown_strip)
            .remedy(|| set_length("cure.lap_as_step", end_field(bottom.end, "lap_mm"), step))
            .remedy(|| set_length("cure.step_as_lap", "cut.step_mm", lap))
            // With many plies the flaps may be too shallow for either: one that is usual, and leaves the shortest its paste.
            .remedy(|| {
                let most = (bottom.width_mm - 2.0 * habits.flap_mm) / plies.saturating_sub(2).max(1) as f64;
                step_and_lap(bottom.end, down(most.min(habits.most_step_mm)))
            })
    };
    Ok(context.bottoms().map(judge).into())
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::bottom::LapStrip;
    use crate::check::{support, testing};
    use crate::finding::Place;
    use crate::sack::Sack;
    use crate::sheet::{End, Sheet};

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(1000))]

        #[test]
        fn it_judges_by_the_difference(file in support::valid_sheet(), habits in support::habits()) {
            for (place, lap) in [(Place::ValveEndLap, file.valve_end.lap_mm), (Place::PlainEndLap, file.plain_end.lap_mm)] {
                let step = file.cut.step_mm.filter(|_| file.plies.len() > 1);
                let like_on_like = |step: f64| lap > 0.0 && (file.plies.len() < 3 || lap < 2.0 * step);
                let expected = step.map(|step| {
                    let near = (lap - step).abs() <= habits.lap_from_step_mm;
                    if near && like_on_like(step) { Severity::Good } else { Severity::Look }
                });
                prop_assert_eq!(testing::severity_by(&habits, &file, None, &RULE, place), expected);
            }
        }

        /// What is said of the strips is what the lap map shows.
        #[test]
        fn its_strips_are_those_of_the_lap_map(file in support::valid_sheet()) {
            let sack = Sack::new(Sheet::new(file.clone()).unwrap());
            let Some(step) = file.cut.step_mm.filter(|_| file.plies.len() > 1) else { return Ok(()) };
            for (place, bottom) in [Place::ValveEndLap, Place::PlainEndLap].into_iter().zip(End::ALL.map(|end| sack.bottom(end))) {
                let key = testing::finding(&file, None, &RULE, place).unwrap().message.key;
                // A lap over most of the bottom is cut off by its fold lines.
                if bottom.flap_depth_mm + sack.tube().spread_mm() > bottom.width_mm {
                    continue;
                }
                let width = |strip: &LapStrip| strip.to_mm - strip.from_mm;
                let (alike, unlike): (Vec<&LapStrip>, Vec<&LapStrip>) =
                    bottom.lap_map.iter().partition(|strip| strip.ply_over == strip.ply_under);
                match key.rsplit('.').next().unwrap() {
                    "none_on_its_like" => prop_assert!(alike.is_empty()),
                    "inner_not_on_their_like" => {
                        let last = file.plies.len() - 1;
                        prop_assert!(alike.iter().all(|strip| [0, last].contains(&strip.ply_over)));
                    }
                    "strips_between" => {
                        prop_assert_eq!(alike.len(), file.plies.len());
                        prop_assert!(alike.iter().all(|strip| (width(strip) - bottom.lap_mm).abs() < 1e-6));
                        prop_assert_eq!(unlike.len(), file.plies.len() - 1);
                        prop_assert!(unlike.iter().all(|strip| strip.ply_under == strip.ply_over + 1));
                        prop_assert!(unlike.iter().all(|strip| (width(strip) - (step - bottom.lap_mm)).abs() < 1e-6));
                    }
                    "runs_over" => {
                        prop_assert_eq!(alike.len(), file.plies.len());
                        prop_assert_eq!(unlike.len(), file.plies.len() - 1);
                        prop_assert!(unlike.iter().all(|strip| strip.ply_over == strip.ply_under + 1));
                        prop_assert!(unlike.iter().all(|strip| (width(strip) - (bottom.lap_mm - step)).abs() < 1e-6));
                    }
                    _ => {}
                }
            }
        }
    }
}

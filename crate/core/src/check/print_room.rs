//! Where the front can be read: clear of the side folds and of the bottoms' folds, and how much of it is seen in the pile.
//!
//! Filled: W - 2 side by L - 2 fold. Flat, both bottoms lie on the front and hide a strip of B1 and of B2, so that
//! L - B1 - B2 - 2 fold is left. The faces follow from the folding; what print keeps clear of folds is a trade habit,
//! medium certainty. Where the print itself stands the sheet does not say.

use crate::check::context::{Context, weigh, within};
use crate::check::remedy::{set_length, up};
use crate::check::rule::{Judgement, Outcome, Rule, Silence};
use crate::finding::{Certainty, Place, Severity, Topic};
use crate::units::length;

pub(super) const RULE: Rule =
    Rule { name: "print-room", topic: Topic::Make, source: "source.print_room", certainty: Certainty::Usual, check };

fn check(context: &Context) -> Outcome {
    let artwork = context.artwork()?;
    if artwork.front.is_none() {
        return Err(Silence::lacks("silent.front"));
    }
    let (side, fold) = (context.habits.print_side_mm, context.habits.print_fold_mm);
    let bottoms: f64 = context.bottoms().map(|bottom| bottom.width_mm).iter().sum();
    let long = context.file().length_mm;
    let (wide, high) = (context.face_width_mm() - 2.0 * side, long - 2.0 * fold);
    let hidden = bottoms + 2.0 * fold;
    // More than nothing must be left.
    let severity = weigh(true, !within(wide.min(long - hidden), 0.0));
    let judgement = match severity {
        Severity::Good => Judgement::new(Place::FaceWidth, severity, "finding.print_room.holds")
            .with("width", length(wide))
            .with("height", length(high))
            .with("seen", length(long - hidden)),
        Severity::Look | Severity::Stop if within(wide, 0.0) => {
            Judgement::new(Place::FaceWidth, severity, "finding.print_room.no_width")
                .compared(length(context.face_width_mm()), length(2.0 * side))
                .remedy(|| set_length("cure.face_width_least", "face_width_mm", up(2.0 * side) + 1.0))
        }
        Severity::Look | Severity::Stop => Judgement::new(Place::FaceWidth, severity, "finding.print_room.hidden")
            .compared(length(long), length(hidden))
            .remedy(|| set_length("cure.length_least", "length_mm", up(hidden) + 1.0)),
    };
    Ok(vec![judgement])
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::check::{support, testing};

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(1000))]

        #[test]
        fn it_judges_by_what_the_bottoms_leave_in_sight(file in support::valid_sheet(), habits in support::habits()) {
            let seen = file.length_mm - file.valve_end.bottom_width_mm - file.plain_end.bottom_width_mm - 2.0 * habits.print_fold_mm;
            let least = seen.min(file.face_width_mm - 2.0 * habits.print_side_mm);
            prop_assume!(least.abs() > 1e-6);
            let printed = file.artwork.as_ref().is_some_and(|artwork| artwork.front.is_some());
            let expected = printed.then_some(if least > 0.0 { Severity::Good } else { Severity::Look });
            prop_assert_eq!(testing::severity_by(&habits, &file, None, &RULE, Place::FaceWidth), expected);
        }
    }
}

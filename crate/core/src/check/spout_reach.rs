//! The spout ends over the open sack: past the rim of the pocket that it lies on, and before the pocket opposite.
//!
//! Measured from the bottom's end edge: (B + o)/2 <= reach <= W - B/2 - d. Exact for the flat bottom; the spout's reach
//! is the card's.

use crate::check::context::{Context, end_field, reaches, within};
use crate::check::remedy::{down, set_length, spout, up};
use crate::check::rule::{Judgement, Outcome, Rule};
use crate::finding::{Certainty, Place, Severity, Topic};
use crate::sheet::End;
use crate::units::length;

pub(super) const RULE: Rule =
    Rule { name: "spout-reach", topic: Topic::Line, source: "source.line_card", certainty: Certainty::Sure, check };

fn check(context: &Context) -> Outcome {
    let (line, (bottom, _)) = (context.line()?, context.valve()?);
    let reach = line.file().spout.reach_mm;
    let near = bottom.edge_to_pocket_rim_mm();
    let far = bottom.edge_to_far_pocket_mm();
    let judge = |severity, message, limit: f64| {
        Judgement::new(Place::Valve, severity, message).compared(length(reach), length(limit))
    };
    let (least, most) = (length(near), length(far));
    let judgement = if !reaches(reach, near) {
        judge(Severity::Stop, "finding.spout_reach.on_pocket", near)
            .with("most", most)
            .remedy(|| {
                set_length(
                    "cure.bottom_width_most",
                    end_field(End::ValveEnd, "bottom_width_mm"),
                    down(2.0 * reach - bottom.lap_mm),
                )
            })
            .remedy_if_any(|| spout("cure.spout_reach_least", up(near)))
    } else if !within(reach, far) {
        judge(Severity::Stop, "finding.spout_reach.on_far_pocket", far)
            .with("least", least)
            .remedy(|| set_length("cure.face_width_least", "face_width_mm", up(context.face_width_mm() + reach - far)))
            .remedy_if_any(|| spout("cure.spout_reach_most", down(far)))
    } else {
        judge(Severity::Good, "finding.spout_reach.holds", near).with("most", most)
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
        fn it_judges_by_the_flap_depth_and_the_far_pocket(file in support::valid_sheet(), line in support::valid_line()) {
            let (b, o, reach) = (file.valve_end.bottom_width_mm, file.valve_end.lap_mm, line.file().spout.reach_mm);
            let (near, far) = ((b + o) / 2.0, file.face_width_mm - 1.5 * b - o / 2.0);
            prop_assume!((reach - near).abs() > 1e-6 && (reach - far).abs() > 1e-6);
            let expected = if reach < near || reach > far { Severity::Stop } else { Severity::Good };
            prop_assert_eq!(testing::severity(&file, Some(&line), &RULE, Place::Valve), Some(expected));
        }
    }
}

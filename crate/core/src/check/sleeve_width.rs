//! The sleeve lies within the bottom's width, with a margin on each side.
//!
//! A rectangle wv x ls that starts at its mouth, off the centre line by c, and runs inwards turned by e: its farthest corner
//! reaches y from the centre line. 2 y is at most B (exact) and should be at most B - 2 margin (trade habit, medium
//! certainty).

use crate::check::context::{Context, end_field, weigh, within};
use crate::check::remedy::{down, set_length, set_zero, up};
use crate::check::rule::{Judgement, Outcome, Rule};
use crate::finding::{Certainty, Cure, Place, Severity, Topic};
use crate::fold::sleeve_placement;
use crate::sheet::End;
use crate::units::length;

pub(super) const RULE: Rule =
    Rule { name: "sleeve-width", topic: Topic::Make, source: "source.sleeve_side", certainty: Certainty::Usual, check };

fn check(context: &Context) -> Outcome {
    let (bottom, sleeve) = context.valve()?;
    let laid = sleeve_placement(bottom, &sleeve, 1.0);
    let cos = laid.du.y.abs();
    // Of its middle line, twice the larger distance of its two ends.
    let inner = laid.origin.y + sleeve.length_mm * laid.dv.y;
    let aside = 2.0 * laid.origin.y.abs().max(inner.abs());
    let needed = sleeve.width_mm * cos + aside;
    let margins = 2.0 * context.habits.sleeve_side_mm;
    let most = bottom.width_mm - margins;
    let severity = weigh(within(needed, bottom.width_mm), within(needed, most));
    let message = match severity {
        Severity::Good => "finding.sleeve_width.holds",
        Severity::Look => "finding.sleeve_width.tight",
        Severity::Stop => "finding.sleeve_width.too_wide",
    };
    let mut judgement = Judgement::new(Place::Sleeve, severity, message)
        .stops_for_sure()
        .compared(length(needed), length(most))
        .with("bottom", length(bottom.width_mm));
    if aside > 0.0 {
        let fields = ["valve_end.valve.offset_from_centre_mm", "valve_end.valve.skew_deg"].map(String::from);
        let straight = set_zero("cure.sleeve_straight", fields);
        let narrow = set_length("cure.sleeve_straight_and_narrow", "valve_end.valve.flat_width_mm", down(most));
        let both = [narrow.set, straight.set.clone()].concat();
        judgement = judgement.remedy(|| straight).remedy(|| Cure::new(narrow.message, both));
    }
    let narrower = down((most - aside) / cos);
    let wider = up(needed + margins);
    let judgement = judgement
        .remedy(|| set_length("cure.valve_width_most", "valve_end.valve.flat_width_mm", narrower))
        .remedy(|| set_length("cure.bottom_width_least", end_field(End::ValveEnd, "bottom_width_mm"), wider));
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
        fn it_judges_by_the_corners_of_the_sleeve(file in support::valid_sheet(), habits in support::habits()) {
            let valve = &file.valve_end.valve;
            let (sin, cos) = libm::sincos(valve.skew_deg.to_radians());
            let inwards = -valve.side.sign() * sin;
            let reach = [0.0, valve.length_mm].into_iter().flat_map(|u| [-0.5, 0.5].map(|v| (u, v))).map(|(u, v)| {
                (valve.offset_from_centre_mm + u * inwards + v * valve.flat_width_mm * cos).abs()
            });
            let room = file.valve_end.bottom_width_mm - 2.0 * reach.fold(0.0, f64::max);
            let expected = testing::expected(room, 0.0, 2.0 * habits.sleeve_side_mm);
            prop_assume!(expected.is_some());
            prop_assert_eq!(testing::severity_by(&habits, &file, None, &RULE, Place::Sleeve), expected);
        }
    }
}

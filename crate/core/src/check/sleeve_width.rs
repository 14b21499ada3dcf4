//! The sleeve lies within the bottom's width, with a margin on each side.
//!
//! A rectangle wv x ls whose middle is off the centre line by c, turned by e, reaches across the bottom by
//! wv cos e + ls sin|e| + 2|c|, counted symmetrically; that is at most B (exact) and should be at most B - 2 margin
//! (trade habit, medium certainty).

use crate::check::context::{Context, Judgement, down, end_field, set_length, up, weigh, within};
use crate::finding::{Change, Cure, Message, Place, Severity};
use crate::sheet::End;
use crate::units::length;

const RULE: &str = "sleeve-width";
const SOURCE: &str = "source.sleeve_side";

pub(super) fn check(context: &Context) -> Vec<Judgement> {
    let Some((bottom, sleeve)) = context.valve() else { return Vec::new() };
    let (sin, cos) = libm::sincos(sleeve.skew_deg.to_radians().abs());
    let aside = sleeve.length_mm * sin + 2.0 * sleeve.offset_mm.abs();
    let needed = sleeve.width_mm * cos + aside;
    let margins = 2.0 * context.habits.sleeve_side_mm;
    let most = bottom.width_mm - margins;
    let severity = weigh(within(needed, bottom.width_mm), within(needed, most));
    let message = match severity {
        Severity::Good => "finding.sleeve_width.holds",
        Severity::Look => "finding.sleeve_width.tight",
        Severity::Stop => "finding.sleeve_width.too_wide",
    };
    let mut judgement = Judgement::new(RULE, Place::Sleeve, severity, SOURCE, message)
        .compared(length(needed), length(most))
        .with("bottom", length(bottom.width_mm));
    if aside > 0.0 {
        let straight = ["valve_end.valve.offset_from_centre_mm", "valve_end.valve.skew_deg"]
            .map(|field| Change { field: field.into(), value: 0.0 })
            .to_vec();
        let narrow = set_length("cure.sleeve_straight_and_narrow", "valve_end.valve.flat_width_mm", down(most));
        judgement = judgement
            .remedy(Cure { message: Message::new("cure.sleeve_straight"), set: straight.clone() })
            .remedy(Cure { set: [narrow.set, straight].concat(), ..narrow });
    }
    let narrower = down((most - aside) / cos);
    let wider = up(needed + margins);
    let judgement = judgement
        .remedy(set_length("cure.valve_width_most", "valve_end.valve.flat_width_mm", narrower))
        .remedy(set_length("cure.bottom_width_least", end_field(End::ValveEnd, "bottom_width_mm"), wider));
    vec![judgement]
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::check::{support, testing};

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(1000))]

        #[test]
        fn it_judges_by_the_corners_of_the_sleeve(file in support::valid_sheet()) {
            let valve = &file.valve_end.valve;
            let (sin, cos) = libm::sincos(valve.skew_deg.to_radians());
            let reach = [-0.5, 0.5].iter().flat_map(|u| [-0.5, 0.5].map(|v| (u, v))).map(|(u, v)| {
                (valve.offset_from_centre_mm + u * valve.length_mm * sin + v * valve.flat_width_mm * cos).abs()
            });
            let room = file.valve_end.bottom_width_mm - 2.0 * reach.fold(0.0, f64::max);
            let expected = testing::expected(room, 0.0, 5.0);
            prop_assume!(expected.is_some());
            prop_assert_eq!(testing::severity(&file, None, RULE, Place::Sleeve), expected);
        }
    }
}

//! The spout runs straight through the sleeve, though that lies askew or off the centre line.
//!
//! The spout follows the bottom's centre line. Between the sleeve's edges, from its mouth to where it or the spout ends,
//! there is a straight lane w = wv / cos e - 2 max |y|, with the skew e and the distances y of its middle line from the
//! centre line; the spout, pressed flat, is half its girth U wide. w >= U / 2, else it drags the paper along. The lane
//! is exact for the flat bottom; paper gives, so never more than a look: an assumption, low certainty.

use crate::check::context::{Context, reaches};
use crate::check::remedy::{set_length, set_zero, up};
use crate::check::rule::{Judgement, Outcome, Rule, Silence};
use crate::finding::{Certainty, Place, Topic};
use crate::fold::sleeve_placement;
use crate::units::length;

pub(super) const RULE: Rule = Rule {
    name: "sleeve-straight",
    topic: Topic::Line,
    source: "source.sleeve_straight",
    certainty: Certainty::Guess,
    check,
};

fn check(context: &Context) -> Outcome {
    let (line, (bottom, sleeve)) = (context.line()?, context.tubular_valve()?);
    if sleeve.skew_deg == 0.0 && sleeve.offset_mm == 0.0 {
        return Err(Silence::not_applicable("silent.sleeve_straight"));
    }
    let laid = sleeve_placement(bottom, &sleeve, 1.0);
    let cos = libm::cos(sleeve.skew_deg.to_radians());
    // Along the sleeve, from its mouth.
    let run = ((line.file().spout.reach_mm + sleeve.outer_end_mm) / cos).clamp(0.0, sleeve.length_mm);
    let aside = [0.0, run].map(|along| (laid.origin.y + along * laid.dv.y).abs()).into_iter().fold(0.0, f64::max);
    let lane = sleeve.width_mm / cos - 2.0 * aside;
    let least = line.spout_girth_mm() / 2.0;
    let fields = ["valve_end.valve.offset_from_centre_mm", "valve_end.valve.skew_deg"].map(String::from);
    let wider = up((least + 2.0 * aside) * cos);
    let judgement = Judgement::advised(
        Place::Valve,
        reaches(lane, least),
        ["finding.sleeve_straight.holds", "finding.sleeve_straight.drags"],
    )
    .compared(length(lane), length(least))
    .remedy(set_zero("cure.sleeve_straight", fields))
    .remedy(set_length("cure.valve_width_least", "valve_end.valve.flat_width_mm", wider));
    Ok(vec![judgement])
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::check::{support, testing};
    use crate::sheet::SleeveKind;

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(1000))]

        /// The lane by its definition: straight lines along the bottom that stay between the sleeve's edges.
        #[test]
        fn it_judges_by_the_lines_that_stay_between_the_edges(file in support::valid_sheet(), line in support::valid_line()) {
            let valve = &file.valve_end.valve;
            let found = testing::severity(&file, Some(&line), &RULE, Place::Valve);
            if valve.sleeve == SleeveKind::Reinforcement || (valve.skew_deg == 0.0 && valve.offset_from_centre_mm == 0.0) {
                prop_assert_eq!(found, None);
                return Ok(());
            }
            let tan = libm::tan(valve.skew_deg.to_radians());
            let cos = libm::cos(valve.skew_deg.to_radians());
            let inside = (line.file().spout.reach_mm + valve.outer_end_mm).clamp(0.0, valve.length_mm * cos);
            let half = (0..=20).map(|i| {
                let middle = valve.offset_from_centre_mm - valve.side.sign() * tan * inside * f64::from(i) / 20.0;
                valve.flat_width_mm / (2.0 * cos) - middle.abs()
            });
            let room = 2.0 * half.fold(f64::INFINITY, f64::min) - line.spout_girth_mm() / 2.0;
            let expected = testing::expected(room, f64::NEG_INFINITY, 0.0);
            prop_assume!(expected.is_some());
            prop_assert_eq!(found, expected);
        }
    }
}

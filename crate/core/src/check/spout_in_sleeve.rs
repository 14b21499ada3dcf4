//! The spout passes the sleeve, or ends little before it: else product is pressed into a sleeve that lies folded.
//!
//! reach >= ls - a / cos e - margin, along the sleeve, into which the spout goes: of length ls, its outer end a beyond the
//! bottom's end edge, turned by e. Source: trade habit, low certainty. A single reinforcing sheet can't fold shut and is
//! left out.

use crate::check::context::{Context, reaches};
use crate::check::remedy::{down, set_length, spout, up};
use crate::check::rule::{Judgement, Outcome, Rule};
use crate::finding::{Certainty, Place, Severity, Topic};
use crate::units::length;

pub(super) const RULE: Rule = Rule {
    name: "spout-in-sleeve",
    topic: Topic::Line,
    source: "source.spout_in_sleeve",
    certainty: Certainty::Guess,
    check,
};

fn check(context: &Context) -> Outcome {
    let ((_, sleeve), line) = (context.tubular_valve()?, context.line()?);
    let reach = line.file().spout.reach_mm;
    let margin = context.habits.spout_before_sleeve_mm;
    let least = sleeve.depth_mm() - margin;
    let judge =
        |severity, message| Judgement::new(Place::Sleeve, severity, message).compared(length(reach), length(least));
    let judgement = if reaches(reach, least) {
        judge(Severity::Good, "finding.spout_in_sleeve.holds")
    } else {
        let most = down(sleeve.length_mm + reach - least);
        judge(Severity::Look, "finding.spout_in_sleeve.ends_inside")
            .remedy(|| set_length("cure.sleeve_length_most", "valve_end.valve.length_mm", most))
            .remedy_if_any(|| spout("cure.spout_reach_least", up(least)))
    };
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

        #[test]
        fn it_judges_by_the_sleeve_s_inner_end(file in support::valid_sheet(), line in support::valid_line(), habits in support::habits()) {
            let valve = &file.valve_end.valve;
            let expected = match valve.sleeve {
                SleeveKind::Reinforcement => None,
                SleeveKind::Internal | SleeveKind::External => {
                    let before = valve.outer_end_mm / libm::cos(valve.skew_deg.to_radians());
                    let missing = valve.length_mm - before - line.file().spout.reach_mm - habits.spout_before_sleeve_mm;
                    prop_assume!(missing.abs() > 1e-6);
                    Some(if missing > 0.0 { Severity::Look } else { Severity::Good })
                }
            };
            prop_assert_eq!(testing::severity_by(&habits, &file, Some(&line), &RULE, Place::Sleeve), expected);
        }
    }
}

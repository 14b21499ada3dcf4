//! The spout's height fits the bottom: it should stay below the bottom's width by a margin, and can't exceed it.
//!
//! height <= B - margin. The end edge is B wide (exact); the margin is a trade habit of low certainty, told for oval
//! spouts in low bottoms.

use crate::check::context::{Context, bottom_place, end_field, weigh, within};
use crate::check::remedy::{down, set_length, spout, up};
use crate::check::rule::{Judgement, Outcome, Rule};
use crate::finding::{Certainty, Severity, Topic};
use crate::sheet::End;
use crate::units::length;

pub(super) const RULE: Rule = Rule {
    name: "spout-height",
    topic: Topic::Line,
    source: "source.spout_height",
    certainty: Certainty::Guess,
    check,
};

fn check(context: &Context) -> Outcome {
    let line = context.line()?;
    let height = line.spout_height_mm();
    let width = context.sack.bottom(End::ValveEnd).width_mm;
    let margin = context.habits.spout_height_margin_mm;
    let severity = weigh(within(height, width), within(height, width - margin));
    let message = match severity {
        Severity::Good => "finding.spout_height.holds",
        Severity::Look => "finding.spout_height.tight",
        Severity::Stop => "finding.spout_height.too_high",
    };
    let judgement = Judgement::new(bottom_place(End::ValveEnd), severity, message)
        .stops_for_sure()
        .compared(length(height), length(width - margin))
        .remedy(|| {
            set_length("cure.bottom_width_least", end_field(End::ValveEnd, "bottom_width_mm"), up(height + margin))
        })
        .remedy_if_any(|| spout("cure.spout_height_most", down(width - margin)));
    Ok(vec![judgement])
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
        fn it_judges_by_the_bottom_s_width(file in support::valid_sheet(), line in support::valid_line(), habits in support::habits()) {
            let room = file.valve_end.bottom_width_mm - line.spout_height_mm();
            let expected = testing::expected(room, 0.0, habits.spout_height_margin_mm);
            prop_assume!(expected.is_some());
            prop_assert_eq!(testing::severity_by(&habits, &file, Some(&line), &RULE, Place::ValveEndBottom), expected);
        }
    }
}

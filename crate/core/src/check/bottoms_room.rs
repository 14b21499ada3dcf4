//! Both opened ends find room on the tube at once.
//!
//! C >= d1 + d2 + gap: the ends lie opened flat on wall A, each reaching from its centre line by its depth d. Follows
//! from the folding; the gap is an assumption, low certainty. Works that make one end after the other can do with less.

use crate::check::context::{Context, reaches};
use crate::check::remedy::{set_length, up};
use crate::check::rule::{Judgement, Outcome, Rule};
use crate::finding::{Certainty, Place, Topic};
use crate::units::length;

pub(super) const RULE: Rule = Rule {
    name: "bottoms-room",
    topic: Topic::Make,
    source: "source.bottoms_room",
    certainty: Certainty::Guess,
    check,
};

fn check(context: &Context) -> Outcome {
    let distance = context.sack.tube().bottom_centre_distance_mm;
    let depths: f64 = context.bottoms().map(|bottom| bottom.opening_depth_mm).iter().sum();
    let least = depths + context.habits.bottoms_gap_mm;
    let longer = up(context.file().length_mm + least - distance);
    let judgement = Judgement::advised(
        Place::Length,
        reaches(distance, least),
        ["finding.bottoms_room.holds", "finding.bottoms_room.overlap"],
    )
    .compared(length(distance), length(least))
    .remedy(|| set_length("cure.length_least", "length_mm", longer));
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
        fn it_judges_by_the_length_between_the_opened_ends(file in support::valid_sheet(), habits in support::habits()) {
            let (v, p) = (&file.valve_end, &file.plain_end);
            let needed = 1.5 * (v.bottom_width_mm + p.bottom_width_mm) + (v.lap_mm + p.lap_mm) / 2.0 + habits.bottoms_gap_mm;
            let expected = testing::expected(file.length_mm - needed, f64::NEG_INFINITY, 0.0);
            prop_assume!(expected.is_some());
            prop_assert_eq!(testing::severity_by(&habits, &file, None, &RULE, Place::Length), expected);
        }
    }
}

//! The bottomer takes the distance between the middles of the bottoms. As the works' card says, for C = L - (B1 + B2)/2.

use crate::check::context::Context;
use crate::check::machine::{Limits, Machine, set};
use crate::check::rule::{Outcome, Rule};
use crate::finding::{Certainty, Place, Topic};
use crate::units::Dimension;

pub(super) const RULE: Rule = Rule {
    name: "works-centre-distance",
    topic: Topic::Make,
    source: "source.works_card",
    certainty: Certainty::Sure,
    check,
};

fn check(context: &Context) -> Outcome {
    let range = context.works()?.bottomer.bottom_centre_distance_mm;
    let (distance, sack) = (context.sack.tube().bottom_centre_distance_mm, context.file().length_mm);
    Limits::of(Machine::Bottomer, range).judge(
        Place::Length,
        "finding.works.what.centre_distance",
        (Dimension::Length, distance),
        &|bound, limit| set(bound, ["cure.length_least", "cure.length_most"], "length_mm", sack + limit - distance),
    )
}

//! The tuber takes so many plies. As the works' card says.

use crate::check::context::Context;
use crate::check::machine::{Limits, Machine, no_cure};
use crate::check::rule::{Outcome, Rule};
use crate::finding::{Certainty, Place, Topic};
use crate::units::Dimension;

pub(super) const RULE: Rule =
    Rule { name: "works-plies", topic: Topic::Make, source: "source.works_card", certainty: Certainty::Sure, check };

fn check(context: &Context) -> Outcome {
    let range = context.works()?.tuber.plies;
    let number = |count: Option<usize>| count.map(|count| count as f64);
    Limits::new(Machine::Tuber, number(range.min), number(range.max)).judge(
        Place::Plies,
        "finding.works.what.plies",
        (Dimension::Count, context.sack.tube().plies.len() as f64),
        &no_cure,
    )
}

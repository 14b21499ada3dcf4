//! Tuber and bottomer take the length of the tube. As the works' card says, for T = L + (B1 + B2)/2 + (o1 + o2)/2.

use crate::check::context::Context;
use crate::check::machine::{Limits, set};
use crate::check::rule::{Outcome, Rule};
use crate::finding::{Certainty, Place, Topic};
use crate::units::Dimension;

pub(super) const RULE: Rule = Rule {
    name: "works-tube-length",
    topic: Topic::Make,
    source: "source.works_card",
    certainty: Certainty::Sure,
    check,
};

fn check(context: &Context) -> Outcome {
    let works = context.works()?;
    let (tube, sack) = (context.sack.tube().length_mm, context.file().length_mm);
    Limits::both(works.tuber.tube_length_mm, works.bottomer.tube_length_mm).judge(
        Place::Length,
        "finding.works.what.tube_length",
        (Dimension::Length, tube),
        &|bound, limit| set(bound, ["cure.length_least", "cure.length_most"], "length_mm", sack + limit - tube),
    )
}

//! The bottomer makes the sleeve so long. As the works' card says.

use crate::check::context::Context;
use crate::check::machine::{Limits, Machine, set};
use crate::check::rule::{Outcome, Rule};
use crate::finding::{Certainty, Place, Topic};
use crate::units::Dimension;

pub(super) const RULE: Rule = Rule {
    name: "works-sleeve-length",
    topic: Topic::Make,
    source: "source.works_card",
    certainty: Certainty::Sure,
    check,
};

fn check(context: &Context) -> Outcome {
    let range = context.works()?.bottomer.sleeve_length_mm;
    let (_, sleeve) = context.valve()?;
    Limits::of(Machine::Bottomer, range).judge(
        Place::Sleeve,
        "finding.works.what.sleeve_length",
        (Dimension::Length, sleeve.length_mm),
        &|bound, limit| {
            set(bound, ["cure.sleeve_length_least", "cure.sleeve_length_most"], "valve_end.valve.length_mm", limit)
        },
    )
}

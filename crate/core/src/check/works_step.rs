//! The tuber takes the step of a stepped cut. As the works' card says.

use crate::check::context::Context;
use crate::check::machine::{Limits, Machine, set};
use crate::check::rule::{Outcome, Rule};
use crate::finding::{Certainty, Place, Topic};
use crate::units::Dimension;

pub(super) const RULE: Rule =
    Rule { name: "works-step", topic: Topic::Make, source: "source.works_card", certainty: Certainty::Sure, check };

fn check(context: &Context) -> Outcome {
    let step = context.step_mm()?;
    let range = context.works()?.tuber.step_mm;
    Limits::of(Machine::Tuber, range).judge(
        Place::Cut,
        "finding.works.what.step",
        (Dimension::Length, step),
        &|bound, limit| set(bound, ["cure.step_least", "cure.step_most"], "cut.step_mm", limit),
    )
}

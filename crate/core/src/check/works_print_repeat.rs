//! The tuber prints at this repeat. As the works' card says, for the repeat of the artwork, or the tube's length where that is left open.

use crate::check::context::Context;
use crate::check::machine::{Limits, Machine, set};
use crate::check::rule::{Outcome, Rule};
use crate::finding::{Certainty, Place, Topic};
use crate::units::Dimension;

pub(super) const RULE: Rule = Rule {
    name: "works-print-repeat",
    topic: Topic::Make,
    source: "source.works_card",
    certainty: Certainty::Sure,
    check,
};

fn check(context: &Context) -> Outcome {
    let range = context.works()?.tuber.print_repeat_mm;
    let (tube, sack) = (context.sack.tube().length_mm, context.file().length_mm);
    let told = context.artwork()?.repeat_mm;
    let repeat = told.unwrap_or(tube);
    Limits::of(Machine::Tuber, range).judge(
        Place::Length,
        "finding.works.what.print_repeat",
        (Dimension::Length, repeat),
        &|bound, limit| {
            // A repeat of its own spans whole tubes: which, is for the artwork to say.
            if told.is_some() {
                return Vec::new();
            }
            set(bound, ["cure.length_least", "cure.length_most"], "length_mm", sack + limit - tube)
        },
    )
}

//! The bottomer makes bottoms so wide. As the works' card says.

use crate::check::context::{Context, bottom_place, end_field};
use crate::check::machine::{Limits, Machine, no_range, set};
use crate::check::rule::{Judgement, Outcome, Rule};
use crate::finding::{Certainty, Topic};
use crate::units::Dimension;

pub(super) const RULE: Rule = Rule {
    name: "works-bottom-width",
    topic: Topic::Make,
    source: "source.works_card",
    certainty: Certainty::Sure,
    check,
};

fn check(context: &Context) -> Outcome {
    let limits = Limits::of(Machine::Bottomer, context.works()?.bottomer.bottom_width_mm);
    let judged = context.bottoms().into_iter().map(|bottom| {
        limits.judgement(
            bottom_place(bottom.end),
            "finding.works.what.bottom_width",
            (Dimension::Length, bottom.width_mm),
            &|bound, limit| {
                let words = ["cure.bottom_width_least", "cure.bottom_width_most"];
                set(bound, words, end_field(bottom.end, "bottom_width_mm"), limit)
            },
        )
    });
    judged.collect::<Option<Vec<Judgement>>>().ok_or_else(no_range)
}

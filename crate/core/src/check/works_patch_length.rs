//! The bottomer lays patches so long. As the works' card says.

use crate::check::context::{Context, end_field, patch_place};
use crate::check::machine::{Limits, Machine, no_range, set};
use crate::check::rule::{Judgement, Outcome, Rule};
use crate::finding::{Certainty, Topic};
use crate::units::Dimension;

pub(super) const RULE: Rule = Rule {
    name: "works-patch-length",
    topic: Topic::Make,
    source: "source.works_card",
    certainty: Certainty::Sure,
    check,
};

fn check(context: &Context) -> Outcome {
    let patches = context.patches()?;
    let limits = Limits::of(Machine::Bottomer, context.works()?.bottomer.patch_length_mm);
    let judged = patches.into_iter().map(|(bottom, patch)| {
        limits.judgement(
            patch_place(bottom.end),
            "finding.works.what.patch_length",
            (Dimension::Length, patch.length_mm),
            &|bound, limit| {
                let words = ["cure.patch_length_least", "cure.patch_length_most"];
                set(bound, words, end_field(bottom.end, "patch.length_mm"), limit)
            },
        )
    });
    judged.collect::<Option<Vec<Judgement>>>().ok_or_else(no_range)
}

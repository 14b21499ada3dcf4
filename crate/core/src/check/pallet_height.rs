//! Pallet and load are no higher than the card allows, with whole layers: h + n t <= H. Exact for layers as thick as a sack
//! pressed; lower layers settle, so a real stack is lower.

use crate::check::context::{Context, within};
use crate::check::remedy::advice;
use crate::check::rule::{Judgement, Outcome, Rule, Silence};
use crate::finding::{Certainty, Place, Severity, Topic};
use crate::units::{count, length};

pub(super) const RULE: Rule = Rule {
    name: "pallet-height",
    topic: Topic::Pallet,
    source: "source.pallet_card",
    certainty: Certainty::Sure,
    check,
};

fn check(context: &Context) -> Outcome {
    let pallet = context.pallet()?;
    let most = pallet.max_total_height_mm.ok_or_else(|| Silence::not_applicable("silent.pallet_height"))?;
    let stack = context.stack()?;
    let one = pallet.height_mm + stack.sack.gap_mm;
    // The mass may be too much for one layer as well.
    if stack.layers.is_empty() && stack.sacks_per_layer > 0 && !within(one, most) {
        let judgement = Judgement::new(Place::Contents, Severity::Stop, "finding.pallet_height.not_one");
        return Ok(vec![judgement.compared(length(one), length(most)).remedy(|| advice("cure.pallet_other"))]);
    }
    let stack = context.layers()?;
    let judgement = Judgement::new(Place::Contents, Severity::Good, "finding.pallet_height.holds")
        .compared(length(stack.total_height_mm), length(most))
        .with("count", count(stack.layers.len()));
    Ok(vec![judgement])
}

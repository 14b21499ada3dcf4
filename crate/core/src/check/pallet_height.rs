//! Pallet and load are no higher than the card allows, with whole layers: h + n t <= H. Exact for layers as thick as a sack
//! pressed; lower layers settle, so a real stack is lower.

use crate::check::context::Context;
use crate::check::remedy::advice;
use crate::check::rule::{Judgement, Outcome, Rule, Silence};
use crate::finding::{Certainty, Place, Severity, Topic};
use crate::pallet::EndedBy;
use crate::units::{count, length};

pub(super) const RULE: Rule = Rule {
    name: "pallet-height",
    topic: Topic::Pallet,
    source: "source.pallet_card",
    certainty: Certainty::Sure,
    check,
};

fn check(context: &Context) -> Outcome {
    let (pallet, stack) = context.stack()?;
    let most = pallet.max_total_height_mm.ok_or_else(|| Silence::not_applicable("silent.pallet_height"))?;
    if stack.layers.is_empty() && stack.ended_by == EndedBy::Height {
        let one = pallet.height_mm + stack.sack.gap_mm;
        let judgement = Judgement::new(Place::Contents, Severity::Stop, "finding.pallet_height.not_one");
        return Ok(vec![judgement.compared(length(one), length(most)).remedy(|| advice("cure.pallet_other"))]);
    }
    let (_, stack) = context.layers()?;
    let judgement = Judgement::new(Place::Contents, Severity::Good, "finding.pallet_height.holds")
        .compared(length(stack.total_height_mm), length(most))
        .with("count", count(stack.layers.len()));
    Ok(vec![judgement])
}

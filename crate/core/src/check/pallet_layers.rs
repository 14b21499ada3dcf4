//! Layers, no more than the card allows: as it stands there.

use crate::check::context::Context;
use crate::check::rule::{Judgement, Outcome, Rule, Silence};
use crate::finding::{Certainty, Place, Severity, Topic};
use crate::units::count;

pub(super) const RULE: Rule = Rule {
    name: "pallet-layers",
    topic: Topic::Pallet,
    source: "source.pallet_card",
    certainty: Certainty::Sure,
    check,
};

fn check(context: &Context) -> Outcome {
    let most = context.pallet()?.max_layers.ok_or_else(|| Silence::not_applicable("silent.pallet_layers"))?;
    let stack = context.layers()?;
    let judgement = Judgement::new(Place::Contents, Severity::Good, "finding.pallet_layers.holds")
        .compared(count(stack.layers.len()), count(most))
        .with("sacks", count(stack.sacks_per_layer));
    Ok(vec![judgement])
}

//! Layers bind: half of the sacks or more rest on two or more below. Columns of sacks lean apart.
//!
//! The share follows from the layers; how much of it does is an assumption, low certainty: anti-slip paper, stretch film
//! and the product count too.

use crate::check::context::Context;
use crate::check::remedy::advice;
use crate::check::rule::{Judgement, Outcome, Rule, Silence};
use crate::finding::{Certainty, Place, Severity, Topic};
use crate::units::ratio;

pub(super) const RULE: Rule = Rule {
    name: "pallet-binding",
    topic: Topic::Pallet,
    source: "source.pallet_binding",
    certainty: Certainty::Guess,
    check,
};

fn check(context: &Context) -> Outcome {
    let stack = context.layers()?;
    if stack.layers.len() < 2 {
        return Err(Silence::not_applicable("silent.one_layer"));
    }
    let least = context.habits.binding_share;
    let (severity, message) = if stack.binding < least {
        (Severity::Look, "finding.pallet_binding.loose")
    } else {
        (Severity::Good, "finding.pallet_binding.holds")
    };
    let judgement = Judgement::new(Place::Contents, severity, message).compared(ratio(stack.binding), ratio(least));
    Ok(vec![judgement.remedy(|| advice("cure.pallet_binding"))])
}

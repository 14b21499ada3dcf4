//! A layer holds as many of sacks that lie 5 mm longer or wider: filled sacks differ by that much from one to the next, and
//! from what is computed.
//!
//! How near another count is follows from the layers ([`crate::pallet::Leeway`]); how much it should be is an assumption, low
//! certainty.

use crate::check::context::{Context, reaches};
use crate::check::remedy::advice;
use crate::check::rule::{Judgement, Outcome, Rule};
use crate::finding::{Certainty, Place, Topic};
use crate::units::{count, length};

pub(super) const RULE: Rule = Rule {
    name: "pallet-leeway",
    topic: Topic::Pallet,
    source: "source.pallet_leeway",
    certainty: Certainty::Guess,
    check,
};

fn check(context: &Context) -> Outcome {
    let stack = context.layers()?;
    let least = context.habits.pallet_leeway_mm;
    let leeway = stack.leeway.longer_mm.min(stack.leeway.wider_mm);
    let messages = ["finding.pallet_leeway.holds", "finding.pallet_leeway.near"];
    let judgement = Judgement::advised(Place::Contents, reaches(leeway, least), messages)
        .compared(length(leeway), length(least))
        .with("sacks", count(stack.sacks_per_layer));
    Ok(vec![judgement.remedy(|| advice("cure.pallet_leeway"))])
}

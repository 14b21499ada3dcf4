//! The sacks weigh no more than the pallet carries, with whole layers: n m <= M. Exact for the contents' mass and the empty
//! sack's.

use crate::check::context::{Context, within};
use crate::check::remedy::advice;
use crate::check::rule::{Judgement, Outcome, Rule, Silence};
use crate::finding::{Certainty, Place, Severity, Topic};
use crate::units::{Dimension, count, quantity};

pub(super) const RULE: Rule =
    Rule { name: "pallet-load", topic: Topic::Pallet, source: "source.pallet_card", certainty: Certainty::Sure, check };

fn check(context: &Context) -> Outcome {
    let most = context.pallet()?.max_load_kg.ok_or_else(|| Silence::not_applicable("silent.pallet_load"))?;
    let mass = |value| quantity(Dimension::Mass, value);
    let stack = context.stack()?;
    let one = stack.sacks_per_layer as f64 * stack.sack.mass_kg;
    // The height may be too little for one layer as well.
    if stack.layers.is_empty() && !within(one, most) {
        let judgement = Judgement::new(Place::Contents, Severity::Stop, "finding.pallet_load.not_one");
        return Ok(vec![judgement.compared(mass(one), mass(most)).remedy(|| advice("cure.pallet_other"))]);
    }
    let stack = context.layers()?;
    let judgement = Judgement::new(Place::Contents, Severity::Good, "finding.pallet_load.holds")
        .compared(mass(stack.load_kg), mass(most))
        .with("count", count(stack.sacks))
        .with("gross", mass(stack.gross_mass_kg));
    Ok(vec![judgement])
}

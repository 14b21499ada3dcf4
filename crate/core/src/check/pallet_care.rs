//! A caution on loaded pallets: they crush, topple and overload floors. Certain in general; what is allowed is for local
//! rules, the maker of the pallet and of the truck, and whoever is responsible for the store to say.

use crate::check::context::Context;
use crate::check::remedy::advice;
use crate::check::rule::{Judgement, Outcome, Rule};
use crate::finding::{Certainty, Place, Severity, Topic};
use crate::units::{Dimension, length, quantity};

pub(super) const RULE: Rule =
    Rule { name: "pallet-care", topic: Topic::Care, source: "source.pallet_care", certainty: Certainty::Sure, check };

fn check(context: &Context) -> Outcome {
    let stack = context.layers()?;
    let caution = Judgement::new(Place::Contents, Severity::Look, "finding.pallet_care.loaded")
        .with("mass", quantity(Dimension::Mass, stack.gross_mass_kg))
        .with("height", length(stack.total_height_mm));
    Ok(vec![caution.remedy(|| advice("cure.pallet_care"))])
}

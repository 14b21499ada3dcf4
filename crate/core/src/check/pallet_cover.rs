//! A layer covers the pallet: sacks' area over the area of the pallet's top, at least 0.62.
//!
//! The area is exact for sacks that lie as rectangles; the limit is one industry's for its pallets, low certainty. That a
//! sack lies on the pallet at all follows from their sizes.

use crate::check::context::Context;
use crate::check::remedy::advice;
use crate::check::rule::{Judgement, Outcome, Rule};
use crate::finding::{Certainty, Place, Severity, Topic};
use crate::units::{count, length, ratio};

pub(super) const RULE: Rule = Rule {
    name: "pallet-cover",
    topic: Topic::Pallet,
    source: "source.pallet_cover",
    certainty: Certainty::Guess,
    check,
};

fn check(context: &Context) -> Outcome {
    let stack = context.stack()?;
    let least = context.habits.pallet_cover_share;
    let severity = match stack.sacks_per_layer {
        0 => Severity::Stop,
        _ if stack.area_used < least => Severity::Look,
        _ => Severity::Good,
    };
    let judge = |message| {
        Judgement::new(Place::Contents, severity, message)
            .stops_for_sure()
            .weighed(ratio(stack.area_used), ratio(least))
            .remedy(|| advice("cure.pallet_other"))
    };
    let layer = |message| {
        judge(message)
            .with("value", ratio(stack.area_used))
            .with("limit", ratio(least))
            .with("count", count(stack.sacks_per_layer))
    };
    let sack = &stack.sack;
    let judgement = match severity {
        Severity::Stop => judge("finding.pallet_cover.none")
            .with("length", length(sack.length_mm))
            .with("width", length(sack.width_mm)),
        Severity::Look => layer("finding.pallet_cover.little"),
        Severity::Good => layer("finding.pallet_cover.holds"),
    };
    Ok(vec![judgement])
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::check::{Against, support, testing};
    use crate::pallet::{layer_count, stack};

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(1000))]

        /// All rules of the pallet at once, each by its own formula.
        #[test]
        fn a_stack_is_judged_by_what_it_is(
            pallet in support::valid_pallet(), sack in support::filled_sack(), habits in support::habits(),
        ) {
            let (card, stack) = (pallet.file().clone(), stack(&pallet, &sack));
            let against = Against { pallet: Some(&pallet), stack: Some(&stack), habits: Some(&habits), ..Against::default() };
            let (found, silent) = testing::judged(&support::plain_sheet(), &against);
            let severity = |rule: &str| found.iter().find(|finding| finding.rule == rule).map(|finding| finding.severity);
            let look = |holds: bool| Some(if holds { Severity::Good } else { Severity::Look });
            let (n, layers) = (stack.sacks_per_layer, stack.layers.len());
            let used = n as f64 * sack.length_mm * sack.width_mm / (card.length_mm * card.width_mm);
            let cover = if n == 0 { Some(Severity::Stop) } else { look(used >= habits.pallet_cover_share) };
            prop_assert_eq!(severity("pallet-cover"), cover);
            // Of one layer and of the whole stack.
            let allowed = |most: Option<f64>, one: f64, all: f64| match (most?, layers) {
                (most, 0) => (n > 0 && one > most).then_some(Severity::Stop),
                (most, _) => (all <= most + 1e-6).then_some(Severity::Good),
            };
            let (height, mass) = (|of: f64| 150.0 + of * sack.gap_mm, |of: f64| of * n as f64 * sack.mass_kg);
            let high = allowed(card.max_total_height_mm, height(1.0), height(layers as f64));
            prop_assert_eq!(severity("pallet-height"), high);
            prop_assert_eq!(severity("pallet-load"), allowed(card.max_load_kg, mass(1.0), mass(layers as f64)));
            prop_assert_eq!(severity("pallet-layers"), (layers > 0 && card.max_layers.is_some()).then_some(Severity::Good));
            let out = stack.overhang_mm.length_mm.max(stack.overhang_mm.width_mm);
            prop_assert_eq!(severity("pallet-overhang"), if layers > 0 { look(out <= habits.overhang_mm) } else { None });
            prop_assert_eq!(severity("pallet-binding"), if layers > 1 { look(stack.binding >= habits.binding_share) } else { None });
            let larger = |[l, w]: [f64; 2]| [sack.length_mm + l, sack.width_mm + w];
            let as_many = |by: [f64; 2]| layer_count(pallet.layer_room_mm(), larger(by)).0 == n;
            // In half mm.
            let by = (2.0 * habits.pallet_leeway_mm).ceil() / 2.0;
            let leeway = as_many([by, 0.0]) && as_many([0.0, by]);
            prop_assert_eq!(severity("pallet-leeway"), if layers > 0 { look(leeway) } else { None });
            prop_assert_eq!(severity("pallet-care"), (layers > 0).then_some(Severity::Look));
            prop_assert!(silent.iter().all(|silent| silent.message.key != "silent.pallet"));
        }
    }
}

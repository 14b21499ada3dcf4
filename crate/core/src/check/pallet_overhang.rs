//! Sacks stand out beyond the pallet by no more than 25 mm: what stands out is torn by neighbours, forks and walls.
//!
//! The layer itself keeps to what the pallet's card allows. The limit is a rule of thumb of the trade, medium certainty;
//! some buyers allow 10 mm, some nothing.

use crate::check::context::{Context, weigh, within};
use crate::check::remedy::elsewhere;
use crate::check::rule::{Judgement, Outcome, Rule};
use crate::finding::{Certainty, Place, Severity, Topic};
use crate::units::length;

pub(super) const RULE: Rule = Rule {
    name: "pallet-overhang",
    topic: Topic::Pallet,
    source: "source.pallet_overhang",
    certainty: Certainty::Usual,
    check,
};

fn check(context: &Context) -> Outcome {
    let stack = context.layers()?;
    let most = context.habits.overhang_mm;
    let out = stack.overhang_mm.length_mm.max(stack.overhang_mm.width_mm);
    let severity = weigh(true, within(out, most));
    let message = match severity {
        Severity::Good if within(out, 0.0) => "finding.pallet_overhang.none",
        Severity::Good => "finding.pallet_overhang.holds",
        Severity::Look | Severity::Stop => "finding.pallet_overhang.far",
    };
    let judgement = Judgement::new(Place::Contents, severity, message).weighed(length(out), length(most));
    let judgement = if within(out, 0.0) { judgement } else { judgement.compared(length(out), length(most)) };
    Ok(vec![judgement.remedy(|| elsewhere("cure.pallet_overhang", most))])
}

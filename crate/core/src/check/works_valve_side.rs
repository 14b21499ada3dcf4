//! The bottomer puts the valve on this side. As the works' card says.

use crate::check::context::Context;
use crate::check::machine::no_range;
use crate::check::remedy::advice;
use crate::check::rule::{Judgement, Outcome, Rule};
use crate::finding::{Arg, Certainty, Place, Severity, Topic};
use crate::sheet::Side;

pub(super) const RULE: Rule = Rule {
    name: "works-valve-side",
    topic: Topic::Make,
    source: "source.works_card",
    certainty: Certainty::Sure,
    check,
};

fn check(context: &Context) -> Outcome {
    let works = context.works()?;
    let sides = works.bottomer.valve_sides.as_ref().ok_or_else(no_range)?;
    let side = context.file().valve_end.valve.side;
    let word = match side {
        Side::Left => "finding.works_valve_side.left",
        Side::Right => "finding.works_valve_side.right",
    };
    let (severity, message) = if sides.contains(&side) {
        (Severity::Good, "finding.works_valve_side.holds")
    } else {
        (Severity::Stop, "finding.works_valve_side.other")
    };
    let judgement = Judgement::new(Place::Valve, severity, message).with("side", Arg::word(word));
    Ok(vec![judgement.remedy(|| advice("cure.works_valve_side"))])
}

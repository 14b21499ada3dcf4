//! The sleeve reaches into the sack: past the pocket's rim, and a tube far enough for the product to press it shut.
//!
//! free = ls cos e - (wv/2) |sin e| - a - (B + o)/2, along the bottom to that corner of the inner end which reaches least:
//! the sleeve wv x ls has its outer end a beyond the bottom's end edge and is turned by e. Not past the rim (exact):
//! product is led onto the pocket. A tube free by less than a share of its flat width: trade habit (0.5 to 1), medium
//! certainty. A single sheet has nothing to close.

use crate::check::context::{Context, reaches, weigh};
use crate::check::remedy::{set_length, unturned, up};
use crate::check::rule::{Judgement, Outcome, Rule};
use crate::finding::{Certainty, Place, Severity, Topic};
use crate::units::length;

pub(super) const RULE: Rule =
    Rule { name: "sleeve-reach", topic: Topic::Make, source: "source.sleeve_free", certainty: Certainty::Usual, check };

fn check(context: &Context) -> Outcome {
    let (bottom, sleeve) = context.valve()?;
    let [inner, _] = sleeve.inner_end_mm();
    let free = inner - bottom.edge_to_pocket_rim_mm();
    let advised = if sleeve.sheets() > 1 { context.habits.sleeve_free_share * sleeve.width_mm } else { 0.0 };
    let severity = weigh(reaches(free, 0.0), reaches(free, advised));
    let judge = |message| Judgement::new(Place::Sleeve, severity, message).stops_for_sure();
    let (value, limit) = (length(free), length(advised));
    let judgement = match severity {
        Severity::Good if advised > 0.0 => judge("finding.sleeve_reach.holds").compared(value, limit),
        Severity::Good => judge("finding.sleeve_reach.passes").weighed(value, limit).with("value", value),
        Severity::Look => judge("finding.sleeve_reach.closes_badly").compared(value, limit),
        Severity::Stop => judge("finding.sleeve_reach.on_pocket").weighed(value, limit).with("short", length(-free)),
    };
    let longer = || {
        let more = (advised - free) / libm::cos(sleeve.skew_deg.to_radians());
        set_length("cure.sleeve_length_least", "valve_end.valve.length_mm", up(sleeve.length_mm + more))
    };
    Ok(vec![judgement.remedy(longer).remedy_if_any(|| unturned(&sleeve))])
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::check::{support, testing};
    use crate::sheet::SleeveKind;

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(1000))]

        #[test]
        fn it_judges_by_the_free_sleeve(file in support::valid_sheet(), habits in support::habits()) {
            let (end, valve) = (&file.valve_end, &file.valve_end.valve);
            let [_, inner] = testing::sleeve_spans(&file);
            let free = inner[0] - (end.bottom_width_mm + end.lap_mm) / 2.0;
            let advised = if valve.sleeve == SleeveKind::Reinforcement { 0.0 } else { habits.sleeve_free_share * valve.flat_width_mm };
            let expected = testing::expected(free, 0.0, advised);
            prop_assume!(expected.is_some());
            prop_assert_eq!(testing::severity_by(&habits, &file, None, &RULE, Place::Sleeve), expected);
        }
    }
}

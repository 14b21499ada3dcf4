//! The product stands up to the valve, so that it presses the sleeve shut when the spout leaves.
//!
//! The product's level, hanging on the spout, stays at most 50 mm below the valve bottom. That only what is pressed closes
//! follows from how a sleeve works; how far below is still soon enough once the sack lies down is an assumption, low
//! certainty. A sleeve that is tucked in is closed by hand.

use crate::check::context::{Context, within};
use crate::check::remedy::advice;
use crate::check::rule::{Judgement, Outcome, Rule, Silence};
use crate::finding::{Certainty, Place, Topic};
use crate::sheet::SleeveKind;
use crate::units::length;

pub(super) const RULE: Rule =
    Rule { name: "freeboard", topic: Topic::Fill, source: "source.freeboard", certainty: Certainty::Guess, check };

fn check(context: &Context) -> Outcome {
    let (_, sleeve) = context.valve()?;
    if sleeve.kind == SleeveKind::External {
        return Err(Silence::not_applicable("silent.tucked_in"));
    }
    let hanging = context.content()?.hanging.ok_or_else(|| Silence::lacks("silent.hanging"))?;
    let (level, most) = (hanging.level_mm, context.habits.freeboard_mm);
    let judgement =
        Judgement::advised(Place::Valve, within(level, most), ["finding.freeboard.holds", "finding.freeboard.low"])
            .compared(length(level), length(most))
            .remedy(|| advice("cure.freeboard"));
    Ok(vec![judgement])
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::check::{Against, support, testing};
    use crate::finding::Severity;

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(1000))]

        #[test]
        fn it_judges_by_the_level_below_the_valve(file in support::valid_sheet(), filled in support::maybe_filled(), habits in support::habits()) {
            let content = filled.as_ref().and_then(|filled| filled.content).filter(|_| file.contents.is_some());
            let hanging = content.and_then(|content| content.hanging);
            let expected = hanging
                .filter(|_| file.valve_end.valve.sleeve != SleeveKind::External)
                .map(|hanging| if hanging.level_mm <= habits.freeboard_mm { Severity::Good } else { Severity::Look });
            let against = Against { filled: filled.as_ref(), habits: Some(&habits), ..Against::default() };
            prop_assert_eq!(testing::severity_against(&file, &against, &RULE, Place::Valve), expected);
        }
    }
}

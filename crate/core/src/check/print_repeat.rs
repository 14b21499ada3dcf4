//! The print's repeat is the tube length, or a whole multiple of it: else the print wanders from sack to sack.
//!
//! |R / k - T| <= 1 mm with k tubes to the repeat. That a tube is as long as its print's repeat follows from the folding;
//! how much the register makes up for is a trade habit, low certainty.

use crate::check::context::{Context, weigh, within};
use crate::check::remedy::set_length;
use crate::check::rule::{Judgement, Outcome, Rule, Silence};
use crate::finding::{Certainty, Place, Severity, Topic};
use crate::units::length;

pub(super) const RULE: Rule =
    Rule { name: "print-repeat", topic: Topic::Make, source: "source.print_repeat", certainty: Certainty::Sure, check };

fn check(context: &Context) -> Outcome {
    let repeat = context.artwork()?.repeat_mm.ok_or_else(|| Silence::not_applicable("silent.repeat"))?;
    let tube = context.sack.tube().length_mm;
    let tubes = (repeat / tube).round().max(1.0);
    let share = repeat / tubes;
    let severity = weigh(within((share - tube).abs(), context.habits.repeat_mm), true);
    let message = match severity {
        Severity::Good => "finding.print_repeat.holds",
        Severity::Look | Severity::Stop => "finding.print_repeat.wanders",
    };
    let judgement = Judgement::new(Place::Length, severity, message)
        .compared(length(share), length(tube))
        .remedy(|| set_length("cure.print_repeat", "artwork.repeat_mm", tubes * tube))
        .remedy(|| set_length("cure.length", "length_mm", context.file().length_mm + share - tube));
    Ok(vec![judgement])
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::check::{support, testing};

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(1000))]

        #[test]
        fn it_judges_by_the_tube_s_length(file in support::valid_sheet(), habits in support::habits()) {
            let (v, p) = (&file.valve_end, &file.plain_end);
            let tube = file.length_mm + (v.bottom_width_mm + p.bottom_width_mm + v.lap_mm + p.lap_mm) / 2.0;
            let repeat = file.artwork.as_ref().and_then(|artwork| artwork.repeat_mm);
            let off = |repeat: f64| (1..100).map(|k| (repeat / f64::from(k) - tube).abs()).fold(f64::INFINITY, f64::min);
            prop_assume!(repeat.is_none_or(|repeat| (off(repeat) - habits.repeat_mm).abs() > 1e-6));
            let expected = repeat.map(|repeat| if off(repeat) <= habits.repeat_mm { Severity::Good } else { Severity::Stop });
            prop_assert_eq!(testing::severity_by(&habits, &file, None, &RULE, Place::Length), expected);
        }
    }
}

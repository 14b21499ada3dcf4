//! The sleeve ends before the pocket on the far side.
//!
//! ls cos e + (wv/2) |sin e| - a <= W - B/2 - d - margin, to that corner of the inner end which reaches farthest: the sleeve
//! wv x ls has its outer end a beyond the bottom's end edge and is turned by e. On the pocket (exact) it can't be folded
//! in; the margin is an assumption, low certainty.

use crate::check::context::{Context, weigh, within};
use crate::check::remedy::{down, set_length, unturned, up};
use crate::check::rule::{Judgement, Outcome, Rule};
use crate::finding::{Certainty, Place, Severity, Topic};
use crate::units::length;

pub(super) const RULE: Rule = Rule {
    name: "sleeve-far-pocket",
    topic: Topic::Make,
    source: "source.sleeve_far",
    certainty: Certainty::Guess,
    check,
};

fn check(context: &Context) -> Outcome {
    let (bottom, sleeve) = context.valve()?;
    let [_, inner] = sleeve.inner_end_mm();
    let pocket = bottom.edge_to_far_pocket_mm();
    let most = pocket - context.habits.sleeve_far_mm;
    let severity = weigh(within(inner, pocket), within(inner, most));
    let message = match severity {
        Severity::Good => "finding.sleeve_far_pocket.holds",
        Severity::Look => "finding.sleeve_far_pocket.near",
        Severity::Stop => "finding.sleeve_far_pocket.on_pocket",
    };
    let shorter = sleeve.length_mm - (inner - most) / libm::cos(sleeve.skew_deg.to_radians());
    let wider = up(context.face_width_mm() + inner - most);
    let judgement = Judgement::new(Place::Sleeve, severity, message)
        .stops_for_sure()
        .compared(length(inner), length(most))
        .remedy(|| set_length("cure.sleeve_length_most", "valve_end.valve.length_mm", down(shorter)))
        .remedy_if_any(|| unturned(&sleeve))
        .remedy(|| set_length("cure.face_width_least", "face_width_mm", wider));
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
        fn it_judges_by_the_far_pocket_s_rim(file in support::valid_sheet(), habits in support::habits()) {
            let end = &file.valve_end;
            let [_, inner] = testing::sleeve_spans(&file);
            let pocket = file.face_width_mm - 1.5 * end.bottom_width_mm - end.lap_mm / 2.0;
            let expected = testing::expected(pocket - inner[1], 0.0, habits.sleeve_far_mm);
            prop_assume!(expected.is_some());
            prop_assert_eq!(testing::severity_by(&habits, &file, None, &RULE, Place::Sleeve), expected);
        }
    }
}

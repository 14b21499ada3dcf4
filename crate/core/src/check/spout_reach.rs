//! The spout ends over the open sack: past the rim of the pocket that it lies on, and before the pocket opposite.
//!
//! Measured from the bottom's end edge along the spout, which goes in along the sleeve, turned by e with it, and is half its
//! girth U wide, pressed flat: (B + o)/2 <= reach cos e - (U/4) |sin e| and reach cos e + (U/4) |sin e| <= W - B/2 - d.
//! Exact for the flat bottom; the spout's reach is the card's.

use crate::check::context::{Context, end_field, reaches, within};
use crate::check::remedy::{down, set_length, spout, unturned, up};
use crate::check::rule::{Judgement, Outcome, Rule};
use crate::finding::{Certainty, Place, Severity, Topic};
use crate::sheet::End;
use crate::units::length;

pub(super) const RULE: Rule =
    Rule { name: "spout-reach", topic: Topic::Line, source: "source.line_card", certainty: Certainty::Sure, check };

fn check(context: &Context) -> Outcome {
    let (line, (bottom, sleeve)) = (context.line()?, context.valve()?);
    let reach = line.file().spout.reach_mm;
    let [near, far] = bottom.spout_reaches_mm(&sleeve, line.spout_girth_mm());
    let cosine = libm::cos(sleeve.skew_deg.to_radians());
    // A turned tip may be wider than what is between the pockets: then no reach would do.
    let other_spout = |message, to: f64| spout(message, to).filter(|_| reaches(to, near) && within(to, far));
    let judge = |severity, message, limit: f64| {
        Judgement::new(Place::Valve, severity, message).compared(length(reach), length(limit))
    };
    let (least, most) = (length(near), length(far));
    let judgement = if !reaches(reach, near) {
        judge(Severity::Stop, "finding.spout_reach.on_pocket", near)
            .with("most", most)
            .remedy(|| {
                set_length(
                    "cure.bottom_width_most",
                    end_field(End::ValveEnd, "bottom_width_mm"),
                    down(bottom.width_mm + 2.0 * (reach - near) * cosine),
                )
            })
            .remedy_if_any(|| unturned(&sleeve))
            .remedy_if_any(|| other_spout("cure.spout_reach_least", up(near)))
    } else if !within(reach, far) {
        judge(Severity::Stop, "finding.spout_reach.on_far_pocket", far)
            .with("least", least)
            .remedy(|| {
                let wider = up(context.face_width_mm() + (reach - far) * cosine);
                set_length("cure.face_width_least", "face_width_mm", wider)
            })
            .remedy_if_any(|| unturned(&sleeve))
            .remedy_if_any(|| other_spout("cure.spout_reach_most", down(far)))
    } else {
        judge(Severity::Good, "finding.spout_reach.holds", near).with("most", most)
    };
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
        fn it_judges_by_the_flap_depth_and_the_far_pocket(file in support::valid_sheet(), line in support::valid_line()) {
            let (b, o, reach) = (file.valve_end.bottom_width_mm, file.valve_end.lap_mm, line.file().spout.reach_mm);
            let (near, far) = ((b + o) / 2.0, file.face_width_mm - 1.5 * b - o / 2.0);
            let (sine, cosine) = libm::sincos(file.valve_end.valve.skew_deg.to_radians());
            let tip = [-1.0, 1.0].map(|side| reach * cosine + side * line.spout_girth_mm() / 4.0 * sine);
            let (hindmost, foremost) = (tip[0].min(tip[1]), tip[0].max(tip[1]));
            prop_assume!((hindmost - near).abs() > 1e-6 && (foremost - far).abs() > 1e-6);
            let expected = if hindmost < near || foremost > far { Severity::Stop } else { Severity::Good };
            prop_assert_eq!(testing::severity(&file, Some(&line), &RULE, Place::Valve), Some(expected));
        }
    }
}

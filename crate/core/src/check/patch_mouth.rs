//! The valve end's patch keeps off the valve's mouth: on the valve's side it ends at the bottom's end edge or before it.
//!
//! lp/2 + z c <= (W - B)/2, with the patch's length lp, its offset c and the sign z of the valve's side. That the mouth opens
//! at the end edge, between pocket and flaps, follows from the folding, and so does that a patch over it closes it. Works
//! that leave such a patch without paste there get on with it: so never more than a look, low certainty.

use crate::check::context::{Context, end_field, patch_place, within};
use crate::check::remedy::{down, set_length, set_zero};
use crate::check::rule::{Judgement, Outcome, Rule, Silence};
use crate::finding::{Certainty, Cure, Topic};
use crate::sheet::End;
use crate::units::length;

pub(super) const RULE: Rule =
    Rule { name: "patch-mouth", topic: Topic::Make, source: "source.patch_mouth", certainty: Certainty::Guess, check };

fn check(context: &Context) -> Outcome {
    let (bottom, sleeve) = context.valve()?;
    let patch = bottom.patch.ok_or_else(|| Silence::not_applicable("silent.no_valve_patch"))?;
    let edge = bottom.half_face_mm() - bottom.width_mm / 2.0;
    let aside = sleeve.side.sign() * patch.offset_mm;
    let reach = patch.length_mm / 2.0 + aside;
    let mut judgement = Judgement::advised(
        patch_place(End::ValveEnd),
        within(reach, edge),
        ["finding.patch_mouth.holds", "finding.patch_mouth.over_it"],
    )
    .compared(length(reach), length(edge));
    let [long, offset] = ["patch.length_mm", "patch.offset_mm"].map(|field| end_field(End::ValveEnd, field));
    let shorter = set_length("cure.patch_length_most", long.clone(), down(2.0 * (edge - aside)));
    if aside > 0.0 {
        let centred = set_zero("cure.patch_centred", [offset]);
        let short = set_length("cure.patch_centred_and_short", long, down(2.0 * edge));
        let both = [short.set, centred.set.clone()].concat();
        judgement = judgement.remedy(|| centred).remedy(|| shorter).remedy(|| Cure::new(short.message, both));
    } else {
        judgement = judgement.remedy(|| shorter);
    }
    Ok(vec![judgement])
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::check::{support, testing};
    use crate::finding::{Place, Severity};
    use crate::sheet::Side;

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(1000))]

        #[test]
        fn it_judges_by_the_patch_s_end_on_the_valve_s_side(file in support::valid_sheet()) {
            let b = file.valve_end.bottom_width_mm;
            let found = testing::severity(&file, None, &RULE, Place::ValveEndPatch);
            let Some(patch) = file.valve_end.patch else {
                prop_assert_eq!(found, None);
                return Ok(());
            };
            let half = patch.length_mm.unwrap_or(file.face_width_mm - b) / 2.0;
            let end = match file.valve_end.valve.side {
                Side::Left => half - patch.offset_mm,
                Side::Right => half + patch.offset_mm,
            };
            let room = file.face_width_mm / 2.0 - b / 2.0 - end;
            // A patch without a length of its own ends at the edge.
            let expected = if room > -1e-9 { Severity::Good } else { Severity::Look };
            prop_assume!(room.abs() < 1e-10 || room.abs() > 1e-6);
            prop_assert_eq!(found, Some(expected));
        }
    }
}

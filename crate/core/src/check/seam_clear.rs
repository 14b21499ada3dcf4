//! The longitudinal seams keep off the pockets: a seam in a pocket makes a lump at the corner, and a leak.
//!
//! Both edges of every ply's seam keep d + 15 mm from the side folds, d the deeper of the two opening depths:
//! W/2 - |x| - l/2 >= d + 15 mm, with the seam's middle x from the back's middle and its lap l. That the pocket reaches
//! to d is exact; the 15 mm are a trade habit, low certainty.

use crate::check::Habits;
use crate::check::context::{Context, reaches};
use crate::check::remedy::{down, set_length, up};
use crate::check::rule::{Judgement, Outcome, Rule};
use crate::finding::{Certainty, Change, Cure, Place, Topic};
use crate::sheet::SheetFile;
use crate::units::length;

const OFFSET: &str = "seam.offset_from_middle_mm";
const STAGGER: &str = "seam.stagger_mm";

pub(super) const RULE: Rule =
    Rule { name: "seam-clear", topic: Topic::Make, source: "source.seam_clear", certainty: Certainty::Guess, check };

fn check(context: &Context) -> Outcome {
    let (face, seam) = (context.face_width_mm(), &context.file().seam);
    let [least, shift] = least_and_shift_mm(context.file(), context.habits);
    let farthest = seam.offset_from_middle_mm.abs().max((seam.offset_from_middle_mm + shift).abs());
    let distance = face / 2.0 - farthest - seam.lap_mm / 2.0;
    let mut judgement = Judgement::advised(
        Place::Seam,
        reaches(distance, least),
        ["finding.seam_clear.holds", "finding.seam_clear.on_pocket"],
    )
    .compared(length(distance), length(least));
    let (room, [low, high]) = offsets_mm(context.file(), context.habits);
    if low <= high {
        let offset = seam.offset_from_middle_mm.clamp(low, high);
        judgement = judgement.remedy(|| set_length("cure.seam_offset", OFFSET, offset));
    } else if room >= 0.0 {
        let offset = seam.offset_from_middle_mm.clamp(-down(room), down(room));
        let straight = set_length("cure.seam_offset_no_stagger", OFFSET, offset);
        let stagger = Change { field: STAGGER.into(), value: 0.0 };
        judgement = judgement.remedy(|| Cure { set: [straight.set, vec![stagger]].concat(), ..straight });
    }
    let wider = set_length("cure.face_width_least", "face_width_mm", up(face + 2.0 * (least - distance)));
    Ok(vec![judgement.remedy(|| wider)])
}

/// How far from a side fold the seams have to keep, mm, and how far the innermost ply's runs from the outermost one's:
/// those of the others lie evenly between the two.
fn least_and_shift_mm(file: &SheetFile, habits: &Habits) -> [f64; 2] {
    let (v, p) = (&file.valve_end, &file.plain_end);
    let depth = (v.bottom_width_mm + v.lap_mm / 2.0).max(p.bottom_width_mm + p.lap_mm / 2.0);
    [depth + habits.seam_clear_mm, file.seam.stagger_mm * file.plies.len().saturating_sub(1) as f64]
}

/// How far from the back's middle the seam of any ply may run, mm, and between what whole millimetres the outermost one's
/// has to run for all of them to keep off the pockets: the least lies above the most where none would do.
pub(crate) fn offsets_mm(file: &SheetFile, habits: &Habits) -> (f64, [f64; 2]) {
    let [least, shift] = least_and_shift_mm(file, habits);
    // |offset| and |offset + shift| may both be as large as this.
    let room = file.face_width_mm / 2.0 - least - file.seam.lap_mm / 2.0;
    (room, [up((-room).max(-room - shift)), down(room.min(room - shift))])
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::check::{support, testing};

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(1000))]

        #[test]
        fn it_judges_every_ply_s_seam(file in support::valid_sheet(), habits in support::habits()) {
            let depth = |b: f64, o: f64| b + o / 2.0;
            let pocket = depth(file.valve_end.bottom_width_mm, file.valve_end.lap_mm)
                .max(depth(file.plain_end.bottom_width_mm, file.plain_end.lap_mm));
            let clear = (0..file.plies.len()).map(|i| {
                let offset = file.seam.offset_from_middle_mm + i as f64 * file.seam.stagger_mm;
                [-0.5, 0.5]
                    .map(|edge| file.face_width_mm / 2.0 - (offset + edge * file.seam.lap_mm).abs() - pocket)
                    .into_iter()
                    .fold(f64::INFINITY, f64::min)
            });
            let expected = testing::expected(clear.fold(f64::INFINITY, f64::min), f64::NEG_INFINITY, habits.seam_clear_mm);
            prop_assume!(expected.is_some());
            prop_assert_eq!(testing::severity_by(&habits, &file, None, &RULE, Place::Seam), expected);
        }
    }
}

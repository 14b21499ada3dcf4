//! The longitudinal seam overlaps enough to hold: lap >= 10 mm, the least that one national standard asks for; works
//! usually take 25 to 35 mm.

use crate::check::context::{Context, Judgement, reaches, set_length, set_lengths};
use crate::finding::{Place, Severity};
use crate::units::length;

const RULE: &str = "seam-lap";
const SOURCE: &str = "source.seam_lap";

pub(super) fn check(context: &Context) -> Vec<Judgement> {
    let (lap, least) = (context.file().seam.lap_mm, context.habits.seam_lap_mm);
    let (severity, message) = if reaches(lap, least) {
        (Severity::Good, "finding.seam_lap.holds")
    } else {
        (Severity::Stop, "finding.seam_lap.short")
    };
    let judgement = Judgement::new(RULE, Place::Seam, severity, SOURCE, message)
        .compared(length(lap), length(least))
        .remedy(set_length("cure.seam_lap_least", "seam.lap_mm", least))
        // At the very edge of the back a wider seam has no room: there it moves to the middle.
        .remedy(set_lengths(
            "cure.seam_lap_least_in_the_middle",
            [
                ("value", "seam.lap_mm".into(), least),
                ("offset", "seam.offset_from_middle_mm".into(), 0.0),
                ("stagger", "seam.stagger_mm".into(), 0.0),
            ],
        ));
    vec![judgement]
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::check::{support, testing};

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(1000))]

        #[test]
        fn it_judges_by_the_standard_s_least(file in support::valid_sheet()) {
            let expected = if file.seam.lap_mm < 10.0 { Severity::Stop } else { Severity::Good };
            prop_assert_eq!(testing::severity(&file, None, RULE, Place::Seam), Some(expected));
        }
    }
}

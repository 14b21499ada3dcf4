//! The tube's length is one of those that the tuber makes: a whole multiple of the step in which its gears, or its print
//! cylinders, change it. As the works' card says, for T = L + (B1 + B2)/2 + (o1 + o2)/2.
//!
//! |T - k step| <= 0.1 mm for some whole k >= 1. A works that is asked for another length makes the nearest: never more than a
//! look.

use crate::check::context::{Context, within};
use crate::check::remedy::set_length;
use crate::check::rule::{Judgement, Outcome, Rule, Silence};
use crate::finding::{Certainty, Place, Topic};
use crate::tolerance::TUBE_STEP_MM;
use crate::units::length;

pub(super) const RULE: Rule = Rule {
    name: "works-tube-length-step",
    topic: Topic::Make,
    source: "source.works_card",
    certainty: Certainty::Sure,
    check,
};

fn check(context: &Context) -> Outcome {
    let tuber = &context.works()?.tuber;
    let (tube, sack) = (context.sack.tube().length_mm, context.file().length_mm);
    let any = || Silence::not_applicable("silent.any_tube_length");
    let [nearest, _] = tuber.nearest_tube_lengths_mm(tube).ok_or_else(any)?;
    let [nearer, other] = tuber.nearest_sack_lengths_mm(sack, tube - sack).ok_or_else(any)?;
    let messages = ["finding.works_tube_length_step.holds", "finding.works_tube_length_step.between"];
    let made = |length| set_length("cure.length", "length_mm", length);
    let judgement = Judgement::advised(Place::Length, within((tube - nearest).abs(), TUBE_STEP_MM), messages)
        .compared(length(tube), length(nearest))
        .with_some("step", tuber.tube_length_step_mm.map(length))
        .remedy(|| made(nearer))
        .remedy(|| made(other));
    Ok(vec![judgement])
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::cards::{Works, read_works};
    use crate::check::{Against, apply, check_with, support, testing};
    use crate::finding::{Cure, Finding, Severity};
    use crate::sack::Sack;
    use crate::sheet::{Sheet, SheetFile};

    fn works(tuber: &str) -> Works {
        read_works(&format!(r#"{{"format":"sackwright-works/1","name":"w","tuber":{{{tuber}}}}}"#)).unwrap()
    }

    fn finding(file: &SheetFile, works: &Works) -> Finding {
        let against = Against { works: Some(works), ..Against::default() };
        let found = check_with(&Sack::new(Sheet::new(file.clone()).unwrap()), &against).findings;
        found.into_iter().find(|finding| finding.rule == RULE.name).unwrap()
    }

    fn long(length_mm: f64) -> SheetFile {
        SheetFile { length_mm, ..support::plain_sheet() }
    }

    /// The length that the cure asks for.
    fn cured(file: &SheetFile, card: &str) -> Option<f64> {
        let Cure { set, .. } = finding(file, &works(card)).cure?;
        assert_eq!((set.len(), set[0].field.as_str()), (1, "length_mm"));
        Some(set[0].value)
    }

    /// T = L + 120 + 20.
    #[test]
    fn the_sack_goes_to_the_nearer_length_that_is_made() {
        let card = r#""tube_length_step_mm":10"#;
        assert_eq!(cured(&long(640.0), card), None);
        assert_eq!(cured(&long(643.0), card), Some(640.0));
        assert_eq!(cured(&long(637.0), card), Some(640.0));
        // Ten teeth of module 1.5: 15 pi, and 17 times that is 801.11.
        assert_eq!(cured(&long(640.0), r#""tube_length_step_mm":47.1239"#), Some(661.1));
        assert_eq!(cured(&long(661.1), r#""tube_length_step_mm":47.1239"#), None);
    }

    #[test]
    fn it_goes_the_other_way_where_the_nearer_one_breaks_more() {
        // 780 is the nearest to 783 and 790 the next, but the tuber begins at 782.
        let card = r#""tube_length_step_mm":10,"tube_length_mm":{"min":782}"#;
        assert_eq!(cured(&long(643.0), card), Some(650.0));
        let card = r#""tube_length_step_mm":10,"tube_length_mm":{"max":788}"#;
        assert_eq!(cured(&long(647.0), card), Some(640.0));
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(2000))]

        #[test]
        fn it_judges_by_whole_steps_and_cures(file in support::valid_sheet(), works in support::valid_works()) {
            let (v, p) = (&file.valve_end, &file.plain_end);
            let tube = file.length_mm + (v.bottom_width_mm + p.bottom_width_mm + v.lap_mm + p.lap_mm) / 2.0;
            let off = |step: f64| {
                let over = tube % step;
                over.min(step - over)
            };
            let off = works.file().tuber.tube_length_step_mm.map(off);
            prop_assume!(off.is_none_or(|off| (off - 0.1).abs() > 1e-6));
            let expected = off.map(|off| if off <= 0.1 { Severity::Good } else { Severity::Look });
            let against = Against { works: Some(&works), ..Against::default() };
            let severity = |file| testing::severity_against(file, &against, &RULE, Place::Length);
            prop_assert_eq!(severity(&file), expected);
            if expected == Some(Severity::Look) {
                let cure = finding(&file, &works).cure.unwrap();
                let other = apply(&file, &cure.set).unwrap();
                prop_assert!(cure.set.is_empty() || severity(&other) == Some(Severity::Good), "{:?}", cure);
            }
        }
    }
}

//! What the rules of the works share: a measure against what tuber and bottomer make.

use crate::cards::LengthRange;
use crate::check::context::{reaches, within};
use crate::check::remedy::{down, set_length, up};
use crate::check::rule::{Judgement, Outcome, Silence};
use crate::finding::{Arg, Cure, Message, Place, Severity};
use crate::units::{Dimension, quantity};

/// One of the works' machines.
#[derive(Clone, Copy, PartialEq)]
pub(super) enum Machine {
    Tuber,
    Bottomer,
}

impl Machine {
    const fn word(self) -> &'static str {
        match self {
            Self::Tuber => "finding.works.tuber",
            Self::Bottomer => "finding.works.bottomer",
        }
    }
}

/// Which end of a range is passed.
#[derive(Clone, Copy, PartialEq)]
pub(super) enum Bound {
    Least,
    Most,
}

/// What machines make, each with its range: the narrowest of them counts.
#[derive(Clone, Copy, Default)]
pub(super) struct Limits {
    least: Option<(f64, Machine)>,
    most: Option<(f64, Machine)>,
}

impl Limits {
    /// The limits of one machine.
    pub fn new(machine: Machine, min: Option<f64>, max: Option<f64>) -> Self {
        Self { least: min.map(|min| (min, machine)), most: max.map(|max| (max, machine)) }
    }

    /// The limits of one machine for a length.
    pub fn of(machine: Machine, range: LengthRange) -> Self {
        Self::new(machine, range.min, range.max)
    }

    /// The limits of both machines.
    pub fn both(tuber: LengthRange, bottomer: LengthRange) -> Self {
        let (a, b) = (Self::of(Machine::Tuber, tuber), Self::of(Machine::Bottomer, bottomer));
        let narrower = |a: Option<(f64, Machine)>, b: Option<(f64, Machine)>, sign: f64| match (a, b) {
            (Some(a), Some(b)) => Some(if sign * b.0 > sign * a.0 { b } else { a }),
            (a, b) => a.or(b),
        };
        Self { least: narrower(a.least, b.least, 1.0), most: narrower(a.most, b.most, -1.0) }
    }

    /// The rule's outcome for one measure.
    ///
    /// `cures`: the changes of the sheet that bring the measure to a limit, the preferred one first.
    pub fn judge(
        self,
        place: Place,
        what: &'static str,
        value: (Dimension, f64),
        cures: &dyn Fn(Bound, f64) -> Vec<Cure>,
    ) -> Outcome {
        self.judgement(place, what, value, cures).map(|judgement| vec![judgement]).ok_or_else(no_range)
    }

    /// The same as a judgement; `None` without a limit.
    pub fn judgement(
        self,
        place: Place,
        what: &'static str,
        (dimension, value): (Dimension, f64),
        cures: &dyn Fn(Bound, f64) -> Vec<Cure>,
    ) -> Option<Judgement> {
        let said = |value| quantity(dimension, value);
        let judge = |severity, message, limit| {
            Judgement::new(place, severity, message).compared(said(value), said(limit)).with("what", Arg::word(what))
        };
        let other = || {
            let words = Message::new("cure.works_other").with("what", Arg::word(what)).with("value", said(value));
            Cure::new(words, Vec::new())
        };
        let cured = |judgement: Judgement, bound, limit, machine: Machine| {
            let cures = cures(bound, limit).into_iter().chain([other()]);
            cures
                .fold(judgement.with("machine", Arg::word(machine.word())), |judgement, cure| judgement.remedy(|| cure))
        };
        Some(match (self.least, self.most) {
            (Some((least, machine)), _) if !reaches(value, least) => {
                cured(judge(Severity::Stop, "finding.works.too_small", least), Bound::Least, least, machine)
            }
            (_, Some((most, machine))) if !within(value, most) => {
                cured(judge(Severity::Stop, "finding.works.too_large", most), Bound::Most, most, machine)
            }
            (Some((least, _)), Some((most, _))) => {
                judge(Severity::Good, "finding.works.holds", most).with("least", said(least))
            }
            (None, Some((most, _))) => judge(Severity::Good, "finding.works.holds_to", most),
            (Some((least, _)), None) => judge(Severity::Good, "finding.works.holds_from", least),
            (None, None) => return None,
        })
    }
}

/// The card says nothing of the measure.
pub(super) fn no_range() -> Silence {
    Silence::lacks("silent.works_range")
}

/// Sets a length: first to the whole millimetre within the limit, then exactly. `words`: for a least and for a most.
pub(super) fn set(bound: Bound, words: [&'static str; 2], field: impl Into<String>, exact: f64) -> Vec<Cure> {
    let field = field.into();
    let (words, whole) = match bound {
        Bound::Least => (words[0], up(exact)),
        Bound::Most => (words[1], down(exact)),
    };
    vec![set_length(words, field.clone(), whole), set_length(words, field, exact)]
}

/// No change of the sheet that a cure can make.
pub(super) const fn no_cure(_: Bound, _: f64) -> Vec<Cure> {
    Vec::new()
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::check::{Against, support, testing};
    use crate::sack::Sack;
    use crate::sheet::{CutKind, Ply, Sheet, Side};

    #[test]
    fn of_two_machines_the_narrower_limit_counts_and_is_named() {
        let range = |min, max| LengthRange { min, max };
        let limits = Limits::both(range(Some(300.0), Some(600.0)), range(Some(320.0), None));
        let least = limits.least.map(|(value, machine)| (value, machine == Machine::Bottomer));
        let most = limits.most.map(|(value, machine)| (value, machine == Machine::Tuber));
        assert_eq!((least, most), (Some((320.0, true)), Some((600.0, true))));
    }

    #[test]
    fn a_tube_too_short_for_the_works_is_cured_by_a_longer_sack() {
        let file = support::plain_sheet();
        let sack = Sack::new(Sheet::new(file).unwrap());
        let text = r#"{"format":"sackwright-works/1","name":"w","bottomer":{"tube_length_mm":{"min":800}}}"#;
        let works = crate::cards::read_works(text).unwrap();
        let found = crate::check::check_with(&sack, &Against { works: Some(&works), ..Against::default() }).findings;
        let finding = found.iter().find(|finding| finding.rule == "works-tube-length").unwrap();
        // T = 640 + 120 + 20 = 780.
        let cure = finding.cure.as_ref().unwrap();
        assert_eq!(
            (finding.severity, cure.set[0].field.as_str(), cure.set[0].value),
            (Severity::Stop, "length_mm", 660.0)
        );
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(1000))]

        /// Each measure by its own formula, against the ranges of the card as they stand there.
        #[test]
        fn every_measure_is_judged_by_its_ranges(file in support::valid_sheet(), works in support::valid_works()) {
            let (tuber, bottomer) = (&works.file().tuber, &works.file().bottomer);
            let (v, p) = (&file.valve_end, &file.plain_end);
            let bottoms = (v.bottom_width_mm + p.bottom_width_mm) / 2.0;
            let tube = file.length_mm + bottoms + (v.lap_mm + p.lap_mm) / 2.0;
            let plies = file.plies.len();
            let count = |count: Option<usize>| count.map(|count| count as f64);
            let stepped = file.cut.kind == CutKind::Stepped && plies > 1;
            let artwork = file.artwork.as_ref().map(|artwork| artwork.repeat_mm.unwrap_or(tube));
            let one = |range: LengthRange| vec![(range.min, range.max)];
            let two = |a: LengthRange, b: LengthRange| vec![(a.min, a.max), (b.min, b.max)];
            let all = [
                ("works-face-width", Place::FaceWidth, Some(file.face_width_mm), two(tuber.face_width_mm, bottomer.face_width_mm)),
                ("works-tube-length", Place::Length, Some(tube), two(tuber.tube_length_mm, bottomer.tube_length_mm)),
                ("works-plies", Place::Plies, Some(plies as f64), vec![(count(tuber.plies.min), count(tuber.plies.max))]),
                ("works-step", Place::Cut, file.cut.step_mm.filter(|_| stepped), one(tuber.step_mm)),
                ("works-print-repeat", Place::Length, artwork, one(tuber.print_repeat_mm)),
                ("works-centre-distance", Place::Length, Some(file.length_mm - bottoms), one(bottomer.bottom_centre_distance_mm)),
                ("works-bottom-width", Place::ValveEndBottom, Some(v.bottom_width_mm), one(bottomer.bottom_width_mm)),
                ("works-bottom-width", Place::PlainEndBottom, Some(p.bottom_width_mm), one(bottomer.bottom_width_mm)),
                ("works-sleeve-length", Place::Sleeve, Some(v.valve.length_mm), one(bottomer.sleeve_length_mm)),
            ];
            let (found, _) = testing::judged(&file, &Against { works: Some(&works), ..Against::default() });
            let severity = |rule: &str, place: Place| {
                found.iter().find(|finding| finding.rule == rule && finding.place == place).map(|finding| finding.severity)
            };
            for (rule, place, value, ranges) in all {
                let limits = || ranges.iter().flat_map(|(min, max)| [min, max]).flatten();
                prop_assume!(value.is_none_or(|value| limits().all(|limit| *limit == value || (limit - value).abs() > 1e-6)));
                let expected = value.filter(|_| limits().next().is_some()).map(|value| {
                    let outside = |(min, max): &(Option<f64>, Option<f64>)| {
                        min.is_some_and(|min| value < min) || max.is_some_and(|max| value > max)
                    };
                    if ranges.iter().any(outside) { Severity::Stop } else { Severity::Good }
                });
                prop_assert_eq!(severity(rule, place), expected, "{} {:?}", rule, place);
            }
            // From ply to ply, middle to middle, an inner web runs round a former smaller by half of both.
            let thick = |ply: &Ply| ply.thickness_mm.unwrap_or(0.0015 * ply.grammage_g_m2);
            let turn = |pair: &[Ply]| std::f64::consts::PI * (thick(&pair[0]) + thick(&pair[1]));
            let outside = |index: usize| file.plies[..=index].windows(2).map(turn).sum::<f64>();
            let webs = (0..plies).map(|index| 2.0 * file.face_width_mm + file.seam.lap_mm - outside(index));
            let webs: Vec<f64> = webs.collect();
            let range = tuber.web_width_mm;
            let apart = |limit: f64| webs.iter().all(|web| (web - limit).abs() > 1e-6);
            prop_assume!(range.min.is_none_or(apart) && range.max.is_none_or(apart));
            let too = |web: &f64| range.min.is_some_and(|min| *web < min) || range.max.is_some_and(|max| *web > max);
            let asked = range.min.is_some() || range.max.is_some();
            let expected = asked.then_some(if webs.iter().any(too) { Severity::Stop } else { Severity::Good });
            prop_assert_eq!(severity("works-web-width", Place::Plies), expected);
            let patches = [(Place::ValveEndPatch, v.patch, v.bottom_width_mm), (Place::PlainEndPatch, p.patch, p.bottom_width_mm)];
            for (place, patch, bottom) in patches {
                let long = patch.map(|patch| patch.length_mm.unwrap_or(file.face_width_mm - bottom));
                let wide = patch.map(|patch| patch.width_mm.unwrap_or(bottom - 10.0));
                let of = [("works-patch-length", long, bottomer.patch_length_mm), ("works-patch-width", wide, bottomer.patch_width_mm)];
                for (rule, value, LengthRange { min, max }) in of {
                    let expected = value.filter(|_| min.is_some() || max.is_some()).map(|value| {
                        let outside = min.is_some_and(|min| value < min) || max.is_some_and(|max| value > max);
                        if outside { Severity::Stop } else { Severity::Good }
                    });
                    prop_assert_eq!(severity(rule, place), expected, "{} {:?}", rule, place);
                }
            }
            let sides: Option<&Vec<Side>> = bottomer.valve_sides.as_ref();
            let expected = sides.map(|sides| if sides.contains(&v.valve.side) { Severity::Good } else { Severity::Stop });
            prop_assert_eq!(severity("works-valve-side", Place::Valve), expected);
        }
    }
}

//! The line takes the sack: face width, length, width of the valve bottom, flat valve width and filling against the
//! ranges of its card. Each is compared as it stands; what the card leaves open is not judged.

use crate::cards::LengthRange;
use crate::check::context::{Context, reaches, within};
use crate::check::remedy::{down, up};
use crate::check::rule::{Judgement, Outcome, Rule, Silence};
use crate::finding::{Arg, Certainty, Change, Cure, Message, Place, Severity, Topic};
use crate::units::{Dimension, quantity};

/// One thing that a card gives a range for.
struct Taken {
    place: Place,
    what: &'static str,
    field: &'static str,
    dimension: Dimension,
    value: f64,
    range: (Option<f64>, Option<f64>),
}

pub(super) const RULE: Rule =
    Rule { name: "line-takes", topic: Topic::Line, source: "source.line_card", certainty: Certainty::Sure, check };

fn check(context: &Context) -> Outcome {
    let line = context.line()?;
    let (file, takes) = (context.file(), &line.file().takes);
    let length = |place, what, field, value, range: LengthRange| Taken {
        place,
        what,
        field,
        dimension: Dimension::Length,
        value,
        range: (range.min, range.max),
    };
    let valve_end = &file.valve_end;
    let mut all = vec![
        length(
            Place::FaceWidth,
            "finding.line_takes.what.face_width",
            "face_width_mm",
            file.face_width_mm,
            takes.face_width_mm,
        ),
        length(Place::Length, "finding.line_takes.what.length", "length_mm", file.length_mm, takes.length_mm),
        length(
            Place::ValveEndBottom,
            "finding.line_takes.what.bottom_width",
            "valve_end.bottom_width_mm",
            valve_end.bottom_width_mm,
            takes.bottom_width_mm,
        ),
        length(
            Place::Valve,
            "finding.line_takes.what.valve_width",
            "valve_end.valve.flat_width_mm",
            valve_end.valve.flat_width_mm,
            takes.valve_width_mm,
        ),
    ];
    if let Some(contents) = &file.contents {
        all.push(Taken {
            place: Place::Contents,
            what: "finding.line_takes.what.mass",
            field: "contents.mass_kg",
            dimension: Dimension::Mass,
            value: contents.mass_kg,
            range: (takes.mass_kg.min, takes.mass_kg.max),
        });
    }
    let judged: Vec<Judgement> = all.iter().filter_map(judge).collect();
    if judged.is_empty() {
        return Err(Silence::lacks("silent.line_takes"));
    }
    Ok(judged)
}

fn judge(taken: &Taken) -> Option<Judgement> {
    let judge = |severity, message, limit| {
        Judgement::new(taken.place, severity, message)
            .compared(quantity(taken.dimension, taken.value), quantity(taken.dimension, limit))
            .with("what", Arg::word(taken.what))
    };
    let said = |value| quantity(taken.dimension, value);
    // Where the card has both ends of the range, both are said.
    let of = |other: Option<f64>, both, one| if other.is_some() { both } else { one };
    let set = |message, value| {
        let words =
            Message::new(message).with("what", Arg::word(taken.what)).with("value", quantity(taken.dimension, value));
        Cure::new(words, vec![Change { field: taken.field.into(), value }])
    };
    let other_line = || Cure { set: Vec::new(), ..set("cure.line_takes_other", taken.value) };
    Some(match taken.range {
        (Some(min), max) if !reaches(taken.value, min) => {
            judge(Severity::Stop, of(max, "finding.line_takes.too_small_of", "finding.line_takes.too_small"), min)
                .with_some("most", max.map(said))
                .remedy(|| set("cure.line_takes_least", up(min)))
                .remedy(|| set("cure.line_takes_least", min))
                .remedy(other_line)
        }
        (min, Some(max)) if !within(taken.value, max) => {
            judge(Severity::Stop, of(min, "finding.line_takes.too_large_of", "finding.line_takes.too_large"), max)
                .with_some("least", min.map(said))
                .remedy(|| set("cure.line_takes_most", down(max)))
                .remedy(|| set("cure.line_takes_most", max))
                .remedy(other_line)
        }
        (Some(min), Some(max)) => judge(Severity::Good, "finding.line_takes.holds", max).with("least", said(min)),
        (None, Some(max)) => judge(Severity::Good, "finding.line_takes.holds_to", max),
        (Some(min), None) => judge(Severity::Good, "finding.line_takes.holds_from", min),
        (None, None) => return None,
    })
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::check::{support, testing};

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(1000))]

        #[test]
        fn it_judges_each_measure_by_its_range(file in support::valid_sheet(), line in support::valid_line()) {
            let takes = line.file().takes;
            let (valve_end, mass) = (&file.valve_end, file.contents.as_ref().map(|contents| contents.mass_kg));
            let all = [
                (Place::FaceWidth, Some(file.face_width_mm), takes.face_width_mm.min, takes.face_width_mm.max),
                (Place::Length, Some(file.length_mm), takes.length_mm.min, takes.length_mm.max),
                (Place::ValveEndBottom, Some(valve_end.bottom_width_mm), takes.bottom_width_mm.min, takes.bottom_width_mm.max),
                (Place::Valve, Some(valve_end.valve.flat_width_mm), takes.valve_width_mm.min, takes.valve_width_mm.max),
                (Place::Contents, mass, takes.mass_kg.min, takes.mass_kg.max),
            ];
            for (place, value, min, max) in all {
                let expected = value.filter(|_| min.is_some() || max.is_some()).map(|value| {
                    let outside = min.is_some_and(|min| value < min) || max.is_some_and(|max| value > max);
                    if outside { Severity::Stop } else { Severity::Good }
                });
                prop_assert_eq!(testing::severity(&file, Some(&line), &RULE, place), expected, "{:?}", place);
            }
        }
    }
}

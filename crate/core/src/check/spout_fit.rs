//! The sleeve goes on the spout: its girth, twice its flat width v, against the spout's girth U.
//!
//! fit = 2 v / U - 1 must lie in the card's range; U = pi D for a round spout, the ellipse's circumference for an oval
//! one. Exact for a sleeve that does not stretch. Source: the line's card; where the card leaves the range out, the
//! trade's habit (0.04 to 0.33, medium certainty). A card without a least fit still can't go below 0.

use core::f64::consts::PI;

use crate::cards::{Line, SpoutShape};
use crate::check::context::{Context, reaches, within};
use crate::check::remedy::{down, is_spout_size, set_length, spout, up};
use crate::check::rule::{Judgement, Outcome, Rule};
use crate::finding::{Certainty, Cure, Place, Severity, Topic};
use crate::units::ratio;

const FIELD: &str = "valve_end.valve.flat_width_mm";

pub(super) const RULE: Rule =
    Rule { name: "spout-fit", topic: Topic::Line, source: "source.line_card", certainty: Certainty::Usual, check };

fn check(context: &Context) -> Outcome {
    let (line, (_, sleeve)) = (context.line()?, context.valve()?);
    let width = sleeve.width_mm;
    let fit = line.spout_fit(width);
    let range = line.file().spout_fit;
    let least = range.min.unwrap_or(0.0);
    let girth = line.spout_girth_mm();
    // Compared as widths, so that the tolerance is a length.
    let least_width = (1.0 + least) * girth / 2.0;
    let most_width = range.max.map(|most| (1.0 + most) * girth / 2.0);

    // The girths that this sleeve takes.
    let least_girth = range.max.map_or(0.0, |most| 2.0 * width / (1.0 + most));
    let most_girth = 2.0 * width / (1.0 + least);

    let judgement = if !reaches(width, least_width) {
        let (message, name, apart) = match (fit < 0.0, range.max) {
            (true, None) => ("finding.spout_fit.does_not_go_on", "short", -fit),
            (true, Some(_)) => ("finding.spout_fit.does_not_go_on_of", "short", -fit),
            (false, None) => ("finding.spout_fit.too_small", "value", fit),
            (false, Some(_)) => ("finding.spout_fit.too_small_of", "value", fit),
        };
        let judgement = Judgement::new(Place::Valve, Severity::Stop, message);
        let judgement = if fit < 0.0 { judgement.certain(Certainty::Sure) } else { judgement };
        judgement
            .weighed(ratio(fit), ratio(least))
            .with(name, ratio(apart))
            .with("limit", ratio(least))
            .with_some("most", range.max.map(ratio))
            .remedy(|| set_length("cure.valve_width_least", FIELD, up(least_width)))
            .remedy(|| set_length("cure.valve_width_least", FIELD, least_width))
            .remedy_if_any(|| smaller_spout(line, least_girth, most_girth))
    } else if let Some((most, most_width)) = range.max.zip(most_width).filter(|(_, most)| !within(width, *most)) {
        Judgement::new(Place::Valve, Severity::Look, "finding.spout_fit.too_large")
            .compared(ratio(fit), ratio(most))
            .with("least", ratio(least))
            .remedy(|| set_length("cure.valve_width_most", FIELD, down(most_width)))
            .remedy(|| set_length("cure.valve_width_most", FIELD, most_width))
            .remedy_if_any(|| larger_spout(line, least_girth, most_girth))
    } else {
        let message = if range.max.is_some() { "finding.spout_fit.holds_of" } else { "finding.spout_fit.holds" };
        Judgement::new(Place::Valve, Severity::Good, message)
            .compared(ratio(fit), ratio(least))
            .with_some("most", range.max.map(ratio))
    };
    Ok(vec![judgement])
}

/// The remedy at the line, of the largest girth between `least` and `most`: a round spout by its diameter, an oval one by its
/// girth. In whole millimetres where there is one between.
pub(super) fn smaller_spout(line: &Line, least: f64, most: f64) -> Option<Cure> {
    other_spout(line, ["cure.spout_diameter_most", "cure.spout_girth_most"], |unit| {
        let (least, most) = (least / unit, most / unit);
        if reaches(down(most), least) { down(most) } else { most }
    })
}

/// The same of the smallest girth.
fn larger_spout(line: &Line, least: f64, most: f64) -> Option<Cure> {
    other_spout(line, ["cure.spout_diameter_least", "cure.spout_girth_least"], |unit| {
        let (least, most) = (least / unit, most / unit);
        if within(up(least), most) { up(least) } else { least }
    })
}

/// A spout of the line's shape; `measure` gives what it is known by from how often that goes into its girth.
fn other_spout(line: &Line, [round, oval]: [&'static str; 2], measure: impl Fn(f64) -> f64) -> Option<Cure> {
    let card = &line.file().spout;
    match card.shape {
        SpoutShape::Round => spout(round, measure(PI)),
        SpoutShape::Oval => {
            let girth = measure(1.0);
            // The same shape in that size is one that a card can describe too.
            let size = girth / line.spout_girth_mm();
            let is_fit = |side: Option<f64>| side.is_none_or(|side| is_spout_size(size * side));
            (is_fit(card.width_mm) && is_fit(card.height_mm)).then(|| spout(oval, girth)).flatten()
        }
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::check::{support, testing};

    #[test]
    fn a_valve_of_90_is_too_small_for_a_spout_of_66_and_108_would_do() {
        let mut file = support::plain_sheet();
        file.valve_end.valve.flat_width_mm = 90.0;
        let finding = testing::finding(&file, Some(&support::plain_line()), &RULE, Place::Valve).unwrap();
        assert_eq!(finding.severity, Severity::Stop);
        // 1.04 pi 66 / 2 = 107.8.
        assert_eq!(finding.cure.unwrap().set[0].value, 108.0);
    }

    #[test]
    fn a_spout_that_no_valve_of_this_bottom_takes_is_cured_at_the_line() {
        let mut file = support::plain_sheet();
        file.valve_end.bottom_width_mm = 90.0;
        file.valve_end.valve.flat_width_mm = 85.0;
        let finding = testing::finding(&file, Some(&support::plain_line()), &RULE, Place::Valve).unwrap();
        let cure = finding.cure.unwrap();
        assert_eq!((&*cure.message.key, cure.set.len()), ("cure.spout_diameter_most", 0));
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(1000))]

        #[test]
        fn it_judges_by_twice_the_width_over_the_girth(file in support::valid_sheet(), line in support::valid_line()) {
            let fit = 2.0 * file.valve_end.valve.flat_width_mm / line.spout_girth_mm() - 1.0;
            let range = line.file().spout_fit;
            let (least, most) = (range.min.unwrap_or(0.0), range.max.unwrap_or(f64::INFINITY));
            let found = testing::severity(&file, Some(&line), &RULE, Place::Valve);
            prop_assume!((fit - least).abs() > 1e-9 && (fit - most).abs() > 1e-9);
            let expected = if fit < least { Severity::Stop } else if fit > most { Severity::Look } else { Severity::Good };
            prop_assert_eq!(found, Some(expected));
            prop_assert_eq!(testing::severity(&file, None, &RULE, Place::Valve), None);
        }
    }
}

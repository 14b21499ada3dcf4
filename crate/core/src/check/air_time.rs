//! The air that a powder carries in has time to leave through the walls.
//!
//! Air to let out: V = m (1/rho_aerated - 1/rho_bulk). Plies in series have a permeance P = 127 um/(Pa s) over the sum of
//! their Gurley seconds (ISO 5636-5: 100 ml through 6.42 cm2 at 1.22 kPa), and Q = P A dp goes through A = 2 W L at the
//! pressure dp in the sack. V / Q <= share of the time for one sack, 3600 s / rate. The permeance is exact; pressure and
//! share are assumptions, low certainty, and with several spouts there is more time.

use crate::check::context::{Context, within};
use crate::check::remedy::advice;
use crate::check::rule::{Judgement, Outcome, Rule, Silence};
use crate::finding::{Certainty, Place, Topic};
use crate::units::{Dimension, quantity};

pub(super) const RULE: Rule =
    Rule { name: "air-time", topic: Topic::Fill, source: "source.air_time", certainty: Certainty::Guess, check };

/// m/(Pa s) times the Gurley seconds: 100 ml over 6.42 cm2 and 1.22 kPa.
const PERMEANCE: f64 = 127e-6;
const S_PER_H: f64 = 3600.0;

fn check(context: &Context) -> Outcome {
    let contents = context.contents()?;
    let aerated = contents.aerated_density_kg_m3.ok_or_else(|| Silence::lacks("silent.aerated"))?;
    let air_m3 = contents.mass_kg * (1.0 / aerated - 1.0 / contents.bulk_density_kg_m3);
    if air_m3 <= 0.0 {
        return Err(Silence::not_applicable("silent.no_air"));
    }
    let rate = context.line()?.file().rate_sacks_per_h.ok_or_else(|| Silence::lacks("silent.rate"))?;
    let gurley = context.gurley_s()?;
    let habits = context.habits;
    let walls_m2 = 2.0 * context.face_width_mm() * context.file().length_mm * 1e-6;
    let time = air_m3 * gurley / (PERMEANCE * walls_m2 * 1e3 * habits.filling_pressure_kpa);
    let most = habits.air_time_share * S_PER_H / rate;
    let seconds = |value| quantity(Dimension::Time, value);
    let judgement =
        Judgement::advised(Place::Contents, within(time, most), ["finding.air_time.holds", "finding.air_time.slow"])
            .compared(seconds(time), seconds(most))
            .with("air", quantity(Dimension::Volume, 1e3 * air_m3))
            .remedy(|| advice("cure.air"));
    Ok(vec![judgement])
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::check::{support, testing};
    use crate::finding::Severity;

    /// 25 kg at 480 and 560 kg/m3: 7.44 l; two plies of 5 s and walls of 0.384 m2 let 24.4 l/s through at 5 kPa.
    #[test]
    fn a_worked_example() {
        let mut file = support::plain_sheet();
        (file.face_width_mm, file.length_mm) = (400.0, 480.0);
        file.plies.truncate(2);
        file.plies.iter_mut().for_each(|ply| ply.air_resistance_gurley_s = Some(5.0));
        file.contents = Some(crate::sheet::Contents {
            product: "powder".into(),
            mass_kg: 25.0,
            bulk_density_kg_m3: 560.0,
            aerated_density_kg_m3: Some(480.0),
            dusty: true,
            dangerous_goods: false,
        });
        let mut card = support::plain_line().file().clone();
        card.rate_sacks_per_h = Some(900.0);
        let line = crate::cards::Line::new(card).unwrap();
        let found = testing::finding(&file, Some(&line), &RULE, Place::Contents).unwrap();
        assert!((found.value.unwrap().value - 7.44e-3 / 24.4e-3).abs() < 1e-3, "{found:?}");
        assert_eq!((found.severity, found.limit.unwrap().value), (Severity::Good, 3.2));
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(1000))]

        #[test]
        fn it_speaks_where_everything_is_known(file in support::valid_sheet(), line in support::maybe_line(), habits in support::habits()) {
            let gurley: Option<f64> = file.plies.iter().map(|ply| ply.air_resistance_gurley_s).sum();
            let rate = line.as_ref().and_then(|line| line.file().rate_sacks_per_h);
            let expected = || {
                let contents = file.contents.as_ref()?;
                let air = contents.mass_kg / contents.aerated_density_kg_m3? - contents.mass_kg / contents.bulk_density_kg_m3;
                let flow = 127e-6 / gurley? * 2e-6 * file.face_width_mm * file.length_mm * 1e3 * habits.filling_pressure_kpa;
                let room = habits.air_time_share * 3600.0 / rate? - air / flow;
                (air > 1e-12).then(|| testing::expected(room, f64::NEG_INFINITY, 0.0))
            };
            let expected = expected();
            prop_assume!(expected != Some(None));
            prop_assert_eq!(testing::severity_by(&habits, &file, line.as_ref(), &RULE, Place::Contents), expected.flatten());
        }
    }
}

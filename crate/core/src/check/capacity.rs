//! The filling goes in: its volume at the moment of filling against what the sack holds.
//!
//! V = m / rho_aerated against the capacity of the computed filled shape: more than with free bottoms can't be (sure, as
//! far as paper does not stretch), more than with stiff bottoms strains the sack. Real bottoms are nearer to stiff ones.
//! Medium certainty: real paper stretches by 1 to 2 %, and capacity is proved by filling trials.

use crate::check::context::{Context, weigh};
use crate::check::remedy::{advice, set_length};
use crate::check::rule::{Judgement, Outcome, Rule};
use crate::finding::{Certainty, Place, Severity, Topic};
use crate::units::{Dimension, quantity};

pub(super) const RULE: Rule =
    Rule { name: "capacity", topic: Topic::Fill, source: "source.capacity", certainty: Certainty::Usual, check };

fn check(context: &Context) -> Outcome {
    let (content, capacity) = (context.content()?, context.filled()?.capacity);
    let volume = content.filling.volume_l;
    let severity = weigh(volume <= capacity.free_l, volume <= capacity.stiff_l);
    let (message, limit) = match severity {
        Severity::Good => ("finding.capacity.holds", capacity.stiff_l),
        Severity::Look => ("finding.capacity.strains", capacity.stiff_l),
        Severity::Stop => ("finding.capacity.too_much", capacity.free_l),
    };
    let litres = |value| quantity(Dimension::Volume, value);
    let judgement = Judgement::new(Place::Contents, severity, message).compared(litres(volume), litres(limit));
    let judgement = if severity == Severity::Good {
        judgement
    } else {
        // Lengths that leave headroom hold it all the more.
        let [longer, wider] = context.sizes_for_headroom();
        let longer = longer.map(|value| set_length("cure.length_least", "length_mm", value));
        let wider = wider.map(|value| set_length("cure.face_width_least", "face_width_mm", value));
        judgement.computed(longer).computed(wider).remedy(|| advice("cure.fill_less"))
    };
    Ok(vec![judgement])
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::check::{Against, support, testing};

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(1000))]

        #[test]
        fn it_judges_by_both_limits_of_the_capacity(file in support::valid_sheet(), filled in support::maybe_filled()) {
            let known = filled.as_ref().filter(|_| file.contents.is_some());
            let room = known.and_then(|filled| {
                let volume = filled.content.as_ref()?.filling.volume_l;
                Some((filled.capacity.free_l - volume, filled.capacity.stiff_l - volume))
            });
            let expected = room.map(|(free, stiff)| weigh(free >= 0.0, stiff >= 0.0));
            let against = Against { filled: filled.as_ref(), ..Against::default() };
            prop_assert_eq!(testing::severity_against(&file, &against, &RULE, Place::Contents), expected);
        }
    }
}

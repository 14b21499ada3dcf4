//! The checks: what a sack's measures, and the cards it is held against, have to say about it.
//!
//! One rule is one small file with its formula, its source and how sure that source is, and one line in `RULES`.
//! A rule that holds says so too; one that says nothing of a sack says why ([`Silent`]): it lacks an input, or the sack has
//! nothing that it is about. Where a limit is the trade's habit rather than geometry, it is a field of [`Habits`]. Each
//! rule proposes remedies from its own formula; a remedy becomes a cure only after it was tried: the changed sheet must be
//! valid, must make the rule hold, and should break no other one. What it does break stands with the cure.

mod context;
mod cure;
mod habits;
mod machine;
mod remedy;
mod rule;

mod air;
mod air_time;
mod barcode;
mod bottoms_apart;
mod bottoms_room;
mod capacity;
mod dangerous_goods;
mod densities;
mod dust;
mod fill_ratio;
mod flap_depth;
mod flap_reach;
mod freeboard;
mod handling;
mod hanging;
mod headroom;
mod lap;
mod line_takes;
mod pallet_binding;
mod pallet_care;
mod pallet_cover;
mod pallet_height;
mod pallet_layers;
mod pallet_leeway;
mod pallet_load;
mod pallet_overhang;
mod paper;
mod patch_closes;
mod patch_mouth;
mod patch_on_bottom;
mod patch_width;
mod plies;
mod pocket_gap;
mod print_repeat;
mod print_room;
mod proportion;
mod saddle;
mod seam_band;
mod seam_clear;
mod seam_lap;
mod sleeve_far_pocket;
mod sleeve_length;
mod sleeve_mouth;
mod sleeve_reach;
mod sleeve_straight;
mod sleeve_width;
mod spout_fit;
mod spout_height;
mod spout_in_sleeve;
mod spout_reach;
mod step;
mod step_to_lap;
mod thickness;
mod works_bottom_width;
mod works_centre_distance;
mod works_face_width;
mod works_patch_length;
mod works_patch_width;
mod works_plies;
mod works_print_repeat;
mod works_sleeve_length;
mod works_step;
mod works_tube_length;
mod works_tube_length_step;
mod works_valve_side;
mod works_web_width;

use crate::cards::Line;
use crate::finding::{Finding, Silent};
use crate::geom::sort_short;
use crate::sack::Sack;

pub(crate) use barcode::Face as BarcodeFace;
pub use context::Against;
pub use cure::apply;
pub(crate) use seam_clear::offsets_mm as seam_offsets_mm;

pub use habits::{HABITS_KIND, Habits, read_habits};

use context::Context;
use rule::{Remedy, Rule};

/// Every rule.
const RULES: &[&Rule] = &[
    // The filling line.
    &spout_fit::RULE,
    &spout_reach::RULE,
    &spout_in_sleeve::RULE,
    &spout_height::RULE,
    &sleeve_straight::RULE,
    &saddle::RULE,
    &hanging::RULE,
    &line_takes::RULE,
    // How it is made.
    &sleeve_reach::RULE,
    &sleeve_far_pocket::RULE,
    &sleeve_width::RULE,
    &sleeve_length::RULE,
    &sleeve_mouth::RULE,
    &pocket_gap::RULE,
    &bottoms_room::RULE,
    &bottoms_apart::RULE,
    &proportion::RULE,
    &lap::RULE,
    &step_to_lap::RULE,
    &step::RULE,
    &flap_depth::RULE,
    &flap_reach::RULE,
    &patch_on_bottom::RULE,
    &patch_width::RULE,
    &patch_closes::RULE,
    &patch_mouth::RULE,
    &seam_clear::RULE,
    &seam_lap::RULE,
    &seam_band::RULE,
    &plies::RULE,
    &paper::RULE,
    &print_room::RULE,
    &print_repeat::RULE,
    &barcode::RULE,
    // The works.
    &works_web_width::RULE,
    &works_face_width::RULE,
    &works_tube_length::RULE,
    &works_tube_length_step::RULE,
    &works_plies::RULE,
    &works_step::RULE,
    &works_print_repeat::RULE,
    &works_centre_distance::RULE,
    &works_bottom_width::RULE,
    &works_valve_side::RULE,
    &works_sleeve_length::RULE,
    &works_patch_length::RULE,
    &works_patch_width::RULE,
    // The filling.
    &capacity::RULE,
    &headroom::RULE,
    &fill_ratio::RULE,
    &thickness::RULE,
    &freeboard::RULE,
    &densities::RULE,
    &air::RULE,
    &air_time::RULE,
    // The pallet.
    &pallet_cover::RULE,
    &pallet_overhang::RULE,
    &pallet_height::RULE,
    &pallet_load::RULE,
    &pallet_layers::RULE,
    &pallet_binding::RULE,
    &pallet_leeway::RULE,
    // Cautions.
    &pallet_care::RULE,
    &handling::RULE,
    &dust::RULE,
    &dangerous_goods::RULE,
];

/// What comes of holding a sack against every rule.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Checked {
    /// Worst first, then in the order of their places.
    pub findings: Vec<Finding>,
    /// The rules that say nothing of this sack: first those that lack an input.
    pub silent: Vec<Silent>,
}

/// Holds a sack against every rule, with the trade's habits; `line` adds the rules of a filling line.
#[must_use]
pub fn check(sack: &Sack, line: Option<&Line>) -> Vec<Finding> {
    check_with(sack, &Against { line, ..Against::default() }).findings
}

/// Holds a sack against every rule, with all the cards there are.
#[must_use]
pub fn check_with(sack: &Sack, against: &Against) -> Checked {
    let trade = Habits::default();
    let context = Context { sack, against: *against, habits: against.habits.unwrap_or(&trade) };
    let (judged, mut silent) = judge(&context);
    // What was computed for this sack holds of no changed one: cures are tried without it.
    let bare = Context { against: Against { filled: None, stack: None, ..*against }, ..context };
    let is_bare = against.filled.is_none() && against.stack.is_none();
    let before = if is_bare { judged.iter().map(|(finding, _)| finding.clone()).collect() } else { found(&bare) };
    let cures = cure::cures(&bare, &before, &judged);
    let mut findings: Vec<Finding> =
        judged.into_iter().zip(cures).map(|((finding, _), cure)| Finding { cure, ..finding }).collect();
    sort_short(&mut findings, |a, b| (a.severity, a.place) < (b.severity, b.place));
    sort_short(&mut silent, |a, b| a.kind < b.kind);
    Checked { findings, silent }
}

/// What every rule finds, in no order and without cures, which take longest: to compare many sacks.
#[must_use]
pub fn survey(sack: &Sack, against: &Against) -> Vec<Finding> {
    let trade = Habits::default();
    found(&Context { sack, against: *against, habits: against.habits.unwrap_or(&trade) })
}

/// What the rules that judge the sleeve's place find, and the spout's fit: without the other rules, so that a small module
/// need not carry them.
pub(crate) fn survey_sleeve(sack: &Sack, against: &Against) -> Vec<Finding> {
    const OF_SLEEVE: [&Rule; 7] = [
        &spout_fit::RULE,
        &spout_in_sleeve::RULE,
        &sleeve_straight::RULE,
        &sleeve_reach::RULE,
        &sleeve_far_pocket::RULE,
        &sleeve_width::RULE,
        &sleeve_mouth::RULE,
    ];
    let trade = Habits::default();
    let context = Context { sack, against: *against, habits: against.habits.unwrap_or(&trade) };
    let judged = OF_SLEEVE.iter().flat_map(|rule| {
        let judgements = (rule.check)(&context).unwrap_or_default();
        judgements.into_iter().map(|judgement| judgement.of(rule).0)
    });
    judged.collect()
}

/// What every rule finds.
fn found(context: &Context) -> Vec<Finding> {
    judge(context).0.into_iter().map(|(finding, _)| finding).collect()
}

/// What every rule finds, with what might cure it; and the rules that are silent.
fn judge(context: &Context) -> (Vec<(Finding, Vec<Remedy>)>, Vec<Silent>) {
    let (mut judged, mut silent) = (Vec::new(), Vec::new());
    for rule in RULES {
        match (rule.check)(context) {
            Ok(judgements) => judged.extend(judgements.into_iter().map(|judgement| judgement.of(rule))),
            Err(silence) => silent.push(silence.of(rule)),
        }
    }
    (judged, silent)
}

#[cfg(test)]
#[path = "../../tests/support/mod.rs"]
pub(crate) mod support;

#[cfg(test)]
mod every_rule;
#[cfg(test)]
mod testing;

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;
    use std::fs;
    use std::path::Path;

    use super::*;

    /// What is in the folder beside the rules.
    const NO_RULES: [&str; 9] =
        ["context", "cure", "every-rule", "habits", "machine", "mod", "remedy", "rule", "testing"];

    #[test]
    fn every_rule_is_on_the_list_under_the_name_of_its_file() {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("src/check");
        let files = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
        let files = files.map(|path| path.file_stem().unwrap().to_str().unwrap().replace('_', "-"));
        let files: BTreeSet<String> = files.filter(|name| !NO_RULES.contains(&name.as_str())).collect();
        let rules: BTreeSet<String> = RULES.iter().map(|rule| rule.name.to_owned()).collect();
        assert_eq!((files, rules.len()), (rules, RULES.len()));
    }
}

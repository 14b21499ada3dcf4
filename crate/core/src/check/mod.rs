//! The checks: what a sack's measures, and the filling line it is held against, have to say about it.
//!
//! One rule is one small file with its formula, its source and how sure that source is, and one line in `RULES`.
//! A rule that holds says so too. Where a limit is the trade's habit rather than geometry, it is a field of
//! [`Habits`]. Each rule proposes remedies from its own formula; a remedy becomes a cure only after it was tried: the
//! changed sheet must be valid, must make the rule hold, and should break no other one.

mod context;
mod cure;
mod habits;

mod bottoms_room;
mod dust;
mod flap_depth;
mod flap_reach;
mod handling;
mod lap;
mod line_takes;
mod patch_closes;
mod patch_on_bottom;
mod patch_width;
mod plies;
mod pocket_gap;
mod saddle;
mod seam_clear;
mod seam_lap;
mod sleeve_far_pocket;
mod sleeve_reach;
mod sleeve_width;
mod spout_fit;
mod spout_height;
mod spout_in_sleeve;
mod spout_reach;
mod step;
mod step_to_lap;

use crate::cards::Line;
use crate::finding::Finding;
use crate::sack::Sack;

pub use cure::apply;
pub use habits::Habits;

use context::{Context, Judgement};

/// A rule: what it says of a sack, at each place where it applies.
type Rule = fn(&Context) -> Vec<Judgement>;

/// Every rule.
const RULES: [Rule; 24] = [
    spout_fit::check,
    spout_reach::check,
    spout_in_sleeve::check,
    spout_height::check,
    saddle::check,
    line_takes::check,
    sleeve_reach::check,
    sleeve_far_pocket::check,
    sleeve_width::check,
    pocket_gap::check,
    bottoms_room::check,
    lap::check,
    step_to_lap::check,
    step::check,
    flap_depth::check,
    flap_reach::check,
    patch_on_bottom::check,
    patch_width::check,
    patch_closes::check,
    seam_clear::check,
    seam_lap::check,
    plies::check,
    handling::check,
    dust::check,
];

/// Holds a sack against every rule, with the trade's habits; `line` adds the rules of a filling line.
///
/// Findings come worst first, then in the order of their places.
#[must_use]
pub fn check(sack: &Sack, line: Option<&Line>) -> Vec<Finding> {
    check_with(sack, line, &Habits::default())
}

/// Holds a sack against every rule, with a works' own habits.
#[must_use]
pub fn check_with(sack: &Sack, line: Option<&Line>, habits: &Habits) -> Vec<Finding> {
    let context = Context { sack, line, habits };
    let judgements = judge(&context);
    let before: Vec<Finding> = judgements.iter().map(|judgement| judgement.finding.clone()).collect();
    let mut findings: Vec<Finding> = judgements
        .into_iter()
        .map(|judgement| {
            let cure = cure::choose(&context, &before, &judgement);
            Finding { cure, ..judgement.finding }
        })
        .collect();
    findings.sort_by_key(|finding| (finding.severity, finding.place));
    findings
}

fn judge(context: &Context) -> Vec<Judgement> {
    RULES.iter().flat_map(|rule| rule(context)).collect()
}

#[cfg(test)]
#[path = "../../tests/support/mod.rs"]
mod support;

#[cfg(test)]
mod testing;

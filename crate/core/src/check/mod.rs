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
use crate::finding::{Finding, Topic};
use crate::sack::Sack;

pub use cure::apply;
pub use habits::{HABITS_KIND, Habits, read_habits};

use context::{Context, Judgement};

/// A rule: what it says of a sack, at each place where it applies.
type Rule = fn(&Context) -> Vec<Judgement>;

/// Every rule, and what it is about.
const RULES: [(Topic, Rule); 24] = [
    (Topic::Line, spout_fit::check),
    (Topic::Line, spout_reach::check),
    (Topic::Line, spout_in_sleeve::check),
    (Topic::Line, spout_height::check),
    (Topic::Line, saddle::check),
    (Topic::Line, line_takes::check),
    (Topic::Make, sleeve_reach::check),
    (Topic::Make, sleeve_far_pocket::check),
    (Topic::Make, sleeve_width::check),
    (Topic::Make, pocket_gap::check),
    (Topic::Make, bottoms_room::check),
    (Topic::Make, lap::check),
    (Topic::Make, step_to_lap::check),
    (Topic::Make, step::check),
    (Topic::Make, flap_depth::check),
    (Topic::Make, flap_reach::check),
    (Topic::Make, patch_on_bottom::check),
    (Topic::Make, patch_width::check),
    (Topic::Make, patch_closes::check),
    (Topic::Make, seam_clear::check),
    (Topic::Make, seam_lap::check),
    (Topic::Make, plies::check),
    (Topic::Care, handling::check),
    (Topic::Care, dust::check),
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
    let chosen = judgements.iter().map(|judgement| cure::choose(&context, &before, judgement)).collect();
    let cures = cure::agree(&context, &before, chosen);
    let mut findings: Vec<Finding> =
        before.into_iter().zip(cures).map(|(finding, cure)| Finding { cure, ..finding }).collect();
    findings.sort_by_key(|finding| (finding.severity, finding.place));
    findings
}

fn judge(context: &Context) -> Vec<Judgement> {
    let judged = RULES.iter().flat_map(|(topic, rule)| rule(context).into_iter().map(move |found| (*topic, found)));
    judged
        .map(|(topic, mut judgement)| {
            judgement.finding.topic = topic;
            judgement
        })
        .collect()
}

#[cfg(test)]
#[path = "../../tests/support/mod.rs"]
mod support;

#[cfg(test)]
mod testing;

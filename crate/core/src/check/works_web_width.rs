//! The tuber takes the webs of all plies. As the works' card says, for webs of twice the face width and the seam lap.

use crate::check::context::Context;
use crate::check::machine::{Limits, Machine, set};
use crate::check::rule::{Outcome, Rule};
use crate::finding::{Certainty, Place, Topic};
use crate::units::Dimension;

pub(super) const RULE: Rule = Rule {
    name: "works-web-width",
    topic: Topic::Make,
    source: "source.works_card",
    certainty: Certainty::Sure,
    check,
};

fn check(context: &Context) -> Outcome {
    let range = context.works()?.tuber.web_width_mm;
    let webs = context.sack.tube().plies.iter().map(|ply| ply.web_width_mm);
    // The outermost web is the widest, the innermost the narrowest.
    let (narrowest, widest) = webs.fold((f64::INFINITY, 0.0_f64), |(low, high), web| (low.min(web), high.max(web)));
    let web = if range.min.is_some_and(|min| narrowest < min) { narrowest } else { widest };
    let face = context.face_width_mm();
    Limits::of(Machine::Tuber, range).judge(
        Place::Plies,
        "finding.works.what.web_width",
        (Dimension::Length, web),
        &|bound, limit| {
            let words = ["cure.face_width_least", "cure.face_width_most"];
            set(bound, words, "face_width_mm", face + (limit - web) / 2.0)
        },
    )
}

//! Tuber and bottomer take the face width. As the works' card says.

use crate::check::context::Context;
use crate::check::machine::{Limits, set};
use crate::check::rule::{Outcome, Rule};
use crate::finding::{Certainty, Place, Topic};
use crate::units::Dimension;

pub(super) const RULE: Rule = Rule {
    name: "works-face-width",
    topic: Topic::Make,
    source: "source.works_card",
    certainty: Certainty::Sure,
    check,
};

fn check(context: &Context) -> Outcome {
    let works = context.works()?;
    Limits::both(works.tuber.face_width_mm, works.bottomer.face_width_mm).judge(
        Place::FaceWidth,
        "finding.works.what.face_width",
        (Dimension::Length, context.face_width_mm()),
        &|bound, limit| set(bound, ["cure.face_width_least", "cure.face_width_most"], "face_width_mm", limit),
    )
}

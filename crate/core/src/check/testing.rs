//! What the rules' own tests share.

use glam::DVec2;

use crate::cards::Line;
use crate::check::context::Context;
use crate::check::rule::Rule;
use crate::check::{Against, Habits, check, judge};
use crate::finding::{Finding, Place, Severity, Silent};
use crate::fold::sleeve_placement;
use crate::sack::Sack;
use crate::sheet::{End, Sheet, SheetFile};

/// What a rule says of a sheet at a place, with its cure.
pub fn finding(file: &SheetFile, line: Option<&Line>, rule: &Rule, place: Place) -> Option<Finding> {
    let sack = Sack::new(Sheet::new(file.clone()).unwrap());
    check(&sack, line).into_iter().find(|finding| finding.rule == rule.name && finding.place == place)
}

/// How a rule judges a sheet at a place.
pub fn severity(file: &SheetFile, line: Option<&Line>, rule: &Rule, place: Place) -> Option<Severity> {
    severity_against(file, &Against { line, ..Against::default() }, rule, place)
}

/// The same by the habits of a works.
pub fn severity_by(
    habits: &Habits,
    file: &SheetFile,
    line: Option<&Line>,
    rule: &Rule,
    place: Place,
) -> Option<Severity> {
    severity_against(file, &Against { line, habits: Some(habits), ..Against::default() }, rule, place)
}

/// The same with all the cards there are.
pub fn severity_against(file: &SheetFile, against: &Against, rule: &Rule, place: Place) -> Option<Severity> {
    let (sack, trade) = (Sack::new(Sheet::new(file.clone()).unwrap()), Habits::default());
    let judged = (rule.check)(&Context { sack: &sack, against: *against, habits: against.habits.unwrap_or(&trade) });
    let mut findings = judged.unwrap_or_default().into_iter().map(|judgement| judgement.of(rule).0);
    findings.find(|finding| finding.place == place).map(|finding| finding.severity)
}

/// What every rule finds, without cures, which take longest; and the rules that are silent.
pub fn judged(file: &SheetFile, against: &Against) -> (Vec<Finding>, Vec<Silent>) {
    let (sack, trade) = (Sack::new(Sheet::new(file.clone()).unwrap()), Habits::default());
    let (judged, silent) = judge(&Context { sack: &sack, against: *against, habits: against.habits.unwrap_or(&trade) });
    (judged.into_iter().map(|(finding, _)| finding).collect(), silent)
}

/// How far out beyond the bottom's end edge the corners of the sleeve's outer end lie in the folded sack, least and most;
/// how far in from it those of the inner end.
pub fn sleeve_spans(file: &SheetFile) -> [[f64; 2]; 2] {
    let sack = Sack::new(Sheet::new(file.clone()).unwrap());
    let bottom = sack.bottom(End::ValveEnd);
    let sleeve = bottom.sleeve.unwrap();
    let (laid, edge) = (sleeve_placement(bottom, &sleeve, 1.0), bottom.half_face_mm() - bottom.width_mm / 2.0);
    [(0.0, 1.0), (sleeve.length_mm, -1.0)].map(|(along, out)| {
        let corners = [-0.5, 0.5].map(|side| laid.at(DVec2::new(side * sleeve.width_mm, along)));
        let [a, b] = corners.map(|corner| out * (sleeve.side.sign() * corner.x - edge));
        [a.min(b), a.max(b)]
    })
}

/// The severity that a formula asks for: stop below `floor`, look below `advice`, else good; `None` so near a limit
/// that rounding decides.
pub fn expected(value: f64, floor: f64, advice: f64) -> Option<Severity> {
    if (value - floor).abs() < 1e-6 || (value - advice).abs() < 1e-6 {
        return None;
    }
    Some(if value < floor {
        Severity::Stop
    } else if value < advice {
        Severity::Look
    } else {
        Severity::Good
    })
}

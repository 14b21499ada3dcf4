//! What the rules' own tests share.

use crate::cards::Line;
use crate::check::check;
use crate::finding::{Finding, Place, Severity};
use crate::sack::Sack;
use crate::sheet::{Sheet, SheetFile};

/// What a rule says of a sheet at a place.
pub fn finding(file: &SheetFile, line: Option<&Line>, rule: &str, place: Place) -> Option<Finding> {
    let sack = Sack::new(Sheet::new(file.clone()).unwrap());
    check(&sack, line).into_iter().find(|finding| finding.rule == rule && finding.place == place)
}

/// How a rule judges a sheet at a place.
pub fn severity(file: &SheetFile, line: Option<&Line>, rule: &str, place: Place) -> Option<Severity> {
    finding(file, line, rule, place).map(|finding| finding.severity)
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

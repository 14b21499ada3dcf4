//! Trying remedies: only what cures is shown as a cure.

use serde_json::Value;

use crate::check::context::{Context, Judgement};
use crate::check::judge;
use crate::finding::{Change, Cure, Finding, Severity};
use crate::sack::Sack;
use crate::sheet::{self, Sheet, SheetFile};

/// A sheet with some fields set, as a cure proposes; `None` when a field does not exist or the value is outside what
/// the field's schema allows.
#[must_use]
pub fn apply(file: &SheetFile, changes: &[Change]) -> Option<SheetFile> {
    let mut value = serde_json::to_value(file).ok()?;
    for change in changes {
        if !allowed(&change.field, change.value) {
            return None;
        }
        let (parent, key) = change.field.rsplit_once('.').unwrap_or(("", &change.field));
        let mut place = &mut value;
        for step in parent.split('.').filter(|step| !step.is_empty()) {
            place = place.get_mut(step)?;
        }
        place.as_object_mut()?.insert(key.into(), Value::from(change.value));
    }
    serde_json::from_value(value).ok()
}

/// The remedy that makes the rule hold and breaks least else. Where every change of the sheet would stop the sack
/// somewhere else, a remedy away from the sheet is preferred if the rule has one.
pub(super) fn choose(context: &Context, before: &[Finding], judgement: &Judgement) -> Option<Cure> {
    if judgement.finding.severity == Severity::Good {
        return None;
    }
    let elsewhere = judgement.remedies.iter().find(|remedy| remedy.set.is_empty());
    let changes = judgement.remedies.iter().filter(|remedy| !remedy.set.is_empty());
    let best = changes
        .filter_map(|remedy| Some((harm(context, before, &judgement.finding, remedy)?, remedy)))
        .min_by_key(|(harm, _)| *harm);
    match (best, elsewhere) {
        (Some((Harm { stops: 1.., .. }, _)), Some(elsewhere)) | (None, Some(elsewhere)) => Some(elsewhere.clone()),
        (best, _) => best.map(|(_, remedy)| remedy.clone()),
    }
}

/// Cures of several findings that set the same field in the same direction: each becomes the strictest of them that
/// cures its finding too and breaks no more.
///
/// `cures` are those of the findings `before`, one each.
pub(super) fn agree(context: &Context, before: &[Finding], cures: Vec<Option<Cure>>) -> Vec<Option<Cure>> {
    let Ok(file) = serde_json::to_value(context.file()) else { return cures };
    let mut moves: Vec<(&Cure, Move)> =
        cures.iter().flatten().filter_map(|cure| Some((cure, Move::of(cure, &file)?))).collect();
    moves.sort_by(|(_, a), (_, b)| b.by.abs().total_cmp(&a.by.abs()));
    let stricter = |ill: &Finding, cure: &Cure| {
        let own = Move::of(cure, &file)?;
        let mut others = moves.iter().filter(|(_, other)| other.outdoes(&own)).peekable();
        others.peek()?;
        let bearable = harm(context, before, ill, cure)?;
        others.find(|(other, _)| harm(context, before, ill, other).is_some_and(|harm| harm <= bearable))
    };
    let agreed = before.iter().zip(&cures).map(|(ill, cure)| {
        let cure = cure.as_ref()?;
        Some(stricter(ill, cure).map_or(cure, |(other, _)| other).clone())
    });
    agreed.collect()
}

/// By how much a cure moves the one field that it sets.
struct Move<'a> {
    field: &'a str,
    by: f64,
}

impl<'a> Move<'a> {
    /// `None` for a cure that sets several fields or none, or one that the sheet leaves open.
    fn of(cure: &'a Cure, file: &Value) -> Option<Self> {
        let [change] = cure.set.as_slice() else { return None };
        let now = change.field.split('.').try_fold(file, |place, step| place.get(step))?.as_f64()?;
        Some(Self { field: &change.field, by: change.value - now })
    }

    /// Whether this moves the same field further in the same direction.
    fn outdoes(&self, other: &Move) -> bool {
        self.field == other.field && self.by * other.by > 0.0 && self.by.abs() > other.by.abs()
    }
}

/// How many findings a remedy makes worse.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Harm {
    stops: usize,
    looks: usize,
}

/// What a remedy breaks elsewhere; `None` when it does not cure.
fn harm(context: &Context, before: &[Finding], ill: &Finding, remedy: &Cure) -> Option<Harm> {
    let sheet = Sheet::new(apply(context.file(), &remedy.set)?).ok()?;
    let sack = Sack::new(sheet);
    let after = judge(&Context { sack: &sack, ..*context });
    let same = |a: &Finding, b: &Finding| a.rule == b.rule && a.place == b.place;
    let cured = after.iter().any(|now| same(&now.finding, ill) && now.finding.severity == Severity::Good);
    let worse = |severity: Severity| {
        let new = after.iter().filter(|now| {
            now.finding.severity == severity
                && !before.iter().any(|then| same(then, &now.finding) && then.severity <= severity)
        });
        new.count()
    };
    cured.then(|| Harm { stops: worse(Severity::Stop), looks: worse(Severity::Look) })
}

/// Whether the sheet's schema has the field and allows the value.
fn allowed(field: &str, value: f64) -> bool {
    let mut schema = sheet::KIND.schema();
    for step in field.split('.') {
        // `Option<struct>` comes as anyOf [struct, null].
        let object = match schema.get("anyOf").and_then(Value::as_array) {
            Some(choices) => choices.iter().find(|choice| choice.get("properties").is_some()),
            None => Some(schema),
        };
        match object.and_then(|object| object.get("properties")?.get(step)) {
            Some(property) => schema = property,
            None => return false,
        }
    }
    let bound = |key| schema.get(key).and_then(Value::as_f64);
    bound("minimum").is_none_or(|min| value >= min) && bound("maximum").is_none_or(|max| value <= max)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::check::{Habits, check, support};

    #[test]
    fn a_change_outside_the_schema_or_of_no_field_is_refused() {
        let file = support::plain_sheet();
        let change = |field: &str, value| apply(&file, &[Change { field: field.into(), value }]);
        assert!(change("face_width_mm", 2000.0).is_some());
        assert!(change("face_width_mm", 2000.5).is_none());
        assert!(change("valve_end.valve.flat_width_mm", 9.0).is_none());
        assert!(change("valve_end.patch.length_mm", 300.0).is_some());
        assert!(change("plain_end.patch.length_mm", 300.0).is_none(), "there is no patch to change");
        assert!(change("no_such_field", 1.0).is_none());
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(1000))]

        /// The promise of every cure: apply it, and the same rule at the same place is good; the sheet stays readable.
        #[test]
        fn every_cure_cures(file in support::valid_sheet(), line in support::maybe_line()) {
            let sack = Sack::new(Sheet::new(file.clone()).unwrap());
            for ill in check(&sack, line.as_ref()) {
                let Some(cure) = &ill.cure else { continue };
                prop_assert_ne!(ill.severity, Severity::Good);
                if cure.set.is_empty() {
                    continue;
                }
                let changed = Sheet::new(apply(&file, &cure.set).unwrap()).unwrap();
                let changed = sheet::read(&changed.to_json()).unwrap();
                let after = check(&Sack::new(changed), line.as_ref());
                let now = after.iter().find(|now| now.rule == ill.rule && now.place == ill.place);
                prop_assert_eq!(now.map(|now| now.severity), Some(Severity::Good), "{:?}", ill);
            }
        }

        /// Cures of one field in one direction agree, unless the stricter one does not cure or breaks more.
        #[test]
        fn cures_of_one_field_agree(file in support::valid_sheet(), line in support::maybe_line()) {
            let (sack, habits) = (Sack::new(Sheet::new(file.clone()).unwrap()), Habits::default());
            let context = Context { sack: &sack, line: line.as_ref(), habits: &habits };
            let before: Vec<Finding> = judge(&context).into_iter().map(|judgement| judgement.finding).collect();
            let value = serde_json::to_value(&file).unwrap();
            let findings = check(&sack, line.as_ref());
            for a in &findings {
                for b in &findings {
                    let (Some(own), Some(other)) = (&a.cure, &b.cure) else { continue };
                    let (Some(by), Some(further)) = (Move::of(own, &value), Move::of(other, &value)) else { continue };
                    if further.outdoes(&by) {
                        let bearable = harm(&context, &before, a, own).unwrap();
                        let stricter = harm(&context, &before, a, other);
                        prop_assert!(stricter.is_none_or(|harm| harm > bearable), "{:?} {:?}", a, b);
                    }
                }
            }
        }

        /// Rule and place name a finding: nothing is said twice.
        #[test]
        fn a_rule_speaks_once_of_a_place(file in support::valid_sheet(), line in support::maybe_line()) {
            let findings = check(&Sack::new(Sheet::new(file).unwrap()), line.as_ref());
            for (i, finding) in findings.iter().enumerate() {
                prop_assert!(!findings[..i].iter().any(|f| (f.rule, f.place) == (finding.rule, finding.place)));
            }
            prop_assert!(findings.is_sorted_by_key(|finding| (finding.severity, finding.place)));
        }
    }
}

//! Trying remedies: only what cures is shown as a cure.

use std::cell::RefCell;
use std::rc::Rc;

use serde_json::Value;

use crate::check::context::Context;
use crate::check::found;
use crate::check::rule::Remedy;
use crate::finding::{Change, Cure, Finding, Severity, Worse};
use crate::geom::sort_short;
use crate::sack::Sack;
use crate::sheet::{self, Sheet, SheetFile};

/// A sheet with some fields set, as a cure proposes; `None` when a field does not exist or the value is outside what
/// the field's schema allows.
#[must_use]
pub fn apply(file: &SheetFile, changes: &[Change]) -> Option<SheetFile> {
    apply_to(file.to_tree(), changes)
}

/// The same of a sheet's tree of values.
fn apply_to(mut value: Value, changes: &[Change]) -> Option<SheetFile> {
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

/// The cure of each finding: the remedy that makes its rule hold and breaks least else, and what gets worse for it.
///
/// `context` is the sack held against cards alone: nothing that was computed for this very sack holds of a changed one.
/// `before` is what is found of it so, `judged` are the findings with their remedies; cures come in their order.
pub(super) fn cures(context: &Context, before: &[Finding], judged: &[(Finding, Vec<Remedy>)]) -> Vec<Option<Cure>> {
    let trials = Trials { context, before, file: context.file().to_tree(), made: RefCell::default() };
    let mut cures: Vec<Option<Remedy>> =
        judged.iter().map(|(finding, remedies)| trials.choose(finding, remedies)).collect();
    trials.agree(judged, &mut cures);
    let told = |(finding, cure): (&(Finding, _), Option<Remedy>)| {
        let remedy = cure?;
        let worsens = trials.harm(&finding.0, &remedy).map_or_else(Vec::new, |harm| harm.worse);
        Some(Cure { worsens, ..remedy.cure().clone() })
    };
    judged.iter().zip(cures).map(told).collect()
}

/// Changes of a sheet, and what is found after them; none where they make no sheet.
type Made = (Vec<Change>, Option<Rc<[Finding]>>);

/// Trying remedies on one sack.
struct Trials<'a> {
    context: &'a Context<'a>,
    /// What is found before.
    before: &'a [Finding],
    /// The sheet as it is.
    file: Value,
    /// What was found after the changes that were tried already: several findings are often cured by the same.
    made: RefCell<Vec<Made>>,
}

impl Trials<'_> {
    /// The remedy that makes the rule hold and breaks least else. Where every change of the sheet would stop the sack
    /// somewhere else, a remedy away from the sheet is preferred if the rule has one. Where nothing cures, the rule's first is told as what
    /// it asks for: something else has to give before.
    fn choose(&self, ill: &Finding, remedies: &[Remedy]) -> Option<Remedy> {
        if ill.severity == Severity::Good {
            return None;
        }
        let elsewhere = remedies.iter().find(|remedy| remedy.cure().set.is_empty());
        let changes = remedies.iter().filter(|remedy| !remedy.cure().set.is_empty());
        let best =
            changes.filter_map(|remedy| Some((self.harm(ill, remedy)?.count(), remedy))).min_by_key(|(harm, _)| *harm);
        match (best, elsewhere) {
            (Some(((1.., _), _)), Some(elsewhere)) | (None, Some(elsewhere)) => Some(elsewhere.clone()),
            (None, None) => {
                remedies.first().map(|first| Remedy::Tried(Cure { set: Vec::new(), ..first.cure().clone() }))
            }
            (Some((_, best)), _) => Some(best.clone()),
        }
    }

    /// Cures of several findings that set the same field in the same direction: each becomes the strictest of them that
    /// cures its finding too and breaks no more.
    fn agree(&self, judged: &[(Finding, Vec<Remedy>)], cures: &mut [Option<Remedy>]) {
        let chosen: Vec<Remedy> = cures.iter().flatten().cloned().collect();
        let mut moves: Vec<(&Remedy, Move)> =
            chosen.iter().filter_map(|remedy| Some((remedy, Move::of(remedy.cure(), &self.file)?))).collect();
        sort_short(&mut moves, |(_, a), (_, b)| a.by.abs() > b.by.abs());
        for ((ill, _), cure) in judged.iter().zip(cures) {
            if let Some(stricter) = cure.as_ref().and_then(|cure| self.stricter(ill, cure, &moves)) {
                *cure = Some(stricter);
            }
        }
    }

    /// The strictest of `moves` that moves the cure's field further and can stand in for it.
    fn stricter(&self, ill: &Finding, cure: &Remedy, moves: &[(&Remedy, Move)]) -> Option<Remedy> {
        // What the filled shape gave can't be tried with another value.
        let Remedy::Tried(own) = cure else { return None };
        let own = Move::of(own, &self.file)?;
        let mut others = moves.iter().filter(|(_, other)| other.outdoes(&own)).peekable();
        others.peek()?;
        let bearable = self.harm(ill, cure)?.count();
        let does = |other: &Cure| {
            let other = Remedy::Tried(other.clone());
            self.harm(ill, &other).filter(|harm| harm.count() <= bearable).map(|_| other)
        };
        others.find_map(|(other, _)| does(other.cure()))
    }

    /// What a remedy breaks elsewhere; `None` when it does not cure.
    fn harm(&self, ill: &Finding, remedy: &Remedy) -> Option<Harm> {
        let after = self.after(&remedy.cure().set)?;
        let same = |a: &Finding, b: &Finding| a.rule == b.rule && a.place == b.place;
        let cures = match remedy {
            Remedy::Tried(_) => after.iter().any(|now| same(now, ill) && now.severity == Severity::Good),
            Remedy::Computed(_) => true,
        };
        let is_new = |now: &Finding| !self.before.iter().any(|then| same(then, now) && then.severity <= now.severity);
        let worse = after.iter().filter(|now| now.severity != Severity::Good && is_new(now)).map(|now| Worse {
            rule: now.rule,
            place: now.place,
            severity: now.severity,
        });
        cures.then(|| Harm { worse: worse.collect() })
    }

    /// What is found of the sack after changes; `None` where they make no sheet.
    fn after(&self, changes: &[Change]) -> Option<Rc<[Finding]>> {
        let made = self.made.borrow().iter().find(|(of, _)| of == changes).map(|(_, after)| after.clone());
        made.unwrap_or_else(|| {
            let sheet = apply_to(self.file.clone(), changes).and_then(|file| Sheet::new(file).ok());
            let after = sheet.map(|sheet| {
                let sack = Sack::new(sheet);
                found(&Context { sack: &sack, ..*self.context }).into()
            });
            self.made.borrow_mut().push((changes.to_vec(), after.clone()));
            after
        })
    }
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

/// The findings that a remedy makes worse.
struct Harm {
    worse: Vec<Worse>,
}

impl Harm {
    /// How many of them stop, and how many call for a look.
    fn count(&self) -> (usize, usize) {
        let stops = self.worse.iter().filter(|worse| worse.severity == Severity::Stop).count();
        (stops, self.worse.len() - stops)
    }
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
    use crate::check::{Against, Habits, check, support};

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

        /// Cures of one field in one direction agree, unless the stricter one does not cure or breaks more.
        #[test]
        fn cures_of_one_field_agree(file in support::valid_sheet(), line in support::maybe_line()) {
            let (sack, habits) = (Sack::new(Sheet::new(file.clone()).unwrap()), Habits::default());
            let against = Against { line: line.as_ref(), ..Against::default() };
            let context = Context { sack: &sack, against, habits: &habits };
            let before = found(&context);
            let trials = Trials { context: &context, before: &before, file: file.to_tree(), made: RefCell::default() };
            let harm = |ill: &Finding, cure: &Cure| trials.harm(ill, &Remedy::Tried(cure.clone())).map(|harm| harm.count());
            let value = serde_json::to_value(&file).unwrap();
            let findings = check(&sack, line.as_ref());
            for a in &findings {
                for b in &findings {
                    let (Some(own), Some(other)) = (&a.cure, &b.cure) else { continue };
                    let (Some(by), Some(further)) = (Move::of(own, &value), Move::of(other, &value)) else { continue };
                    if further.outdoes(&by) {
                        let bearable = harm(a, own).unwrap();
                        prop_assert!(harm(a, other).is_none_or(|harm| harm > bearable), "{:?} {:?}", a, b);
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

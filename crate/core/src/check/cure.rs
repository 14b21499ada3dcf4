//! Trying remedies: only what cures is shown as a cure.

use std::cell::RefCell;
use std::rc::Rc;

use serde_json::Value;

use crate::check::barcode;
use crate::check::context::Context;
use crate::check::found;
use crate::check::rule::Remedy;
use crate::finding::{Change, Cure, Finding, Severity, Worse};
use crate::geom::sort_short;
use crate::sack::Sack;
use crate::sheet::{self, Sheet, SheetFile};
use crate::units::length;

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
        let Cure { message, mut set, .. } = remedy.cure().clone();
        let moved = trials.after(&set).and_then(|after| after.moved);
        set.extend(moved.into_iter().flat_map(barcode::place_changes));
        Some(Cure { message, set, worsens })
    };
    judged.iter().zip(cures).map(told).collect()
}

/// Changes of a sheet, and what comes of them; none where they make no sheet.
type Made = (Vec<Change>, Option<After>);

/// What comes of changes of the sheet.
#[derive(Clone)]
struct After {
    found: Rc<[Finding]>,
    /// Where the barcode goes along with them.
    moved: Option<[f64; 2]>,
}

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
        let stepped: Vec<Remedy> = remedies.iter().filter_map(|remedy| self.stepped(remedy)).collect();
        let changes = remedies.iter().chain(&stepped).filter(|remedy| !remedy.cure().set.is_empty());
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

    /// A remedy by the length, gone on to the next length of tube that the works makes.
    fn stepped(&self, remedy: &Remedy) -> Option<Remedy> {
        // What the filled shape gave can't be tried with another value.
        let Remedy::Tried(Cure { message, set, .. }) = remedy else { return None };
        let [Change { field, value }] = set.as_slice() else { return None };
        if field != "length_mm" {
            return None;
        }
        let tuber = &self.context.works().ok()?.tuber;
        let now = self.context.file().length_mm;
        let ends = self.context.sack.tube().length_mm - now;
        let is_on = |length: &f64| (length - value) * (value - now) > 0.0;
        let to = tuber.nearest_sack_lengths_mm(*value, ends)?.into_iter().find(is_on)?;
        let set = vec![Change { field: field.clone(), value: to }];
        Some(Remedy::Tried(Cure::new(message.clone().with("value", length(to)), set)))
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
        let after = self.after(&remedy.cure().set)?.found;
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

    /// What comes of changes of the sheet; `None` where they make none.
    fn after(&self, changes: &[Change]) -> Option<After> {
        let made = self.made.borrow().iter().find(|(of, _)| of == changes).map(|(_, after)| after.clone());
        made.unwrap_or_else(|| {
            let after = self.make(changes);
            self.made.borrow_mut().push((changes.to_vec(), after.clone()));
            after
        })
    }

    fn make(&self, changes: &[Change]) -> Option<After> {
        let mut file = apply_to(self.file.clone(), changes)?;
        let moved = barcode::along(self.context.file(), &file, self.context.habits.barcode_clear_mm);
        let barcode = file.artwork.as_mut().and_then(|artwork| artwork.barcode.as_mut());
        if let (Some(barcode), Some([x, y])) = (barcode, moved) {
            (barcode.offset_from_middle_mm, barcode.from_plain_end_mm) = (x, y);
        }
        let sack = Sack::new(Sheet::new(file).ok()?);
        Some(After { found: found(&Context { sack: &sack, ..*self.context }).into(), moved })
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
    use crate::cards::read_works;
    use crate::check::{Against, Habits, check, check_with, support};

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

    /// T = L + 120 + 20: of 799 mm at most, 659 mm of sack; of whole steps, 650.
    #[test]
    fn a_cure_by_the_length_goes_on_to_one_that_the_tuber_makes() {
        let file = SheetFile { length_mm: 700.0, ..support::plain_sheet() };
        let cured = |step: &str| {
            let tuber = format!(r#"{{"tube_length_mm":{{"max":799}}{step}}}"#);
            let card = format!(r#"{{"format":"sackwright-works/1","name":"w","tuber":{tuber}}}"#);
            let works = read_works(&card).unwrap();
            let against = Against { works: Some(&works), ..Against::default() };
            let found = check_with(&Sack::new(Sheet::new(file.clone()).unwrap()), &against).findings;
            found.into_iter().find(|finding| finding.rule == "works-tube-length").unwrap().cure.unwrap()
        };
        let length = |value| vec![Change { field: "length_mm".into(), value }];
        assert_eq!(cured("").set, length(659.0));
        let stepped = cured(r#","tube_length_step_mm":10"#);
        assert_eq!(stepped.set, length(650.0));
        assert_eq!(stepped.message.args.get("value"), Some(&crate::units::length(650.0).into()));
        assert_eq!(stepped.worsens, []);
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

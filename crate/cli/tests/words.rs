//! The words table has every key that the core says, with exactly its placeholders; and nothing that nobody says.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod support;

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

use proptest::option;
use proptest::strategy::{Strategy, ValueTree};
use proptest::test_runner::TestRunner;
use sackwright::cards::{read_line, read_pallet, read_works};
use sackwright::check::{Against, Habits, check_with, read_habits};
use sackwright::figures::{PasteHabits, figures};
use sackwright::finding::{Arg, Message};
use sackwright::pallet::stack;
use sackwright::sack::Sack;
use sackwright::sheet::Sheet;
use sackwright::sizing::{Order, read_order};
use serde_json::Value;
use support::root;

#[path = "../../core/tests/support/mod.rs"]
mod random;

/// The sections that findings, problems and figures are told with.
const SECTIONS: [&str; 8] = ["problem", "finding", "silent", "rule", "source", "certainty", "figure", "cure"];

/// Every key of the table with its text.
fn table() -> BTreeMap<String, String> {
    let text = fs::read_to_string(root().join("web/words/en.json")).unwrap();
    let mut keys = BTreeMap::new();
    flatten(&serde_json::from_str(&text).unwrap(), String::new(), &mut keys);
    keys
}

fn flatten(value: &Value, path: String, keys: &mut BTreeMap<String, String>) {
    match value {
        Value::Object(object) => {
            for (key, value) in object {
                let path = if path.is_empty() { key.clone() } else { format!("{path}.{key}") };
                flatten(value, path, keys);
            }
        }
        other => {
            keys.insert(path, other.as_str().expect("a table holds texts").to_string());
        }
    }
}

fn placeholders(text: &str) -> BTreeSet<String> {
    text.split('{').skip(1).filter_map(|rest| rest.split_once('}')).map(|(name, _)| name.to_string()).collect()
}

/// Holds a message against the table: the key is there, its placeholders are the arguments, its words are there.
fn hold(table: &BTreeMap<String, String>, message: &Message, seen: &mut BTreeSet<String>) {
    let text = table.get(&*message.key).unwrap_or_else(|| panic!("no words for {}", message.key));
    let args: BTreeSet<String> = message.args.iter().map(|(name, _)| name.to_owned()).collect();
    assert_eq!(placeholders(text), args, "{}: {text}", message.key);
    seen.insert(message.key.to_string());
    for (_, arg) in message.args.iter() {
        if let Arg::Word { key, .. } = arg {
            assert!(table.contains_key(key), "no word for {key}");
            seen.insert(key.clone());
        }
    }
}

/// Random sheets and lines, bad files: everything they make the core say.
fn said(table: &BTreeMap<String, String>) -> BTreeSet<String> {
    let mut seen = BTreeSet::new();
    let mut runner = TestRunner::deterministic();
    let cards = (random::maybe_line(), option::of(random::valid_works()), option::of(random::valid_pallet()));
    let filled = (random::maybe_filled(), option::of(random::filled_sack()));
    let strategy = (random::valid_sheet(), cards, filled);
    // Margins so wide that a face has no room for print, as no default has.
    let wide = Habits { print_side_mm: 500.0, ..Habits::default() };
    for index in 0..3000 {
        let (file, (line, works, pallet), (filled, sack)) = strategy.new_tree(&mut runner).unwrap().current();
        let stack = pallet.as_ref().zip(sack).map(|(pallet, sack)| stack(pallet, &sack));
        let against = Against {
            line: line.as_ref(),
            habits: (index % 8 == 0).then_some(&wide),
            filled: filled.as_ref(),
            works: works.as_ref(),
            pallet: pallet.as_ref(),
            stack: stack.as_ref(),
        };
        let checked = check_with(&Sack::new(Sheet::new(file).unwrap()), &against);
        for silent in checked.silent {
            hold(table, &silent.message, &mut seen);
        }
        for finding in checked.findings {
            hold(table, &finding.message, &mut seen);
            if let Some(cure) = &finding.cure {
                hold(table, &cure.message, &mut seen);
            }
            for key in [
                format!("rule.{}", finding.rule),
                finding.source.to_string(),
                format!("certainty.{}", finding.certainty.name()),
            ] {
                assert!(table.contains_key(&key), "no words for {key}");
                seen.insert(key);
            }
        }
    }
    let folder = root().join("tests/bad-input");
    let base = |name: &str| fs::read_to_string(folder.join(format!("base.{name}.json"))).unwrap();
    let cases: Value = serde_json::from_str(&fs::read_to_string(folder.join("cases.json")).unwrap()).unwrap();
    for case in cases["cases"].as_array().unwrap() {
        let of = case["of"].as_str().unwrap();
        let base = base(if of == "sheet" { "sack" } else { of });
        let make = &case["make"];
        let text = if let Some(replace) = make["replace"].as_array() {
            base.replace(replace[0].as_str().unwrap(), replace[1].as_str().unwrap())
        } else if let Some(repeat) = make["repeat"].as_array() {
            repeat[0].as_str().unwrap().repeat(usize::try_from(repeat[1].as_u64().unwrap()).unwrap())
        } else {
            make["text"].as_str().unwrap_or_default().to_string()
        };
        let problems = match of {
            "line" => read_line(&text).err(),
            "pallet" => read_pallet(&text).err(),
            "works" => read_works(&text).err(),
            "habits" => read_habits(&text).err(),
            "order" => read_order(&text).and_then(|file| Order::new(file).map(drop)).err(),
            _ => sackwright::sheet::read(&text).err(),
        };
        for problem in problems.into_iter().flatten() {
            hold(table, &problem.message, &mut seen);
        }
    }
    seen
}

/// Keys that stand in the sources of the core and of the command.
fn literals() -> BTreeSet<String> {
    let mut keys = BTreeSet::new();
    for folder in ["crate/core/src", "crate/cli/src"] {
        read_literals(&root().join(folder), &mut keys);
    }
    keys
}

fn read_literals(folder: &Path, keys: &mut BTreeSet<String>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            read_literals(&path, keys);
        } else {
            let text = fs::read_to_string(&path).unwrap();
            // Tests name keys that need no words.
            let code = text.split("#[cfg(test)]").next().unwrap_or_default();
            for literal in code.split('"') {
                let of_ours = SECTIONS.iter().any(|section| literal.starts_with(&format!("{section}.")));
                if of_ours && literal.chars().all(|c| c.is_ascii_alphanumeric() || "._-".contains(c)) {
                    keys.insert(literal.to_string());
                }
            }
        }
    }
}

#[test]
fn everything_the_core_says_has_words_with_its_placeholders() {
    let table = table();
    let said = said(&table);
    for key in literals() {
        assert!(table.contains_key(&key), "no words for {key}");
    }
    // Random sheets and bad files reach every finding and every cure: none is hidden from the placeholders' check.
    let findings = |key: &&String| key.starts_with("finding.") || key.starts_with("cure.");
    let silent: Vec<&String> = table.keys().filter(findings).filter(|key| !said.contains(*key)).collect();
    assert!(silent.is_empty(), "never said: {silent:?}");
}

#[test]
fn nothing_stands_in_the_table_that_nobody_says() {
    let table = table();
    let mut known = said(&table);
    known.extend(literals());
    // Made from the name of the JSON type that is wanted.
    known.extend(
        ["object", "array", "number", "integer", "boolean", "string"].map(|name| format!("problem.type.{name}")),
    );
    known.extend(figure_keys());
    let ours = |key: &&String| SECTIONS.iter().any(|section| key.starts_with(&format!("{section}.")));
    let stray: Vec<&String> = table.keys().filter(ours).filter(|key| !known.contains(*key)).collect();
    assert!(stray.is_empty(), "never said: {stray:?}");
}

fn figure_keys() -> BTreeSet<String> {
    let sack = Sack::new(Sheet::new(random::plain_sheet()).unwrap());
    let value = serde_json::to_value(figures(&sack, None, &PasteHabits::default())).unwrap();
    let mut keys = BTreeSet::new();
    collect_keys(&value, &mut keys);
    keys
}

fn collect_keys(value: &Value, keys: &mut BTreeSet<String>) {
    match value {
        Value::Object(object) => {
            for (key, value) in object {
                keys.insert(format!("figure.{key}"));
                collect_keys(value, keys);
            }
        }
        Value::Array(items) => items.iter().for_each(|item| collect_keys(item, keys)),
        _ => {}
    }
}

#[test]
fn every_figure_has_a_label() {
    let table = table();
    for key in figure_keys() {
        assert!(table.contains_key(&key), "no words for {key}");
    }
}

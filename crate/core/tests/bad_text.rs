//! Whatever a file holds, reading it ends in a sack or in problems that name what is wrong; nothing panics, and what
//! was taken goes through figures and checks without a number that is none.

#![allow(clippy::unwrap_used, clippy::expect_used)]

mod support;

use proptest::prelude::*;
use sackwright::cards::{read_line, read_pallet, read_works};
use sackwright::check::check;
use sackwright::figures::{PasteHabits, figures};
use sackwright::finding::Problem;
use sackwright::sack::Sack;
use sackwright::sizing::{Order, read_order};
use serde_json::Value;

const SHEET: &str = include_str!("../../../tests/bad-input/base.sack.json");
const LINE: &str = include_str!("../../../tests/bad-input/base.line.json");
const PALLET: &str = include_str!("../../../tests/bad-input/base.pallet.json");
const ORDER: &str = include_str!("../../../tests/bad-input/base.order.json");
const WORKS: &str = include_str!("../../../tests/bad-input/base.works.json");

/// Texts that are hard on a reader of JSON.
const HARD: [&str; 24] = [
    "NaN",
    "-Infinity",
    "1e999",
    "-1e999",
    "1e308",
    "5e-324",
    "-0.0",
    "0",
    "-1",
    "null",
    "true",
    "[]",
    "{}",
    "\"\"",
    "\"\\u0000\"",
    "\"\\ud800\"",
    "\u{feff}",
    "\u{0}",
    ",",
    ":",
    "}",
    "[[[[",
    "{\"a\":",
    "99999999999999999999",
];

/// A piece of the text replaced by another.
fn mutated(text: &'static str) -> impl Strategy<Value = String> {
    let with = prop_oneof![
        prop::sample::select(&HARD[..]).prop_map(str::to_string),
        "[ -~]{0,12}",
        any::<f64>().prop_map(|number| number.to_string()),
    ];
    (0..=text.len(), 0..24_usize, with).prop_map(move |(from, length, with)| {
        // The base files are ASCII: every byte is a character.
        let to = (from + length).min(text.len());
        format!("{}{with}{}", &text[..from], &text[to..])
    })
}

/// A number of the sheet replaced by another, so that the text stays JSON.
fn other_number() -> impl Strategy<Value = String> {
    let numbers =
        prop_oneof![any::<f64>(), -3000.0..3000.0, 0.0..200.0_f64].prop_filter("JSON has no others", |n| n.is_finite());
    (any::<prop::sample::Index>(), numbers).prop_map(|(index, number)| {
        let mut sheet: Value = serde_json::from_str(SHEET).unwrap();
        let mut paths = Vec::new();
        numbers_of(&sheet, String::new(), &mut paths);
        *sheet.pointer_mut(&paths[index.index(paths.len())]).unwrap() = Value::from(number);
        sheet.to_string()
    })
}

fn numbers_of(value: &Value, path: String, paths: &mut Vec<String>) {
    match value {
        Value::Number(_) => paths.push(path),
        Value::Array(items) => {
            items.iter().enumerate().for_each(|(i, item)| numbers_of(item, format!("{path}/{i}"), paths))
        }
        Value::Object(object) => object.iter().for_each(|(key, item)| numbers_of(item, format!("{path}/{key}"), paths)),
        _ => {}
    }
}

fn told(problems: &[Problem]) -> bool {
    !problems.is_empty() && problems.iter().all(|problem| problem.message.key.starts_with("problem."))
}

fn sound(sack: &Sack) -> bool {
    // serde_json writes a number that is none as null; only a missing line's fit may be null.
    let figures = serde_json::to_value(figures(sack, None, &PasteHabits::default())).unwrap();
    let text = figures.to_string().replace("\"spout_fit\":null", "");
    check(sack, None).iter().all(|finding| finding.value.is_none_or(|quantity| quantity.value.is_finite()))
        && !text.contains("null")
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(3000))]

    #[test]
    fn a_mutated_sheet_is_read_or_refused(text in mutated(SHEET)) {
        match Sack::read(&text) {
            Ok(sack) => prop_assert!(sound(&sack)),
            Err(problems) => prop_assert!(told(&problems)),
        }
    }

    #[test]
    fn a_mutated_card_is_read_or_refused(text in mutated(LINE)) {
        match read_line(&text) {
            Ok(line) => prop_assert!(line.spout_girth_mm().is_finite()),
            Err(problems) => prop_assert!(told(&problems)),
        }
    }

    #[test]
    fn a_mutated_pallet_is_read_or_refused(text in mutated(PALLET)) {
        match read_pallet(&text) {
            Ok(pallet) => prop_assert!(pallet.layer_room_mm().iter().all(|side| side.is_finite() && *side > 0.0)),
            Err(problems) => prop_assert!(told(&problems)),
        }
    }

    #[test]
    fn a_mutated_works_is_read_or_refused(text in mutated(WORKS)) {
        match read_works(&text) {
            Ok(works) => prop_assert!(works.gross_factor() >= 1.0),
            Err(problems) => prop_assert!(told(&problems)),
        }
    }

    #[test]
    fn a_mutated_order_is_read_or_refused(text in mutated(ORDER)) {
        match read_order(&text).and_then(Order::new) {
            Ok(order) => prop_assert!(order.candidates() > 0),
            Err(problems) => prop_assert!(told(&problems)),
        }
    }

    #[test]
    fn a_sheet_with_another_number_is_taken_whole_or_refused(text in other_number()) {
        match Sack::read(&text) {
            Ok(sack) => prop_assert!(sound(&sack)),
            Err(problems) => {
                prop_assert!(told(&problems));
                prop_assert!(problems.iter().all(|problem| !problem.field.is_empty()), "{:?}", problems);
            }
        }
    }
}

//! Bad files, one case each from tests/bad-input: exit code 2, nothing on stdout, and a line on stderr that names file,
//! line, field and value. The core, asked directly, gives the same problem.

#![allow(clippy::unwrap_used, clippy::expect_used)]

mod support;

use sackwright::cards::{read_line, read_pallet, read_works};
use sackwright::check::read_habits;
use sackwright::file::locate;
use sackwright::finding::Problem;
use sackwright::sizing::{Order, read_order};
use serde::Deserialize;
use support::{Folder, example, root};

#[derive(Deserialize)]
struct Table {
    cases: Vec<Case>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Case {
    name: String,
    of: Of,
    make: Make,
    problem: String,
    field: String,
    /// Not compared when `None`.
    value: Option<String>,
    /// Not compared when `None`.
    line: Option<usize>,
}

#[derive(Clone, Copy, Deserialize, PartialEq)]
#[serde(rename_all = "lowercase")]
enum Of {
    Sheet,
    Line,
    Pallet,
    Works,
    Order,
    Habits,
}

impl Of {
    const fn base(self) -> &'static str {
        match self {
            Self::Sheet => "base.sack.json",
            Self::Line => "base.line.json",
            Self::Pallet => "base.pallet.json",
            Self::Works => "base.works.json",
            Self::Order => "base.order.json",
            Self::Habits => "base.habits.json",
        }
    }

    fn problems(self, text: &str) -> Option<Vec<Problem>> {
        match self {
            Self::Sheet => sackwright::sheet::read(text).err(),
            Self::Line => read_line(text).err(),
            Self::Pallet => read_pallet(text).err(),
            Self::Works => read_works(text).err(),
            Self::Habits => read_habits(text).err(),
            Self::Order => read_order(text)
                .and_then(|file| {
                    Order::new(file).map(drop).map_err(|mut problems| {
                        locate(text, &mut problems);
                        problems
                    })
                })
                .err(),
        }
    }
}

#[derive(Deserialize)]
#[serde(rename_all = "snake_case")]
enum Make {
    Text(String),
    Replace(String, String),
    KeepBytes(usize),
    BytesAt(usize, Vec<u8>),
    Repeat(String, usize),
    ReplaceLong(String, String, usize),
}

impl Case {
    fn bytes(&self) -> Vec<u8> {
        let base = root().join("tests/bad-input").join(self.of.base());
        let base = std::fs::read_to_string(base).unwrap();
        let replace = |from: &str, to: &str| {
            assert_eq!(base.matches(from).count(), 1, "{}: {from} should stand once", self.name);
            base.replace(from, to).into_bytes()
        };
        match &self.make {
            Make::Text(text) => text.clone().into_bytes(),
            Make::Replace(from, to) => replace(from, to),
            Make::KeepBytes(count) => base.as_bytes()[..*count].to_vec(),
            Make::BytesAt(at, over) => {
                let mut bytes = base.into_bytes();
                bytes[*at..*at + over.len()].copy_from_slice(over);
                bytes
            }
            Make::Repeat(text, times) => text.repeat(*times).into_bytes(),
            Make::ReplaceLong(from, text, times) => replace(from, &format!("\"{}\"", text.repeat(*times))),
        }
    }

    /// What the core says; `None` for bytes that are no text.
    fn problems(&self, bytes: &[u8]) -> Option<Vec<Problem>> {
        let text = std::str::from_utf8(bytes).ok()?;
        Some(self.of.problems(text).unwrap_or_default())
    }

    fn is_met_by(&self, problem: &Problem) -> bool {
        problem.message.key == self.problem
            && problem.field == self.field
            && self.value.as_ref().is_none_or(|value| problem.value == *value)
            && (self.line.is_none() || problem.line == self.line)
    }
}

fn cases() -> Vec<Case> {
    let text = std::fs::read_to_string(root().join("tests/bad-input/cases.json")).unwrap();
    serde_json::from_str::<Table>(&text).unwrap().cases
}

#[test]
fn the_base_files_themselves_are_good() {
    for of in [Of::Sheet, Of::Line, Of::Pallet, Of::Works, Of::Order, Of::Habits] {
        let text = std::fs::read_to_string(root().join("tests/bad-input").join(of.base())).unwrap();
        assert_eq!(of.problems(&text), None, "{}", of.base());
    }
}

#[test]
fn the_core_names_what_is_wrong() {
    for case in cases() {
        let Some(problems) = case.problems(&case.bytes()) else {
            assert_eq!(case.problem, "problem.not_utf8", "{}", case.name);
            continue;
        };
        assert!(problems.iter().any(|problem| case.is_met_by(problem)), "{}: {problems:#?}", case.name);
    }
}

#[test]
fn the_command_says_so_and_exits_with_2() {
    let folder = Folder::new();
    let good = example("sacks/bread-flour-25-kg.sack.json");
    for case in cases() {
        folder.write("bad.json", case.bytes());
        let card =
            |option: &str| folder.run(["check".as_ref(), good.as_os_str(), option.as_ref(), "bad.json".as_ref()]);
        let runs = match case.of {
            Of::Sheet => vec![
                folder.run(["check", "bad.json"]),
                folder.run(["figures", "bad.json"]),
                folder.run(["pose", "bad.json", "--stage", "tube", "--at", "0"]),
                folder.run(["model", "bad.json", "--stage", "tube", "--at", "0", "--to", "out.stl"]),
            ],
            Of::Line => vec![
                card("--line"),
                folder.run(["figures".as_ref(), good.as_os_str(), "--line".as_ref(), "bad.json".as_ref()]),
            ],
            Of::Pallet => vec![card("--pallet")],
            Of::Works => vec![card("--works")],
            Of::Habits => vec![card("--habits")],
            Of::Order => vec![folder.run(["size", "bad.json"])],
        };
        let field: String = case.field.chars().flat_map(spelt_out).collect();
        for run in runs {
            assert_eq!(run.code, Some(2), "{}: {run:?}", case.name);
            assert_eq!(run.out, "", "{}", case.name);
            let told = run.err.lines().any(|line| {
                line.starts_with("bad.json")
                    && line.contains(&field)
                    && case.value.as_ref().is_none_or(|value| line.contains(value))
                    && case.line.is_none_or(|number| line.starts_with(&format!("bad.json, line {number}: ")))
            });
            assert!(told, "{}: {}", case.name, run.err);
            assert!(!run.err.contains("problem."), "{}: a key without words: {}", case.name, run.err);
            assert!(!run.err.contains('\u{1b}'), "{}: a control character reached the terminal", case.name);
        }
        assert_eq!(folder.names(), ["bad.json"], "{}: a partial file", case.name);
    }
}

fn spelt_out(character: char) -> Vec<char> {
    if character.is_control() { character.escape_default().collect() } else { vec![character] }
}

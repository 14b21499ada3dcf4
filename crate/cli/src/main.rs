//! The `sackwright` command: figures, checks, fillings, poses, drawings and models of a paper sack, by the same core as
//! the page.
//!
//! It exits with 0, with 1 when a check says stop, and with 2 when a file can't be read or written or the arguments are
//! wrong. What went wrong goes to stderr: file, line, field, value, and what would do.

mod args;
mod files;
mod model;
mod report;
mod words;

use std::io::{ErrorKind, Write, stdout};
use std::ops::ControlFlow;
use std::path::Path;
use std::process::ExitCode;

use clap::Parser;
use sackwright::cards::{Line, Pallet};
use sackwright::check::{Against, Habits, check_with};
use sackwright::drawing::{self, Given, draw};
use sackwright::export::{csv, dxf, svg};
use sackwright::figures::{PasteHabits, figures};
use sackwright::fill::{Detail, Filled, Settings, Solver, StudySettings, study};
use sackwright::finding::{Finding, Message, Severity, Silent};
use sackwright::fold::{PanelPose, panels};
use sackwright::pallet::{Stack, loaded, stack};
use sackwright::sack::Sack;
use sackwright::sizing::Sizing;
use serde::Serialize;

use crate::args::{Args, Command};
use crate::files::{read_habits, read_line, read_order, read_pallet, read_sack, read_works, write_whole};
use crate::words::Words;

/// A file can't be read or written, or the arguments are wrong.
const UNUSABLE: u8 = 2;
/// A finding says stop.
const STOPPED: u8 = 1;

fn main() -> ExitCode {
    // Writes its own message and exits with 2 when the arguments are wrong.
    let args = Args::parse();
    let words = match Words::load() {
        Ok(words) => words,
        Err(error) => return fail(&error),
    };
    match run(&args.command, &words) {
        Ok(code) => code,
        Err(text) => fail(&text),
    }
}

fn fail(text: &str) -> ExitCode {
    // Nobody is left to tell when stderr is closed.
    let _ = writeln!(std::io::stderr(), "{}", text.trim_end());
    ExitCode::from(UNUSABLE)
}

fn run(command: &Command, words: &Words) -> Result<ExitCode, String> {
    match command {
        Command::Figures { sheet, line, csv, to } => {
            let (sack, line) = read_both(words, sheet, line.as_deref())?;
            let figures = figures(&sack, line.as_ref(), &PasteHabits::default());
            match to {
                Some(to) => write_whole(to, table(&figures)?.as_bytes()).map(|()| ExitCode::SUCCESS),
                None if *csv => print(&table(&figures)?).map(|()| ExitCode::SUCCESS),
                None => print_json(&figures),
            }
        }
        Command::Check { sheet, line, works, pallet, habits, json } => {
            let (sack, line) = read_both(words, sheet, line.as_deref())?;
            let works = works.as_deref().map(|path| read_works(words, path)).transpose()?;
            let pallet = pallet.as_deref().map(|path| read_pallet(words, path)).transpose()?;
            let habits = habits.as_deref().map(|path| read_habits(words, path)).transpose()?.unwrap_or_default();
            let filled = filled(&sack, &habits);
            let stack = pallet.as_ref().and_then(|pallet| stacked(&sack, pallet));
            let against = Against {
                line: line.as_ref(),
                habits: Some(&habits),
                filled: filled.as_ref(),
                works: works.as_ref(),
                pallet: pallet.as_ref(),
                stack: stack.as_ref(),
            };
            let checked = check_with(&sack, &against);
            if *json {
                let (findings, silent) = (&checked.findings, &checked.silent);
                print_json(&Findings { findings, silent, pallet: stack.as_ref() })?;
            } else {
                print(&report::table(words, &checked))?;
            }
            let stopped = checked.findings.iter().any(|finding| finding.severity == Severity::Stop);
            Ok(if stopped { ExitCode::from(STOPPED) } else { ExitCode::SUCCESS })
        }
        Command::Fill { sheet, bottoms, filling } => {
            let sack = read_sack(words, sheet)?;
            let mut solver = Solver::new(&sack, Settings::default());
            let figures = solver.figures(&sack, *bottoms, filling.filling(), &mut |_| ControlFlow::Continue(()));
            print_json(&figures.map_err(|error| told(sheet, &report::unfilled(&filling.given(), &error)))?)
        }
        Command::Pose { sheet, pose, thickness: _ } => {
            let sack = read_sack(words, sheet)?;
            print_json(&Panels { panels: panels(&sack, &pose.pose()?) })
        }
        Command::Draw { sheet, drawing: args } => {
            let (sack, line) = read_both(words, sheet, args.line.as_deref())?;
            let habits = args.habits.as_deref().map(|path| read_habits(words, path)).transpose()?;
            let words = words.clone().lengths_in(args.unit);
            let (message, number) = (|message: &Message| words.message(message), |value: f64| words.bare_length(value));
            let words = drawing::Words { message: &message, number: &number };
            let given = Given {
                line: line.as_ref(),
                habits: habits.as_ref(),
                date: &args.date,
                revision: &args.revision,
                unit: args.unit,
                ..Given::default()
            };
            let drawing = draw(&sack, args.what, &given, &words);
            let text = if args.is_dxf() { dxf(&drawing, &words) } else { svg(&drawing, &words) };
            write_whole(&args.to, text.as_bytes())?;
            Ok(ExitCode::SUCCESS)
        }
        Command::Size { order, rows, confirm, json } => {
            let mut sizing = Sizing::new(read_order(words, order)?, *confirm, Detail::Finest);
            sizing.screen(usize::MAX);
            // Nobody breaks off, so it ends when the best are confirmed.
            while sizing.confirm_next(&mut |_| ControlFlow::Continue(())).unwrap_or(false) {}
            let mut table = sizing.table();
            table.rows.truncate(*rows);
            if *json { print_json(&table) } else { print(&report::sizes(words, &table)).map(|()| ExitCode::SUCCESS) }
        }
        Command::Model { sheet, model } => {
            let wanted = model.model()?;
            let sack = read_sack(words, sheet)?;
            let bytes = model::bytes(&sack, &wanted).map_err(|error| told(sheet, &error))?;
            write_whole(&model.to, &bytes)?;
            Ok(ExitCode::SUCCESS)
        }
    }
}

#[derive(Serialize)]
struct Findings<'a> {
    findings: &'a [Finding],
    silent: &'a [Silent],
    #[serde(skip_serializing_if = "Option::is_none")]
    pallet: Option<&'a Stack>,
}

#[derive(Serialize)]
struct Panels {
    panels: Vec<PanelPose>,
}

/// What is wrong with a sheet's sack, with the file's name.
fn told(sheet: &Path, error: &str) -> String {
    format!("{}: {error}", sheet.display())
}

/// The filled sacks on a pallet; `None` when the sheet's contents can't be filled in.
fn stacked(sack: &Sack, pallet: &Pallet) -> Option<Stack> {
    let mut solver = Solver::new(sack, Settings::default());
    let sack = loaded(&mut solver, sack, &mut |_| ControlFlow::Continue(())).ok()??;
    Some(stack(pallet, &sack))
}

/// The sack filled with its contents, for the checks; `None` when the sheet has none.
fn filled(sack: &Sack, habits: &Habits) -> Option<Filled> {
    sack.file().contents.as_ref()?;
    let settings = StudySettings { headroom: habits.headroom(), ..StudySettings::default() };
    let mut solver = Solver::new(sack, Settings::default());
    study(&mut solver, sack, &settings, &mut |_| ControlFlow::Continue(())).ok()
}

/// Figures as comma-separated values.
fn table(figures: &impl Serialize) -> Result<String, String> {
    csv(figures).map_err(|error| format!("sackwright: no table: {error}"))
}

/// Reads sheet and card; the faults of both are told together.
fn read_both(words: &Words, sheet: &Path, line: Option<&Path>) -> Result<(Sack, Option<Line>), String> {
    let sack = read_sack(words, sheet);
    let line = line.map(|path| read_line(words, path)).transpose();
    match (sack, line) {
        (Ok(sack), Ok(line)) => Ok((sack, line)),
        (Err(sack), Err(line)) => Err(sack + &line),
        (Err(text), _) | (_, Err(text)) => Err(text),
    }
}

fn print_json(value: &impl Serialize) -> Result<ExitCode, String> {
    let text = serde_json::to_string_pretty(value).map_err(|error| format!("sackwright: no JSON: {error}"))?;
    print(&(text + "\n"))?;
    Ok(ExitCode::SUCCESS)
}

fn print(text: &str) -> Result<(), String> {
    let mut out = stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        // Whoever read us, like `head`, has had enough.
        Err(error) if error.kind() == ErrorKind::BrokenPipe => Ok(()),
        other => other.map_err(|error| format!("stdout can't be written: {error}")),
    }
}

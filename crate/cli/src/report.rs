//! Problems and findings as lines of text.

use std::path::Path;

use sackwright::check::Checked;
use sackwright::fill::{EMPTIEST, FULLEST, FillError};
use sackwright::finding::{Finding, Message, Problem, Severity, Silent, Worse};

use crate::words::Words;

/// Every problem of a file on a line of its own: file, line, field, value, what is wrong and what would do.
pub fn problems(words: &Words, path: &Path, problems: &[Problem]) -> String {
    problems.iter().map(|problem| line(words, path, problem)).collect()
}

fn line(words: &Words, path: &Path, problem: &Problem) -> String {
    let mut text = plain(&path.display().to_string());
    if let Some(line) = problem.line {
        text += &format!(", line {line}");
    }
    if !problem.field.is_empty() {
        text += &format!(": {}", plain(&problem.field));
    }
    if !problem.value.is_empty() {
        let sign = if problem.field.is_empty() { ':' } else { '=' };
        text += &format!(" {sign} {}", plain(&problem.value));
    }
    format!("{text}: {}\n", plain(&words.message(&problem.message)))
}

/// Why a sack can't be filled as given, and what would do.
pub fn unfilled(given: &str, error: &FillError) -> String {
    match error {
        FillError::Volume { volume_l, capacity_l } => {
            // Rounded inwards, so that what is offered does.
            let (least, most) =
                ((capacity_l * EMPTIEST * 10.0).ceil() / 10.0, (capacity_l * FULLEST * 10.0).floor() / 10.0);
            format!(
                "{given}: {volume_l:.1} l; the sack holds {capacity_l:.1} l, and {least:.1} to {most:.1} l would do"
            )
        }
        FillError::NoContents => {
            format!("{given}: the sheet has no contents; contents, --volume-l or --ratio would do")
        }
        FillError::BottomsStandOut { .. } | FillError::Saddle { .. } | FillError::Sizes | FillError::Cancelled => {
            format!("{given}: no filled shape")
        }
    }
}

/// Findings as a table, worst first, with a count at its foot; then what was not judged, and why.
pub fn table(words: &Words, Checked { findings, silent }: &Checked) -> String {
    let rows: String = findings.iter().map(|finding| row(words, finding)).collect();
    let count = |severity| findings.iter().filter(|finding| finding.severity == severity).count();
    let [stop, look, good] = [Severity::Stop, Severity::Look, Severity::Good].map(count);
    format!("{rows}\n{stop} stop, {look} look, {good} good\n{}", not_judged(words, silent))
}

/// The silent rules, those with the same reason together.
fn not_judged(words: &Words, silent: &[Silent]) -> String {
    let mut reasons: Vec<(&Message, Vec<String>)> = Vec::new();
    for Silent { rule, message, .. } in silent {
        let name = words.text(&format!("rule.{rule}"));
        match reasons.iter_mut().find(|(reason, _)| *reason == message) {
            Some((_, names)) => names.push(name),
            None => reasons.push((message, vec![name])),
        }
    }
    if reasons.is_empty() {
        return String::new();
    }
    let lines =
        reasons.iter().map(|(reason, names)| format!("  {}\n{:25}{}\n", words.message(reason), "", names.join(", ")));
    let count = words.text("page.findings.silent").replace("{count}", &silent.len().to_string());
    format!("\n{count}\n{}", lines.collect::<String>())
}

const fn name(severity: Severity) -> &'static str {
    match severity {
        Severity::Stop => "stop",
        Severity::Look => "look",
        Severity::Good => "good",
    }
}

fn row(words: &Words, finding: &Finding) -> String {
    let severity = name(finding.severity);
    let rule = words.text(&format!("rule.{}", finding.rule));
    let mut row = format!("{severity}  {:<18} {rule}: {}\n", finding.place.name(), words.message(&finding.message));
    let mut more = |text: &str| row += &format!("{:25}{text}\n", "");
    if finding.severity != Severity::Good {
        let certainty = words.text(&format!("certainty.{}", finding.certainty.name()));
        more(&format!("{} {certainty}", words.text(finding.source)));
    }
    if let Some(cure) = &finding.cure {
        more(&format!("-> {}", words.message(&cure.message)));
        for change in &cure.set {
            more(&format!("   {} = {}", change.field, change.value));
        }
        for Worse { rule, place, severity } in &cure.worsens {
            let rule = words.text(&format!("rule.{rule}"));
            more(&format!("   then: {}  {}  {rule}", name(*severity), place.name()));
        }
    }
    row
}

/// Text of a file as a terminal can bear it: control characters spelt out.
fn plain(text: &str) -> String {
    let mut plain = String::with_capacity(text.len());
    for character in text.chars() {
        if character.is_control() {
            plain.extend(character.escape_default());
        } else {
            plain.push(character);
        }
    }
    plain
}

#[cfg(test)]
mod tests {
    use super::*;
    use sackwright::finding::Message;

    #[test]
    fn a_problem_names_file_line_field_value_and_what_would_do() {
        let words = Words::load().unwrap();
        let problem = Problem {
            field: "cut.kind".into(),
            value: "\"torn\"".into(),
            line: Some(7),
            message: Message::new("problem.not_one_of")
                .with("choices", sackwright::finding::Arg::text("stepped, flush")),
        };
        let text = problems(&words, Path::new("a.sack.json"), &[problem]);
        assert!(text.starts_with("a.sack.json, line 7: cut.kind = \"torn\": "), "{text}");
        assert!(text.contains("stepped, flush"), "{text}");
    }

    #[test]
    fn control_characters_do_not_reach_the_terminal() {
        assert_eq!(plain("a\u{1b}[31m\nb"), "a\\u{1b}[31m\\nb");
    }
}

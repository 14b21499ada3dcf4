//! Problems and findings as lines of text.

use std::path::Path;

use sackwright::check::Checked;
use sackwright::fill::{EMPTIEST, FULLEST, FillError};
use sackwright::finding::{Finding, Message, Problem, Severity, Silent, Worse};
use sackwright::sizing::{OnPallet, Row, Table};

use crate::words::{Words, number};

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

/// Candidate sizes as a table, with what was left out at its foot.
pub fn sizes(words: &Words, table: &Table) -> String {
    const COLUMNS: [&str; 9] =
        ["rank", "size", "paper", "capacity", "headroom", "pallet", "product", "findings", "marks"];
    let text = |key: &str| words.text(&format!("size.{key}"));
    let mut lines = vec![COLUMNS.map(|column| text(&format!("column.{column}")))];
    lines.extend(table.rows.iter().map(|row| cells(words, row)));
    let width = |column: usize| lines.iter().map(|line| line[column].chars().count()).max().unwrap_or(0);
    let widths = [0, 1, 2, 3, 4, 5, 6, 7, 8].map(width);
    let rows: String = lines.iter().map(|line| aligned(line, widths)).collect();
    let (out, progress) = (table.left_out, table.progress);
    let foot = [
        ("screened", progress.screened),
        ("kept", progress.kept),
        ("too_small", out.too_small),
        ("too_large", out.too_large),
        ("not_a_sack", out.not_a_sack),
        ("not_estimated", out.not_estimated),
    ];
    let foot = foot.map(|(key, count)| text(key).replace("{count}", &count.to_string())).join(", ");
    let error = text("error").replace("{capacity}", &number(100.0 * table.capacity_error, 1));
    let error = error.replace("{pressed}", &number(100.0 * table.pressed_error, 1));
    let error = error.replace("{limp}", &number(100.0 * table.limp_error, 1));
    format!("{rows}\n{foot}\n{error}\n")
}

fn cells(words: &Words, row: &Row) -> [String; 9] {
    let on_pallet = |told: &dyn Fn(&OnPallet) -> String| row.on_pallet.as_ref().map_or("-".into(), told);
    let mark = |is: bool, key: &str| is.then(|| words.text(&format!("size.{key}")));
    [
        row.rank.to_string(),
        [row.face_width_mm, row.length_mm, row.bottom_width_mm].map(|length| number(length, 1)).join(" x "),
        number(row.paper_g, 1),
        number(row.capacity_l, 1),
        number(100.0 * row.headroom, 1),
        on_pallet(&|on| format!("{} x {} = {}", on.sacks_per_layer, on.layers, on.sacks)),
        on_pallet(&|on| number(on.product_kg, 0)),
        format!("{} / {}", row.findings.stop, row.findings.look),
        [mark(row.on_front, "front"), mark(row.confirmed, "confirmed")]
            .into_iter()
            .flatten()
            .collect::<Vec<_>>()
            .join(", "),
    ]
}

/// Columns of numbers end alike, the last one begins alike.
fn aligned(line: &[String; 9], widths: [usize; 9]) -> String {
    let cells = line
        .iter()
        .zip(widths)
        .enumerate()
        .map(|(column, (cell, width))| if column == 8 { cell.clone() } else { format!("{cell:>width$}") });
    cells.collect::<Vec<_>>().join("  ").trim_end().to_owned() + "\n"
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

//! `sackwright draw`: every drawing of every example is written in both formats, in words, and reads back.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod support;

use std::fs;

use support::{Folder, example, examples};

const DRAWINGS: [&str; 6] = ["sack", "valve-bottom", "plain-bottom", "lap", "webs", "artwork"];

fn line() -> String {
    example("lines/harbour-mill-air-packer.line.json").display().to_string()
}

/// Tags that are opened and never closed, or closed and never opened.
fn unbalanced(svg: &str) -> Vec<String> {
    let mut open: Vec<&str> = Vec::new();
    for tag in svg.split('<').skip(1).map(|rest| rest.split('>').next().unwrap()) {
        let name = tag.split([' ', '/']).find(|part| !part.is_empty()).unwrap();
        if tag.starts_with('/') {
            if open.pop() != Some(name) {
                return vec![format!("</{name}>")];
            }
        } else if !tag.ends_with('/') {
            open.push(name);
        }
    }
    open.into_iter().map(str::to_owned).collect()
}

#[test]
fn every_drawing_of_every_example_is_written_in_words() {
    let folder = Folder::new();
    for sheet in examples("sacks") {
        let sheet = sheet.display().to_string();
        for what in DRAWINGS {
            let run =
                folder.run(["draw", &sheet, "--what", what, "--to", "a.svg", "--line", &line(), "--date", "today"]);
            assert_eq!((run.code, run.err.as_str(), run.out.as_str()), (Some(0), "", ""), "{sheet} {what}");
            let svg = fs::read_to_string(folder.path("a.svg")).unwrap();
            assert!(!svg.contains("drawing."), "a key without words in {sheet} {what}");
            assert!(svg.contains(">today</text>") && svg.contains("mm\" viewBox=\"0 0 "), "{sheet} {what}");
            assert_eq!(unbalanced(&svg), [""; 0], "{sheet} {what}");
            let run = folder.run(["draw", &sheet, "--what", what, "--to", "a.DXF"]);
            assert_eq!((run.code, run.err.as_str()), (Some(0), ""), "{sheet} {what}");
            let dxf = fs::read_to_string(folder.path("a.DXF")).unwrap();
            assert!(dxf.is_ascii() && dxf.ends_with("\n0\nEOF\n") && dxf.contains("\n$INSUNITS\n70\n4\n"));
        }
    }
    assert_eq!(folder.names(), ["a.DXF", "a.svg"]);
}

#[test]
fn a_name_can_t_break_a_drawing() {
    let folder = Folder::new();
    let sheet = fs::read_to_string(example("sacks/bread-flour-25-kg.sack.json")).unwrap();
    let name = r#"</text> & \"x\" \u0001 \ud83d\ude00 \u00e9 %%d ^"#;
    let renamed = sheet.replacen("Bread flour 25 kg, stepped, internal sleeve", name, 1);
    assert_ne!(sheet, renamed);
    folder.write("odd.sack.json", renamed);
    for to in ["a.svg", "a.dxf"] {
        let run = folder.run(["draw", "odd.sack.json", "--what", "sack", "--to", to]);
        assert_eq!((run.code, run.err.as_str()), (Some(0), ""));
    }
    let svg = fs::read_to_string(folder.path("a.svg")).unwrap();
    assert_eq!(unbalanced(&svg), [""; 0]);
    assert!(!svg.contains('\u{1}') && svg.contains("&lt;/text&gt; &amp; &quot;x&quot;"));
    let dxf = fs::read_to_string(folder.path("a.dxf")).unwrap();
    assert!(dxf.is_ascii() && dxf.contains("\\U+00E9 % %d ^ "));
}

#[test]
fn the_spout_is_drawn_when_there_is_a_line() {
    let folder = Folder::new();
    let sheet = example("sacks/bread-flour-25-kg.sack.json").display().to_string();
    let draw = |more: &[&str]| {
        let args = [&["draw", &sheet, "--what", "valve-bottom", "--to", "a.svg"], more].concat();
        assert_eq!(folder.run(args).code, Some(0));
        fs::read_to_string(folder.path("a.svg")).unwrap()
    };
    let line = line();
    assert!(draw(&["--line", &line]).contains("data-measures=\"spout.reach_mm\""));
    assert!(!draw(&[]).contains("spout"));
}

#[test]
fn habits_move_what_the_print_keeps_clear_of() {
    let folder = Folder::new();
    let sheet = example("sacks/bread-flour-25-kg.sack.json").display().to_string();
    folder.write("own.habits.json", r#"{ "format": "sackwright-habits/1", "print_side_mm": 33 }"#);
    let run = folder.run(["draw", &sheet, "--what", "artwork", "--to", "a.svg", "--habits", "own.habits.json"]);
    assert_eq!((run.code, run.err.as_str()), (Some(0), ""));
    assert!(fs::read_to_string(folder.path("a.svg")).unwrap().contains(">33</text>"));
}

#[test]
fn wrong_names_are_told_with_what_would_do() {
    let folder = Folder::new();
    let sheet = example("sacks/bread-flour-25-kg.sack.json").display().to_string();
    for (args, told) in [
        (["--what", "top", "--to", "a.svg"], "one of sack, valve-bottom, plain-bottom, lap, webs, artwork would do"),
        (["--what", "sack", "--to", "a.png"], ".svg or .dxf would do"),
    ] {
        let run = folder.run([&["draw", sheet.as_str()], &args[..]].concat());
        assert_eq!(run.code, Some(2));
        assert!(run.err.contains(told), "{}", run.err);
    }
    assert_eq!(folder.names(), [""; 0]);
}

#[test]
fn lengths_are_told_in_inches_when_asked() {
    let folder = Folder::new();
    let sheet = example("sacks/bread-flour-25-kg.sack.json").display().to_string();
    let draw = |more: &[&str]| folder.run([&["draw", &sheet, "--what", "sack", "--to", "a.svg"], more].concat());
    let size = |svg: &str| svg.split_once("viewBox").unwrap().0.to_owned();
    assert_eq!(draw(&[]).code, Some(0));
    let metric = fs::read_to_string(folder.path("a.svg")).unwrap();
    assert_eq!(draw(&["--unit", "in"]).code, Some(0));
    let inches = fs::read_to_string(folder.path("a.svg")).unwrap();
    // The face is 500 mm wide, the sack 640 mm long; the paper is as large as it was.
    for (svg, told, other) in
        [(&metric, ["500", "640"], ["19.69", "25.2"]), (&inches, ["19.69", "25.2"], ["500", "640"])]
    {
        for number in told {
            assert!(svg.contains(&format!(">{number}</text>")), "{number}");
        }
        assert!(!other.iter().any(|number| svg.contains(&format!(">{number}</text>"))));
    }
    assert!(size(&metric).contains("mm\"") && size(&inches).contains("mm\""));
    let run = draw(&["--unit", "foot"]);
    assert_eq!(run.code, Some(2));
    assert!(run.err.contains("mm or in would do"), "{}", run.err);
}

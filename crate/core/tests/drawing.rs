//! Drawings: every dimension measures what it says, no text lies on a line or on another text, nothing leaves the
//! sheet; over the examples and over random sheets.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod support;

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;
use std::sync::LazyLock;

use glam::DVec2;
use proptest::prelude::*;
use sackwright::cards::{Line, read_line};
use sackwright::check::Habits;
use sackwright::drawing::{
    Drawing, Given, Item, LengthUnit, LineType, MarkKind, Rect, Said, Scale, Shape, Text, Tile, Tiling, TurnedRect,
    What, Words, draw, sheets, tiles,
};
use sackwright::export::{dxf, svg};
use sackwright::figures::{PasteHabits, figures};
use sackwright::finding::{Arg, Message, Place};
use sackwright::geom::signed_area;
use sackwright::sack::Sack;
use sackwright::sheet::End;
use sackwright::tube::Wall;
use sackwright::units::{Dimension, Quantity};
use serde_json::Value;

/// Words as long as those of the table, give or take.
fn say(message: &Message) -> String {
    let name = message.key.rsplit('.').next().unwrap_or_default().replace('_', " ");
    let long = message.key.contains(".note.") || message.key.contains("_note");
    if long { format!("{name}: {}", "words of a note ".repeat(5)) } else { format!("{name} of it") }
}

fn count(value: f64) -> String {
    format!("{value:.1}").trim_end_matches(".0").to_string()
}

const WORDS: Words = Words { message: &say, number: &count };

/// The words that people read, with numbers as they are told in mm with a point and in inches with a comma.
const READ: [(LengthUnit, Words); 2] = [
    (LengthUnit::Millimetre, Words { message: &say_mm, number: &count }),
    (LengthUnit::Inch, Words { message: &say_inch, number: &count_inch }),
];

static TABLE: LazyLock<Value> = LazyLock::new(|| {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../web/words/en.json");
    serde_json::from_str(&fs::read_to_string(path).unwrap()).unwrap()
});

fn count_inch(value: f64) -> String {
    let text = format!("{:.2}", value / 25.4);
    text.trim_end_matches('0').trim_end_matches('.').replace('.', ",")
}

fn say_mm(message: &Message) -> String {
    tell(message, &|value| format!("{} mm", count(value)))
}

fn say_inch(message: &Message) -> String {
    tell(message, &|value| format!("{} in", count_inch(value)))
}

fn tell(message: &Message, length: &dyn Fn(f64) -> String) -> String {
    let find = |key: &str| {
        let text = TABLE.pointer(&format!("/{}", key.replace('.', "/"))).and_then(Value::as_str);
        text.unwrap_or_else(|| panic!("no words for {key}")).to_string()
    };
    let mut text = find(&message.key);
    for (name, arg) in message.args.iter() {
        let told = match arg {
            Arg::Quantity(Quantity { dimension: Dimension::Length, value }) => length(*value),
            Arg::Quantity(Quantity { value, .. }) => count(*value),
            Arg::Text { text, .. } => text.clone(),
            Arg::Word { key, .. } => find(key),
        };
        text = text.replace(&format!("{{{name}}}"), &told);
    }
    text
}

fn make(sack: &Sack, what: What, line: Option<&Line>) -> Drawing {
    draw(sack, what, &Given { line, date: "2026-11-25", revision: "3", ..Given::default() }, &WORDS)
}

/// As it is printed on sheets to be joined.
fn joined(sack: &Sack, what: What) -> Drawing {
    draw(sack, what, &Given { line: Some(&harbour_mill()), scale: Scale::Joined, ..Given::default() }, &WORDS)
}

fn examples() -> Vec<(String, Sack)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/sacks");
    let mut paths: Vec<_> = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    paths.sort();
    assert!(paths.len() >= 8);
    let sack = |path: &Path| Sack::read(&fs::read_to_string(path).unwrap()).unwrap();
    paths.iter().map(|path| (path.file_stem().unwrap().to_string_lossy().into_owned(), sack(path))).collect()
}

fn harbour_mill() -> Line {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/lines/harbour-mill-air-packer.line.json");
    read_line(&fs::read_to_string(path).unwrap()).unwrap()
}

/// mm: what rounding may add up to.
const EXACT: f64 = 1e-6;

/// No text on a line or on another text, everything finite and on the sheet.
fn faults(drawing: &Drawing, words: &Words) -> Vec<String> {
    let mut faults = Vec::new();
    let sheet = Rect { min: DVec2::splat(-EXACT), max: drawing.size_mm + EXACT };
    let texts: Vec<_> = drawing.items.iter().filter_map(Item::text).collect();
    let lines: Vec<_> = drawing.items.iter().flat_map(Item::segments).collect();
    for (index, text) in texts.iter().enumerate() {
        let room = text.bounds.grown(-EXACT);
        let said = text.said.words(words);
        for other in &texts[index + 1..] {
            if room.overlaps(&other.bounds.grown(-EXACT)) {
                faults.push(format!("{said:?} on {:?}", other.said.words(words)));
            }
        }
        if let Some(line) = lines.iter().find(|line| room.is_crossed(**line)) {
            faults.push(format!("{said:?} at {:?} on a line {line:?}", text.at));
        }
    }
    for item in &drawing.items {
        let room = item.room();
        let empty = matches!(item, Item::Text(text) if text.said.words(words).is_empty());
        let finite = room.min.is_finite() && room.max.is_finite();
        if !(empty || finite) {
            faults.push(format!("not finite: {item:?}"));
        }
        if room.min.cmplt(sheet.min).any() || room.max.cmpgt(sheet.max).any() {
            faults.push(format!("off the sheet: {item:?}"));
        }
    }
    let ids: BTreeSet<_> = drawing.dimensions().map(|dimension| &dimension.id).collect();
    if ids.len() != drawing.dimensions().count() {
        faults.push("two dimensions of one name".into());
    }
    faults
}

/// The value of a key: in the figures, in the sheet, in the line's card, in the practice.
struct Values(Vec<Value>);

impl Values {
    fn new(sack: &Sack, line: Option<&Line>) -> Self {
        let figures = serde_json::to_value(figures(sack, line, &PasteHabits::default())).unwrap();
        let mut sheet = serde_json::to_value(sack.file()).unwrap();
        // Defaults of patches depend on the bottom.
        for end in End::ALL {
            if let Some(patch) = sack.bottom(end).patch {
                sheet[end.name()]["patch"]["length_mm"] = patch.length_mm.into();
                sheet[end.name()]["patch"]["width_mm"] = patch.width_mm.into();
            }
        }
        let card = line.map_or(Value::Null, |line| serde_json::to_value(line.file()).unwrap());
        Self(vec![figures, sheet, card, serde_json::json!({ "habits": Habits::default() })])
    }

    fn get(&self, key: &str) -> Option<f64> {
        self.0.iter().find_map(|value| {
            let pointer = format!("/{}", key.replace('.', "/"));
            let found = value.pointer(&pointer)?;
            // A strip of a lap map is as wide as it is from its beginning to its end.
            found.as_f64().or_else(|| Some(found["to_mm"].as_f64()? - found["from_mm"].as_f64()?))
        })
    }
}

/// Every dimension lies between points as far apart as the figure says.
fn hold_dimensions(sack: &Sack, line: Option<&Line>, drawing: &Drawing) -> Vec<String> {
    let values = Values::new(sack, line);
    let hold = |dimension: &sackwright::drawing::Dimension| {
        let drawn = dimension.from.distance(dimension.to);
        let Some(value) = values.get(&dimension.measures) else {
            return Some(format!("{}: nothing is called so", dimension.measures));
        };
        let agrees = (drawn - value.abs()).abs() <= EXACT && (dimension.value_mm - value).abs() <= EXACT;
        (!agrees).then(|| format!("{}: drawn {drawn}, said {}, is {value}", dimension.id, dimension.value_mm))
    };
    let turned = |item: &Item| {
        let Item::Angle(angle) = item else { return None };
        let [from, to] = [angle.from, angle.to].map(|point| point - angle.apex);
        let drawn = from.angle_to(to).abs().to_degrees();
        let value = values.get(&angle.measures)?;
        let agrees = (drawn - value.abs()).abs() <= EXACT && (angle.value_deg - value).abs() <= EXACT;
        (!agrees).then(|| format!("{}: drawn {drawn}, said {}, is {value}", angle.id, angle.value_deg))
    };
    drawing.dimensions().filter_map(hold).chain(drawing.items.iter().filter_map(turned)).collect()
}

#[test]
fn no_text_lies_on_a_line_in_any_example() {
    let line = harbour_mill();
    for (name, sack) in examples() {
        for what in What::ALL {
            for line in [None, Some(&line)] {
                let drawing = make(&sack, what, line);
                assert_eq!(faults(&drawing, &WORDS), [""; 0], "{name} {}", what.name());
                assert_eq!(hold_dimensions(&sack, line, &drawing), [""; 0], "{name} {}", what.name());
                for scale in Scale::ALL {
                    for (unit, words) in READ {
                        let given = Given { line, scale, unit, ..Given::default() };
                        let drawing = draw(&sack, what, &given, &words);
                        let of = format!("{name} {} {} {}", what.name(), scale.name(), unit.name());
                        assert_eq!(faults(&drawing, &words), [""; 0], "{of}");
                        assert_eq!(hold_dimensions(&sack, line, &drawing), [""; 0], "{of}");
                        assert_eq!(strays(&drawing), [""; 0], "{of}");
                    }
                }
            }
        }
    }
}

/// On a page of A4 or Letter with its margins, lying or upright as the drawing is.
#[test]
fn letters_of_a_drawing_fitted_to_a_page_can_be_read() {
    let line = harbour_mill();
    for (name, sack) in examples() {
        for what in What::ALL {
            for (unit, words) in READ {
                let [full, fitted] = [Scale::Full, Scale::Fitted].map(|scale| {
                    sheets(&sack, what, &Given { line: Some(&line), scale, unit, ..Given::default() }, &words)
                });
                let [full] = &full[..] else { panic!("{name} {}", what.name()) };
                let of = format!("{name} {}", what.name());
                // Six webs and how they lie over each other are too much for one page.
                let count = if (what, sack.tube().plies.len()) == (What::Webs, 6) { 2 } else { 1 };
                assert_eq!(fitted.len(), count, "{of}");
                let share = |drawing: &Drawing| {
                    let size = drawing.size_mm;
                    let page = if size.x > size.y { DVec2::new(259.0, 178.0) } else { DVec2::new(190.0, 246.0) };
                    (page / size).min_element()
                };
                // Six plies leave less.
                let least = if sack.tube().plies.len() > 4 { 1.5 } else { 1.6 };
                for fitted in &fitted {
                    let letters = fitted.text_mm * share(fitted);
                    assert!(letters >= least, "{of}: {letters} mm");
                    assert!(share(fitted) > 0.65 * share(full), "{of}: too small");
                    assert_eq!(faults(fitted, &words), [""; 0], "{of}");
                    assert_eq!(hold_dimensions(&sack, Some(&line), fitted), [""; 0], "{of}");
                }
                let named = |drawings: &[Drawing]| -> Vec<String> {
                    let mut names: Vec<String> =
                        drawings.iter().flat_map(Drawing::dimensions).map(|dimension| dimension.id.clone()).collect();
                    names.sort();
                    names
                };
                assert_eq!(named(core::slice::from_ref(full)), named(&fitted), "{of}");
                let views = |drawings: &[Drawing]| -> Vec<String> {
                    drawings.iter().flat_map(|drawing| &drawing.views).map(|view| view.key.clone()).collect()
                };
                assert_eq!(views(core::slice::from_ref(full)), views(&fitted), "{of}");
                let displaced: usize = fitted.iter().map(|drawing| drawing.displaced).sum();
                assert_eq!((full.displaced, displaced), (0, 0), "{of}");
            }
        }
    }
}

#[test]
fn no_fold_mark_lies_on_cross_paste_in_any_example() {
    for (name, sack) in examples() {
        let drawing = make(&sack, What::Webs, None);
        let rooms = |wanted: &[MarkKind]| -> Vec<Rect> {
            let marks =
                drawing.items.iter().filter(|item| matches!(item, Item::Mark(mark) if wanted.contains(&mark.kind)));
            marks.map(Item::room).collect()
        };
        let folds = rooms(&[MarkKind::FoldTowards, MarkKind::FoldAway]);
        let paste = rooms(&[MarkKind::CrossPaste]);
        assert!(!folds.is_empty() && (paste.is_empty() == (sack.tube().plies.len() == 1)), "{name}");
        assert!(!folds.iter().any(|fold| paste.iter().any(|dot| fold.overlaps(dot))), "{name}");
    }
}

/// Leaders that cross a dimension line.
fn strays(drawing: &Drawing) -> Vec<String> {
    let dots = || {
        drawing.items.iter().filter_map(|item| match item {
            Item::Mark(mark) if mark.kind == MarkKind::Dot => Some(mark.outline.iter().sum::<DVec2>() / 8.0),
            _ => None,
        })
    };
    let side = |p: DVec2, q: DVec2, r: DVec2| (q - p).perp_dot(r - p) > 0.0;
    let crosses =
        |[a, b]: [DVec2; 2], [c, d]: [DVec2; 2]| side(a, b, c) != side(a, b, d) && side(c, d, a) != side(c, d, b);
    let mut strays = Vec::new();
    for item in &drawing.items {
        let Item::Line(LineType::Thin, Shape::Path { points, closed: false }) = item else { continue };
        if !dots().any(|dot| dot.distance(points[0]) < EXACT) {
            continue;
        }
        for piece in points.windows(2).map(|pair| [pair[0], pair[1]]) {
            let crossed = drawing.dimensions().filter(|dimension| crosses(piece, dimension.line));
            strays.extend(
                crossed.map(|dimension| format!("{} is crossed from {} to {}", dimension.id, points[0], points[2])),
            );
        }
    }
    strays
}

#[test]
fn a_sack_s_main_dimensions_are_all_there() {
    let (_, sack) = examples().remove(0);
    let measured = |what| -> BTreeSet<String> {
        make(&sack, what, Some(&harbour_mill())).dimensions().map(|dimension| dimension.measures.clone()).collect()
    };
    let sack_drawing = measured(What::Sack);
    for key in ["face_width_mm", "length_mm", "bottom_centre_distance_mm", "seam.offset_from_middle_mm", "seam.lap_mm"]
    {
        assert!(sack_drawing.contains(key), "{key}");
    }
    let bottom = measured(What::ValveBottom);
    for key in ["bottom_width_mm", "opening_depth_mm", "flap_depth_mm", "lap_mm", "corner_cover_mm", "pocket_gap_mm"] {
        assert!(bottom.contains(&format!("valve_end.{key}")), "{key}");
    }
    for key in ["valve_end.valve.flat_width_mm", "spout.outside_diameter_mm", "spout.reach_mm"] {
        assert!(bottom.contains(key), "{key}");
    }
}

#[test]
fn a_turned_sleeve_has_its_place_its_angle_and_its_size_along_its_edges() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/sacks");
    for name in ["bread-flour-25-kg", "finishing-plaster-30-kg", "seed-maize-25-kg"] {
        let text = fs::read_to_string(folder.join(format!("{name}.sack.json"))).unwrap();
        for skew in [-40.0, -6.0, 2.0, 15.0] {
            let mut file: Value = serde_json::from_str(&text).unwrap();
            for (key, value) in [("skew_deg", skew), ("offset_from_centre_mm", 3.0), ("outer_end_mm", 12.0)] {
                file["valve_end"]["valve"][key] = value.into();
            }
            let sack = Sack::read(&file.to_string()).unwrap();
            for line in [None, Some(&harbour_mill())] {
                let drawing = make(&sack, What::ValveBottom, line);
                hold_turned(&sack, line, &drawing, "opened", skew);
                hold_turned(&sack, line, &make(&sack, What::Sack, line), "front", skew);
                for key in ["outside_diameter_mm", "reach_mm"].iter().filter(|_| line.is_some()) {
                    let dimension =
                        drawing.dimensions().find(|dimension| dimension.id == format!("opened.spout.{key}"));
                    aligned(dimension.unwrap_or_else(|| panic!("{name} {skew}: {key}")), skew, *key == "reach_mm");
                }
            }
        }
    }
}

#[test]
fn a_turned_spout_has_a_leader_and_no_text_lies_on_a_line() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/sacks");
    let line = harbour_mill();
    let mut drawn = 0;
    for path in fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()) {
        let text = fs::read_to_string(&path).unwrap();
        for skew in [-30.0, -17.0, -8.0, -3.0, 4.0, 10.0, 22.0, 30.0] {
            for (offset, (unit, words)) in [-6.0, 5.0].into_iter().zip(READ) {
                let mut file: Value = serde_json::from_str(&text).unwrap();
                if !file["valve_end"]["valve"].is_object() {
                    continue;
                }
                file["valve_end"]["valve"]["skew_deg"] = skew.into();
                file["valve_end"]["valve"]["offset_from_centre_mm"] = offset.into();
                let Ok(sack) = Sack::read(&file.to_string()) else { continue };
                for (what, scale) in
                    [What::ValveBottom, What::Sack].into_iter().flat_map(|what| Scale::ALL.map(|scale| (what, scale)))
                {
                    let drawing =
                        draw(&sack, what, &Given { line: Some(&line), scale, unit, ..Given::default() }, &words);
                    let of = format!("{} {} {} {skew} {offset}", sack.file().name, what.name(), scale.name());
                    assert_eq!(faults(&drawing, &words), [""; 0], "{of}");
                    assert_eq!(strays(&drawing), [""; 0], "{of}");
                    assert_eq!(drawing.displaced, 0, "{of}");
                    if what == What::ValveBottom {
                        hold_spout(&drawing, &of);
                        drawn += 1;
                    }
                }
            }
        }
    }
    assert!(drawn > 200, "{drawn}");
}

/// That the spout's word has a leader that ends in the spout.
fn hold_spout(drawing: &Drawing, of: &str) {
    let [label] = texts(drawing, "drawing.label.spout")[..] else { panic!("{of}: not one word") };
    let room = label.bounds.grown(0.5 * label.height_mm).upright();
    let path = |item: &Item, kind: LineType, count: usize| match item {
        Item::Line(of, Shape::Path { points, closed: false }) if (*of, points.len()) == (kind, count) => {
            Some(points.clone())
        }
        _ => None,
    };
    let leader =
        drawing.items.iter().filter_map(|item| path(item, LineType::Thin, 3)).find(|leader| within(&room, leader[2]));
    let leader = leader.unwrap_or_else(|| panic!("{of}: no leader"));
    let mut spouts = drawing.items.iter().filter_map(|item| path(item, LineType::Adjacent, 4));
    // From outside in, its tip, and out again.
    let inside = spouts.any(|spout| {
        let sides = spout.iter().zip(spout.iter().cycle().skip(1));
        let left = sides.filter(|(a, b)| (**b - **a).perp_dot(leader[0] - **a) > 0.0).count();
        left == 0 || left == spout.len()
    });
    assert!(inside, "{of}: the leader ends beside the spout");
}

/// That a dimension runs along a sleeve turned so far, or across, and its number with it, read from below or the right.
fn aligned(dimension: &sackwright::drawing::Dimension, skew: f64, inwards: bool) {
    let along = (dimension.to - dimension.from).normalize();
    let degrees = dimension.text.angle_deg();
    assert!(along.perp_dot(dimension.text.along).abs() < EXACT, "{}", dimension.id);
    assert!((-45.0 - EXACT..=135.0 + EXACT).contains(&degrees), "{}: {degrees}", dimension.id);
    let turn = if inwards { skew } else { skew + 90.0 };
    let apart = (degrees - turn).rem_euclid(180.0);
    assert!(apart.min(180.0 - apart) < 1e-6, "{}: {degrees} for {turn}", dimension.id);
}

/// What is measured of a turned sleeve in a view.
fn hold_turned(sack: &Sack, line: Option<&Line>, drawing: &Drawing, view: &str, skew: f64) {
    let of = format!("{} {skew} {}", sack.file().name, drawing.what.name());
    for key in ["outer_end_mm", "offset_from_centre_mm", "flat_width_mm", "length_mm"] {
        let id = format!("{view}.valve_end.valve.{key}");
        let dimension = drawing.dimensions().find(|dimension| dimension.id == id);
        let dimension = dimension.unwrap_or_else(|| panic!("{of}: {key}"));
        if matches!(key, "flat_width_mm" | "length_mm") {
            aligned(dimension, skew, key == "length_mm");
            let turn = format!(
                "50\n{}\n",
                format!("{:.3}", dimension.text.angle_deg()).trim_end_matches('0').trim_end_matches('.')
            );
            assert!(dxf(drawing, &WORDS).contains(&turn), "{of}: {key} {turn}");
        }
    }
    let angles = drawing
        .items
        .iter()
        .filter_map(|item| if let Item::Angle(angle) = item { Some(angle.value_deg) } else { None });
    assert_eq!(angles.collect::<Vec<_>>(), [skew], "{of}");
    assert_eq!(faults(drawing, &WORDS), [""; 0], "{of}");
    assert_eq!(strays(drawing), [""; 0], "{of}");
    assert_eq!(hold_dimensions(sack, line, drawing), [""; 0], "{of}");
    assert!(svg(drawing, &WORDS).contains("data-measures=\"valve_end.valve.skew_deg\""));
    hold_svg(&Values::new(sack, line), drawing, &of);
}

/// The value of an attribute in a piece of SVG.
fn attribute<'a>(svg: &'a str, name: &str) -> &'a str {
    svg.split_once(&format!(" {name}=\"")).unwrap().1.split('"').next().unwrap()
}

/// Dimensions as they stand in the SVG: drawn and told as the sack has them, their numbers along their lines.
fn hold_svg(values: &Values, drawing: &Drawing, of: &str) {
    let svg = svg(drawing, &WORDS);
    let groups: Vec<&str> = svg.split("<g class=\"dimension\"").skip(1).collect();
    assert_eq!(groups.len(), drawing.dimensions().count());
    for group in groups {
        let number = |name: &str| attribute(group, name).parse::<f64>().unwrap();
        let measured = group.split_once("class=\"measured\"").unwrap().1;
        let [x1, y1, x2, y2] = ["x1", "y1", "x2", "y2"].map(|name| attribute(measured, name).parse().unwrap());
        let drawn = DVec2::new(x1, y1).distance(DVec2::new(x2, y2));
        let value = values.get(attribute(group, "data-measures")).unwrap();
        let of = format!("{of} {}", attribute(group, "data-dim"));
        // Both ends are rounded to a thousandth.
        assert!((drawn - value.abs()).abs() <= 2e-3, "{of}: {drawn}");
        assert!((number("data-value") - value).abs() <= 1e-3, "{of}");
        let place = attribute(group, "data-place");
        assert!(Place::ALL.iter().any(|known| known.name() == place), "{place}");
        assert!(group.contains(&format!(">{}</text>", count(value.abs()))), "{of}: {group}");
        let turn =
            group.split_once("rotate(").map_or(0.0, |(_, rest)| rest.split(' ').next().unwrap().parse().unwrap());
        let (sine, cosine) = libm::sincos(f64::to_radians(turn));
        // A thousandth at either end, and a thousandth of a degree.
        let aside = DVec2::new(x2 - x1, y2 - y1).perp_dot(DVec2::new(cosine, sine)).abs();
        assert!(aside <= 2e-3 + 1e-4 * drawn, "{of}: turned by {turn}");
    }
}

#[test]
fn dimensions_read_back_from_svg_are_those_of_the_sack() {
    let line = harbour_mill();
    for (name, sack) in examples() {
        let values = Values::new(&sack, Some(&line));
        for what in What::ALL {
            hold_svg(&values, &make(&sack, what, Some(&line)), &name);
        }
    }
}

/// The texts of a key.
fn texts<'a>(drawing: &'a Drawing, key: &str) -> Vec<&'a Text> {
    let has_key = |text: &&Text| matches!(&text.said, Said::Message(message) if message.key == key);
    drawing.items.iter().filter_map(Item::text).filter(has_key).collect()
}

#[test]
fn titles_beside_each_other_stand_on_one_line() {
    for (name, sack) in examples() {
        let drawing = make(&sack, What::Sack, None);
        let [front, back] = ["front", "back"].map(|view| texts(&drawing, &format!("drawing.view.{view}"))[0].at);
        assert!((front.y - back.y).abs() < EXACT && front.x < back.x, "{name}");
    }
}

#[test]
fn no_web_stands_alone_below_a_row_of_several() {
    for (name, sack) in examples() {
        for scale in Scale::ALL {
            for drawing in sheets(&sack, What::Webs, &Given { scale, ..Given::default() }, &WORDS) {
                let beside = |one: f64| drawing.views.iter().filter(|view| (view.origin.y - one).abs() < EXACT).count();
                let rows: Vec<usize> = drawing.views.iter().map(|view| beside(view.origin.y)).collect();
                assert!(rows.iter().all(|row| *row > 1) || rows.iter().all(|row| *row == 1), "{name}: {rows:?}");
            }
        }
    }
}

#[test]
fn each_of_a_web_s_ends_is_named_where_it_is_printed_alone() {
    for (name, sack) in examples() {
        let drawing = joined(&sack, What::Webs);
        for part in drawing.parts.iter().filter(|part| part.name.ends_with("-ends")) {
            for (room, end) in part.rooms.iter().zip(["valve_end", "plain_end"]) {
                let named = texts(&drawing, &format!("drawing.view.{end}"));
                let held = named.iter().map(|text| text.bounds.upright());
                assert!(held.into_iter().any(|text| within(room, text.min) && within(room, text.max)), "{name}: {end}");
            }
        }
    }
}

/// Its word stands beside it, and the middle of the face from which it is measured is marked.
#[test]
fn a_barcode_is_named_beside_it_and_measured_from_a_marked_middle() {
    let mut seen = 0;
    for (name, sack) in examples() {
        let Some(barcode) = sack.file().artwork.as_ref().and_then(|artwork| artwork.barcode) else { continue };
        for scale in Scale::ALL {
            for (unit, words) in READ {
                let drawing = draw(&sack, What::Artwork, &Given { scale, unit, ..Given::default() }, &words);
                let of = format!("{name} {} {}", scale.name(), unit.name());
                let dimension =
                    drawing.dimensions().find(|one| one.measures == "artwork.barcode.offset_from_middle_mm");
                let dimension = dimension.unwrap_or_else(|| panic!("{of}: no dimension"));
                let middle = dimension.from;
                let marks = |item: &Item| match item {
                    Item::Line(LineType::Centre, Shape::Path { points, .. }) => {
                        points.iter().all(|point| (point.x - middle.x).abs() < EXACT)
                    }
                    _ => false,
                };
                assert!(drawing.items.iter().any(marks), "{of}: no middle");
                let [label] = texts(&drawing, "drawing.label.barcode")[..] else { panic!("{of}: not one word") };
                let room = label.bounds.upright();
                let apart = (room.min.x - dimension.to.x).max(dimension.to.x - room.max.x);
                let half = barcode.width_mm.max(barcode.height_mm) / 2.0;
                assert!(apart < half + 5.0 * drawing.text_mm, "{of}: {apart} mm away");
                seen += 1;
            }
        }
    }
    assert!(seen >= 12, "{seen}");
}

#[test]
fn columns_of_a_legend_are_about_as_long() {
    for (name, sack) in examples() {
        for what in What::ALL {
            let drawing = make(&sack, what, Some(&harbour_mill()));
            let is_entry = |text: &&Text| {
                let kinds = ["drawing.line.", "drawing.mark.", "drawing.hatch."];
                matches!(&text.said, Said::Message(message) if kinds.iter().any(|kind| message.key.starts_with(kind)))
            };
            let mut columns: Vec<(f64, usize)> = Vec::new();
            for text in drawing.items.iter().filter_map(Item::text).filter(is_entry) {
                match columns.iter_mut().find(|(x, _)| (x - text.at.x).abs() < EXACT) {
                    Some((_, count)) => *count += 1,
                    None => columns.push((text.at.x, 1)),
                }
            }
            let counts: Vec<usize> = columns.into_iter().map(|(_, count)| count).collect();
            let [least, most] = [counts.iter().min(), counts.iter().max()].map(|count| count.copied().unwrap_or(0));
            assert!(most <= 5 && most - least < counts.len(), "{name} {}: {counts:?}", what.name());
        }
    }
}

/// What of a section's axis is drawn crosses something: no dash stands in the open.
#[test]
fn the_axis_of_a_lap_goes_through_paper() {
    for (name, sack) in examples() {
        let drawing = make(&sack, What::Lap, None);
        let edges: Vec<[DVec2; 2]> = drawing
            .items
            .iter()
            .filter(|item| matches!(item, Item::Line(LineType::Edge, _)))
            .flat_map(Item::segments)
            .collect();
        for item in &drawing.items {
            let Item::Line(LineType::Centre, Shape::Path { points, .. }) = item else { continue };
            let (low, high) = (points[0].min(points[1]), points[0].max(points[1]));
            // The legend's lies level.
            if high.x - low.x > EXACT {
                continue;
            }
            let crossed = edges.iter().filter(|[a, b]| {
                (a.y - b.y).abs() < EXACT
                    && (low.y..=high.y).contains(&a.y)
                    && (a.x.min(b.x)..=a.x.max(b.x)).contains(&low.x)
            });
            // The broken wall leaves room for it.
            let is_in_wall = drawing.views.iter().any(|view| low.y < view.origin.y && view.origin.y < high.y);
            assert!(is_in_wall || crossed.count() >= 2, "{name}: from {low} to {high}");
        }
    }
}

#[test]
fn a_sheet_has_no_note_about_a_view_that_it_has_not() {
    for (name, sack) in examples() {
        for drawing in sheets(&sack, What::Webs, &Given { scale: Scale::Fitted, ..Given::default() }, &WORDS) {
            let shown = drawing.views.iter().any(|view| view.key == "register");
            assert_eq!(!texts(&drawing, "drawing.note.register").is_empty(), shown, "{name}");
        }
    }
}

#[test]
fn every_ply_is_named_in_register_and_the_next_tube_below_each_web() {
    for (name, sack) in examples() {
        let drawing = make(&sack, What::Webs, None);
        let plies = sack.tube().plies.len();
        let named = texts(&drawing, "drawing.label.ply");
        assert_eq!(named.len(), if plies > 1 { plies } else { 0 }, "{name}");
        let foot = drawing.views.iter().map(|view| view.outline.min.y).fold(f64::INFINITY, f64::min);
        assert!(named.iter().all(|text| text.bounds.upright().min.y > foot), "{name}: one is among the notes");
        let next = texts(&drawing, "drawing.label.next_tube");
        assert_eq!(next.len(), plies, "{name}");
        for (ply, text) in next.into_iter().enumerate() {
            let view = &drawing.views[ply];
            let cut = view.origin.y - sack.tube().length_mm + sack.tube().rim_mm(End::PlainEnd, Wall::A, ply);
            let room = text.bounds.upright();
            assert!(room.max.y < cut && room.min.y > view.outline.min.y, "{name}, ply {ply}");
        }
    }
}

#[test]
fn a_web_s_contour_has_the_ply_s_cut_area() {
    for (name, sack) in examples() {
        let figures = figures(&sack, None, &PasteHabits::default());
        let drawing = make(&sack, What::Webs, None);
        let contours: Vec<f64> = drawing
            .items
            .iter()
            .filter_map(|item| match item {
                Item::Line(LineType::Edge, Shape::Path { points, closed: true }) if points.len() == 12 => {
                    Some(signed_area(points).abs())
                }
                _ => None,
            })
            .collect();
        assert!(contours.len() >= figures.plies.len());
        for (ply, contour) in figures.plies.iter().zip(contours) {
            assert!((ply.cut_area_mm2 - contour).abs() < 1e-3, "{name} ply {}: {contour}", ply.index);
        }
    }
}

fn within(room: &Rect, point: DVec2) -> bool {
    point.cmpge(room.min).all() && point.cmple(room.max).all()
}

/// What every sheet of a tiling shows of a drawing.
fn rooms(drawing: &Drawing, tiling: &Tiling, size: DVec2) -> Vec<Rect> {
    let room = |tile: &Tile| {
        let low = DVec2::new(tile.left_mm, drawing.size_mm.y - tile.top_mm - size.y);
        Rect { min: low, max: low + size }
    };
    tiling.tiles.iter().map(room).collect()
}

/// What a sheet shows of what is laid out.
fn seen(drawing: &Drawing, tile: &Tile) -> Rect {
    let [left, top, width, height] = tile.seen_mm;
    let min = DVec2::new(left, drawing.size_mm.y - top - height);
    Rect { min, max: min + DVec2::new(width, height) }
}

/// The arrowheads and the mark of an item.
fn small(item: &Item) -> Vec<(&'static str, Rect)> {
    let around = |points: &[DVec2]| {
        let of = |least: fn(DVec2, DVec2) -> DVec2| points.iter().copied().reduce(least).unwrap();
        Rect { min: of(DVec2::min) + EXACT, max: of(DVec2::max) - EXACT }
    };
    let arrows = |arrows: &[[DVec2; 3]]| arrows.iter().map(|arrow| ("arrowhead", around(arrow))).collect();
    match item {
        Item::Dimension(dimension) => arrows(&dimension.arrows),
        Item::Angle(angle) => arrows(&angle.arrows),
        Item::Mark(mark) => vec![(mark.kind.name(), around(&mark.outline))],
        Item::Line(..) | Item::Area(_) | Item::Text(_) => Vec::new(),
    }
}

#[test]
fn a_part_takes_fewer_sheets_and_all_that_is_cut_of_it_is_on_them() {
    const OVERLAP: f64 = 10.0;
    for (name, sack) in examples() {
        for what in What::ALL {
            let drawing = joined(&sack, what);
            let plies = sack.tube().plies.len();
            let wanted = match what {
                What::Artwork => 1,
                // Ends, with several plies each of them and all in register.
                What::Webs => {
                    if plies == 1 {
                        1
                    } else {
                        2 * plies + 1
                    }
                }
                _ => drawing.views.len(),
            };
            assert_eq!(drawing.parts.len(), wanted, "{name} {}", what.name());
            for (windows, part) in
                WINDOWS.chunks(2).flat_map(|windows| drawing.parts.iter().map(move |part| (windows, part)))
            {
                let of = format!("{name} {} {}", what.name(), part.name);
                let tiling = tiles(&drawing, windows, OVERLAP, Some(&part.name));
                let size = DVec2::from(windows[tiling.window]);
                let whole = tiles(&drawing, windows, OVERLAP, None);
                assert!(!tiling.tiles.is_empty() && tiling.tiles.len() < whole.tiles.len(), "{of}");
                let sheets = rooms(&drawing, &tiling, size);
                let shown: Vec<Rect> = tiling.tiles.iter().map(|tile| seen(&drawing, tile)).collect();
                for (sheet, shown) in sheets.iter().zip(&shown) {
                    assert!(
                        sheet.min.cmple(shown.min + EXACT).all() && sheet.max.cmpge(shown.max - EXACT).all(),
                        "{of}"
                    );
                }
                for dimension in drawing.dimensions() {
                    let number = dimension.text.bounds.grown(-EXACT).upright();
                    let holds = |room: &&Rect| {
                        dimension
                            .line
                            .iter()
                            .all(|end| within(&Rect { min: room.min - EXACT, max: room.max + EXACT }, *end))
                    };
                    let rooms = || part.rooms.iter().filter(|room| room.overlaps(&number));
                    assert_eq!(rooms().count(), rooms().filter(holds).count(), "{of}: {}", dimension.id);
                }
                // Nor is an arrowhead or a mark cut at the part's edge.
                for (kind, small) in drawing.items.iter().flat_map(small) {
                    for room in part.rooms.iter().filter(|room| room.overlaps(&small)) {
                        assert!(within(room, small.min) && within(room, small.max), "{of}: {kind} at {}", small.min);
                    }
                }
                // What is cut at the part's edge is no text.
                for text in drawing.items.iter().filter_map(Item::text) {
                    let room = text.bounds.grown(-EXACT).upright();
                    let on = part.rooms.iter().any(|part| part.overlaps(&room));
                    let whole = part.rooms.iter().any(|part| within(part, room.min) && within(part, room.max));
                    assert_eq!(on, whole, "{of}: {}", text.said.words(&WORDS));
                    if !on {
                        assert!(!shown.iter().any(|shown| shown.overlaps(&room)), "{of}: {}", text.said.words(&WORDS));
                    }
                }
                for item in drawing.items.iter().filter(|item| matches!(item, Item::Line(LineType::Edge, _))) {
                    for [a, b] in item.segments() {
                        let steps = (a.distance(b) / 20.0).ceil() as u32 + 1;
                        for point in (0..=steps).map(|step| a.lerp(b, f64::from(step) / f64::from(steps))) {
                            if part.rooms.iter().any(|room| within(room, point)) {
                                let near = |sheet: &Rect| {
                                    within(&Rect { min: sheet.min - EXACT, max: sheet.max + EXACT }, point)
                                };
                                assert!(shown.iter().any(near), "{of}: {point}");
                            }
                        }
                    }
                }
            }
        }
    }
}

#[test]
fn the_ends_of_a_web_hold_its_cuts_and_the_corners_of_its_pockets() {
    for (name, sack) in examples() {
        let drawing = make(&sack, What::Webs, None);
        for (ply, view) in drawing.views.iter().enumerate().take(sack.tube().plies.len()) {
            let ends = drawing.parts.iter().find(|part| part.name == format!("{}-ends", view.key)).unwrap();
            let held = |point: DVec2| ends.rooms.iter().any(|room| within(room, point));
            for point in sack.tube().contour(ply) {
                assert!(held(view.origin + DVec2::new(point.x, -point.y)), "{name} ply {ply}");
            }
            // Where the ply is torn, with its number, whose extension lines run over the web like creases.
            for dimension in
                drawing.dimensions().filter(|one| one.id.starts_with(&format!("{}.plies.{ply}.rims_mm", view.key)))
            {
                let number = dimension.text.bounds.upright();
                assert!(
                    held(number.min) && held(number.max) && dimension.line.iter().all(|end| held(*end)),
                    "{name}: {}",
                    dimension.id
                );
            }
            for end in End::ALL {
                let depth = sack.bottom(end).opening_depth_mm;
                let v = if end == End::ValveEnd { depth } else { sack.tube().length_mm - depth };
                assert!(held(view.origin + DVec2::new(sack.tube().side_folds_mm(ply)[0], -v)), "{name} ply {ply}");
            }
        }
    }
}

/// Windows of A4 and of US Letter, upright and lying.
const WINDOWS: [[f64; 2]; 4] = [[194.0, 275.0], [281.0, 188.0], [199.9, 257.4], [263.4, 193.9]];

#[test]
fn every_point_that_is_drawn_is_on_a_sheet_and_no_sheet_is_empty() {
    const OVERLAP: f64 = 10.0;
    for (name, sack) in examples() {
        for what in What::ALL {
            let drawing = joined(&sack, what);
            for windows in WINDOWS.chunks(2) {
                let tiling = tiles(&drawing, windows, OVERLAP, None);
                let of = format!("{name} {}", what.name());
                let size = DVec2::from(windows[tiling.window]);
                let upright = tiles(&drawing, &windows[..1], OVERLAP, None);
                assert!(tiling.tiles.len() <= upright.tiles.len(), "{of}");
                let drawing = drawing.clone().with_title_block_by(tiling.title_block_by_mm);
                let rooms = rooms(&drawing, &tiling, size);
                let drawn = |item: &&Item| !matches!(item, Item::Line(LineType::Frame, _));
                let items: Vec<&Item> = drawing.items.iter().filter(drawn).collect();
                let is_shown = |point: DVec2| rooms.iter().any(|room| within(room, point));
                for item in &items {
                    for [a, b] in item.segments() {
                        let steps = (a.distance(b) / 40.0).ceil() as u32 + 1;
                        let missed = (0..=steps).map(|step| a.lerp(b, f64::from(step) / f64::from(steps)));
                        assert!(missed.clone().all(is_shown), "{of}: a line is on no sheet");
                    }
                }
                for room in &rooms {
                    let ink = items.iter().any(|item| {
                        item.text().is_some_and(|text| text.bounds.overlaps(&TurnedRect::from(*room)))
                            || item.segments().iter().any(|segment| room.is_crossed(*segment))
                    });
                    assert!(ink, "{of}: nothing on a sheet");
                }
            }
        }
    }
    assert!(tiles(&make(&examples()[0].1, What::Lap, None), &[[5.0, 5.0]], 10.0, None).tiles.is_empty());
}

/// What is not as it should be of the crosses of sheets so large, with the rooms of the part that is printed: neighbours
/// have two in common so far apart, mm, or most of a short seam.
fn hold_crosses(drawing: &Drawing, tiling: &Tiling, size: DVec2, part: &[Rect], far: f64) -> Vec<String> {
    let mut found = Vec::new();
    let printed = |room: &Rect| part.is_empty() || part.iter().any(|part| part.overlaps(room));
    let texts = drawing.items.iter().filter_map(Item::text).map(|text| text.bounds);
    let texts: Vec<TurnedRect> = texts.filter(|text| printed(&text.upright())).collect();
    let sheets = rooms(drawing, tiling, size);
    let square = |[x, y]: [f64; 2]| {
        let middle = DVec2::new(x, drawing.size_mm.y - y);
        Rect { min: middle - tiling.arm_mm, max: middle + tiling.arm_mm }
    };
    for (tile, sheet) in tiling.tiles.iter().zip(&sheets) {
        let sheet = Rect { min: sheet.min - EXACT, max: sheet.max + EXACT };
        for cross in &tile.crosses_mm {
            let room = square(*cross);
            if !within(&sheet, room.min) || !within(&sheet, room.max) {
                found.push(format!("{cross:?} is cut at the edge of {}.{}", tile.row, tile.column));
            }
            if texts.iter().any(|text| text.overlaps(&room.into())) {
                found.push(format!("{cross:?} lies on a text"));
            }
            if !tiling.tiles.iter().any(|other| other != tile && other.crosses_mm.contains(cross)) {
                found.push(format!("{cross:?} is on one sheet"));
            }
            let close = |other: &&[f64; 2]| *other != cross && room.overlaps(&square(**other));
            found.extend(tile.crosses_mm.iter().find(close).map(|other| format!("{cross:?} touches {other:?}")));
        }
        for other in &tiling.tiles {
            let beside = (tile.row, tile.column + 1) == (other.row, other.column);
            // Rows of another room of the part begin anew.
            let below = part.len() < 2 && (tile.row + 1, tile.column) == (other.row, other.column);
            let common = || tile.crosses_mm.iter().filter(|cross| other.crosses_mm.contains(cross));
            let [left, top, right, bottom] = tile.joints_mm;
            let least = (0.6 * if beside { bottom - top } else { right - left }).min(far);
            let apart = |one: &[f64; 2]| common().any(|two| DVec2::from(*one).distance(DVec2::from(*two)) > least);
            if (beside || below) && !common().any(apart) {
                found.push(format!("{}.{} and {}.{} are not joined", tile.row, tile.column, other.row, other.column));
            }
        }
    }
    found
}

/// What is whole on none of the sheets of a drawing or of a part with such rooms: texts and the title block.
fn cut_texts(drawing: &Drawing, words: &Words, shown: &[Rect], part: Option<&[Rect]>) -> Vec<String> {
    let is_cut = |room: &Rect| !shown.iter().any(|shown| within(shown, room.min) && within(shown, room.max));
    let texts = drawing.items.iter().filter_map(Item::text).filter(|text| {
        let room = text.bounds.grown(-EXACT).upright();
        part.is_none_or(|part| part.iter().any(|part| part.overlaps(&room))) && is_cut(&room)
    });
    let block = Some("the title block is cut".to_string()).filter(|_| part.is_none() && is_cut(&drawing.title_block));
    texts.map(|text| format!("{} is cut", text.said.words(words))).chain(block).collect()
}

/// What of a tiling is not as sheets that are joined need it: every text and the title block is whole on a
/// sheet, neighbours are joined at the same places, and have crosses in common, far apart and off every text.
fn hold_joined(drawing: &Drawing, words: &Words, windows: &[[f64; 2]], part: Option<&str>) -> Vec<String> {
    const OVERLAP: f64 = 10.0;
    let tiling = tiles(drawing, windows, OVERLAP, part);
    let drawing = &drawing.clone().with_title_block_by(tiling.title_block_by_mm);
    let size = DVec2::from(windows[tiling.window]);
    let part = part.map(|name| drawing.parts.iter().find(|part| part.name == name).unwrap());
    let shown: Vec<Rect> = tiling.tiles.iter().map(|tile| seen(drawing, tile)).collect();
    let mut found = faults(drawing, words);
    found.extend(cut_texts(drawing, words, &shown, part.map(|part| part.rooms.as_slice())));
    found.extend(hold_crosses(drawing, &tiling, size, part.map_or(&[], |part| &part.rooms), 80.0));
    for one in &tiling.tiles {
        let [left, top, right, bottom] = one.joints_mm;
        let inside = |joint: f64, start: f64, size: f64| {
            (start + OVERLAP / 2.0 - EXACT..=start + size - OVERLAP / 2.0 + EXACT).contains(&joint)
        };
        let across = [left, right].iter().all(|joint| inside(*joint, one.left_mm, size.x));
        if !across || ![top, bottom].iter().all(|joint| inside(*joint, one.top_mm, size.y)) {
            found.push(format!("a cross of {one:?} is at its edge"));
        }
        for other in &tiling.tiles {
            let beside = (one.row, one.column + 1) == (other.row, other.column);
            // Rows of another room of the part begin anew.
            let same = part.is_none_or(|part| part.rooms.len() == 1);
            let below = same && (one.row + 1, one.column) == (other.row, other.column);
            if beside && (right - other.joints_mm[0]).abs() > EXACT
                || below && (bottom - other.joints_mm[1]).abs() > EXACT
            {
                found.push(format!("{one:?} and {other:?}"));
            }
        }
    }
    found
}

#[test]
fn every_text_and_the_title_block_is_whole_on_sheets_that_are_joined() {
    let line = harbour_mill();
    for (name, sack) in examples() {
        for what in What::ALL {
            for (unit, words) in READ {
                let given = Given { line: Some(&line), scale: Scale::Joined, unit, ..Given::default() };
                let drawing = draw(&sack, what, &given, &words);
                let names = drawing.parts.iter().map(|part| Some(part.name.as_str()));
                for (windows, part) in
                    WINDOWS.chunks(2).flat_map(|windows| names.clone().chain([None]).map(move |part| (windows, part)))
                {
                    let of = format!("{name} {} {} {part:?}", what.name(), unit.name());
                    assert_eq!(hold_joined(&drawing, &words, windows, part), [""; 0], "{of}");
                }
            }
        }
    }
}

/// No sheet is printed for it alone, and it lies in the frame, off every view.
#[test]
fn a_title_block_stands_on_a_sheet_with_something_else() {
    let line = harbour_mill();
    let (mut moved, mut on_others) = (0, 0);
    for (name, sack) in examples() {
        for what in What::ALL {
            for (unit, words) in READ {
                let given = Given { line: Some(&line), scale: Scale::Joined, unit, ..Given::default() };
                let usual = draw(&sack, what, &given, &words);
                for windows in WINDOWS.chunks(2) {
                    let tiling = tiles(&usual, windows, 10.0, None);
                    let of = format!("{name} {} {}", what.name(), unit.name());
                    let drawing = usual.clone().with_title_block_by(tiling.title_block_by_mm);
                    assert_eq!(drawing.items.len(), usual.items.len(), "{of}");
                    moved += usize::from(drawing.title_block != usual.title_block);
                    let block = Rect { min: drawing.title_block.min - EXACT, max: drawing.title_block.max + EXACT };
                    let of_block = |item: &&Item| {
                        let room = item.room();
                        within(&block, room.min) && within(&block, room.max)
                    };
                    assert!(!drawing.views.iter().any(|view| view.outline.overlaps(&drawing.title_block)), "{of}");
                    let is_frame = |item: &&Item| matches!(item, Item::Line(LineType::Frame, _));
                    let frame = drawing.items.iter().find(is_frame).map(Item::room).unwrap();
                    let frame = Rect { min: frame.min - EXACT, max: frame.max + EXACT };
                    assert!(within(&frame, drawing.title_block.min) && within(&frame, drawing.title_block.max), "{of}");
                    let others: Vec<&Item> =
                        drawing.items.iter().filter(|item| !of_block(item) && !is_frame(item)).collect();
                    let has_other = |shown: &Rect| {
                        others.iter().any(|item| {
                            item.text().is_some_and(|text| text.bounds.overlaps(&TurnedRect::from(*shown)))
                                || item.segments().iter().any(|segment| shown.is_crossed(*segment))
                        })
                    };
                    let shown: Vec<Rect> = tiling.tiles.iter().map(|tile| seen(&drawing, tile)).collect();
                    let (with_others, alone): (Vec<Rect>, Vec<Rect>) = shown.into_iter().partition(has_other);
                    // Alone only where no other sheet has room for it.
                    let rooms = with_others.iter().filter(|_| !alone.is_empty());
                    let found = rooms.filter_map(|room| free_room(&drawing, &others, room, &frame)).next();
                    assert_eq!(found, None, "{of}: a sheet for the title block alone");
                    on_others += usize::from(alone.is_empty());
                }
            }
        }
    }
    assert!(moved > 10 && on_others > 180, "{moved} are moved, {on_others} are on a sheet with something else");
}

/// A place for the title block on a sheet, off all else and off the frame, found by trying every few mm.
fn free_room(drawing: &Drawing, others: &[&Item], sheet: &Rect, frame: &Rect) -> Option<DVec2> {
    const STEP: f64 = 4.0;
    let size = drawing.title_block.size();
    let clear = DVec2::splat(drawing.text_mm + EXACT);
    let (low, high) = (sheet.min.max(frame.min + clear), sheet.max.min(frame.max - clear) - size);
    let count = ((high - low) / STEP).floor();
    let places = (0..=count.x as i32).flat_map(|i| (0..=count.y as i32).map(move |j| DVec2::new(i.into(), j.into())));
    let rooms = || others.iter().map(|item| item.room()).chain(drawing.views.iter().map(|view| view.outline));
    let is_free = |place: &DVec2| {
        let around = Rect { min: *place - clear, max: *place + size + clear };
        !rooms().any(|room| room.overlaps(&around))
    };
    places.map(|place| low + STEP * place).filter(|_| count.min_element() >= 0.0).find(is_free)
}

/// Labels of a large sack have large letters, and yet none is too long for a sheet.
#[test]
fn no_label_of_a_large_sack_is_cut_on_sheets_that_are_joined() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/sacks");
    let mut large = 0;
    for name in ["hydrated-lime-20-kg", "sugar-25-kg", "mineral-salt-50-kg-export"] {
        let text = fs::read_to_string(folder.join(format!("{name}.sack.json"))).unwrap();
        for width in [650.0, 900.0, 1190.0] {
            let mut file: Value = serde_json::from_str(&text).unwrap();
            file["face_width_mm"] = width.into();
            file["artwork"]["barcode"]["width_mm"] = 141.4.into();
            let sack = Sack::read(&file.to_string()).unwrap();
            for what in [What::Sack, What::ValveBottom, What::PlainBottom, What::Artwork] {
                for (unit, words) in READ {
                    let given = Given { scale: Scale::Joined, unit, ..Given::default() };
                    let drawing = draw(&sack, what, &given, &words);
                    large += usize::from(drawing.text_mm >= 14.0);
                    let of = format!("{name} {width} {} {}", what.name(), unit.name());
                    assert_eq!(faults(&drawing, &words), [""; 0], "{of}");
                    for windows in WINDOWS.chunks(2) {
                        let tiling = tiles(&drawing, windows, 10.0, None);
                        let drawing = drawing.clone().with_title_block_by(tiling.title_block_by_mm);
                        let shown: Vec<Rect> = tiling.tiles.iter().map(|tile| seen(&drawing, tile)).collect();
                        assert_eq!(cut_texts(&drawing, &words, &shown, None), [""; 0], "{of}");
                    }
                }
            }
        }
    }
    assert!(large > 18, "{large} drawings with large letters");
}

/// One stands before sheets that are joined, or before one view alone, as near as to one view.
#[test]
fn letters_on_sheets_to_be_joined_are_for_one_view() {
    for (name, sack) in examples() {
        let letters = |what, scale| draw(&sack, what, &Given { scale, ..Given::default() }, &WORDS).text_mm;
        for what in What::ALL {
            let [full, joined] = [Scale::Full, Scale::Joined].map(|scale| letters(what, scale));
            let many = what == What::Sack || what == What::Webs && sack.tube().plies.len() > 1;
            assert!(if many { joined < full } else { joined <= full }, "{name} {}: {joined} of {full}", what.name());
        }
        // The print's template is one web.
        assert_eq!(letters(What::Webs, Scale::Joined), letters(What::Artwork, Scale::Full), "{name}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(4))]

    #[test]
    fn random_sacks_have_crosses_off_their_texts(sack in support::valid_sack(), line in support::maybe_line()) {
        for what in What::ALL {
            let given = Given { line: line.as_ref(), scale: Scale::Joined, ..Given::default() };
            let drawing = draw(&sack, what, &given, &READ[0].1);
            for windows in WINDOWS.chunks(2) {
                let tiling = tiles(&drawing, windows, 10.0, None);
                let drawing = drawing.clone().with_title_block_by(tiling.title_block_by_mm);
                let found = hold_crosses(&drawing, &tiling, DVec2::from(windows[tiling.window]), &[], 12.0);
                prop_assert!(found.is_empty(), "{}: {found:#?}", what.name());
                let shown: Vec<Rect> = tiling.tiles.iter().map(|tile| seen(&drawing, tile)).collect();
                let cut = cut_texts(&drawing, &READ[0].1, &shown, None);
                prop_assert!(cut.is_empty(), "{}: {cut:#?}", what.name());
            }
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    #[test]
    fn random_sacks_are_drawn_without_a_fault(sack in support::valid_sack(), line in support::maybe_line()) {
        for what in What::ALL {
            let drawing = make(&sack, what, line.as_ref());
            let fitted = draw(&sack, what, &Given { line: line.as_ref(), scale: Scale::Fitted, ..Given::default() }, &WORDS);
            for drawing in [&drawing, &fitted] {
                let mut found = faults(drawing, &WORDS);
                found.extend(hold_dimensions(&sack, line.as_ref(), drawing));
                prop_assert!(found.is_empty(), "{}: {found:#?}", what.name());
            }
            for text in [svg(&drawing, &WORDS), dxf(&drawing, &WORDS)] {
                // What a number that is none would be written as.
                prop_assert!(!text.contains("922337203685477"));
            }
        }
    }
}

//! A drawing as DXF, text form, version AC1015 (2000) at 1:1 in mm: model space only.
//!
//! One layer for each type of line, with its line type and weight, one for each hatching, and `DIMENSIONS`, `TEXTS`,
//! `MARKS`. Dimensions are lines, filled arrowheads and text, as drawn; hatchings are lines. Colour 7 throughout: the
//! one ink.

use glam::DVec2;

use super::number::push_number;
use crate::drawing::{Anchor, Drawing, Hatch, Item, LINE_PITCH, LineType, Shape, Text, Words};

/// Handles of what is always there; entities count up from behind them.
const BLOCK_RECORDS: u32 = 0x08;
const MODEL_SPACE: u32 = 0x20;
const PAPER_SPACE: u32 = 0x21;
const FIRST_HANDLE: u32 = 0x100;

/// Writes a drawing.
#[must_use]
pub fn dxf(drawing: &Drawing, words: &Words) -> String {
    let mut out = Dxf { text: String::with_capacity(1 << 16), handle: FIRST_HANDLE };
    for item in &drawing.items {
        out.item(item, words);
    }
    // The head tells the next free handle, so the entities are written first.
    let entities = core::mem::take(&mut out.text);
    out.header(drawing);
    out.tables(drawing);
    out.blocks();
    out.section("ENTITIES");
    out.text.push_str(&entities);
    out.pair(0, "ENDSEC");
    out.objects();
    out.pair(0, "EOF");
    out.text
}

struct Dxf {
    text: String,
    handle: u32,
}

impl Dxf {
    fn pair(&mut self, code: u32, value: &str) {
        self.text.push_str(&code.to_string());
        self.text.push('\n');
        self.text.push_str(value);
        self.text.push('\n');
    }

    fn number(&mut self, code: u32, value: f64) {
        let mut text = String::new();
        push_number(&mut text, value);
        self.pair(code, &text);
    }

    fn whole(&mut self, code: u32, value: u32) {
        self.pair(code, &value.to_string());
    }

    fn link(&mut self, code: u32, handle: u32) {
        self.pair(code, &format!("{handle:X}"));
    }

    /// A point under the code of its x; y and z follow by tens.
    fn point(&mut self, code: u32, point: DVec2) {
        self.number(code, point.x);
        self.number(code + 10, point.y);
        self.number(code + 20, 0.0);
    }

    fn section(&mut self, name: &str) {
        self.pair(0, "SECTION");
        self.pair(2, name);
    }

    fn variable(&mut self, name: &str, code: u32, value: &str) {
        self.pair(9, name);
        self.pair(code, value);
    }

    fn header(&mut self, drawing: &Drawing) {
        self.section("HEADER");
        self.variable("$ACADVER", 1, "AC1015");
        self.variable("$DWGCODEPAGE", 3, "ANSI_1252");
        let next = format!("{:X}", self.handle);
        self.variable("$HANDSEED", 5, &next);
        // Millimetres, metric.
        self.variable("$INSUNITS", 70, "4");
        self.variable("$MEASUREMENT", 70, "1");
        self.variable("$LWDISPLAY", 290, "1");
        for (name, point) in [("$EXTMIN", DVec2::ZERO), ("$EXTMAX", drawing.size_mm)] {
            self.pair(9, name);
            self.point(10, point);
        }
        self.pair(0, "ENDSEC");
        self.section("CLASSES");
        self.pair(0, "ENDSEC");
    }

    /// Opens a table with so many entries.
    fn table(&mut self, name: &str, handle: u32, entries: usize) {
        self.pair(0, "TABLE");
        self.pair(2, name);
        self.link(5, handle);
        self.link(330, 0);
        self.pair(100, "AcDbSymbolTable");
        self.pair(70, &entries.to_string());
    }

    /// Opens an entry of a table.
    fn entry(&mut self, kind: &str, table: u32, handle: u32, class: &str, name: &str) {
        self.pair(0, kind);
        self.link(if kind == "DIMSTYLE" { 105 } else { 5 }, handle);
        self.link(330, table);
        self.pair(100, "AcDbSymbolTableRecord");
        self.pair(100, class);
        self.pair(2, name);
    }

    fn tables(&mut self, drawing: &Drawing) {
        const TABLES: [u32; 8] = [0x01, 0x02, 0x03, 0x04, 0x05, 0x06, 0x07, 0x09];
        let [vport, ltype, layer, style, view, ucs, appid, dimstyle] = TABLES;
        self.section("TABLES");
        self.table("VPORT", vport, 0);
        self.pair(0, "ENDTAB");

        let dashed: Vec<LineType> = LineType::ALL.into_iter().filter(|kind| !kind.dashes().is_empty()).collect();
        self.table("LTYPE", ltype, dashed.len() + 3);
        let mut handle = 0x30;
        for name in ["ByBlock", "ByLayer", "Continuous"] {
            self.line_type(ltype, handle, name, &[]);
            handle += 1;
        }
        for kind in dashed {
            let narrow = drawing.wide_mm() / 2.0;
            let dashes: Vec<f64> = kind.dashes().iter().map(|dash| dash * narrow).collect();
            self.line_type(ltype, handle, &capitals(kind.name()), &dashes);
            handle += 1;
        }
        self.pair(0, "ENDTAB");

        let layers = layers(drawing);
        self.table("LAYER", layer, layers.len());
        for (index, (name, line, width)) in (0x50_u32..).zip(&layers) {
            self.entry("LAYER", layer, index, "AcDbLayerTableRecord", name);
            self.whole(70, 0);
            self.whole(62, 7);
            self.pair(6, line);
            self.whole(370, *width);
        }
        self.pair(0, "ENDTAB");

        self.table("STYLE", style, 1);
        self.entry("STYLE", style, 0x40, "AcDbTextStyleTableRecord", "Standard");
        for (code, value) in
            [(70, "0"), (40, "0"), (41, "1"), (50, "0"), (71, "0"), (42, "2.5"), (3, "arial.ttf"), (4, "")]
        {
            self.pair(code, value);
        }
        self.pair(0, "ENDTAB");
        for (name, handle) in [("VIEW", view), ("UCS", ucs)] {
            self.table(name, handle, 0);
            self.pair(0, "ENDTAB");
        }
        self.table("APPID", appid, 1);
        self.entry("APPID", appid, 0x41, "AcDbRegAppTableRecord", "ACAD");
        self.whole(70, 0);
        self.pair(0, "ENDTAB");
        self.table("DIMSTYLE", dimstyle, 1);
        self.pair(100, "AcDbDimStyleTable");
        self.entry("DIMSTYLE", dimstyle, 0x42, "AcDbDimStyleTableRecord", "Standard");
        self.whole(70, 0);
        self.pair(0, "ENDTAB");
        self.table("BLOCK_RECORD", BLOCK_RECORDS, 2);
        for (name, handle) in SPACES {
            self.entry("BLOCK_RECORD", BLOCK_RECORDS, handle, "AcDbBlockTableRecord", name);
        }
        self.pair(0, "ENDTAB");
        self.pair(0, "ENDSEC");
    }

    fn line_type(&mut self, table: u32, handle: u32, name: &str, dashes: &[f64]) {
        self.entry("LTYPE", table, handle, "AcDbLinetypeTableRecord", name);
        self.whole(70, 0);
        self.pair(3, "");
        self.whole(72, 65);
        self.pair(73, &dashes.len().to_string());
        self.number(40, dashes.iter().sum());
        for (index, dash) in dashes.iter().enumerate() {
            // Gaps are negative.
            self.number(49, if index % 2 == 0 { *dash } else { -dash });
            self.whole(74, 0);
        }
    }

    fn blocks(&mut self) {
        self.section("BLOCKS");
        for (index, (name, record)) in (0_u32..).zip(SPACES) {
            self.pair(0, "BLOCK");
            self.link(5, 0x22 + 2 * index);
            self.link(330, record);
            self.pair(100, "AcDbEntity");
            self.pair(8, "0");
            self.pair(100, "AcDbBlockBegin");
            self.pair(2, name);
            self.whole(70, 0);
            self.point(10, DVec2::ZERO);
            self.pair(3, name);
            self.pair(1, "");
            self.pair(0, "ENDBLK");
            self.link(5, 0x23 + 2 * index);
            self.link(330, record);
            self.pair(100, "AcDbEntity");
            self.pair(8, "0");
            self.pair(100, "AcDbBlockEnd");
        }
        self.pair(0, "ENDSEC");
    }

    fn objects(&mut self) {
        const ROOT: u32 = 0x0C;
        const GROUPS: u32 = 0x0D;
        self.section("OBJECTS");
        for (handle, owner) in [(ROOT, 0), (GROUPS, ROOT)] {
            self.pair(0, "DICTIONARY");
            self.link(5, handle);
            self.link(330, owner);
            self.pair(100, "AcDbDictionary");
            self.whole(281, 1);
            if handle == ROOT {
                self.pair(3, "ACAD_GROUP");
                self.link(350, GROUPS);
            }
        }
        self.pair(0, "ENDSEC");
    }

    fn item(&mut self, item: &Item, words: &Words) {
        match item {
            Item::Line(kind, Shape::Path { points, closed }) => self.path(&capitals(kind.name()), points, *closed),
            Item::Line(kind, Shape::Bow { centre, radius, left }) => {
                self.entity("ARC", &capitals(kind.name()), "AcDbCircle");
                self.point(10, *centre);
                self.number(40, *radius);
                self.pair(100, "AcDbArc");
                let [from, to] = if *left { [90, 270] } else { [270, 90] };
                self.whole(50, from);
                self.whole(51, to);
            }
            Item::Area(area) => {
                let layer = hatch_layer(area.hatch);
                for line in &area.lines {
                    self.line(&layer, *line);
                }
            }
            Item::Mark(mark) => match mark.outline[..] {
                [a, b, c] if mark.kind.filled() => self.solid("MARKS", [a, b, c, c]),
                [a, b, c, d] if mark.kind.filled() => self.solid("MARKS", [a, b, d, c]),
                _ => self.path("MARKS", &mark.outline, true),
            },
            Item::Text(text) => self.words("TEXTS", text, words),
            Item::Dimension(dimension) => {
                for line in dimension.extensions.into_iter().chain([dimension.line]) {
                    self.line("DIMENSIONS", line);
                }
                for [tip, a, b] in dimension.arrows {
                    self.solid("DIMENSIONS", [tip, a, b, b]);
                }
                self.words("DIMENSIONS", &dimension.text, words);
            }
            Item::Angle(angle) => {
                for leg in angle.legs {
                    self.line("DIMENSIONS", leg);
                }
                self.path("DIMENSIONS", &angle.arc, false);
                for [tip, a, b] in angle.arrows {
                    self.solid("DIMENSIONS", [tip, a, b, b]);
                }
                self.words("DIMENSIONS", &angle.text, words);
            }
        }
    }

    fn entity(&mut self, kind: &str, layer: &str, class: &str) {
        self.pair(0, kind);
        self.link(5, self.handle);
        self.handle += 1;
        self.link(330, MODEL_SPACE);
        self.pair(100, "AcDbEntity");
        self.pair(8, layer);
        self.pair(100, class);
    }

    fn line(&mut self, layer: &str, [from, to]: [DVec2; 2]) {
        self.entity("LINE", layer, "AcDbLine");
        self.point(10, from);
        self.point(11, to);
    }

    fn path(&mut self, layer: &str, points: &[DVec2], closed: bool) {
        self.entity("LWPOLYLINE", layer, "AcDbPolyline");
        self.pair(90, &points.len().to_string());
        self.whole(70, u32::from(closed));
        for point in points {
            self.number(10, point.x);
            self.number(20, point.y);
        }
    }

    /// A filled triangle or quadrangle; of the latter the last two corners change places in this format.
    fn solid(&mut self, layer: &str, corners: [DVec2; 4]) {
        self.entity("SOLID", layer, "AcDbTrace");
        for (code, corner) in (10..).zip(corners) {
            self.point(code, corner);
        }
    }

    fn words(&mut self, layer: &str, text: &Text, words: &Words) {
        let align = match text.anchor {
            Anchor::Start => 0,
            Anchor::Middle => 1,
            Anchor::End => 2,
        };
        let down = LINE_PITCH * text.height_mm * -text.along.perp();
        for (index, line) in text.lines(words).iter().enumerate() {
            if line.trim().is_empty() {
                continue;
            }
            let at = text.at + down * index as f64;
            self.entity("TEXT", layer, "AcDbText");
            self.point(10, at);
            self.number(40, text.height_mm);
            self.pair(1, &escaped(line));
            self.number(50, text.angle_deg());
            self.pair(7, "Standard");
            self.whole(72, align);
            if align != 0 {
                self.point(11, at);
            }
            self.pair(100, "AcDbText");
            self.whole(73, 0);
        }
    }
}

const SPACES: [(&str, u32); 2] = [("*Model_Space", MODEL_SPACE), ("*Paper_Space", PAPER_SPACE)];

fn capitals(name: &str) -> String {
    name.to_ascii_uppercase()
}

fn hatch_layer(hatch: Hatch) -> String {
    format!("HATCH-{}", capitals(hatch.name()))
}

/// Name, line type and weight of every layer.
fn layers(drawing: &Drawing) -> Vec<(String, String, u32)> {
    let continuous = || "Continuous".to_owned();
    let (wide, narrow) = (weight(drawing.wide_mm()), weight(drawing.wide_mm() / 2.0));
    let mut layers = vec![("0".to_owned(), continuous(), narrow)];
    for kind in LineType::ALL {
        let line = if kind.dashes().is_empty() { continuous() } else { capitals(kind.name()) };
        layers.push((capitals(kind.name()), line, if kind.wide() { wide } else { narrow }));
    }
    for hatch in Hatch::ALL {
        layers.push((hatch_layer(hatch), continuous(), narrow));
    }
    layers.extend(["DIMENSIONS", "TEXTS", "MARKS"].map(|name| (name.to_owned(), continuous(), narrow)));
    layers
}

/// The weight that the format has nearest to a width in mm, in hundredths of a millimetre.
fn weight(width_mm: f64) -> u32 {
    const WEIGHTS: [u32; 23] =
        [5, 9, 13, 15, 18, 20, 25, 30, 35, 40, 50, 53, 60, 70, 80, 90, 100, 106, 120, 140, 158, 200, 211];
    let off = |weight: &u32| (f64::from(*weight) - 100.0 * width_mm).abs();
    WEIGHTS.into_iter().min_by(|a, b| off(a).total_cmp(&off(b))).unwrap_or(25)
}

/// Text in this version's single-byte form: other letters by their number, the format's own signs apart.
fn escaped(text: &str) -> String {
    let mut out = String::new();
    for character in text.chars() {
        match character {
            '^' => out.push_str("^ "),
            '%' => out.push_str(if out.ends_with('%') { " %" } else { "%" }),
            ' '..='~' => out.push(character),
            character if character.is_control() => out.push(' '),
            '\u{80}'..='\u{ffff}' => out.push_str(&format!("\\U+{:04X}", u32::from(character))),
            // The form has four digits.
            _ => out.push('?'),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn letters_beyond_ascii_are_written_by_number() {
        assert_eq!(escaped("80 g/m² \u{1}^"), "80 g/m\\U+00B2  ^ ");
        assert_eq!(escaped("100 %%d"), "100 % %d");
    }

    #[test]
    fn weights_are_those_of_the_format() {
        assert_eq!([0.25, 0.125, 0.5, 2.8].map(weight), [25, 13, 50, 211]);
    }
}

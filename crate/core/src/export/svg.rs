//! A drawing as SVG 1.1 at 1:1: user units are mm, text stays text.
//!
//! It stands alone by presentation attributes; on a page, CSS may override them by class (`edge`, `behind`, `centre`,
//! `crease`, `adjacent`, `thin`, `frame`; `hatch` with its kind; `mark` with its kind; `dimension`, `text`, `sheet`).
//! Every dimension is a group with `data-dim` (its name), `data-value` (mm), `data-measures` (key of the field or
//! figure) and `data-place`; the line of class `measured` in it runs between the two points measured. An angle's is a
//! group of class `angle` besides, its value in degrees.

use glam::DVec2;

use super::number::push_number;
use crate::drawing::{
    Anchor, AngleDimension, Dimension, Drawing, Hatch, Item, LINE_PITCH, LineType, MarkKind, Shape, Text, Words,
    font_size_mm,
};

const INK: &str = "#000";
const PAPER: &str = "#fff";

/// Writes a drawing.
#[must_use]
pub fn svg(drawing: &Drawing, words: &Words) -> String {
    let mut out = Svg { text: String::with_capacity(1 << 15), height: drawing.size_mm.y };
    let (width, height) = (Number(drawing.size_mm.x), Number(drawing.size_mm.y));
    out.add("<svg xmlns=\"http://www.w3.org/2000/svg\" version=\"1.1\" role=\"img\"");
    for (name, value, unit) in [("width", &width, "mm"), ("height", &height, "mm")] {
        out.add(&format!(" {name}=\"{}{unit}\"", value.text()));
    }
    out.add(&format!(" viewBox=\"0 0 {} {}\" data-drawing=\"{}\"", width.text(), height.text(), drawing.what.name()));
    out.add(" font-family=\"Arial, Helvetica, 'Liberation Sans', sans-serif\">\n<title>");
    out.escaped(&(words.message)(&drawing.title));
    out.add("</title>\n<desc>");
    out.escaped(&(words.message)(&drawing.description));
    out.add("</desc>\n");
    out.add(&format!(
        "<rect class=\"sheet\" width=\"{}\" height=\"{}\" fill=\"{PAPER}\"/>\n",
        width.text(),
        height.text()
    ));
    out.areas(drawing);
    out.lines(drawing);
    out.marks(drawing);
    let narrow = drawing.wide_mm() / 2.0;
    out.group("dimensions", narrow, &[]);
    for dimension in drawing.dimensions() {
        out.dimension(dimension, words);
    }
    for item in &drawing.items {
        if let Item::Angle(angle) = item {
            out.angle(angle, words);
        }
    }
    out.add("</g>\n<g class=\"texts\" fill=\"#000\">\n");
    for item in &drawing.items {
        if let Item::Text(text) = item {
            out.words(text, words);
        }
    }
    out.add("</g>\n</svg>\n");
    out.text
}

struct Svg {
    text: String,
    /// Height of the drawing: y runs downwards in SVG.
    height: f64,
}

/// A number with at most three decimals: a thousandth of a millimetre.
struct Number(f64);

impl Number {
    fn text(&self) -> String {
        let mut text = String::new();
        push_number(&mut text, self.0);
        text
    }
}

impl Svg {
    fn add(&mut self, text: &str) {
        self.text.push_str(text);
    }

    /// Text between tags or quotes; what XML 1.0 can't hold becomes a space.
    fn escaped(&mut self, text: &str) {
        for character in text.chars() {
            match character {
                '&' => self.add("&amp;"),
                '<' => self.add("&lt;"),
                '>' => self.add("&gt;"),
                '"' => self.add("&quot;"),
                character if character.is_control() || matches!(character, '\u{fffe}' | '\u{ffff}') => self.add(" "),
                character => self.text.push(character),
            }
        }
    }

    fn number(&mut self, value: f64) {
        push_number(&mut self.text, value);
    }

    fn point(&mut self, point: DVec2) {
        self.number(point.x);
        self.text.push(' ');
        self.number(self.height - point.y);
    }

    fn path(&mut self, points: &[DVec2], closed: bool) {
        for (index, point) in points.iter().enumerate() {
            self.add(if index == 0 { "M" } else { "L" });
            self.point(*point);
        }
        if closed {
            self.add("Z");
        }
    }

    fn group(&mut self, class: &str, width: f64, dashes: &[f64]) {
        self.add(&format!("<g class=\"{class}\" fill=\"none\" stroke=\"{INK}\" stroke-width=\""));
        self.number(width);
        self.add("\"");
        if !dashes.is_empty() {
            self.add(" stroke-dasharray=\"");
            for (index, dash) in dashes.iter().enumerate() {
                if index > 0 {
                    self.add(" ");
                }
                self.number(dash * width);
            }
            self.add("\"");
        }
        self.add(">\n");
    }

    fn areas(&mut self, drawing: &Drawing) {
        for hatch in Hatch::ALL {
            let mut areas = drawing
                .items
                .iter()
                .filter_map(|item| match item {
                    Item::Area(area) if area.hatch == hatch => Some(area),
                    _ => None,
                })
                .peekable();
            if areas.peek().is_none() {
                continue;
            }
            self.group(&format!("hatch {}", hatch.name()), drawing.wide_mm() / 2.0, &[]);
            for area in areas {
                self.add("<path d=\"");
                for line in &area.lines {
                    self.path(line, false);
                }
                self.add("\"/>\n");
            }
            self.add("</g>\n");
        }
    }

    fn lines(&mut self, drawing: &Drawing) {
        for kind in LineType::ALL {
            let narrow = drawing.wide_mm() / 2.0;
            let width = if kind.wide() { drawing.wide_mm() } else { narrow };
            self.group(kind.name(), width, kind.dashes());
            for item in &drawing.items {
                let Item::Line(other, shape) = item else { continue };
                if *other != kind {
                    continue;
                }
                self.add("<path d=\"");
                match shape {
                    Shape::Path { points, closed } => self.path(points, *closed),
                    Shape::Bow { centre, radius, left } => {
                        let up = DVec2::new(0.0, *radius);
                        self.add("M");
                        self.point(*centre + up);
                        self.add("A");
                        self.number(*radius);
                        self.add(" ");
                        self.number(*radius);
                        // From the top, to the left is against the clock.
                        self.add(if *left { " 0 0 0 " } else { " 0 0 1 " });
                        self.point(*centre - up);
                    }
                }
                self.add("\"/>\n");
            }
            self.add("</g>\n");
        }
    }

    fn marks(&mut self, drawing: &Drawing) {
        self.group("marks", drawing.wide_mm() / 2.0, &[]);
        for item in &drawing.items {
            if let Item::Mark(mark) = item {
                self.filled(mark.kind, &mark.outline);
            }
        }
        self.add("</g>\n");
    }

    fn filled(&mut self, kind: MarkKind, outline: &[DVec2]) {
        let fill = if kind.filled() { INK } else { PAPER };
        self.add(&format!("<path class=\"mark {}\" fill=\"{fill}\" d=\"", kind.name()));
        self.path(outline, true);
        self.add("\"/>\n");
    }

    fn dimension(&mut self, dimension: &Dimension, words: &Words) {
        self.add(&format!("<g class=\"dimension\" data-dim=\"{}\" data-value=\"", dimension.id));
        self.number(dimension.value_mm);
        self.add(&format!("\" data-measures=\"{}\" data-place=\"{}\">\n", dimension.measures, dimension.place.name()));
        let (from, to) = (dimension.from, dimension.to);
        self.add("<path d=\"");
        for extension in &dimension.extensions {
            self.path(extension, false);
        }
        // What of the dimension line goes on beyond the points measured.
        for end in dimension.line {
            let near = if end.distance_squared(from) < end.distance_squared(to) { from } else { to };
            if end != near {
                self.path(&[near, end], false);
            }
        }
        self.add("\"/>\n<line class=\"measured\"");
        for (name, value) in [("x1", from.x), ("y1", self.height - from.y), ("x2", to.x), ("y2", self.height - to.y)] {
            self.add(&format!(" {name}=\""));
            self.number(value);
            self.add("\"");
        }
        self.add(&format!("/>\n<path class=\"arrow\" fill=\"{INK}\" stroke=\"none\" d=\""));
        for arrow in &dimension.arrows {
            self.path(arrow, true);
        }
        self.add("\"/>\n");
        self.words(&dimension.text, words);
        self.add("</g>\n");
    }

    fn angle(&mut self, angle: &AngleDimension, words: &Words) {
        self.add(&format!("<g class=\"angle dimension\" data-dim=\"{}\" data-value=\"", angle.id));
        self.number(angle.value_deg);
        self.add(&format!("\" data-measures=\"{}\" data-place=\"{}\">\n", angle.measures, angle.place.name()));
        self.add("<path d=\"");
        for leg in &angle.legs {
            self.path(leg, false);
        }
        self.path(&angle.arc, false);
        self.add(&format!("\"/>\n<path class=\"arrow\" fill=\"{INK}\" stroke=\"none\" d=\""));
        for arrow in &angle.arrows {
            self.path(arrow, true);
        }
        self.add("\"/>\n");
        self.words(&angle.text, words);
        self.add("</g>\n");
    }

    fn words(&mut self, text: &Text, words: &Words) {
        let anchor = match text.anchor {
            Anchor::Start => "start",
            Anchor::Middle => "middle",
            Anchor::End => "end",
        };
        let lines = text.lines(words);
        let (x, y) = (text.at.x, self.height - text.at.y);
        self.add(&format!("<text class=\"text\" fill=\"{INK}\" stroke=\"none\" text-anchor=\"{anchor}\" font-size=\""));
        self.number(font_size_mm(text.height_mm));
        self.add("\" x=\"");
        self.number(x);
        self.add("\" y=\"");
        self.number(y);
        self.add("\"");
        if text.along != DVec2::X {
            self.add(" transform=\"rotate(");
            self.number(-text.angle_deg());
            self.add(" ");
            self.number(x);
            self.add(" ");
            self.number(y);
            self.add(")\"");
        }
        self.add(">");
        if let [line] = &lines[..] {
            self.escaped(line);
        } else {
            for (index, line) in lines.iter().enumerate() {
                self.add("<tspan x=\"");
                self.number(x);
                self.add("\" y=\"");
                self.number(y + index as f64 * LINE_PITCH * text.height_mm);
                self.add("\">");
                self.escaped(line);
                self.add("</tspan>");
            }
        }
        self.add("</text>\n");
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_can_t_break_the_file() {
        let mut svg = Svg { text: String::new(), height: 0.0 };
        svg.escaped("<a & \"b\">\u{1}\u{0}c");
        assert_eq!(svg.text, "&lt;a &amp; &quot;b&quot;&gt;  c");
    }
}

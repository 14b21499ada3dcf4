//! One view: its geometry, and dimensions and labels set around and into it so that no text lies on a line or on another
//! text.
//!
//! Dimensions stand in rows (above, below) and columns (left, right) outside the geometry, the shorter ones nearer to
//! it. Each is tried row by row, with its number in the middle, shifted, or beside a dimension line too short for it,
//! until neither its number nor its lines collide with what is there. One that finds no room begins anew as the first.
//! A dimension aslant is aligned with the edge that it measures, as near to it as there is room, and crosses as few lines
//! as can be.
//! A label stands in its area when the area has room for it, else at the nearest free place with a leader.

use core::mem;

use glam::DVec2;

use super::rect::{HalfPlane, half_planes, split};
use super::text::{self, FALL, LINE_PITCH, RISE};
use super::{
    Anchor, AngleDimension, Area, Dimension, Given, Hatch, Item, LineType, Mark, MarkKind, Rect, Said, Shape, Text,
    TurnedRect, View, Words, hatch,
};
use crate::finding::{Message, Place};
use crate::tolerance::EXACT_MM;
use crate::units::{Dimension as Unit, quantity};

/// All in heights of the letters.
const FIRST_ROW: f64 = 2.4;
const ROW_PITCH: f64 = 2.3;
const ARROW: f64 = 1.0;
const ARROW_HALF_WIDTH: f64 = 0.17;
/// Number above its dimension line.
const ABOVE_LINE: f64 = 0.55;
/// Extension line from the part, and beyond the dimension line.
const EXTENSION_GAP: f64 = 0.3;
const EXTENSION_PAST: f64 = 0.5;
/// Free room round a text.
const CLEAR: f64 = 0.2;
/// A label with a leader rather crosses so many lines than to stand on hatching.
const HATCHED: usize = 4;
/// A leader that costs more than so long a one in the open is too far off for words in one or two lines.
const FAR: f64 = 14.0;
/// Of a label's lines the shortest is at least this share of the longest.
const EVEN: f64 = 0.4;
/// Titles of views are so much higher than other texts.
const TITLE: f64 = 1.4;
const FOLD_MARK: f64 = 0.8;

/// mm. What is smaller is not dimensioned: there is nothing to see.
const LEAST_MM: f64 = 0.05;

/// Radii tried for an angle's dimension.
const ANGLE_RADII: u32 = 16;
/// Rows tried on a side, and new beginnings.
const ROWS: usize = 24;
const ALIGNED_ROWS: u32 = 24;
/// Places for a number on its line.
const VARIANTS: usize = 5;
const BEGINNINGS: usize = 40;

/// The side of the geometry on which a dimension stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Side {
    Above,
    Below,
    Left,
    Right,
}

impl Side {
    const fn opposite(self) -> Self {
        match self {
            Self::Above => Self::Below,
            Self::Below => Self::Above,
            Self::Left => Self::Right,
            Self::Right => Self::Left,
        }
    }

    /// Along the side, and out from the geometry's room.
    const fn frame(self, room: &Rect) -> Frame {
        let (origin, along, out) = match self {
            Self::Above => (DVec2::new(0.0, room.max.y), DVec2::X, DVec2::Y),
            Self::Below => (DVec2::new(0.0, room.min.y), DVec2::X, DVec2::NEG_Y),
            Self::Left => (DVec2::new(room.min.x, 0.0), DVec2::Y, DVec2::NEG_X),
            Self::Right => (DVec2::new(room.max.x, 0.0), DVec2::Y, DVec2::X),
        };
        Frame { origin, along, out }
    }
}

/// Where a dimension is set: along the direction in which its number is read, and out from what it measures.
struct Frame {
    origin: DVec2,
    along: DVec2,
    out: DVec2,
}

impl Frame {
    /// Of a dimension aligned with an edge, outwards: its number is read from below, or from the right where it stands
    /// rather upright.
    fn aligned([from, to]: [DVec2; 2], out: DVec2) -> Self {
        let along = (to - from).normalize_or_zero();
        let forwards = if along.x.abs() >= along.y.abs() { along.x } else { along.y };
        let along = if forwards < 0.0 { -along } else { along };
        let outwards = along.perp();
        Self { origin: from, along, out: if outwards.dot(out) < 0.0 { -outwards } else { outwards } }
    }

    fn point(&self, along: f64, out: f64) -> DVec2 {
        self.origin + self.along * along + self.out * out
    }

    /// How far along and how far out a point is.
    fn along_out(&self, point: DVec2) -> (f64, f64) {
        let from = point - self.origin;
        (from.dot(self.along), from.dot(self.out))
    }

    /// Whether numbers, which stand above their line as it is read, are farther out than the line.
    fn numbers_outwards(&self) -> bool {
        self.along.perp().dot(self.out) > 0.0
    }
}

/// Which part of an area is hatched.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Part {
    Within,
    Without,
}

/// An edge that may be measured, the way out from it, and how far it is that way to where a dimension may begin, mm.
pub(super) type Measured = ([DVec2; 2], DVec2, f64);

/// Where a dimension may stand.
enum Stand {
    /// In the rows or columns of a side, or of the side opposite.
    Beside(Side, [DVec2; 2]),
    /// Along one of these edges, which are as long.
    Aligned(Vec<Measured>),
}

struct Wanted {
    stand: Stand,
    measures: String,
    value_mm: f64,
    place: Place,
}

struct Label {
    message: Message,
    /// Where its leader may end; the first is where its text should be.
    targets: Vec<DVec2>,
    area: Vec<DVec2>,
}

/// A label with a leader.
struct Beside {
    /// How far it is from good, mm.
    cost: f64,
    /// Whether it is among dimensions.
    is_stray: bool,
    items: Vec<Item>,
}

/// A small open square on its corner.
pub(super) fn notch(at: DVec2, h: f64) -> Mark {
    let outline = [DVec2::X, DVec2::Y, DVec2::NEG_X, DVec2::NEG_Y].map(|way| at + way * 0.38 * h);
    Mark { kind: MarkKind::Notch, outline: outline.to_vec() }
}

/// Text of a message that stands by itself.
pub(super) fn text(words: &Words, message: Message, at: DVec2, height_mm: f64, room_mm: Option<f64>) -> Text {
    let mut text = Text {
        said: Said::Message(message),
        at,
        anchor: Anchor::Start,
        along: DVec2::X,
        height_mm,
        room_mm,
        bounds: Rect::EMPTY.into(),
    };
    text.measure(words);
    text
}

impl Text {
    fn measure(&mut self, words: &Words) {
        let lines = self.lines(words);
        let h = self.height_mm;
        let width = lines.iter().map(|line| text::width_mm(line, h)).fold(0.0, f64::max);
        let start = match self.anchor {
            Anchor::Start => 0.0,
            Anchor::Middle => -width / 2.0,
            Anchor::End => -width,
        };
        let below = (lines.len() as f64 - 1.0) * LINE_PITCH * h + FALL * h;
        let bounds = Rect::new(DVec2::new(start, -below), DVec2::new(start + width, RISE * h));
        self.bounds = TurnedRect::new(bounds, self.along, self.at);
    }

    /// A copy elsewhere.
    pub(super) fn moved(mut self, by: DVec2) -> Self {
        self.at += by;
        self.bounds = self.bounds.moved(by);
        self
    }
}

impl Dimension {
    fn segments(&self) -> Vec<[DVec2; 2]> {
        let mut pieces = self.extensions.to_vec();
        pieces.push(self.line);
        pieces.extend(self.arrows.iter().flat_map(|arrow| path(arrow, true)));
        pieces
    }
}

impl AngleDimension {
    fn segments(&self) -> Vec<[DVec2; 2]> {
        let arrows = self.arrows.iter().flat_map(|arrow| path(arrow, true));
        self.legs.into_iter().chain(path(&self.arc, false)).chain(arrows).collect()
    }
}

/// The pieces of a path.
fn path(points: &[DVec2], closed: bool) -> Vec<[DVec2; 2]> {
    let mut pieces: Vec<[DVec2; 2]> = points.windows(2).map(|pair| [pair[0], pair[1]]).collect();
    if let (true, Some(&first), Some(&last)) = (closed, points.first(), points.last()) {
        pieces.push([last, first]);
    }
    pieces
}

impl Item {
    /// Everything of it that is drawn as a line, in straight pieces.
    #[must_use]
    pub fn segments(&self) -> Vec<[DVec2; 2]> {
        match self {
            Self::Line(_, Shape::Path { points, closed }) => path(points, *closed),
            Self::Line(_, Shape::Bow { centre, radius, left }) => path(&bow_points(*centre, *radius, *left), false),
            Self::Area(area) => area.lines.clone(),
            Self::Mark(mark) => path(&mark.outline, true),
            Self::Text(_) => Vec::new(),
            Self::Dimension(dimension) => dimension.segments(),
            Self::Angle(angle) => angle.segments(),
        }
    }

    /// Its text, if it has one.
    #[must_use]
    pub fn text(&self) -> Option<&Text> {
        match self {
            Self::Text(text) => Some(text),
            Self::Dimension(dimension) => Some(&dimension.text),
            Self::Angle(angle) => Some(&angle.text),
            Self::Line(..) | Self::Area(_) | Self::Mark(_) => None,
        }
    }

    /// The room that it takes.
    #[must_use]
    pub fn room(&self) -> Rect {
        let lines = self.segments().iter().fold(Rect::EMPTY, |room, [a, b]| room.with(*a).with(*b));
        let area = match self {
            Self::Area(area) => Rect::around(&area.outline),
            _ => Rect::EMPTY,
        };
        self.text().map_or(lines, |text| lines.join(text.bounds.upright())).join(area)
    }

    /// The same elsewhere.
    pub(super) fn moved(self, by: DVec2) -> Self {
        let all = |points: Vec<DVec2>| points.into_iter().map(|point| point + by).collect();
        match self {
            Self::Line(kind, Shape::Path { points, closed }) => {
                Self::Line(kind, Shape::Path { points: all(points), closed })
            }
            Self::Line(kind, Shape::Bow { centre, radius, left }) => {
                Self::Line(kind, Shape::Bow { centre: centre + by, radius, left })
            }
            Self::Area(area) => Self::Area(Area {
                hatch: area.hatch,
                outline: all(area.outline),
                lines: area.lines.into_iter().map(|line| line.map(|point| point + by)).collect(),
            }),
            Self::Mark(mark) => Self::Mark(Mark { kind: mark.kind, outline: all(mark.outline) }),
            Self::Text(text) => Self::Text(text.moved(by)),
            Self::Dimension(dimension) => Self::Dimension(Box::new(Dimension {
                from: dimension.from + by,
                to: dimension.to + by,
                extensions: dimension.extensions.map(|line| line.map(|point| point + by)),
                line: dimension.line.map(|point| point + by),
                arrows: dimension.arrows.map(|arrow| arrow.map(|point| point + by)),
                text: dimension.text.moved(by),
                ..*dimension
            })),
            Self::Angle(angle) => Self::Angle(Box::new(AngleDimension {
                apex: angle.apex + by,
                from: angle.from + by,
                to: angle.to + by,
                legs: angle.legs.map(|line| line.map(|point| point + by)),
                arc: all(angle.arc),
                arrows: angle.arrows.map(|arrow| arrow.map(|point| point + by)),
                text: angle.text.moved(by),
                ..*angle
            })),
        }
    }
}

fn bow_points(centre: DVec2, radius: f64, left: bool) -> Vec<DVec2> {
    const PIECES: u32 = 16;
    let sign = if left { -1.0 } else { 1.0 };
    let point = |piece: u32| {
        let (sine, cosine) = libm::sincos(core::f64::consts::PI * (f64::from(piece) / f64::from(PIECES) - 0.5));
        centre + radius * DVec2::new(sign * cosine, sine)
    };
    (0..=PIECES).map(point).collect()
}

/// What is already there.
#[derive(Default)]
struct Taken {
    texts: Vec<TurnedRect>,
    lines: Vec<[DVec2; 2]>,
    /// Those of the lines that lead to labels.
    leaders: Vec<[DVec2; 2]>,
    /// Side, row, and from where to where.
    rows: Vec<(Side, usize, f64, f64)>,
    /// Dimension lines, and the strips that they and their numbers take out from the geometry.
    measured: Vec<([DVec2; 2], Rect)>,
    /// Hatched areas.
    hatched: Vec<Vec<DVec2>>,
}

impl Taken {
    fn free(&self, text: &TurnedRect) -> bool {
        !self.texts.iter().any(|other| other.overlaps(text)) && !self.lines.iter().any(|line| text.is_crossed(*line))
    }

    /// Whether a text stands on hatching, to which its words would be taken to belong.
    fn on_hatching(&self, text: &TurnedRect) -> bool {
        let corners = text.corners();
        let points = [corners.as_slice(), &[(corners[0] + corners[2]) / 2.0]].concat();
        self.hatched.iter().any(|area| points.iter().any(|point| is_within(*point, area)))
    }

    fn clear_of_texts(&self, line: [DVec2; 2]) -> bool {
        !self.texts.iter().any(|text| text.is_crossed(line))
    }

    fn has_room_for(&self, dimension: &Dimension) -> bool {
        self.free(&dimension.text.bounds) && dimension.segments().into_iter().all(|piece| self.clear_of_texts(piece))
    }

    /// How many lines a dimension crosses, those that its line runs close to several times, and a hatched ground as
    /// often as a label's.
    fn crossings(&self, dimension: &Dimension, h: f64) -> usize {
        const CLOSE: usize = 4;
        let [a, b] = dimension.line;
        let (along, middle) = ((b - a).normalize_or_zero(), (a + b) / 2.0);
        let half = DVec2::new(a.distance(b) / 2.0, CLEAR * h);
        let near = TurnedRect::new(Rect::new(-half, half), along, middle);
        let pieces = [dimension.line, dimension.extensions[0], dimension.extensions[1]];
        let hatched = if self.on_hatching(&dimension.text.bounds) { HATCHED } else { 0 };
        let count = |line: &[DVec2; 2]| {
            let crossed = pieces.iter().filter(|piece| crosses(**piece, *line)).count();
            if crossed == 0 && near.is_crossed(*line) { CLOSE } else { crossed }
        };
        hatched + self.lines.iter().map(count).sum::<usize>()
    }
}

/// A view that is being drawn, in coordinates of its own.
pub(super) struct Draft<'a> {
    words: &'a Words<'a>,
    key: String,
    title: Message,
    /// Height of the letters, mm.
    pub h: f64,
    items: Vec<Item>,
    wanted: Vec<Wanted>,
    labels: Vec<Label>,
    pub ends: Vec<Rect>,
    /// No label is longer, mm: it stands in lines.
    longest_mm: f64,
}

/// A finished view, in its own coordinates: its origin lies on its centre lines.
pub(super) struct Block {
    pub items: Vec<Item>,
    /// Above all else.
    pub title: Text,
    pub room: Rect,
    pub view: View,
    /// Labels for which there was no room.
    pub left_over: Vec<Message>,
    /// All of it without the title.
    pub drawn: Rect,
    /// Its ends, where it has some that are wanted alone.
    pub ends: Vec<Rect>,
}

impl Block {
    /// Sets the title anew, no higher and in lines no longer than that, mm.
    pub(super) fn limit_title(&mut self, words: &Words, height_mm: f64, room_mm: f64) {
        let message = self.view.title.clone();
        let title = text(words, message, self.title.at, self.title.height_mm.min(height_mm), Some(room_mm));
        let rise = self.title.bounds.upright().min.y - title.bounds.upright().min.y;
        self.title = title.moved(DVec2::new(0.0, rise));
        self.room = self.drawn.join(self.title.bounds.upright());
    }
}

impl<'a> Draft<'a> {
    pub(super) fn new(given: &Given, words: &'a Words<'a>, h: f64, key: impl Into<String>, title: Message) -> Self {
        let (items, wanted, labels, ends) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
        let longest_mm = given.scale.longest_line_mm();
        Self { words, key: key.into(), title, h, items, wanted, labels, ends, longest_mm }
    }

    pub(super) fn line(&mut self, kind: LineType, points: &[DVec2]) {
        self.items.push(Item::Line(kind, Shape::Path { points: points.to_vec(), closed: false }));
    }

    pub(super) fn polygon(&mut self, kind: LineType, points: &[DVec2]) {
        self.items.push(Item::Line(kind, Shape::Path { points: points.to_vec(), closed: true }));
    }

    pub(super) fn bow(&mut self, kind: LineType, centre: DVec2, radius: f64, left: bool) {
        self.items.push(Item::Line(kind, Shape::Bow { centre, radius, left }));
    }

    /// A line that lies behind where it is inside of the half planes.
    pub(super) fn line_behind(&mut self, kind: LineType, segment: [DVec2; 2], cover: &[HalfPlane]) {
        let (seen, behind) = split(segment, cover);
        for part in seen {
            self.line(kind, &part);
        }
        if let Some(part) = behind {
            self.line(LineType::Behind, &part);
        }
    }

    pub(super) fn area(&mut self, hatch: Hatch, outline: &[DVec2]) {
        let lines = hatch::lines(hatch, outline, self.h);
        self.items.push(Item::Area(Area { hatch, outline: outline.to_vec(), lines }));
    }

    /// An area of which only what lies in, or what does not lie in, a convex polygon is hatched.
    pub(super) fn area_part(&mut self, hatch: Hatch, outline: &[DVec2], part: Part, polygon: &[DVec2]) {
        let lines = hatch::lines(hatch, outline, self.h);
        let planes = half_planes(polygon);
        let lines = match part {
            Part::Within => hatch::within(lines, &planes),
            Part::Without => hatch::without(lines, &planes),
        };
        self.items.push(Item::Area(Area { hatch, outline: outline.to_vec(), lines }));
    }

    /// A sign on a crease: a small triangle that stands on it at `at`; `up` is across the crease.
    pub(super) fn fold_mark(&mut self, kind: MarkKind, at: DVec2, up: DVec2) {
        let size = FOLD_MARK * self.h;
        let along = up.perp() * (size * 0.45);
        self.items.push(Item::Mark(Mark { kind, outline: vec![at + along, at - along, at + up * size] }));
    }

    /// The mark of a pocket's corner.
    pub(super) fn notch(&mut self, at: DVec2) {
        self.items.push(Item::Mark(notch(at, self.h)));
    }

    pub(super) fn mark(&mut self, kind: MarkKind, outline: Vec<DVec2>) {
        self.items.push(Item::Mark(Mark { kind, outline }));
    }

    /// Wants a dimension between two points on a side: horizontal above and below, vertical left and right.
    pub(super) fn measure(
        &mut self,
        side: Side,
        [from, to]: [DVec2; 2],
        measures: impl Into<String>,
        value_mm: f64,
        place: Place,
    ) {
        if value_mm.abs() >= LEAST_MM {
            let stand = Stand::Beside(side, [from, to]);
            self.wanted.push(Wanted { stand, measures: measures.into(), value_mm, place });
        }
    }

    /// Wants a dimension along one of some edges, which are as long.
    pub(super) fn measure_along(
        &mut self,
        edges: Vec<Measured>,
        measures: impl Into<String>,
        value_mm: f64,
        place: Place,
    ) {
        if value_mm.abs() >= LEAST_MM {
            self.wanted.push(Wanted { stand: Stand::Aligned(edges), measures: measures.into(), value_mm, place });
        }
    }

    /// Sets the dimension of the angle between two directions (of length 1, the first to be turned by `turn_deg` against
    /// the clock) into what is drawn already, at the least radius from `radius` on where its number is free.
    pub(super) fn measure_angle(
        &mut self,
        apex: DVec2,
        (direction, turn_deg): (DVec2, f64),
        radius: f64,
        (measures, value_deg): (String, f64),
        place: Place,
    ) {
        let taken: Vec<[DVec2; 2]> =
            self.items.iter().filter(|item| !matches!(item, Item::Area(_))).flat_map(Item::segments).collect();
        for step in 0..ANGLE_RADII {
            let radius = radius + 0.5 * self.h * f64::from(step);
            for beyond in [1.0, -1.0] {
                let angle = self.try_angle(apex, (direction, turn_deg), radius, beyond, (&measures, value_deg), place);
                let room = angle.text.bounds.grown(CLEAR * self.h);
                if !taken.iter().chain(&angle.segments()).any(|line| room.is_crossed(*line)) {
                    self.items.push(Item::Angle(Box::new(angle)));
                    return;
                }
            }
        }
    }

    /// The dimension at a radius, its number beyond the second leg (1) or before the first (-1).
    fn try_angle(
        &self,
        apex: DVec2,
        (direction, turn_deg): (DVec2, f64),
        radius: f64,
        beyond: f64,
        (measures, value_deg): (&str, f64),
        place: Place,
    ) -> AngleDimension {
        let h = self.h;
        let turn = turn_deg.to_radians();
        let sense = turn.signum();
        let way = |angle: f64| {
            let (sine, cosine) = libm::sincos(angle);
            DVec2::new(cosine, sine).rotate(direction)
        };
        let at = |angle: f64, radius: f64| apex + way(angle) * radius;
        let along = |angle: f64| way(angle).perp() * sense;
        let inside = turn.abs() * radius >= 2.8 * ARROW * h;
        let tail = sense * 2.0 * ARROW * h / radius;
        let (before, after) = match (inside, beyond > 0.0) {
            (false, _) => (tail, tail),
            (true, true) => (0.0, tail),
            (true, false) => (tail, 0.0),
        };
        let (start, end) = (-before, turn + after);
        let pieces = ((end - start).abs() / 0.03).ceil().max(2.0);
        let arc =
            (0..=pieces as u32).map(|piece| at(start + (end - start) * f64::from(piece) / pieces, radius)).collect();
        let arrow = |angle: f64, inwards: f64| {
            let foot = at(angle, radius) + along(angle) * (inwards * ARROW * h);
            let half = way(angle) * (ARROW_HALF_WIDTH * h);
            [at(angle, radius), foot + half, foot - half]
        };
        let inwards = if inside { 1.0 } else { -1.0 };
        let value = quantity(Unit::Angle, value_deg.abs());
        let text = text(self.words, Message::new("drawing.field.value").with("value", value), DVec2::ZERO, h, None);
        let (last, onwards) = if beyond > 0.0 { (end, along(end)) } else { (start, -along(start)) };
        let bounds = text.bounds.upright();
        let half = onwards.abs().dot(bounds.size()) / 2.0;
        let shift = (at(last, radius) + onwards * (half + 0.4 * h)) - bounds.middle();
        let text = text.moved(shift);
        let leg = |angle: f64| [apex, at(angle, radius + EXTENSION_PAST * h)];
        AngleDimension {
            id: format!("{}.{measures}", self.key),
            measures: measures.to_string(),
            value_deg,
            place,
            apex,
            from: at(0.0, radius),
            to: at(turn, radius),
            legs: [leg(0.0), leg(turn)],
            arc,
            arrows: [arrow(0.0, inwards), arrow(turn, -inwards)],
            text,
        }
    }

    /// Wants a label for an area (a polygon), near to `target`, which lies in it.
    pub(super) fn label(&mut self, message: Message, target: DVec2, area: &[DVec2]) {
        self.label_at(message, vec![target], area);
    }

    /// Wants a label for an area, near to the first of some points, or with a leader that ends in one of them.
    pub(super) fn label_at(&mut self, message: Message, targets: Vec<DVec2>, area: &[DVec2]) {
        self.labels.push(Label { message, targets, area: area.to_vec() });
    }

    /// Sets dimensions, labels and the title.
    pub(super) fn finish(mut self) -> Block {
        let outline = self.items.iter().fold(Rect::EMPTY, |room, item| room.join(item.room()));
        let mut taken = Taken::default();
        for item in &self.items {
            match item {
                Item::Area(area) => taken.hatched.push(area.outline.clone()),
                _ => taken.lines.extend(item.segments()),
            }
            taken.texts.extend(item.text().map(|text| text.bounds.grown(CLEAR * self.h)));
        }
        let dimensions = self.set_dimensions(&outline, &mut taken);
        self.items.extend(dimensions.into_iter().map(|dimension| Item::Dimension(Box::new(dimension))));
        let mut left_over = Vec::new();
        for label in mem::take(&mut self.labels) {
            match self.set_label(&label, &taken) {
                Some(items) => {
                    for item in items {
                        if matches!(item, Item::Line(..)) {
                            taken.leaders.extend(item.segments());
                        }
                        taken.lines.extend(item.segments());
                        taken.texts.extend(item.text().map(|text| text.bounds.grown(CLEAR * self.h)));
                        self.items.push(item);
                    }
                }
                None => left_over.push(label.message),
            }
        }
        for item in &mut self.items {
            if let Item::Area(area) = item {
                area.lines = hatch::broken(mem::take(&mut area.lines), &taken.texts);
            }
        }
        let drawn = self.items.iter().fold(Rect::EMPTY, |room, item| room.join(item.room()));
        let at = DVec2::new(outline.min.x, drawn.max.y + 1.6 * self.h);
        let title = text(self.words, self.title.clone(), at, TITLE * self.h, None);
        let view = View { key: self.key, title: self.title, origin: DVec2::ZERO, outline };
        let ends = self.ends.into_iter().map(|room| with_what_stays_whole(room, &self.items)).collect();
        let room = drawn.join(title.bounds.upright());
        Block { items: self.items, title, room, view, left_over, drawn, ends }
    }

    /// Sets every dimension; the geometry's lines stand in `taken`, and the dimensions' are added.
    fn set_dimensions(&mut self, room: &Rect, taken: &mut Taken) -> Vec<Dimension> {
        let mut wanted = mem::take(&mut self.wanted);
        let aligned = |one: &Wanted| matches!(one.stand, Stand::Aligned(_));
        // What stands anywhere comes last.
        wanted.sort_by(|a, b| aligned(a).cmp(&aligned(b)).then(a.value_mm.abs().total_cmp(&b.value_mm.abs())));
        let (lines, texts) = (taken.lines.len(), taken.texts.len());
        let mut best = Vec::new();
        for beginning in 0..BEGINNINGS {
            taken.lines.truncate(lines);
            taken.texts.truncate(texts);
            taken.rows.clear();
            taken.measured.clear();
            let mut set = Vec::with_capacity(wanted.len());
            let mut lost = None;
            for (index, one) in wanted.iter().enumerate() {
                match self.set_dimension(one, room, taken) {
                    Some(dimension) => set.push(dimension),
                    None => lost = lost.or(Some(index)),
                }
            }
            let Some(lost) = lost else { return set };
            best = set;
            if beginning + 1 < BEGINNINGS {
                let one = wanted.remove(lost);
                wanted.insert(0, one);
            }
        }
        best
    }

    fn set_dimension(&self, wanted: &Wanted, room: &Rect, taken: &mut Taken) -> Option<Dimension> {
        let said = Said::Number(wanted.value_mm.abs());
        let width = text::width_mm(&said.words(self.words), self.h);
        let (side, ends) = match &wanted.stand {
            Stand::Beside(side, ends) => (*side, *ends),
            Stand::Aligned(edges) => {
                let dimension = self.align_dimension(wanted, edges, &said, width, taken)?;
                self.take(&dimension, dimension.text.bounds.upright(), taken);
                return Some(dimension);
            }
        };
        for side in [side, side.opposite()] {
            let frame = side.frame(room);
            for row in 0..ROWS {
                let out = (FIRST_ROW + row as f64 * ROW_PITCH) * self.h;
                for variant in 0..VARIANTS {
                    let Some(dimension) = self.try_dimension(wanted, ends, &said, width, &frame, (out, variant)) else {
                        break;
                    };
                    let span = dimension.line.map(|point| frame.along_out(point).0);
                    let span = (side, row, span[0].min(span[1]), span[0].max(span[1]));
                    let in_row = taken
                        .rows
                        .iter()
                        .any(|other| (other.0, other.1) == (side, row) && other.2 < span.3 && span.2 < other.3);
                    if !in_row && taken.has_room_for(&dimension) {
                        taken.rows.push(span);
                        let strip = Rect::around(&[dimension.extensions[0][1], dimension.extensions[1][1]]);
                        self.take(&dimension, strip.join(dimension.text.bounds.upright()), taken);
                        return Some(dimension);
                    }
                }
            }
        }
        None
    }

    /// What a dimension takes, with the strip that labels stay out of.
    fn take(&self, dimension: &Dimension, strip: Rect, taken: &mut Taken) {
        taken.measured.push((dimension.line, strip));
        taken.lines.extend(dimension.segments());
        taken.texts.push(dimension.text.bounds.grown(CLEAR * self.h));
    }

    /// The dimension along one of the edges that is nearest to it and crosses least.
    fn align_dimension(
        &self,
        wanted: &Wanted,
        edges: &[Measured],
        said: &Said,
        width: f64,
        taken: &Taken,
    ) -> Option<Dimension> {
        let h = self.h;
        let mut best: Option<(f64, Dimension)> = None;
        for &(ends, out, clear) in edges {
            let frame = Frame::aligned(ends, out);
            for row in 0..ALIGNED_ROWS {
                let out = clear + (FIRST_ROW + f64::from(row) * ROW_PITCH / 2.0) * h;
                if best.as_ref().is_some_and(|(least, _)| *least <= out) {
                    break;
                }
                for variant in 0..VARIANTS {
                    let Some(dimension) = self.try_dimension(wanted, ends, said, width, &frame, (out, variant)) else {
                        break;
                    };
                    if !taken.has_room_for(&dimension) {
                        continue;
                    }
                    let cost = out + 2.0 * h * taken.crossings(&dimension, h) as f64;
                    if best.as_ref().is_none_or(|(least, _)| cost < *least) {
                        best = Some((cost, dimension));
                    }
                }
            }
        }
        best.map(|(_, dimension)| dimension)
    }

    /// The dimension so far out, with its number in the variant's place; `None` when there is no such variant.
    fn try_dimension(
        &self,
        wanted: &Wanted,
        [from, to]: [DVec2; 2],
        said: &Said,
        width: f64,
        frame: &Frame,
        (out, variant): (f64, usize),
    ) -> Option<Dimension> {
        let h = self.h;
        let (a, b) = (frame.along_out(from), frame.along_out(to));
        let (low, high) = (a.0.min(b.0), a.0.max(b.0));
        let length = high - low;
        let arrows_inside = length >= 2.8 * ARROW * h;
        let tail = if arrows_inside { 0.0 } else { 2.0 * ARROW * h };
        // The number fits between the arrows or it stands beside.
        let slack = length - width - 0.8 * h;
        let (line, middle) = if arrows_inside && slack >= 0.0 {
            let shift = [0.0, 0.5, -0.5, 1.0, -1.0][variant];
            ((low, high), f64::midpoint(low, high) + shift * slack / 2.0)
        } else {
            let reach = tail.max(0.5 * h);
            match variant {
                0 => ((low - tail, high + reach + width), high + reach + width / 2.0),
                1 => ((low - reach - width, high + tail), low - reach - width / 2.0),
                _ => return None,
            }
        };
        let point = |along: f64, out: f64| frame.point(along, out);
        let base = if frame.numbers_outwards() { out + ABOVE_LINE * h } else { out - ABOVE_LINE * h };
        let mut number = Text {
            said: said.clone(),
            at: point(middle, base),
            anchor: Anchor::Middle,
            along: frame.along,
            height_mm: h,
            room_mm: None,
            bounds: Rect::EMPTY.into(),
        };
        number.measure(self.words);
        let extension = |(along, feature): (f64, f64)| {
            [point(along, feature + EXTENSION_GAP * h), point(along, out + EXTENSION_PAST * h)]
        };
        let arrow = |along: f64, direction: f64| {
            let foot = along - direction * ARROW * h;
            let half = ARROW_HALF_WIDTH * h;
            [point(along, out), point(foot, out + half), point(foot, out - half)]
        };
        let inwards = if arrows_inside { 1.0 } else { -1.0 };
        Some(Dimension {
            id: format!("{}.{}", self.key, wanted.measures),
            measures: wanted.measures.clone(),
            value_mm: wanted.value_mm,
            place: wanted.place,
            from: point(a.0, out),
            to: point(b.0, out),
            extensions: [extension(a), extension(b)],
            line: [point(line.0, out), point(line.1, out)],
            arrows: [arrow(low, -inwards), arrow(high, inwards)],
            text: number,
        })
    }

    /// A text in so many lines, as even as its words allow; `None` where one would be much shorter.
    fn in_even_lines(&self, count: usize, text: &Text) -> Option<Text> {
        let width = text.bounds.upright().size().x;
        let whole = text.lines(self.words).concat();
        let broken = |share: usize| {
            let mut text = Text { room_mm: Some(share as f64 / 20.0 * width), ..text.clone() };
            text.measure(self.words);
            text
        };
        (20 / count..20).map(broken).find(|text| {
            let lines = text.lines(self.words);
            let widths = || lines.iter().map(|line| text::width_mm(line, text.height_mm));
            let (least, most) = (widths().fold(f64::INFINITY, f64::min), widths().fold(0.0, f64::max));
            lines.len() == count && least >= EVEN * most && lines.join(" ") == whole
        })
    }

    /// A text in lines none of which is too long, in smaller letters where a word of it or all lines together are.
    fn in_lines(&self, text: &Text) -> Text {
        let with_letters = |height_mm: f64| {
            let mut text = Text { height_mm, room_mm: Some(self.longest_mm + EXACT_MM), ..text.clone() };
            text.measure(self.words);
            text
        };
        let widest = text::widest_word_mm(&text.said.words(self.words), text.height_mm);
        let text = with_letters(text.height_mm * (self.longest_mm / widest).min(1.0));
        // Smaller letters need no more lines.
        let high = text.bounds.upright().size().y;
        with_letters(text.height_mm * (self.longest_mm / high).min(1.0))
    }

    /// A label's text within its area, as near to its target as can be.
    fn set_within(&self, label: &Label, text: &Text, taken: &Taken) -> Option<Text> {
        const STEPS: u32 = 16;
        let bounds = text.bounds.upright();
        let size = bounds.size();
        let room = Rect::around(&label.area);
        let free = room.size() - size;
        if free.min_element() <= 0.0 {
            return None;
        }
        let mut best: Option<(f64, DVec2)> = None;
        for i in 0..=STEPS {
            for j in 0..=STEPS {
                let share = DVec2::new(f64::from(i), f64::from(j)) / f64::from(STEPS);
                let corner = room.min + free * share;
                let bounds = Rect::new(corner, corner + size);
                let away = label.targets.first().map_or(0.0, |target| bounds.middle().distance_squared(*target));
                let padded = bounds.grown(CLEAR * self.h);
                if best.is_none_or(|(least, _)| away < least)
                    && padded.corners().iter().all(|corner| is_within(*corner, &label.area))
                    && taken.free(&padded.into())
                {
                    best = Some((away, corner));
                }
            }
        }
        best.map(|(_, corner)| text.clone().moved(corner - bounds.min))
    }

    fn set_label(&self, label: &Label, taken: &Taken) -> Option<Vec<Item>> {
        let text = text(self.words, label.message.clone(), DVec2::ZERO, self.h, None);
        let forms: Vec<Text> = [Some(text.clone()), self.in_even_lines(2, &text)].into_iter().flatten().collect();
        let is_short = |text: &Text| text.bounds.upright().size().x <= self.longest_mm;
        let (mut forms, long): (Vec<Text>, Vec<Text>) = forms.into_iter().partition(is_short);
        if forms.is_empty() {
            forms.extend(long.first().map(|text| self.in_lines(text)));
        }
        if let Some(within) = forms.iter().find_map(|text| self.set_within(label, text, taken)) {
            return Some(vec![Item::Text(within)]);
        }
        let best = |targets: &[DVec2], forms: &[Text]| {
            let ends = targets.iter().flat_map(|target| forms.iter().map(move |text| (text, *target)));
            let beside = ends.filter_map(|(text, target)| self.set_beside(target, text, taken));
            beside.min_by(|one, other| one.cost.total_cmp(&other.cost))
        };
        let near = |forms: &[Text]| best(&label.targets, forms).filter(|beside| !beside.is_stray);
        let mut beside = near(&forms);
        if beside.as_ref().is_none_or(|beside| beside.cost > FAR * self.h)
            && let Some(narrow) = self.in_even_lines(3, &text).filter(is_short)
        {
            // In three it may stand nearer.
            if let Some(within) = self.set_within(label, &narrow, taken) {
                return Some(vec![Item::Text(within)]);
            }
            forms.push(narrow);
            beside = near(&forms);
        }
        // Elsewhere in its area the way may be free.
        let anywhere = || best(&[label.targets.as_slice(), &spots(&label.area)].concat(), &forms);
        beside.or_else(anywhere).map(|beside| beside.items)
    }

    /// A label's text at the nearest free place, with a leader.
    fn set_beside(&self, target: DVec2, text: &Text, taken: &Taken) -> Option<Beside> {
        let h = self.h;
        let mut text = text.clone();
        let bounds = text.bounds.upright();
        let (size, low) = (bounds.size(), bounds.min);
        // One line is better than two, and two than more.
        let first = 4.0 * (text.lines(self.words).len() as f64 - 1.0) * h;
        const DIRECTIONS: [(f64, f64); 12] = [
            (0.8, 0.6),
            (-0.8, 0.6),
            (0.8, -0.6),
            (-0.8, -0.6),
            (0.6, 0.8),
            (-0.6, 0.8),
            (0.6, -0.8),
            (-0.6, -0.8),
            (0.96, 0.28),
            (-0.96, 0.28),
            (0.96, -0.28),
            (-0.96, -0.28),
        ];
        let landing = 0.8 * h;
        let dot = 0.22 * h;
        let dot_room = Rect::new(target, target).grown(dot);
        if taken.texts.iter().any(|text| text.overlaps(&dot_room.into())) {
            return None;
        }
        let mut best: Option<(f64, bool, DVec2, DVec2)> = None;
        for ring in 2..60 {
            let reach = f64::from(ring) * 1.2 * h;
            if best.is_some_and(|(least, ..)| least <= first + reach) {
                break;
            }
            for (x, y) in DIRECTIONS {
                let elbow = target + DVec2::new(x, y) * reach;
                let start = elbow.x + if x > 0.0 { landing + 0.3 * h } else { -landing - 0.3 * h - size.x };
                let bounds = Rect::new(
                    DVec2::new(start, elbow.y - size.y / 2.0),
                    DVec2::new(start + size.x, elbow.y + size.y / 2.0),
                );
                let leader = [target, elbow];
                let foot = [elbow, DVec2::new(elbow.x + landing.copysign(x), elbow.y)];
                if !taken.free(&bounds.grown(CLEAR * h).into())
                    || !taken.clear_of_texts(leader)
                    || !taken.clear_of_texts(foot)
                    || bounds.is_crossed(leader)
                    || bounds.overlaps(&dot_room)
                {
                    continue;
                }
                // A leader should cross few lines, and where it runs level no line should be near.
                let level = Rect::around(&foot).grown(CLEAR * h);
                let leaders = taken.leaders.iter().filter(|line| crosses(leader, **line)).count();
                let crossed = taken.lines.iter().filter(|line| crosses(leader, **line)).count();
                let along = taken.lines.iter().filter(|line| level.is_crossed(**line)).count();
                // Across a dimension line, or among dimensions, only where nothing else is left.
                let is_among = |(line, strip): &&([DVec2; 2], Rect)| {
                    crosses(leader, *line) || level.is_crossed(*line) || strip.overlaps(&bounds.grown(CLEAR * h))
                };
                let among = taken.measured.iter().filter(is_among).count();
                let hatched = if taken.on_hatching(&bounds.into()) { HATCHED } else { 0 };
                let against = crossed + 2 * along + 4 * leaders + hatched + 12 * among;
                let cost = first + reach + against as f64 * 2.0 * h;
                if best.is_none_or(|(least, ..)| cost < least) {
                    best = Some((cost, among > 0, elbow, bounds.min));
                }
            }
        }
        let (cost, is_stray, elbow, corner) = best?;
        let landing = landing.copysign(elbow.x - target.x);
        if landing < 0.0 {
            // Words are rarely as wide as they were taken for: those to the left end at the leader.
            text.anchor = Anchor::End;
            text.at.x += size.x;
        }
        text = text.moved(corner - low);
        let round =
            [(1.0, 0.0), (0.7, 0.7), (0.0, 1.0), (-0.7, 0.7), (-1.0, 0.0), (-0.7, -0.7), (0.0, -1.0), (0.7, -0.7)];
        let outline = round.iter().map(|&(x, y)| target + dot * DVec2::new(x, y)).collect();
        let leader = vec![target, elbow, DVec2::new(elbow.x + landing, elbow.y)];
        let items = vec![
            Item::Line(LineType::Thin, Shape::Path { points: leader, closed: false }),
            Item::Mark(Mark { kind: MarkKind::Dot, outline }),
            Item::Text(text),
        ];
        Some(Beside { cost, is_stray, items })
    }
}

/// A room so much larger that its edge cuts no text, no arrowhead and no mark, no number stands without its dimension
/// line, and no extension line without its number where the dimension stands beside the room.
fn with_what_stays_whole(room: Rect, items: &[Item]) -> Rect {
    // What is whole where so much of it is in the room.
    let wholes = |item: &Item| -> Vec<(Rect, Rect)> {
        let same = |points: &[DVec2]| (Rect::around(points), Rect::around(points));
        let text = |text: &Text, line: &[DVec2]| {
            let bounds = text.bounds.upright();
            (bounds, bounds.join(Rect::around(line)))
        };
        match item {
            Item::Line(..) | Item::Area(_) => Vec::new(),
            Item::Mark(mark) => vec![same(&mark.outline)],
            Item::Text(words) => vec![text(words, &[])],
            Item::Angle(angle) => vec![text(&angle.text, &angle.arc), same(&angle.arrows[0]), same(&angle.arrows[1])],
            Item::Dimension(dimension) => {
                let number = text(&dimension.text, &dimension.line);
                let mut wholes = vec![number, same(&dimension.arrows[0]), same(&dimension.arrows[1])];
                let [from, to] = [dimension.from, dimension.to].map(|end| (room.min.y..room.max.y).contains(&end.y));
                let extensions = dimension.extensions.map(|line| Rect::around(&line).grown(f64::EPSILON));
                if from && to && dimension.from.x == dimension.to.x {
                    wholes.extend(extensions.map(|line| (line, number.1)));
                }
                wholes
            }
        }
    };
    let wholes = items.iter().flat_map(wholes).filter(|(part, _)| part.overlaps(&room));
    let larger = wholes.map(|(_, whole)| whole).fold(room, Rect::join);
    if larger == room { room } else { with_what_stays_whole(larger, items) }
}

/// Points evenly over a polygon.
fn spots(polygon: &[DVec2]) -> Vec<DVec2> {
    const COUNT: u32 = 6;
    let room = Rect::around(polygon);
    let spot =
        |(i, j): (u32, u32)| room.min + room.size() * (DVec2::new(f64::from(i), f64::from(j)) + 0.5) / f64::from(COUNT);
    let all = (0..COUNT * COUNT).map(|place| spot((place % COUNT, place / COUNT)));
    all.filter(|spot| is_within(*spot, polygon)).collect()
}

/// Whether a point lies in a polygon (even-odd rule).
fn is_within(point: DVec2, polygon: &[DVec2]) -> bool {
    let n = polygon.len();
    (0..n).fold(false, |inside, i| {
        let (a, b) = (polygon[i], polygon[(i + 1) % n]);
        let between = (a.y > point.y) != (b.y > point.y);
        inside ^ (between && point.x < a.x + (b.x - a.x) * (point.y - a.y) / (b.y - a.y))
    })
}

fn crosses([a, b]: [DVec2; 2], [c, d]: [DVec2; 2]) -> bool {
    let side = |p: DVec2, q: DVec2, r: DVec2| (q - p).perp_dot(r - p) > 0.0;
    side(a, b, c) != side(a, b, d) && side(c, d, a) != side(c, d, b)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn inside_and_outside_of_a_polygon() {
        let ell = [(0.0, 0.0), (30.0, 0.0), (30.0, 5.0), (10.0, 5.0), (10.0, 10.0), (0.0, 10.0)]
            .map(|(x, y)| DVec2::new(x, y));
        assert!(is_within(DVec2::new(5.0, 8.0), &ell));
        assert!(!is_within(DVec2::new(20.0, 8.0), &ell));
    }

    #[test]
    fn a_text_that_is_turned_is_read_from_the_right() {
        let say = |_: &Message| "words".to_string();
        let count = |value: f64| value.to_string();
        let words = Words { message: &say, number: &count };
        let mut text = text(&words, Message::new("x"), DVec2::ZERO, 5.0, None);
        let flat = text.bounds.upright().size();
        text.along = DVec2::Y;
        text.measure(&words);
        let room = text.bounds.upright();
        assert_eq!(room.size(), DVec2::new(flat.y, flat.x));
        // It runs upwards, and its letters stand to the left of the base line.
        assert_eq!((room.min.y, room.min.x), (0.0, -RISE * 5.0));
    }

    #[test]
    fn a_dimension_aslant_is_read_from_below_or_from_the_right_and_stands_outside() {
        for turn in 0..72 {
            let (sine, cosine) = libm::sincos(f64::from(turn) * 5.0_f64.to_radians());
            let edge = [DVec2::new(3.0, 4.0), DVec2::new(3.0 + 100.0 * cosine, 4.0 + 100.0 * sine)];
            for out in [DVec2::new(-sine, cosine), DVec2::new(sine, -cosine)] {
                let frame = Frame::aligned(edge, out);
                let degrees = libm::atan2(frame.along.y, frame.along.x).to_degrees();
                assert!((-45.1..135.1).contains(&degrees), "{degrees}");
                assert!(frame.out.distance(out) < 1e-12);
                let [(a, near), (b, far)] = edge.map(|end| frame.along_out(end));
                assert!(near.abs() < 1e-12 && far.abs() < 1e-9 && ((a - b).abs() - 100.0).abs() < 1e-9);
            }
        }
    }
}

//! The sheet of a drawing: views in a grid, below them legend, notes and title block, all in a frame.

use glam::DVec2;

use super::text::{FALL, RISE};
use super::view::{self, Block};
use super::{
    Area, Drawing, Given, Hatch, Item, LineType, Mark, MarkKind, Part, Rect, Scale, Shape, View, What, Words, hatch,
};
use crate::finding::{Arg, Message};
use crate::sack::Sack;
use crate::units::count;

/// All in heights of the letters.
const MARGIN: f64 = 2.0;
const PADDING: f64 = 3.0;
/// Of a drawing that is fitted to a page, which has a margin of its own.
const FITTED_MARGIN: f64 = 0.2;
const FITTED_PADDING: f64 = 2.0;
const GAP: f64 = 4.0;
const LEGEND_PITCH: f64 = 2.2;
const LEGEND_ROWS: usize = 5;
const SAMPLE: DVec2 = DVec2::new(6.0, 1.3);
const NOTE_ROOM: f64 = 90.0;
/// mm. On sheets to be joined the letters of titles, of legend and notes, and of the title block are no higher.
const JOINED_TITLE_MM: f64 = 7.0;
const JOINED_FOOT_MM: f64 = 5.0;
const JOINED_BLOCK_MM: f64 = 3.5;
const NOTE_LEAST: f64 = 26.0;
const TITLE_ROOM: f64 = 46.0;
/// About what the foot is high.
const FOOT: f64 = 18.0;
/// Small print of the title block, as a share.
const SMALL: f64 = 0.7;

/// Width to height that a drawing comes near to: a sheet lying on its side, as ISO 216 has it.
const ASPECT: f64 = core::f64::consts::SQRT_2;

/// The height of letters for geometry so large, mm: the one of ISO 3098's series that comes nearest to its 110th part.
pub(super) fn text_height_mm(extent_mm: f64) -> f64 {
    const SERIES: [f64; 10] = [2.5, 3.5, 5.0, 7.0, 10.0, 14.0, 20.0, 28.0, 40.0, 56.0];
    // Half-way between two of the series, by ratio.
    let most = extent_mm / 110.0 * 1.19;
    SERIES.iter().rev().find(|height| **height <= most).copied().unwrap_or(SERIES[0])
}

/// What of a page of A4 and of Letter a drawing can be fitted to, mm: the page lying on its side, and upright.
const PAGES: [DVec2; 2] = [DVec2::new(259.0, 178.0), DVec2::new(190.0, 246.0)];
/// mm. Letters on that page: the least height of ISO 3098's series.
const LEGIBLE_MM: f64 = 1.8;
/// mm. A drawing whose letters would be smaller is shared out over two pages.
const LEAST_MM: f64 = 1.5;
/// How often letters are enlarged: the sheet grows with them.
const TRIES: usize = 6;

/// As what share of its size something so large comes to the page that suits it better.
fn fitted(size: DVec2) -> f64 {
    PAGES.iter().map(|page| (*page / size).min_element()).fold(0.0, f64::max)
}

/// Height of a drawing's letters once it is fitted to a page, mm.
fn on_paper(drawing: &Drawing) -> f64 {
    drawing.text_mm * fitted(drawing.size_mm)
}

/// Whether a drawing's letters are large enough once it is fitted to a page.
pub(super) fn can_be_read(drawing: &Drawing) -> bool {
    on_paper(drawing) >= LEAST_MM
}

/// The drawing with letters that can be read once it is fitted to a page, or nearly so where larger ones would take too
/// much room from what is drawn (letters count twice) or cost a dimension or a label its place.
pub(super) fn legible(usual_mm: f64, make: impl Fn(f64) -> Drawing) -> Drawing {
    let worth = |drawing: &Drawing| on_paper(drawing).powi(2) * fitted(drawing.size_mm);
    let mut drawing = make(usual_mm);
    let mut share = 1.0;
    for _ in 0..TRIES {
        let letters = on_paper(&drawing);
        if letters >= LEGIBLE_MM {
            break;
        }
        let larger = make(drawing.text_mm * (1.0 + share * (1.02 * LEGIBLE_MM / letters - 1.0)));
        let fewer = larger.dimensions().count() < drawing.dimensions().count();
        let loses = fewer || larger.displaced > drawing.displaced;
        if loses || worth(&larger) < worth(&drawing) {
            share /= 2.0;
        } else {
            drawing = larger;
        }
    }
    drawing
}

/// Makes the sheet of views and notes.
pub(super) fn arrange(
    what: What,
    sack: &Sack,
    given: &Given,
    words: &Words,
    h: f64,
    mut blocks: Vec<Block>,
    mut notes: Vec<Message>,
) -> Drawing {
    if let Some((number, count)) = given.sheet {
        let each = blocks.len().div_ceil(count);
        blocks = blocks.into_iter().skip(number * each).take(each).collect();
    }
    let left_over: Vec<_> = blocks.iter_mut().flat_map(|block| core::mem::take(&mut block.left_over)).collect();
    let displaced = left_over.len();
    notes.extend(left_over);
    let title = Message::new(format!("drawing.{}.title", what.name()));
    // Views' letters are for one who sees a whole view; what is read sheet by sheet needs none so large.
    let most = given.scale.longest_line_mm();
    let joined = given.scale == Scale::Joined;
    let [foot_mm, block_mm] = [JOINED_FOOT_MM, JOINED_BLOCK_MM].map(|highest| if joined { h.min(highest) } else { h });
    if joined {
        blocks.iter_mut().for_each(|block| block.limit_title(words, JOINED_TITLE_MM, most));
    }
    let legend = legend(what, words, (h, foot_mm), &blocks);
    let flow = if matches!(what, What::ValveBottom | What::PlainBottom) { Flow::Columns } else { Flow::Rows };
    let name = match given.sheet {
        Some((number, of)) => Message::new("drawing.title_of_sheet")
            .with("title", Arg::word(title.key.clone()))
            .with("number", count(number + 1))
            .with("count", count(of)),
        None => title.clone(),
    };
    let block = title_block(sack, given, words, block_mm, (TITLE_ROOM * block_mm).min(most), &name);
    let notes = |room: f64| self::notes(words, foot_mm, &notes, room.min(NOTE_ROOM * foot_mm).min(most));
    let foot = |size: DVec2| foot(size, [&legend, &block], &notes, given.scale, h);
    let cost = |size: DVec2| match given.scale {
        Scale::Full | Scale::Joined => sheet_cost(size, FOOT * h),
        Scale::Fitted => 1.0 / fitted(foot(size).1.size()),
    };
    let (grid, size) = grid(&blocks, flow, GAP * h, cost);
    let (feet, frame, title_block) = foot(size);

    let mut items = Vec::new();
    let mut views: Vec<View> = Vec::new();
    let mut parts: Vec<Part> = Vec::new();
    let many = blocks.len() > 1;
    for (block, (by, rise)) in blocks.into_iter().zip(grid) {
        items.extend(block.items.into_iter().map(|item| item.moved(by)));
        items.push(Item::Text(block.title.moved(by + DVec2::new(0.0, rise))));
        let key = &block.view.key;
        if many {
            // Beyond its outermost lines, which have a width.
            parts.push(Part { name: key.clone(), rooms: vec![block.drawn.moved(by).grown(h)] });
        }
        if !block.ends.is_empty() {
            let rooms = block.ends.iter().map(|room| room.moved(by)).collect();
            parts.push(Part { name: format!("{key}-ends"), rooms });
        }
        views.push(View { origin: block.view.origin + by, outline: block.view.outline.moved(by), ..block.view });
    }

    items.extend(feet);
    items.push(Item::Line(LineType::Frame, Shape::Path { points: frame.corners().to_vec(), closed: true }));
    let sheet = frame.grown(h * if given.scale == Scale::Fitted { FITTED_MARGIN } else { MARGIN });
    // Whole millimetres: what is printed has a size one can name.
    let size_mm = sheet.size().ceil();
    let by = -sheet.min;
    Drawing {
        what,
        size_mm,
        text_mm: h,
        displaced,
        description: Message::new(format!("drawing.{}.description", what.name()))
            .with("name", Arg::text(&sack.file().name)),
        title,
        views: views
            .into_iter()
            .map(|view| View { origin: view.origin + by, outline: view.outline.moved(by), ..view })
            .collect(),
        parts: parts
            .into_iter()
            .map(|part| Part { rooms: part.rooms.into_iter().map(|room| room.moved(by)).collect(), ..part })
            .collect(),
        title_block: title_block.moved(by),
        items: items.into_iter().map(|item| item.moved(by)).collect(),
    }
}

/// How views are set beside and below each other.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Flow {
    /// In rows, beside each other first.
    Rows,
    /// In one column or two, below each other first.
    Columns,
}

/// Where a view's origin lies, and how far its title is raised.
type Set = (DVec2, f64);

/// Where the views lie, and the size of all from its upper left corner: in so many columns that it costs least. Views
/// below each other are in line by their origins, and beside each other too when they flow in rows; then their titles
/// stand on one line.
fn grid(blocks: &[Block], flow: Flow, gap: f64, cost: impl Fn(DVec2) -> f64) -> (Vec<Set>, DVec2) {
    // In rows the last one is of no single view.
    let candidates = (1..=blocks.len()).filter(|number| flow == Flow::Columns || blocks.len() % number != 1);
    let set = candidates.map(|number| match flow {
        Flow::Rows => in_rows(blocks, number, gap),
        Flow::Columns => in_columns(blocks, number, gap),
    });
    set.min_by(|(_, one), (_, other)| cost(*one).total_cmp(&cost(*other))).unwrap_or_default()
}

/// The shorter side of the sheet for views so large with a foot so high, and a little for what is left empty on it.
fn sheet_cost(size: DVec2, foot: f64) -> f64 {
    let (wide, high) = (size.x / ASPECT, size.y + foot);
    wide.max(high) + wide.min(high) / 4.0
}

/// The foot below views so large, the frame round all, and where the title block lies. The title block stands to the right, in the frame's corner;
/// legend and notes beside each other to its left while there is room, else above each other, else above it.
fn foot(
    size: DVec2,
    [legend, block]: [&Foot; 2],
    notes: &dyn Fn(f64) -> Foot,
    scale: Scale,
    h: f64,
) -> (Vec<Item>, Rect, Rect) {
    let gap = GAP * h;
    let width = size.x.max(block.size.x).max(legend.size.x);
    let beside = width - block.size.x - gap;
    let least = NOTE_LEAST * h;
    let top = -size.y - gap;
    let edge = h * if scale == Scale::Fitted { FITTED_PADDING } else { PADDING };
    let (notes, left_size) = if beside - legend.size.x - gap >= least {
        let notes = notes(beside - legend.size.x - gap);
        let height = legend.size.y.max(notes.size.y);
        (notes.moved(DVec2::new(legend.size.x + gap, top)), DVec2::new(beside, height))
    } else {
        let room = if beside >= least { beside } else { width };
        let notes = notes(room);
        let below = top - legend.size.y - 1.5 * h;
        let height = top - below + notes.size.y;
        // The title block stands beside the notes alone where the legend is too wide for both.
        let height = if legend.size.x > room { height.max(top - below + block.size.y - edge) } else { height };
        (notes.moved(DVec2::new(0.0, below)), DVec2::new(room, height))
    };
    // The title block's lower edge is the frame's.
    let low = if left_size.x < width {
        top - left_size.y.max(block.size.y - edge)
    } else {
        top - left_size.y - gap - block.size.y + edge
    };
    let corner = DVec2::new(width - block.size.x + edge, low - edge + block.size.y);
    let items = [legend.moved(DVec2::new(0.0, top)), notes, block.moved(corner)].concat();
    let title_block = Rect::around(&[corner, corner + DVec2::new(block.size.x, -block.size.y)]);
    (items, Rect::new(DVec2::new(0.0, low), DVec2::new(width, 0.0)).grown(edge), title_block)
}

/// Rows of so many views each.
fn in_rows(blocks: &[Block], columns: usize, gap: f64) -> (Vec<Set>, DVec2) {
    // What each column and row needs before and after its origin.
    let mut across = vec![(0.0_f64, 0.0_f64); columns];
    let mut down = vec![(0.0_f64, 0.0_f64); blocks.len().div_ceil(columns)];
    for (index, block) in blocks.iter().enumerate() {
        let (column, row) = (&mut across[index % columns], &mut down[index / columns]);
        *column = (column.0.max(-block.room.min.x), column.1.max(block.room.max.x));
        *row = (row.0.max(block.room.max.y), row.1.max(-block.room.min.y));
    }
    let (xs, width) = in_line(&across, gap);
    let (ys, height) = in_line(&down, gap);
    let set = blocks.iter().enumerate().map(|(index, block)| {
        let (column, row) = (index % columns, index / columns);
        (DVec2::new(xs[column], -ys[row]), down[row].0 - block.room.max.y)
    });
    (set.collect(), DVec2::new(width, height))
}

/// The first so many views in one column, the rest in a second.
fn in_columns(blocks: &[Block], first: usize, gap: f64) -> (Vec<Set>, DVec2) {
    let mut set = Vec::new();
    let mut size = DVec2::new(-gap, 0.0);
    let (first, second) = blocks.split_at(first);
    for column in [first, second].into_iter().filter(|column| !column.is_empty()) {
        let left = column.iter().map(|block| -block.room.min.x).fold(0.0, f64::max);
        let right = column.iter().map(|block| block.room.max.x).fold(0.0, f64::max);
        let down: Vec<_> = column.iter().map(|block| (block.room.max.y, -block.room.min.y)).collect();
        let (ys, height) = in_line(&down, gap);
        let x = size.x + gap + left;
        set.extend(ys.into_iter().map(|y| (DVec2::new(x, -y), 0.0)));
        size = DVec2::new(x + right, size.y.max(height));
    }
    (set, size)
}

/// Origins one after the other, and the length of all.
fn in_line(needs: &[(f64, f64)], gap: f64) -> (Vec<f64>, f64) {
    let mut end = -gap;
    let origins = needs.iter().map(|(before, after)| {
        let origin = end + gap + before;
        end = origin + after;
        origin
    });
    (origins.collect(), end)
}

/// A part of the foot, from its upper left corner downwards.
struct Foot {
    items: Vec<Item>,
    size: DVec2,
}

impl Foot {
    /// What is in it, elsewhere.
    fn moved(&self, by: DVec2) -> Vec<Item> {
        self.items.iter().map(|item| item.clone().moved(by)).collect()
    }
}

/// Samples of every line, hatching and mark in use, as large as for letters of height `h`, and what they mean in letters
/// no higher.
fn legend(what: What, words: &Words, (h, letters_mm): (f64, f64), blocks: &[Block]) -> Foot {
    let used = |test: &dyn Fn(&Item) -> bool| blocks.iter().any(|block| block.items.iter().any(test));
    let mut entries: Vec<(Vec<Item>, String)> = Vec::new();
    let sample = SAMPLE * h;
    let middle = DVec2::new(0.0, sample.y / 2.0);
    for kind in LineType::OF_PARTS {
        if used(&|item| matches!(item, Item::Line(other, _) if *other == kind)) {
            let points = vec![middle, middle + DVec2::new(sample.x, 0.0)];
            let line = Item::Line(kind, Shape::Path { points, closed: false });
            // What else is drawn besides the part differs from drawing to drawing.
            let of = if kind == LineType::Adjacent { format!(".{}", what.name()) } else { String::new() };
            entries.push((vec![line], format!("drawing.line.{}{of}", kind.name())));
        }
    }
    for kind in MarkKind::OF_PARTS {
        if used(&|item| matches!(item, Item::Mark(mark) if mark.kind == kind)) {
            entries.push((mark_sample(kind, sample, h), format!("drawing.mark.{}", kind.name())));
        }
    }
    for kind in Hatch::ALL {
        if used(&|item| matches!(item, Item::Area(area) if area.hatch == kind)) {
            let outline = Rect::new(DVec2::ZERO, sample).corners().to_vec();
            let lines = hatch::lines(kind, &outline, h);
            let frame = Item::Line(LineType::Thin, Shape::Path { points: outline.clone(), closed: true });
            let area = Item::Area(Area { hatch: kind, outline, lines });
            entries.push((vec![area, frame], format!("drawing.hatch.{}", kind.name())));
        }
    }
    let mut items = Vec::new();
    let mut x = 0.0;
    let mut low = 0.0_f64;
    // As many in every column as can be.
    let rows = entries.len().div_ceil(entries.len().div_ceil(LEGEND_ROWS).max(1));
    for column in entries.chunks(rows.max(1)) {
        let start = x + sample.x + h;
        let mut right = start;
        for (row, (samples, key)) in column.iter().enumerate() {
            let y = -(row as f64 * LEGEND_PITCH * h + sample.y);
            items.extend(samples.iter().map(|item| item.clone().moved(DVec2::new(x, y))));
            let text = view::text(words, Message::new(key.clone()), DVec2::new(start, y + 0.15 * h), letters_mm, None);
            right = right.max(text.bounds.upright().max.x);
            low = low.min(text.bounds.upright().min.y).min(y);
            items.push(Item::Text(text));
        }
        x = right + 2.5 * h;
    }
    Foot { items, size: DVec2::new(x - 2.5 * h, -low).max(DVec2::ZERO) }
}

fn mark_sample(kind: MarkKind, sample: DVec2, h: f64) -> Vec<Item> {
    let middle = DVec2::new(sample.x / 2.0, sample.y * 0.25);
    let crease = |y: f64| {
        let points = vec![DVec2::new(0.0, y), DVec2::new(sample.x, y)];
        Item::Line(LineType::Crease, Shape::Path { points, closed: false })
    };
    let triangle = |at: DVec2, up: f64| {
        let half = DVec2::new(0.36 * h, 0.0);
        Item::Mark(Mark { kind, outline: vec![at - half, at + half, at + DVec2::new(0.0, up)] })
    };
    match kind {
        MarkKind::FoldTowards | MarkKind::FoldAway => vec![crease(middle.y), triangle(middle, 0.8 * h)],
        MarkKind::Notch => vec![Item::Mark(view::notch(sample / 2.0, h))],
        MarkKind::CrossPaste | MarkKind::Dot => {
            let bar = Rect::new(middle - DVec2::new(h, 0.1 * h), middle + DVec2::new(h, 0.1 * h));
            vec![Item::Mark(Mark { kind, outline: bar.corners().to_vec() })]
        }
    }
}

fn notes(words: &Words, h: f64, notes: &[Message], room: f64) -> Foot {
    let mut items = Vec::new();
    let mut size = DVec2::ZERO;
    for note in notes {
        let at = DVec2::new(0.0, -size.y - RISE * h);
        let text = view::text(words, note.clone(), at, h, Some(room));
        size = DVec2::new(size.x.max(text.bounds.upright().max.x), -text.bounds.upright().min.y + 0.5 * h);
        items.push(Item::Text(text));
    }
    Foot { items, size }
}

/// Name of the sack; drawing; date, revision, scale, unit; tolerances.
fn title_block(sack: &Sack, given: &Given, words: &Words, h: f64, width: f64, title: &Message) -> Foot {
    let value = |text: &str| Message::new("drawing.field.value").with("value", Arg::text(text));
    let fixed = |key: &'static str| Message::new(key);
    let rows: [&[(f64, &str, Message)]; 4] = [
        &[(1.0, "sack", value(&sack.file().name))],
        &[(1.0, "drawing", title.clone())],
        &[
            (0.34, "date", value(given.date)),
            (0.26, "revision", value(given.revision)),
            (0.2, "scale", Message::new(format!("drawing.scale.{}", given.scale.name()))),
            (0.2, "unit", Message::new(format!("page.unit.{}", given.unit.name()))),
        ],
        &[(1.0, "tolerance", fixed("drawing.field.tolerance_note"))],
    ];
    let mut items = Vec::new();
    let rule = |a: DVec2, b: DVec2| Item::Line(LineType::Thin, Shape::Path { points: vec![a, b], closed: false });
    let mut top = 0.0;
    for row in rows {
        let small = SMALL * h;
        let base = top - 0.5 * h - RISE * small;
        let mut left = 0.0;
        let mut low: f64 = base - FALL * small - (0.4 + RISE + FALL + 0.4) * h;
        let mut edges = Vec::new();
        for (share, caption, message) in row {
            let room = share * width - 1.4 * h;
            let at = DVec2::new(left + 0.7 * h, base);
            items.push(Item::Text(view::text(
                words,
                Message::new(format!("drawing.field.{caption}")),
                at,
                small,
                Some(room),
            )));
            let at = DVec2::new(at.x, base - FALL * small - (0.4 + RISE) * h);
            if !(words.message)(message).is_empty() {
                let text = view::text(words, message.clone(), at, h, Some(room));
                low = low.min(text.bounds.upright().min.y - 0.4 * h);
                items.push(Item::Text(text));
            }
            left += share * width;
            edges.push(left);
        }
        edges.pop();
        for edge in edges {
            items.push(rule(DVec2::new(edge, top), DVec2::new(edge, low)));
        }
        items.push(rule(DVec2::new(0.0, low), DVec2::new(width, low)));
        top = low;
    }
    let outline = Rect::new(DVec2::new(0.0, top), DVec2::new(width, 0.0));
    items.push(Item::Line(LineType::Edge, Shape::Path { points: outline.corners().to_vec(), closed: true }));
    Foot { items, size: outline.size() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn letters_are_of_the_series() {
        assert_eq!(text_height_mm(100.0), 2.5);
        assert_eq!(text_height_mm(550.0), 5.0);
        assert_eq!(text_height_mm(1100.0), 10.0);
        assert_eq!(text_height_mm(3600.0), 28.0);
    }
}

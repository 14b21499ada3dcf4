//! A drawing at 1:1 on many sheets of paper that are joined: a grid of windows that overlap, without those on which
//! nothing is drawn.

use glam::DVec2;
use serde::Serialize;

use super::{Drawing, Item, LineType, Rect, TurnedRect};

/// How a drawing falls onto sheets.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Tiling {
    /// Which of the windows it was that needs the fewest sheets.
    pub window: usize,
    /// Columns of the grid, from the left.
    pub columns: usize,
    /// Rows, from above.
    pub rows: usize,
    /// The sheets with something on them, row by row.
    pub tiles: Vec<Tile>,
    /// Names of the parts that can be laid onto sheets alone.
    pub parts: Vec<String>,
}

/// What one sheet shows.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Tile {
    /// Its column, from 0.
    pub column: usize,
    /// Its row, from 0.
    pub row: usize,
    /// Left of its window, mm from the drawing's left.
    pub left_mm: f64,
    /// Top of its window, mm from the drawing's top.
    pub top_mm: f64,
    /// Where its crosses lie, left, top, right and bottom, mm as those: in what it shares with its neighbours, which have
    /// them at the same places.
    pub joints_mm: [f64; 4],
    /// What of the window belongs to what is laid out: left, top, width and height, mm as those. All else stays white.
    pub seen_mm: [f64; 4],
}

/// Lays a drawing onto sheets of which windows so large (mm) are printed, the same for all, each at least `overlap_mm`
/// over its neighbours, and so far that every text is whole on one of them, but those nearly as long as a window; the
/// window with the fewest sheets is taken, of several the first. The drawing lies in the middle of the grid; with the name
/// of a part of it every room of that part does, one grid below the other, and what lies beside it takes no sheet. Nothing
/// for windows that are no larger than the overlap.
#[must_use]
pub fn tiles(drawing: &Drawing, windows: &[[f64; 2]], overlap_mm: f64, part: Option<&str>) -> Tiling {
    let inks: Vec<Ink> = drawing.items.iter().map(Ink::of).collect();
    let texts: Vec<Rect> = inks.iter().filter_map(|ink| Some(ink.text?.upright())).collect();
    let height = drawing.size_mm.y;
    let whole = [Rect::new(DVec2::ZERO, drawing.size_mm)];
    let part = part.and_then(|name| drawing.parts.iter().find(|part| part.name == name));
    let rooms = part.map_or(whole.as_slice(), |part| &part.rooms);
    let windows = windows.iter().copied().map(DVec2::from).enumerate();
    let tilings = windows.filter(|(_, window)| window.min_element() > overlap_mm);
    let tilings = tilings.map(|(index, window)| {
        let mut tiling = Tiling { window: index, ..Tiling::default() };
        for room in rooms {
            let set = |window: f64, span: &dyn Fn(&Rect) -> [f64; 2]| {
                let spans: Vec<_> = texts.iter().filter(|text| text.overlaps(room)).map(span).collect();
                Windows { room: span(room), window, overlap: overlap_mm }.set(&spans)
            };
            let across = set(window.x, &|rect| [rect.min.x, rect.max.x]);
            let down = set(window.y, &|rect| [height - rect.max.y, height - rect.min.y]);
            for (row, &[top, above, below]) in down.iter().enumerate() {
                for (column, &[left, before, after]) in across.iter().enumerate() {
                    let low = DVec2::new(left, height - top - window.y);
                    let seen = Rect::new(low.max(room.min), (low + window).min(room.max));
                    if inks.iter().any(|ink| ink.is_on(&seen)) {
                        let size = seen.size();
                        tiling.tiles.push(Tile {
                            column,
                            row: tiling.rows + row,
                            left_mm: left,
                            top_mm: top,
                            joints_mm: [before, above, after, below],
                            seen_mm: [seen.min.x, height - seen.max.y, size.x, size.y],
                        });
                    }
                }
            }
            tiling.columns = tiling.columns.max(across.len());
            tiling.rows += down.len();
        }
        tiling
    });
    let parts = drawing.parts.iter().map(|part| part.name.clone()).collect();
    Tiling { parts, ..tilings.min_by_key(|tiling| tiling.tiles.len()).unwrap_or_default() }
}

/// Windows one after the other along an axis, and from where to where what they show lies, mm.
struct Windows {
    room: [f64; 2],
    window: f64,
    overlap: f64,
}

impl Windows {
    /// Where each begins, and where it is joined to the one before and the one after: as few as can be, so that every
    /// span, but those nearly as long as a window, lies whole in one, and with as much left over before as after.
    fn set(&self, spans: &[[f64; 2]]) -> Vec<[f64; 3]> {
        /// As a share of a window: for what is longer it would take many more sheets.
        const LONGEST: f64 = 0.85;
        const PLACES: u32 = 24;
        let longest = LONGEST * (self.window - self.overlap);
        let kept: Vec<[f64; 2]> = spans.iter().copied().filter(|[low, high]| high - low <= longest).collect();
        let [from, to] = self.room;
        let left_over = |starts: &[f64]| starts.last().map_or(0.0, |last| last + self.window - to);
        // Each as far on as it can be: then no other first window that shows all takes fewer, nor leaves more over.
        let least = self.starts(from, &kept);
        let spare = left_over(&least).max(0.0);
        let places = (0..=PLACES).map(|place| spare * f64::from(place) / f64::from(PLACES));
        let placed = places.map(|before| (before, self.starts(from - before, &kept)));
        let placed = placed.filter(|(_, starts)| starts.len() == least.len());
        let uneven = |(before, starts): &(f64, Vec<f64>)| (left_over(starts) - before).abs();
        let starts =
            placed.min_by(|one, other| uneven(one).total_cmp(&uneven(other))).map_or(least, |(_, starts)| starts);
        let joint = |start: &f64| start + self.overlap / 2.0;
        let last = starts.last().map(|start| start + self.window - self.overlap / 2.0);
        let after = starts.iter().skip(1).map(joint).chain(last);
        starts.iter().zip(after).map(|(start, after)| [*start, joint(start), after]).collect()
    }

    /// Where each begins, from the first one on, until all is shown.
    fn starts(&self, first: f64, spans: &[[f64; 2]]) -> Vec<f64> {
        let mut starts = vec![first];
        let mut start = first;
        // What rounding leaves is no further window.
        while start + self.window < self.room[1] - 1e-9 * self.window {
            let end = start + self.window;
            let cut = spans.iter().filter(|[low, high]| start < *low && *low < end && end < *high);
            // What is cut lies beyond the joint.
            start = cut.map(|[low, _]| *low).fold(end, f64::min) - self.overlap;
            starts.push(start);
        }
        starts
    }
}

/// What of an item is printed; of the frame nothing is missed.
struct Ink {
    room: Rect,
    segments: Vec<[DVec2; 2]>,
    text: Option<TurnedRect>,
}

impl Ink {
    fn of(item: &Item) -> Self {
        let segments = if matches!(item, Item::Line(LineType::Frame, _)) { Vec::new() } else { item.segments() };
        Self { room: item.room(), segments, text: item.text().map(|text| text.bounds) }
    }

    fn is_on(&self, window: &Rect) -> bool {
        let near = self.room.grown(f64::EPSILON).overlaps(window);
        near && (self.text.is_some_and(|text| text.overlaps(&TurnedRect::from(*window)))
            || self.segments.iter().any(|segment| window.is_crossed(*segment)))
    }
}

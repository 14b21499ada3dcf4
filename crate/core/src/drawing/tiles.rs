//! A drawing at 1:1 on many sheets of paper that are joined: a grid of windows that overlap, without those on which
//! nothing is drawn.

use glam::DVec2;
use serde::Serialize;

use super::{Drawing, Item, LineType, Rect};

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
}

/// Lays a drawing onto sheets of which windows so large (mm) are printed, the same for all, each `overlap_mm` over its
/// neighbours. The drawing lies in the middle of the grid; the window with the fewest sheets is taken, of several the first.
/// Nothing for windows that are no larger than the overlap. With a `part` of the drawing, its left, top, right and bottom in
/// mm from the drawing's upper left corner, only the sheets that show some of it.
#[must_use]
pub fn tiles(drawing: &Drawing, windows: &[[f64; 2]], overlap_mm: f64, part: Option<[f64; 4]>) -> Tiling {
    let inks: Vec<Ink> = drawing.items.iter().map(Ink::of).collect();
    let height = drawing.size_mm.y;
    let part = part.map(|[left, top, right, bottom]| {
        Rect::new(DVec2::new(left, height - bottom), DVec2::new(right, height - top))
    });
    let windows = windows.iter().copied().map(DVec2::from).enumerate();
    let tilings = windows.filter(|(_, window)| window.min_element() > overlap_mm);
    let tilings = tilings.map(|(index, window)| {
        let pitch = window - overlap_mm;
        // What rounding leaves is no further sheet.
        let count = ((drawing.size_mm - overlap_mm) / pitch - 1e-9).ceil().max(DVec2::ONE);
        let left_over = count * pitch + overlap_mm - drawing.size_mm;
        let (columns, rows) = (count.x as usize, count.y as usize);
        let grid = (0..rows).flat_map(|row| (0..columns).map(move |column| (row, column)));
        let tile = |(row, column): (usize, usize)| {
            let corner = DVec2::new(column as f64, row as f64) * pitch - left_over / 2.0;
            Tile { column, row, left_mm: corner.x, top_mm: corner.y }
        };
        let shown = |tile: &Tile| {
            let low = DVec2::new(tile.left_mm, height - tile.top_mm - window.y);
            let seen = Rect::new(low, low + window);
            part.is_none_or(|part| part.overlaps(&seen)) && inks.iter().any(|ink| ink.is_on(&seen))
        };
        Tiling { window: index, columns, rows, tiles: grid.map(tile).filter(shown).collect() }
    });
    tilings.min_by_key(|tiling| tiling.tiles.len()).unwrap_or_default()
}

/// What of an item is printed; of the frame nothing is missed.
struct Ink {
    room: Rect,
    segments: Vec<[DVec2; 2]>,
    text: Option<Rect>,
}

impl Ink {
    fn of(item: &Item) -> Self {
        let segments = if matches!(item, Item::Line(LineType::Frame, _)) { Vec::new() } else { item.segments() };
        Self { room: item.room(), segments, text: item.text().map(|text| text.bounds) }
    }

    fn is_on(&self, window: &Rect) -> bool {
        let near = self.room.grown(f64::EPSILON).overlaps(window);
        near && (self.text.is_some_and(|text| text.overlaps(window))
            || self.segments.iter().any(|segment| window.is_crossed(*segment)))
    }
}

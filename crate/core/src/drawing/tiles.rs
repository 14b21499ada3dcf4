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
    /// What of the window belongs to what is laid out: left, top, width and height, mm as those. All else stays white.
    pub seen_mm: [f64; 4],
}

/// Lays a drawing onto sheets of which windows so large (mm) are printed, the same for all, each `overlap_mm` over its
/// neighbours; the window with the fewest sheets is taken, of several the first. The drawing lies in the middle of the
/// grid; with the name of a part of it every room of that part does, one grid below the other, and what lies beside it
/// takes no sheet. Nothing for windows that are no larger than the overlap.
#[must_use]
pub fn tiles(drawing: &Drawing, windows: &[[f64; 2]], overlap_mm: f64, part: Option<&str>) -> Tiling {
    let inks: Vec<Ink> = drawing.items.iter().map(Ink::of).collect();
    let height = drawing.size_mm.y;
    let whole = [Rect::new(DVec2::ZERO, drawing.size_mm)];
    let part = part.and_then(|name| drawing.parts.iter().find(|part| part.name == name));
    let rooms = part.map_or(whole.as_slice(), |part| &part.rooms);
    let windows = windows.iter().copied().map(DVec2::from).enumerate();
    let tilings = windows.filter(|(_, window)| window.min_element() > overlap_mm);
    let tilings = tilings.map(|(index, window)| {
        let pitch = window - overlap_mm;
        let mut tiling = Tiling { window: index, ..Tiling::default() };
        for room in rooms {
            // What rounding leaves is no further sheet.
            let count = ((room.size() - overlap_mm) / pitch - 1e-9).ceil().max(DVec2::ONE);
            let left_over = count * pitch + overlap_mm - room.size();
            let (columns, rows) = (count.x as usize, count.y as usize);
            let corner = DVec2::new(room.min.x, height - room.max.y) - left_over / 2.0;
            for (row, column) in (0..rows).flat_map(|row| (0..columns).map(move |column| (row, column))) {
                let at = corner + DVec2::new(column as f64, row as f64) * pitch;
                let low = DVec2::new(at.x, height - at.y - window.y);
                let seen = Rect::new(low.max(room.min), (low + window).min(room.max));
                if inks.iter().any(|ink| ink.is_on(&seen)) {
                    let size = seen.size();
                    let seen_mm = [seen.min.x, height - seen.max.y, size.x, size.y];
                    tiling.tiles.push(Tile { column, row: tiling.rows + row, left_mm: at.x, top_mm: at.y, seen_mm });
                }
            }
            tiling.columns = tiling.columns.max(columns);
            tiling.rows += rows;
        }
        tiling
    });
    let parts = drawing.parts.iter().map(|part| part.name.clone()).collect();
    Tiling { parts, ..tilings.min_by_key(|tiling| tiling.tiles.len()).unwrap_or_default() }
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

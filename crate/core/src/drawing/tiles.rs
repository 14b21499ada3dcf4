//! A drawing at 1:1 on many sheets of paper that are joined: a grid of windows that overlap, without those on which
//! nothing is drawn.

use glam::DVec2;
use serde::Serialize;

use super::{Drawing, Item, LineType, Rect, TurnedRect};
use crate::tolerance::EXACT_MM;

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
    /// How far the arms of a cross reach, mm.
    pub arm_mm: f64,
    /// Names of the parts that can be laid onto sheets alone.
    pub parts: Vec<String>,
    /// How far the title block is moved from where the drawing has it, to the right and down
    /// ([`Drawing::with_title_block_by`]).
    pub title_block_by_mm: [f64; 2],
}

/// What one sheet shows.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Tile {
    /// Its column, from 0.
    pub column: usize,
    /// Its row, from 0.
    pub row: usize,
    /// Left of its window, mm from the drawing's left.
    pub left_mm: f64,
    /// Top of its window, mm from the drawing's top.
    pub top_mm: f64,
    /// Where it is joined, left, top, right and bottom, mm as those: in what it shares with its neighbours.
    pub joints_mm: [f64; 4],
    /// Its crosses, mm as those, each of them on a neighbour too and off every text: two with every neighbour beside,
    /// above and below.
    pub crosses_mm: Vec<[f64; 2]>,
    /// What of the window belongs to what is laid out: left, top, width and height, mm as those. All else stays white.
    pub seen_mm: [f64; 4],
}

/// How far the arms of a cross reach, mm.
const ARM_MM: f64 = 4.0;

/// Lays a drawing onto sheets of which windows so large (mm) are printed, the same for all, each at least `overlap_mm`
/// over its neighbours, and so far that every text and the title block is whole on one of them, but what is nearly as long
/// as a window; the window with the fewest sheets is taken, of several the first. The drawing lies in the middle of the grid; with the name
/// of a part of it every room of that part does, one grid below the other, and what lies beside it takes no sheet. A title
/// block for which it would take a further sheet is moved, as little as can be, to where it fits on one of the others
/// ([`Tiling::title_block_by_mm`]). Nothing for windows that are no larger than the overlap.
#[must_use]
pub fn tiles(drawing: &Drawing, windows: &[[f64; 2]], overlap_mm: f64, part: Option<&str>) -> Tiling {
    let whole = [Rect::new(DVec2::ZERO, drawing.size_mm)];
    let part = part.and_then(|name| drawing.parts.iter().find(|part| part.name == name));
    let rooms = part.map_or(whole.as_slice(), |part| &part.rooms);
    let (block, others): (Vec<&Item>, Vec<&Item>) = drawing.items.iter().partition(|item| drawing.has_in_block(item));
    let bare = Content::new(drawing.size_mm.y, &others);
    let with_block = |by: DVec2| {
        let inks = block.iter().map(|item| Ink::of(&(*item).clone().moved(by)));
        let mut content = Content { inks: bare.inks.iter().cloned().chain(inks).collect(), ..bare.clone() };
        content.wholes.push(drawing.title_block.moved(by));
        content
    };
    let usual = with_block(DVec2::ZERO);
    let windows = windows.iter().copied().map(DVec2::from).enumerate();
    let windows = windows.filter(|(_, window)| window.min_element() > overlap_mm);
    let tilings = windows.map(|(index, window)| {
        let lay = |content: &Content| -> Vec<Grid> {
            rooms.iter().map(|room| content.lay(*room, window, overlap_mm)).collect()
        };
        let (grids, others) = (lay(&usual), lay(&bare));
        let count = |grids: &[Grid]| grids.iter().map(|grid| grid.tiles.len()).sum::<usize>();
        let is_alone = || grids.iter().flat_map(|grid| &grid.tiles).any(|tile| !bare.is_on(tile));
        let costs = count(&others) < count(&grids) || is_alone();
        let room = if costs { bare.room_for_block(drawing, &others, window) } else { None };
        let (by, grids) = room.map_or((DVec2::ZERO, grids), |by| (by, others));
        let texts: Vec<TurnedRect> = with_block(by).texts().collect();
        let mut tiling = Tiling { window: index, title_block_by_mm: [by.x, -by.y], ..Tiling::default() };
        for (mut grid, room) in grids.into_iter().zip(rooms) {
            let shown: Vec<TurnedRect> = texts.iter().filter(|text| text.upright().overlaps(room)).copied().collect();
            Crosses { window, height: drawing.size_mm.y, texts: &shown, set: Vec::new() }.mark(&mut grid.tiles);
            tiling.tiles.extend(grid.tiles.into_iter().map(|tile| Tile { row: tiling.rows + tile.row, ..tile }));
            tiling.columns = tiling.columns.max(grid.columns);
            tiling.rows += grid.rows;
        }
        tiling
    });
    let parts = drawing.parts.iter().map(|part| part.name.clone()).collect();
    Tiling { parts, arm_mm: ARM_MM, ..tilings.min_by_key(|tiling| tiling.tiles.len()).unwrap_or_default() }
}

/// What is laid onto sheets.
#[derive(Clone)]
struct Content {
    /// Of the drawing, mm.
    height: f64,
    inks: Vec<Ink>,
    /// What is to be whole on a sheet.
    wholes: Vec<Rect>,
}

/// The sheets of a room, in rows from 0, still without crosses.
struct Grid {
    columns: usize,
    rows: usize,
    tiles: Vec<Tile>,
}

impl Content {
    fn new(height: f64, items: &[&Item]) -> Self {
        let mut content = Self { height, inks: items.iter().map(|item| Ink::of(item)).collect(), wholes: Vec::new() };
        content.wholes = content.texts().map(|text| text.upright()).collect();
        content
    }

    fn texts(&self) -> impl Iterator<Item = TurnedRect> {
        self.inks.iter().filter_map(|ink| ink.text)
    }

    /// Whether a sheet shows anything of it.
    fn is_on(&self, tile: &Tile) -> bool {
        let [left, top, width, height] = tile.seen_mm;
        let low = DVec2::new(left, self.height - top - height);
        let seen = Rect::new(low, low + DVec2::new(width, height));
        self.inks.iter().any(|ink| ink.is_on(&seen))
    }

    fn lay(&self, room: Rect, window: DVec2, overlap: f64) -> Grid {
        let height = self.height;
        let set = |window: f64, span: &dyn Fn(&Rect) -> [f64; 2]| {
            let spans: Vec<_> = self.wholes.iter().filter(|whole| whole.overlaps(&room)).map(span).collect();
            Windows { room: span(&room), window, overlap }.set(&spans)
        };
        let across = set(window.x, &|rect| [rect.min.x, rect.max.x]);
        let down = set(window.y, &|rect| [height - rect.max.y, height - rect.min.y]);
        let (columns, lines) = (shares(&across, overlap), shares(&down, overlap));
        let mut tiles = Vec::new();
        for (row, (&[top, above, below], [head, foot])) in down.iter().zip(lines).enumerate() {
            for (column, (&[left, before, after], [from, to])) in across.iter().zip(&columns).enumerate() {
                let low = DVec2::new(left, height - top - window.y);
                let seen = Rect::new(low.max(room.min), (low + window).min(room.max));
                let own = Rect::new(
                    seen.min.max(DVec2::new(*from, height - foot)),
                    seen.max.min(DVec2::new(*to, height - head)),
                );
                if self.inks.iter().any(|ink| ink.is_on(&own)) {
                    let size = seen.size();
                    tiles.push(Tile {
                        column,
                        row,
                        left_mm: left,
                        top_mm: top,
                        joints_mm: [before, above, after, below],
                        crosses_mm: Vec::new(),
                        seen_mm: [seen.min.x, height - seen.max.y, size.x, size.y],
                    });
                }
            }
        }
        Grid { columns: across.len(), rows: down.len(), tiles }
    }

    /// By how far a drawing's title block is to be moved, as little as can be, to be whole on one of some sheets, beside
    /// all that is drawn, and in the frame, not near its line unless on it as before; `None` where no sheet has room for it.
    fn room_for_block(&self, drawing: &Drawing, grids: &[Grid], window: DVec2) -> Option<DVec2> {
        /// Places tried along a sheet and down it.
        const PLACES: u32 = 48;
        /// A block is looked for at a drawing's foot: what it is raised by counts so often.
        const RAISED: f64 = 2.0;
        let home = drawing.title_block;
        let clear = drawing.text_mm;
        let frame = self.inks.iter().find(|ink| ink.is_frame)?.room.grown(-clear);
        // In a view a block would be taken for something on the sack, among dimensions for one of them.
        let views = drawing.views.iter().map(|view| view.outline);
        let drawn = self.inks.iter().filter(|ink| !ink.is_frame).map(|ink| ink.room);
        let taken: Vec<Rect> = views.chain(drawn).map(|room| room.grown(clear)).collect();
        let mut best: Option<(f64, DVec2)> = None;
        for tile in grids.iter().flat_map(|grid| &grid.tiles) {
            let low = DVec2::new(tile.left_mm, self.height - tile.top_mm - window.y);
            let sheet = Rect::new(low, low + window).grown(-EXACT_MM);
            let places = |axis: usize| {
                let size = home.size()[axis];
                let (least, most) = (sheet.min[axis], sheet.max[axis] - size);
                let usual = Some(home.min[axis]).filter(|place| (least..=most).contains(place));
                let (least, most) = (least.max(frame.min[axis]), most.min(frame.max[axis] - size));
                let share = move |place: u32| least + (most - least) * f64::from(place) / f64::from(PLACES);
                usual.into_iter().chain((0..=PLACES).map(share).filter(move |_| least <= most))
            };
            for x in places(0) {
                for y in places(1) {
                    let by = DVec2::new(x, y) - home.min;
                    let far = DVec2::new(by.x, RAISED * by.y).length_squared();
                    let place = home.moved(by);
                    if best.is_none_or(|(least, _)| far < least) && !taken.iter().any(|taken| taken.overlaps(&place)) {
                        best = Some((far, by));
                    }
                }
            }
        }
        best.map(|(_, by)| by)
    }
}

/// From where to where what is on windows in a row, given by where they begin and are joined, is counted as each one's alone:
/// from joint to joint, but of what the outermost share with their neighbours all is the neighbours'.
fn shares(windows: &[[f64; 3]], overlap: f64) -> Vec<[f64; 2]> {
    let count = windows.len();
    let between = |after: usize, joint: f64| match after {
        0 => f64::NEG_INFINITY,
        _ if after == count => f64::INFINITY,
        _ if after + 1 == count => joint + overlap / 2.0,
        1 => joint - overlap / 2.0,
        _ => joint,
    };
    let share = |(index, &[_, before, after]): (usize, &[f64; 3])| [between(index, before), between(index + 1, after)];
    windows.iter().enumerate().map(share).collect()
}

/// The crosses of one grid of sheets.
struct Crosses<'a> {
    window: DVec2,
    /// Of the drawing, mm.
    height: f64,
    texts: &'a [TurnedRect],
    set: Vec<DVec2>,
}

impl Crosses<'_> {
    /// Gives the sheets their crosses.
    fn mark(mut self, tiles: &mut [Tile]) {
        let at = |row: usize, column: usize| tiles.iter().find(|tile| (tile.row, tile.column) == (row, column));
        for one in &*tiles {
            let (row, column) = (one.row, one.column);
            let [left, top, right, bottom] = one.joints_mm;
            let (beside, below) = (at(row, column + 1), at(row + 1, column));
            for (other, ends) in [(beside, [[right, top], [right, bottom]]), (below, [[left, bottom], [right, bottom]])]
            {
                for end in ends {
                    self.join([Some(one), other], end);
                }
            }
            // Corner to corner only where no other sheet joins the two.
            if beside.is_none() && below.is_none() {
                self.join([Some(one), at(row + 1, column + 1)], [right, bottom]);
            }
            if below.is_none() && column > 0 && at(row, column - 1).is_none() {
                self.join([Some(one), at(row + 1, column - 1)], [left, bottom]);
            }
        }
        for tile in tiles {
            let room = self.room(tile).grown(f64::EPSILON * self.height);
            let on = self.set.iter().filter(|cross| room.holds(**cross));
            tile.crosses_mm = on.map(|cross| [cross.x, self.height - cross.y]).collect();
        }
    }

    /// Where on a sheet a cross has room.
    fn room(&self, tile: &Tile) -> Rect {
        let low = DVec2::new(tile.left_mm, self.height - tile.top_mm - self.window.y);
        Rect::new(low, low + self.window).grown(-ARM_MM)
    }

    /// A cross that both of two sheets have, as near to a place as it is off every text; one that is set already and near
    /// enough serves.
    fn join(&mut self, sheets: [Option<&Tile>; 2], [x, y]: [f64; 2]) {
        /// Grid on which free places are looked for, free room round a cross, and between two, mm.
        const PITCH: f64 = 1.0;
        const CLEAR: f64 = 0.5;
        const APART: f64 = 3.0 * ARM_MM;
        let [Some(one), Some(other)] = sheets else { return };
        let wanted = DVec2::new(x, self.height - y);
        let (one, other) = (self.room(one), self.room(other));
        let shared = Rect::new(one.min.max(other.min), one.max.min(other.max));
        let slack = shared.size();
        if slack.min_element() < 0.0 {
            return;
        }
        let near = self.window.min_element() / 8.0;
        if self.set.iter().any(|cross| shared.holds(*cross) && cross.distance(wanted) < near) {
            return;
        }
        let around = |place: Rect| TurnedRect::from(place.grown(ARM_MM + CLEAR));
        let texts: Vec<_> = self.texts.iter().filter(|text| text.overlaps(&around(shared))).collect();
        let steps = (slack / PITCH).ceil().max(DVec2::ONE);
        let places = (0..=steps.x as u32).flat_map(|i| (0..=steps.y as u32).map(move |j| (i, j)));
        let places = places.map(|(i, j)| shared.min + slack * DVec2::new(f64::from(i), f64::from(j)) / steps);
        let free = |place: &DVec2| {
            let cross = around(Rect::new(*place, *place));
            !texts.iter().any(|text| text.overlaps(&cross)) && self.set.iter().all(|set| set.distance(*place) >= APART)
        };
        let best = core::iter::once(wanted)
            .chain(places)
            .filter(free)
            .min_by(|one, other| one.distance_squared(wanted).total_cmp(&other.distance_squared(wanted)));
        self.set.push(best.unwrap_or(wanted));
    }
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
#[derive(Clone)]
struct Ink {
    room: Rect,
    segments: Vec<[DVec2; 2]>,
    text: Option<TurnedRect>,
    is_frame: bool,
}

impl Ink {
    fn of(item: &Item) -> Self {
        let is_frame = matches!(item, Item::Line(LineType::Frame, _));
        let segments = if is_frame { Vec::new() } else { item.segments() };
        Self { room: item.room(), segments, text: item.text().map(|text| text.bounds), is_frame }
    }

    fn is_on(&self, window: &Rect) -> bool {
        let near = self.room.grown(f64::EPSILON).overlaps(window);
        near && (self.text.is_some_and(|text| text.overlaps(&TurnedRect::from(*window)))
            || self.segments.iter().any(|segment| window.is_crossed(*segment)))
    }
}

//! How many sacks of one size, each along the layer or turned by a quarter, go into a rectangle, and where.
//!
//! **Method.** In a layer pushed into one corner every sack's edge lies at a sum of sack lengths and widths, so only
//! such sums matter (Herz, Christofides and Whitlock), and of them only the raster points (Terno, Scheithauer):
//! for a length X the largest sums that fit beside each smaller sum. Over these the rectangle is cut recursively into two
//! (guillotine) or into five, four round a middle one (first-order non-guillotine; Morabito and Morales); each part is
//! solved once. The result is a layer that exists; the bounds of [`super::bound`] say whether a better one is
//! possible. Where count and bound meet, the count is proven to be the best there is.
//!
//! **Where it ends.** The search tries [`MOST_TRIES`] cuts and then keeps the best so far; a layer of the size of sacks needs
//! far fewer. Layers that no cut into two or five makes are not found; [`Layers::proven`] tells when that could matter.

use super::bound::{Bounds, whole};
use crate::tolerance::EXACT_MM;

/// Cuts tried at most: about a tenth of a second.
const MOST_TRIES: usize = 400_000;
/// Sums kept at most: beyond it sacks are so small against the layer that only plain rows are made.
const MOST_SUMS: usize = 600;
/// Different layers of the best count that are kept at most.
const MOST_PATTERNS: usize = 24;

/// A sack in a layer.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spot {
    /// Its corner nearest to the layer's, mm, along the layer's length and width.
    pub corner_mm: [f64; 2],
    /// How far it reaches from there, mm.
    pub size_mm: [f64; 2],
    /// Does its width lie along the layer's length?
    pub turned: bool,
}

/// Sacks in a layer, pushed into the corner of the rectangle.
#[derive(Clone, Debug, PartialEq)]
pub struct Pattern {
    /// Where each sack is.
    pub spots: Vec<Spot>,
    /// Length and width of what the sacks cover, mm.
    pub size_mm: [f64; 2],
}

impl Pattern {
    fn new(mut spots: Vec<Spot>) -> Self {
        spots.sort_by(|a, b| a.corner_mm[1].total_cmp(&b.corner_mm[1]).then(a.corner_mm[0].total_cmp(&b.corner_mm[0])));
        let reach =
            |axis: usize| spots.iter().map(|spot| spot.corner_mm[axis] + spot.size_mm[axis]).fold(0.0, f64::max);
        Self { size_mm: [reach(0), reach(1)], spots }
    }

    /// The pattern seen in a mirror along its length, its width, or both (a half turn).
    #[must_use]
    pub fn mirrored(&self, axes: [bool; 2]) -> Self {
        let spots = self.spots.iter().map(|spot| {
            let corner = |axis: usize| {
                if axes[axis] {
                    self.size_mm[axis] - spot.corner_mm[axis] - spot.size_mm[axis]
                } else {
                    spot.corner_mm[axis]
                }
            };
            Spot { corner_mm: [corner(0), corner(1)], ..*spot }
        });
        Self::new(spots.collect())
    }

    /// Whether sacks lie at the same places, rounding aside.
    fn is_same(&self, other: &Self) -> bool {
        let near = |a: f64, b: f64| (a - b).abs() < 1e3 * EXACT_MM;
        self.spots.len() == other.spots.len()
            && self.spots.iter().zip(&other.spots).all(|(a, b)| {
                a.turned == b.turned && near(a.corner_mm[0], b.corner_mm[0]) && near(a.corner_mm[1], b.corner_mm[1])
            })
    }
}

/// The four ways in which a pattern can lie on the same rectangle: as it is, mirrored along one side or the other, and
/// turned by a half.
pub const IMAGES: [[bool; 2]; 4] = [[false, false], [true, true], [true, false], [false, true]];

/// The best layers found.
#[derive(Clone, Debug, PartialEq)]
pub struct Layers {
    /// Sacks in a layer.
    pub count: usize,
    /// No layer holds more than this.
    pub bound: usize,
    /// Different patterns with that many sacks, none the image of another; empty when no sack fits.
    pub patterns: Vec<Pattern>,
}

impl Layers {
    /// Whether the count is proven to be the best there is.
    #[must_use]
    pub const fn proven(&self) -> bool {
        self.count == self.bound
    }
}

/// The best layers of sacks of `sack_mm` (length, width) in a rectangle of `room_mm` (length, width). Sizes are finite
/// and positive.
#[must_use]
pub fn layers(room_mm: [f64; 2], sack_mm: [f64; 2]) -> Layers {
    let mut search = Search::new(room_mm, sack_mm);
    let [x, y] = search.room;
    let count = search.count(x, y);
    let patterns = if count == 0 { Vec::new() } else { search.patterns() };
    Layers { count, bound: search.bound(), patterns }
}

/// How many sacks of `sack_mm` go into a layer of `room_mm`, and how many at most could: [`layers`] without patterns.
#[must_use]
pub fn layer_count(room_mm: [f64; 2], sack_mm: [f64; 2]) -> (usize, usize) {
    let mut search = Search::new(room_mm, sack_mm);
    let [x, y] = search.room;
    (search.count(x, y), search.bound())
}

/// How a rectangle is filled. Sums by their index.
#[derive(Clone, Copy, Debug)]
enum Cut {
    /// Rows of sacks lying along it.
    Along,
    /// Rows of sacks lying across it.
    Across,
    /// Two rectangles side by side along the length; the first one's length.
    Length(usize),
    /// Two rectangles side by side along the width; the first one's width.
    Width(usize),
    /// Four rectangles round a fifth: where they meet along the length and along the width.
    Five([usize; 2], [usize; 2]),
}

/// What is known of a rectangle, its length no smaller than its width.
#[derive(Clone, Copy, Debug)]
struct Known {
    count: usize,
    bound: usize,
    cut: Option<Cut>,
}

/// Corner and size of a rectangle within another.
type Part = ([f64; 2], [usize; 2]);

struct Search {
    /// Length and width of a sack, mm.
    sack: [f64; 2],
    /// Sums of sack lengths and widths, rising, from 0.
    sums: Vec<f64>,
    /// The whole rectangle.
    room: [usize; 2],
    bounds: Bounds,
    /// By length and width.
    known: Vec<Option<Known>>,
    /// Raster points of a length, as they are needed.
    raster: Vec<Option<Vec<usize>>>,
    tries: usize,
}

impl Search {
    fn new(room_mm: [f64; 2], sack_mm: [f64; 2]) -> Self {
        let longest = room_mm[0].max(room_mm[1]);
        let sums = sums(sack_mm, longest);
        let n = sums.len();
        let mut search = Self {
            sack: sack_mm,
            sums,
            room: [0; 2],
            bounds: Bounds::new(sack_mm),
            known: vec![None; n * n],
            raster: vec![None; n],
            tries: 0,
        };
        search.room = room_mm.map(|side| search.below(side));
        search
    }

    /// The largest sum that is no more than a length.
    fn below(&self, length: f64) -> usize {
        self.sums.partition_point(|sum| *sum <= length + EXACT_MM).saturating_sub(1)
    }

    /// The largest sum that fits beside another.
    fn rest(&self, length: usize, beside: usize) -> usize {
        self.below(self.sums[length] - self.sums[beside])
    }

    fn raster(&mut self, length: usize) -> Vec<usize> {
        if let Some(points) = &self.raster[length] {
            return points.clone();
        }
        let mut points: Vec<usize> = (0..=length).map(|beside| self.rest(length, beside)).collect();
        points.sort_unstable();
        points.dedup();
        self.raster[length] = Some(points.clone());
        points
    }

    /// The least count that no layer in the whole rectangle exceeds.
    fn bound(&self) -> usize {
        let [x, y] = self.room.map(|side| self.sums[side]);
        self.bounds.of_area(x, y).min(self.bounds.of_lines(x, y))
    }

    fn place(&self, x: usize, y: usize) -> usize {
        x.max(y) * self.sums.len() + x.min(y)
    }

    /// What is known of a rectangle before it is searched.
    fn look(&mut self, x: usize, y: usize) -> Known {
        let place = self.place(x, y);
        if let Some(known) = self.known[place] {
            return known;
        }
        let (x, y) = (self.sums[x.max(y)], self.sums[x.min(y)]);
        let rows = |along: f64, across: f64| whole(x / along) * whole(y / across);
        let [length, width] = self.sack;
        let (along, across) = (rows(length, width), rows(width, length));
        let (count, cut) = if along >= across { (along, Cut::Along) } else { (across, Cut::Across) };
        // Where it is no wider than a sack is long, all sacks lie along it.
        let bound = if y < length.max(width) - EXACT_MM { count } else { self.bounds.of_area(x, y).max(count) };
        let known = Known { count, bound, cut: (bound == count).then_some(cut) };
        self.known[place] = Some(known);
        known
    }

    /// The most sacks found for a rectangle.
    fn count(&mut self, x: usize, y: usize) -> usize {
        let (x, y) = (x.max(y), x.min(y));
        let known = self.look(x, y);
        if known.cut.is_some() {
            return known.count;
        }
        let rows = self.rows(x, y);
        let mut best = (known.count, rows);
        let mut target = known.bound;
        if [x, y] == self.room || [y, x] == self.room {
            target = target.min(self.bound()).max(known.count);
        }
        self.each_cut(x, y, &mut |search, cut| {
            let count = search.worth(x, y, cut, best.0 + 1);
            if count > best.0 {
                best = (count, cut);
            }
            best.0 < target
        });
        let place = self.place(x, y);
        self.known[place] = Some(Known { count: best.0, bound: best.0, cut: Some(best.1) });
        best.0
    }

    /// The better of the two ways to lay plain rows.
    fn rows(&self, x: usize, y: usize) -> Cut {
        let [along, across] = [Cut::Along, Cut::Across].map(|cut| self.plain(x, y, cut));
        if along >= across { Cut::Along } else { Cut::Across }
    }

    fn plain(&self, x: usize, y: usize, cut: Cut) -> usize {
        let [length, width] = self.sack;
        let rows = |along: f64, across: f64| whole(self.sums[x] / along) * whole(self.sums[y] / across);
        match cut {
            Cut::Along => rows(length, width),
            _ => rows(width, length),
        }
    }

    /// Every cut of a rectangle that could matter, until one is told to be enough.
    fn each_cut(&mut self, x: usize, y: usize, tell: &mut impl FnMut(&mut Self, Cut) -> bool) {
        if self.sums.len() > MOST_SUMS {
            return;
        }
        let (along, across) = (self.raster(x), self.raster(y));
        let half = |sums: &[f64], at: usize, side: usize| sums[at] > 0.0 && 2.0 * sums[at] <= sums[side] + EXACT_MM;
        for &at in &along {
            if half(&self.sums, at, x) && !self.tell(Cut::Length(at), tell) {
                return;
            }
        }
        for &at in &across {
            if half(&self.sums, at, y) && !self.tell(Cut::Width(at), tell) {
                return;
            }
        }
        for (index, &left) in along.iter().enumerate().skip(1) {
            for &right in &along[index + 1..] {
                // A half turn exchanges the two; beyond the middle nothing new comes.
                if self.sums[left] + self.sums[right] > self.sums[x] + EXACT_MM || right == x {
                    break;
                }
                for (index, &near) in across.iter().enumerate().skip(1) {
                    for &far in &across[index + 1..] {
                        if far != y && !self.tell(Cut::Five([left, right], [near, far]), tell) {
                            return;
                        }
                    }
                }
            }
        }
    }

    fn tell(&mut self, cut: Cut, tell: &mut impl FnMut(&mut Self, Cut) -> bool) -> bool {
        self.tries += 1;
        self.tries <= MOST_TRIES && tell(self, cut)
    }

    /// The parts of a rectangle that is cut into rectangles, corner and size of each; what is not there has no size.
    fn parts(&self, x: usize, y: usize, cut: Cut) -> [Part; 5] {
        let at = |index: usize| self.sums[index];
        let mut parts = [([0.0; 2], [0; 2]); 5];
        match cut {
            Cut::Along | Cut::Across => {}
            Cut::Length(first) => {
                parts[0].1 = [first, y];
                parts[1] = ([at(first), 0.0], [self.rest(x, first), y]);
            }
            Cut::Width(first) => {
                parts[0].1 = [x, first];
                parts[1] = ([0.0, at(first)], [x, self.rest(y, first)]);
            }
            Cut::Five([left, right], [near, far]) => {
                parts = [
                    ([0.0, 0.0], [right, near]),
                    ([at(right), 0.0], [self.rest(x, right), far]),
                    ([at(left), at(far)], [self.rest(x, left), self.rest(y, far)]),
                    ([0.0, at(near)], [left, self.rest(y, near)]),
                    ([at(left), at(near)], [self.rest(right, left), self.rest(far, near)]),
                ];
            }
        }
        parts
    }

    /// The sacks that a cut holds; 0 when its parts can't hold `least`.
    fn worth(&mut self, x: usize, y: usize, cut: Cut, least: usize) -> usize {
        let parts = self.parts(x, y, cut);
        let mut could = 0;
        for (_, [x, y]) in parts {
            could += self.look(x, y).bound;
        }
        for (_, [x, y]) in parts {
            if could < least {
                return 0;
            }
            let bound = self.look(x, y).bound;
            could = could - bound + self.count(x, y);
        }
        could
    }

    /// Different patterns of the best count.
    fn patterns(&mut self) -> Vec<Pattern> {
        let [x, y] = self.room;
        let best = self.count(x, y);
        let mut found: Vec<Pattern> = Vec::new();
        let mut keep = |search: &mut Self, cut: Cut| {
            let mut spots = Vec::with_capacity(best);
            search.lay(x, y, Some(cut), [0.0; 2], false, &mut spots);
            let pattern = Pattern::new(spots);
            let is_new = !IMAGES.iter().any(|axes| found.iter().any(|other| other.is_same(&pattern.mirrored(*axes))));
            if is_new && pattern.spots.len() == best {
                found.push(pattern);
            }
            found.len() < MOST_PATTERNS
        };
        for cut in [Cut::Along, Cut::Across] {
            if self.plain(x, y, cut) == best {
                keep(self, cut);
            }
        }
        self.tries = 0;
        self.each_cut(x, y, &mut |search, cut| search.worth(x, y, cut, best) < best || keep(search, cut));
        found
    }

    /// Lays the sacks of a rectangle, from its corner; `flipped`: its width runs along the layer's length.
    fn lay(&mut self, x: usize, y: usize, cut: Option<Cut>, corner: [f64; 2], flipped: bool, spots: &mut Vec<Spot>) {
        // What is known is known of the rectangle lying lengthwise.
        let (x, y, flipped) = if cut.is_none() && x < y { (y, x, !flipped) } else { (x, y, flipped) };
        let cut = match cut {
            Some(cut) => cut,
            None => {
                self.count(x, y);
                let place = self.place(x, y);
                let Some(cut) = self.known[place].and_then(|known| known.cut) else { return };
                cut
            }
        };
        let turn = |[a, b]: [f64; 2]| if flipped { [b, a] } else { [a, b] };
        let from = |[a, b]: [f64; 2]| {
            let [a, b] = turn([a, b]);
            [corner[0] + a, corner[1] + b]
        };
        if matches!(cut, Cut::Along | Cut::Across) {
            let [length, width] = self.sack;
            let along = matches!(cut, Cut::Along);
            let [sx, sy] = if along { [length, width] } else { [width, length] };
            let [nx, ny] = [whole(self.sums[x] / sx), whole(self.sums[y] / sy)];
            for row in 0..ny {
                for column in 0..nx {
                    let corner_mm = from([column as f64 * sx, row as f64 * sy]);
                    spots.push(Spot { corner_mm, size_mm: turn([sx, sy]), turned: along == flipped });
                }
            }
        }
        for (offset, [x, y]) in self.parts(x, y, cut).into_iter().filter(|(_, size)| !size.contains(&0)) {
            self.lay(x, y, None, from(offset), flipped, spots);
        }
    }
}

/// Every sum of lengths and widths up to `most`, rising, from 0.
fn sums([length, width]: [f64; 2], most: f64) -> Vec<f64> {
    let mut sums = Vec::new();
    for lengths in 0..=whole(most / length) {
        let used = lengths as f64 * length;
        for widths in 0..=whole((most - used).max(0.0) / width) {
            sums.push(used + widths as f64 * width);
        }
    }
    sums.sort_by(f64::total_cmp);
    sums.dedup_by(|a, b| *a - *b <= EXACT_MM);
    sums
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    /// The most sacks in a small grid, by trying everything: each free cell in turn begins a sack that lies along, one that
    /// lies across, or stays free.
    struct Referee {
        room: [usize; 2],
        sack: [usize; 2],
        taken: Vec<bool>,
        best: usize,
    }

    impl Referee {
        fn count(room: [usize; 2], sack: [usize; 2]) -> usize {
            let mut referee = Self { room, sack, taken: vec![false; room[0] * room[1]], best: 0 };
            referee.go(0, 0);
            referee.best
        }

        fn go(&mut self, cell: usize, laid: usize) {
            self.best = self.best.max(laid);
            let [x, y] = self.room;
            let Some(at) = (cell..x * y).find(|cell| !self.taken[*cell]) else { return };
            let free = self.taken[at..].iter().filter(|taken| !**taken).count();
            if laid + free / (self.sack[0] * self.sack[1]) <= self.best {
                return;
            }
            let [l, w] = self.sack;
            for size in [[l, w], [w, l]] {
                if self.take(at, size, true) {
                    self.go(at + 1, laid + 1);
                    self.take(at, size, false);
                }
            }
            self.taken[at] = true;
            self.go(at + 1, laid);
            self.taken[at] = false;
        }

        /// Takes or gives back the cells of a sack; taking fails where one is taken.
        fn take(&mut self, at: usize, [sx, sy]: [usize; 2], take: bool) -> bool {
            let [x, y] = self.room;
            let [column, row] = [at % x, at / x];
            if column + sx > x || row + sy > y {
                return false;
            }
            let cells = (0..sx * sy).map(|k| (row + k / sx) * x + column + k % sx);
            if take && cells.clone().any(|cell| self.taken[cell]) {
                return false;
            }
            cells.for_each(|cell| self.taken[cell] = take);
            true
        }
    }

    /// Every sack within the rectangle, none on another.
    fn is_sound(layers: &Layers, room: [f64; 2], sack: [f64; 2]) {
        for pattern in &layers.patterns {
            assert_eq!(pattern.spots.len(), layers.count);
            for (index, a) in pattern.spots.iter().enumerate() {
                assert_eq!(a.size_mm, if a.turned { [sack[1], sack[0]] } else { sack });
                for axis in [0, 1] {
                    assert!(
                        a.corner_mm[axis] >= 0.0 && a.corner_mm[axis] + a.size_mm[axis] <= room[axis] + 1e-6,
                        "{a:?}"
                    );
                }
                for b in &pattern.spots[index + 1..] {
                    let apart = |axis: usize| {
                        a.corner_mm[axis] + a.size_mm[axis] <= b.corner_mm[axis] + 1e-6
                            || b.corner_mm[axis] + b.size_mm[axis] <= a.corner_mm[axis] + 1e-6
                    };
                    assert!(apart(0) || apart(1), "{a:?} lies on {b:?}");
                }
            }
        }
    }

    #[test]
    fn layers_of_the_literature_are_found_and_proven() {
        // Instances of the pallet-loading literature (Dowsland; Nelissen; Scheithauer and Terno), with their optima.
        let known = [
            ([22.0, 16.0], [5.0, 3.0], 23),
            ([86.0, 82.0], [15.0, 11.0], 42),
            ([57.0, 44.0], [12.0, 5.0], 41),
            ([42.0, 39.0], [9.0, 4.0], 45),
            ([40.0, 25.0], [7.0, 3.0], 47),
            ([124.0, 81.0], [21.0, 10.0], 47),
        ];
        for (room, sack, optimum) in known {
            let found = layers(room, sack);
            assert_eq!((found.count, found.proven()), (optimum, true), "{room:?} {sack:?}: at most {}", found.bound);
            is_sound(&found, room, sack);
        }
    }

    #[test]
    fn the_trade_s_own_layers_are_found() {
        for (room, sack, count) in [
            ([1200.0, 800.0], [800.0, 400.0], 3),
            ([1200.0, 800.0], [600.0, 400.0], 4),
            ([1000.0, 1000.0], [600.0, 400.0], 4),
            ([1200.0, 1000.0], [600.0, 400.0], 5),
            ([1200.0, 800.0], [400.0, 400.0], 6),
            ([1200.0, 1000.0], [500.0, 300.0], 8),
        ] {
            let found = layers(room, sack);
            assert_eq!((found.count, found.proven()), (count, true), "{room:?} {sack:?}");
        }
    }

    #[test]
    fn where_no_sack_fits_there_is_no_layer() {
        let found = layers([300.0, 200.0], [400.0, 150.0]);
        assert_eq!((found.count, found.bound, found.patterns.len()), (0, 0, 0));
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(400))]

        #[test]
        fn small_layers_are_as_good_as_trying_everything(x in 1_usize..10, y in 1_usize..9, l in 2_usize..5, w in 1_usize..4) {
            prop_assume!(l * w > 2 || x * y < 40);
            let room = [x, y].map(|side| side as f64);
            let sack = [l, w].map(|side| side as f64);
            let found = layers(room, sack);
            let best = Referee::count([x, y], [l, w]);
            prop_assert_eq!(found.count, best);
            prop_assert!(found.bound >= best);
            is_sound(&found, room, sack);
        }

        #[test]
        fn layers_of_sacks_are_sound_and_within_a_sack_of_the_bound(
            x in 400.0..1600.0, y in 400.0..1400.0, l in 280.0..900.0, w in 180.0..600.0
        ) {
            let found = layers([x, y], [l, w]);
            is_sound(&found, [x, y], [l, w]);
            prop_assert!(found.bound >= found.count && found.bound <= found.count + 1, "{found:?}");
            prop_assert_eq!(layer_count([x, y], [l, w]), (found.count, found.bound));
            // Turning the layer turns the sacks, and nothing else.
            prop_assert_eq!(layer_count([y, x], [l, w]), (found.count, found.bound));
            prop_assert_eq!(layer_count([x, y], [w, l]), (found.count, found.bound));
        }
    }
}

//! The barcode lies where the filled sack is flat and can be read: off its edges, its rounded ends and its seams.
//!
//! Of half the size e x g, its middle off the face's middle by c and p from the plain end: at both its ends the face between
//! the filled sack's edges is W - b wide, with b from B2 at the plain end to B1 at the other; a strip of half a bottom's
//! width at either end is round and wrinkled, and on the front the bottom's fold-back line crosses it; on the back the
//! band of the seams of all plies is thick. Off each of them by 8 mm, the least that an open standard of barcodes asks for
//! from an edge, medium certainty. Its most from an edge, 100 mm, is left out: on sacks codes stand near the middle,
//! where there is least wrinkle. A code that misses its place may still be read: never more than a look.

use crate::check::context::{Context, reaches};
use crate::check::remedy::{advice, down, up};
use crate::check::rule::{Judgement, Outcome, Rule, Silence};
use crate::finding::{Certainty, Change, Cure, Message, Place, Severity, Topic};
use crate::sheet::{Barcode, SheetFile};
use crate::units::length;

pub(super) const RULE: Rule =
    Rule { name: "barcode", topic: Topic::Make, source: "source.barcode", certainty: Certainty::Usual, check };

fn check(context: &Context) -> Outcome {
    let barcode = context.artwork()?.barcode.ok_or_else(|| Silence::not_applicable("silent.no_barcode"))?;
    let (face, clear) = (Face::of(context.file(), &barcode), context.habits.barcode_clear_mm);
    let [x, y] = place(&barcode);
    let places = [
        (face.off_ends(y), ["finding.barcode.near_end", "finding.barcode.on_end"]),
        (face.half_room(y) - x.abs(), ["finding.barcode.near_side", "finding.barcode.round_side"]),
        (face.off_seams(x), ["finding.barcode.near_seam", "finding.barcode.on_seam"]),
    ];
    let (value, [near, on]) =
        places.into_iter().fold((f64::INFINITY, [""; 2]), |least, one| if one.0 < least.0 { one } else { least });
    let (value, clear) = (length(value), length(clear));
    let judge = |severity, message| Judgement::new(Place::Barcode, severity, message).weighed(value, clear);
    let told = |judgement: Judgement| judgement.with("value", value).with("limit", clear);
    let judgement = if reaches(value.value, clear.value) {
        told(judge(Severity::Good, "finding.barcode.holds"))
    } else if reaches(value.value, 0.0) {
        told(judge(Severity::Look, near))
    } else {
        judge(Severity::Look, on).with("over", length(-value.value)).with("limit", clear)
    };
    let moved = || {
        let [x, y] = face.nearest_place([x, y], clear.value)?;
        let message = Message::new("cure.barcode_place").with("aside", length(x)).with("value", length(y));
        Some(Cure::new(message, place_changes([x, y]).into()))
    };
    Ok(vec![judgement.remedy_if_any(moved).remedy(|| advice("cure.barcode_elsewhere"))])
}

/// Where a barcode's middle is: off the face's middle, and from the plain end, mm.
const FIELDS: [&str; 2] = ["artwork.barcode.offset_from_middle_mm", "artwork.barcode.from_plain_end_mm"];

const fn place(barcode: &Barcode) -> [f64; 2] {
    [barcode.offset_from_middle_mm, barcode.from_plain_end_mm]
}

/// Where a barcode that lies well goes with a change of the sack that would leave it where it does not; none where it stays, is
/// part of the change, or has no place any more.
pub(super) fn along(before: &SheetFile, after: &SheetFile, clear: f64) -> Option<[f64; 2]> {
    let of = |file: &SheetFile| file.artwork.as_ref()?.barcode;
    let (barcode, now) = (of(before)?, of(after)?);
    let at = place(&barcode);
    let lies_well = |file| Face::of(file, &barcode).is_clear(at, clear);
    if barcode != now || !lies_well(before) || lies_well(after) {
        return None;
    }
    Face::of(after, &barcode).nearest_place(at, clear)
}

/// What sets a barcode's place.
pub(super) fn place_changes([x, y]: [f64; 2]) -> [Change; 2] {
    let [aside, high] = FIELDS;
    [Change { field: aside.into(), value: x }, Change { field: high.into(), value: y }]
}

/// A face of the filled sack, as a barcode's middle may lie on it: x off its middle, y from the plain end, mm.
pub(crate) struct Face {
    wide: f64,
    long: f64,
    /// Half a bottom's width, at the valve end and at the plain end.
    ends: [f64; 2],
    /// Half of the barcode, across the sack and along it.
    half: [f64; 2],
    /// Where the middle must not lie between, for the seams.
    seams: Option<[f64; 2]>,
}

impl Face {
    /// The face that a barcode is on.
    pub fn of(file: &SheetFile, barcode: &Barcode) -> Self {
        let (half, seam) = (barcode.half_mm(), &file.seam);
        let first = seam.offset_from_middle_mm;
        let last = first + seam.stagger_mm * file.plies.len().saturating_sub(1) as f64;
        let reach = seam.lap_mm / 2.0 + half[0];
        Self {
            wide: file.face_width_mm,
            long: file.length_mm,
            ends: [file.valve_end.bottom_width_mm / 2.0, file.plain_end.bottom_width_mm / 2.0],
            half,
            seams: barcode.on_back.then(|| [first.min(last) - reach, first.max(last) + reach]),
        }
    }

    /// How far the barcode is off the strips at the valve end and at the plain end, mm.
    pub fn off_end(&self, y: f64) -> [f64; 2] {
        let [valve, plain] = self.ends;
        [self.long - valve - self.half[1] - y, y - self.half[1] - plain]
    }

    fn off_ends(&self, y: f64) -> f64 {
        let [valve, plain] = self.off_end(y);
        plain.min(valve)
    }

    /// How far the middle may lie off the face's, mm, for the barcode to reach the face's edge.
    pub fn half_room(&self, y: f64) -> f64 {
        let ([valve, plain], [across, along]) = (self.ends, self.half);
        let edge = |y: f64| plain + (valve - plain) * y / self.long;
        self.wide / 2.0 - edge(y - along).max(edge(y + along)) - across
    }

    fn off_seams(&self, x: f64) -> f64 {
        self.seams.map_or(f64::INFINITY, |[left, right]| (left - x).max(x - right))
    }

    /// Whether a place is so far off all edges, ends and seams.
    pub fn is_clear(&self, [x, y]: [f64; 2], clear: f64) -> bool {
        let least = self.off_ends(y).min(self.half_room(y) - x.abs()).min(self.off_seams(x));
        reaches(least, clear)
    }

    /// The place in whole millimetres nearest to one that is so far off; none where none is.
    pub fn nearest_place(&self, [x, y]: [f64; 2], clear: f64) -> Option<[f64; 2]> {
        let [valve, plain] = self.off_end(y).map(|off| off - clear);
        let (low, high) = (up(y - plain), down(y + valve));
        if low > high {
            return None;
        }
        let y = y.clamp(low, high);
        let most = down(self.half_room(y) - clear).max(0.0);
        let [left, right] = self.seams.unwrap_or([x, x]);
        let beside = [x.clamp(-most, most), down(left - clear), up(right + clear)];
        let nearest = |a: &f64, b: &f64| (a - x).abs().total_cmp(&(b - x).abs());
        beside.into_iter().filter(|x| self.is_clear([*x, y], clear)).min_by(nearest).map(|x| [x, y])
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::cards::read_works;
    use crate::check::{Against, apply, check_with, support, testing};
    use crate::finding::Arg;
    use crate::sack::Sack;
    use crate::sheet::Sheet;

    /// Seams at 60, 70 and 80 mm, 30 wide: the code, half of 80 mm wide, goes beside them by 8 mm.
    #[test]
    fn it_is_moved_to_the_nearest_place_that_does() {
        let cure = |file| testing::finding(&file, None, &RULE, Place::Barcode).unwrap().cure.unwrap().set;
        let to = |file| cure(file).iter().map(|change| change.value).collect::<Vec<_>>();
        assert_eq!(to(support::with_barcode(true, 50.0, 200.0)), [-3.0, 200.0]);
        assert_eq!(to(support::with_barcode(false, 50.0, 30.0)), [50.0, 88.0]);
        assert_eq!(to(support::with_barcode(false, -170.0, 640.0)), [-142.0, 552.0]);
    }

    /// A sack too long for the tuber, and for its width, is to be 850 mm: there the code would stand on its end, and goes along as
    /// far as it must. One that lies well still stays, and so does one that lay badly before.
    #[test]
    fn it_goes_along_with_a_cure_by_the_size() {
        let card = r#"{"format":"sackwright-works/1","name":"w","tuber":{"tube_length_mm":{"max":1340}}}"#;
        let works = read_works(card).unwrap();
        let against = Against { works: Some(&works), ..Against::default() };
        let found = |file| check_with(&Sack::new(Sheet::new(file).unwrap()), &against).findings;
        let long = |barcode: SheetFile| SheetFile { length_mm: 1400.0, ..barcode };
        let cure = |file| {
            let ill = found(file).into_iter().find(|finding| finding.rule == "works-tube-length").unwrap();
            ill.cure.unwrap()
        };
        let file = long(support::with_barcode(false, 20.0, 1200.0));
        let own = cure(file.clone());
        let set: Vec<_> = own.set.iter().map(|change| (change.field.as_str(), change.value)).collect();
        assert_eq!(set, [("length_mm", 850.0), (FIELDS[0], 20.0), (FIELDS[1], 762.0)]);
        assert!(own.worsens.iter().all(|worse| worse.rule != RULE.name), "{own:?}");
        let after = found(apply(&file, &own.set).unwrap());
        assert!(after.iter().all(|finding| finding.rule != RULE.name || finding.severity == Severity::Good));

        assert_eq!(cure(long(support::with_barcode(false, 20.0, 200.0))).set.len(), 1);
        assert_eq!(cure(long(support::with_barcode(false, 170.0, 1200.0))).set.len(), 1);
    }

    /// Half of the face is 190 mm wide between its edges, and the strip at either end 60.
    #[test]
    fn what_it_lies_over_is_told_by_how_far() {
        let said = |file| {
            let finding = testing::finding(&file, None, &RULE, Place::Barcode).unwrap();
            let key = finding.message.key.strip_prefix("finding.barcode.").unwrap().to_owned();
            let told = ["value", "over"].map(|name| match finding.message.args.get(name) {
                Some(Arg::Quantity(quantity)) => Some(quantity.value),
                _ => None,
            });
            (key, told)
        };
        assert_eq!(said(support::with_barcode(false, 0.0, 83.0)), ("near_end".into(), [Some(3.0), None]));
        assert_eq!(said(support::with_barcode(false, 0.0, 75.0)), ("on_end".into(), [None, Some(5.0)]));
        assert_eq!(said(support::with_barcode(false, 152.0, 200.0)), ("round_side".into(), [None, Some(2.0)]));
        assert_eq!(said(support::with_barcode(true, 40.0, 200.0)), ("on_seam".into(), [None, Some(35.0)]));
        assert_eq!(said(support::with_barcode(false, 0.0, 200.0)), ("holds".into(), [Some(120.0), None]));
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(2000))]

        /// By where its corners lie on the outermost ply.
        #[test]
        fn it_judges_by_the_corners_on_the_paper(file in support::valid_sheet(), habits in support::habits()) {
            let sack = Sack::new(Sheet::new(file.clone()).unwrap());
            let [[u1, v1], [u2, v2]] = sack.barcode_mm().unwrap_or_default();
            let (face, bottoms) = (file.face_width_mm, [file.valve_end.bottom_width_mm, file.plain_end.bottom_width_mm]);
            // The face from fold line to fold line.
            let from = (bottoms[0] + file.valve_end.lap_mm) / 2.0;
            let to = from + file.length_mm;
            let wall = if u1 + u2 < 2.0 * face { 0.0 } else { face };
            let mut clear = (v1 - from - bottoms[0] / 2.0).min(to - bottoms[1] / 2.0 - v2);
            for v in [v1, v2] {
                let edge = (bottoms[0] + (bottoms[1] - bottoms[0]) * (v - from) / file.length_mm) / 2.0;
                clear = clear.min(u1 - wall - edge).min(wall + face - edge - u2);
            }
            if wall > 0.0 {
                let middles = (0..file.plies.len()).map(|i| {
                    1.5 * face + file.seam.offset_from_middle_mm + file.seam.stagger_mm * i as f64
                });
                let (low, high) = middles.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), u| (a.min(u), b.max(u)));
                clear = clear.min((low - file.seam.lap_mm / 2.0 - u2).max(u1 - high - file.seam.lap_mm / 2.0));
            }
            prop_assume!((clear - habits.barcode_clear_mm).abs() > 1e-6);
            let expected = file.artwork.as_ref().and_then(|artwork| artwork.barcode).map(|_| {
                if clear >= habits.barcode_clear_mm { Severity::Good } else { Severity::Look }
            });
            prop_assert_eq!(testing::severity_by(&habits, &file, None, &RULE, Place::Barcode), expected);
        }
    }
}

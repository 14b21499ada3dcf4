//! The barcode lies where the filled sack is flat and can be read: off its edges, its rounded ends and its seams.
//!
//! Of half the size e x g, its middle off the face's middle by c and p from the plain end: at both its ends the face between
//! the filled sack's edges is W - b wide, with b from B2 at the plain end to B1 at the other; a strip of half a bottom's
//! width at either end is round and wrinkled, and on the front the bottom's fold-back line crosses it; on the back the
//! band of the seams of all plies is thick. Off each of them by 8 mm, the least that an open standard of barcodes asks for
//! from an edge, medium certainty. Its most from an edge, 100 mm, is left out: on sacks codes stand near the middle,
//! where there is least wrinkle. A code that misses its place may still be read: never more than a look.

use crate::check::context::{Context, reaches};
use crate::check::remedy::{advice, down, set_lengths, up};
use crate::check::rule::{Judgement, Outcome, Rule, Silence};
use crate::finding::{Certainty, Place, Topic};
use crate::units::length;

pub(super) const RULE: Rule =
    Rule { name: "barcode", topic: Topic::Make, source: "source.barcode", certainty: Certainty::Usual, check };

fn check(context: &Context) -> Outcome {
    let barcode = context.artwork()?.barcode.ok_or_else(|| Silence::not_applicable("silent.no_barcode"))?;
    let [valve, plain] = context.bottoms().map(|bottom| bottom.width_mm / 2.0);
    let (wide, long, clear) = (context.face_width_mm(), context.file().length_mm, context.habits.barcode_clear_mm);
    let ([across, along], [x, y]) = (barcode.half_mm(), [barcode.offset_from_middle_mm, barcode.from_plain_end_mm]);
    let end = |y: f64| (y - along - plain).min(long - valve - along - y);
    let edge = |y: f64| plain + (valve - plain) * y / long;
    let side = |y: f64| wide / 2.0 - edge(y - along).max(edge(y + along)) - across;
    let tube = context.sack.tube();
    let seams = || tube.plies.iter().filter(|_| barcode.on_back).map(|ply| ply.seam_u_mm - 1.5 * wide);
    let reach = tube.seam_lap_mm / 2.0 + across;
    let (left, right) =
        (seams().fold(f64::INFINITY, f64::min) - reach, seams().fold(f64::NEG_INFINITY, f64::max) + reach);
    let seam = |x: f64| if barcode.on_back { (left - x).max(x - right) } else { f64::INFINITY };

    let places = [
        (end(y), "finding.barcode.near_end"),
        (side(y) - x.abs(), "finding.barcode.near_side"),
        (seam(x), "finding.barcode.near_seam"),
    ];
    let (value, look) =
        places.into_iter().fold((f64::INFINITY, ""), |least, one| if one.0 < least.0 { one } else { least });
    let moved = || {
        let (low, high) = (up(plain + along + clear), down(long - valve - along - clear));
        if low > high {
            return None;
        }
        let to = y.clamp(low, high);
        let most = down(side(to) - clear).max(0.0);
        let fits = |x: &f64| reaches(side(to) - x.abs(), clear) && reaches(seam(*x), clear);
        let nearest = |a: &f64, b: &f64| (a - x).abs().total_cmp(&(b - x).abs());
        let beside = [x.clamp(-most, most), down(left - clear), up(right + clear)].into_iter().filter(fits);
        let x = beside.min_by(nearest)?;
        let [aside, high] =
            ["offset_from_middle_mm", "from_plain_end_mm"].map(|field| format!("artwork.barcode.{field}"));
        Some(set_lengths("cure.barcode_place", [("aside", aside, x), ("value", high, to)]))
    };
    let judgement = Judgement::advised(Place::Barcode, reaches(value, clear), ["finding.barcode.holds", look])
        .compared(length(value), length(clear))
        .remedy_if_any(moved)
        .remedy(|| advice("cure.barcode_elsewhere"));
    Ok(vec![judgement])
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::check::{support, testing};
    use crate::finding::Severity;
    use crate::sack::Sack;
    use crate::sheet::{Artwork, Barcode, Sheet};

    /// A sheet with a barcode off the middle and from the plain end by so much.
    fn with_barcode(on_back: bool, offset_from_middle_mm: f64, from_plain_end_mm: f64) -> crate::sheet::SheetFile {
        let (width_mm, height_mm) = (80.0, 40.0);
        let barcode =
            Barcode { width_mm, height_mm, offset_from_middle_mm, from_plain_end_mm, on_back, bars_across: false };
        let artwork = Artwork { front: None, repeat_mm: None, barcode: Some(barcode) };
        crate::sheet::SheetFile { artwork: Some(artwork), ..support::plain_sheet() }
    }

    /// Seams at 60, 70 and 80 mm, 30 wide: the code, half of 80 mm wide, goes beside them by 8 mm.
    #[test]
    fn it_is_moved_to_the_nearest_place_that_does() {
        let cure = |file| testing::finding(&file, None, &RULE, Place::Barcode).unwrap().cure.unwrap().set;
        let to = |file| cure(file).iter().map(|change| change.value).collect::<Vec<_>>();
        assert_eq!(to(with_barcode(true, 50.0, 200.0)), [-3.0, 200.0]);
        assert_eq!(to(with_barcode(false, 50.0, 30.0)), [50.0, 88.0]);
        assert_eq!(to(with_barcode(false, -170.0, 640.0)), [-142.0, 552.0]);
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

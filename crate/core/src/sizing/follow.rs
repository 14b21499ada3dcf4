//! A sheet of another size: what follows face width, length and bottom width, and how.
//!
//! The plies, the cut and the laps stay. The plain bottom keeps its difference from the valve bottom. The sleeve keeps
//! its difference from the bottom's width, within what the line's spout takes, and its free length past the pocket (the
//! pocket's rim moves by half of what the bottom grows). Patches keep their distances from the bottom's edges. The seam
//! keeps its place between the pockets, and off them by what the rule about it asks for, where its stagger leaves room. The
//! barcode keeps its distance from the nearer end, and from the face's middle or an edge, whichever is nearer; then it goes
//! to the nearest place that the rule about it takes.

use crate::cards::Line;
use crate::check::{BarcodeFace, Habits, seam_offsets_mm};
use crate::finding::Change;
use crate::sheet::{Barcode, Patch, SheetFile};
use crate::tolerance::EXACT_MM;

/// What the schema allows a patch at least, mm.
const LEAST_PATCH_MM: f64 = 10.0;
/// What the schema allows a sleeve at least, mm.
const LEAST_SLEEVE_MM: f64 = 10.0;

/// A size: face width, length, and width of the valve bottom, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Size {
    pub face_width_mm: f64,
    pub length_mm: f64,
    pub bottom_width_mm: f64,
}

/// The sheet `base` in another size.
pub(super) fn follow(base: &SheetFile, size: Size, line: Option<&Line>) -> SheetFile {
    let mut file = base.clone();
    let wider = size.face_width_mm - base.face_width_mm;
    let deeper = size.bottom_width_mm - base.valve_end.bottom_width_mm;
    file.face_width_mm = size.face_width_mm;
    file.length_mm = size.length_mm;
    file.valve_end.bottom_width_mm = size.bottom_width_mm;
    file.plain_end.bottom_width_mm += deeper;

    let valve = &mut file.valve_end.valve;
    valve.flat_width_mm = sleeve_width(valve.flat_width_mm + deeper, size.bottom_width_mm, line);
    valve.length_mm = whole_unless(deeper, valve.length_mm + deeper / 2.0, f64::ceil).max(LEAST_SLEEVE_MM);

    let grow = |patch: &mut Patch| {
        let grown = |length: f64, by: f64| (length + by).max(LEAST_PATCH_MM);
        patch.length_mm = patch.length_mm.map(|length| grown(length, wider - deeper));
        patch.width_mm = patch.width_mm.map(|width| grown(width, deeper));
    };
    file.valve_end.patch.as_mut().map(grow);
    file.plain_end.patch.as_mut().map(grow);

    // Between the pockets of the valve bottom: W - 2 d, d = B + o/2.
    let gap = |file: &SheetFile| file.face_width_mm - 2.0 * file.valve_end.bottom_width_mm - file.valve_end.lap_mm;
    let offset = base.seam.offset_from_middle_mm * (gap(&file) / gap(base)).max(0.0);
    file.seam.offset_from_middle_mm = whole_unless(gap(&file) - gap(base), offset, f64::round);
    let (_, [low, high]) = seam_offsets_mm(&file, &Habits::default());
    if low <= high && (wider != 0.0 || deeper != 0.0) {
        file.seam.offset_from_middle_mm = file.seam.offset_from_middle_mm.clamp(low, high);
    }
    if let Some(barcode) = base.artwork.as_ref().and_then(|artwork| artwork.barcode) {
        let [x, y] = barcode_place(base, &file, &barcode);
        let moved = Barcode { offset_from_middle_mm: x, from_plain_end_mm: y, ..barcode };
        file.artwork.as_mut().and_then(|artwork| artwork.barcode.replace(moved));
    }
    file
}

/// Where the barcode of a sheet goes in another size of it: off the face's middle, and from the plain end, mm. Where no place
/// would do it stays.
fn barcode_place(base: &SheetFile, file: &SheetFile, barcode: &Barcode) -> [f64; 2] {
    let [x, y] = [barcode.offset_from_middle_mm, barcode.from_plain_end_mm];
    let wider = file.face_width_mm - base.face_width_mm;
    let longer = file.length_mm - base.length_mm;
    let deeper = file.valve_end.bottom_width_mm - base.valve_end.bottom_width_mm;
    if [wider, longer, deeper] == [0.0; 3] {
        return [x, y];
    }
    let (was, face) = (BarcodeFace::of(base, barcode), BarcodeFace::of(file, barcode));
    let [off_valve, off_plain] = was.off_end(y);
    let up = if off_valve < off_plain { longer - deeper / 2.0 } else { deeper / 2.0 };
    // An edge of the face moves by half of what the face grows and the bottoms do not.
    let is_at_edge = was.half_room(y) - x.abs() < x.abs();
    let out = if is_at_edge { (wider - deeper) / 2.0 } else { 0.0 };
    let aside = whole_unless(out, (x.abs() + out).max(0.0).copysign(x), f64::round);
    let place = [aside, whole_unless(up, y + up, f64::round)];
    let clear = Habits::default().barcode_clear_mm;
    if face.is_clear(place, clear) { place } else { face.nearest_place(place, clear).unwrap_or([x, y]) }
}

/// A length in whole mm, unless nothing changed: then as it is.
fn whole_unless(change: f64, length: f64, whole: fn(f64) -> f64) -> f64 {
    if change == 0.0 { length } else { whole(length) }
}

/// A sleeve's flat width: as it would be, within what goes on the line's spout, and no wider than the bottom.
fn sleeve_width(width: f64, bottom: f64, line: Option<&Line>) -> f64 {
    let mut width = width;
    if let Some(line) = line {
        let of_fit = |fit: f64| (1.0 + fit) * line.spout_girth_mm() / 2.0;
        let range = line.file().spout_fit;
        if let Some(most) = range.max {
            width = width.min((of_fit(most) + EXACT_MM).floor());
        }
        width = width.max((of_fit(range.min.unwrap_or(0.0)) - EXACT_MM).ceil());
    }
    width.min(bottom).max(LEAST_SLEEVE_MM)
}

/// The fields in which a sheet of another size differs from its base.
pub(super) fn changes(base: &SheetFile, file: &SheetFile) -> Vec<Change> {
    let patch = |patch: Option<&Patch>| patch.map_or([None; 2], |patch| [patch.length_mm, patch.width_mm]);
    let fields = |file: &SheetFile| {
        let [valve_patch, plain_patch] = [file.valve_end.patch.as_ref(), file.plain_end.patch.as_ref()].map(patch);
        let barcode = file.artwork.as_ref().and_then(|artwork| artwork.barcode);
        [
            ("face_width_mm", Some(file.face_width_mm)),
            ("length_mm", Some(file.length_mm)),
            ("seam.offset_from_middle_mm", Some(file.seam.offset_from_middle_mm)),
            ("valve_end.bottom_width_mm", Some(file.valve_end.bottom_width_mm)),
            ("valve_end.patch.length_mm", valve_patch[0]),
            ("valve_end.patch.width_mm", valve_patch[1]),
            ("valve_end.valve.flat_width_mm", Some(file.valve_end.valve.flat_width_mm)),
            ("valve_end.valve.length_mm", Some(file.valve_end.valve.length_mm)),
            ("plain_end.bottom_width_mm", Some(file.plain_end.bottom_width_mm)),
            ("plain_end.patch.length_mm", plain_patch[0]),
            ("plain_end.patch.width_mm", plain_patch[1]),
            ("artwork.barcode.offset_from_middle_mm", barcode.map(|barcode| barcode.offset_from_middle_mm)),
            ("artwork.barcode.from_plain_end_mm", barcode.map(|barcode| barcode.from_plain_end_mm)),
        ]
    };
    let pairs = fields(base).into_iter().zip(fields(file));
    pairs
        .filter(|((_, before), (_, after))| before != after)
        .filter_map(|(_, (field, value))| Some(Change { field: field.into(), value: value? }))
        .collect()
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::check::{Against, apply, support, survey};
    use crate::finding::Severity;
    use crate::sack::Sack;
    use crate::sheet::Sheet;

    fn place(file: &SheetFile) -> [f64; 2] {
        let barcode = file.artwork.as_ref().unwrap().barcode.unwrap();
        [barcode.offset_from_middle_mm, barcode.from_plain_end_mm]
    }

    fn size(face_width_mm: f64, length_mm: f64, bottom_width_mm: f64) -> Size {
        Size { face_width_mm, length_mm, bottom_width_mm }
    }

    #[test]
    fn a_sheet_in_its_own_size_is_itself() {
        let base = support::plain_sheet();
        let same = follow(&base, size(500.0, 640.0, 120.0), None);
        assert_eq!(same, base);
        assert_eq!(changes(&base, &same), []);
    }

    #[test]
    fn what_follows_the_size_follows_it() {
        let mut base = support::plain_sheet();
        base.plain_end.patch = base.valve_end.patch;
        base.plain_end.patch.as_mut().unwrap().length_mm = Some(380.0);
        base.plain_end.patch.as_mut().unwrap().width_mm = Some(110.0);
        let file = follow(&base, size(520.0, 700.0, 130.0), None);
        // The plain bottom and the sleeve grow with the valve bottom; the pocket's rim moves by half of that.
        assert_eq!((file.plain_end.bottom_width_mm, file.valve_end.valve.flat_width_mm), (130.0, 120.0));
        assert_eq!(file.valve_end.valve.length_mm, 155.0);
        let patch = file.plain_end.patch.unwrap();
        assert_eq!((patch.length_mm, patch.width_mm), (Some(390.0), Some(120.0)));
        // 60 between pockets 240 apart, now 240.
        assert_eq!(file.seam.offset_from_middle_mm, 60.0);
        // On a line with a spout of 66 mm: from 1.04 to 1.33 times half its girth.
        let narrow = follow(&base, size(400.0, 700.0, 110.0), Some(&support::plain_line()));
        assert_eq!(narrow.valve_end.valve.flat_width_mm, 108.0);
    }

    /// The face between the filled sack's edges is 380 wide and gets 360; 60 at either end are round, then 70.
    #[test]
    fn the_barcode_keeps_its_distance_from_what_is_nearest() {
        let goes =
            |aside, up| place(&follow(&support::with_barcode(false, aside, up), size(500.0, 700.0, 140.0), None));
        // Near the face's middle and the plain end; near an edge and the valve end, on either side.
        assert_eq!(goes(50.0, 200.0), [50.0, 210.0]);
        assert_eq!(goes(120.0, 500.0), [110.0, 550.0]);
        assert_eq!(goes(-120.0, 500.0), [-110.0, 550.0]);
        let own = support::with_barcode(false, 200.5, 12.5);
        assert_eq!(follow(&own, size(500.0, 640.0, 120.0), None), own);
    }

    #[test]
    fn the_barcode_goes_to_the_nearest_place_that_does() {
        // 45 + 20 + 8 from the end of a small sack, 160 - 45 - 40 - 8 off its middle; off seams that come closer.
        let small = |base: &SheetFile| place(&follow(base, size(320.0, 400.0, 90.0), None));
        assert_eq!(small(&support::with_barcode(false, 70.0, 80.0)), [67.0, 73.0]);
        let back = support::with_barcode(true, -80.0, 300.0);
        let file = follow(&back, size(330.0, 640.0, 120.0), None);
        let barcode = file.artwork.as_ref().unwrap().barcode.unwrap();
        assert!(BarcodeFace::of(&file, &barcode).is_clear(place(&file), 8.0), "{:?} {:?}", file.seam, place(&file));
        // Where no place would do, it stays.
        let narrow = follow(&support::with_barcode(true, 150.0, 200.0), size(200.0, 640.0, 90.0), None);
        assert_eq!(place(&narrow), [150.0, 200.0]);
    }

    #[test]
    fn the_seam_moves_off_pockets_that_come_closer() {
        let base = support::plain_sheet();
        // Three seams 30 wide, 10 apart: 240 between pockets leave the outermost -90 to 70; 140 leave -40 to 20, not 35.
        let file = follow(&base, size(400.0, 700.0, 120.0), None);
        assert_eq!(file.seam.offset_from_middle_mm, 20.0);
        assert!(changes(&base, &file).iter().any(|change| change.field == "seam.offset_from_middle_mm"));
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(1000))]

        /// A sheet of another size has its seam on a pocket only where moving it alone would not help.
        #[test]
        fn no_size_is_judged_worse_for_its_seam(
            base in support::valid_sheet(), shares in (0.6..1.5_f64, 0.8..1.2_f64, 0.6..1.3_f64)
        ) {
            let file = follow(&base, size(
                (base.face_width_mm * shares.0).clamp(50.0, 2000.0),
                (base.length_mm * shares.1).clamp(50.0, 3000.0),
                (base.valve_end.bottom_width_mm * shares.2).clamp(20.0, 1000.0),
            ), None);
            prop_assume!(Sheet::new(file.clone()).is_ok());
            let sack = Sack::new(Sheet::new(file.clone()).unwrap());
            let found = survey(&sack, &Against::default());
            let holds = found.iter().any(|one| one.rule == "seam-clear" && one.severity == Severity::Good);
            let (_, [low, high]) = seam_offsets_mm(&file, &Habits::default());
            prop_assert!(holds || low > high, "{} {}", low, high);
        }

        #[test]
        fn the_changes_make_the_sheet(
            base in support::valid_sheet(), line in support::maybe_line(), shares in (0.5..1.5_f64, 0.5..1.5_f64, 0.5..1.5_f64)
        ) {
            let wanted = size(
                (base.face_width_mm * shares.0).clamp(50.0, 2000.0),
                (base.length_mm * shares.1).clamp(50.0, 3000.0),
                (base.valve_end.bottom_width_mm * shares.2).clamp(20.0, 1000.0),
            );
            let file = follow(&base, wanted, line.as_ref());
            prop_assert_eq!((file.face_width_mm, file.length_mm), (wanted.face_width_mm, wanted.length_mm));
            if let Some(barcode) = file.artwork.as_ref().and_then(|artwork| artwork.barcode) {
                let face = BarcodeFace::of(&file, &barcode);
                let was = base.artwork.as_ref().and_then(|artwork| artwork.barcode);
                let clear = face.is_clear(place(&file), Habits::default().barcode_clear_mm);
                prop_assert!(clear || was == Some(barcode), "{:?} {:?}", was, barcode);
            }
            prop_assert!(file.valve_end.valve.flat_width_mm <= wanted.bottom_width_mm.max(LEAST_SLEEVE_MM));
            // What can't be a sheet at all is left out later.
            if Sheet::new(file.clone()).is_ok()
                && let Some(made) = apply(&base, &changes(&base, &file))
            {
                prop_assert_eq!(made, file);
            }
        }
    }
}

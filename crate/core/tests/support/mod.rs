//! Random valid sheets for the property tests: every one is a sack that can exist and a file that can be read back.
//!
//! The range is what the schema and [`Sheet::new`] allow, not what is sensible: laps of nothing and of the whole
//! bottom, pockets a millimetre apart, steps that leave a millimetre of flap are drawn on purpose.

#![allow(dead_code)]

use proptest::option;
use proptest::prelude::*;
use sackwright::cards::{
    Bottomer, CountRange, FitRange, LINE_FORMAT, LengthRange, Line, LineFile, MassRange, PALLET_FORMAT, Packer, Pallet,
    PalletFile, Spout, SpoutShape, Takes, Tuber, WORKS_FORMAT, Works, WorksFile,
};
use sackwright::check::Habits;
use sackwright::fill::{Amount, AtRest, Bottoms, Capacities, Content, Filled, Headroom, HeadroomRange, Trust, Upright};
use sackwright::pallet::Loaded;
use sackwright::sack::Sack;
use sackwright::sheet::{
    Artwork, Barcode, Construction, Contents, Cut, CutKind, FORMAT, Patch, PlainEnd, Ply, Seam, Sheet, SheetFile, Side,
    SleeveKind, Valve, ValveEnd,
};

/// A share of what is allowed: often at an end of the range, else anywhere in it.
fn share() -> impl Strategy<Value = f64> {
    prop_oneof![1 => Just(0.0), 1 => Just(1.0), 8 => 0.0..1.0]
}

/// Widths and laps of both bottoms, and the same at both ends as often as not.
fn bottoms() -> impl Strategy<Value = [(f64, f64); 2]> {
    let bottom = || {
        (40.0..260.0, share(), any::<bool>()).prop_map(|(width, share, whole_bottom)| {
            let most: f64 = if whole_bottom { width } else { 60.0_f64.min(width) };
            (width, share * most)
        })
    };
    (bottom(), bottom(), any::<bool>()).prop_map(|(valve, plain, equal)| [valve, if equal { valve } else { plain }])
}

fn ply() -> impl Strategy<Value = Ply> {
    (40.0..140.0, option::of(0.03..0.3), option::weighted(0.9, 1.0..20.0)).prop_map(
        |(grammage_g_m2, thickness_mm, air_resistance_gurley_s)| Ply {
            paper: "sack kraft".into(),
            grammage_g_m2,
            thickness_mm,
            tea_md_j_m2: None,
            tea_cd_j_m2: None,
            air_resistance_gurley_s,
            price_per_tonne: None,
        },
    )
}

fn patch() -> impl Strategy<Value = Option<Patch>> {
    option::of((option::of(10.0..700.0), option::of(10.0..300.0), -60.0..60.0, 40.0..140.0).prop_map(
        |(length_mm, width_mm, offset_mm, grammage_g_m2)| Patch { length_mm, width_mm, offset_mm, grammage_g_m2 },
    ))
}

fn valve() -> impl Strategy<Value = Valve> {
    let side = prop_oneof![Just(Side::Left), Just(Side::Right)];
    let sleeve = prop_oneof![Just(SleeveKind::Internal), Just(SleeveKind::External), Just(SleeveKind::Reinforcement)];
    let straight = || prop_oneof![3 => Just(0.0), 1 => -20.0..20.0];
    (side, sleeve, 30.0..260.0, 40.0..500.0, prop_oneof![Just(0.0), -40.0..160.0], straight(), straight(), 40.0..140.0)
        .prop_map(
            |(side, sleeve, flat_width_mm, length_mm, outer_end_mm, offset_from_centre_mm, skew_deg, grammage_g_m2)| {
                Valve {
                    side,
                    sleeve,
                    flat_width_mm,
                    length_mm,
                    outer_end_mm,
                    offset_from_centre_mm,
                    skew_deg,
                    grammage_g_m2,
                }
            },
        )
}

fn contents() -> impl Strategy<Value = Option<Contents>> {
    // Aerated, a product is somewhat lighter; a slip of the pen makes it heavier.
    option::of((1.0..60.0, 300.0..2000.0, option::of(0.7..1.05), any::<bool>()).prop_map(
        |(mass_kg, bulk_density_kg_m3, aerated, dusty)| Contents {
            product: "test powder".into(),
            mass_kg,
            bulk_density_kg_m3,
            aerated_density_kg_m3: aerated.map(|share: f64| share * bulk_density_kg_m3),
            dusty,
            // As good as drawn: no other rule asks how heavy a powder is alone.
            dangerous_goods: bulk_density_kg_m3 > 1150.0,
        },
    ))
}

/// Artwork with a picture or without; its repeat left open, or off the tube length by a little or by much: the share of
/// the length that is added to it.
fn artwork() -> impl Strategy<Value = Option<(bool, Option<f64>)>> {
    option::of((any::<bool>(), option::of(prop_oneof![Just(0.0), -0.01..0.01, 0.9..1.1])))
}

/// Shares of the room that the rest of the sheet leaves.
fn shares() -> impl Strategy<Value = Shares> {
    (option::of(share()), share(), share(), 0.0..60.0, 0.0..1.0, -1.0..1.0).prop_map(
        |(step, width, length, seam_lap_mm, seam, stagger)| Shares { step, width, length, seam_lap_mm, seam, stagger },
    )
}

#[derive(Clone, Debug)]
struct Shares {
    /// `None`: a flush cut.
    step: Option<f64>,
    width: f64,
    length: f64,
    seam_lap_mm: f64,
    seam: f64,
    stagger: f64,
}

/// A sheet whose sack can exist: 1 to 6 plies, stepped and flush, equal and unequal bottoms, with patches and without,
/// every kind of sleeve on either side.
pub fn valid_sheet() -> impl Strategy<Value = SheetFile> {
    (prop::collection::vec(ply(), 1..=6), bottoms(), shares(), [patch(), patch()], valve(), contents(), artwork())
        .prop_map(|(plies, bottoms, shares, patches, valve, contents, artwork)| {
            let mut file = assemble(plies, bottoms, &shares, patches, valve, contents);
            let ends = [
                (file.valve_end.bottom_width_mm, file.valve_end.lap_mm),
                (file.plain_end.bottom_width_mm, file.plain_end.lap_mm),
            ];
            let tube = file.length_mm + ends.iter().map(|(width, lap)| (width + lap) / 2.0).sum::<f64>();
            file.artwork = artwork.map(|(front, off)| Artwork {
                front: front.then(|| "front.png".into()),
                back: off.map(|_| "back.png".into()),
                valve_patch: None,
                plain_patch: front.then(|| "end.svg".into()),
                repeat_mm: off.map(|off: f64| tube * (1.0 + off)),
                barcode: barcode(&file),
            });
            file
        })
}

/// A barcode anywhere on a face, or beyond it; or none. As good as drawn: it follows from digits of what is drawn that say
/// nothing by themselves.
fn barcode(file: &SheetFile) -> Option<Barcode> {
    let digits = |times: f64| (times * (file.plies[0].grammage_g_m2 + file.length_mm)).fract();
    (digits(1.37) < 0.7).then(|| Barcode {
        width_mm: 20.0 + 130.0 * digits(2.71),
        height_mm: 10.0 + 60.0 * digits(3.91),
        offset_from_middle_mm: 0.6 * file.face_width_mm * (digits(5.13) - 0.5),
        from_plain_end_mm: file.length_mm * digits(7.77),
        on_back: digits(9.31) < 0.5,
        bars_across: digits(11.9) < 0.5,
    })
}

/// A sack of such a sheet.
pub fn valid_sack() -> impl Strategy<Value = Sack> {
    valid_sheet().prop_map(|file| Sack::new(Sheet::new(file).expect("the strategy makes valid sheets")))
}

fn assemble(
    plies: Vec<Ply>,
    bottoms: [(f64, f64); 2],
    shares: &Shares,
    [valve_patch, plain_patch]: [Option<Patch>; 2],
    valve: Valve,
    contents: Option<Contents>,
) -> SheetFile {
    // What the strategy draws stays this far inside the limits of the sheet, so that rounding can't carry it over.
    const INSIDE: f64 = 1e-6;
    let gaps = (plies.len() - 1) as f64;
    // The shortest ply's flap keeps a millimetre: (B + o)/2 - step gaps/2 >= 1.
    let most_step = bottoms
        .iter()
        .map(|(width, lap)| if gaps > 0.0 { (width + lap - 2.0 - INSIDE) / gaps } else { 100.0 })
        .fold(100.0, f64::min);
    let step_mm = shares.step.map(|share| 1.0 + share * (most_step - 1.0));
    let spread = step_mm.unwrap_or(0.0) * gaps / 2.0;
    let least_width =
        bottoms.iter().map(|(width, lap)| 2.0 * (width + lap / 2.0 + spread) + 1.0 + INSIDE).fold(50.0, f64::max);
    let face_width_mm = least_width + shares.width * 400.0;
    let length_mm = bottoms[0].0 + bottoms[1].0 + 1.0 + INSIDE + shares.length * 900.0;

    // All seams stay on the back: |offset| and |offset + shift| <= room.
    let room = (face_width_mm - shares.seam_lap_mm) / 2.0 - INSIDE;
    let shift = if gaps > 0.0 { shares.stagger * room.min(200.0 * gaps) } else { 0.0 };
    let (low, high) = ((-room).max(-room - shift), room.min(room - shift));
    SheetFile {
        format: FORMAT.into(),
        name: "random sack".into(),
        customer_note: String::new(),
        construction: Construction::Valved,
        face_width_mm,
        length_mm,
        cut: Cut { kind: if step_mm.is_some() { CutKind::Stepped } else { CutKind::Flush }, step_mm },
        seam: Seam {
            lap_mm: shares.seam_lap_mm,
            offset_from_middle_mm: low + shares.seam * (high - low),
            stagger_mm: if gaps > 0.0 { shift / gaps } else { 0.0 },
        },
        plies,
        valve_end: ValveEnd { bottom_width_mm: bottoms[0].0, lap_mm: bottoms[0].1, patch: valve_patch, valve },
        plain_end: PlainEnd { bottom_width_mm: bottoms[1].0, lap_mm: bottoms[1].1, patch: plain_patch },
        contents,
        artwork: None,
        revisions: Vec::new(),
        accepted: Vec::new(),
    }
}

/// A sheet with round figures in which every rule holds.
pub fn plain_sheet() -> SheetFile {
    let ply = Ply {
        paper: "sack kraft".into(),
        grammage_g_m2: 80.0,
        thickness_mm: None,
        tea_md_j_m2: None,
        tea_cd_j_m2: None,
        air_resistance_gurley_s: None,
        price_per_tonne: None,
    };
    let patch = Patch { length_mm: None, width_mm: None, offset_mm: 0.0, grammage_g_m2: 80.0 };
    SheetFile {
        format: FORMAT.into(),
        name: "plain sack".into(),
        customer_note: String::new(),
        construction: Construction::Valved,
        face_width_mm: 500.0,
        length_mm: 640.0,
        cut: Cut { kind: CutKind::Stepped, step_mm: Some(20.0) },
        seam: Seam { lap_mm: 30.0, offset_from_middle_mm: 60.0, stagger_mm: 10.0 },
        plies: vec![ply.clone(), ply.clone(), ply],
        valve_end: ValveEnd {
            bottom_width_mm: 120.0,
            lap_mm: 20.0,
            patch: Some(patch),
            valve: Valve {
                side: Side::Left,
                sleeve: SleeveKind::Internal,
                flat_width_mm: 110.0,
                length_mm: 150.0,
                outer_end_mm: 0.0,
                offset_from_centre_mm: 0.0,
                skew_deg: 0.0,
                grammage_g_m2: 80.0,
            },
        },
        plain_end: PlainEnd { bottom_width_mm: 120.0, lap_mm: 20.0, patch: None },
        contents: None,
        artwork: None,
        revisions: Vec::new(),
        accepted: Vec::new(),
    }
}

/// The same with a barcode 80 by 40 mm, its middle off the face's middle and from the plain end by so much.
pub fn with_barcode(on_back: bool, offset_from_middle_mm: f64, from_plain_end_mm: f64) -> SheetFile {
    let (width_mm, height_mm, bars_across) = (80.0, 40.0, false);
    let barcode = Barcode { width_mm, height_mm, offset_from_middle_mm, from_plain_end_mm, on_back, bars_across };
    let artwork = Artwork {
        front: None,
        back: None,
        valve_patch: None,
        plain_patch: None,
        repeat_mm: None,
        barcode: Some(barcode),
    };
    SheetFile { artwork: Some(artwork), ..plain_sheet() }
}

/// A filling line that takes [`plain_sheet`]: a round spout of 66 mm that reaches 150 mm.
pub fn plain_line() -> Line {
    Line::new(LineFile {
        format: LINE_FORMAT.into(),
        name: "plain line".into(),
        packer: Packer::Air,
        spout: round_spout(66.0, 150.0),
        spout_fit: FitRange { min: Some(0.04), max: Some(0.33) },
        spout_to_saddle_mm: LengthRange::default(),
        takes: Takes::default(),
        rate_sacks_per_h: None,
    })
    .expect("a sound card")
}

fn round_spout(diameter: f64, reach_mm: f64) -> Spout {
    Spout { shape: SpoutShape::Round, outside_diameter_mm: Some(diameter), width_mm: None, height_mm: None, reach_mm }
}

fn spout() -> impl Strategy<Value = Spout> {
    let oval = (20.0..160.0, 20.0..160.0, 20.0..400.0).prop_map(|(width, height, reach_mm)| Spout {
        shape: SpoutShape::Oval,
        outside_diameter_mm: None,
        width_mm: Some(width),
        height_mm: Some(height),
        reach_mm,
    });
    prop_oneof![(20.0..160.0, 20.0..400.0).prop_map(|(diameter, reach)| round_spout(diameter, reach)), oval]
}

/// A range with either end, or both, or none; least and most the right way round, at times equal.
fn range(values: std::ops::Range<f64>) -> impl Strategy<Value = (Option<f64>, Option<f64>)> {
    (option::of(values.clone()), option::of(values)).prop_map(|(a, b)| match (a, b) {
        (Some(a), Some(b)) => (Some(f64::min(a, b)), Some(f64::max(a, b))),
        either => either,
    })
}

fn lengths(values: std::ops::Range<f64>) -> impl Strategy<Value = LengthRange> {
    range(values).prop_map(|(min, max)| LengthRange { min, max })
}

/// A filling line whose card is sound.
pub fn valid_line() -> impl Strategy<Value = Line> {
    let takes = (
        lengths(200.0..900.0),
        lengths(200.0..1400.0),
        lengths(40.0..260.0),
        lengths(30.0..260.0),
        range(1.0..60.0).prop_map(|(min, max)| MassRange { min, max }),
    );
    let packer = prop_oneof![Just(Packer::Air), Just(Packer::Impeller), Just(Packer::Screw), Just(Packer::Gravity)];
    // Without a least fit, at least a sleeve goes on the spout.
    let fit = range(-0.1..0.5)
        .prop_map(|(min, max)| FitRange { min, max: max.map(|max: f64| if min.is_none() { max.abs() } else { max }) });
    let rate = option::of(100.0..3000.0);
    (packer, spout(), fit, lengths(200.0..1400.0), takes, rate).prop_map(
        |(packer, spout, spout_fit, spout_to_saddle_mm, takes, rate_sacks_per_h)| {
            let (face_width_mm, length_mm, bottom_width_mm, valve_width_mm, mass_kg) = takes;
            Line::new(LineFile {
                format: LINE_FORMAT.into(),
                name: "random line".into(),
                packer,
                spout,
                spout_fit,
                spout_to_saddle_mm,
                takes: Takes { face_width_mm, length_mm, bottom_width_mm, valve_width_mm, mass_kg },
                rate_sacks_per_h,
            })
            .expect("the strategy makes sound cards")
        },
    )
}

/// With a filling line or without.
pub fn maybe_line() -> impl Strategy<Value = Option<Line>> {
    option::of(valid_line())
}

/// A works whose card is sound.
pub fn valid_works() -> impl Strategy<Value = Works> {
    let plies = range(1.0..7.0)
        .prop_map(|(min, max)| CountRange { min: min.map(|min| min as usize), max: max.map(|max| max as usize) });
    let tuber = (
        lengths(400.0..2000.0),
        lengths(200.0..900.0),
        (lengths(300.0..1600.0), option::of(prop_oneof![Just(0.5), Just(1.0), 0.5..40.0])),
        plies,
        lengths(1.0..60.0),
        lengths(300.0..1600.0),
    );
    let tuber = tuber.prop_map(|(web_width_mm, face_width_mm, tube_length, plies, step_mm, print_repeat_mm)| {
        let (tube_length_mm, tube_length_step_mm) = tube_length;
        Tuber {
            web_width_mm,
            face_width_mm,
            tube_length_mm,
            tube_length_step_mm,
            plies,
            step_mm,
            print_repeat_mm,
            ..Tuber::default()
        }
    });
    let sides = prop_oneof![Just(vec![Side::Left]), Just(vec![Side::Right]), Just(vec![Side::Left, Side::Right])];
    let bottomer = (
        (lengths(200.0..900.0), lengths(300.0..1600.0), lengths(50.0..1200.0), lengths(40.0..260.0)),
        option::of(sides),
        (lengths(30.0..400.0), lengths(50.0..700.0), lengths(30.0..260.0)),
    );
    let bottomer = bottomer.prop_map(|(tube, valve_sides, (sleeve_length_mm, patch_length_mm, patch_width_mm))| {
        let (face_width_mm, tube_length_mm, bottom_centre_distance_mm, bottom_width_mm) = tube;
        Bottomer {
            face_width_mm,
            tube_length_mm,
            bottom_centre_distance_mm,
            bottom_width_mm,
            valve_sides,
            sleeve_length_mm,
            patch_length_mm,
            patch_width_mm,
            sacks_per_min: None,
        }
    });
    (tuber, bottomer).prop_map(|(tuber, bottomer)| {
        let (format, name) = (WORKS_FORMAT.into(), "random works".into());
        Works::new(WorksFile { format, name, waste_percent: 4.0, tuber, bottomer }).expect("a sound card")
    })
}

/// A pallet whose card is sound, with any of the limits.
pub fn valid_pallet() -> impl Strategy<Value = Pallet> {
    let limits = (option::of(200.0..2000.0), option::of(20.0..2000.0), option::of(1_usize..15));
    (400.0..1400.0, 300.0..1200.0, 0.0..60.0, limits).prop_map(|(length_mm, width_mm, max_overhang_mm, limits)| {
        let (max_total_height_mm, max_load_kg, layers) = limits;
        let endless = max_total_height_mm.is_none() && max_load_kg.is_none();
        Pallet::new(PalletFile {
            format: PALLET_FORMAT.into(),
            name: "random pallet".into(),
            length_mm,
            width_mm,
            height_mm: 150.0,
            own_mass_kg: 28.0,
            max_total_height_mm,
            max_load_kg,
            max_overhang_mm,
            max_layers: if endless { layers.or(Some(3)) } else { layers },
        })
        .expect("a sound card")
    })
}

/// A filled sack as it may lie in a stack.
pub fn filled_sack() -> impl Strategy<Value = Loaded> {
    (150.0..800.0, 150.0..600.0, 60.0..240.0, 2.0..60.0).prop_map(|(length_mm, width_mm, gap_mm, mass_kg)| Loaded {
        length_mm,
        width_mm,
        gap_mm,
        mass_kg,
    })
}
fn at_rest() -> impl Strategy<Value = Option<AtRest>> {
    option::of((50.0..300.0, 200.0..1200.0, 200.0..700.0).prop_map(|(thickness_mm, length_mm, width_mm)| AtRest {
        thickness_mm,
        length_mm,
        width_mm,
        contact_cm2: 0.005 * length_mm * width_mm,
    }))
}

fn upright() -> impl Strategy<Value = Option<Upright>> {
    option::of((200.0..1400.0, prop_oneof![Just(0.0), 0.0..200.0]).prop_map(|(length_mm, level_mm)| Upright {
        length_mm,
        width_mm: 400.0,
        thickness_mm: 200.0,
        level_mm,
    }))
}

fn headroom(share: f64) -> impl Strategy<Value = Headroom> {
    let other = HeadroomRange { least: 0.02, most: 0.3 };
    let asked = prop_oneof![4 => Just(HeadroomRange::default()), 1 => Just(other)];
    (asked, option::of(200.0..1400.0), option::of(200.0..900.0))
        .prop_map(move |(asked, length_mm, face_width_mm)| Headroom { share, asked, length_mm, face_width_mm })
}

/// Figures of a filled sack, of no particular one: whoever reads them computes none.
pub fn filled() -> impl Strategy<Value = Filled> {
    let capacity = (10.0..80.0, 1.0..1.05).prop_map(|(stiff_l, more)| Capacities { stiff_l, free_l: stiff_l * more });
    let amounts = (0.6..1.2, option::of(0.7..1.0), [at_rest(), at_rest()], [at_rest(), at_rest()]);
    let content = (capacity, amounts, upright(), upright()).prop_flat_map(|(capacity, amounts, standing, hanging)| {
        let (ratio, settled, [lying, pressed], [lying_settled, pressed_settled]) = amounts;
        let amount = move |ratio, lying, pressed| Amount { volume_l: ratio * capacity.stiff_l, ratio, lying, pressed };
        headroom(1.0 - ratio).prop_map(move |headroom| {
            let content = Content {
                mass_kg: None,
                filling: amount(ratio, lying, pressed),
                settled: settled.map(|share| amount(share * ratio, lying_settled, pressed_settled)),
                standing,
                hanging,
                headroom,
            };
            (capacity, content)
        })
    });
    (content, any::<bool>()).prop_map(|((capacity, content), known)| Filled {
        bottoms: Bottoms::Stiff,
        capacity,
        content: known.then_some(content),
        trust: Trust {
            largest_stretch: 1.0,
            lower_bound_l: capacity.stiff_l,
            volume_residual: 0.0,
            iterations: 1,
            vertices: 1,
            mesh_mm: 1.0,
            change_from_coarser: None,
            converged: true,
        },
    })
}

/// With a filled shape or without.
pub fn maybe_filled() -> impl Strategy<Value = Option<Filled>> {
    option::of(filled())
}

/// Habits of a works: the trade's, or every limit moved by a share of its own; least and most stay the right way round.
pub fn habits() -> impl Strategy<Value = Habits> {
    // Shares stay below 1 with all of it.
    prop_oneof![Just(vec![0.0; 80]), prop::collection::vec(0.0..1.0, 80)].prop_map(|moves| {
        let mut card = serde_json::to_value(Habits::default()).expect("habits are a card");
        let fields = card.as_object_mut().expect("an object").iter_mut().filter(|(_, value)| value.is_f64());
        for ((name, value), by) in fields.zip(moves) {
            let by = match name.split('_').next() {
                Some("least") => 1.0 - 0.6 * by,
                Some("most") => 1.0 + 0.25 * by,
                _ => 1.0 - 0.6 * by + if by > 0.5 { 0.5 } else { 0.0 },
            };
            *value = (value.as_f64().expect("a number") * by).into();
        }
        serde_json::from_value(card).expect("habits")
    })
}

//! What may be printed where: the outer web seen from outside with the valve end up, with what becomes of each zone.
//!
//! Source: geometry of the block-bottom sack, sections 2, 4 and 7. In the filled sack a face is W - B wide and L high,
//! each side B wide; the flaps' outsides are seen on the bottoms, except where the flap folded last or the patch covers
//! them; pockets and their flaps disappear, up to the V that the flaps leave open.

use glam::DVec2;

use super::rect::Rect;
use super::view::{Block, Draft, Side};
use super::webs::Web;
use super::{Drawing, Given, Hatch, LineType, Practice, What, Words, page};
use crate::bottom::Bottom;
use crate::check::Habits;
use crate::finding::{Message, Place};
use crate::sack::Sack;
use crate::sheet::{End, Side as Corner};
use crate::tolerance::EXACT_MM;
use crate::tube::Wall;
use crate::units::length;

const CORNERS: [Corner; 2] = [Corner::Left, Corner::Right];

/// About how wide it all is, mm.
pub(super) fn extent_mm(sack: &Sack) -> f64 {
    1.1 * sack.tube().plies.first().map_or(0.0, |ply| ply.web_width_mm)
}

pub(super) fn draw(sack: &Sack, given: &Given, words: &Words, h: f64) -> Drawing {
    let habits = given.habits.cloned().unwrap_or_default();
    let block = template(sack, &habits, given, words, h);
    let mut notes = vec![
        Message::new("drawing.note.web_from_outside"),
        Message::new("drawing.note.print_habits"),
        Message::new("drawing.note.flat_pile"),
    ];
    if sack.file().artwork.as_ref().is_none_or(|artwork| artwork.repeat_mm.is_none()) {
        notes.push(Message::new("drawing.note.repeat_is_tube"));
    }
    page::arrange(What::Artwork, sack, given, words, h, vec![block], notes)
}

fn template(sack: &Sack, habits: &Habits, given: &Given, words: &Words, h: f64) -> Block {
    let mut draft = Draft::new(given, words, h, "web", Message::new("drawing.view.artwork"));
    let web = Web::new(sack, 0);
    draft.ends = web.ends();
    let practice = &given.practice;
    let tube_length = sack.tube().length_mm;
    print_free(&mut draft, &web, habits, practice);
    for end in End::ALL {
        for wall in Wall::BOTH {
            hidden(&mut draft, &web, end, wall);
        }
    }
    web.contour(&mut draft);
    web.creases(&mut draft);
    if web.rim(Wall::A) != 0.0 {
        web.nominal_rims(&mut draft);
    }
    filled_edges(&mut draft, &web);

    let (top, foot) = (0.0, -tube_length);
    let left = |y: f64| DVec2::new(0.0, y);
    let right = |y: f64| DVec2::new(web.width, y);
    let rim = web.rim(Wall::B);
    draft.measure(Side::Left, [left(-rim), left(-tube_length - rim)], "tube_length_mm", tube_length, Place::Cut);
    draft.measure(Side::Below, [left(foot - rim), right(foot - rim)], "plies.0.web_width_mm", web.width, Place::Plies);
    let ends = [left(-rim), DVec2::new(web.folds[0], -rim)];
    draft.measure(Side::Above, ends, "plies.0.side_folds_mm.0", web.folds[0], Place::FaceWidth);
    draft.measure(
        Side::Above,
        web.folds.map(|x| DVec2::new(x, -web.rim(Wall::A))),
        "face_width_mm",
        sack.file().face_width_mm,
        Place::FaceWidth,
    );
    draft.measure(
        Side::Above,
        [left(-rim), DVec2::new(sack.tube().seam_lap_mm, -rim)],
        "seam.lap_mm",
        sack.tube().seam_lap_mm,
        Place::Seam,
    );
    // The face between the filled sack's edges, where it is as wide at both ends.
    let [valve, plain] = End::ALL.map(|end| sack.bottom(end).width_mm);
    if (valve - plain).abs() < EXACT_MM {
        let edges = [(web.folds[0], 0.5), (web.folds[1], -0.5)].map(|(x, side)| DVec2::new(x + side * valve, foot));
        let face = sack.file().face_width_mm - valve;
        draft.measure(Side::Below, edges, "box_mm.0", face, Place::FaceWidth);
    }
    let [valve, plain] = End::ALL.map(|end| web.y(end, sack.bottom(end).flap_depth_mm));
    draft.measure(Side::Right, [right(valve), right(plain)], "length_mm", sack.file().length_mm, Place::Length);
    for (end, fold, edge) in [(End::ValveEnd, valve, top), (End::PlainEnd, plain, foot)] {
        let place = if end == End::ValveEnd { Place::ValveEndBottom } else { Place::PlainEndBottom };
        draft.measure(
            Side::Right,
            [right(edge), right(fold)],
            format!("{}.flap_depth_mm", end.name()),
            sack.bottom(end).flap_depth_mm,
            place,
        );
    }
    draft.measure(
        Side::Below,
        [DVec2::new(web.folds[1] - habits.print_side_mm, foot), DVec2::new(web.folds[1], foot)],
        "habits.print_side_mm",
        habits.print_side_mm,
        Place::FaceWidth,
    );
    draft.measure(
        Side::Left,
        [left(valve), left(valve - habits.print_fold_mm)],
        "habits.print_fold_mm",
        habits.print_fold_mm,
        Place::ValveEndBottom,
    );
    if let Some(repeat) = sack.file().artwork.as_ref().and_then(|artwork| artwork.repeat_mm) {
        draft.measure(Side::Left, [left(-rim), left(-rim - repeat)], "artwork.repeat_mm", repeat, Place::Cut);
    }
    labels(&mut draft, &web, practice);
    barcode(&mut draft, &web);
    draft.finish()
}

/// Width of the strip without print under the seam.
fn seam_strip(web: &Web, practice: &Practice) -> f64 {
    (web.sack.tube().seam_lap_mm + practice.print_off_seam_mm).min(web.folds[0])
}

/// What stays without print: under the seam, beside side folds and beside the bottoms' fold lines.
fn print_free(draft: &mut Draft, web: &Web, habits: &Habits, practice: &Practice) {
    let tube = web.sack.tube();
    let rim = web.rim(Wall::B);
    let (top, foot) = (-rim, -tube.length_mm - rim);
    let band = |x: [f64; 2], y: [f64; 2]| {
        Rect::new(DVec2::new(x[0], y[0].min(y[1])), DVec2::new(x[1], y[0].max(y[1]))).corners()
    };
    let strip = seam_strip(web, practice);
    draft.area(Hatch::PrintFree, &band([0.0, strip], [top, foot]));
    let [valve, plain] = End::ALL.map(|end| web.y(end, web.sack.bottom(end).flap_depth_mm));
    let off = habits.print_side_mm;
    for x in web.folds {
        draft.area(Hatch::PrintFree, &band([(x - off).max(strip), (x + off).min(web.width)], [valve, plain]));
    }
    let off = habits.print_fold_mm;
    for y in [valve, plain] {
        draft.area(Hatch::PrintFree, &band([strip, web.width], [y - off, y + off]));
    }
}

/// A zone of a wall at an end, given on its paper (x from the middle, v from the nominal rim), as it lies on the web:
/// twice on wall B where the seam may cut it. Only what lies on the paper.
fn zones(web: &Web, end: End, wall: Wall, polygon: &[(f64, f64)]) -> Vec<Vec<DVec2>> {
    let half = web.sack.tube().face_width_mm / 2.0;
    let rim = web.sack.tube().rim_mm(end, wall, web.ply);
    let place = |side: Corner| -> Vec<DVec2> {
        let from_fold = |x: f64| half - side.sign() * x;
        polygon.iter().map(|&(x, v)| DVec2::new(web.x(wall, side, from_fold(x)), web.y(end, v.max(rim)))).collect()
    };
    let parts = web.parts(wall).into_iter().zip(match wall {
        Wall::A => vec![Corner::Left],
        Wall::B => vec![Corner::Left, Corner::Right],
    });
    parts
        .map(|([from, to], side)| clip(&clip(&place(side), DVec2::X, from), DVec2::NEG_X, -to))
        .filter(|zone| zone.len() > 2)
        .collect()
}

/// What of a polygon lies in the half plane `normal . p >= level` (Sutherland and Hodgman).
fn clip(polygon: &[DVec2], normal: DVec2, level: f64) -> Vec<DVec2> {
    let mut out = Vec::new();
    for (index, &a) in polygon.iter().enumerate() {
        let b = polygon[(index + 1) % polygon.len()];
        let (at_a, at_b) = (normal.dot(a) - level, normal.dot(b) - level);
        if at_a >= 0.0 {
            out.push(a);
        }
        if (at_a > 0.0 && at_b < 0.0) || (at_a < 0.0 && at_b > 0.0) {
            out.push(a.lerp(b, at_a / (at_a - at_b)));
        }
    }
    out
}

/// A band of a flap between two distances from its fold line: a flap is h - B/2 - t wide to either side.
fn flap_band(bottom: &Bottom, from: f64, to: f64) -> Vec<(f64, f64)> {
    let wide = |t: f64| bottom.half_face_mm() - bottom.width_mm / 2.0 - t;
    let f = bottom.flap_depth_mm;
    vec![(-wide(from), f - from), (wide(from), f - from), (wide(to), f - to), (-wide(to), f - to)]
}

/// What of an end and a wall is not seen: pockets with their flaps, what the flap folded last covers, and what the
/// patch covers.
fn hidden(draft: &mut Draft, web: &Web, end: End, wall: Wall) {
    let bottom = web.sack.bottom(end);
    let (h, b, f) = (bottom.half_face_mm(), bottom.width_mm, bottom.flap_depth_mm);
    let rim = |wall: Wall| web.sack.tube().rim_mm(end, wall, 0);
    let depth = f - rim(wall);
    for corner in CORNERS {
        let sign = corner.sign();
        // Corner of the flap, rim of the side fold, point of the V, corner of the fold line.
        let pocket = [
            (sign * (h - bottom.opening_depth_mm + rim(wall)), rim(wall)),
            (sign * h, rim(wall)),
            (sign * h, f - b / 2.0),
            (sign * (h - b / 2.0), f),
        ];
        for zone in zones(web, end, wall, &pocket) {
            draft.area(Hatch::Hidden, &zone);
        }
    }
    // Seen from its fold line up to where the other flap covers it.
    let seen = if wall == bottom.first { (b - (f - rim(wall.other()))).clamp(0.0, depth) } else { depth };
    if seen < depth {
        for zone in zones(web, end, wall, &flap_band(bottom, seen, depth)) {
            draft.area(Hatch::Hidden, &zone);
        }
    }
    if let Some(patch) = bottom.patch {
        let from = ((b - patch.width_mm) / 2.0).clamp(0.0, seen);
        let (low, high) = (patch.offset_mm - patch.length_mm / 2.0, patch.offset_mm + patch.length_mm / 2.0);
        let band: Vec<DVec2> = flap_band(bottom, from, seen).into_iter().map(|(x, v)| DVec2::new(x, v)).collect();
        let band = clip(&clip(&band, DVec2::X, low), DVec2::NEG_X, -high);
        let band: Vec<(f64, f64)> = band.into_iter().map(|point| (point.x, point.y)).collect();
        for zone in zones(web, end, wall, &band) {
            draft.area(Hatch::UnderPatch, &zone);
        }
    }
}

/// Where the barcode comes, with what places it: from the plain end and from the middle of its face.
fn barcode(draft: &mut Draft, web: &Web) {
    let Some(barcode) = web.sack.file().artwork.as_ref().and_then(|artwork| artwork.barcode) else { return };
    let wall = if barcode.on_back { Wall::B } else { Wall::A };
    // Seen from the front, what is to the right of the back's middle is to the left.
    let x = if barcode.on_back { -barcode.offset_from_middle_mm } else { barcode.offset_from_middle_mm };
    let (depth, [across, along]) = (web.sack.bottom(End::PlainEnd).flap_depth_mm, barcode.half_mm());
    let v = depth + barcode.from_plain_end_mm;
    let corners = [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)].map(|(i, j)| (x + i * across, v + j * along));
    let hatch = if barcode.bars_across { Hatch::BarcodeAcross } else { Hatch::Barcode };
    // Over the seam it lies on both edges of the web.
    let parts = zones(web, End::PlainEnd, wall, &corners);
    for part in &parts {
        draft.area(hatch, part);
        draft.polygon(LineType::Thin, part);
    }
    let widest = parts.iter().max_by(|one, other| Rect::around(one).size().x.total_cmp(&Rect::around(other).size().x));
    let Some(part) = widest else { return };
    let middle = Rect::around(part).middle();
    let message = Message::new("drawing.label.barcode");
    let message = message.with("width", length(barcode.width_mm)).with("height", length(barcode.height_mm));
    // A word stands nearer to a corner.
    let size = Rect::around(part).size();
    let near = [(0.0, 0.0), (0.35, 0.35), (-0.35, 0.35), (0.35, -0.35), (-0.35, -0.35)];
    draft.label_at(message, near.map(|(x, y)| middle + size * DVec2::new(x, y)).to_vec(), part);
    let side = if middle.x < web.folds[0] || (wall == Wall::A && x < 0.0) { Corner::Left } else { Corner::Right };
    let half = web.sack.tube().face_width_mm / 2.0;
    let on_web = |x: f64, v: f64| DVec2::new(web.x(wall, side, half - side.sign() * x), web.y(End::PlainEnd, v));
    // The middle from which it is measured.
    let beyond = barcode.height_mm / 2.0 + 1.5 * draft.h;
    draft.line(LineType::Centre, &[on_web(0.0, v - beyond), on_web(0.0, v + beyond)]);
    draft.measure(
        Side::Right,
        [on_web(x, depth), on_web(x, v)],
        "artwork.barcode.from_plain_end_mm",
        barcode.from_plain_end_mm,
        Place::Barcode,
    );
    draft.measure(
        Side::Below,
        [on_web(0.0, v), on_web(x, v)],
        "artwork.barcode.offset_from_middle_mm",
        barcode.offset_from_middle_mm,
        Place::Barcode,
    );
}

/// The filled sack's edges between faces and sides.
fn filled_edges(draft: &mut Draft, web: &Web) {
    let [valve, plain] = End::ALL.map(|end| web.sack.bottom(end));
    let width = [(DVec2::X, 0.0), (DVec2::NEG_X, -web.width)];
    for wall in Wall::BOTH {
        for corner in CORNERS {
            let at = |bottom: &Bottom| {
                let x = web.x(wall, corner, bottom.width_mm / 2.0);
                DVec2::new(x, web.y(bottom.end, bottom.flap_depth_mm))
            };
            if let Some(part) = super::rect::split([at(valve), at(plain)], &width).1 {
                draft.line(LineType::Adjacent, &part);
            }
        }
    }
}

fn labels(draft: &mut Draft, web: &Web, practice: &Practice) {
    let [valve, plain] = End::ALL.map(|end| web.y(end, web.sack.bottom(end).flap_depth_mm));
    let widest = End::ALL.map(|end| web.sack.bottom(end).width_mm).into_iter().fold(0.0, f64::max);
    let (top, foot) = (valve - 0.1 * (valve - plain), plain + 0.1 * (valve - plain));
    let area = |from: f64, to: f64| [(from, foot), (to, foot), (to, top), (from, top)].map(|(x, y)| DVec2::new(x, y));
    let middle = f64::midpoint(valve, plain);
    let [a, b] = web.folds;
    let mut label = |key: &str, from: f64, to: f64, y: f64| {
        let message = Message::new(format!("drawing.label.{key}"));
        draft.label(message, DVec2::new(f64::midpoint(from, to), y), &area(from, to));
    };
    label("face_front", a + widest / 2.0, b - widest / 2.0, middle);
    for [from, to] in web.parts(Wall::B) {
        let (from, to) =
            if from > 0.0 { (from + widest / 2.0, to) } else { (from + seam_strip(web, practice), to - widest / 2.0) };
        if to - from > 6.0 * draft.h {
            let message = Message::new("drawing.label.face_back");
            draft.label(message, DVec2::new(f64::midpoint(from, to), middle), &area(from, to));
        }
    }
    for x in web.folds {
        let message = Message::new("drawing.label.side");
        let (from, to) = (x - widest / 2.0, x + widest / 2.0);
        draft.label(message, DVec2::new(x + 0.3 * widest, middle + 0.2 * (valve - middle)), &area(from, to));
    }
    for end in End::ALL {
        let bottom = web.sack.bottom(end);
        for wall in Wall::BOTH {
            let part = if wall == bottom.first { "flap_first" } else { "flap_last" };
            let name = if wall == Wall::A { "a" } else { "b" };
            let message = Message::new(format!("drawing.label.{part}_{name}"));
            let band = flap_band(bottom, 0.0, bottom.flap_depth_mm);
            let zones = zones(web, end, wall, &band);
            let widest = zones
                .into_iter()
                .max_by(|one, other| Rect::around(one).size().x.total_cmp(&Rect::around(other).size().x));
            if let Some(zone) = widest {
                draft.label(message, Rect::around(&zone).middle(), &zone);
            }
        }
    }
    // The corner that shows beside the sleeve.
    let bottom = web.sack.bottom(End::ValveEnd);
    if let Some(sleeve) = bottom.sleeve {
        let fold = web.x(Wall::A, sleeve.side, 0.0);
        let at = DVec2::new(fold - 0.12 * sleeve.side.sign() * bottom.width_mm, valve - 0.2 * bottom.width_mm);
        draft.label(Message::new("drawing.label.valve"), at, &[]);
    }
    let message = Message::new("drawing.label.under_seam");
    let strip = web.sack.tube().seam_lap_mm / 2.0;
    draft.label(message, DVec2::new(strip, middle - 0.3 * (middle - plain)), &[]);
}

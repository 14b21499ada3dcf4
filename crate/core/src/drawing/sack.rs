//! The finished sack lying flat: its front, on which both bottoms lie, and its back with the seam.

use glam::DVec2;

use super::plan::Plan;
use super::rect::HalfPlane;
use super::view::{Block, Draft, Side};
use super::{Drawing, Given, LineType, What, Words, page};
use crate::bottom::{Bottom, Sleeve};
use crate::finding::{Message, Place};
use crate::sack::Sack;
use crate::sheet::{End, Side as Corner, SleeveKind};

/// About how wide a view is, mm.
pub(super) fn extent_mm(sack: &Sack) -> f64 {
    1.1 * sack.tube().face_width_mm.max(sack.file().length_mm / 1.5)
}

pub(super) fn draw(sack: &Sack, given: &Given, words: &Words, h: f64) -> Drawing {
    let blocks = vec![front(sack, given, words, h), back(sack, given, words, h)];
    let notes = vec![
        Message::new("drawing.note.lies_flat"),
        Message::new("drawing.note.folds_first")
            .with("valve_end", wall_word(sack.bottom(End::ValveEnd)))
            .with("plain_end", wall_word(sack.bottom(End::PlainEnd))),
    ];
    page::arrange(What::Sack, sack, given, words, h, blocks, notes)
}

fn wall_word(bottom: &Bottom) -> crate::finding::Arg {
    crate::finding::Arg::word(match bottom.first {
        crate::tube::Wall::A => "drawing.wall.a",
        crate::tube::Wall::B => "drawing.wall.b",
    })
}

/// Outline of the sack lying flat.
fn outline(sack: &Sack) -> Vec<DVec2> {
    let corners = End::ALL.map(|end| Plan::on_front(sack, end).hexagon());
    let [valve, plain] = corners;
    // From tip to tip over the outer fold line of each end.
    vec![valve[0], valve[1], valve[2], valve[3], plain[3], plain[2], plain[1], plain[0]]
}

fn front(sack: &Sack, given: &Given, words: &Words, h: f64) -> Block {
    let mut draft = Draft::new(given, words, h, "front", Message::new("drawing.view.front"));
    // What stands out of a sleeve lies over the outline.
    let sleeve = Plan::on_front(sack, End::ValveEnd).sleeve_planes();
    let corners = outline(sack);
    for (index, &corner) in corners.iter().enumerate() {
        draft.line_behind(LineType::Edge, [corner, corners[(index + 1) % corners.len()]], &sleeve);
    }
    let half_face = sack.tube().face_width_mm / 2.0;
    let centres = sack.tube().bottom_centre_distance_mm;
    let over = 1.5 * h;
    for end in End::ALL {
        bottom(&mut draft, &Plan::on_front(sack, end), over);
    }
    let [valve, plain] = End::ALL.map(|end| sack.bottom(end).width_mm / 2.0);
    draft.line(LineType::Centre, &[DVec2::new(0.0, valve + over), DVec2::new(0.0, -centres - plain - over)]);

    let file = sack.file();
    let (left, right) = (-half_face, half_face);
    draft.measure(
        Side::Below,
        [DVec2::new(left, -centres), DVec2::new(right, -centres)],
        "face_width_mm",
        file.face_width_mm,
        Place::FaceWidth,
    );
    draft.measure(
        Side::Left,
        [DVec2::new(left + valve, valve), DVec2::new(left + plain, -centres - plain)],
        "length_mm",
        file.length_mm,
        Place::Length,
    );
    draft.measure(
        Side::Left,
        [DVec2::new(left, 0.0), DVec2::new(left, -centres)],
        "bottom_centre_distance_mm",
        centres,
        Place::Length,
    );
    let face = [(left, -valve), (right, -valve), (right, plain - centres), (left, plain - centres)]
        .map(|(x, y)| DVec2::new(x, y));
    draft.label(Message::new("drawing.label.wall_a"), DVec2::new(0.15 * half_face, -centres / 2.0), &face);
    draft.finish()
}

/// A closed bottom with patch and sleeve on the front.
fn bottom(draft: &mut Draft, plan: &Plan, over: f64) {
    let bottom = plan.bottom;
    let end = bottom.end.name();
    let (half, h) = (bottom.width_mm / 2.0, plan.h());
    let patch = plan.patch();
    // The bottom's inner edges lie on the face; its outer ones are the outline already.
    let [tip, .., other, inner_left, inner_right] = plan.hexagon();
    draft.line_behind(LineType::Edge, [tip, inner_right], &plan.sleeve_planes());
    draft.line_behind(LineType::Edge, [other, inner_left], &plan.sleeve_planes());
    draft.line(LineType::Centre, &[plan.at(-h - over, 0.0), plan.at(h + over, 0.0)]);
    let cover: &[_] = patch.as_ref().map_or(&[], |(_, planes)| planes);
    for edge in plan.flaps() {
        let outer_fold =
            (edge.ends[0].y - plan.at(0.0, half).y).abs() < f64::EPSILON * half && edge.ends[1].y == edge.ends[0].y;
        match (edge.seen, patch.is_some()) {
            _ if outer_fold => {}
            (false, _) => draft.line(LineType::Behind, &edge.ends),
            (true, true) => draft.line_behind(LineType::Edge, edge.ends, cover),
            (true, false) => draft.line(LineType::Edge, &edge.ends),
        }
    }
    let place = |valve, plain| if bottom.end == End::ValveEnd { valve } else { plain };
    draft.measure(
        Side::Right,
        [plan.at(plan.fold_end(), half), plan.at(plan.fold_end(), -half)],
        format!("{end}.bottom_width_mm"),
        bottom.width_mm,
        place(Place::ValveEndBottom, Place::PlainEndBottom),
    );
    if let (Some((corners, _)), Some(patch)) = (patch, bottom.patch) {
        draft.polygon(LineType::Edge, &corners);
        let place = place(Place::ValveEndPatch, Place::PlainEndPatch);
        let [a, b, c, d] = corners;
        let side = place_side(bottom.end);
        let far = if bottom.end == End::ValveEnd { [d, c] } else { [a, b] };
        draft.measure(side, far, format!("{end}.patch.length_mm"), patch.length_mm, place);
        let middle = [plan.at(0.0, half), (far[0] + far[1]) / 2.0];
        draft.measure(side, middle, format!("{end}.patch.offset_mm"), patch.offset_mm, place);
        let right = if patch.length_mm / 2.0 + patch.offset_mm > -h { [b, c] } else { [a, d] };
        draft.measure(Side::Right, right, format!("{end}.patch.width_mm"), patch.width_mm, place);
        let message = Message::new("drawing.label.patch");
        draft.label(message, plan.beside_sleeve(&patch, 0.2), &corners);
    }
    if let Some((sleeve, corners)) = plan.sleeve() {
        let sign = sleeve.side.sign();
        let under = patch.as_ref().map(|(_, planes)| planes.as_slice());
        let [a, b, c, d] = corners;
        for side in [[a, b], [b, c], [c, d], [d, a]] {
            sleeve_edge(draft, plan, side, sign, under);
        }
        measure_sleeve(draft, plan, &sleeve, corners);
        measure_turn(draft, plan, &sleeve, (a + b) / 2.0);
        draft.label(sleeve_label(&sleeve), (a + b + c + d) / 4.0, &corners);
    }
}

const fn place_side(end: End) -> Side {
    match end {
        End::ValveEnd => Side::Above,
        End::PlainEnd => Side::Below,
    }
}

/// An edge of the sleeve on the closed bottom: seen beyond the flaps, behind them, and behind the patch.
pub(super) fn sleeve_edge(draft: &mut Draft, plan: &Plan, edge: [DVec2; 2], sign: f64, patch: Option<&[HalfPlane]>) {
    let (behind, seen) = super::rect::split(edge, &plan.open_tip(sign));
    for part in behind {
        draft.line(LineType::Behind, &part);
    }
    if let Some(part) = seen {
        match patch {
            Some(planes) => draft.line_behind(LineType::Edge, part, planes),
            None => draft.line(LineType::Edge, &part),
        }
    }
}

/// Where a sleeve lies and how large it is; of one that is turned, along it, and how far.
pub(super) fn measure_sleeve(draft: &mut Draft, plan: &Plan, sleeve: &Sleeve, [a, b, c, d]: [DVec2; 4]) {
    let end = plan.bottom.end.name();
    let sign = sleeve.side.sign();
    let near = if sleeve.side == Corner::Left { Side::Left } else { Side::Right };
    let mouth = (a + b) / 2.0;
    let edge = plan.at(sign * plan.fold_end(), plan.bottom.width_mm / 2.0);
    draft.measure(Side::Above, [edge, mouth], format!("{end}.valve.outer_end_mm"), sleeve.outer_end_mm, Place::Valve);
    let tip = plan.at(sign * plan.h(), 0.0);
    let offset = format!("{end}.valve.offset_from_centre_mm");
    draft.measure(near, [tip, mouth], offset, sleeve.offset_mm, Place::Valve);
    let (width, length) = (format!("{end}.valve.flat_width_mm"), format!("{end}.valve.length_mm"));
    if sleeve.skew_deg == 0.0 {
        draft.measure(near, [a, b], width, sleeve.width_mm, Place::Valve);
        draft.measure(Side::Above, [a, d], length, sleeve.length_mm, Place::Sleeve);
        return;
    }
    // Its middle line, from which it is seen how far it is turned.
    let inner = (c + d) / 2.0;
    let inwards = (inner - mouth).normalize_or_zero();
    let across = (a - b).normalize_or_zero();
    draft.line(LineType::Centre, &[mouth, inner + inwards * (1.5 * draft.h)]);
    draft.measure_along(vec![([a, b], -inwards, 0.0), ([d, c], inwards, 0.0)], width, sleeve.width_mm, Place::Valve);
    draft.measure_along(vec![([a, d], across, 0.0), ([b, c], -across, 0.0)], length, sleeve.length_mm, Place::Sleeve);
}

/// How far a sleeve is turned, set into what is drawn already.
pub(super) fn measure_turn(draft: &mut Draft, plan: &Plan, sleeve: &Sleeve, mouth: DVec2) {
    if sleeve.skew_deg == 0.0 {
        return;
    }
    // Outside, where there is room for it beyond the bottom's tip.
    let least = (plan.bottom.width_mm / 2.0 - sleeve.outer_end_mm).max(0.0) + 2.5 * draft.h;
    let outwards = DVec2::new(sleeve.side.sign(), 0.0);
    let key = (format!("{}.valve.skew_deg", plan.bottom.end.name()), sleeve.skew_deg);
    draft.measure_angle(mouth, (outwards, plan.up * sleeve.skew_deg), least, key, Place::Sleeve);
}

/// What a sleeve is.
pub(super) fn sleeve_label(sleeve: &Sleeve) -> Message {
    Message::new(match sleeve.kind {
        SleeveKind::Internal => "drawing.label.sleeve_internal",
        SleeveKind::External => "drawing.label.sleeve_external",
        SleeveKind::Reinforcement => "drawing.label.sleeve_reinforcement",
    })
}

fn back(sack: &Sack, given: &Given, words: &Words, h: f64) -> Block {
    let mut draft = Draft::new(given, words, h, "back", Message::new("drawing.view.back"));
    let mirrored: Vec<DVec2> = outline(sack).iter().map(|point| DVec2::new(-point.x, point.y)).collect();
    draft.polygon(LineType::Edge, &mirrored);
    let [valve, plain] = End::ALL.map(|end| sack.bottom(end).width_mm / 2.0);
    let centres = sack.tube().bottom_centre_distance_mm;
    let (top, foot) = (valve, -centres - plain);
    let over = 1.5 * h;
    draft.line(LineType::Centre, &[DVec2::new(0.0, top + over), DVec2::new(0.0, foot - over)]);
    // Seen from behind, u runs to the right on wall B too; its middle lies at 1.5 W.
    let seam = sack.file().seam;
    let middle = sack.tube().plies.first().map_or(0.0, |ply| ply.seam_u_mm - 1.5 * sack.tube().face_width_mm);
    let (under, over_edge) = (middle - seam.lap_mm / 2.0, middle + seam.lap_mm / 2.0);
    // Near a side fold the seam ends at the slant of the outline.
    let half_face = sack.tube().face_width_mm / 2.0;
    let reach = |x: f64, half: f64| half.min(half_face - x.abs()).max(0.0);
    let seam_line = |x: f64| [DVec2::new(x, reach(x, valve)), DVec2::new(x, -centres - reach(x, plain))];
    draft.line(LineType::Edge, &seam_line(over_edge));
    draft.line(LineType::Behind, &seam_line(under));
    // Its middle is what its place is measured to.
    draft.line(LineType::Centre, &seam_line(middle));
    let at = |x: f64| seam_line(x)[1];
    draft.measure(
        Side::Above,
        [DVec2::new(0.0, top), seam_line(middle)[0]],
        "seam.offset_from_middle_mm",
        middle,
        Place::Seam,
    );
    draft.measure(Side::Below, [at(under), at(over_edge)], "seam.lap_mm", seam.lap_mm, Place::Seam);
    let face = [(-half_face, 0.0), (half_face, 0.0), (half_face, -centres), (-half_face, -centres)]
        .map(|(x, y)| DVec2::new(x, y));
    let beside = if middle > 0.0 { -0.5 * half_face } else { 0.5 * half_face };
    draft.label(Message::new("drawing.label.wall_b"), DVec2::new(beside, -centres / 2.0), &face);
    let strip = [(under, -0.2), (over_edge, -0.2), (over_edge, -0.8), (under, -0.8)]
        .map(|(x, share)| DVec2::new(x, share * centres));
    draft.label(
        Message::new("drawing.label.seam"),
        DVec2::new(f64::midpoint(under, over_edge), -0.35 * centres),
        &strip,
    );
    draft.finish()
}

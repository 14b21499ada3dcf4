//! A bottom in plan as it lies on the sack's front: opened, with the flaps closed, and with its patch.

use glam::DVec2;

use super::plan::Plan;
use super::sack::{measure_sleeve, measure_turn, sleeve_edge, sleeve_label};
use super::view::{Block, Draft, Part, Side};
use super::{Drawing, Given, Hatch, LineType, MarkKind, What, Words, page};
use crate::bottom::{LapStrip, Sleeve};
use crate::cards::{Line, SpoutShape};
use crate::finding::{Message, Place};
use crate::placing::SpoutAxis;
use crate::sack::Sack;
use crate::sheet::{End, Side as Corner, SleeveKind};
use crate::tube::Wall;
use crate::units::length;

/// How much of the spout is shown before the bottom's tip and the sleeve, in heights of the letters.
const BEFORE: f64 = 6.0;

/// About how wide a view is, mm.
pub(super) fn extent_mm(sack: &Sack) -> f64 {
    1.1 * sack.tube().face_width_mm
}

pub(super) fn draw(sack: &Sack, end: End, given: &Given, words: &Words, h: f64) -> Drawing {
    let what = match end {
        End::ValveEnd => What::ValveBottom,
        End::PlainEnd => What::PlainBottom,
    };
    let plan = Plan::alone(sack, end);
    let mut blocks = vec![opened(&plan, given, words, h), closed(&plan, given, words, h)];
    blocks.extend(patched(&plan, given, words, h));
    let mut notes = vec![
        Message::new("drawing.note.as_on_front"),
        Message::new("drawing.note.gap_becomes_wall"),
        Message::new("drawing.note.corner_cover").with("cover", length(plan.bottom.corner_cover_mm())),
    ];
    notes.extend(plan.bottom.sleeve.map(|sleeve| {
        Message::new(match sleeve.kind {
            SleeveKind::Internal | SleeveKind::External => "drawing.note.channel_in_sleeve",
            SleeveKind::Reinforcement => "drawing.note.channel_under_sheet",
        })
    }));
    if sack.tube().step_mm > 0.0 && sack.tube().plies.len() > 1 {
        notes.push(Message::new("drawing.note.nominal_rim").with("step", length(sack.tube().step_mm)));
    }
    page::arrange(what, sack, given, words, h, blocks, notes)
}

const fn places(end: End) -> [Place; 4] {
    match end {
        End::ValveEnd => [Place::ValveEndBottom, Place::ValveEndPockets, Place::ValveEndLap, Place::ValveEndPatch],
        End::PlainEnd => [Place::PlainEndBottom, Place::PlainEndPockets, Place::PlainEndLap, Place::PlainEndPatch],
    }
}

fn opened(plan: &Plan, given: &Given, words: &Words, h: f64) -> Block {
    let mut draft = Draft::new(given, words, h, "opened", Message::new("drawing.view.opened"));
    let bottom = plan.bottom;
    let end = bottom.end.name();
    let [place_bottom, place_pockets, ..] = places(bottom.end);
    let (half_face, d, half) = (plan.h(), bottom.opening_depth_mm, bottom.width_mm / 2.0);
    let fold_end = plan.fold_end();
    let gap_half = half_face - d;

    paste(&mut draft, plan);
    let over = 1.5 * h;
    draft.line(LineType::Centre, &[plan.at(-half_face - over, 0.0), plan.at(half_face + over, 0.0)]);
    draft.line(LineType::Centre, &[plan.at(0.0, d + over), plan.at(0.0, -d - over)]);
    for wall in Wall::BOTH {
        rims(&mut draft, plan, wall);
        // The nominal rim, where no ply is torn on it.
        if !plan.rims(wall).iter().any(|rim| rim.abs() < f64::EPSILON) {
            let y = plan.opened_y(wall, 0.0);
            draft.line(LineType::Centre, &[plan.at(-gap_half, y), plan.at(gap_half, y)]);
        }
        let sign = Plan::sign(wall);
        let fold = sign * half;
        draft.line(LineType::Crease, &[plan.at(-fold_end, fold), plan.at(fold_end, fold)]);
        for share in [-0.5, 0.0, 0.5] {
            // Off the centre line.
            let x = if share == 0.0 { 0.06 * gap_half } else { share * gap_half };
            draft.fold_mark(MarkKind::FoldTowards, plan.at(x, fold), DVec2::new(0.0, plan.up * sign));
        }
    }
    // The tips, where the paper runs on into the walls.
    sleeve_and_spout(&mut draft, plan, given.line);

    let (last, first) = (plan.last(), bottom.first);
    let far = if sleeve_side(plan) == Corner::Left { Side::Right } else { Side::Left };
    let (on_last, on_first) = (Plan::sign(last), Plan::sign(first));
    let right = |x: f64| if far == Side::Right { x } else { -x };
    let fold_at = |sign: f64| plan.at(right(fold_end), sign * half);
    let rim_at = |sign: f64| plan.at(right(gap_half), sign * d);
    draft.measure(far, [fold_at(1.0), fold_at(-1.0)], format!("{end}.bottom_width_mm"), bottom.width_mm, place_bottom);
    draft.measure(
        far,
        [fold_at(on_last), rim_at(on_last)],
        format!("{end}.flap_depth_mm"),
        bottom.flap_depth_mm,
        place_bottom,
    );
    draft.measure(
        far,
        [plan.at(right(half_face), 0.0), rim_at(on_first)],
        format!("{end}.opening_depth_mm"),
        d,
        place_bottom,
    );
    draft.measure(
        Side::Below,
        [plan.at(-gap_half, -plan.up * d), plan.at(gap_half, -plan.up * d)],
        format!("{end}.pocket_gap_mm"),
        bottom.pocket_gap_mm(),
        place_pockets,
    );
    draft.measure(
        Side::Below,
        [plan.at(-half_face, 0.0), plan.at(half_face, 0.0)],
        "face_width_mm",
        2.0 * half_face,
        Place::FaceWidth,
    );
    let rims_last = plan.rims(last);
    if let [outermost, next, ..] = rims_last[..]
        && next > outermost
    {
        let at = |rim: f64| plan.at(-right(plan.rim_half(rim)), plan.opened_y(last, rim));
        draft.measure(
            if far == Side::Right { Side::Left } else { Side::Right },
            [at(outermost), at(next)],
            "cut.step_mm",
            plan.sack.tube().step_mm,
            Place::Cut,
        );
    }
    if bottom.sleeve.is_some() {
        let sign = sleeve_side(plan).sign();
        let edge = plan.at(sign * fold_end, half);
        let at = |x: f64| plan.at(sign * x, 0.0);
        draft.measure(
            Side::Above,
            [edge, at(gap_half)],
            format!("{end}.edge_to_pocket_rim_mm"),
            bottom.edge_to_pocket_rim_mm(),
            place_pockets,
        );
        draft.measure(
            Side::Above,
            [edge, at(-gap_half)],
            format!("{end}.edge_to_far_pocket_mm"),
            bottom.edge_to_far_pocket_mm(),
            place_pockets,
        );
    }

    let pocket = |sign: f64| [(half_face, 0.0), (gap_half, d), (gap_half, -d)].map(|(x, y)| plan.at(sign * x, y));
    // Under the sleeve the word would be taken for the sleeve's.
    let bare = |sign: &f64| bottom.sleeve.is_none_or(|sleeve| sleeve.side.sign() != *sign);
    for sign in [-1.0, 1.0].into_iter().filter(bare) {
        let x = sign * f64::midpoint(gap_half, fold_end);
        draft.label(Message::new("drawing.label.pocket"), plan.at(x, -plan.up * 0.62 * half), &pocket(sign));
    }
    for (wall, key) in [(first, "flap_first"), (last, "flap_last")] {
        let sign = Plan::sign(wall);
        let shortest = plan.rims(wall).into_iter().fold(0.0, f64::max);
        let rim = sign * (d - shortest);
        let area = [(-gap_half, sign * half), (gap_half, sign * half), (gap_half, rim), (-gap_half, rim)]
            .map(|(x, y)| plan.at(x, y));
        let key = format!("drawing.label.{key}_{}", if wall == Wall::A { "a" } else { "b" });
        draft.label(Message::new(key), plan.at(0.3 * gap_half, sign * f64::midpoint(half, d)), &area);
    }
    let (bare, at) = bare_gap(plan);
    draft.label(Message::new("drawing.label.no_paste"), at, &bare);
    draft.finish()
}

/// The side of the valve; the left without one.
fn sleeve_side(plan: &Plan) -> Corner {
    plan.bottom.sleeve.map_or(Corner::Left, |sleeve| sleeve.side)
}

/// The strip between the fold lines and the pockets, up to the ply of them that reaches furthest.
fn gap(plan: &Plan) -> [DVec2; 4] {
    let (x, y) = (plan.rim_half(-plan.bottom.longest_mm()), plan.bottom.width_mm / 2.0);
    [(-x, -y), (x, -y), (x, y), (-x, y)].map(|(x, y)| plan.at(x, y))
}

/// What of that strip lies clear of the sleeve, and a point in it: on the sleeve its word would be taken for the sleeve's.
fn bare_gap(plan: &Plan) -> ([DVec2; 4], DVec2) {
    let (x, y) = (plan.rim_half(-plan.bottom.longest_mm()), plan.bottom.width_mm / 2.0);
    let sign = sleeve_side(plan).sign();
    let inner = plan.sleeve().map_or(x, |(_, corners)| corners.iter().map(|corner| sign * corner.x).fold(x, f64::min));
    // A sleeve that goes all the way across leaves none.
    let inner = if inner > -x { inner } else { x };
    let strip = [(-x, -y), (inner, -y), (inner, y), (-x, y)].map(|(x, y)| plan.at(sign * x, y));
    (strip, plan.at(sign * f64::midpoint(-x, inner), -plan.up * 0.5 * y))
}

/// What is pasted, seen on the opened bottom: flaps on pockets, the lap's strips on the flap folded last; and the strip
/// that must stay without.
fn paste(draft: &mut Draft, plan: &Plan) {
    let bottom = plan.bottom;
    let (h, b) = (plan.h(), bottom.width_mm);
    let half = b / 2.0;
    let rim = plan.rim_half(-bottom.longest_mm());
    for sign in [-1.0, 1.0] {
        // Two flaps' triangles of (B + o)/2, which meet in the point of the V.
        let corners = [(rim, half), (h - half, half), (h - b, 0.0), (h - half, -half), (rim, -half)];
        let outline = corners.map(|(x, y)| plan.at(sign * x, y));
        match plan.sleeve() {
            // Under a single sheet runs the channel; a tube is pasted below and above, its channel is inside.
            Some((sleeve, sheet)) if sleeve.kind == SleeveKind::Reinforcement && sleeve.side.sign() == sign => {
                draft.area_part(Hatch::Paste, &outline, Part::Without, &sheet);
                let pocket = [(h, 0.0), (rim, h - rim), (rim, rim - h)].map(|(x, y)| plan.at(sign * x, y));
                draft.area_part(Hatch::NoPaste, &sheet, Part::Within, &pocket);
            }
            _ => draft.area(Hatch::Paste, &outline),
        }
    }
    let on_last = Plan::sign(plan.last());
    for strip in &bottom.lap_map {
        let y = |t: f64| on_last * (half + b - t);
        let outline = strip_outline(plan, strip, &y);
        draft.area(Hatch::Paste, &outline);
    }
    draft.area(Hatch::NoPaste, &gap(plan));
}

/// Outline of a strip of the lap: at t from its fold line a flap is h - B/2 - t wide to either side, so the strip is
/// as wide as the narrower flap. `y` takes t into the plan.
fn strip_outline(plan: &Plan, strip: &LapStrip, y: &dyn Fn(f64) -> f64) -> Vec<DVec2> {
    let b = plan.bottom.width_mm;
    let mut levels = vec![strip.from_mm, strip.to_mm];
    if strip.from_mm < b / 2.0 && b / 2.0 < strip.to_mm {
        levels.insert(1, b / 2.0);
    }
    let corner = |sign: f64, t: f64| plan.at(sign * (plan.fold_end() - t.max(b - t)), y(t));
    let right = levels.iter().map(|&t| corner(1.0, t));
    let left = levels.iter().rev().map(|&t| corner(-1.0, t));
    right.chain(left).collect()
}

/// Slanted sides, flap rims and pocket rims of a wall's plies on the opened bottom. On top lies the flap's innermost
/// ply, and the pocket's outermost.
fn rims(draft: &mut Draft, plan: &Plan, wall: Wall) {
    let bottom = plan.bottom;
    let (h, d) = (plan.h(), bottom.opening_depth_mm);
    let sign = Plan::sign(wall);
    let rims = plan.rims(wall);
    let longest = rims.iter().copied().fold(f64::INFINITY, f64::min);
    // The sleeve lies on the pocket.
    let cover = plan.sleeve_planes();
    for side in [-1.0, 1.0] {
        let corner = plan.at(side * plan.rim_half(longest), sign * (d - longest));
        draft.line_behind(LineType::Edge, [plan.at(side * h, 0.0), corner], &cover);
    }
    for (ply, &rim) in rims.iter().enumerate() {
        let (x, y) = (plan.rim_half(rim), plan.opened_y(wall, rim));
        // A ply is covered where one above it is longer.
        let flap = if rims[ply + 1..].iter().any(|inner| *inner < rim) { LineType::Behind } else { LineType::Edge };
        let pocket = if rims[..ply].iter().any(|outer| *outer < rim) { LineType::Behind } else { LineType::Edge };
        draft.line(flap, &[plan.at(-x, y), plan.at(x, y)]);
        for side in [-1.0, 1.0] {
            draft.line_behind(pocket, [plan.at(side * x, y), plan.at(side * x, 0.0)], &cover);
        }
    }
}

fn sleeve_and_spout(draft: &mut Draft, plan: &Plan, line: Option<&Line>) {
    let Some((sleeve, corners)) = plan.sleeve() else { return };
    let end = plan.bottom.end.name();
    draft.polygon(LineType::Edge, &corners);
    let [a, b, c, d] = corners;
    let sign = sleeve.side.sign();
    measure_sleeve(draft, plan, &sleeve, corners);
    let mouth = (a + b) / 2.0;
    if sleeve.skew_deg == 0.0 {
        let rim = plan.at(sign * (plan.h() - plan.bottom.opening_depth_mm), 0.0);
        let inner = if plan.up * (c.y - d.y) > 0.0 { c } else { d };
        if let Some(free) = plan.bottom.free_sleeve_mm().filter(|free| *free > 0.0) {
            draft.measure(Side::Above, [rim, inner], format!("{end}.free_sleeve_mm"), free, Place::Sleeve);
        }
    }
    draft.label(sleeve_label(&sleeve), (a + b) * 0.12 + (c + d) * 0.38, &corners);
    if let Some(line) = line {
        spout(draft, plan, line);
    }
    measure_turn(draft, plan, &sleeve, mouth);
}

/// The spout in its place, along the sleeve's middle line: from outside in, its tip, and out again.
fn spout_corners(plan: &Plan, line: &Line, h: f64) -> Option<(Sleeve, [DVec2; 4])> {
    let sleeve = plan.bottom.sleeve?;
    let axis = SpoutAxis::new(plan.bottom, &sleeve);
    let spout = &line.file().spout;
    let half = spout.outside_diameter_mm.or(spout.width_mm)? / 2.0;
    // It comes from beyond the bottom's tip and the sleeve.
    let out = -(plan.bottom.width_mm / 2.0).max(sleeve.outer_end_mm) - BEFORE * h;
    let corners = [(out, half), (spout.reach_mm, half), (spout.reach_mm, -half), (out, -half)];
    let corners = corners.map(|(inwards, aside)| axis.at(inwards, aside)).map(|point| plan.at(point.x, point.y));
    Some((sleeve, corners))
}

fn spout(draft: &mut Draft, plan: &Plan, line: &Line) {
    let Some((sleeve, corners)) = spout_corners(plan, line, draft.h) else { return };
    draft.line(LineType::Adjacent, &corners);
    let spout = &line.file().spout;
    let (key, width) = match spout.shape {
        SpoutShape::Round => ("spout.outside_diameter_mm", spout.outside_diameter_mm),
        SpoutShape::Oval => ("spout.width_mm", spout.width_mm),
    };
    let (near, sign) = (if sleeve.side == Corner::Left { Side::Left } else { Side::Right }, sleeve.side.sign());
    if sleeve.skew_deg == 0.0 {
        draft.measure(near, [corners[0], corners[3]], key, width.unwrap_or_default(), Place::Valve);
        let edge = plan.at(sign * plan.fold_end(), -plan.up * plan.bottom.width_mm / 2.0);
        draft.measure(Side::Below, [edge, corners[2]], "spout.reach_mm", spout.reach_mm, Place::Valve);
    } else {
        let out = (corners[0] - corners[1]).normalize_or_zero();
        let aside = (corners[0] - corners[3]).normalize_or_zero();
        let inner = plan.sleeve().map_or(0.0, |(_, [.., end, _])| (corners[1] - end).dot(out));
        let wide = vec![([corners[0], corners[3]], out, 0.0), ([corners[1], corners[2]], -out, inner.max(0.0))];
        draft.measure_along(wide, key, width.unwrap_or_default(), Place::Valve);
        let entry = |tip: DVec2| tip + out * spout.reach_mm;
        let deep = [(corners[1], aside), (corners[2], -aside)];
        // Beside the sleeve.
        let clear = ((sleeve.width_mm - corners[0].distance(corners[3])) / 2.0).max(0.0);
        let deep = deep.map(|(tip, aside)| ([entry(tip), tip], aside, clear)).to_vec();
        draft.measure_along(deep, "spout.reach_mm", spout.reach_mm, Place::Valve);
    }
    // Where it is not yet in the sleeve, or its word would be taken for the sleeve's.
    let inwards = (corners[1] - corners[0]).normalize_or_zero() * (BEFORE * draft.h);
    let before = [corners[0], corners[0] + inwards, corners[3] + inwards, corners[3]];
    let middle = before.into_iter().sum::<DVec2>() / 4.0;
    let label = Message::new("drawing.label.spout");
    if sleeve.skew_deg == 0.0 {
        draft.label(label, middle, &before);
    } else {
        // Among slanting lines a level word needs a leader; beside its middle, where the sleeve's angle is.
        let spots = [0.5, 0.2, 0.8].into_iter().flat_map(|deep| [0.3, -0.3, 0.42, -0.42].map(|aside| (deep, aside)));
        let spot = |(deep, aside): (f64, f64)| middle + inwards * (deep - 0.5) + (corners[3] - corners[0]) * aside;
        draft.label_at(label, spots.map(spot).collect(), &[]);
    }
}

fn closed(plan: &Plan, given: &Given, words: &Words, h: f64) -> Block {
    let mut draft = Draft::new(given, words, h, "closed", Message::new("drawing.view.closed"));
    let bottom = plan.bottom;
    let end = bottom.end.name();
    let [_, place_pockets, place_lap, _] = places(bottom.end);
    let (half_face, half, b, d) = (plan.h(), bottom.width_mm / 2.0, bottom.width_mm, bottom.opening_depth_mm);
    let on_last = Plan::sign(plan.last());
    for strip in &bottom.lap_map {
        let y = |t: f64| on_last * (t - half);
        let outline = strip_outline(plan, strip, &y);
        draft.area(Hatch::Lap, &outline);
    }
    outline_closed(&mut draft, plan);
    for edge in plan.flaps() {
        draft.line(if edge.seen { LineType::Edge } else { LineType::Behind }, &edge.ends);
    }
    pocket_rims_behind(&mut draft, plan);
    if let Some((sleeve, corners)) = plan.sleeve() {
        let [p, q, r, s] = corners;
        for edge in [[p, q], [q, r], [r, s], [s, p]] {
            sleeve_edge(&mut draft, plan, edge, sleeve.side.sign(), None);
        }
        draft.label(sleeve_label(&sleeve), (p + q + r + s) / 4.0, &[]);
    }
    if let Some((_, corners)) = given.line.and_then(|line| spout_corners(plan, line, h)) {
        draft.line(LineType::Adjacent, &corners);
    }

    let side = if sleeve_side(plan) == Corner::Left { Side::Right } else { Side::Left };
    let away = if side == Side::Right { 1.0 } else { -1.0 };
    let x = away * (half_face - d);
    // Between the flaps' nominal rims.
    let lap = bottom.lap_mm / 2.0;
    draft.measure(side, [plan.at(x, lap), plan.at(x, -lap)], format!("{end}.lap_mm"), bottom.lap_mm, place_lap);
    draft.measure(
        Side::Below,
        [plan.at(away * (half_face - b), 0.0), plan.at(away * (half_face - d), 0.0)],
        format!("{end}.corner_cover_mm"),
        bottom.corner_cover_mm(),
        place_pockets,
    );
    let open = [(half_face, 0.0), (half_face - half, half), (half_face - b, 0.0), (half_face - half, -half)];
    let open = open.map(|(x, y)| plan.at(away * x, y));
    // Apart from the word at the corner cover.
    let target = plan.at(away * (half_face - half), -plan.up * 0.5 * half);
    draft.label(Message::new("drawing.label.corner_v"), target, &open);
    let cover = away * (half_face - b - bottom.corner_cover_mm() / 2.0);
    draft.label(Message::new("drawing.label.corner_cover"), plan.at(cover, 0.0), &[]);
    let fold_end = plan.fold_end();
    let band = (half - lap - bottom.longest_mm()).max(0.0);
    for (wall, key) in [(bottom.first, "flap_first"), (plan.last(), "flap_last")] {
        let sign = Plan::sign(wall);
        let inner = sign * (half - band);
        let area = [
            (-fold_end + half, sign * half),
            (fold_end - half, sign * half),
            (fold_end - half, inner),
            (-fold_end + half, inner),
        ]
        .map(|(x, y)| plan.at(x, y));
        let key = format!("drawing.label.{key}_{}", if wall == Wall::A { "a" } else { "b" });
        draft.label(Message::new(key), plan.at(0.1 * half_face, sign * (half - band / 2.0)), &area);
    }
    draft.finish()
}

/// The closed bottom's outline and centre lines.
fn outline_closed(draft: &mut Draft, plan: &Plan) {
    let (h, half, fold_end) = (plan.h(), plan.bottom.width_mm / 2.0, plan.fold_end());
    let over = 1.5 * draft.h;
    for sign in [-1.0, 1.0] {
        let tip = [(fold_end, half), (h, 0.0), (fold_end, -half)].map(|(x, y)| plan.at(sign * x, y));
        for pair in tip.windows(2) {
            draft.line_behind(LineType::Edge, [pair[0], pair[1]], &plan.sleeve_planes());
        }
    }
    draft.line(LineType::Centre, &[plan.at(-h - over, 0.0), plan.at(h + over, 0.0)]);
    draft.line(LineType::Centre, &[plan.at(0.0, half + over), plan.at(0.0, -half - over)]);
}

/// The pockets' rims under the flaps, of the ply that reaches furthest.
fn pocket_rims_behind(draft: &mut Draft, plan: &Plan) {
    let half = plan.bottom.width_mm / 2.0;
    for wall in Wall::BOTH {
        let longest = plan.rims(wall).into_iter().fold(f64::INFINITY, f64::min);
        let x = plan.rim_half(longest);
        for side in [-1.0, 1.0] {
            draft.line(LineType::Behind, &[plan.at(side * x, 0.0), plan.at(side * x, Plan::sign(wall) * half)]);
        }
    }
}

/// The bottom with its patch; `None` without one.
fn patched(plan: &Plan, given: &Given, words: &Words, h: f64) -> Option<Block> {
    let (corners, planes) = plan.patch()?;
    let patch = plan.bottom.patch?;
    let mut draft = Draft::new(given, words, h, "patched", Message::new("drawing.view.patched"));
    let bottom = plan.bottom;
    let end = bottom.end.name();
    let [.., place_patch] = places(bottom.end);
    draft.area(Hatch::Paste, &corners);
    outline_closed(&mut draft, plan);
    for edge in plan.flaps().into_iter().filter(|edge| edge.seen) {
        draft.line_behind(LineType::Edge, edge.ends, &planes);
    }
    if let Some((sleeve, corners)) = plan.sleeve() {
        let [p, q, r, s] = corners;
        for edge in [[p, q], [q, r], [r, s], [s, p]] {
            sleeve_edge(&mut draft, plan, edge, sleeve.side.sign(), Some(&planes));
        }
        draft.label(sleeve_label(&sleeve), (p + q) * 0.2 + (r + s) * 0.3, &corners);
    }
    draft.polygon(LineType::Edge, &corners);
    let [a, b, c, d] = corners;
    let lower = if plan.up > 0.0 { [a, b] } else { [d, c] };
    draft.measure(Side::Below, lower, format!("{end}.patch.length_mm"), patch.length_mm, place_patch);
    draft.measure(
        Side::Below,
        [plan.at(0.0, -plan.up * bottom.width_mm / 2.0), (lower[0] + lower[1]) / 2.0],
        format!("{end}.patch.offset_mm"),
        patch.offset_mm,
        place_patch,
    );
    draft.measure(Side::Right, [b, c], format!("{end}.patch.width_mm"), patch.width_mm, place_patch);
    draft.label(Message::new("drawing.label.patch"), plan.beside_sleeve(&patch, 0.15), &corners);
    Some(draft.finish())
}

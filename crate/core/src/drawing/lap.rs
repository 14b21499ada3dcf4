//! Both laps in section, half-way along the bottom: every ply in its thickness, enlarged, the layers drawn apart; what
//! is pasted to what, and where nothing is.
//!
//! Along the bottom's width everything is at 1:1, measured from the fold line of the flap folded first; heights are the
//! plies' thicknesses times one factor. A fold is a half circle about the middle of what it bridges, so that the plies
//! run round it side by side.

use glam::DVec2;

use super::view::{Block, Draft, Side};
use super::{Drawing, Given, Hatch, LineType, What, Words, page};
use crate::bottom::LapStrip;
use crate::finding::{Arg, Message, Place};
use crate::sack::Sack;
use crate::sheet::End;
use crate::tube::Wall;
use crate::units::{count, quantity};

/// In heights of the letters: a ply as it should come out, and the gaps between walls, flaps and patch.
const PLY: f64 = 2.0;
const WALL_GAP: f64 = 2.0;
const FLAP_GAP: f64 = 4.0;
const PATCH_GAP: f64 = 1.5;
/// A strip that has room for words, and one that has room for a dimension of its own.
const CONTACT: f64 = 6.0;
const STRIP: f64 = 3.0;
/// The zigzag of a break line, half as wide and half as high.
const ZIGZAG: (f64, f64) = (0.3, 0.5);

/// About how wide it all is, mm.
pub(super) fn extent_mm(sack: &Sack) -> f64 {
    2.6 * End::ALL.map(|end| sack.bottom(end).width_mm).into_iter().fold(0.0, f64::max)
}

pub(super) fn draw(sack: &Sack, given: &Given, words: &Words, h: f64) -> Drawing {
    let factor = factor(sack, h);
    let blocks = End::ALL.map(|end| section(sack, end, given, words, (h, factor))).into();
    let mut notes = vec![
        Message::new("drawing.note.section"),
        Message::new("drawing.note.enlarged").with("factor", quantity(crate::units::Dimension::Number, factor)),
        Message::new(if sack.tube().plies.len() == 1 { "drawing.note.one_ply" } else { "drawing.note.plies_counted" }),
    ];
    notes.extend(End::ALL.map(|end| {
        let pair = |strip: &LapStrip| {
            let width = (words.number)(strip.to_mm - strip.from_mm);
            format!("{}/{} ({width})", strip.ply_over + 1, strip.ply_under + 1)
        };
        let pairs: Vec<String> = sack.bottom(end).lap_map.iter().map(pair).collect();
        Message::new(format!("drawing.note.contacts_{}", end.name())).with("pairs", Arg::text(pairs.join(", ")))
    }));
    page::arrange(What::Lap, sack, given, words, h, blocks, notes)
}

/// How many times as thick as it is paper is drawn: the least round number by which the thinnest ply has room for its
/// number.
fn factor(sack: &Sack, h: f64) -> f64 {
    const ROUND: [f64; 14] = [1.0, 2.0, 5.0, 10.0, 15.0, 20.0, 30.0, 40.0, 50.0, 60.0, 80.0, 100.0, 150.0, 200.0];
    let thinnest = sack.tube().plies.iter().map(|ply| ply.thickness_mm).fold(f64::INFINITY, f64::min);
    ROUND.into_iter().find(|factor| factor * thinnest >= PLY * h).unwrap_or(300.0)
}

/// A stack of plies, innermost lowest: lower and upper side of each, outermost first.
struct Stack(Vec<(f64, f64)>);

impl Stack {
    fn on(low: f64, thickness: &[f64]) -> Self {
        let mut z = low;
        let mut plies: Vec<_> = thickness
            .iter()
            .rev()
            .map(|t| {
                let from = z;
                z += t;
                (from, z)
            })
            .collect();
        plies.reverse();
        Self(plies)
    }

    fn top(&self) -> f64 {
        self.0.first().map_or(0.0, |ply| ply.1)
    }
}

fn section(sack: &Sack, end: End, given: &Given, words: &Words, (h, factor): (f64, f64)) -> Block {
    let title = match end {
        End::ValveEnd => "drawing.view.valve_end",
        End::PlainEnd => "drawing.view.plain_end",
    };
    let mut draft = Draft::new(given, words, h, end.name(), Message::new(title));
    let (tube, bottom) = (sack.tube(), sack.bottom(end));
    let (b, f) = (bottom.width_mm, bottom.flap_depth_mm);
    let thickness: Vec<f64> = tube.plies.iter().map(|ply| ply.thickness_mm * factor).collect();
    let wall: f64 = thickness.iter().sum();
    let first = Stack::on(wall + WALL_GAP * h, &thickness);
    let last = Stack::on(first.top() + FLAP_GAP * h, &thickness);
    let reach = |ply: usize| f - tube.rim_mm(end, bottom.first, ply);
    let start = |ply: usize| b - f + tube.rim_mm(end, bottom.first.other(), ply);

    for (stack, at, end_of, left) in
        [(&first, 0.0, &reach as &dyn Fn(usize) -> f64, true), (&last, b, &start as &dyn Fn(usize) -> f64, false)]
    {
        fold(&mut draft, stack, wall, at, end_of, left, b / 2.0);
    }
    let over = 1.5 * h;
    // Not between the flaps, where it says what is pasted to what.
    // Paper of no stated thickness: as sack kraft of its grammage has (sheet, plies).
    let patch_low = last.top() + PATCH_GAP * h;
    let patch_thick = bottom.patch.map(|patch| patch.grammage_g_m2 * 0.0015 * factor);
    let top = patch_thick.map_or(last.top(), |thick| patch_low + thick);
    // Without a patch it goes through the flap, so that it is no dash by itself.
    let from = if bottom.patch.is_some() { last.top() } else { last.0.first().map_or(last.top(), |ply| ply.0) };
    for [low, high] in [[-over, wall + WALL_GAP * h / 2.0], [from, top + over]] {
        draft.line(LineType::Centre, &[DVec2::new(b / 2.0, low), DVec2::new(b / 2.0, high)]);
    }

    // What touches what.
    let (place_lap, place_bottom) = match end {
        End::ValveEnd => (Place::ValveEndLap, Place::ValveEndBottom),
        End::PlainEnd => (Place::PlainEndLap, Place::PlainEndBottom),
    };
    // Strips too narrow for that go without dimensions of their own: lap and step say how wide they are.
    let strips_measured = bottom.lap_map.iter().all(|strip| strip.to_mm - strip.from_mm >= STRIP * h);
    let mut before: Option<f64> = None;
    for (index, strip) in bottom.lap_map.iter().enumerate() {
        let (low, high) = (first.0[strip.ply_under].1, last.0[strip.ply_over].0);
        let outline = rectangle(strip.from_mm, strip.to_mm, low, high);
        draft.area(Hatch::Paste, &outline);
        if strips_measured {
            draft.measure(
                Side::Below,
                [DVec2::new(strip.from_mm, low), DVec2::new(strip.to_mm, low)],
                format!("lap_map.{}.{index}", end.name()),
                strip.to_mm - strip.from_mm,
                place_lap,
            );
        }
        // What is too narrow for words stands in the notes alone.
        if strip.to_mm - strip.from_mm >= CONTACT * h {
            draft.label(
                Message::new("drawing.label.contact")
                    .with("over", count(strip.ply_over + 1))
                    .with("under", count(strip.ply_under + 1)),
                DVec2::new(f64::midpoint(strip.from_mm, strip.to_mm), f64::midpoint(low, high)),
                &outline,
            );
        }
        if let Some(from) = before.replace(strip.to_mm)
            && strip.from_mm - from > crate::tolerance::EXACT_MM
        {
            draft.area(Hatch::NoPaste, &rectangle(from, strip.from_mm, first.top(), last.0[0].0));
        }
    }
    if !strips_measured {
        // Of the outermost ply, as of every other.
        let rims = [DVec2::new(start(0), last.0[0].0), DVec2::new(reach(0), first.0[0].1)];
        draft.measure(Side::Below, rims, format!("{}.lap_mm", end.name()), bottom.lap_mm, place_lap);
    }
    if thickness.len() > 1 {
        let rims = [0, 1].map(|ply| DVec2::new(start(ply), last.0[ply].1));
        draft.measure(Side::Above, rims, "cut.step_mm", tube.step_mm, Place::Cut);
    }
    draft.measure(
        Side::Below,
        [DVec2::new(0.0, 0.0), DVec2::new(b, 0.0)],
        format!("{}.bottom_width_mm", end.name()),
        b,
        place_bottom,
    );
    if let (Some(patch), Some(thick)) = (bottom.patch, patch_thick) {
        let low = patch_low;
        let (from, to) = ((b - patch.width_mm) / 2.0, f64::midpoint(b, patch.width_mm));
        let outline = rectangle(from, to, low, low + thick);
        draft.polygon(LineType::Edge, &outline);
        draft.area(Hatch::Paste, &rectangle(from, to, last.top(), low));
        let place = if end == End::ValveEnd { Place::ValveEndPatch } else { Place::PlainEndPatch };
        let edges = [DVec2::new(from, low + thick), DVec2::new(to, low + thick)];
        draft.measure(Side::Above, edges, format!("{}.patch.width_mm", end.name()), patch.width_mm, place);
        draft.label(Message::new("drawing.label.patch"), DVec2::new(0.35 * b, low + thick / 2.0), &outline);
    }
    labels(&mut draft, bottom.first, [(&first, &reach), (&last, &start)], b, wall);
    draft.finish()
}

fn rectangle(left: f64, right: f64, low: f64, high: f64) -> [DVec2; 4] {
    [(left, low), (right, low), (right, high), (left, high)].map(|(x, y)| DVec2::new(x, y))
}

/// The plies of a flap, round its fold line at `at`, and on below as wall up to the middle.
fn fold(draft: &mut Draft, stack: &Stack, wall: f64, at: f64, end_of: &dyn Fn(usize) -> f64, left: bool, middle: f64) {
    // The innermost ply of the wall lies on top; mirrored in the fold's centre.
    let lowest = stack.0.last().map_or(0.0, |ply| ply.0);
    let centre = f64::midpoint(lowest, wall);
    let stop = if left { middle - 0.4 * draft.h } else { middle + 0.4 * draft.h };
    for (ply, &(low, high)) in stack.0.iter().enumerate() {
        let rim = end_of(ply);
        draft.line(
            LineType::Edge,
            &[DVec2::new(at, low), DVec2::new(rim, low), DVec2::new(rim, high), DVec2::new(at, high)],
        );
        for z in [low, high] {
            draft.bow(LineType::Edge, DVec2::new(at, centre), z - centre, left);
            draft.line(LineType::Edge, &[DVec2::new(at, 2.0 * centre - z), DVec2::new(stop, 2.0 * centre - z)]);
        }
    }
    // Broken off in the middle, where the sack goes on: a break line with its zigzag.
    let (wide, high) = (ZIGZAG.0 * draft.h, ZIGZAG.1 * draft.h);
    let (low, half_way, top) = (-0.5 * draft.h, wall / 2.0, wall + 0.5 * draft.h);
    let points = [
        (0.0, low),
        (0.0, half_way - high),
        (-wide, half_way - high / 2.0),
        (wide, half_way + high / 2.0),
        (0.0, half_way + high),
        (0.0, top),
    ];
    draft.line(LineType::Thin, &points.map(|(x, y)| DVec2::new(stop + x, y)));
}

type Ends<'a> = (&'a Stack, &'a dyn Fn(usize) -> f64);

fn labels(draft: &mut Draft, folds_first: Wall, [(first, reach), (last, start)]: [Ends; 2], b: f64, wall: f64) {
    let h = draft.h;
    let room = 5.0 * h;
    for (ply, (under, over)) in first.0.iter().zip(&last.0).enumerate() {
        let number = || Message::new("drawing.label.ply").with("number", count(ply + 1));
        let (rim, from) = (reach(ply), start(ply));
        let area = rectangle((rim - room).max(0.0), rim, under.0, under.1);
        draft.label(number(), DVec2::new(rim - 0.8 * h, f64::midpoint(under.0, under.1)), &area);
        let area = rectangle(from, (from + room).min(b), over.0, over.1);
        draft.label(number(), DVec2::new(from + 0.8 * h, f64::midpoint(over.0, over.1)), &area);
    }
    let (a, other) = if folds_first == Wall::A { ("a", "b") } else { ("b", "a") };
    let target = DVec2::new(0.12 * b, first.top());
    draft.label(Message::new(format!("drawing.label.flap_first_{a}")), target, &[]);
    let target = DVec2::new(0.92 * b, last.top());
    draft.label(Message::new(format!("drawing.label.flap_last_{other}")), target, &[]);
    for (x, name) in [(0.18 * b, a), (0.82 * b, other)] {
        draft.label(Message::new(format!("drawing.label.half_{name}")), DVec2::new(x, wall / 2.0), &[]);
    }
}

//! The web of every ply, seen from outside with the valve end up and running downwards: contour with tear lines and
//! slits, creases, seam, cross paste, the next tube; and all plies over each other in register.
//!
//! x runs across the web from its edge under the seam, as in [`crate::tube::Tube::contour`]; y is minus the tube's v.

use glam::DVec2;

use super::rect::split;
use super::view::{Block, Draft, Side};
use super::{Drawing, Given, Hatch, LineType, MarkKind, Practice, Rect, What, Words, page};
use crate::finding::{Message, Place};
use crate::sack::Sack;
use crate::sheet::{End, Side as Corner};
use crate::tube::Wall;
use crate::units::count;

/// About how wide a view is, mm.
pub(super) fn extent_mm(sack: &Sack) -> f64 {
    1.15 * sack.tube().plies.first().map_or(0.0, |ply| ply.web_width_mm)
}

/// About how many views lie beside each other.
pub(super) fn abreast(sack: &Sack) -> f64 {
    ((sack.tube().plies.len() + 1) as f64).sqrt()
}

pub(super) fn draw(sack: &Sack, given: &Given, words: &Words, h: f64) -> Drawing {
    let tube = sack.tube();
    let plies = tube.plies.len();
    let mut blocks: Vec<Block> = (0..plies).map(|ply| web(sack, ply, given, words, h)).collect();
    let tear = if tube.step_mm > 0.0 { "drawing.note.tear_lines" } else { "drawing.note.flush_tear_lines" };
    let mut notes = vec![Message::new("drawing.note.web_from_outside"), Message::new(tear)];
    if plies > 1 {
        blocks.push(register(sack, given, words, h));
        // On the sheet that it is on: the last.
        if given.sheet.is_none_or(|(number, count)| number + 1 == count) {
            notes.push(Message::new("drawing.note.register"));
        }
        notes.push(Message::new("drawing.note.cross_paste"));
    }
    page::arrange(What::Webs, sack, given, words, h, blocks, notes)
}

/// Where things lie on the web of a ply.
pub(super) struct Web<'a> {
    pub sack: &'a Sack,
    pub ply: usize,
    pub width: f64,
    /// Side folds: left (x of the sack's left side) and right of wall A.
    pub folds: [f64; 2],
    /// An inner ply is narrower all round by this share.
    pub scale: f64,
}

impl<'a> Web<'a> {
    pub(super) fn new(sack: &'a Sack, ply: usize) -> Self {
        let tube = sack.tube();
        let width = tube.plies[ply].web_width_mm;
        let scale = (width - tube.seam_lap_mm) / (2.0 * tube.face_width_mm);
        Self { sack, ply, width, folds: tube.side_folds_mm(ply), scale }
    }

    /// Rim of a wall as the tube's v at the valve end.
    pub(super) fn rim(&self, wall: Wall) -> f64 {
        self.sack.tube().rim_mm(End::ValveEnd, wall, self.ply)
    }

    /// y of a depth v from the nominal rim of an end.
    pub(super) fn y(&self, end: End, v: f64) -> f64 {
        match end {
            End::ValveEnd => -v,
            End::PlainEnd => v - self.sack.tube().length_mm,
        }
    }

    /// x of what lies on a wall so far from a side fold. On wall B it may lie beyond the web's edge: behind the seam.
    pub(super) fn x(&self, wall: Wall, side: Corner, from_fold: f64) -> f64 {
        let away = from_fold * self.scale;
        match (wall, side) {
            (Wall::A, Corner::Left) => self.folds[0] + away,
            (Wall::A, Corner::Right) => self.folds[1] - away,
            (Wall::B, Corner::Left) => self.folds[0] - away,
            (Wall::B, Corner::Right) => self.folds[1] + away,
        }
    }

    /// Parts of the web that are a wall, from x to x.
    pub(super) fn parts(&self, wall: Wall) -> Vec<[f64; 2]> {
        match wall {
            Wall::A => vec![self.folds],
            Wall::B => vec![[0.0, self.folds[0]], [self.folds[1], self.width]],
        }
    }

    /// Both ends with all that is cut, and with the creases of their bottoms.
    pub(super) fn ends(&self) -> Vec<Rect> {
        /// mm beyond all of it.
        const AROUND_MM: f64 = 10.0;
        let tube = self.sack.tube();
        let room = |end: End| {
            let outermost = tube.rim_mm(end, Wall::A, self.ply).min(tube.rim_mm(end, Wall::B, self.ply));
            let depth = self.sack.bottom(end).opening_depth_mm;
            let corners = [DVec2::new(0.0, self.y(end, outermost)), DVec2::new(self.width, self.y(end, depth))];
            Rect::around(&corners).grown(AROUND_MM)
        };
        End::ALL.map(room).to_vec()
    }

    /// Draws the contour.
    pub(super) fn contour(&self, draft: &mut Draft) {
        let points: Vec<DVec2> =
            self.sack.tube().contour(self.ply).iter().map(|point| DVec2::new(point.x, -point.y)).collect();
        draft.polygon(LineType::Edge, &points);
    }

    /// Draws the nominal rims of both ends, where the middle of all plies is torn.
    pub(super) fn nominal_rims(&self, draft: &mut Draft) {
        let over = draft.h;
        for end in End::ALL {
            let y = self.y(end, 0.0);
            draft.line(LineType::Centre, &[DVec2::new(-over, y), DVec2::new(self.width + over, y)]);
        }
    }

    /// Draws creases of both bottoms and the side folds, with their marks.
    pub(super) fn creases(&self, draft: &mut Draft) {
        let tube = self.sack.tube();
        let width = [(DVec2::X, 0.0), (DVec2::NEG_X, -self.width)];
        let longest = |end: End| tube.rim_mm(end, Wall::A, self.ply).min(tube.rim_mm(end, Wall::B, self.ply));
        for x in self.folds {
            let ends = End::ALL.map(|end| DVec2::new(x, self.y(end, longest(end).max(0.0))));
            draft.line(LineType::Crease, &ends);
            for share in [0.4, 0.6] {
                draft.fold_mark(MarkKind::FoldAway, DVec2::new(x, ends[0].lerp(ends[1], share).y), DVec2::X);
            }
        }
        for end in End::ALL {
            let bottom = self.sack.bottom(end);
            let (d, f) = (bottom.opening_depth_mm, bottom.flap_depth_mm);
            let back = self.y(end, d);
            // Towards the sack's middle, off the cross paste.
            let inwards = DVec2::new(0.0, self.y(end, 1.0) - self.y(end, 0.0));
            draft.line(LineType::Crease, &self.folds.map(|x| DVec2::new(x, back)));
            for share in [0.3, 0.7] {
                let x = self.folds[0] + share * (self.folds[1] - self.folds[0]);
                draft.fold_mark(MarkKind::FoldTowards, DVec2::new(x, back), inwards);
                draft.fold_mark(MarkKind::FoldAway, DVec2::new(x, self.y(end, f)), inwards);
            }
            draft.line(LineType::Crease, &[DVec2::new(0.0, self.y(end, f)), DVec2::new(self.width, self.y(end, f))]);
            for wall in Wall::BOTH {
                let rim = tube.rim_mm(end, wall, self.ply);
                for side in [Corner::Left, Corner::Right] {
                    let apex = DVec2::new(self.x(wall, side, 0.0), back);
                    let corner = DVec2::new(self.x(wall, side, d - rim), self.y(end, rim));
                    if let Some(part) = split([apex, corner], &width).1 {
                        draft.line(LineType::Crease, &part);
                    }
                    if (0.0..=self.width).contains(&corner.x) {
                        draft.notch(corner);
                    }
                }
            }
        }
    }
}

fn web(sack: &Sack, ply: usize, given: &Given, words: &Words, h: f64) -> Block {
    let title = Message::new("drawing.view.web")
        .with("number", count(ply + 1))
        .with("paper", crate::finding::Arg::text(&sack.file().plies[ply].paper))
        .with(
            "grammage",
            crate::units::quantity(crate::units::Dimension::Grammage, sack.tube().plies[ply].grammage_g_m2),
        );
    let mut draft = Draft::new(given, words, h, format!("ply-{}", ply + 1), title);
    let web = Web::new(sack, ply);
    draft.ends = web.ends();
    let length = sack.tube().length_mm;
    seam_paste(&mut draft, &web, &given.practice);
    web.contour(&mut draft);
    web.creases(&mut draft);
    // The web goes on on both sides; what comes next begins at the same tear line.
    let more = 0.1 * length;
    let (near, far) = (-web.rim(Wall::B), -length - web.rim(Wall::B));
    let far_a = -length - web.rim(Wall::A);
    let foot = far.min(far_a) - more;
    for x in [0.0, web.width] {
        draft.line(LineType::Adjacent, &[DVec2::new(x, far), DVec2::new(x, foot)]);
        draft.line(LineType::Adjacent, &[DVec2::new(x, near), DVec2::new(x, near + more)]);
    }
    for x in web.folds {
        draft.line(LineType::Adjacent, &[DVec2::new(x, far.min(far_a)), DVec2::new(x, foot)]);
    }
    let [from, to] = web.folds;
    let next = [(from, far_a), (to, far_a), (to, foot), (from, foot)].map(|(x, y)| DVec2::new(x, y));
    let middle = DVec2::new(f64::midpoint(from, to), f64::midpoint(far_a, foot));
    draft.label(Message::new("drawing.label.next_tube"), middle, &next);
    if ply > 0 {
        cross_paste(&mut draft, &web, &given.practice);
    }

    let left = |y: f64| DVec2::new(0.0, y);
    let right = |y: f64| DVec2::new(web.width, y);
    draft.measure(Side::Left, [left(near), left(far)], "tube_length_mm", length, Place::Cut);
    draft.measure(Side::Below, [left(far), right(far)], format!("plies.{ply}.web_width_mm"), web.width, Place::Plies);
    draft.measure(
        Side::Above,
        [left(near), DVec2::new(sack.tube().seam_lap_mm, near)],
        "seam.lap_mm",
        sack.tube().seam_lap_mm,
        Place::Seam,
    );
    for (side, x) in web.folds.into_iter().enumerate() {
        let ends = [left(near), DVec2::new(x, near)];
        draft.measure(Side::Above, ends, format!("plies.{ply}.side_folds_mm.{side}"), x, Place::FaceWidth);
    }
    if web.rim(Wall::A) != 0.0 {
        web.nominal_rims(&mut draft);
    }
    for end in End::ALL {
        let rim = sack.tube().rim_mm(end, Wall::B, ply);
        draft.measure(
            Side::Right,
            [right(web.y(end, 0.0)), right(web.y(end, rim))],
            format!("plies.{ply}.rims_mm.{}.b", end.name()),
            rim,
            Place::Cut,
        );
        let a = sack.tube().rim_mm(end, Wall::A, ply);
        let at = |v: f64| DVec2::new(web.folds[1], web.y(end, v));
        draft.measure(Side::Right, [at(0.0), at(a)], format!("plies.{ply}.rims_mm.{}.a", end.name()), a, Place::Cut);
    }
    let middle = -0.5 * length;
    let face = |x: [f64; 2]| {
        [(x[0], 0.3), (x[1], 0.3), (x[1], 0.7), (x[0], 0.7)].map(|(x, share)| DVec2::new(x, -share * length))
    };
    draft.label(
        Message::new("drawing.label.wall_a"),
        DVec2::new(f64::midpoint(web.folds[0], web.folds[1]), middle),
        &face(web.folds),
    );
    let parts = web.parts(Wall::B);
    let wider = if parts[0][1] - parts[0][0] > parts[1][1] - parts[1][0] { parts[0] } else { parts[1] };
    draft.label(
        Message::new("drawing.label.wall_b"),
        DVec2::new(f64::midpoint(wider[0], wider[1]), middle),
        &face(wider),
    );
    // Which end it is where the ends are printed alone.
    for (end, view) in [(End::ValveEnd, "drawing.view.valve_end"), (End::PlainEnd, "drawing.view.plain_end")] {
        let bottom = sack.bottom(end);
        let depths = [bottom.flap_depth_mm, bottom.opening_depth_mm].map(|depth| web.y(end, depth));
        if (depths[1] - depths[0]).abs() > 2.5 * h {
            let [from, to] = web.folds;
            let area = [(from, 0), (to, 0), (to, 1), (from, 1)].map(|(x, depth)| DVec2::new(x, depths[depth]));
            let middle = (area[0] + area[2]) / 2.0;
            draft.label(Message::new(view), middle, &area);
        }
    }
    draft.finish()
}

/// The lap of the seam, and the stripe of paste in it.
fn seam_paste(draft: &mut Draft, web: &Web, practice: &Practice) {
    let tube = web.sack.tube();
    let lap = tube.seam_lap_mm;
    let rim = web.rim(Wall::B);
    let (top, foot) = (-rim, -tube.length_mm - rim);
    let stripe = practice.seam_stripe_mm.min(lap);
    let (from, to) = ((lap - stripe) / 2.0, f64::midpoint(lap, stripe));
    draft.area(Hatch::Paste, &[(from, top), (to, top), (to, foot), (from, foot)].map(|(x, y)| DVec2::new(x, y)));
    // Where the web's other edge comes to lie, and what it covers.
    draft.line(LineType::Adjacent, &[DVec2::new(lap, top), DVec2::new(lap, foot)]);
    draft.line(LineType::Adjacent, &[DVec2::new(web.width - lap, top), DVec2::new(web.width - lap, foot)]);
}

/// Dots of paste to the ply outside, along every tear line, clear of side folds and of the valve's pocket.
fn cross_paste(draft: &mut Draft, web: &Web, practice: &Practice) {
    /// mm. Paste keeps so far off the side folds (trade habit, low certainty).
    const CLEAR_MM: f64 = 15.0;
    let tube = web.sack.tube();
    let (pitch, dot) = (practice.cross_paste_pitch_mm, practice.cross_paste_dot_mm);
    let valve = web.sack.bottom(End::ValveEnd);
    let channel = valve.sleeve.map(|sleeve| {
        let fold = if sleeve.side == Corner::Left { web.folds[0] } else { web.folds[1] };
        (fold - valve.opening_depth_mm, fold + valve.opening_depth_mm)
    });
    for end in End::ALL {
        for wall in Wall::BOTH {
            let y = web.y(end, tube.rim_mm(end, wall, web.ply) + practice.cross_paste_mm);
            for [from, to] in web.parts(wall) {
                let mut x = from + CLEAR_MM;
                while x + dot <= to - CLEAR_MM {
                    let in_channel =
                        end == End::ValveEnd && channel.is_some_and(|(low, high)| x < high && low < x + dot);
                    if !in_channel {
                        let half = 0.12 * draft.h;
                        let outline = [(x, y - half), (x + dot, y - half), (x + dot, y + half), (x, y + half)];
                        draft.mark(MarkKind::CrossPaste, outline.map(|(x, y)| DVec2::new(x, y)).to_vec());
                    }
                    x += pitch;
                }
            }
        }
    }
}

/// All plies over each other as they come into the tube, in register by their side folds, all as wide as the outermost.
fn register(sack: &Sack, given: &Given, words: &Words, h: f64) -> Block {
    let mut draft = Draft::new(given, words, h, "register", Message::new("drawing.view.register"));
    let tube = sack.tube();
    let (w, lap) = (tube.face_width_mm, tube.seam_lap_mm);
    // u from the left side fold.
    let edges = |ply: usize| {
        let seam = tube.plies[ply].seam_u_mm;
        [seam - 2.0 * w - lap / 2.0, seam + lap / 2.0]
    };
    for ply in 0..tube.plies.len() {
        let [left, right] = edges(ply);
        let (a, b) = (tube.rim_mm(End::ValveEnd, Wall::A, ply), tube.rim_mm(End::ValveEnd, Wall::B, ply));
        let near = [(left, b), (0.0, b), (0.0, a), (w, a), (w, b), (right, b)];
        let far = near.iter().rev().map(|&(x, v)| (x, v + tube.length_mm));
        let points: Vec<DVec2> = near.iter().copied().chain(far).map(|(x, v)| DVec2::new(x, -v)).collect();
        draft.polygon(LineType::Edge, &points);
        let share = (ply as f64 + 0.5) / tube.plies.len() as f64;
        let at = if tube.step_mm > 0.0 {
            DVec2::new(w * (0.04 + 0.92 * share), -a)
        } else {
            DVec2::new(left, -tube.length_mm * (0.3 + 0.4 * share))
        };
        draft.label(Message::new("drawing.label.ply").with("number", count(ply + 1)), at, &[]);
    }
    for x in [0.0, w] {
        let ends = [-tube.spread_mm(), tube.spread_mm() - tube.length_mm];
        draft.line(LineType::Crease, &ends.map(|y| DVec2::new(x, y)));
    }
    let rim = |ply: usize| tube.rim_mm(End::ValveEnd, Wall::B, ply);
    let [first, second] = [0, 1].map(|ply| DVec2::new(edges(ply)[0], -rim(ply)));
    draft.measure(Side::Left, [first, second], "cut.step_mm", tube.step_mm, Place::Cut);
    draft.measure(Side::Above, [first, second], "seam.stagger_mm", sack.file().seam.stagger_mm, Place::Seam);
    let fold = |x: f64| DVec2::new(x, -tube.length_mm);
    draft.measure(Side::Below, [fold(0.0), fold(w)], "face_width_mm", w, Place::FaceWidth);
    draft.finish()
}

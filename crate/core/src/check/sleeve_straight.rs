//! The spout that goes in along the sleeve, though that lies askew or off the centre line, keeps between the bottom's fold
//! lines.
//!
//! The sack turns with the sleeve that is pushed over the spout, so the spout lies along the sleeve's middle line. With
//! the bottom's sign s, skew e, offset c and outer end a, that line has y(u) = c - s sin e (a / cos e + u) at u inwards
//! of the end edge. The spout, pressed flat, is half its girth U wide, so that its sides stay
//! B/2 - (U/4) cos e -+ y(u) off the fold lines, which has to be 0 at least from where a side enters, at
//! u = max(0, -+ s (U/4) tan e), to the spout's tip. Exact for the flat bottom; paper gives, so never more than a look:
//! an assumption, low certainty.

use crate::bottom::{Bottom, Sleeve};
use crate::cards::Line;
use crate::check::context::{Context, end_field, reaches};
use crate::check::remedy::{down, elsewhere, set_length, set_lengths, set_zero, up};
use crate::check::rule::{Judgement, Outcome, Rule};
use crate::check::spout_fit::smaller_spout;
use crate::finding::{Certainty, Place, Topic};
use crate::sheet::End;
use crate::units::length;

pub(super) const RULE: Rule = Rule {
    name: "sleeve-straight",
    topic: Topic::Line,
    source: "source.sleeve_straight",
    certainty: Certainty::Guess,
    check,
};

fn check(context: &Context) -> Outcome {
    let (line, (bottom, sleeve)) = (context.line()?, context.valve()?);
    let room = room_mm(bottom, &sleeve, line);
    let fields = ["valve_end.valve.offset_from_centre_mm", "valve_end.valve.skew_deg"].map(String::from);
    let holds = reaches(room, 0.0);
    let messages = ["finding.sleeve_straight.holds", "finding.sleeve_straight.drags"];
    let mut judgement = Judgement::advised(Place::Valve, holds, messages)
        .weighed(length(room), length(0.0))
        .with(if holds { "value" } else { "over" }, length(room.abs()));
    let is_straight = sleeve.skew_deg == 0.0 && sleeve.offset_mm == 0.0;
    if !is_straight {
        judgement = judgement.remedy(|| set_zero("cure.sleeve_straight", fields));
    }
    let wide = up(bottom.width_mm - 2.0 * room);
    let field = || end_field(End::ValveEnd, "bottom_width_mm");
    let judgement = judgement
        .remedy(|| set_length("cure.bottom_width_least", field(), wide))
        // A wider bottom takes the pockets closer together by twice as much.
        .remedy(|| {
            let face = up(context.face_width_mm() + 2.0 * (wide - bottom.width_mm));
            set_lengths(
                "cure.bottom_and_face_least",
                [("value", field(), wide), ("face", "face_width_mm".into(), face)],
            )
        })
        .remedy_if_any(|| smaller_spout(line, 0.0, most_girth_mm(bottom, &sleeve, line)));
    // Of a straight one B/2 - U/4 is left.
    let girth = down(2.0 * bottom.width_mm);
    Ok(vec![if is_straight {
        judgement
    } else {
        judgement.remedy(|| elsewhere("cure.sleeve_straight_and_spout", girth))
    }])
}

/// The largest girth of a spout of this reach that leaves room.
fn most_girth_mm(bottom: &Bottom, sleeve: &Sleeve, line: &Line) -> f64 {
    let (sine, cosine) = libm::sincos(sleeve.skew_deg.to_radians());
    let drift = -sleeve.side.sign() * sine;
    let half = |side: f64| {
        let room = |inwards: f64| {
            bottom.width_mm / 2.0 - side * (sleeve.offset_mm + drift * (sleeve.outer_end_mm / cosine + inwards))
        };
        // The side that leans outwards enters late: (U/4) (cos e + sin e tan e) = (U/4) / cos e.
        let enters = if side * drift > 0.0 { room(0.0) * cosine } else { room(0.0) / cosine };
        enters.min(room(line.file().spout.reach_mm) / cosine)
    };
    4.0 * half(1.0).min(half(-1.0))
}

/// What is left between a line's spout and the nearer fold line.
fn room_mm(bottom: &Bottom, sleeve: &Sleeve, line: &Line) -> f64 {
    let (sine, cosine) = libm::sincos(sleeve.skew_deg.to_radians());
    let drift = -sleeve.side.sign() * sine;
    let (half, reach) = (line.spout_girth_mm() / 4.0, line.file().spout.reach_mm);
    let middle = |inwards: f64| sleeve.offset_mm + drift * (sleeve.outer_end_mm / cosine + inwards);
    let beside = |side: f64| {
        let enters = (side * drift * half / cosine).clamp(0.0, reach);
        let room = |inwards: f64| bottom.width_mm / 2.0 - half * cosine - side * middle(inwards);
        room(enters).min(room(reach))
    };
    beside(1.0).min(beside(-1.0))
}

#[cfg(test)]
mod tests {
    use glam::DVec2;
    use proptest::prelude::*;

    use super::*;
    use crate::check::{support, testing};
    use crate::fold::sleeve_placement;
    use crate::sack::Sack;
    use crate::sheet::Sheet;

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(1000))]

        /// By its definition: the spout's outline is laid along the sleeve as that lies in the folded sack, and what of it
        /// is past the end edge stays between the fold lines.
        #[test]
        fn it_judges_by_the_spout_s_outline_in_the_bottom(file in support::valid_sheet(), line in support::valid_line()) {
            let found = testing::severity(&file, Some(&line), &RULE, Place::Valve);
            let sack = Sack::new(Sheet::new(file).unwrap());
            let bottom = sack.bottom(End::ValveEnd);
            let sleeve = bottom.sleeve.unwrap();
            let laid = sleeve_placement(bottom, &sleeve, 1.0);
            let at = |across: f64, along: f64| { let point = laid.at(DVec2::new(across, along)); DVec2::new(point.x, point.y) };
            let (sign, edge) = (sleeve.side.sign(), bottom.half_face_mm() - bottom.width_mm / 2.0);
            let way = at(0.0, 1.0) - at(0.0, 0.0);
            let inside = |point: DVec2| edge - sign * point.x;
            // Along the sleeve, where its middle line crosses the end edge.
            let entry = inside(at(0.0, 0.0)) / (sign * way.x);
            let (half, reach) = (line.spout_girth_mm() / 4.0, line.file().spout.reach_mm);
            let corners = [(-half, 0.0), (half, 0.0), (half, reach), (-half, reach)].map(|(x, u)| at(x, entry + u));
            // A spout whose side does not even get in is shorter than it is wide.
            prop_assume!(corners[2..].iter().all(|tip| inside(*tip) > 0.0));
            let mut farthest: f64 = 0.0;
            for (index, &a) in corners.iter().enumerate() {
                let b = corners[(index + 1) % 4];
                let (from, to) = (inside(a), inside(b));
                if from >= 0.0 {
                    farthest = farthest.max(a.y.abs());
                }
                if from * to < 0.0 {
                    farthest = farthest.max(a.lerp(b, from / (from - to)).y.abs());
                }
            }
            let expected = testing::expected(bottom.width_mm / 2.0 - farthest, f64::NEG_INFINITY, 0.0);
            prop_assume!(expected.is_some());
            prop_assert_eq!(found, expected);
        }
    }
}

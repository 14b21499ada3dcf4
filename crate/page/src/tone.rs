//! Tones of the paper, and of what lies around it in the light and the dark theme.

use sackwright::fold::{PanelName, Piece};
use sackwright::model::{Face, Part};
use sackwright::tube::Wall;

/// A colour: red, green, blue of sRGB, 0 to 255.
pub type Rgb = [u8; 3];

/// Tones of a kind of paper. In pairs: wall A and wall B, so that an eye can follow a wall through the fold, or the
/// outer and the inner side.
struct Tones {
    outer: [Rgb; 2],
    inner: [Rgb; 2],
    /// The patch: a darker sheet, so that it stands off the flaps.
    patch: [Rgb; 2],
    /// A cut edge: raw fibre.
    edge: Rgb,
}

/// Unbleached; the inner side paler and greyer.
const KRAFT: Tones = Tones {
    outer: [[205, 163, 110], [186, 139, 96]],
    inner: [[222, 203, 172], [209, 187, 157]],
    patch: [[167, 120, 76], [196, 164, 124]],
    edge: [239, 222, 188],
};

/// Bleached; the inner side rougher and greyer.
const WHITE: Tones = Tones {
    outer: [[238, 230, 213], [217, 208, 190]],
    inner: [[220, 210, 191], [201, 190, 170]],
    patch: [[195, 185, 164], [207, 197, 177]],
    edge: [246, 239, 224],
};

/// The sleeve: bleached paper.
const SLEEVE: [Rgb; 2] = [[240, 233, 217], [224, 216, 200]];
/// The boards of a pallet.
pub const BOARD: Rgb = [203, 174, 131];
/// A spout.
pub const STEEL: Rgb = [168, 180, 189];
/// A spout within the sack: what paper is tinted by.
pub const STEEL_WITHIN: Rgb = [206, 220, 231];
/// What each further ply takes off, parts of 255; every other one a little more, so that a stair reads.
const PLY_STEP: [u8; 6] = [0, 15, 6, 21, 12, 27];

/// What a paper looks like.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Paper {
    /// Brown, as most sack paper is.
    Kraft,
    /// Bleached.
    White,
}

impl Paper {
    /// By what a sheet calls it: bleached or white if one of its words says so.
    #[must_use]
    pub fn of(name: &str) -> Self {
        let mut words = name.split(|c: char| !c.is_alphabetic());
        let says = |word: &str| ["bleached", "white"].iter().any(|white| word.eq_ignore_ascii_case(white));
        if words.any(says) { Self::White } else { Self::Kraft }
    }

    const fn tones(self) -> &'static Tones {
        match self {
            Self::Kraft => &KRAFT,
            Self::White => &WHITE,
        }
    }
}

/// The tone of a part of a sack whose plies, from outside in, are of these papers. A patch is cut from the outermost
/// ply's.
#[must_use]
pub fn of(part: &Part, papers: &[Paper]) -> Rgb {
    let ply = usize::from(part.ply.unwrap_or(0));
    let tones = papers.get(ply).copied().unwrap_or(Paper::Kraft).tones();
    let inner = usize::from(part.face == Face::Inner);
    let tone = match (part.face, part.piece) {
        (Face::Edge, _) => tones.edge,
        (_, Piece::Patch) => tones.patch[inner],
        (_, Piece::Sleeve) => SLEEVE[inner],
        (_, Piece::Ply) => {
            let wall = usize::from(on_wall_b(part));
            if inner == 0 { tones.outer[wall] } else { tones.inner[wall] }
        }
    };
    let step = PLY_STEP[ply.min(PLY_STEP.len() - 1)];
    tone.map(|channel| channel - step)
}

/// Whether a part is of wall B, the back.
#[must_use]
pub const fn on_wall_b(part: &Part) -> bool {
    matches!(
        part.panel,
        PanelName::Body(Wall::B)
            | PanelName::Half(Wall::B)
            | PanelName::Flap(Wall::B)
            | PanelName::Pocket(Wall::B, _)
            | PanelName::PocketFlap(Wall::B, _)
    )
}

/// What the paper lies on and is lit by.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Theme {
    /// Behind the table, and what the table fades into.
    pub background: Rgb,
    /// The table.
    pub table: Rgb,
    /// How much of the wood's grain shows on the table, 0 to 1; the rest is mottled like slate.
    pub wood: f32,
    /// Lines of the drawing.
    pub ink: Rgb,
    /// What is lit up: hatch and tint.
    pub lit: Rgb,
    /// Rim of what is lit up.
    pub rim: Rgb,
    /// Key light, times the paper's tone.
    pub key: f32,
    /// Light from the sky and from the ground.
    pub sky: [f32; 3],
    /// Light from below.
    pub ground: [f32; 3],
    /// How dark a shadow on the table is, 0 to 1.
    pub shadow: f32,
}

/// A pale bench in daylight.
pub const LIGHT: Theme = Theme {
    background: [238, 236, 231],
    table: [226, 217, 201],
    wood: 1.0,
    ink: [92, 62, 36],
    lit: [22, 96, 140],
    rim: [10, 58, 98],
    key: 0.56,
    sky: [0.46, 0.475, 0.50],
    ground: [0.25, 0.23, 0.21],
    shadow: 0.55,
};

/// Slate under a lamp.
pub const DARK: Theme = Theme {
    background: [24, 28, 32],
    table: [52, 58, 64],
    wood: 0.0,
    ink: [60, 38, 22],
    lit: [24, 116, 172],
    rim: [150, 222, 255],
    key: 0.66,
    sky: [0.25, 0.26, 0.28],
    ground: [0.17, 0.165, 0.16],
    shadow: 0.7,
};

#[cfg(test)]
mod tests {
    use sackwright::sheet::End;

    use super::*;

    fn part(piece: Piece, ply: Option<u8>, panel: PanelName, face: Face) -> Part {
        Part { piece, ply, end: Some(End::ValveEnd), panel, face }
    }

    /// Relative luminance, roughly.
    fn light(tone: Rgb) -> f32 {
        let [r, g, b] = tone.map(|channel| (f32::from(channel) / 255.0).powi(2));
        0.21 * r + 0.72 * g + 0.07 * b
    }

    #[test]
    fn neighbours_in_a_stair_and_both_sides_differ_without_colour() {
        let kraft = [Paper::Kraft; 6];
        let ply = |ply, face| light(of(&part(Piece::Ply, Some(ply), PanelName::Flap(Wall::A), face), &kraft));
        for i in 0..5 {
            assert!((ply(i, Face::Outer) - ply(i + 1, Face::Outer)).abs() > 0.01);
        }
        assert!(ply(0, Face::Inner) > 1.2 * ply(0, Face::Outer));
    }

    #[test]
    fn walls_and_patch_differ_in_every_paper() {
        for paper in [Paper::Kraft, Paper::White] {
            let outer = |piece, ply, panel| light(of(&part(piece, ply, panel, Face::Outer), &[paper]));
            let front = outer(Piece::Ply, Some(0), PanelName::Flap(Wall::A));
            let back = outer(Piece::Ply, Some(0), PanelName::Flap(Wall::B));
            assert!(front > 1.1 * back, "{paper:?}");
            assert!(back > 1.1 * outer(Piece::Patch, None, PanelName::Patch), "{paper:?}");
        }
    }

    #[test]
    fn a_paper_is_white_if_its_name_says_so() {
        for (name, paper) in [
            ("sack kraft, semi-extensible", Paper::Kraft),
            ("unbleached sack kraft", Paper::Kraft),
            ("Bleached sack kraft", Paper::White),
            ("kraft, white-top", Paper::White),
            ("", Paper::Kraft),
        ] {
            assert_eq!(Paper::of(name), paper, "{name}");
        }
    }
}

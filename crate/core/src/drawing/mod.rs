//! Drawings as data: lines by type, hatched areas, marks, texts and dimensions at 1:1 in mm. No format in here, and no
//! sentence: texts are messages, put into words by whoever writes them down.
//!
//! Practice: line types after ISO 128 (wide continuous for edges and cuts, narrow dashed for what lies behind, narrow
//! long-dash-dot for centre lines, narrow continuous for creases, narrow long-dash-double-dot for adjacent parts), one
//! ink, wide to narrow 2:1; dimensions after ISO 129 (extension lines, text above the line, read from below or from the
//! right); the fields of the title block after ISO 7200; text heights of ISO 3098, line width a tenth of the height.
//! The names of the standards are given for their terms; no conformity is claimed.
//!
//! A drawing is made in two steps. Each view draws its geometry and says which dimensions and labels it wants
//! ([`view`]); the dimensions are then set in rows and columns outside the geometry and the labels where they are free,
//! so that no text lies on a line or on another text. [`page`] arranges the views with legend, notes and title block.
//! Words are measured for that with a table of widths ([`text`]), on the safe side for the usual sans-serif faces.

mod artwork;
mod bottom;
mod hatch;
mod lap;
mod page;
mod plan;
mod rect;
mod sack;
mod text;
mod tiles;
mod view;
mod webs;

use glam::DVec2;
use serde::Serialize;

use crate::cards::Line;
use crate::check::Habits;
use crate::figures::PasteHabits;
use crate::finding::{Message, Place};
use crate::sack::Sack;
use crate::sheet::End;

pub use rect::{Rect, TurnedRect};
pub use text::{LINE_PITCH, font_size_mm};
pub use tiles::{Tile, Tiling, tiles};

/// Which drawing.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum What {
    /// The finished sack, both faces.
    Sack,
    /// The valve end's bottom in plan.
    ValveBottom,
    /// The plain end's bottom in plan.
    PlainBottom,
    /// Both laps in section.
    Lap,
    /// The web of every ply.
    Webs,
    /// What may be printed where on the outer web.
    Artwork,
}

impl What {
    /// Every drawing.
    pub const ALL: [Self; 6] = [Self::Sack, Self::ValveBottom, Self::PlainBottom, Self::Lap, Self::Webs, Self::Artwork];

    /// Its name on the command line, at the boundary and in the words table.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Sack => "sack",
            Self::ValveBottom => "valve-bottom",
            Self::PlainBottom => "plain-bottom",
            Self::Lap => "lap",
            Self::Webs => "webs",
            Self::Artwork => "artwork",
        }
    }

    /// The drawing of a name.
    #[must_use]
    pub fn from_name(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|what| what.name() == name)
    }
}

/// Puts messages and numbers into words.
#[derive(Clone, Copy)]
pub struct Words<'a> {
    /// The words of a message.
    pub message: &'a dyn Fn(&Message) -> String,
    /// A dimension's number, without unit.
    pub number: &'a dyn Fn(f64) -> String,
}

/// What a drawing is given besides the sack.
#[derive(Clone, Copy, Debug, Default)]
pub struct Given<'a> {
    /// The filling line, for the spout in its place.
    pub line: Option<&'a Line>,
    /// Date as it is to stand in the title block; empty: left to the pen.
    pub date: &'a str,
    /// Revision, likewise.
    pub revision: &'a str,
    /// The works' own habits; `None`: the trade's.
    pub habits: Option<&'a Habits>,
    /// How the works pastes.
    pub practice: Practice,
    /// What the title block says of the scale.
    pub scale: Scale,
    /// The unit that the words tell numbers in; a drawing's own is the mm.
    pub unit: LengthUnit,
    /// Which sheet, from 0, of how many over which its views are shared out; `None`: all on one.
    pub sheet: Option<(usize, usize)>,
}

/// The unit that a drawing's numbers are told in.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum LengthUnit {
    /// Millimetres.
    #[default]
    Millimetre,
    /// Inches.
    Inch,
}

impl LengthUnit {
    /// Both.
    pub const ALL: [Self; 2] = [Self::Millimetre, Self::Inch];

    /// Its name at the boundary and in the words table.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Millimetre => "mm",
            Self::Inch => "in",
        }
    }

    /// The unit of that name.
    #[must_use]
    pub fn from_name(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|unit| unit.name() == name)
    }
}

/// How large a drawing comes to paper. Its own mm are always the sack's.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Scale {
    /// At 1:1.
    #[default]
    Full,
    /// At 1:1 on sheets that are joined ([`tiles`]), all of it or a view alone: one stands as near as to one view, and
    /// its letters are for that.
    Joined,
    /// Fitted to a page: not to scale.
    Fitted,
}

impl Scale {
    /// Every one.
    pub const ALL: [Self; 3] = [Self::Full, Self::Joined, Self::Fitted];

    /// Its name in the words table.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Full => "full",
            Self::Joined => "joined",
            Self::Fitted => "fitted",
        }
    }

    /// How wide titles, labels, notes and title block may be, and how high labels, mm: on sheets to be joined so that each is
    /// whole on one of A4 or Letter, upright or lying.
    const fn longest_line_mm(self) -> f64 {
        match self {
            Self::Joined => 150.0,
            Self::Full | Self::Fitted => f64::INFINITY,
        }
    }
}

/// How a works pastes, as far as drawings show it. The trade's orders of magnitude, different from works to
/// works: inputs with a default.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Practice {
    /// mm. Stripe of paste in the longitudinal seam (trade: 10 to 20, medium certainty).
    pub seam_stripe_mm: f64,
    /// mm. Cross paste from a ply's own tear line (trade: 15 to 30, low certainty).
    pub cross_paste_mm: f64,
    /// mm. Pitch of the dots of cross paste (trade: 40 to 70, low certainty).
    pub cross_paste_pitch_mm: f64,
    /// mm. Length of such a dot (trade: 10 to 20, low certainty).
    pub cross_paste_dot_mm: f64,
    /// mm. How far the strip without ink goes beyond the seam lap (trade: 5, medium certainty).
    pub print_off_seam_mm: f64,
}

impl Default for Practice {
    fn default() -> Self {
        Self {
            seam_stripe_mm: PasteHabits::default().seam_stripe_mm,
            cross_paste_mm: 22.5,
            cross_paste_pitch_mm: 55.0,
            cross_paste_dot_mm: 15.0,
            print_off_seam_mm: 5.0,
        }
    }
}

/// A drawing at 1:1. Coordinates in mm, x to the right and y up, from its lower left corner.
#[derive(Clone, Debug, PartialEq)]
pub struct Drawing {
    /// Which one.
    pub what: What,
    /// Width and height in mm.
    pub size_mm: DVec2,
    /// Height of its letters in mm; line widths follow from it.
    pub text_mm: f64,
    /// How many labels found no room and stand among the notes.
    pub displaced: usize,
    /// What it is called.
    pub title: Message,
    /// What it shows, for those who can't see it.
    pub description: Message,
    /// Its views.
    pub views: Vec<View>,
    /// What of it can be printed alone.
    pub parts: Vec<Part>,
    /// Where the title block lies.
    pub title_block: Rect,
    /// All that is drawn.
    pub items: Vec<Item>,
}

impl Drawing {
    /// Width in mm of wide lines: a tenth of the letters' height; narrow ones have half.
    #[must_use]
    pub fn wide_mm(&self) -> f64 {
        self.text_mm / 10.0
    }

    /// The dimensions among its items.
    pub fn dimensions(&self) -> impl Iterator<Item = &Dimension> {
        self.items.iter().filter_map(|item| match item {
            Item::Dimension(dimension) => Some(&**dimension),
            _ => None,
        })
    }

    /// With its title block elsewhere, so far to the right and down, mm ([`Tiling::title_block_by_mm`]).
    #[must_use]
    pub fn with_title_block_by(mut self, [right, down]: [f64; 2]) -> Self {
        let by = DVec2::new(right, -down);
        let (block, mut items): (Vec<_>, Vec<_>) =
            core::mem::take(&mut self.items).into_iter().partition(|item| self.has_in_block(item));
        items.extend(block.into_iter().map(|item| item.moved(by)));
        Self { title_block: self.title_block.moved(by), items, ..self }
    }

    /// Whether an item is of the title block, in which nothing else lies; the frame goes round it.
    fn has_in_block(&self, item: &Item) -> bool {
        !matches!(item, Item::Line(LineType::Frame, _)) && self.title_block.holds(item.room().middle())
    }
}

/// What of a drawing can be printed alone, where all of it takes many sheets.
#[derive(Clone, Debug, PartialEq)]
pub struct Part {
    /// Its name within the drawing: a view's, or that with `-ends`.
    pub name: String,
    /// Where it lies in the drawing.
    pub rooms: Vec<Rect>,
}

/// One view of a drawing.
#[derive(Clone, Debug, PartialEq)]
pub struct View {
    /// Its name within the drawing.
    pub key: String,
    /// What stands above it.
    pub title: Message,
    /// Where the view's own origin lies in the drawing.
    pub origin: DVec2,
    /// The room that its geometry takes, without dimensions and labels, in the drawing.
    pub outline: Rect,
}

/// Something drawn.
#[derive(Clone, Debug, PartialEq)]
pub enum Item {
    /// A line.
    Line(LineType, Shape),
    /// A hatched area.
    Area(Area),
    /// A small sign.
    Mark(Mark),
    /// A text.
    Text(Text),
    /// A dimension.
    Dimension(Box<Dimension>),
    /// An angle's dimension.
    Angle(Box<AngleDimension>),
}

/// Types of line.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum LineType {
    /// Wide continuous: edges and cuts.
    Edge,
    /// Narrow dashed: what lies behind.
    Behind,
    /// Narrow long-dash-dot: centre lines and nominal lines.
    Centre,
    /// Narrow continuous: creases.
    Crease,
    /// Narrow long-dash-double-dot: adjacent parts, other positions.
    Adjacent,
    /// Narrow continuous: leaders, frames of legend and title block.
    Thin,
    /// Wide continuous: the drawing's frame.
    Frame,
}

impl LineType {
    /// Every type.
    pub const ALL: [Self; 7] =
        [Self::Edge, Self::Behind, Self::Centre, Self::Crease, Self::Adjacent, Self::Thin, Self::Frame];

    /// Those that stand for something on the sack, in the legend's order.
    pub const OF_PARTS: [Self; 5] = [Self::Edge, Self::Behind, Self::Centre, Self::Crease, Self::Adjacent];

    /// Its name in files and in the words table.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Edge => "edge",
            Self::Behind => "behind",
            Self::Centre => "centre",
            Self::Crease => "crease",
            Self::Adjacent => "adjacent",
            Self::Thin => "thin",
            Self::Frame => "frame",
        }
    }

    /// Whether it is as wide as edges are.
    #[must_use]
    pub const fn wide(self) -> bool {
        matches!(self, Self::Edge | Self::Frame)
    }

    /// Dashes and gaps in widths of the narrow line (ISO 128-2: dash 12, long dash 24, gap 3, dot 0.5, rounded up so
    /// that dots are seen); empty: continuous.
    #[must_use]
    pub const fn dashes(self) -> &'static [f64] {
        match self {
            Self::Behind => &[12.0, 6.0],
            Self::Centre => &[36.0, 6.0, 2.0, 6.0],
            Self::Adjacent => &[36.0, 6.0, 2.0, 6.0, 2.0, 6.0],
            Self::Edge | Self::Crease | Self::Thin | Self::Frame => &[],
        }
    }
}

/// The shape of a line.
#[derive(Clone, Debug, PartialEq)]
pub enum Shape {
    /// From point to point; closed: back to the first.
    Path {
        /// The points.
        points: Vec<DVec2>,
        /// Whether it goes back to the first.
        closed: bool,
    },
    /// A half circle, left or right of its centre.
    Bow {
        /// Its centre.
        centre: DVec2,
        /// Its radius in mm.
        radius: f64,
        /// Whether it bulges to the left.
        left: bool,
    },
}

/// A hatched area.
#[derive(Clone, Debug, PartialEq)]
pub struct Area {
    /// What the hatching means.
    pub hatch: Hatch,
    /// Its outline, which is not drawn.
    pub outline: Vec<DVec2>,
    /// The hatching, broken where texts stand.
    pub lines: Vec<[DVec2; 2]>,
}

/// Kinds of hatching.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Hatch {
    /// Pasted.
    Paste,
    /// Must stay without paste.
    NoPaste,
    /// Flap on flap.
    Lap,
    /// Without print.
    PrintFree,
    /// Not seen on the finished sack.
    Hidden,
    /// Covered by the patch.
    UnderPatch,
    /// The barcode, its bars along the sack.
    Barcode,
    /// The barcode, its bars across the sack.
    BarcodeAcross,
}

impl Hatch {
    /// Every kind, in the legend's order.
    pub const ALL: [Self; 8] = [
        Self::Paste,
        Self::NoPaste,
        Self::Lap,
        Self::PrintFree,
        Self::Hidden,
        Self::UnderPatch,
        Self::Barcode,
        Self::BarcodeAcross,
    ];

    /// Its name in files and in the words table.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Paste => "paste",
            Self::NoPaste => "no-paste",
            Self::Lap => "lap",
            Self::PrintFree => "print-free",
            Self::Hidden => "hidden",
            Self::UnderPatch => "under-patch",
            Self::Barcode => "barcode",
            Self::BarcodeAcross => "barcode-across",
        }
    }
}

/// A small sign, a filled or open polygon.
#[derive(Clone, Debug, PartialEq)]
pub struct Mark {
    /// What it means.
    pub kind: MarkKind,
    /// Its outline.
    pub outline: Vec<DVec2>,
}

/// Kinds of mark.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum MarkKind {
    /// The crease folds so that the paper beside it comes towards the viewer.
    FoldTowards,
    /// The crease folds away from the viewer.
    FoldAway,
    /// Where a pocket's corner comes to lie.
    Notch,
    /// A dot of cross paste.
    CrossPaste,
    /// The end of a leader.
    Dot,
}

impl MarkKind {
    /// Every kind that stands for something on the sack, in the legend's order.
    pub const OF_PARTS: [Self; 4] = [Self::FoldTowards, Self::FoldAway, Self::Notch, Self::CrossPaste];

    /// Its name in files and in the words table.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::FoldTowards => "fold-towards",
            Self::FoldAway => "fold-away",
            Self::Notch => "notch",
            Self::CrossPaste => "cross-paste",
            Self::Dot => "dot",
        }
    }

    /// Whether it is filled with ink.
    #[must_use]
    pub const fn filled(self) -> bool {
        !matches!(self, Self::FoldTowards | Self::Notch)
    }
}

/// What a text says.
#[derive(Clone, Debug, PartialEq)]
pub enum Said {
    /// A message.
    Message(Message),
    /// A dimension's number.
    Number(f64),
}

impl Said {
    /// In words.
    #[must_use]
    pub fn words(&self, words: &Words) -> String {
        match self {
            Self::Message(message) => (words.message)(message),
            Self::Number(value) => (words.number)(*value),
        }
    }
}

/// A text.
#[derive(Clone, Debug, PartialEq)]
pub struct Text {
    /// What it says.
    pub said: Said,
    /// Where its first base line begins, ends or has its middle.
    pub at: DVec2,
    /// Which of the three.
    pub anchor: Anchor,
    /// Where its words run, of length 1: to the right, or upwards where it is read from the right, or aslant.
    pub along: DVec2,
    /// Height of its capital letters in mm.
    pub height_mm: f64,
    /// Broken into lines that are no longer than this, in mm.
    pub room_mm: Option<f64>,
    /// The room that it takes: no line and no other text lies in it.
    pub bounds: TurnedRect,
}

impl Text {
    /// Its lines, one after the other.
    #[must_use]
    pub fn lines(&self, words: &Words) -> Vec<String> {
        text::wrap(&self.said.words(words), self.height_mm, self.room_mm)
    }

    /// The direction of its words in degrees, against the clock from the right.
    #[must_use]
    pub fn angle_deg(&self) -> f64 {
        libm::atan2(self.along.y, self.along.x).to_degrees()
    }
}

/// Which point of a text is given.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Anchor {
    /// Its beginning.
    Start,
    /// Its middle.
    Middle,
    /// Its end.
    End,
}

/// A dimension, ready to be drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct Dimension {
    /// Its name within the drawing.
    pub id: String,
    /// Key of the sheet's field or of the figure that it measures: `face_width_mm`, `valve_end.opening_depth_mm`.
    pub measures: String,
    /// Its value in mm, as the sheet or the figures have it.
    pub value_mm: f64,
    /// Where on the sack.
    pub place: Place,
    /// What is measured: the two points where the arrows touch the extension lines. Their distance is the value.
    pub from: DVec2,
    /// The other one.
    pub to: DVec2,
    /// Extension lines.
    pub extensions: [[DVec2; 2]; 2],
    /// The dimension line, with what of it goes on beyond the extension lines.
    pub line: [DVec2; 2],
    /// The arrowheads: tip and the two corners of the foot.
    pub arrows: [[DVec2; 3]; 2],
    /// The number.
    pub text: Text,
}

/// The dimension of an angle, ready to be drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct AngleDimension {
    /// Its name within the drawing.
    pub id: String,
    /// Key of the sheet's field that it measures: `valve_end.valve.skew_deg`.
    pub measures: String,
    /// Its value in degrees, as the sheet has it.
    pub value_deg: f64,
    /// Where on the sack.
    pub place: Place,
    /// Where its legs meet.
    pub apex: DVec2,
    /// What is measured: the two points where the arrows touch the legs, as far from the apex.
    pub from: DVec2,
    /// The other one.
    pub to: DVec2,
    /// The legs, from the apex to beyond the arc.
    pub legs: [[DVec2; 2]; 2],
    /// The arc in short pieces, with what of it goes on beyond the legs.
    pub arc: Vec<DVec2>,
    /// The arrowheads: tip and the two corners of the foot.
    pub arrows: [[DVec2; 3]; 2],
    /// The angle.
    pub text: Text,
}

/// A drawing on one sheet; fitted to a page, on two where its letters would be too small on one.
#[must_use]
pub fn sheets(sack: &Sack, what: What, given: &Given, words: &Words) -> Vec<Drawing> {
    let whole = draw(sack, what, given, words);
    if given.scale != Scale::Fitted || whole.views.len() < 2 || page::can_be_read(&whole) {
        return vec![whole];
    }
    let sheet = |number| draw(sack, what, &Given { sheet: Some((number, 2)), ..*given }, words);
    [0, 1].map(sheet).into()
}

/// Makes a drawing of a sack. `words` are measured only: what a text says stays a message.
#[must_use]
pub fn draw(sack: &Sack, what: What, given: &Given, words: &Words) -> Drawing {
    let with_letters = |h: f64| match what {
        What::Sack => sack::draw(sack, given, words, h),
        What::ValveBottom => bottom::draw(sack, End::ValveEnd, given, words, h),
        What::PlainBottom => bottom::draw(sack, End::PlainEnd, given, words, h),
        What::Lap => lap::draw(sack, given, words, h),
        What::Webs => webs::draw(sack, given, words, h),
        What::Artwork => artwork::draw(sack, given, words, h),
    };
    let (view_mm, abreast) = match what {
        What::Sack => (sack::extent_mm(sack), 2.0),
        What::ValveBottom | What::PlainBottom => (bottom::extent_mm(sack), 1.0),
        What::Lap => (lap::extent_mm(sack), 1.0),
        What::Webs => (webs::extent_mm(sack), webs::abreast(sack)),
        What::Artwork => (artwork::extent_mm(sack), 1.0),
    };
    let usual = page::text_height_mm(view_mm * abreast);
    match given.scale {
        Scale::Full => with_letters(usual),
        Scale::Joined => with_letters(page::text_height_mm(view_mm)),
        Scale::Fitted => page::legible(usual, with_letters),
    }
}

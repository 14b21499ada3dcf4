//! Every tolerance of the core by name, with its unit and why it is what it is.

/// mm. Two computed lengths that should be equal differ by no more than this. Coordinates reach some 3,000 mm, where
/// f64 resolves 5e-13 mm; a handful of operations stays far below.
pub const EXACT_MM: f64 = 1e-9;

/// mm. The least that is left of a flap or a gap for the sack to exist as a drawing at all: below it, panels would
/// vanish. What can be *made* needs more; that is a finding, not an error.
pub const LEAST_PANEL_MM: f64 = 1.0;

/// mm. Strips of a lap map that are narrower than this are rounding, not paper.
pub const LAP_STRIP_MM: f64 = 1e-9;

/// mm. A tube's length is one that its tuber makes when it is off by no more: steps of gear teeth are seldom round, while
/// sheets have lengths to a tenth of a millimetre, and no tube is cut more exactly.
pub const TUBE_STEP_MM: f64 = 0.1;

/// mm. Corners of a crease pattern that are closer than this are one: computed corners agree to `EXACT_MM`, and no panel
/// is smaller than `LEAST_PANEL_MM`.
pub const SAME_CORNER_MM: f64 = 1e-6;

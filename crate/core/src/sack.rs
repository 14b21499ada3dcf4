//! A validated sheet with everything that is derived from it once: what poses, models, figures and checks read.

use crate::bottom::Bottom;
use crate::finding::Problem;
use crate::sheet::{End, Sheet, SheetFile};
use crate::tube::Tube;

/// A sack that can exist.
#[derive(Clone, Debug, PartialEq)]
pub struct Sack {
    sheet: Sheet,
    tube: Tube,
    bottoms: [Bottom; 2],
}

impl Sack {
    /// Derives the sack of a sheet.
    #[must_use]
    pub fn new(sheet: Sheet) -> Self {
        let tube = Tube::new(&sheet);
        let bottoms = End::ALL.map(|end| Bottom::new(&sheet, &tube, end));
        Self { sheet, tube, bottoms }
    }

    /// Reads a sheet and derives its sack.
    ///
    /// # Errors
    /// See [`crate::sheet::read`].
    pub fn read(text: &str) -> Result<Self, Vec<Problem>> {
        crate::sheet::read(text).map(Self::new)
    }

    /// The sheet.
    #[must_use]
    pub const fn sheet(&self) -> &Sheet {
        &self.sheet
    }

    /// The sheet as a file holds it.
    #[must_use]
    pub const fn file(&self) -> &SheetFile {
        self.sheet.file()
    }

    /// The tube.
    #[must_use]
    pub const fn tube(&self) -> &Tube {
        &self.tube
    }

    /// Where the barcode lies on the outermost ply's chart, mm: least u and v, greatest u and v.
    #[must_use]
    pub fn barcode_mm(&self) -> Option<[[f64; 2]; 2]> {
        let barcode = self.file().artwork.as_ref()?.barcode.as_ref()?;
        // On the front u = x + W/2, on the back u = 2 W - (x + W/2), with x to the left as one looks at it.
        let middle = if barcode.on_back { 1.5 } else { 0.5 } * self.tube.face_width_mm;
        let u = middle + barcode.offset_from_middle_mm;
        let v = self.tube.length_mm - self.bottom(End::PlainEnd).flap_depth_mm - barcode.from_plain_end_mm;
        let [across, along] = barcode.half_mm();
        Some([[u - across, v - along], [u + across, v + along]])
    }

    /// The bottom of an end.
    #[must_use]
    pub const fn bottom(&self, end: End) -> &Bottom {
        match end {
            End::ValveEnd => &self.bottoms[0],
            End::PlainEnd => &self.bottoms[1],
        }
    }
}

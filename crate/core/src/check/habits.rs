//! Limits that come from practice rather than from geometry, as a card of the works.

use serde::{Deserialize, Serialize};

use crate::cards::reversed;
use crate::file::{FileKind, locate};
use crate::fill::HeadroomRange;
use crate::finding::Problem;

/// The format of a habits card that this version reads.
pub const HABITS_FORMAT: &str = "sackwright-habits/1";

/// The kind of file that a habits card is.
pub static HABITS_KIND: FileKind =
    FileKind::new(HABITS_FORMAT, include_str!(concat!(env!("OUT_DIR"), "/habits.schema.json")));

/// Reads a habits card; what it leaves out keeps its default.
///
/// # Errors
/// Every fault of the file; see [`FileKind::read`]. A least that lies above its most is one, also where the card gives only
/// one of the two and the other keeps its default.
pub fn read_habits(text: &str) -> Result<Habits, Vec<Problem>> {
    let habits: Habits = HABITS_KIND.read(text)?;
    let mut problems = reversed(&habits.ranges());
    if problems.is_empty() {
        return Ok(habits);
    }
    locate(text, &mut problems);
    Err(problems)
}

/// What a works holds to. Every value is a habit of the trade or an assumption, and differs from works to works: it is
/// an input with a default. How sure the default is stands with each field.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(default, deny_unknown_fields)]
#[cfg_attr(test, schemars(title = "Habits of the works"))]
pub struct Habits {
    /// Format and version of the file: `sackwright-habits/1`.
    pub format: String,
    /// Whose habits they are.
    #[cfg_attr(test, schemars(length(max = 200)))]
    pub name: String,
    /// mm. Least gap between the two pockets of a bottom, so that the flaps are held between them. Trade habit, medium
    /// certainty.
    #[cfg_attr(test, schemars(range(min = 0, max = 500)))]
    pub pocket_gap_mm: f64,
    /// mm. Least distance between the two opened ends lying on the tube. Follows from the folding; the value is an
    /// assumption, low certainty.
    #[cfg_attr(test, schemars(range(min = 0, max = 500)))]
    pub bottoms_gap_mm: f64,
    /// mm. Least distance between the two bottoms folded flat onto one face. Follows from the folding; the value is an
    /// assumption, low certainty.
    #[cfg_attr(test, schemars(range(min = 0, max = 500)))]
    pub folded_gap_mm: f64,
    /// Least usual length over face width. Trade habit, medium certainty.
    #[cfg_attr(test, schemars(range(min = 0, max = 10)))]
    pub least_proportion: f64,
    /// Largest usual length over face width. Trade habit, medium certainty.
    #[cfg_attr(test, schemars(range(min = 0, max = 10)))]
    pub most_proportion: f64,
    /// mm. A lap below this does not hold. Trade habit, medium certainty.
    #[cfg_attr(test, schemars(range(min = 0, max = 500)))]
    pub lap_floor_mm: f64,
    /// mm. Advised least lap of a flush cut. Trade habit, medium certainty.
    #[cfg_attr(test, schemars(range(min = 0, max = 500)))]
    pub lap_flush_mm: f64,
    /// mm. Advised least lap of a stepped cut, ply for ply. Trade habit, medium certainty.
    #[cfg_attr(test, schemars(range(min = 0, max = 500)))]
    pub lap_stepped_mm: f64,
    /// mm. How far lap and step may differ before a strip without paste, or pasted to the neighbouring ply, matters.
    /// Assumption from usual laps and steps, low certainty.
    #[cfg_attr(test, schemars(range(min = 0, max = 500)))]
    pub lap_from_step_mm: f64,
    /// mm. Least usual step. Trade habit, medium certainty.
    #[cfg_attr(test, schemars(range(min = 0, max = 500)))]
    pub least_step_mm: f64,
    /// mm. Largest usual step. Trade habit, medium certainty.
    #[cfg_attr(test, schemars(range(min = 0, max = 500)))]
    pub most_step_mm: f64,
    /// mm. Least depth of the shortest ply's flap: the band of paste must lie on it. Trade habit, medium certainty.
    #[cfg_attr(test, schemars(range(min = 0, max = 500)))]
    pub flap_mm: f64,
    /// mm. By how much a patch should be narrower than the bottom, both sides together, so that its edges keep off the fold
    /// lines. Trade habit, medium certainty.
    #[cfg_attr(test, schemars(range(min = 0, max = 500)))]
    pub least_patch_side_mm: f64,
    /// mm. By how much a patch is narrower than the bottom at most. Trade habit, medium certainty.
    #[cfg_attr(test, schemars(range(min = 0, max = 500)))]
    pub most_patch_side_mm: f64,
    /// mm. By how much a patch should pass the point of the V that the flaps leave open. Assumption, low certainty.
    #[cfg_attr(test, schemars(range(min = 0, max = 500)))]
    pub patch_margin_mm: f64,
    /// mm. Distance of a seam's edge from the pockets. Follows from the folding; the value is a trade habit, low
    /// certainty.
    #[cfg_attr(test, schemars(range(min = 0, max = 500)))]
    pub seam_clear_mm: f64,
    /// mm. Least lap of a longitudinal seam: one national standard has it; 25 to 35 is usual.
    #[cfg_attr(test, schemars(range(min = 0, max = 500)))]
    pub seam_lap_mm: f64,
    /// mm. Least usual lap of a longitudinal seam. Trade habit, medium certainty.
    #[cfg_attr(test, schemars(range(min = 0, max = 500)))]
    pub least_seam_lap_mm: f64,
    /// mm. Largest usual lap of a longitudinal seam. Trade habit, medium certainty.
    #[cfg_attr(test, schemars(range(min = 0, max = 500)))]
    pub most_seam_lap_mm: f64,
    /// mm. Widest band in which the seams of all plies lie. Trade habit (60 to 120), low certainty.
    #[cfg_attr(test, schemars(range(min = 0, max = 500)))]
    pub seam_band_mm: f64,
    /// mm. What stays free of the bottom's width on each side of the sleeve: sleeves are made as wide as the bottom,
    /// or up to 10 mm narrower. Trade habit, medium certainty.
    #[cfg_attr(test, schemars(range(min = 0, max = 500)))]
    pub sleeve_side_mm: f64,
    /// Share of its flat width by which a tubular sleeve should lie free past the pocket's rim, for the product to
    /// press it shut. Trade habit (0.5 to 1), medium certainty.
    #[cfg_attr(test, schemars(range(min = 0, max = 5)))]
    pub sleeve_free_share: f64,
    /// mm. Distance that the sleeve keeps from the pocket on the far side. Assumption, low certainty.
    #[cfg_attr(test, schemars(range(min = 0, max = 500)))]
    pub sleeve_far_mm: f64,
    /// Least length of a tubular sleeve as a share of its flat width. Trade habit, medium certainty; 1.5 for fine powders.
    #[cfg_attr(test, schemars(range(min = 0, max = 10)))]
    pub sleeve_length_share: f64,
    /// mm. How far an internal sleeve's mouth may stand back from the bottom's end edge. Trade habit, low certainty.
    #[cfg_attr(test, schemars(range(min = 0, max = 500)))]
    pub mouth_behind_mm: f64,
    /// mm. How far an internal sleeve's mouth may stand out. Trade habit, low certainty.
    #[cfg_attr(test, schemars(range(min = 0, max = 500)))]
    pub mouth_before_mm: f64,
    /// mm. How far an external sleeve stands out at least, to be tucked in. Trade habit, low certainty.
    #[cfg_attr(test, schemars(range(min = 0, max = 500)))]
    pub least_tuck_mm: f64,
    /// mm. How far an external sleeve stands out at most. Trade habit, low certainty.
    #[cfg_attr(test, schemars(range(min = 0, max = 500)))]
    pub most_tuck_mm: f64,
    /// mm. By how much a spout may end before the sleeve does. Trade habit, low certainty.
    #[cfg_attr(test, schemars(range(min = 0, max = 500)))]
    pub spout_before_sleeve_mm: f64,
    /// mm. By how much the spout's height should stay below the bottom's width. Trade habit, low certainty.
    #[cfg_attr(test, schemars(range(min = 0, max = 500)))]
    pub spout_height_margin_mm: f64,
    /// Least usual number of plies of a valved sack. Trade habit, medium certainty.
    #[cfg_attr(test, schemars(range(min = 1, max = 6)))]
    pub least_plies: usize,
    /// g/m2. Least mass per area of all plies together for each kg of the filling. After usual constructions, low certainty:
    /// drop tests decide.
    #[cfg_attr(test, schemars(range(min = 0, max = 100)))]
    pub paper_per_kg_g_m2: f64,
    /// mm. What readable print keeps clear of the side folds. Trade habit (15 to 20), medium certainty.
    #[cfg_attr(test, schemars(range(min = 0, max = 500)))]
    pub print_side_mm: f64,
    /// mm. What readable print keeps clear of the folds of the bottoms. Trade habit, medium certainty.
    #[cfg_attr(test, schemars(range(min = 0, max = 500)))]
    pub print_fold_mm: f64,
    /// mm. How far a barcode keeps from edges, rounded ends and seams of the filled sack. The least that an open standard
    /// of barcodes asks for from an edge, medium certainty.
    #[cfg_attr(test, schemars(range(min = 0, max = 500)))]
    pub barcode_clear_mm: f64,
    /// mm. By how much the print's repeat may differ from the tube length. Assumption, low certainty.
    #[cfg_attr(test, schemars(range(min = 0, max = 500)))]
    pub repeat_mm: f64,
    /// Least share of the capacity that the filling leaves. Trade habit (sacks are designed to be 88 to 96 % full), low
    /// certainty.
    #[cfg_attr(test, schemars(range(min = 0, max = 0.9)))]
    pub least_headroom: f64,
    /// Largest share of the capacity that the filling leaves. Trade habit, low certainty.
    #[cfg_attr(test, schemars(range(min = 0, max = 0.9)))]
    pub most_headroom: f64,
    /// Least share of the capacity that the settled product fills. Trade habit, medium certainty.
    #[cfg_attr(test, schemars(range(min = 0, max = 1)))]
    pub least_fill_ratio: f64,
    /// Largest thickness of the flattened sack as a share of its width. Trade habit (0.45 is the aim), low certainty.
    #[cfg_attr(test, schemars(range(min = 0, max = 2)))]
    pub most_thickness_share: f64,
    /// mm. How far below the valve the product's level may stay for the valve to close. Assumption, low certainty.
    #[cfg_attr(test, schemars(range(min = 0, max = 1000)))]
    pub freeboard_mm: f64,
    /// s. Largest sum of the air resistances (Gurley) of all plies for powders. Trade habit (12 to 15 s), medium certainty;
    /// perforated plies do with more.
    #[cfg_attr(test, schemars(range(min = 0, max = 100000)))]
    pub most_gurley_s: f64,
    /// kPa. Pressure of the air in the sack while it is filled. Assumption, low certainty.
    #[cfg_attr(test, schemars(range(min = 0.1, max = 100)))]
    pub filling_pressure_kpa: f64,
    /// Share of the time for one sack in which the air must get out. Assumption, low certainty.
    #[cfg_attr(test, schemars(range(min = 0.01, max = 1)))]
    pub air_time_share: f64,
    /// Share of the pallet's top that a layer should cover. One industry's rule for its pallets, low certainty.
    #[cfg_attr(test, schemars(range(min = 0, max = 1)))]
    pub pallet_cover_share: f64,
    /// mm. How far sacks may stand out beyond the pallet on each side. Rule of thumb of the trade, medium certainty.
    #[cfg_attr(test, schemars(range(min = 0, max = 500)))]
    pub overhang_mm: f64,
    /// Share of the sacks above the lowest layer that should rest on two or more. Assumption, low certainty.
    #[cfg_attr(test, schemars(range(min = 0, max = 1)))]
    pub binding_share: f64,
    /// mm. By how much lying sacks should be able to be longer or wider before a layer holds fewer. Assumption, low
    /// certainty.
    #[cfg_attr(test, schemars(range(min = 0, max = 50)))]
    pub pallet_leeway_mm: f64,
    /// kg. Above this a sack calls for a look at how it is handled: reference mass for lifting in ideal conditions.
    /// Medium certainty; standards and local rules decide.
    #[cfg_attr(test, schemars(range(min = 0, max = 2000)))]
    pub handling_kg: f64,
}

impl Habits {
    /// What has a least and a most, with the field of its most.
    const fn ranges(&self) -> [(&'static str, Option<f64>, Option<f64>); 6] {
        [
            ("most_proportion", Some(self.least_proportion), Some(self.most_proportion)),
            ("most_step_mm", Some(self.least_step_mm), Some(self.most_step_mm)),
            ("most_patch_side_mm", Some(self.least_patch_side_mm), Some(self.most_patch_side_mm)),
            ("most_seam_lap_mm", Some(self.least_seam_lap_mm), Some(self.most_seam_lap_mm)),
            ("most_tuck_mm", Some(self.least_tuck_mm), Some(self.most_tuck_mm)),
            ("most_headroom", Some(self.least_headroom), Some(self.most_headroom)),
        ]
    }

    /// The headroom that a filling should leave.
    #[must_use]
    pub const fn headroom(&self) -> HeadroomRange {
        HeadroomRange { least: self.least_headroom, most: self.most_headroom }
    }
}

impl Default for Habits {
    fn default() -> Self {
        Self {
            format: HABITS_FORMAT.into(),
            name: String::new(),
            pocket_gap_mm: 40.0,
            bottoms_gap_mm: 20.0,
            folded_gap_mm: 40.0,
            least_proportion: 1.1,
            most_proportion: 1.7,
            lap_floor_mm: 10.0,
            lap_flush_mm: 20.0,
            lap_stepped_mm: 15.0,
            lap_from_step_mm: 5.0,
            least_step_mm: 10.0,
            most_step_mm: 30.0,
            flap_mm: 25.0,
            least_patch_side_mm: 5.0,
            most_patch_side_mm: 15.0,
            patch_margin_mm: 5.0,
            seam_clear_mm: 15.0,
            seam_lap_mm: 10.0,
            least_seam_lap_mm: 20.0,
            most_seam_lap_mm: 40.0,
            seam_band_mm: 120.0,
            sleeve_side_mm: 2.5,
            sleeve_free_share: 0.5,
            sleeve_far_mm: 20.0,
            sleeve_length_share: 1.2,
            mouth_behind_mm: 5.0,
            mouth_before_mm: 10.0,
            least_tuck_mm: 60.0,
            most_tuck_mm: 150.0,
            spout_before_sleeve_mm: 20.0,
            spout_height_margin_mm: 15.0,
            least_plies: 2,
            paper_per_kg_g_m2: 4.0,
            print_side_mm: 15.0,
            print_fold_mm: 10.0,
            barcode_clear_mm: 8.0,
            repeat_mm: 1.0,
            least_headroom: 0.04,
            most_headroom: 0.12,
            least_fill_ratio: 0.8,
            most_thickness_share: 0.5,
            freeboard_mm: 50.0,
            most_gurley_s: 15.0,
            filling_pressure_kpa: 5.0,
            air_time_share: 0.8,
            pallet_cover_share: 0.62,
            overhang_mm: 25.0,
            binding_share: 0.5,
            pallet_leeway_mm: 5.0,
            handling_kg: 25.0,
        }
    }
}

#[cfg(test)]
mod tests {
    use serde_json::{Value, json};

    use super::*;

    /// Every `least_X` of the card that has a `most_X` is held against it: alone and together with its most.
    #[test]
    fn no_least_lies_above_its_most() {
        let default = serde_json::to_value(Habits::default()).unwrap();
        let fields = default.as_object().unwrap();
        let pairs: Vec<_> = fields
            .keys()
            .filter_map(|least| Some((least, format!("most_{}", least.strip_prefix("least_")?))))
            .filter(|(_, most)| fields.contains_key(most))
            .collect();
        assert_eq!(pairs.len(), Habits::default().ranges().len());
        for (least, most) in pairs {
            let (low, high) = (fields[least].as_f64().unwrap(), fields[&most].as_f64().unwrap());
            let above = f64::midpoint(high, high * 1.5);
            let card = |set: &[(&str, f64)]| {
                let mut card = json!({ "format": HABITS_FORMAT });
                for (field, value) in set {
                    card[*field] = Value::from(*value);
                }
                read_habits(&card.to_string())
            };
            assert!(card(&[(least, high)]).is_ok(), "{least} as much as {most}");
            for set in
                [vec![(least.as_str(), above)], vec![(least.as_str(), above), (&most, high)], vec![(&most, low / 2.0)]]
            {
                let problems = card(&set).unwrap_err();
                assert_eq!(problems.len(), 1, "{set:?}: {problems:?}");
                assert_eq!(problems[0].message.key, "problem.range_reversed");
                assert_eq!(problems[0].field, most);
            }
        }
    }
}

//! Layers on a pallet: how many, how they alternate so that they bind, what they weigh and how far they reach.
//!
//! Layers are whole: as many as height, mass and the card's own number of layers allow. Every second layer lies in
//! another image or another pattern of the same count, whichever binds best: the share of sacks that rest on two or more
//! below. A layer is as thick as a sack pressed between plates. Lower layers settle under those above, so a real
//! stack is lower than this one.

use serde::{Deserialize, Serialize};

use super::pattern::{IMAGES, Layers, Pattern, Spot, layer_count, layers};
use crate::cards::Pallet;
use crate::tolerance::EXACT_MM;

/// Share of its area with which a sack must lie on another for the two to bind: a sliver holds nothing. Assumption, low
/// certainty.
const BINDING_SHARE: f64 = 0.1;

/// A filled sack as it lies in a stack.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Loaded {
    /// Along the sack, mm.
    pub length_mm: f64,
    /// Across it, mm.
    pub width_mm: f64,
    /// Thickness, pressed, mm.
    pub gap_mm: f64,
    /// With what is in it, kg.
    pub mass_kg: f64,
}

/// What ends a stack.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum EndedBy {
    /// The height of pallet and load.
    Height,
    /// The mass that the pallet carries.
    Mass,
    /// The card's number of layers.
    Layers,
    /// No sack fits on the pallet.
    NoRoom,
}

/// How far a stack stands out beyond the pallet, mm; negative where it stays within.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Overhang {
    /// At each of the two ends of the pallet's length.
    pub length_mm: f64,
    /// At each of the two sides.
    pub width_mm: f64,
}

/// Where a sack lies in a layer. Frame: x along the pallet's length, y along its width, from a corner of its top.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Placed {
    /// Its middle.
    pub x_mm: f64,
    /// Its middle.
    pub y_mm: f64,
    /// Quarter turns counter-clockwise, seen from above, from lying along x with the valve end at the greater x. Valve
    /// ends look inwards where they can, so that what leaks stays on the pallet.
    pub quarter_turns: u8,
}

/// One layer of a stack.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Layer {
    /// Which of the stack's patterns.
    pub pattern: usize,
    /// Its underside above the floor, mm.
    pub z_mm: f64,
}

/// How near another count of a layer is: the footprint of a filled sack is known to some millimetres only. In half mm, rounded
/// to the safe side.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Leeway {
    /// How far sizes were looked for that give another count, mm.
    pub looked_mm: f64,
    /// As many sacks go into a layer when they lie longer by up to this, mm; as far as was looked where it is more.
    pub longer_mm: f64,
    /// The same for their width.
    pub wider_mm: f64,
    /// One sack more goes into a layer when they lie shorter by this, mm; none where it is more than was looked.
    pub shorter_mm: Option<f64>,
    /// The same for their width.
    pub narrower_mm: Option<f64>,
}

impl Leeway {
    /// No limit of the habits is larger.
    const FARTHEST_MM: f64 = 50.0;
    const STEP_MM: f64 = 0.5;

    /// Of a sack of which `count` go into a layer.
    fn of(room_mm: [f64; 2], sack: &Loaded, count: usize) -> Self {
        let footprint = [sack.length_mm, sack.width_mm];
        let other = |axis: usize, by: f64| {
            let mut size = footprint;
            size[axis] += by;
            if size[axis] > 0.0 { layer_count(room_mm, size).0 } else { count }
        };
        // The least number of steps with which a layer holds another number; larger sacks are never more.
        let steps = |axis: usize, step: f64, differs: &dyn Fn(usize) -> bool| {
            let all = (Self::FARTHEST_MM / Self::STEP_MM) as u32;
            if !differs(other(axis, f64::from(all) * step)) {
                return None;
            }
            let (mut none, mut some) = (0, all);
            while some - none > 1 {
                let middle = u32::midpoint(none, some);
                *(if differs(other(axis, f64::from(middle) * step)) { &mut some } else { &mut none }) = middle;
            }
            Some(f64::from(some) * Self::STEP_MM)
        };
        let larger = |axis| {
            steps(axis, Self::STEP_MM, &|other| other < count).map_or(Self::FARTHEST_MM, |mm| mm - Self::STEP_MM)
        };
        let smaller = |axis| steps(axis, -Self::STEP_MM, &|other| other > count);
        Self {
            looked_mm: Self::FARTHEST_MM,
            longer_mm: larger(0),
            wider_mm: larger(1),
            shorter_mm: smaller(0),
            narrower_mm: smaller(1),
        }
    }
}

/// A loaded pallet.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Stack {
    /// A sack as it lies in the stack.
    pub sack: Loaded,
    /// Sacks in a layer.
    pub sacks_per_layer: usize,
    /// No layer within the pallet's room holds more than this.
    pub most_per_layer: usize,
    /// Whether the count is proven to be the best there is.
    pub proven: bool,
    /// How near another count is.
    pub leeway: Leeway,
    /// Patterns that the layers lie in, one or two.
    pub patterns: Vec<Vec<Placed>>,
    /// The layers from below.
    pub layers: Vec<Layer>,
    /// What ends the stack.
    pub ended_by: EndedBy,
    /// All sacks.
    pub sacks: usize,
    /// Mass of the sacks, kg.
    pub load_kg: f64,
    /// Mass of sacks and pallet, kg.
    pub gross_mass_kg: f64,
    /// Height of pallet and load, mm.
    pub total_height_mm: f64,
    /// How far the layers stand out.
    pub overhang_mm: Overhang,
    /// Area of a layer's sacks over the area of the pallet's top.
    pub area_used: f64,
    /// Share of the sacks above the lowest layer that rest on two or more below; 1 for a single layer.
    pub binding: f64,
}

/// Ways to stack that are told, at most.
const MOST_WAYS: usize = 6;

/// Stacks sacks on a pallet, in the way that binds best.
///
/// The lengths and the mass of `sack` are finite and positive.
#[must_use]
pub fn stack(pallet: &Pallet, sack: &Loaded) -> Stack {
    let found = layers(pallet.layer_room_mm(), [sack.length_mm, sack.width_mm]);
    let way = ways(&found).into_iter().next().unwrap_or_default();
    stacked(pallet, sack, (&found, Leeway::of(pallet.layer_room_mm(), sack, found.count)), way)
}

/// All ways to stack that differ and hold as many sacks, the one that binds best first: layers that alternate, and layers
/// that all lie alike, one sack square on the other. At least one, at most six.
///
/// The lengths and the mass of `sack` are finite and positive.
#[must_use]
pub fn stacks(pallet: &Pallet, sack: &Loaded) -> Vec<Stack> {
    let found = layers(pallet.layer_room_mm(), [sack.length_mm, sack.width_mm]);
    let mut ways = ways(&found);
    // One at least whose layers lie alike.
    if let Some(alike) = ways.iter().position(|(layers, _)| layers.len() < 2) {
        let way = ways.remove(alike);
        ways.truncate(MOST_WAYS - 1);
        ways.push(way);
        ways.sort_by(|(_, a), (_, b)| b.total_cmp(a));
    } else if ways.is_empty() {
        ways.push(Way::default());
    }
    let leeway = Leeway::of(pallet.layer_room_mm(), sack, found.count);
    ways.into_iter().map(|way| stacked(pallet, sack, (&found, leeway), way)).collect()
}

/// The pattern of the odd layers and that of the even ones, if it is another, and how well they bind.
type Way = (Vec<Pattern>, f64);

fn stacked(pallet: &Pallet, sack: &Loaded, (found, leeway): (&Layers, Leeway), (pair, binding): Way) -> Stack {
    let card = pallet.file();
    let (count, ended_by) = layer_limit(pallet, sack, found.count);
    let layers: Vec<Layer> = (0..count)
        .map(|index| Layer { pattern: index % pair.len().max(1), z_mm: card.height_mm + index as f64 * sack.gap_mm })
        .collect();
    let top = [card.length_mm, card.width_mm];
    let reach = |axis: usize| pair.iter().map(|pattern| pattern.size_mm[axis]).fold(0.0, f64::max);
    let overhang = |axis: usize| if pair.is_empty() { 0.0 } else { (reach(axis) - top[axis]) / 2.0 };
    let sacks = count * found.count;
    let load_kg = sacks as f64 * sack.mass_kg;
    Stack {
        sack: *sack,
        sacks_per_layer: found.count,
        most_per_layer: found.bound,
        proven: found.proven(),
        leeway,
        patterns: pair.iter().take(count).map(|pattern| placed(pattern, top)).collect(),
        ended_by,
        sacks,
        load_kg,
        gross_mass_kg: card.own_mass_kg + load_kg,
        total_height_mm: card.height_mm + count as f64 * sack.gap_mm,
        overhang_mm: Overhang { length_mm: overhang(0), width_mm: overhang(1) },
        area_used: found.count as f64 * sack.length_mm * sack.width_mm / (top[0] * top[1]),
        binding: if count > 1 { binding } else { 1.0 },
        layers,
    }
}

/// Whole layers that height, mass and number allow, and which of them ends the stack.
pub(crate) fn layer_limit(pallet: &Pallet, sack: &Loaded, per_layer: usize) -> (usize, EndedBy) {
    let card = pallet.file();
    if per_layer == 0 {
        return (0, EndedBy::NoRoom);
    }
    let whole = |quotient: f64| (quotient + EXACT_MM).floor().max(0.0) as usize;
    let by_height =
        card.max_total_height_mm.map(|most| (whole((most - card.height_mm) / sack.gap_mm), EndedBy::Height));
    let by_mass = card.max_load_kg.map(|most| (whole(most / (per_layer as f64 * sack.mass_kg)), EndedBy::Mass));
    let by_layers = card.max_layers.map(|most| (most, EndedBy::Layers));
    // The card has one of them at least.
    let least = [by_height, by_mass, by_layers].into_iter().flatten().min_by_key(|(count, _)| *count);
    least.unwrap_or((0, EndedBy::NoRoom))
}

/// All ways, the one that binds best first. Of the images of an upper layer, the one that binds best; layers that differ and
/// bind not at all are no way.
fn ways(found: &Layers) -> Vec<Way> {
    // Alike, every sack rests on one.
    let mut ways: Vec<Way> = found.patterns.iter().map(|pattern| (vec![pattern.clone()], 0.0)).collect();
    for (index, lower) in found.patterns.iter().enumerate() {
        for other in &found.patterns[index..] {
            let mut best: Option<Way> = None;
            for axes in IMAGES {
                let upper = other.mirrored(axes);
                let share = binding(lower, &upper);
                if share > best.as_ref().map_or(0.0, |(_, most)| *most) + EXACT_MM {
                    best = Some((vec![lower.clone(), upper], share));
                }
            }
            ways.extend(best);
        }
    }
    ways.sort_by(|(_, a), (_, b)| b.total_cmp(a));
    ways
}

/// Share of sacks that rest on two or more below, in two layers that alternate: the one above the other and the other way
/// round. Both lie with their middles over each other.
fn binding(a: &Pattern, b: &Pattern) -> f64 {
    let sacks = a.spots.len() + b.spots.len();
    let bound = bound_sacks(a, b) + bound_sacks(b, a);
    bound as f64 / sacks as f64
}

fn bound_sacks(above: &Pattern, below: &Pattern) -> usize {
    let middle = |pattern: &Pattern, axis: usize| pattern.size_mm[axis] / 2.0;
    let shift = [0, 1].map(|axis| middle(below, axis) - middle(above, axis));
    let rests = |spot: &&Spot| {
        let area = spot.size_mm[0] * spot.size_mm[1];
        let under = below.spots.iter().filter(|other| {
            let common = |axis: usize| {
                let from = spot.corner_mm[axis] + shift[axis];
                let to = (from + spot.size_mm[axis]).min(other.corner_mm[axis] + other.size_mm[axis]);
                (to - from.max(other.corner_mm[axis])).max(0.0)
            };
            common(0) * common(1) >= BINDING_SHARE * area
        });
        under.count() > 1
    };
    above.spots.iter().filter(rests).count()
}

/// A pattern in the middle of the pallet.
fn placed(pattern: &Pattern, top: [f64; 2]) -> Vec<Placed> {
    let place = |spot: &Spot| {
        let from_middle = |axis: usize| spot.corner_mm[axis] + (spot.size_mm[axis] - pattern.size_mm[axis]) / 2.0;
        let [x, y] = [from_middle(0), from_middle(1)];
        let quarter_turns = match (spot.turned, x > EXACT_MM, y > EXACT_MM) {
            (false, false, _) => 0,
            (true, _, false) => 1,
            (false, true, _) => 2,
            (true, _, true) => 3,
        };
        Placed { x_mm: top[0] / 2.0 + x, y_mm: top[1] / 2.0 + y, quarter_turns }
    };
    pattern.spots.iter().map(place).collect()
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::cards::{PALLET_FORMAT, PalletFile};
    use crate::check::support;

    fn card(size: [f64; 2]) -> PalletFile {
        PalletFile {
            format: PALLET_FORMAT.into(),
            name: "pallet".into(),
            length_mm: size[0],
            width_mm: size[1],
            height_mm: 150.0,
            own_mass_kg: 28.0,
            max_total_height_mm: Some(1450.0),
            max_load_kg: Some(1250.0),
            max_overhang_mm: 0.0,
            max_layers: Some(20),
        }
    }

    fn pallet(file: PalletFile) -> Pallet {
        Pallet::new(file).unwrap()
    }

    fn sack(length_mm: f64, width_mm: f64) -> Loaded {
        Loaded { length_mm, width_mm, gap_mm: 120.0, mass_kg: 25.1 }
    }

    #[test]
    fn a_stack_of_five_to_a_layer_ends_by_its_mass_and_binds() {
        let stack = stack(&pallet(card([1200.0, 1000.0])), &sack(600.0, 400.0));
        // 1250 / (5 x 25.1) = 9.96; the height would do for 10.
        assert_eq!((stack.sacks_per_layer, stack.layers.len(), stack.ended_by), (5, 9, EndedBy::Mass));
        assert_eq!((stack.sacks, stack.total_height_mm), (45, 150.0 + 9.0 * 120.0));
        assert!((stack.gross_mass_kg - (28.0 + 45.0 * 25.1)).abs() < 1e-9);
        assert_eq!((stack.proven, stack.area_used), (true, 1.0));
        assert_eq!((stack.patterns.len(), stack.binding), (2, 1.0));
        assert_eq!(stack.layers[1], Layer { pattern: 1, z_mm: 270.0 });
    }

    #[test]
    fn columns_do_not_bind() {
        let stack = stack(&pallet(card([1200.0, 800.0])), &sack(600.0, 400.0));
        assert_eq!((stack.sacks_per_layer, stack.binding, stack.patterns.len()), (4, 0.0, 1));
    }

    #[test]
    fn overhang_widens_the_layer_and_is_told_for_ends_and_sides() {
        let sack = sack(620.0, 410.0);
        let narrow = stack(&pallet(card([1200.0, 800.0])), &sack);
        let wide = stack(&pallet(PalletFile { max_overhang_mm: 20.0, ..card([1200.0, 800.0]) }), &sack);
        assert_eq!((narrow.sacks_per_layer, wide.sacks_per_layer), (2, 4));
        assert!((wide.overhang_mm.length_mm - 20.0).abs() < 1e-9 && (wide.overhang_mm.width_mm - 10.0).abs() < 1e-9);
    }

    #[test]
    fn leeway_tells_how_near_another_count_is() {
        // Two by two of 595 x 397 on 1200 x 800: 5 mm to spare along, 3 across. Five would go in at 440 x 360 or so.
        let leeway = stack(&pallet(card([1200.0, 800.0])), &sack(595.0, 397.0)).leeway;
        assert_eq!((leeway.longer_mm, leeway.wider_mm), (5.0, 3.0));
        assert_eq!((leeway.shorter_mm, leeway.narrower_mm), (None, None));
        // 0.3 mm too long for it.
        let leeway = stack(&pallet(card([1200.0, 800.0])), &sack(600.3, 400.0)).leeway;
        assert_eq!((leeway.shorter_mm, leeway.wider_mm), (Some(0.5), 0.0));
    }

    #[test]
    fn a_sack_too_large_or_too_heavy_leaves_the_pallet_empty() {
        let none = stack(&pallet(card([500.0, 300.0])), &sack(600.0, 400.0));
        assert_eq!((none.sacks, none.ended_by, none.total_height_mm), (0, EndedBy::NoRoom, 150.0));
        let heavy = stack(&pallet(card([1200.0, 1000.0])), &Loaded { mass_kg: 300.0, ..sack(600.0, 400.0) });
        assert_eq!((heavy.sacks, heavy.ended_by, heavy.patterns.len()), (0, EndedBy::Mass, 0));
    }

    #[test]
    fn other_ways_to_stack_hold_as_many_and_bind_less() {
        let (pallet, sack) = (pallet(card([1200.0, 1000.0])), sack(580.0, 400.0));
        let ways = stacks(&pallet, &sack);
        assert_eq!(ways[0], stack(&pallet, &sack));
        assert!(ways.len() > 1 && ways.len() <= MOST_WAYS, "{}", ways.len());
        assert!(ways.windows(2).all(|pair| pair[0].binding >= pair[1].binding && pair[0].patterns != pair[1].patterns));
        assert!(ways.iter().all(|way| way.sacks == ways[0].sacks));
        assert!(ways.iter().any(|way| way.patterns.len() == 1), "one with all layers alike");
        assert_eq!(stacks(&pallet, &self::sack(3000.0, 2000.0)).len(), 1);
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(1500))]

        #[test]
        fn a_stack_keeps_to_its_card_and_holds_all_that_it_allows(
            pallet in support::valid_pallet(), sack in support::filled_sack()
        ) {
            let file = pallet.file();
            let Loaded { length_mm: length, width_mm: width, gap_mm: gap, mass_kg: mass } = sack;
            let stack = stack(&pallet, &sack);
            let layers = stack.layers.len();
            let allowed = |layers: usize| {
                let n = layers as f64;
                file.max_total_height_mm.is_none_or(|most| 150.0 + n * gap <= most + 1e-6)
                    && file.max_load_kg.is_none_or(|most| n * stack.sacks_per_layer as f64 * mass <= most + 1e-6)
                    && file.max_layers.is_none_or(|most| layers <= most)
            };
            prop_assert!(allowed(layers));
            prop_assert!(stack.sacks_per_layer == 0 || !allowed(layers + 1), "{stack:?}");
            prop_assert_eq!(stack.ended_by == EndedBy::NoRoom, stack.sacks_per_layer == 0);
            prop_assert_eq!(stack.sacks, layers * stack.sacks_per_layer);
            prop_assert!((0.0..=1.0).contains(&stack.binding));
            let of = |longer: f64, wider: f64| layer_count(pallet.layer_room_mm(), [length + longer, width + wider]).0;
            let (leeway, count) = (stack.leeway, stack.sacks_per_layer);
            for (larger, [along, across]) in [(leeway.longer_mm, [1.0, 0.0]), (leeway.wider_mm, [0.0, 1.0])] {
                let by = |mm: f64| of(mm * along, mm * across);
                prop_assert!(by(larger) >= count && (larger >= 50.0 || by(larger + 0.5) < count), "{leeway:?}");
            }
            for (smaller, [along, across]) in [(leeway.shorter_mm, [-1.0, 0.0]), (leeway.narrower_mm, [0.0, -1.0])] {
                let by = |mm: f64| of(mm * along, mm * across);
                prop_assert!(smaller.is_none_or(|mm| by(mm) > count && by(mm - 0.5) <= count), "{leeway:?}");
            }
            prop_assert!(stack.layers.iter().all(|layer| layer.pattern < stack.patterns.len()));
            for placed in stack.patterns.iter().flatten() {
                let [half_x, half_y] = match placed.quarter_turns {
                    0 | 2 => [length / 2.0, width / 2.0],
                    _ => [width / 2.0, length / 2.0],
                };
                let over = file.max_overhang_mm + 1e-6;
                prop_assert!(placed.x_mm - half_x >= -over && placed.x_mm + half_x <= file.length_mm + over);
                prop_assert!(placed.y_mm - half_y >= -over && placed.y_mm + half_y <= file.width_mm + over);
                // The valve end is no nearer to the edge than the other.
                let [ahead_x, ahead_y] = [[1.0, 0.0], [0.0, 1.0], [-1.0, 0.0], [0.0, -1.0]][usize::from(placed.quarter_turns)];
                let inwards = (file.length_mm / 2.0 - placed.x_mm) * ahead_x + (file.width_mm / 2.0 - placed.y_mm) * ahead_y;
                prop_assert!(inwards >= -1e-6);
            }
        }
    }
}

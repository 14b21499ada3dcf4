//! Sizes for an order: which face width, length and bottom width give a product the sack that is made of least paper, stacks
//! best and passes the checks.
//!
//! **Method.** Every size of the order's grids is a candidate; where the works makes tubes in steps, lengths are those whose
//! tube is made. A quick estimate ([`estimate`]) tells its capacity; those that
//! leave the headroom asked for become sheets ([`follow`](self) tells what follows the size), are held against every rule,
//! with the line and the works of the order, and against the pallet by their estimated footprint. They are ranked by a
//! score of paper, pallet and findings. The best are then confirmed: the solver fills and presses them, and the sheet is
//! checked in full. What an estimate had wrong moves in the ranking, and the next candidate moves up.
//!
//! It goes in steps, for progress and cancel: [`Sizing::screen`] some candidates at a time, [`Sizing::confirm_next`] one. The
//! table can be read at any time.
//!
//! | file | what is in it |
//! | --- | --- |
//! | `order` | the order file |
//! | `follow` | a sheet in another size |
//! | `estimate` | the filled shape, quickly |
//! | `table`, `table_limp` | the estimate's coefficients, written by its test |

pub mod estimate;
mod follow;
mod order;
mod table;
mod table_limp;

use serde::Serialize;

use crate::check::{Against, survey};
use crate::figures::{PasteHabits, figures};
use crate::fill::{
    Bottoms, Depth, Detail, FillError, HeadroomRange, Recall, Settings, Sizes, Solver, StudySettings, Watch,
    stacked_on, study_on,
};
use crate::finding::{Change, Finding, Message, Severity, Topic};
use crate::pallet::{EndedBy, Loaded, Stack, layer_count, layer_limit, stack};
use crate::sack::Sack;
use crate::sheet::{Contents, Sheet};
use estimate::Footprint;
use follow::{Size, changes, follow};

pub use order::{
    Grid, MOST_CANDIDATES, ORDER_FORMAT, ORDER_KIND, Order, OrderFile, Part, ShareRange, Weights, read_order,
};

const L_PER_M3: f64 = 1e3;
const KG_PER_G: f64 = 1e-3;

/// How many of the best candidates are confirmed, unless told otherwise.
pub const CONFIRMED: usize = 10;

/// How far a screening has come.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Progress {
    /// Candidates screened.
    pub screened: usize,
    /// All candidates.
    pub total: usize,
    /// Candidates kept.
    pub kept: usize,
}

/// Why candidates were left out.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
pub struct LeftOut {
    /// The product leaves less headroom than asked for, or does not go in.
    pub too_small: usize,
    /// It leaves more.
    pub too_large: usize,
    /// No such sack can exist: pockets or bottoms would meet.
    pub not_a_sack: usize,
    /// Outside the range of the estimate.
    pub not_estimated: usize,
}

impl LeftOut {
    /// Whether a headroom is one that was asked for; counts it where not.
    fn admit(&mut self, headroom: f64, asked: ShareRange) -> bool {
        if headroom < asked.min {
            self.too_small += 1;
        } else if headroom > asked.max {
            self.too_large += 1;
        }
        asked.has(headroom)
    }
}

/// How many findings, cautions left out.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Counts {
    /// To stop at.
    pub stop: usize,
    /// To look at.
    pub look: usize,
    /// That hold.
    pub good: usize,
}

/// The worst finding.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Worst {
    /// Its rule.
    pub rule: &'static str,
    /// How much it weighs.
    pub severity: Severity,
    /// What was found.
    pub message: Message,
}

/// What of a candidate stands on the pallet.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct OnPallet {
    /// Sacks in a layer.
    pub sacks_per_layer: usize,
    /// Whether no layer holds more.
    pub proven: bool,
    /// Layers.
    pub layers: usize,
    /// What ends the stack.
    pub ended_by: EndedBy,
    /// All sacks.
    pub sacks: usize,
    /// The product on the pallet, kg.
    pub product_kg: f64,
    /// Area of a layer's sacks over the area of the pallet's top.
    pub area_used: f64,
    /// Height of pallet and load, mm.
    pub total_height_mm: f64,
    /// Share of the sacks that rest on two or more below; `None` before it is confirmed.
    pub binding: Option<f64>,
}

/// A candidate.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Row {
    /// From 1, the best.
    pub rank: usize,
    /// What it is ranked by, among those with as many findings to stop at: the less, the better ([`Weights`]).
    pub score: f64,
    /// Face width.
    pub face_width_mm: f64,
    /// Length.
    pub length_mm: f64,
    /// Width of the valve bottom.
    pub bottom_width_mm: f64,
    /// The fields in which its sheet differs from the order's.
    pub set: Vec<Change>,
    /// Paper in a sack, g.
    pub paper_g: f64,
    /// Paper to be bought for it, with the works' waste, g.
    pub paper_bought_g: f64,
    /// Capacity with stiff bottoms, l.
    pub capacity_l: f64,
    /// What the filling leaves of it, as a share.
    pub headroom: f64,
    /// The filled sack as it lies in a stack.
    pub filled: Option<Loaded>,
    /// What stands on the pallet; `None` without a pallet.
    pub on_pallet: Option<OnPallet>,
    /// Findings.
    pub findings: Counts,
    /// The worst of them, if it is not good.
    pub worst: Option<Worst>,
    /// No other candidate without a finding to stop at has both less paper and more product on the pallet.
    pub on_front: bool,
    /// Whether the solver has confirmed it; else it is estimated.
    pub confirmed: bool,
    /// Whether its capacity and what stands on the pallet are the solver's already.
    #[serde(skip)]
    is_stacked: bool,
}

/// All candidates that are kept, best first.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Table {
    /// How far the screening has come.
    pub progress: Progress,
    /// Why candidates were left out.
    pub left_out: LeftOut,
    /// Largest error of an estimated capacity, as a share.
    pub capacity_error: f64,
    /// Largest error of an estimated length, width or thickness, as a share.
    pub pressed_error: f64,
    /// The same where the bottoms lean or little is filled in.
    pub limp_error: f64,
    /// The candidates.
    pub rows: Vec<Row>,
}

/// Sizing in steps.
#[derive(Clone, Debug)]
pub struct Sizing {
    order: Order,
    sizes: Vec<Size>,
    screened: usize,
    left_out: LeftOut,
    rows: Vec<Row>,
    confirm: usize,
    detail: Detail,
    /// Made when the first candidate is confirmed.
    solver: Option<Solver>,
    /// What the solver has found of the candidate that is being confirmed.
    recall: Recall,
}

impl Sizing {
    /// For an order, with nothing screened yet; the best `confirm` are to be confirmed, on a mesh of that detail.
    #[must_use]
    pub fn new(order: Order, confirm: usize, detail: Detail) -> Self {
        Self {
            sizes: order.sizes(),
            order,
            screened: 0,
            left_out: LeftOut::default(),
            rows: Vec::new(),
            confirm,
            detail,
            solver: None,
            recall: Recall::default(),
        }
    }

    /// The order.
    #[must_use]
    pub const fn order(&self) -> &Order {
        &self.order
    }

    /// How far it has come.
    #[must_use]
    pub const fn progress(&self) -> Progress {
        Progress { screened: self.screened, total: self.sizes.len(), kept: self.rows.len() }
    }

    /// Why candidates were left out so far.
    #[must_use]
    pub const fn left_out(&self) -> LeftOut {
        self.left_out
    }

    /// Screens the next `chunk` candidates.
    pub fn screen(&mut self, chunk: usize) -> Progress {
        let end = self.sizes.len().min(self.screened.saturating_add(chunk));
        for index in self.screened..end {
            self.screen_one(self.sizes[index]);
        }
        self.screened = end;
        self.progress()
    }

    fn screen_one(&mut self, size: Size) {
        let base = self.order.base();
        let contents = &self.order.file().contents;
        let deeper = base.plain_end.bottom_width_mm - base.valve_end.bottom_width_mm;
        let sizes = Sizes {
            face_width: size.face_width_mm,
            length: size.length_mm,
            bottoms: [size.bottom_width_mm, size.bottom_width_mm + deeper],
        };
        let Some(capacity_l) = estimate::capacity_l(sizes, Bottoms::Stiff) else {
            self.left_out.not_estimated += 1;
            return;
        };
        let headroom = 1.0 - filling_l(contents) / capacity_l;
        if !self.left_out.admit(headroom, self.order.file().headroom) {
            return;
        }
        let Ok(sheet) = Sheet::new(follow(base, size, self.order.line())) else {
            self.left_out.not_a_sack += 1;
            return;
        };
        let pressed = estimate::pressed(sizes, settled_l(contents) / capacity_l);
        if pressed.is_none() && self.order.pallet().is_some() {
            self.left_out.not_estimated += 1;
            return;
        }
        let sack = Sack::new(sheet);
        let figures = figures(&sack, None, &PasteHabits::default());
        let mass_kg = contents.mass_kg + figures.empty_sack_mass_g * KG_PER_G;
        let filled =
            pressed.map(|Footprint { gap_mm, length_mm, width_mm }| Loaded { length_mm, width_mm, gap_mm, mass_kg });
        let found = survey(&sack, &self.against());
        let paper_g = figures.paper_per_1000_kg;
        self.rows.push(Row {
            rank: 0,
            score: 0.0,
            face_width_mm: size.face_width_mm,
            length_mm: size.length_mm,
            bottom_width_mm: size.bottom_width_mm,
            set: changes(base, sack.file()),
            paper_g,
            paper_bought_g: paper_g * self.order.works().map_or(1.0, crate::cards::Works::gross_factor),
            capacity_l,
            headroom,
            filled,
            on_pallet: self.order.pallet().zip(filled).map(|(pallet, sack)| {
                let room = pallet.layer_room_mm();
                let (count, bound) = layer_count(room, [sack.length_mm, sack.width_mm]);
                let (layers, ended_by) = layer_limit(pallet, &sack, count);
                let card = pallet.file();
                OnPallet {
                    sacks_per_layer: count,
                    proven: count == bound,
                    layers,
                    ended_by,
                    sacks: count * layers,
                    product_kg: (count * layers) as f64 * contents.mass_kg,
                    area_used: count as f64 * sack.length_mm * sack.width_mm / (card.length_mm * card.width_mm),
                    total_height_mm: card.height_mm + layers as f64 * sack.gap_mm,
                    binding: None,
                }
            }),
            findings: counts(&found),
            worst: worst(&found),
            on_front: false,
            confirmed: false,
            is_stacked: false,
        });
    }

    fn against(&self) -> Against<'_> {
        Against { line: self.order.line(), works: self.order.works(), ..Against::default() }
    }

    /// Goes on with the best candidate that is only estimated: first its capacity and what stands on the pallet, by which
    /// most of those that had been estimated too well fall behind, then, if it is still the best, all that the checks read,
    /// and the checks: that confirms it. One whose headroom turns out not to be as asked is left out. `false` when the best
    /// are confirmed.
    ///
    /// # Errors
    /// [`FillError::Cancelled`] when `watch` breaks off: the table has not changed then, and the next call goes on behind
    /// the last of the solver's [`steps`](Self::steps).
    pub fn confirm_next(&mut self, watch: &mut Watch<'_>) -> Result<bool, FillError> {
        self.rank();
        let Some(index) = self.rows.iter().take(self.confirm).position(|row| !row.confirmed) else { return Ok(false) };
        let row = &self.rows[index];
        let size =
            Size { face_width_mm: row.face_width_mm, length_mm: row.length_mm, bottom_width_mm: row.bottom_width_mm };
        // It was a sheet when it was screened.
        let Ok(sheet) = Sheet::new(follow(self.order.base(), size, self.order.line())) else { return Ok(false) };
        let sack = Sack::new(sheet);
        let is_stacked = row.is_stacked;
        let settings = Settings { detail: self.detail, ..Settings::default() };
        let solver = self.solver.get_or_insert_with(|| Solver::new(&sack, settings));
        let contents = &self.order.file().contents;
        let asked = self.order.file().headroom;
        let (capacity_l, filled, studied) = if is_stacked {
            let headroom = HeadroomRange { least: asked.min, most: asked.max };
            let settings = StudySettings { headroom, depth: Depth::Checks, ..StudySettings::default() };
            let studied = study_on(solver, &mut self.recall, &sack, &settings, watch)?;
            (studied.capacity.stiff_l, Loaded::of(&sack, &studied), Some(studied))
        } else {
            let (capacity_l, pressed) = stacked_on(solver, &mut self.recall, &sack, watch)?;
            (capacity_l, pressed.map(|pressed| Loaded::at_rest(&sack, contents.mass_kg, &pressed)), None)
        };
        let headroom = 1.0 - filling_l(contents) / capacity_l;
        if !self.left_out.admit(headroom, asked) {
            self.rows.remove(index);
            return Ok(true);
        }
        let stack = self.order.pallet().zip(filled).map(|(pallet, filled)| stack(pallet, &filled));
        let on_pallet = stack.as_ref().map(|stack| OnPallet::of(stack, contents.mass_kg));
        let found = studied.as_ref().map(|studied| {
            let computed = Against { stack: stack.as_ref(), filled: Some(studied), ..self.against() };
            survey(&sack, &Against { pallet: self.order.pallet(), ..computed })
        });
        let row = &mut self.rows[index];
        row.capacity_l = capacity_l;
        row.headroom = headroom;
        row.filled = filled;
        row.on_pallet = on_pallet;
        row.is_stacked = true;
        if let Some(found) = found {
            row.findings = counts(&found);
            row.worst = worst(&found);
            row.confirmed = true;
        }
        Ok(true)
    }

    /// Questions that the solver has answered so far.
    #[must_use]
    pub const fn steps(&self) -> usize {
        self.recall.steps()
    }

    /// All candidates kept so far, best first.
    #[must_use]
    pub fn ranked(&mut self) -> &[Row] {
        self.rank();
        &self.rows
    }

    /// The same with what there is to say of them all.
    #[must_use]
    pub fn table(&mut self) -> Table {
        self.rank();
        Table {
            progress: self.progress(),
            left_out: self.left_out,
            capacity_error: estimate::CAPACITY_ERROR,
            pressed_error: estimate::PRESSED_ERROR,
            limp_error: estimate::LIMP_ERROR,
            rows: self.rows.clone(),
        }
    }

    /// Scores, sorts, numbers, and marks the front.
    fn rank(&mut self) {
        let weights = self.order.file().weights;
        let is_stacked = self.order.pallet().is_some();
        let sound = |row: &&Row| row.findings.stop == 0;
        let least_paper = self.rows.iter().filter(sound).map(|row| row.paper_g).fold(f64::INFINITY, f64::min);
        let most_kg = self.rows.iter().filter(sound).filter_map(Row::product_kg).fold(0.0, f64::max);
        for row in &mut self.rows {
            let paper = if least_paper.is_finite() { row.paper_g / least_paper } else { 1.0 };
            let pallet = match (is_stacked, row.product_kg()) {
                (false, _) => 0.0,
                (true, Some(kg)) if kg > 0.0 => most_kg / kg,
                (true, _) => NO_STACK,
            };
            row.score = weights.paper * paper + weights.pallet * pallet + weights.look * row.findings.look as f64;
        }
        self.rows.sort_by(|a, b| {
            let sizes = |row: &Row| row.face_width_mm + row.length_mm + row.bottom_width_mm;
            a.findings.stop.cmp(&b.findings.stop).then(a.score.total_cmp(&b.score)).then(sizes(a).total_cmp(&sizes(b)))
        });
        for (index, row) in self.rows.iter_mut().enumerate() {
            row.rank = index + 1;
            row.on_front = false;
        }
        // By rising paper, those that put more on the pallet than all before.
        let mut order: Vec<usize> = (0..self.rows.len()).filter(|index| self.rows[*index].findings.stop == 0).collect();
        let key = |index: &usize| (self.rows[*index].paper_g, -self.rows[*index].product_kg().unwrap_or(0.0));
        order.sort_by(|a, b| {
            let ((paper_a, kg_a), (paper_b, kg_b)) = (key(a), key(b));
            paper_a.total_cmp(&paper_b).then(kg_a.total_cmp(&kg_b))
        });
        let mut most = f64::NEG_INFINITY;
        for index in order {
            let kg = self.rows[index].product_kg().unwrap_or(0.0);
            if kg > most {
                most = kg;
                self.rows[index].on_front = true;
            }
        }
    }
}

/// What stands in a score for the pallet of a sack that does not stack at all: far more than any that does.
const NO_STACK: f64 = 1e3;

impl Row {
    fn product_kg(&self) -> Option<f64> {
        self.on_pallet.map(|on_pallet| on_pallet.product_kg)
    }
}

impl OnPallet {
    fn of(stack: &Stack, contents_kg: f64) -> Self {
        Self {
            sacks_per_layer: stack.sacks_per_layer,
            proven: stack.proven,
            layers: stack.layers.len(),
            ended_by: stack.ended_by,
            sacks: stack.sacks,
            product_kg: stack.sacks as f64 * contents_kg,
            area_used: stack.area_used,
            total_height_mm: stack.total_height_mm,
            binding: Some(stack.binding),
        }
    }
}

/// Volume of the contents at the moment of filling, l.
fn filling_l(contents: &Contents) -> f64 {
    contents.mass_kg / contents.aerated_density_kg_m3.unwrap_or(contents.bulk_density_kg_m3) * L_PER_M3
}

/// Volume of the contents settled in the sack, l.
fn settled_l(contents: &Contents) -> f64 {
    contents.mass_kg / contents.bulk_density_kg_m3 * L_PER_M3
}

fn counts(findings: &[Finding]) -> Counts {
    let count = |severity| {
        findings.iter().filter(|finding| finding.topic != Topic::Care && finding.severity == severity).count()
    };
    Counts { stop: count(Severity::Stop), look: count(Severity::Look), good: count(Severity::Good) }
}

fn worst(findings: &[Finding]) -> Option<Worst> {
    let ill = findings.iter().filter(|finding| finding.topic != Topic::Care && finding.severity != Severity::Good);
    let worst = ill.min_by_key(|finding| finding.severity)?;
    Some(Worst { rule: worst.rule, severity: worst.severity, message: worst.message.clone() })
}

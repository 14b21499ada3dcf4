//! Everything about a filled sack in one go: capacities, lying and pressed as filled and settled, and which length or face
//! width would leave the headroom asked for.
//!
//! The lengths that cure are found on the solver itself, by secants with warm starts, then in whole millimetres: the
//! nearest that does.

use super::figures::{Filling, worst};
use super::filled::{Amount, AtRest, Capacities, Content, Filled, Headroom, HeadroomRange, Upright};
use super::mesh::Sizes;
use super::recall::Recall;
use super::result::{FillError, Trust};
use super::solve::{Bottoms, EMPTIEST, FULLEST, Solver, Watch};
use super::stand::LIMPEST;
use crate::sack::Sack;
use crate::sheet::{Contents, Sheet, SheetFile};

/// What to study.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StudySettings {
    /// What the bottoms are taken to be.
    pub bottoms: Bottoms,
    /// How much goes in.
    pub filling: Filling,
    /// How much headroom the filling should leave.
    pub headroom: HeadroomRange,
    /// How much of it.
    pub depth: Depth,
}

/// How much of a filled sack is studied; what is not is `None`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Depth {
    /// All that the checks read: also the sack hanging, lying where it is not pressed, and lengths that cure.
    Checks,
    /// Everything.
    Whole,
}

impl Default for StudySettings {
    fn default() -> Self {
        Self {
            bottoms: Bottoms::Stiff,
            filling: Filling::Contents,
            headroom: HeadroomRange::default(),
            depth: Depth::Whole,
        }
    }
}

/// What only a stack asks for: the capacity with stiff bottoms in l, and the contents settled in the sack and pressed.
/// `None` where they come to no rest, or are too much or too little for the solver.
///
/// # Errors
/// [`FillError::NoContents`] without contents; [`FillError::Cancelled`] when `watch` breaks off, as for [`study_on`].
pub(crate) fn stacked_on(
    solver: &mut Solver,
    recall: &mut Recall,
    sack: &Sack,
    watch: &mut Watch<'_>,
) -> Result<(f64, Option<AtRest>), FillError> {
    solver.set_sack(sack);
    recall.turn_to(solver);
    let capacity_l = recall.capacity(solver, Bottoms::Stiff, watch)?.shape.volume_l;
    let volume_l = Filling::Contents.volume_l(sack, capacity_l)?;
    let contents = sack.file().contents.as_ref().ok_or(FillError::NoContents)?;
    let settled_l = settled_l(contents, volume_l);
    if !(EMPTIEST..=FULLEST).contains(&(settled_l / capacity_l)) {
        return Ok((capacity_l, None));
    }
    match recall.pressed(solver, (Bottoms::Stiff, settled_l), watch) {
        Ok(pressed) => Ok((capacity_l, Some(AtRest::from(&pressed)))),
        Err(FillError::BottomsStandOut { .. }) => Ok((capacity_l, None)),
        Err(error) => Err(error),
    }
}

/// What a volume filled in l settles to.
fn settled_l(contents: &Contents, volume_l: f64) -> f64 {
    let aerated = contents.aerated_density_kg_m3.unwrap_or(contents.bulk_density_kg_m3);
    volume_l * aerated / contents.bulk_density_kg_m3
}

/// Secants, and steps of a millimetre, at most.
const SECANTS: usize = 12;
const STEPS: usize = 4;
/// How near a secant comes, mm, before whole millimetres are tried.
const NEAR_MM: f64 = 0.2;

/// Studies a sack; `solver` goes over to it and keeps its answers as starts for the next.
///
/// A filling that is too much for the sack is no error, and neither is a sheet without contents: what can't be computed
/// is left out.
///
/// # Errors
/// [`FillError::Cancelled`] when `watch` breaks off.
pub fn study(
    solver: &mut Solver,
    sack: &Sack,
    settings: &StudySettings,
    watch: &mut Watch<'_>,
) -> Result<Filled, FillError> {
    study_on(solver, &mut Recall::default(), sack, settings, watch)
}

/// The same in parts: after `watch` has broken off, the next call with the same `recall` goes on where it was.
///
/// # Errors
/// [`FillError::Cancelled`] when `watch` breaks off.
pub fn study_on(
    solver: &mut Solver,
    recall: &mut Recall,
    sack: &Sack,
    settings: &StudySettings,
    watch: &mut Watch<'_>,
) -> Result<Filled, FillError> {
    let bottoms = settings.bottoms;
    solver.set_sack(sack);
    recall.turn_to(solver);
    let free = recall.capacity(solver, Bottoms::Free, watch)?;
    let stiff = recall.capacity(solver, Bottoms::Stiff, watch)?;
    let chosen = match bottoms {
        Bottoms::Free => &free,
        Bottoms::Stiff => &stiff,
    };
    let capacity_l = chosen.shape.volume_l;
    let mut study = Study { solver, recall, bottoms, depth: settings.depth, capacity_l, trust: chosen.trust, watch };
    study.trust = worst(worst(study.trust, &free.trust), &stiff.trust);
    let content = match settings.filling.volume_l(sack, study.capacity_l) {
        Ok(volume_l) => Some(study.content(sack, volume_l, settings.headroom)?),
        Err(FillError::NoContents) => None,
        Err(error) => return Err(error),
    };
    let capacity = Capacities { stiff_l: stiff.shape.volume_l, free_l: free.shape.volume_l };
    Ok(Filled { bottoms, capacity, content, trust: study.trust })
}

struct Study<'a, 'w> {
    solver: &'a mut Solver,
    recall: &'a mut Recall,
    bottoms: Bottoms,
    depth: Depth,
    capacity_l: f64,
    trust: Trust,
    watch: &'a mut Watch<'w>,
}

impl Study<'_, '_> {
    fn content(&mut self, sack: &Sack, volume_l: f64, asked: HeadroomRange) -> Result<Content, FillError> {
        let mut filling = Amount { volume_l, ratio: volume_l / self.capacity_l, lying: None, pressed: None };
        if self.depth == Depth::Whole || sack.file().contents.is_none() {
            filling = self.amount(volume_l)?;
        }
        let (mut mass_kg, mut settled) = (None, None);
        if let Some(contents) = &sack.file().contents {
            let aerated = contents.aerated_density_kg_m3.unwrap_or(contents.bulk_density_kg_m3);
            mass_kg = Some(volume_l * aerated * 1e-3);
            let settled_l = settled_l(contents, volume_l);
            settled = Some(if settled_l == volume_l && self.depth == Depth::Whole {
                filling
            } else {
                self.amount(settled_l)?
            });
        }
        let (mut standing, mut hanging) = (None, None);
        if self.depth == Depth::Whole && (LIMPEST..=FULLEST).contains(&filling.ratio) {
            let found = self.recall.standing(self.solver, (self.bottoms, volume_l), self.watch)?;
            standing = found.trust.converged.then(|| Upright::from(&found));
        }
        if self.depth >= Depth::Checks && (EMPTIEST..=FULLEST).contains(&filling.ratio) {
            let found = self.recall.hanging(self.solver, (self.bottoms, volume_l), self.watch)?;
            self.trust = worst(self.trust, &found.trust);
            hanging = found.trust.converged.then(|| Upright::from(&found));
        }
        let headroom = self.headroom(sack, volume_l, asked)?;
        Ok(Content { mass_kg, filling, settled, standing, hanging, headroom })
    }

    fn amount(&mut self, volume_l: f64) -> Result<Amount, FillError> {
        let ratio = volume_l / self.capacity_l;
        let mut amount = Amount { volume_l, ratio, lying: None, pressed: None };
        if !(EMPTIEST..=FULLEST).contains(&ratio) {
            return Ok(amount);
        }
        if self.depth == Depth::Whole {
            amount.lying = Some(self.lying(volume_l)?);
        }
        match self.recall.pressed(self.solver, (self.bottoms, volume_l), self.watch) {
            Ok(pressed) => {
                self.trust = worst(self.trust, &pressed.trust);
                amount.pressed = Some(AtRest::from(&pressed));
            }
            Err(FillError::BottomsStandOut { .. }) if self.depth == Depth::Checks => {
                amount.lying = Some(self.lying(volume_l)?);
            }
            Err(FillError::BottomsStandOut { .. }) => {}
            Err(error) => return Err(error),
        }
        Ok(amount)
    }

    fn lying(&mut self, volume_l: f64) -> Result<AtRest, FillError> {
        let lying = self.recall.lying(self.solver, (self.bottoms, volume_l), self.watch)?;
        self.trust = worst(self.trust, &lying.trust);
        Ok(AtRest::from(&lying))
    }

    fn headroom(&mut self, sack: &Sack, volume_l: f64, asked: HeadroomRange) -> Result<Headroom, FillError> {
        let share = 1.0 - volume_l / self.capacity_l;
        let mut headroom = Headroom { share, asked, length_mm: None, face_width_mm: None };
        if self.depth >= Depth::Checks
            && !asked.has(share)
            && asked.least <= asked.most
            && asked.most < 1.0
            && share.is_finite()
        {
            let mut search = Search {
                solver: self.solver,
                recall: self.recall,
                bottoms: self.bottoms,
                file: sack.file(),
                volume_l,
                asked,
                watch: self.watch,
            };
            headroom.length_mm = search.nearest(share, Along::Length)?;
            headroom.face_width_mm = search.nearest(share, Along::FaceWidth)?;
        }
        Ok(headroom)
    }
}

/// Which length is changed.
#[derive(Clone, Copy, PartialEq)]
enum Along {
    Length,
    FaceWidth,
}

struct Search<'a, 'w> {
    solver: &'a Solver,
    recall: &'a mut Recall,
    bottoms: Bottoms,
    file: &'a SheetFile,
    volume_l: f64,
    asked: HeadroomRange,
    watch: &'a mut Watch<'w>,
}

impl Search<'_, '_> {
    /// The whole mm nearest to the present length whose headroom lies in the range; `share` is the present headroom.
    fn nearest(&mut self, share: f64, along: Along) -> Result<Option<f64>, FillError> {
        let present = match along {
            Along::Length => self.file.length_mm,
            Along::FaceWidth => self.file.face_width_mm,
        };
        let (towards, wanted) =
            if share < self.asked.least { (1.0, self.asked.least) } else { (-1.0, self.asked.most) };
        // Secants on the capacity, which grows nearly evenly with either length: at first by a rough slope.
        let target = self.volume_l / (1.0 - wanted);
        let capacity = |share: f64, volume_l: f64| volume_l / (1.0 - share);
        let (mut at, mut holds) = (present, capacity(share, self.volume_l));
        let power = if along == Along::Length { 1.0 } else { 2.0 };
        let mut slope = power * holds / at;
        for _ in 0..SECANTS {
            let step = (target - holds) / slope;
            if !step.is_finite() || step.abs() <= NEAR_MM {
                break;
            }
            let next = (at + step).clamp(0.5 * at, 2.0 * at);
            let Some(share) = self.share(along, next)? else { break };
            let found = capacity(share, self.volume_l);
            slope = (found - holds) / (next - at);
            (at, holds) = (next, found);
        }
        // Whole millimetres: outwards until one does, then back as long as the one before does too.
        let mut whole = if towards > 0.0 { (at - NEAR_MM).ceil() } else { (at + NEAR_MM).floor() };
        if !self.does(along, whole)? {
            let mut steps = 0;
            loop {
                whole += towards;
                steps += 1;
                if self.does(along, whole)? {
                    return Ok(Some(whole));
                }
                if steps == STEPS {
                    return Ok(None);
                }
            }
        }
        for _ in 0..STEPS {
            let before = whole - towards;
            if (before - present) * towards <= 0.0 || !self.does(along, before)? {
                break;
            }
            whole = before;
        }
        Ok(Some(whole))
    }

    fn does(&mut self, along: Along, length: f64) -> Result<bool, FillError> {
        Ok(self.is_valid(along, length) && self.share(along, length)?.is_some_and(|share| self.asked.has(share)))
    }

    /// Headroom with another length; `None` when there is no such surface.
    fn share(&mut self, along: Along, length: f64) -> Result<Option<f64>, FillError> {
        let mut sizes = Sizes {
            face_width: self.file.face_width_mm,
            length: self.file.length_mm,
            bottoms: [self.file.valve_end.bottom_width_mm, self.file.plain_end.bottom_width_mm],
        };
        match along {
            Along::Length => sizes.length = length,
            Along::FaceWidth => sizes.face_width = length,
        }
        match self.recall.capacity_of(self.solver, sizes, self.bottoms, self.watch) {
            Ok(capacity_l) => Ok(Some(1.0 - self.volume_l / capacity_l)),
            Err(FillError::Sizes) => Ok(None),
            Err(error) => Err(error),
        }
    }

    /// Is the sheet with another length one that can be made?
    fn is_valid(&self, along: Along, length: f64) -> bool {
        let mut file = self.file.clone();
        match along {
            Along::Length => file.length_mm = length,
            Along::FaceWidth => file.face_width_mm = length,
        }
        Sheet::new(file).is_ok()
    }
}

//! Random valid sheets: every solve converges or says that it did not, none hangs, none explodes.

#![allow(clippy::unwrap_used, clippy::expect_used)]

mod support;

use std::cell::Cell;
use std::ops::ControlFlow;

use proptest::prelude::*;
use proptest::test_runner::{Config, RngAlgorithm, TestRng, TestRunner};
use sackwright::fill::{Bottoms, Capacity, Detail, FillError, Progress, Settings, Shape, Sizes, Solver, Trust};
use sackwright::sack::Sack;

/// A shape must lie within the paper: no longer than sack and bottoms, no wider or thicker than the face.
fn is_sane(shape: &Shape, trust: &Trust, sack: &Sack) -> bool {
    let (face, length) = (sack.tube().face_width_mm, sack.file().length_mm);
    let bottoms = sack.file().valve_end.bottom_width_mm + sack.file().plain_end.bottom_width_mm;
    let stretch = trust.largest_stretch;
    let within = |value: f64, most: f64| value.is_finite() && value > 0.0 && value <= most * stretch;
    within(shape.volume_l, face * face * (length + bottoms) * 1e-6)
        && within(shape.thickness_mm, face)
        && within(shape.width_mm, face)
        && within(shape.length_mm, length + bottoms)
        && (0.0..=1.0).contains(&shape.wrinkled_share)
        && trust.lower_bound_l <= shape.volume_l * 1.02
        // The facets' limit at this coarseness, and the little that may be left over it.
        && (!trust.converged || stretch <= 1.01)
}

/// About what a sack holds, l, between plates as far apart as its wider bottom: a stadium of its length.
fn upright_l(sack: &Sack) -> f64 {
    let bottom = f64::max(sack.file().valve_end.bottom_width_mm, sack.file().plain_end.bottom_width_mm);
    let section = sack.tube().face_width_mm * bottom - core::f64::consts::FRAC_PI_4 * bottom * bottom;
    section * sack.file().length_mm * 1e-6
}

/// A fixed seed: a rare failure must not depend on the day.
fn runner(seed: u8, cases: u32) -> TestRunner {
    let rng = TestRng::from_seed(RngAlgorithm::ChaCha, &[seed; 32]);
    TestRunner::new_with_rng(Config { cases, failure_persistence: None, ..Config::default() }, rng)
}

/// How many were solved, and how many of them converged.
#[derive(Default)]
struct Tally {
    solved: Cell<usize>,
    converged: Cell<usize>,
}

impl Tally {
    fn count(&self, trust: &Trust) {
        self.solved.set(self.solved.get() + 1);
        self.converged.set(self.converged.get() + usize::from(trust.converged));
    }

    fn holds(self) {
        let (solved, converged) = (self.solved.get(), self.converged.get());
        assert!(100 * converged >= 98 * solved, "{converged} of {solved} converged");
    }
}

/// A sack, how full it is, and whether its bottoms are stiff.
fn fillings() -> impl Strategy<Value = (Sack, f64, bool)> {
    (support::valid_sack(), 0.41..0.99, any::<bool>())
}

const fn go(_: Progress) -> ControlFlow<()> {
    ControlFlow::Continue(())
}

/// A sack full to its capacity, and the solver that found it.
fn full(sack: &Sack, stiff: bool) -> (Solver, Bottoms, Capacity) {
    let bottoms = if stiff { Bottoms::Stiff } else { Bottoms::Free };
    let mut solver = Solver::new(sack, Settings { detail: Detail::Coarse, ..Settings::default() });
    let full = solver.capacity(bottoms, &mut go).expect("not cancelled");
    (solver, bottoms, full)
}

#[test]
fn random_sheets_fill() {
    let (mut runner, tally) = (runner(7, 2000), Tally::default());
    let leaning = Cell::new(0);
    let outcome = runner.run(&fillings(), |(sack, ratio, stiff)| {
        let (mut solver, bottoms, full) = full(&sack, stiff);
        prop_assert!(is_sane(&full.shape, &full.trust, &sack), "{:?}", full);
        tally.count(&full.trust);
        let volume = ratio * full.shape.volume_l;
        let lying = solver.lying(bottoms, volume, &mut go).expect("a volume it takes");
        prop_assert!(is_sane(&lying.shape, &lying.trust, &sack), "{:?}", lying);
        tally.count(&lying.trust);
        // Leaning bottoms cost twenty times as much: one in eight of the sacks whose bottoms would.
        let leans = stiff && volume < upright_l(&sack);
        if leans {
            leaning.set(leaning.get() + 1);
            if leaning.get() % 8 != 0 {
                return Ok(());
            }
        }
        match solver.pressed(bottoms, volume, &mut go) {
            Ok(pressed) => {
                prop_assert!(is_sane(&pressed.shape, &pressed.trust, &sack), "{:?}", pressed);
                tally.count(&pressed.trust);
            }
            Err(FillError::BottomsStandOut { .. }) => prop_assert!(stiff),
            Err(error) => prop_assert!(false, "{:?}", error),
        }
        Ok(())
    });
    outcome.expect("every case is sane");
    tally.holds();
}

/// A level keeps its free surface: only a sack that is nearly full has none. What does not carry the weight is not called an
/// answer.
#[test]
fn random_sheets_hang_with_a_free_surface() {
    let (mut runner, tally) = (runner(11, 300), Tally::default());
    let outcome = runner.run(&fillings(), |(sack, ratio, stiff)| {
        let (mut solver, bottoms, full) = full(&sack, stiff);
        let hanging = solver.hanging(bottoms, ratio * full.shape.volume_l, None, &mut go).expect("a volume it takes");
        tally.count(&hanging.trust);
        if hanging.trust.converged {
            prop_assert!((hanging.on_spout - 1.0).abs() <= 0.1 && hanging.on_saddle == 0.0, "{:?}", hanging);
            prop_assert!(hanging.level_mm > 0.0 || ratio > 0.95, "{} {:?}", ratio, hanging);
        }
        Ok(())
    });
    outcome.expect("every case is sane");
    tally.holds();
}

/// A change of one length as a share of the face width, how full the sack is then, and what is asked: the bottoms, and
/// whether it lies, is pressed or stands.
fn wanderings() -> impl Strategy<Value = Vec<(usize, f64, f64, bool, [bool; 3])>> {
    proptest::collection::vec((0..3_usize, -0.08..0.08, 0.6..0.97, any::<bool>(), any::<[bool; 3]>()), 12)
}

/// The same two figures, within what a coarse mesh's scallops may make of another way to them.
fn agree(warm: (f64, Trust), fresh: (f64, Trust)) -> bool {
    !(warm.1.converged && fresh.1.converged) || (warm.0 / fresh.0 - 1.0).abs() <= 0.005
}

/// A solver that is kept while sizes, volumes and questions change in any order finds what a new one finds.
#[test]
fn a_solver_that_has_been_about_finds_what_a_new_one_finds() {
    let (mut runner, tally) = (runner(11, 24), Tally::default());
    let outcome = runner.run(&wanderings(), |steps| {
        let mut lengths = [500.0, 640.0, 120.0];
        let settings = Settings { detail: Detail::Coarse, ..Settings::default() };
        let at = |[face_width, length, bottom]: [f64; 3]| Sizes { face_width, length, bottoms: [bottom; 2] };
        let mut kept = Solver::with_sizes(at(lengths), settings).expect("sound sizes");
        for (which, by, ratio, stiff, [lies, is_pressed, stands]) in steps {
            lengths[which] *= 1.0 + by;
            let bottoms = if stiff { Bottoms::Stiff } else { Bottoms::Free };
            kept.set_sizes(at(lengths)).expect("sound sizes");
            let mut new = Solver::with_sizes(at(lengths), settings).expect("sound sizes");
            let [full, again] =
                [&mut kept, &mut new].map(|solver| solver.capacity(bottoms, &mut go).expect("not cancelled"));
            tally.count(&full.trust);
            let volume = ratio * again.shape.volume_l;
            prop_assert!(
                agree((full.shape.volume_l, full.trust), (again.shape.volume_l, again.trust)),
                "{:?}",
                lengths
            );
            if lies {
                let [a, b] = [&mut kept, &mut new].map(|solver| solver.lying(bottoms, volume, &mut go).expect("room"));
                tally.count(&a.trust);
                let [a, b] = [a, b].map(|lying| (lying.shape.thickness_mm, lying.trust));
                prop_assert!(agree(a, b), "lying at {:?} with {} l: {:?} {:?}", lengths, volume, a, b);
            }
            if is_pressed {
                let [a, b] = [&mut kept, &mut new].map(|solver| solver.pressed(bottoms, volume, &mut go).ok());
                prop_assert_eq!(a.is_some(), b.is_some(), "pressed at {:?} with {} l", lengths, volume);
                if let Some([a, b]) = a.zip(b).map(|(a, b)| [a, b].map(|pressed| (pressed.gap_mm, pressed.trust))) {
                    prop_assert!(agree(a, b), "pressed at {:?} with {} l: {:?} {:?}", lengths, volume, a, b);
                }
            }
            if stands {
                let [a, b] = [&mut kept, &mut new].map(|solver| solver.standing(bottoms, volume, &mut go).ok());
                prop_assert_eq!(a.is_some(), b.is_some());
                if let Some([a, b]) = a.zip(b).map(|(a, b)| [a, b].map(|standing| (standing.height_mm, standing.trust)))
                {
                    prop_assert!(agree(a, b), "standing at {:?} with {} l: {:?} {:?}", lengths, volume, a, b);
                }
            }
        }
        Ok(())
    });
    outcome.expect("every walk ends where a new solver does");
    tally.holds();
}

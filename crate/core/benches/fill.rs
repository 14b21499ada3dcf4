//! What the filled shape costs: one sack, one thread, cold and from the answer before a slider's step.

#![allow(clippy::expect_used)]

use std::hint::black_box;
use std::ops::ControlFlow;
use std::time::{Duration, Instant};

use criterion::{BatchSize, Criterion, criterion_group, criterion_main};
use sackwright::fill::{Bottoms, Detail, Film, FilmProgress, FilmSettings, Progress, Settings, Sizes, Solver, Watch};
use sackwright::sack::Sack;

/// A sack of 500 x `length` x 120 mm.
fn sizes(length: f64) -> Sizes {
    Sizes { face_width: 500.0, length, bottoms: [120.0; 2] }
}

fn solver(detail: Detail) -> Solver {
    Solver::with_sizes(sizes(640.0), Settings { detail, ..Settings::default() }).expect("sound sizes")
}

fn go(_: Progress) -> ControlFlow<()> {
    ControlFlow::Continue(())
}

/// Both limits of the capacity, then the stiff sack lying and pressed with 38 l.
fn everything(solver: &mut Solver, watch: &mut Watch<'_>) -> [f64; 4] {
    let full = [Bottoms::Free, Bottoms::Stiff].map(|bottoms| solver.capacity(bottoms, watch).expect("not cancelled"));
    let lying = solver.lying(Bottoms::Stiff, 38.0, watch).expect("a volume it takes");
    let pressed = solver.pressed(Bottoms::Stiff, 38.0, watch).expect("a volume it takes");
    [full[0].shape.volume_l, full[1].shape.volume_l, lying.shape.thickness_mm, pressed.gap_mm]
}

/// Every frame of the flour sack's film.
fn film(sack: &Sack, squares: usize) -> usize {
    let mut film = Film::new(sack, Bottoms::Stiff, 38.0, FilmSettings { squares, ..FilmSettings::default() })
        .expect("a volume it takes");
    let mut on = |_: FilmProgress| ControlFlow::Continue(());
    let mut vertices = 0;
    while let Some(frame) = film.next_frame(&mut on).expect("not cancelled") {
        vertices = frame.mesh.positions.len();
    }
    vertices
}

fn films(c: &mut Criterion) {
    let flour = Sack::read(include_str!("../../../examples/sacks/bread-flour-25-kg.sack.json")).expect("a sound sheet");
    for squares in [2, 3] {
        c.bench_function(&format!("film of 97 frames, {} vertices", film(&flour, squares)), |b| {
            b.iter(|| film(&flour, black_box(squares)));
        });
    }
}

fn solves(c: &mut Criterion) {
    for detail in [Detail::Coarse, Detail::Fine, Detail::Finest] {
        let trust = solver(detail).capacity(Bottoms::Stiff, &mut go).expect("not cancelled").trust;
        let mesh = format!("{detail:?}, an eighth of the sack in {} vertices", trust.vertices);
        c.bench_function(&format!("capacity, stiff bottoms, cold, {mesh}"), |b| {
            b.iter(|| solver(black_box(detail)).capacity(Bottoms::Stiff, &mut go));
        });
        c.bench_function(&format!("both capacities, lying and pressed, cold, {mesh}"), |b| {
            b.iter(|| everything(&mut solver(black_box(detail)), &mut go));
        });
        let mut before = solver(detail);
        everything(&mut before, &mut go);
        before.hanging(Bottoms::Stiff, 38.0, None, &mut go).expect("a volume it takes");
        before.set_sizes(sizes(645.0)).expect("sound sizes");
        c.bench_function(&format!("both capacities, lying and pressed, 5 mm later, {mesh}"), |b| {
            b.iter_batched_ref(|| before.clone(), |solver| everything(solver, &mut go), BatchSize::SmallInput);
        });
        // What a watch that breaks off waits for at most.
        c.bench_function(&format!("longest time between two looks at the watch, {mesh}"), |b| {
            b.iter_custom(|rounds| {
                let mut sum = Duration::ZERO;
                for _ in 0..rounds {
                    let (mut last, mut longest) = (Instant::now(), Duration::ZERO);
                    let mut look = |_: Progress| {
                        longest = longest.max(last.elapsed());
                        last = Instant::now();
                        ControlFlow::Continue(())
                    };
                    everything(&mut solver(detail), &mut look);
                    sum += longest;
                }
                sum
            });
        });
        c.bench_function(&format!("hanging, 5 mm later, {mesh}"), |b| {
            b.iter_batched_ref(
                || before.clone(),
                |solver| solver.hanging(Bottoms::Stiff, 38.0, None, &mut go),
                BatchSize::SmallInput,
            );
        });
    }
}

criterion_group! {
    name = filming;
    config = Criterion::default().sample_size(10);
    targets = films
}
criterion_group!(solving, solves);
criterion_main!(solving, filming);

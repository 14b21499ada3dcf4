//! What an edit and a frame cost: the six-ply sack from sheet to everything, and its poses and meshes.

#![allow(clippy::expect_used)]

use std::hint::black_box;

use criterion::{BatchSize, Criterion, criterion_group, criterion_main};
use sackwright::cards::read_line;
use sackwright::check::check;
use sackwright::figures::{PasteHabits, figures};
use sackwright::fold::{Pose, Stage, panels};
use sackwright::model::{Mesh, Thickness, build};
use sackwright::sack::Sack;
use sackwright::sheet::{Sheet, SheetFile};

const SHEET: &str = include_str!("six-ply.sack.json");
const LINE: &str = include_str!("bench.line.json");

fn sheet_file() -> SheetFile {
    Sack::read(SHEET).expect("the benchmark's sheet is valid").file().clone()
}

fn benches(c: &mut Criterion) {
    let line = read_line(LINE).expect("the benchmark's card is valid");
    let file = sheet_file();

    c.bench_function("read a six-ply sheet from JSON", |b| b.iter(|| Sack::read(black_box(SHEET))));

    c.bench_function("sheet to figures, laps, findings and poses, six plies", |b| {
        b.iter_batched(
            || file.clone(),
            |file| {
                let sack = Sack::new(Sheet::new(file).expect("valid"));
                let figures = figures(&sack, Some(&line), &PasteHabits::default());
                let findings = check(&sack, Some(&line));
                let pose = Pose::new(Stage::FoldFlaps, 0.3).expect("in range");
                (figures, findings, panels(&sack, &pose))
            },
            BatchSize::SmallInput,
        );
    });

    let sack = Sack::read(SHEET).expect("the benchmark's sheet is valid");
    let mut mesh = Mesh::default();
    let mut at = 0.0;
    c.bench_function("all poses and vertices of a frame, six plies", |b| {
        b.iter(|| {
            at = (at + 0.01) % 1.0;
            let pose = Pose::new(Stage::FoldFlaps, at).expect("in range");
            build(&sack, &pose, Thickness::TRUE, &mut mesh);
            mesh.positions.len()
        });
    });
}

criterion_group!(group, benches);
criterion_main!(group);

//! What sizing costs: the best layer, the estimates, and screening an order of some thousands of sizes.

#![allow(clippy::expect_used)]

use std::hint::black_box;
use std::ops::ControlFlow;

use criterion::{BatchSize, Criterion, criterion_group, criterion_main};
use sackwright::fill::{Bottoms, Detail, Sizes};
use sackwright::pallet::{layer_count, layers};
use sackwright::sizing::estimate::{capacity_l, pressed};
use sackwright::sizing::{Order, Sizing, read_order};

const ORDER: &str = include_str!("../../../examples/orders/bread-flour-25-kg.order.json");
const SHEET: &str = include_str!("../../../examples/sacks/bread-flour-25-kg.sack.json");
const LINE: &str = include_str!("../../../examples/lines/harbour-mill-air-packer.line.json");
const WORKS: &str = include_str!("../../../examples/works/weir-street-works.works.json");
const PALLET: &str = include_str!("../../../examples/pallets/grain-hall-1200-x-800.pallet.json");

fn order() -> Order {
    let mut file = read_order(ORDER).expect("an order");
    let parts: Vec<_> = file.files().into_iter().map(|(part, _)| part).collect();
    for (part, text) in parts.into_iter().zip([SHEET, LINE, WORKS, PALLET]) {
        file.take(part, text).expect("a sheet or a card");
    }
    Order::new(file).expect("a sound order")
}

fn benches(c: &mut Criterion) {
    let (room, sack) = ([1240.0, 840.0], [560.0, 372.0]);
    c.bench_function("a layer's count", |b| b.iter(|| layer_count(black_box(room), sack)));
    c.bench_function("a layer's patterns", |b| b.iter(|| layers(black_box(room), sack)));
    let sizes = Sizes { face_width: 500.0, length: 640.0, bottoms: [120.0; 2] };
    c.bench_function("capacity and pressed sack, estimated", |b| {
        b.iter(|| (capacity_l(black_box(sizes), Bottoms::Stiff), pressed(sizes, 0.82)));
    });
    let sizing = Sizing::new(order(), 10, Detail::Fine);
    let count = sizing.progress().total;
    c.bench_function(&format!("screening {count} sizes"), |b| {
        b.iter_batched_ref(|| sizing.clone(), |sizing| sizing.screen(usize::MAX), BatchSize::LargeInput);
    });
    let mut screened = sizing;
    screened.screen(usize::MAX);
    c.bench_function("confirming the best size", |b| {
        let confirm = |sizing: &mut Sizing| sizing.confirm_next(&mut |_| ControlFlow::Continue(()));
        b.iter_batched_ref(|| screened.clone(), confirm, BatchSize::LargeInput);
    });
}

criterion_group!(group, benches);
criterion_main!(group);

//! The film of the filling: it begins with the folded flat sack, ends in the solver's shapes, and every frame is paper.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod support;

use std::collections::BTreeMap;
use std::f64::consts::FRAC_PI_2;
use std::fs;
use std::ops::ControlFlow;

use proptest::prelude::*;
use proptest::test_runner::{Config, RngAlgorithm, TestRng, TestRunner};
use sackwright::fill::{
    Bottoms, FillError, FilledMesh, Filling, Film, FilmProgress, FilmSettings, Frame, Panel, Phase, Progress, Settings,
    Shape, Solver, SpoutSize, film_frame,
};
use sackwright::fold::{self, PanelPose, Pose, Stage};
use sackwright::sack::Sack;
use sackwright::sheet::{End, Sheet, SheetFile};

fn examples() -> Vec<(String, Sack)> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../../examples/sacks");
    let mut names: Vec<_> = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    names.sort();
    assert_eq!(names.len(), 8, "{names:?}");
    let read = |path: &std::path::PathBuf| Sack::read(&fs::read_to_string(path).unwrap()).expect("a sound example");
    names.iter().map(|path| (path.file_name().unwrap().to_string_lossy().into_owned(), read(path))).collect()
}

fn plain_sack() -> Sack {
    Sack::new(Sheet::new(support::plain_sheet()).expect("valid"))
}

fn go(_: Progress) -> ControlFlow<()> {
    ControlFlow::Continue(())
}

fn roll(_: FilmProgress) -> ControlFlow<()> {
    ControlFlow::Continue(())
}

/// What the sheet's contents take, or nearly all of the capacity when they are too much.
fn volume(sack: &Sack, bottoms: Bottoms) -> f64 {
    let capacity = Solver::new(sack, Settings::default()).capacity(bottoms, &mut go).unwrap().shape.volume_l;
    Filling::Contents.volume_l(sack, capacity).unwrap().min(0.95 * capacity)
}

fn frames(mut film: Film) -> Vec<Frame> {
    let count = film.frames();
    let frames: Vec<Frame> = std::iter::from_fn(|| film.next_frame(&mut roll).expect("not cancelled")).collect();
    assert_eq!(frames.len(), count);
    frames
}

fn extents(mesh: &FilledMesh) -> [f64; 3] {
    [0, 1, 2].map(|c| {
        let along = || mesh.positions.iter().map(|at| at[c]);
        along().fold(f64::NEG_INFINITY, f64::max) - along().fold(f64::INFINITY, f64::min)
    })
}

fn sub(a: [f64; 3], b: [f64; 3]) -> [f64; 3] {
    [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
}

fn dot(a: [f64; 3], b: [f64; 3]) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

fn cross(a: [f64; 3], b: [f64; 3]) -> [f64; 3] {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}

/// How deep edges go through triangles that they have no corner in common with, at most, mm: the shorter of the edge's two ends
/// beyond the triangle's plane.
fn deepest_crossing(mesh: &FilledMesh) -> f64 {
    // Panels do not share vertices: one number per place.
    let mut places = BTreeMap::new();
    let place: Vec<usize> = mesh
        .positions
        .iter()
        .map(|at| {
            let next = places.len();
            *places.entry(at.map(|c| (c + 0.0).to_bits())).or_insert(next)
        })
        .collect();
    let bounds: Vec<[[f64; 2]; 3]> = mesh
        .triangles
        .iter()
        .map(|corners| {
            [0, 1, 2].map(|c| {
                let along = corners.map(|v| mesh.positions[v as usize][c]);
                [along[0].min(along[1]).min(along[2]), along[0].max(along[1]).max(along[2])]
            })
        })
        .collect();
    let mut order: Vec<usize> = (0..bounds.len()).collect();
    order.sort_by(|&a, &b| bounds[a][1][0].total_cmp(&bounds[b][1][0]));
    let mut deepest = 0.0_f64;
    for (rank, &first) in order.iter().enumerate() {
        for &second in &order[rank + 1..] {
            if bounds[second][1][0] > bounds[first][1][1] {
                break;
            }
            let apart =
                |c: usize| bounds[first][c][0] > bounds[second][c][1] || bounds[second][c][0] > bounds[first][c][1];
            let [a, b] = [first, second].map(|triangle| mesh.triangles[triangle].map(|v| place[v as usize]));
            if apart(0) || apart(2) || a.iter().any(|corner| b.contains(corner)) {
                continue;
            }
            for (edges, through) in [(first, second), (second, first)] {
                let [x, t] =
                    [edges, through].map(|triangle| mesh.triangles[triangle].map(|v| mesh.positions[v as usize]));
                let normal = cross(sub(t[1], t[0]), sub(t[2], t[0]));
                let length = dot(normal, normal).sqrt();
                for k in 0..3 {
                    let (p, q) = (x[k], x[(k + 1) % 3]);
                    let (above, below) = (dot(sub(p, t[0]), normal) / length, dot(sub(q, t[0]), normal) / length);
                    if above * below >= 0.0 {
                        continue;
                    }
                    let share = above / (above - below);
                    let at = [0, 1, 2].map(|c| p[c] + share * (q[c] - p[c]));
                    if (0..3).all(|c| dot(cross(sub(t[(c + 1) % 3], t[c]), sub(at, t[c])), normal) > 0.0) {
                        deepest = deepest.max(above.abs().min(below.abs()));
                    }
                }
            }
        }
    }
    deepest
}

/// The sheet does not go through itself.
fn nothing_crosses(name: &str, frames: &[Frame]) {
    for (k, frame) in frames.iter().enumerate().step_by(2) {
        let deepest = deepest_crossing(&frame.mesh);
        assert!(deepest <= 0.01, "{name} {k} {:?}: {deepest} mm", frame.phase);
    }
}

/// Largest stretch of any triangle, from paper and positions alone.
fn largest_stretch(mesh: &FilledMesh) -> f64 {
    let stretches = mesh.triangles.iter().map(|corners| {
        let [p, q, r] = corners.map(|v| mesh.paper[v as usize]);
        let [a, b, c] = corners.map(|v| mesh.positions[v as usize]);
        let (u, v) = ([q[0] - p[0], q[1] - p[1]], [r[0] - p[0], r[1] - p[1]]);
        let (e, f) = (sub(b, a), sub(c, a));
        let det = u[0] * v[1] - u[1] * v[0];
        let column = |x: f64, y: f64| [0, 1, 2].map(|k| (e[k] * x + f[k] * y) / det);
        let (f0, f1) = (column(v[1], -u[1]), column(-v[0], u[0]));
        let (xx, xy, yy) = (dot(f0, f0), dot(f0, f1), dot(f1, f1));
        (0.5 * (xx + yy) + (0.25 * (xx - yy) * (xx - yy) + xy * xy).sqrt()).sqrt()
    });
    stretches.fold(0.0, f64::max)
}

/// Where a point of ply 0's chart lies in the exact folded sack, if a panel of these names has it.
fn exact(panels: &[PanelPose], names: &[&str], end: Option<End>, [u, v]: [f64; 2]) -> Option<[f64; 3]> {
    panels.iter().filter(|panel| names.contains(&panel.name) && panel.end == end && panel.ply == Some(0)).find_map(
        |panel| {
            let n = panel.paper.len();
            let side = |k: usize| {
                let (a, b) = (panel.paper[k], panel.paper[(k + 1) % n]);
                let length = libm::hypot(b[0] - a[0], b[1] - a[1]);
                ((b[0] - a[0]) * (v - a[1]) - (b[1] - a[1]) * (u - a[0])) / length
            };
            let inside = (0..n).all(|k| side(k) >= -1e-6) || (0..n).all(|k| side(k) <= 1e-6);
            let [a, b, c] = [0, 1, n - 1].map(|k| (panel.paper[k], panel.space[k]));
            let (p, q) = ([b.0[0] - a.0[0], b.0[1] - a.0[1]], [c.0[0] - a.0[0], c.0[1] - a.0[1]]);
            let det = p[0] * q[1] - p[1] * q[0];
            let (du, dv) = (u - a.0[0], v - a.0[1]);
            let (s, t) = ((du * q[1] - dv * q[0]) / det, (dv * p[0] - du * p[1]) / det);
            inside.then(|| [0, 1, 2].map(|k| a.1[k] + s * (b.1[k] - a.1[k]) + t * (c.1[k] - a.1[k])))
        },
    )
}

/// Every vertex of the first frame lies where the fold has left it, but for the small gaps between layers.
fn begins_as_folded(sack: &Sack, mesh: &FilledMesh) {
    let panels = fold::panels(sack, &Pose::new(Stage::LayPatch, 1.0).unwrap());
    let (w, l) = (sack.tube().face_width_mm, sack.file().length_mm);
    let valve = sack.bottom(End::ValveEnd);
    let tube = sack.tube().length_mm;
    for ((&[s, y], &panel), at) in mesh.paper.iter().zip(&mesh.panel).zip(&mesh.positions) {
        let found = if matches!(panel, Panel::ValveBottom | Panel::PlainBottom) {
            let end = if panel == Panel::ValveBottom { End::ValveEnd } else { End::PlainEnd };
            let (b, f) = (sack.bottom(end).width_mm, sack.bottom(end).flap_depth_mm);
            // Wall A's flap reaches from down = 0 past the middle, wall B's from the other edge; which of them is
            // longer is the step cut's affair.
            let on = |name: &str, u: f64, deep: f64| {
                let v = if end == End::ValveEnd { f - deep } else { tube - (f - deep) };
                exact(&panels, &[name], Some(end), [u, v])
            };
            let flap = on("flap-a", s + w / 2.0, y).or_else(|| on("flap-b", 1.5 * w - s, b - y));
            // At either end the flaps leave a V, where the bottom is the pocket's.
            if flap.is_none() && s.abs() >= w / 2.0 - b - sack.bottom(end).longest_mm() {
                continue;
            }
            flap
        } else {
            let across = if s.abs() <= w / 2.0 { s } else { s.signum() * (w - s.abs()) };
            let u = if s.abs() <= w / 2.0 { across + w / 2.0 } else { 1.5 * w - across };
            let v = valve.flap_depth_mm + l / 2.0 - y;
            let names = [
                "half-a",
                "half-b",
                "pocket-a-left",
                "pocket-a-right",
                "pocket-b-left",
                "pocket-b-right",
                "body-a",
                "body-b",
            ];
            [None, Some(End::ValveEnd), Some(End::PlainEnd)]
                .into_iter()
                .find_map(|end| exact(&panels, &names, end, [u, v]))
        };
        let found = found.unwrap_or_else(|| panic!("{panel:?} {s} {y} is on no panel"));
        let off = libm::hypot(found[0] - at[0], found[1] - at[1]);
        assert!(off <= 1e-6, "{panel:?} {s} {y}: {at:?} instead of {found:?}");
        assert!((0.0..=3.0).contains(&at[2]), "{panel:?} {s} {y}: {at:?}");
    }
}

/// What holds of every film.
fn is_a_film_of_paper(name: &str, frames: &[Frame], volume_l: f64) {
    let first = &frames[0];
    assert_eq!((first.fraction, first.phase), (0.0, Phase::SpoutIn), "{name}");
    assert_eq!(frames.last().unwrap().fraction, 1.0, "{name}");
    for (k, frame) in frames.iter().enumerate() {
        assert_eq!(frame.mesh.triangles, first.mesh.triangles, "{name} {k}");
        assert!(frame.mesh.paper == first.mesh.paper && frame.mesh.panel == first.mesh.panel, "{name} {k}");
        let stretch = largest_stretch(&frame.mesh);
        assert!((stretch - frame.largest_stretch).abs() <= 1e-6, "{name} {k}: {stretch} {}", frame.largest_stretch);
        assert!(stretch <= 1.02, "{name} {k} {:?}: {stretch}", frame.phase);
        assert!(frame.mesh.positions.iter().all(|at| at[2] >= 0.0), "{name} {k}");
    }
    for pair in frames.windows(2) {
        let [a, b] = [&pair[0], &pair[1]];
        assert!(a.fraction < b.fraction && a.phase <= b.phase, "{name}");
        match b.phase {
            Phase::SpoutIn => assert_eq!(b.product_l, 0.0, "{name} {}", b.fraction),
            Phase::Filling => {
                assert!(b.product_l > a.product_l || same(b.product_l, volume_l, 2e-3, 0.0), "{name} {}", b.fraction);
            }
            _ => assert!(same(b.product_l, volume_l, 2e-3, 0.0), "{name} {}: {}", b.fraction, b.product_l),
        }
        // Air is in it too until the sack is pressed.
        assert!(b.volume_l >= b.product_l - 1e-9, "{name} {}: {}", b.fraction, b.volume_l);
        if b.phase == Phase::Pressed {
            assert!(same(b.volume_l, volume_l, 2e-3, 0.0), "{name} {}: {}", b.fraction, b.volume_l);
        }
        // Nothing jumps: but for being turned as a whole, no vertex goes further in one frame than a sixteenth of the sack's
        // length, and it is turned by no more than 30 degrees.
        assert!((a.upright - b.upright).abs() <= 0.53, "{name} {}: {} after {}", b.fraction, b.upright, a.upright);
        let from = if a.upright == b.upright { a.mesh.positions.clone() } else { turned(a, b) };
        let moved = from.iter().zip(&b.mesh.positions).map(|(a, b)| dot(sub(*a, *b), sub(*a, *b)).sqrt());
        let moved = moved.fold(0.0, f64::max);
        assert!(moved <= extents(&first.mesh)[1] / 16.0, "{name} {}: {moved}", b.fraction);
    }
}

/// A frame's positions turned as the next one is, about the axis across the face, and moved along with its middle.
fn turned(a: &Frame, b: &Frame) -> Vec<[f64; 3]> {
    let middle = |frame: &Frame| {
        let n = frame.mesh.positions.len() as f64;
        [1, 2].map(|c| frame.mesh.positions.iter().map(|at| at[c]).sum::<f64>() / n)
    };
    let (from, to) = (middle(a), middle(b));
    let (s, c) = libm::sincos(b.upright - a.upright);
    let place = |&[x, y, z]: &[f64; 3]| {
        let (y, z) = (y - from[0], z - from[1]);
        [x, to[0] + c * y - s * z, to[1] + s * y + c * z]
    };
    a.mesh.positions.iter().map(place).collect()
}

/// What the spout does: it comes from the valve's side along the bottom, holds that up, and goes again.
fn is_filled_from_a_spout(name: &str, sack: &Sack, frames: &[Frame]) {
    let side = sack.file().valve_end.valve.side.sign();
    let reach = SpoutSize::new(sack, None).reach_mm;
    for frame in frames {
        let (place, at) = (frame.spout, frame.fraction);
        match frame.phase {
            Phase::SpoutIn => assert!(place.is_none() || frame.upright >= FRAC_PI_2, "{name} {at}"),
            Phase::Filling => assert!(place.is_some(), "{name} {at}"),
            Phase::TakenOff => assert!(place.is_none() || frame.upright >= FRAC_PI_2 - 1e-9, "{name} {at}"),
            Phase::LyingDown | Phase::Pressed => assert!(place.is_none() && frame.upright == 0.0, "{name} {at}"),
        }
        let Some(place) = place else { continue };
        assert_eq!(place.towards, [-side, 0.0, 0.0], "{name} {at}");
        if frame.phase == Phase::Filling {
            assert!((place.in_mm - reach).abs() <= 1e-9 && frame.upright == FRAC_PI_2, "{name} {at}: {place:?}");
            let high = place.end_mm[2] + place.size.height_mm / 2.0;
            for (at, panel) in frame.mesh.positions.iter().zip(&frame.mesh.panel) {
                let off = (at[2] - high).abs();
                assert!(*panel != Panel::ValveBottom || off <= 1e-6, "{name}: the bottom is {off} mm off the spout");
                assert!(at[2] > 0.0, "{name}: the foot is on the table");
            }
        }
    }
    let ins: Vec<f64> = frames.iter().filter_map(|frame| frame.spout).map(|place| place.in_mm).collect();
    assert!(ins[0] < 0.0 && *ins.last().unwrap() < 0.0, "{name}: {ins:?}");
    // In, then out; and never gone in between.
    let most = ins.iter().position(|&at| (at - reach).abs() <= 1e-9).unwrap();
    assert!(ins[..=most].is_sorted() && ins[most..].is_sorted_by(|a, b| a >= b), "{name}: {ins:?}");
    let seen: Vec<bool> = frames.iter().map(|frame| frame.spout.is_some()).collect();
    assert_eq!(seen.chunk_by(|a, b| a == b).count(), 3, "{name}: {seen:?}");
    // Its holder stays where it is, outside the sack.
    for place in frames.iter().filter_map(|frame| frame.spout) {
        assert!((place.length_mm - place.in_mm - 0.35 * sack.tube().face_width_mm).abs() <= 1e-9, "{name}: {place:?}");
    }
}

/// When all is in, the sack hangs as the solver's does.
fn hangs_as_solved(name: &str, sack: &Sack, volume_l: f64, frames: &[Frame]) {
    let mut solver = Solver::new(sack, Settings::default());
    let shape = solver.hanging(Bottoms::Stiff, volume_l, None, &mut go).unwrap();
    let frame = last_of(frames, Phase::Filling).unwrap();
    let [width, thickness, length] = extents(&frame.mesh);
    assert!(same(length, shape.length_mm, 0.005, 2.0), "{name}: {length} {shape:?}");
    assert!(same(thickness, shape.thickness_mm, 0.01, 2.0), "{name}: {thickness} {shape:?}");
    assert!(same(width, shape.width_mm, 0.01, 2.0), "{name}: {width} {shape:?}");
    assert!(frame.largest_stretch <= 1.0 + 2.5e-3, "{name}: {}", frame.largest_stretch);
}

/// The film goes where it has said that it would.
fn goes_where_it_said(name: &str, reach: &[[f64; 3]], frames: &[Frame]) {
    let bounds = |points: &mut dyn Iterator<Item = [f64; 3]>| {
        let mut bounds = [[f64::INFINITY; 3], [f64::NEG_INFINITY; 3]];
        for point in points {
            for c in 0..3 {
                bounds[0][c] = bounds[0][c].min(point[c]);
                bounds[1][c] = bounds[1][c].max(point[c]);
            }
        }
        bounds
    };
    let length = extents(&frames[0].mesh)[1];
    let near = |what: &str, said: [[f64; 3]; 2], found: [[f64; 3]; 2], share: f64| {
        for (said, found) in said.into_iter().flatten().zip(found.into_iter().flatten()) {
            assert!((said - found).abs() <= share * length, "{name}, {what}: {found} instead of {said} mm");
        }
    };
    let spouts = frames.iter().filter_map(|frame| frame.spout).flat_map(|at| {
        let [x, y, z] = at.end_mm;
        [[x, y, z], [x - at.towards[0] * at.length_mm, y, z]]
    });
    let all = bounds(&mut frames.iter().flat_map(|frame| frame.mesh.positions.iter().copied()).chain(spouts));
    near("all", bounds(&mut reach.iter().copied()), all, 0.1);
    let last = bounds(&mut frames.last().unwrap().mesh.positions.iter().copied());
    near("last", bounds(&mut reach[reach.len() - 8..].iter().copied()), last, 0.03);
}

fn last_of(frames: &[Frame], phase: Phase) -> Option<&Frame> {
    frames.iter().rfind(|frame| frame.phase == phase)
}

fn same(found: f64, wanted: f64, share: f64, mm: f64) -> bool {
    (found - wanted).abs() <= (share * wanted).max(mm)
}

/// The film comes to rest in the solver's shapes.
fn ends_as_solved(name: &str, sack: &Sack, bottoms: Bottoms, volume_l: f64, frames: &[Frame]) {
    let mut solver = Solver::new(sack, Settings::default());
    let lying = solver.lying(bottoms, volume_l, &mut go).unwrap().shape;
    let pressed = solver.pressed(bottoms, volume_l, &mut go).map(|pressed| pressed.shape);
    // In the film stiff bottoms stay upright between the plates; the solver's lean when the plates come nearer than they are wide.
    let least = End::ALL.map(|end| sack.bottom(end).width_mm).into_iter().fold(0.0, f64::max);
    let stands = |shape: &Shape| bottoms == Bottoms::Free || shape.thickness_mm >= least;
    assert!(name == "random" || pressed.as_ref().is_ok_and(stands), "{name} leans");
    let pressed = pressed.ok().filter(stands);
    for (phase, shape) in [(Phase::LyingDown, Some(lying)), (Phase::Pressed, pressed)] {
        let (Some(frame), Some(shape)) = (last_of(frames, phase), shape) else { continue };
        let [width, length, thickness] = extents(&frame.mesh);
        assert!(same(thickness, shape.thickness_mm, 0.01, 2.0), "{name} {phase:?}: {thickness} {shape:?}");
        assert!(same(width, shape.width_mm, 0.015, 4.0), "{name} {phase:?}: {width} {shape:?}");
        assert!(same(length, shape.length_mm, 0.015, 4.0), "{name} {phase:?}: {length} {shape:?}");
        assert!((frame.volume_l / volume_l - 1.0).abs() <= 1e-3, "{name} {phase:?}: {}", frame.volume_l);
        assert!(frame.largest_stretch <= 1.0 + 2e-3, "{name} {phase:?}: {}", frame.largest_stretch);
    }
}

#[test]
fn the_examples_fill() {
    for (name, sack) in examples() {
        let volume_l = volume(&sack, Bottoms::Stiff);
        let film = Film::new(&sack, Bottoms::Stiff, volume_l, FilmSettings::default()).expect("a volume it takes");
        let reach = film.reach();
        let frames = frames(film);
        goes_where_it_said(&name, &reach, &frames);
        begins_as_folded(&sack, &frames[0].mesh);
        is_a_film_of_paper(&name, &frames, volume_l);
        is_filled_from_a_spout(&name, &sack, &frames);
        hangs_as_solved(&name, &sack, volume_l, &frames);
        ends_as_solved(&name, &sack, Bottoms::Stiff, volume_l, &frames);
        nothing_crosses(&name, &frames);
    }
}

#[test]
fn free_bottoms_fill() {
    let sack = plain_sack();
    let film = Film::new(&sack, Bottoms::Free, 38.0, FilmSettings::default()).expect("a volume it takes");
    let frames = frames(film);
    is_a_film_of_paper("free", &frames, 38.0);
    ends_as_solved("free", &sack, Bottoms::Free, 38.0, &frames);
}

/// Wide sacks that are not full have far to go until they lie: they must be at rest when the phase is over.
#[test]
fn wide_sacks_come_to_rest_in_time() {
    for ([face_width_mm, length_mm, bottom_width_mm], volume_l) in
        [([831.28, 675.41, 195.06], 88.17), ([800.0, 600.0, 160.0], 60.0)]
    {
        let mut file = SheetFile { face_width_mm, length_mm, ..support::plain_sheet() };
        file.valve_end.bottom_width_mm = bottom_width_mm;
        file.plain_end.bottom_width_mm = bottom_width_mm;
        let sack = Sack::new(Sheet::new(file).expect("valid"));
        let film = Film::new(&sack, Bottoms::Free, volume_l, FilmSettings::default()).expect("a volume it takes");
        let frames = frames(film);
        is_a_film_of_paper("wide", &frames, volume_l);
        ends_as_solved("wide", &sack, Bottoms::Free, volume_l, &frames);
    }
}

#[test]
fn random_sheets_fill() {
    let rng = TestRng::from_seed(RngAlgorithm::ChaCha, &[11; 32]);
    let config = Config { cases: 6, failure_persistence: None, ..Config::default() };
    let mut runner = TestRunner::new_with_rng(config, rng);
    // Where hardly anything is left between the two bottoms, rows of the mesh are slivers.
    let sack = support::valid_sack().prop_filter("a sack longer than its bottoms are wide", |sack| {
        let bottoms: f64 = End::ALL.map(|end| sack.bottom(end).width_mm).iter().sum();
        sack.file().length_mm >= 1.2 * bottoms
    });
    let strategy = (sack, 0.45..0.97, any::<bool>());
    let outcome = runner.run(&strategy, |(sack, ratio, stiff)| {
        let bottoms = if stiff { Bottoms::Stiff } else { Bottoms::Free };
        let full = Solver::new(&sack, Settings::default()).capacity(bottoms, &mut go).expect("not cancelled");
        let volume_l = ratio * full.shape.volume_l;
        let frames = frames(Film::new(&sack, bottoms, volume_l, FilmSettings::default()).expect("a volume it takes"));
        begins_as_folded(&sack, &frames[0].mesh);
        is_a_film_of_paper("random", &frames, volume_l);
        ends_as_solved("random", &sack, bottoms, volume_l, &frames);
        nothing_crosses("random", &frames);
        Ok(())
    });
    outcome.expect("every case is a film of paper");
}

#[test]
fn the_same_input_gives_the_same_bits() {
    let sack = plain_sack();
    let [a, b] = [0, 1]
        .map(|_| frames(Film::new(&sack, Bottoms::Stiff, 38.0, FilmSettings::default()).expect("a volume it takes")));
    assert_eq!(a, b);
}

#[test]
fn a_frame_can_be_cancelled_and_asked_for_again() {
    let sack = plain_sack();
    let mut film = Film::new(&sack, Bottoms::Stiff, 38.0, FilmSettings::default()).expect("a volume it takes");
    let mut straight = film.clone();
    for _ in 0..20 {
        film.next_frame(&mut roll).expect("not cancelled");
        straight.next_frame(&mut roll).expect("not cancelled");
    }
    let mut seen = Vec::new();
    let stopped = film.next_frame(&mut |progress| {
        seen.push(progress);
        if seen.len() == 2 { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
    });
    assert_eq!(stopped, Err(FillError::Cancelled));
    let frames = film.frames();
    assert_eq!(seen, [1, 2].map(|iterations| FilmProgress { frame: 20, frames, iterations }));
    assert_eq!(film.next_frame(&mut roll), straight.next_frame(&mut roll));
}

#[test]
fn a_single_frame_is_that_of_the_film() {
    let sack = plain_sack();
    let whole = Film::new(&sack, Bottoms::Stiff, 38.0, FilmSettings::default()).expect("a volume it takes");
    let wanted = frames(whole).into_iter().nth(24);
    let found = film_frame(&sack, Bottoms::Stiff, Filling::Volume(38.0), 0.25).expect("a volume it takes");
    assert_eq!(Some(found), wanted);
}

#[test]
fn what_cannot_be_filled_is_refused() {
    let sack = plain_sack();
    for volume_l in [-1.0, 0.0, 10.0, 60.0, f64::NAN, f64::INFINITY] {
        let refused = Film::new(&sack, Bottoms::Stiff, volume_l, FilmSettings::default());
        assert!(matches!(refused, Err(FillError::Volume { .. })), "{volume_l}");
    }
}

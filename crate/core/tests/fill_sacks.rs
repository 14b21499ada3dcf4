//! Block-bottom sacks: figures of an independent solver with its error bars, and what must hold of every answer.

#![allow(clippy::unwrap_used, clippy::expect_used)]

mod support;

use std::ops::ControlFlow;

use sackwright::fill::{
    Bottoms, Detail, FillError, FilledMesh, Panel, Progress, Question, Settings, Sizes, Solver, Trust,
};
use sackwright::sack::Sack;
use sackwright::sheet::Sheet;

fn go(_: Progress) -> ControlFlow<()> {
    ControlFlow::Continue(())
}

fn solver(sizes: [f64; 4], detail: Detail) -> Solver {
    let [face_width, length, valve, plain] = sizes;
    let sizes = Sizes { face_width, length, bottoms: [valve, plain] };
    Solver::with_sizes(sizes, Settings { detail, ..Settings::default() }).expect("sound sizes")
}

fn is_trustworthy(trust: &Trust) -> bool {
    trust.converged && trust.largest_stretch <= 1.0 + 2e-3 && trust.volume_residual <= 1e-4
}

/// Within 1.5 % or 4 mm.
fn same_size(found: f64, wanted: f64) -> bool {
    (found - wanted).abs() <= (0.015 * wanted).max(4.0)
}

/// Within 1 % or 2 mm.
fn same_thickness(found: f64, wanted: f64) -> bool {
    (found - wanted).abs() <= (0.01 * wanted).max(2.0)
}

/// Face width, length and bottom width; for free and for stiff bottoms: volume and its error bar in l, thickness, width,
/// length in mm.
type Full = ([f64; 3], [[f64; 5]; 2]);

const FULL: [Full; 5] = [
    ([500.0, 640.0, 120.0], [[45.085, 0.023, 296.3, 380.5, 632.7], [44.428, 0.089, 296.1, 392.6, 594.5]]),
    ([350.0, 450.0, 90.0], [[15.732, 0.008, 208.3, 262.4, 447.4], [15.486, 0.031, 208.4, 269.7, 421.1]]),
    ([650.0, 500.0, 80.0], [[46.576, 0.023, 309.5, 546.1, 477.7], [45.823, 0.092, 301.9, 572.9, 418.1]]),
    ([300.0, 1000.0, 150.0], [[28.598, 0.014, 191.2, 191.2, 1031.1], [28.274, 0.057, 191.2, 191.2, 993.4]]),
    ([600.0, 900.0, 180.0], [[96.244, 0.048, 368.0, 435.6, 908.2], [94.721, 0.189, 368.7, 446.4, 859.9]]),
];

#[test]
fn capacities() {
    // What each detail promises of volumes, besides the error bar.
    for (detail, share) in [(Detail::Coarse, 0.015), (Detail::Fine, 0.005), (Detail::Finest, 0.005)] {
        for ([w, l, b], wanted) in FULL {
            let mut solver = solver([w, l, b, b], detail);
            for (bottoms, [volume, bar, thickness, width, length]) in
                [Bottoms::Free, Bottoms::Stiff].into_iter().zip(wanted)
            {
                let found = solver.capacity(bottoms, &mut go).expect("not cancelled");
                let (shape, trust) = (found.shape, found.trust);
                assert!(
                    (shape.volume_l - volume).abs() <= bar + share * volume,
                    "{detail:?} {w} {bottoms:?} {shape:?}"
                );
                assert!(trust.lower_bound_l <= volume + bar, "{detail:?} {w} {bottoms:?} {trust:?}");
                assert!(trust.converged, "{detail:?} {w} {bottoms:?} {trust:?}");
                if detail == Detail::Finest {
                    assert!(is_trustworthy(&trust), "{w} {bottoms:?} {trust:?}");
                    assert!(trust.lower_bound_l >= 0.99 * volume, "{w} {bottoms:?} {trust:?}");
                    assert!(same_thickness(shape.thickness_mm, thickness), "{w} {bottoms:?} {shape:?}");
                    assert!(same_size(shape.width_mm, width), "{w} {bottoms:?} {shape:?}");
                    assert!(same_size(shape.length_mm, length), "{w} {bottoms:?} {shape:?}");
                }
            }
        }
    }
}

#[test]
fn lying() {
    // Volume in l; thickness, head, width, length in mm; contact in cm2; the sack of 500 x 640 x 120, free bottoms.
    for [volume, thickness, head, width, length, contact] in [
        [42.834, 225.07, 449.37, 391.15, 650.96, 953.2],
        [38.325, 176.12, 226.32, 410.18, 672.3, 1693.4],
        [33.816, 143.15, 154.44, 429.69, 688.43, 2189.6],
        [27.053, 103.65, 104.25, 449.86, 706.83, 2595.0],
    ] {
        let mut solver = solver([500.0, 640.0, 120.0, 120.0], Detail::Finest);
        let found = solver.lying(Bottoms::Free, volume, &mut go).expect("a volume it takes");
        let shape = found.shape;
        assert!(same_thickness(shape.thickness_mm, thickness), "{found:?}");
        assert!(same_size(shape.width_mm, width) && same_size(shape.length_mm, length), "{found:?}");
        assert!((found.head_mm / head - 1.0).abs() <= 0.02, "{found:?}");
        assert!((found.contact_cm2 / contact - 1.0).abs() <= 0.02, "{found:?}");
        // The floor carries the weight: contact area times pressure.
        assert!((found.contact_cm2 * found.head_mm / (volume * 1e4) - 1.0).abs() <= 1e-3, "{found:?}");
        assert!(is_trustworthy(&found.trust), "{found:?}");
    }
}

#[test]
fn pressed() {
    // Volume in l; gap, width, length in mm; the sack of 500 x 640 x 120, free bottoms.
    for [volume, gap, width, length] in [
        [42.825, 212.52, 391.66, 651.73],
        [38.318, 162.33, 407.92, 668.41],
        [33.81, 131.23, 423.72, 681.62],
        [27.047, 96.85, 443.55, 699.43],
    ] {
        let mut solver = solver([500.0, 640.0, 120.0, 120.0], Detail::Finest);
        let found = solver.pressed(Bottoms::Free, volume, &mut go).expect("a volume it takes");
        assert!(same_thickness(found.gap_mm, gap), "{found:?}");
        assert!(same_size(found.shape.width_mm, width) && same_size(found.shape.length_mm, length), "{found:?}");
        assert!(found.shape.thickness_mm <= found.gap_mm * (1.0 + 1e-9), "{found:?}");
        assert!(is_trustworthy(&found.trust), "{found:?}");
    }
}

/// The whole mesh is closed, holds its volume to 0.2 %, and no edge and no area of it is larger than its paper
/// allows.
fn is_a_shape_of_paper(mesh: &FilledMesh, volume_l: f64, stretch: f64) {
    is_a_shape_that_holds(mesh, volume_l, 2e-3, stretch);
}

/// See [`is_a_shape_of_paper`]; `share` is how exactly it holds the volume.
fn is_a_shape_that_holds(mesh: &FilledMesh, volume_l: f64, share: f64, stretch: f64) {
    let distance3 = |a: [f64; 3], b: [f64; 3]| (0..3).map(|i| (a[i] - b[i]).powi(2)).sum::<f64>().sqrt();
    let distance2 = |a: [f64; 2], b: [f64; 2]| (0..2).map(|i| (a[i] - b[i]).powi(2)).sum::<f64>().sqrt();
    let (mut volume, mut closing) = (0.0, [0.0; 3]);
    let (mut area, mut sheet) = (0.0, 0.0);
    for corners in &mesh.triangles {
        let at = corners.map(|v| mesh.positions[v as usize]);
        let paper = corners.map(|v| mesh.paper[v as usize]);
        let panel = corners.map(|v| mesh.panel[v as usize]);
        for k in 0..3 {
            let flat = distance2(paper[k], paper[(k + 1) % 3]);
            let space = distance3(at[k], at[(k + 1) % 3]);
            assert!(space <= flat * stretch * (1.0 + 1e-9), "{panel:?}: {space} on {flat} of paper");
        }
        let [a, b, c] = at;
        let normal = [0, 1, 2].map(|i| {
            let (j, k) = ((i + 1) % 3, (i + 2) % 3);
            0.5 * ((b[j] - a[j]) * (c[k] - a[k]) - (b[k] - a[k]) * (c[j] - a[j]))
        });
        let twice = |[a, b, c]: [[f64; 2]; 3]| (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]);
        let (own, flat) = (normal.iter().map(|n| n * n).sum::<f64>().sqrt(), 0.5 * twice(paper).abs());
        assert!(own <= flat * stretch * stretch * (1.0 + 1e-9), "{panel:?}: {own} mm2 of {flat} mm2 of paper");
        (area, sheet) = (area + own, sheet + flat);
        for i in 0..3 {
            closing[i] += normal[i];
            volume += normal[i] * (a[i] + b[i] + c[i]) / 9.0;
        }
    }
    // What wrinkles takes paper.
    assert!(area < sheet, "{area} mm2 of {sheet} mm2 of paper");
    // A closed surface's areas add up to nothing.
    assert!(closing.iter().all(|area| area.abs() <= 1e-6), "{closing:?}");
    assert!((volume * 1e-6 / volume_l - 1.0).abs() <= share, "{} of {volume_l}", volume * 1e-6);
}

#[test]
fn meshes_are_closed_and_no_longer_than_their_paper() {
    for sizes in [[500.0, 640.0, 120.0, 120.0], [500.0, 640.0, 90.0, 150.0]] {
        let mut solver = solver(sizes, Detail::Fine);
        for bottoms in [Bottoms::Free, Bottoms::Stiff] {
            let full = solver.capacity(bottoms, &mut go).expect("not cancelled");
            let mesh = solver.mesh(Question::Capacity, bottoms).expect("just solved");
            is_a_shape_of_paper(&mesh, full.shape.volume_l, full.trust.largest_stretch);
            let volume = 0.88 * full.shape.volume_l;
            let lying = solver.lying(bottoms, volume, &mut go).expect("a volume it takes");
            let mesh = solver.mesh(Question::Lying, bottoms).expect("just solved");
            is_a_shape_of_paper(&mesh, volume, lying.trust.largest_stretch);
            assert!(mesh.positions.iter().all(|at| at[2] >= 0.0));
            let pressed = solver.pressed(bottoms, volume, &mut go).expect("a volume it takes");
            let mesh = solver.mesh(Question::Pressed, bottoms).expect("just solved");
            is_a_shape_of_paper(&mesh, volume, pressed.trust.largest_stretch);
            assert!(mesh.positions.iter().all(|at| at[2].abs() <= pressed.gap_mm * (0.5 + 1e-12)));
            if bottoms == Bottoms::Stiff {
                let bottom = |panel: Panel| {
                    let own = mesh.panel.iter().zip(&mesh.positions).filter(move |(other, _)| **other == panel);
                    own.map(|(_, at)| at[1]).fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), y| (a.min(y), b.max(y)))
                };
                let (near, far) = bottom(Panel::ValveBottom);
                assert!(far - near <= 1e-9, "an upright stiff bottom is flat: {near} to {far}");
            }
        }
    }
}

#[test]
fn ends_may_be_exchanged() {
    let [a, b] = [[500.0, 640.0, 90.0, 150.0], [500.0, 640.0, 150.0, 90.0]].map(|sizes| {
        let mut solver = solver(sizes, Detail::Fine);
        let full = solver.capacity(Bottoms::Stiff, &mut go).expect("not cancelled");
        (
            full.shape.volume_l,
            solver.lying(Bottoms::Stiff, 38.0, &mut go).expect("a volume it takes").shape.thickness_mm,
        )
    });
    assert!((a.0 / b.0 - 1.0).abs() <= 1e-5 && (a.1 / b.1 - 1.0).abs() <= 1e-3, "{a:?} {b:?}");
}

#[test]
fn unequal_bottoms_pass_into_equal_ones() {
    let [equal, nearly] = [[500.0, 640.0, 120.0, 120.0], [500.0, 640.0, 120.01, 119.99]].map(|sizes| {
        let mut solver = solver(sizes, Detail::Fine);
        let full = solver.capacity(Bottoms::Stiff, &mut go).expect("not cancelled");
        (
            full.shape.volume_l,
            solver.lying(Bottoms::Stiff, 38.0, &mut go).expect("a volume it takes").shape.thickness_mm,
        )
    });
    assert!((equal.0 / nearly.0 - 1.0).abs() <= 1e-4, "{equal:?} {nearly:?}");
    assert!((equal.1 / nearly.1 - 1.0).abs() <= 3e-3, "{equal:?} {nearly:?}");
}

#[test]
fn a_warm_start_comes_to_the_same_answer_sooner() {
    // One step of a slider.
    let after = Sizes { face_width: 500.0, length: 641.0, bottoms: [120.0; 2] };
    let mut warm = solver([500.0, 640.0, 120.0, 120.0], Detail::Fine);
    let mut cold = solver([500.0, 641.0, 120.0, 120.0], Detail::Fine);
    let solve = |solver: &mut Solver| {
        let full = solver.capacity(Bottoms::Stiff, &mut go).expect("not cancelled");
        let lying = solver.lying(Bottoms::Stiff, 38.0, &mut go).expect("a volume it takes");
        let pressed = solver.pressed(Bottoms::Stiff, 38.0, &mut go).expect("a volume it takes");
        let figures = [full.shape.volume_l, lying.shape.thickness_mm, pressed.gap_mm];
        let trusts = [full.trust, lying.trust, pressed.trust];
        let changes = trusts.map(|trust| trust.change_from_coarser.expect("a coarser mesh"));
        (figures, changes, trusts.iter().map(|trust| trust.iterations).sum::<usize>())
    };
    solve(&mut warm);
    warm.set_sizes(after).expect("sound sizes");
    let ((warm, warm_changes, few), (cold, cold_changes, many)) = (solve(&mut warm), solve(&mut cold));
    for (warm, cold) in warm.iter().zip(cold) {
        assert!((warm / cold - 1.0).abs() <= 1e-3, "{warm} {cold}");
    }
    // Carried over from the sack before.
    for (warm, cold) in warm_changes.iter().zip(cold_changes) {
        assert!((warm - cold).abs() <= 1e-3, "{warm} {cold}");
    }
    assert!(5 * few <= many, "{few} iterations instead of {many}");
}

/// A sack is asked about as filled and as settled, hanging freely and on a saddle: each starts from its own last answer.
#[test]
fn questions_asked_in_turn_all_start_warm() {
    let at = |length: f64| solver([500.0, length, 120.0, 120.0], Detail::Coarse);
    let solve = |solver: &mut Solver| {
        let mut figures = Vec::new();
        let mut iterations = 0;
        for volume in [42.0, 37.0] {
            let lying = solver.lying(Bottoms::Stiff, volume, &mut go).expect("a volume it takes");
            let pressed = solver.pressed(Bottoms::Stiff, volume, &mut go).expect("a volume it takes");
            figures.extend([lying.shape.thickness_mm, pressed.gap_mm]);
            iterations += lying.trust.iterations + pressed.trust.iterations;
        }
        for saddle in [None, Some(610.0)] {
            let hanging = solver.hanging(Bottoms::Stiff, 42.0, saddle, &mut go).expect("a volume it takes");
            figures.push(hanging.thickness_mm);
            iterations += hanging.trust.iterations;
        }
        (figures, iterations)
    };
    let mut warm = at(640.0);
    solve(&mut warm);
    warm.set_sizes(Sizes { face_width: 500.0, length: 641.0, bottoms: [120.0; 2] }).expect("sound sizes");
    let ((warm, few), (cold, many)) = (solve(&mut warm), solve(&mut at(641.0)));
    for (warm, cold) in warm.iter().zip(cold) {
        assert!((warm / cold - 1.0).abs() <= 2e-3, "{warm} {cold}");
    }
    assert!(4 * few <= many, "{few} iterations instead of {many}");
}

#[test]
fn the_same_input_gives_the_same_bits() {
    let [a, b] = [0, 1].map(|_| {
        let mut solver = solver([500.0, 640.0, 120.0, 90.0], Detail::Coarse);
        let lying = solver.lying(Bottoms::Stiff, 38.0, &mut go).expect("a volume it takes");
        (lying, solver.mesh(Question::Lying, Bottoms::Stiff))
    });
    assert_eq!(a, b);
}

#[test]
fn a_solve_can_be_cancelled_and_taken_up_again() {
    let sack = Sack::new(Sheet::new(support::plain_sheet()).expect("valid"));
    let mut solver = Solver::new(&sack, Settings { detail: Detail::Coarse, ..Settings::default() });
    let mut seen = Vec::new();
    let mut stop = |progress: Progress| {
        seen.push(progress);
        if seen.len() == 5 { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
    };
    assert_eq!(solver.capacity(Bottoms::Stiff, &mut stop), Err(FillError::Cancelled));
    assert_eq!(seen.len(), 5);
    assert!(seen.iter().zip(1..).all(|(progress, count)| progress.iterations == count && progress.levels == 2));
    let fresh = Solver::new(&sack, Settings { detail: Detail::Coarse, ..Settings::default() })
        .capacity(Bottoms::Stiff, &mut go);
    assert_eq!(solver.capacity(Bottoms::Stiff, &mut go), fresh);
}

#[test]
fn what_cannot_be_solved_is_refused() {
    let mut solver = solver([500.0, 640.0, 120.0, 120.0], Detail::Coarse);
    for volume in [-1.0, 0.0, 17.0, 44.9, 1e9, f64::NAN, f64::INFINITY] {
        assert!(matches!(solver.lying(Bottoms::Stiff, volume, &mut go), Err(FillError::Volume { .. })), "{volume}");
        assert!(matches!(solver.pressed(Bottoms::Stiff, volume, &mut go), Err(FillError::Volume { .. })), "{volume}");
    }
    // A standing sack may not be limp, and a saddle must leave it room.
    assert!(matches!(solver.standing(Bottoms::Stiff, 30.0, &mut go), Err(FillError::Volume { .. })));
    for saddle in [0.0, -5.0, 100.0, 450.0, f64::NAN, f64::INFINITY] {
        let refused = solver.hanging(Bottoms::Stiff, 40.0, Some(saddle), &mut go);
        assert!(matches!(refused, Err(FillError::Saddle { .. })), "{saddle}: {refused:?}");
    }
    for bad in [0.0, -5.0, f64::NAN, f64::INFINITY, 1e9] {
        for field in 0..4 {
            let mut sizes = [500.0, 640.0, 120.0, 120.0];
            sizes[field] = bad;
            let [face_width, length, valve, plain] = sizes;
            let sizes = Sizes { face_width, length, bottoms: [valve, plain] };
            assert!(matches!(Solver::with_sizes(sizes, Settings::default()), Err(FillError::Sizes)), "{sizes:?}");
        }
    }
}

/// As [`is_trustworthy`], for meshes that are not the finest.
fn is_settled(trust: &Trust) -> bool {
    trust.converged && trust.largest_stretch <= 1.0 + 5e-3 && trust.volume_residual <= 1e-4
}

/// Pressed flatter than their width, stiff bottoms lean, and everything goes on evenly from where they stood upright.
#[test]
fn stiff_bottoms_lean_between_the_plates() {
    let mut solver = solver([500.0, 640.0, 120.0, 120.0], Detail::Fine);
    let mut gaps = Vec::new();
    for volume in [32.0, 31.0, 30.0, 28.0, 26.0, 22.0, 18.5] {
        let found = solver.pressed(Bottoms::Stiff, volume, &mut go).expect("a volume it takes");
        assert!(is_settled(&found.trust), "{found:?}");
        let mesh = solver.mesh(Question::Pressed, Bottoms::Stiff).expect("just solved");
        // The flatter the sack, the more the stretch that is reckoned out of the figures is of its volume.
        is_a_shape_that_holds(&mesh, volume, 4e-3, found.trust.largest_stretch);
        let heights = mesh.positions.iter().map(|at| at[2]);
        let (low, high) = heights.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), z| (a.min(z), b.max(z)));
        assert!(high - low <= found.gap_mm * (1.0 + 1e-12), "{found:?}");
        if found.gap_mm < 120.0 {
            // Both lean the same way, as far as the gap makes them at least.
            for panel in [Panel::ValveBottom, Panel::PlainBottom] {
                let own = mesh.panel.iter().zip(&mesh.positions).filter(|(other, _)| **other == panel);
                let low = own.clone().map(|(_, at)| *at).min_by(|a, b| a[2].total_cmp(&b[2])).expect("vertices");
                let high = own.map(|(_, at)| *at).max_by(|a, b| a[2].total_cmp(&b[2])).expect("vertices");
                assert!(
                    high[1] - low[1] >= (120.0_f64.powi(2) - found.gap_mm.powi(2)).sqrt() - 1e-6,
                    "{low:?} {high:?}"
                );
                let wide = ((high[1] - low[1]).powi(2) + (high[2] - low[2]).powi(2)).sqrt();
                assert!((wide - 120.0).abs() < 1e-9, "{low:?} {high:?}");
            }
        }
        gaps.push((volume, found.gap_mm, found.contact_cm2));
    }
    assert!(
        gaps.first().is_some_and(|(_, gap, _)| *gap > 120.0) && gaps.last().is_some_and(|(_, gap, _)| *gap < 100.0)
    );
    for pair in gaps.windows(2) {
        let [(volume, gap, _), (less, nearer, _)] = pair else { continue };
        // Plates that come closer press the volume out over their contact.
        let area = (volume - less) * 1e6 / (gap - nearer);
        assert!(nearer < gap && (1e5..4.5e5).contains(&area), "{gaps:?}");
    }
}

/// Spout and saddle carry the weight between them; the nearer the saddle, the less the spout.
#[test]
fn spout_and_saddle_carry_the_weight() {
    for (sizes, volume) in [([500.0, 640.0, 120.0, 120.0], 40.0), ([350.0, 450.0, 100.0, 80.0], 13.0)] {
        let mut solver = solver(sizes, Detail::Fine);
        let full = solver.capacity(Bottoms::Stiff, &mut go).expect("not cancelled").shape;
        for bottoms in [Bottoms::Stiff, Bottoms::Free] {
            let free = solver.hanging(bottoms, volume, None, &mut go).expect("a volume it takes");
            assert!(is_settled(&free.trust), "{free:?}");
            assert!((free.on_spout - 1.0).abs() <= 1e-3 && free.on_saddle == 0.0, "{free:?}");
            // The weight draws it out, but no further than the paper reaches.
            assert!(free.length_mm > full.length_mm, "{free:?}");
            assert!(free.length_mm < sizes[1] + 0.5 * sizes[3], "{free:?}");
            let mut before = free;
            for share in [0.98, 0.95, 0.92] {
                let saddle = share * free.length_mm;
                let found = solver.hanging(bottoms, volume, Some(saddle), &mut go).expect("room enough");
                assert!(is_settled(&found.trust), "{found:?}");
                assert!((found.on_spout + found.on_saddle - 1.0).abs() <= 2e-3, "{found:?}");
                assert!((found.length_mm - saddle).abs() < 1e-9, "{found:?}");
                assert!(found.on_spout < before.on_spout, "{before:?} {found:?}");
                before = found;
            }
        }
    }
}

/// Hanging, the valve bottom is stiff, so that a sack with free bottoms holds less than its capacity: more comes to no rest.
#[test]
fn a_hanging_sack_that_is_too_full_is_no_answer() {
    for (sizes, share) in [([652.0, 570.0, 272.0, 127.0], 0.99), ([316.0, 225.0, 131.0, 131.0], 0.98)] {
        let mut solver = solver(sizes, Detail::Coarse);
        let full = solver.capacity(Bottoms::Free, &mut go).expect("not cancelled").shape.volume_l;
        let over = solver.hanging(Bottoms::Free, share * full, None, &mut go).expect("a volume it takes");
        assert!(!over.trust.converged, "{over:?}");
        let under = solver.hanging(Bottoms::Free, 0.9 * full, None, &mut go).expect("a volume it takes");
        assert!(under.trust.converged && (under.on_spout - 1.0).abs() <= 0.02, "{under:?}");
    }
}

/// Standing, the floor carries the weight.
#[test]
fn a_standing_sack_is_carried_by_the_floor() {
    let mut solver = solver([500.0, 640.0, 120.0, 120.0], Detail::Fine);
    for bottoms in [Bottoms::Stiff, Bottoms::Free] {
        let mut before = f64::INFINITY;
        for volume in [43.0, 41.5, 40.0] {
            let found = solver.standing(bottoms, volume, &mut go).expect("a volume it takes");
            assert!(is_settled(&found.trust), "{found:?}");
            assert!((found.carried - 1.0).abs() <= 2e-3, "{found:?}");
            assert!(found.height_mm < before && found.level_mm == 0.0, "{found:?}");
            before = found.height_mm;
            let mesh = solver.mesh(Question::Standing, bottoms).expect("just solved");
            is_a_shape_of_paper(&mesh, volume, found.trust.largest_stretch);
        }
    }
}

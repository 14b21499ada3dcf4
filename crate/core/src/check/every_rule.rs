//! What holds of every rule, whichever it is: a new rule is held to it by itself. The same random sheets, cards, habits and
//! figures of filled sacks every time.

use core::cmp::Ordering;
use std::collections::{BTreeMap, BTreeSet};

use proptest::prelude::*;
use proptest::strategy::ValueTree;
use proptest::test_runner::TestRunner;

use crate::cards::{LengthRange, Line, LineFile, Packer, Pallet, SpoutShape, Works, read_line};
use crate::check::context::Context;
use crate::check::rule::Rule;
use crate::check::{Against, Habits, RULES, apply, check_with, support, testing};
use crate::fill::{Content, Filled};
use crate::finding::{Arg, Finding, Severity, SilenceKind, Silent, Worse};
use crate::pallet::{Stack, stack};
use crate::sack::Sack;
use crate::sheet::{self, CutKind, Sheet, SheetFile, SleeveKind};
use crate::tolerance::EXACT_MM;
use crate::units::Quantity;

/// All that a rule may read; of the cards, whatever there is.
#[derive(Clone, Debug)]
struct Inputs {
    file: SheetFile,
    line: Option<Line>,
    works: Option<Works>,
    pallet: Option<Pallet>,
    stack: Option<Stack>,
    filled: Option<Filled>,
    habits: Habits,
}

impl Inputs {
    fn against(&self) -> Against<'_> {
        Against {
            line: self.line.as_ref(),
            habits: Some(&self.habits),
            works: self.works.as_ref(),
            pallet: self.pallet.as_ref(),
            stack: self.stack.as_ref(),
            filled: self.filled.as_ref(),
        }
    }

    fn sack(&self) -> Sack {
        Sack::new(Sheet::new(self.file.clone()).unwrap())
    }

    fn content(&self) -> Option<&Content> {
        self.filled.as_ref()?.content.as_ref()
    }

    fn line_file(&self) -> &LineFile {
        self.line.as_ref().unwrap().file()
    }

    /// What each rule says, in the order of the list, without cures.
    fn heard(&self) -> Vec<(&'static Rule, Result<Vec<Finding>, Silent>)> {
        let sack = self.sack();
        let context = Context { sack: &sack, against: self.against(), habits: &self.habits };
        let says = |rule: &&'static Rule| match (rule.check)(&context) {
            Ok(judgements) => (*rule, Ok(judgements.into_iter().map(|judgement| judgement.of(rule).0).collect())),
            Err(silence) => (*rule, Err(silence.of(rule))),
        };
        RULES.iter().map(says).collect()
    }
}

/// Random inputs with every card there is.
fn all_there() -> impl Strategy<Value = Inputs> {
    let cards = (support::valid_line(), support::valid_works(), support::valid_pallet());
    (support::valid_sheet(), cards, support::filled_sack(), support::filled(), support::habits()).prop_map(
        |(file, (line, works, pallet), sack, filled, habits)| {
            let stack = Some(stack(&pallet, &sack));
            let (line, works, pallet, filled) = (Some(line), Some(works), Some(pallet), Some(filled));
            Inputs { file, line, works, pallet, stack, filled, habits }
        },
    )
}

/// Random inputs with any of the cards.
fn some_there() -> impl Strategy<Value = Inputs> {
    (all_there(), any::<[bool; 5]>()).prop_map(|(all, there)| Inputs {
        line: all.line.filter(|_| there[0]),
        works: all.works.filter(|_| there[1]),
        pallet: all.pallet.filter(|_| there[2]),
        stack: all.stack.filter(|_| there[3]),
        filled: all.filled.filter(|_| there[4]),
        ..all
    })
}

/// So many of them, the same every time.
fn samples<T: core::fmt::Debug>(count: usize, strategy: impl Strategy<Value = T>) -> impl Iterator<Item = T> {
    let mut runner = TestRunner::deterministic();
    (0..count).map(move |_| strategy.new_tree(&mut runner).unwrap().current())
}

/// The last part of the key by which a silent rule says why.
fn reason(silent: &Silent) -> &str {
    silent.message.key.rsplit('.').next().unwrap()
}

/// Whether what a silent rule gives as its reason is so.
fn is_so(silent: &Silent, inputs: &Inputs) -> bool {
    let (file, content) = (&inputs.file, inputs.content());
    let valve = &file.valve_end.valve;
    let hanging = content.and_then(|content| content.hanging);
    let none = |range: LengthRange| range.min.is_none() && range.max.is_none();
    let pallet = || inputs.pallet.as_ref().unwrap().file();
    let layers = || inputs.stack.as_ref().unwrap().layers.len();
    let (kind, key) = (silent.kind, reason(silent));
    let lacks = |is_so: bool| kind == SilenceKind::Lacks && is_so;
    let not_applicable = |is_so: bool| kind == SilenceKind::NotApplicable && is_so;
    match key {
        "line" => lacks(inputs.line.is_none()),
        "works" => lacks(inputs.works.is_none()),
        "pallet" => lacks(inputs.pallet.is_none()),
        "stack" => lacks(inputs.stack.is_none()),
        "filled" => lacks(inputs.filled.is_none()),
        "contents" => {
            let unknown = |filled: &Filled| filled.content.is_none_or(|content| content.settled.is_none());
            lacks(file.contents.is_none() || inputs.filled.as_ref().is_some_and(unknown))
        }
        "aerated" => lacks(file.contents.as_ref().is_some_and(|contents| contents.aerated_density_kg_m3.is_none())),
        "artwork" => lacks(file.artwork.is_none()),
        "front" => lacks(file.artwork.as_ref().is_some_and(|artwork| artwork.front.is_none())),
        "gurley" => lacks(file.plies.iter().any(|ply| ply.air_resistance_gurley_s.is_none())),
        "rate" => lacks(inputs.line_file().rate_sacks_per_h.is_none()),
        "saddle" => lacks(none(inputs.line_file().spout_to_saddle_mm)),
        "line_takes" => {
            let takes = inputs.line_file().takes;
            let lengths = [takes.face_width_mm, takes.length_mm, takes.bottom_width_mm, takes.valve_width_mm];
            let no_mass = file.contents.is_none() || (takes.mass_kg.min.is_none() && takes.mass_kg.max.is_none());
            lacks(lengths.into_iter().all(none) && no_mass)
        }
        "works_range" => {
            let works = inputs.works.as_ref().unwrap().file();
            let (tuber, bottomer) = (&works.tuber, &works.bottomer);
            lacks(match silent.rule {
                "works-web-width" => none(tuber.web_width_mm),
                "works-face-width" => none(tuber.face_width_mm) && none(bottomer.face_width_mm),
                "works-tube-length" => none(tuber.tube_length_mm) && none(bottomer.tube_length_mm),
                "works-plies" => tuber.plies.min.is_none() && tuber.plies.max.is_none(),
                "works-step" => none(tuber.step_mm),
                "works-print-repeat" => none(tuber.print_repeat_mm),
                "works-centre-distance" => none(bottomer.bottom_centre_distance_mm),
                "works-bottom-width" => none(bottomer.bottom_width_mm),
                "works-valve-side" => bottomer.valve_sides.is_none(),
                "works-sleeve-length" => none(bottomer.sleeve_length_mm),
                "works-patch-length" => none(bottomer.patch_length_mm),
                "works-patch-width" => none(bottomer.patch_width_mm),
                _ => false,
            })
        }
        "at_rest" => {
            let settled = content.and_then(|content| content.settled.or(Some(content.filling)));
            lacks(settled.is_some_and(|settled| settled.lying.is_none() && settled.pressed.is_none()))
        }
        "hanging" => lacks(content.is_some() && hanging.is_none()),
        "no_tube" => not_applicable(valve.sleeve == SleeveKind::Reinforcement),
        "tucked_in" => not_applicable(valve.sleeve == SleeveKind::External),
        "one_ply" | "one_seam" => not_applicable(file.plies.len() == 1),
        "flush_cut" => not_applicable(file.cut.kind == CutKind::Flush),
        "no_patch" => not_applicable(file.valve_end.patch.is_none() && file.plain_end.patch.is_none()),
        "no_valve_patch" => not_applicable(file.valve_end.patch.is_none()),
        "no_dust" => not_applicable(file.contents.as_ref().is_some_and(|contents| !contents.dusty)),
        "no_danger" => not_applicable(file.contents.as_ref().is_some_and(|contents| !contents.dangerous_goods)),
        "no_air" => {
            let heavy = |aerated: f64| aerated >= file.contents.as_ref().unwrap().bulk_density_kg_m3;
            not_applicable(file.contents.as_ref().unwrap().aerated_density_kg_m3.is_some_and(heavy))
        }
        "little_air" => not_applicable(matches!(inputs.line_file().packer, Packer::Screw | Packer::Gravity)),
        "repeat" => not_applicable(file.artwork.as_ref().unwrap().repeat_mm.is_none()),
        "no_barcode" => not_applicable(file.artwork.as_ref().unwrap().barcode.is_none()),
        "hanging_known" => not_applicable(file.contents.is_some() && hanging.is_some()),
        "no_layer" => not_applicable(layers() == 0),
        "one_layer" => not_applicable(layers() == 1),
        "any_tube_length" => not_applicable(inputs.works.as_ref().unwrap().file().tuber.tube_length_step_mm.is_none()),
        "pallet_height" => not_applicable(pallet().max_total_height_mm.is_none()),
        "pallet_load" => not_applicable(pallet().max_load_kg.is_none()),
        "pallet_layers" => not_applicable(pallet().max_layers.is_none()),
        _ => false,
    }
}

/// Reasons that lie in the sheet alone.
const OF_THE_SHEET: [&str; 10] = [
    "no_tube",
    "tucked_in",
    "one_ply",
    "one_seam",
    "flush_cut",
    "no_patch",
    "no_valve_patch",
    "no_dust",
    "no_danger",
    "no_air",
];

#[test]
fn every_rule_speaks_or_says_truly_why_not() {
    for inputs in samples(1000, some_there()) {
        for (rule, said) in inputs.heard() {
            match said {
                Ok(findings) => assert!(!findings.is_empty(), "{} says nothing", rule.name),
                Err(silent) => assert!(is_so(&silent, &inputs), "{silent:?}\n{inputs:?}"),
            }
        }
    }
}

/// Reasons that lie in a card, whatever is filled in.
const OF_A_CARD: [&str; 5] = ["little_air", "any_tube_length", "pallet_height", "pallet_load", "pallet_layers"];

/// Nobody is asked for an input that would change nothing.
#[test]
fn a_rule_that_has_nothing_to_judge_asks_for_no_more() {
    for all in samples(300, all_there()) {
        let cards = Inputs { stack: None, filled: None, ..all.clone() };
        let bare = Inputs { line: None, works: None, pallet: None, ..cards.clone() };
        for (i, (rule, with)) in all.heard().into_iter().enumerate() {
            let Err(silent) = with else { continue };
            let is_of = |keys: &[&str]| keys.contains(&reason(&silent));
            let without = match () {
                () if is_of(&OF_THE_SHEET) => &bare,
                () if is_of(&OF_A_CARD) => &cards,
                () => continue,
            };
            assert_eq!(without.heard()[i].1, Err(silent), "{}", rule.name);
        }
    }
}

/// An input, and how it is taken away.
type Taken = (&'static str, fn(&mut Inputs));

/// Every input that may be missing, under the name that a rule gives it when it is.
const TAKEN: [Taken; 15] = [
    ("line", |inputs| inputs.line = None),
    ("works", |inputs| inputs.works = None),
    ("pallet", |inputs| inputs.pallet = None),
    ("stack", |inputs| inputs.stack = None),
    ("filled", |inputs| inputs.filled = None),
    ("contents", |inputs| inputs.file.contents = None),
    ("contents", |inputs| inputs.filled.as_mut().unwrap().content = None),
    ("hanging", |inputs| edit_content(inputs, |content| content.hanging = None)),
    ("at_rest", |inputs| {
        edit_content(inputs, |content| {
            for amount in [Some(&mut content.filling), content.settled.as_mut()].into_iter().flatten() {
                (amount.lying, amount.pressed) = (None, None);
            }
        });
    }),
    ("aerated", |inputs| {
        if let Some(contents) = &mut inputs.file.contents {
            contents.aerated_density_kg_m3 = None;
        }
    }),
    ("gurley", |inputs| inputs.file.plies.last_mut().unwrap().air_resistance_gurley_s = None),
    ("artwork", |inputs| inputs.file.artwork = None),
    ("front", |inputs| {
        if let Some(artwork) = &mut inputs.file.artwork {
            artwork.front = None;
        }
    }),
    ("rate", |inputs| edit_line(inputs, |line| line.rate_sacks_per_h = None)),
    ("saddle", |inputs| edit_line(inputs, |line| line.spout_to_saddle_mm = LengthRange::default())),
];

fn edit_content(inputs: &mut Inputs, edit: impl Fn(&mut Content)) {
    if let Some(content) = inputs.filled.as_mut().and_then(|filled| filled.content.as_mut()) {
        edit(content);
    }
}

fn edit_line(inputs: &mut Inputs, edit: impl Fn(&mut LineFile)) {
    let mut file = inputs.line_file().clone();
    edit(&mut file);
    inputs.line = Some(Line::new(file).unwrap());
}

/// Rules that do with less: without the input they still judge, in another way.
const DO_WITHOUT: [(&str, &str); 6] = [
    // Of five measures one is the contents'.
    ("line-takes", "contents"),
    // The flat length stands in for the filled one.
    ("saddle", "filled"),
    ("saddle", "contents"),
    ("saddle", "hanging"),
    // Unless the packer is known to carry little air in, it is taken to carry much.
    ("air", "line"),
    ("works-print-repeat", "front"),
];

/// Without an input that it reads, a rule names that input; what it does not read changes nothing.
#[test]
fn without_an_input_a_rule_asks_for_it() {
    let mut asked = BTreeSet::new();
    for all in samples(400, all_there()) {
        let before = all.heard();
        for (name, take) in TAKEN {
            let mut without = all.clone();
            take(&mut without);
            for ((rule, then), (_, now)) in before.iter().zip(without.heard()) {
                if *then == now || DO_WITHOUT.contains(&(rule.name, name)) {
                    continue;
                }
                let Err(silent) = &now else { panic!("{} without {name}: {now:?}, was {then:?}", rule.name) };
                assert_eq!((reason(silent), silent.kind), (name, SilenceKind::Lacks), "{}: {then:?}", rule.name);
                asked.insert(name);
            }
        }
    }
    assert_eq!(asked, TAKEN.iter().map(|(name, _)| *name).collect());
}

/// Every limit of the habits, and the rule that it is a limit of.
const LIMITS: [(&str, &str); 49] = [
    ("pocket_gap_mm", "pocket-gap"),
    ("bottoms_gap_mm", "bottoms-room"),
    ("folded_gap_mm", "bottoms-apart"),
    ("least_proportion", "proportion"),
    ("most_proportion", "proportion"),
    ("lap_floor_mm", "lap"),
    ("lap_flush_mm", "lap"),
    ("lap_stepped_mm", "lap"),
    ("lap_from_step_mm", "step-to-lap"),
    ("least_step_mm", "step"),
    ("most_step_mm", "step"),
    ("flap_mm", "flap-depth"),
    ("least_patch_side_mm", "patch-width"),
    ("most_patch_side_mm", "patch-width"),
    ("patch_margin_mm", "patch-closes"),
    ("seam_clear_mm", "seam-clear"),
    ("seam_lap_mm", "seam-lap"),
    ("least_seam_lap_mm", "seam-lap"),
    ("most_seam_lap_mm", "seam-lap"),
    ("seam_band_mm", "seam-band"),
    ("sleeve_side_mm", "sleeve-width"),
    ("sleeve_free_share", "sleeve-reach"),
    ("sleeve_far_mm", "sleeve-far-pocket"),
    ("sleeve_length_share", "sleeve-length"),
    ("mouth_behind_mm", "sleeve-mouth"),
    ("mouth_before_mm", "sleeve-mouth"),
    ("least_tuck_mm", "sleeve-mouth"),
    ("most_tuck_mm", "sleeve-mouth"),
    ("spout_before_sleeve_mm", "spout-in-sleeve"),
    ("spout_height_margin_mm", "spout-height"),
    ("least_plies", "plies"),
    ("paper_per_kg_g_m2", "paper"),
    ("print_side_mm", "print-room"),
    ("print_fold_mm", "print-room"),
    ("barcode_clear_mm", "barcode"),
    ("repeat_mm", "print-repeat"),
    ("least_headroom", "headroom"),
    ("most_headroom", "headroom"),
    ("least_fill_ratio", "fill-ratio"),
    ("most_thickness_share", "thickness"),
    ("freeboard_mm", "freeboard"),
    ("most_gurley_s", "air"),
    ("filling_pressure_kpa", "air-time"),
    ("air_time_share", "air-time"),
    ("pallet_cover_share", "pallet-cover"),
    ("overhang_mm", "pallet-overhang"),
    ("binding_share", "pallet-binding"),
    ("pallet_leeway_mm", "pallet-leeway"),
    ("handling_kg", "handling"),
];

/// A limit moves the rule that it is a limit of, and no other; no limit is for nothing.
#[test]
fn every_habit_moves_its_rule() {
    let mut moved = BTreeSet::new();
    let mut way = [0.2, 4.0].into_iter().cycle();
    for all in samples(200, all_there()) {
        let (before, card, by) = (all.heard(), serde_json::to_value(&all.habits).unwrap(), way.next().unwrap());
        for (name, value) in card.as_object().unwrap().iter().filter(|(_, value)| value.is_number()) {
            let mut card = card.clone();
            card[name] =
                value.as_u64().map_or_else(|| (value.as_f64().unwrap() * by).into(), |count| (count + 3).into());
            let other = Inputs { habits: serde_json::from_value(card).unwrap(), ..all.clone() };
            let changed = before.iter().zip(other.heard()).filter(|((_, then), (_, now))| then != now);
            moved.extend(changed.map(|((rule, _), _)| (name.clone(), rule.name)));
        }
    }
    assert_eq!(moved, LIMITS.iter().map(|(name, rule)| ((*name).to_owned(), *rule)).collect());
}

/// Limits that are aims: what holds lies near them on either side, or what is ill does.
const AIMS: [&str; 6] = [
    "print_repeat.holds",
    "print_repeat.wanders",
    "step_to_lap.holds",
    "step_to_lap.nearly_holds",
    "works_tube_length_step.holds",
    "works_tube_length_step.between",
];

/// Value and limit agree with what is said of them: the same words always mean the same side of the limit, and what is ill
/// lies off it.
#[test]
fn a_value_lies_on_the_side_of_its_limit_that_the_words_say() {
    let mut sides: BTreeMap<String, BTreeSet<Ordering>> = BTreeMap::new();
    for inputs in samples(1000, all_there()) {
        for finding in inputs.heard().into_iter().filter_map(|(_, said)| said.ok()).flatten() {
            let (Some(value), Some(limit)) = (finding.value, finding.limit) else { continue };
            assert_eq!(value.dimension, limit.dimension, "{finding:?}");
            let side = value.value.partial_cmp(&limit.value).unwrap();
            assert!(finding.severity == Severity::Good || side != Ordering::Equal, "{finding:?}");
            // On the limit itself holds whatever side is meant, rounding aside.
            if (value.value - limit.value).abs() > EXACT_MM {
                sides.entry(finding.message.key.into_owned()).or_default().insert(side);
            }
        }
    }
    for (key, sides) in sides {
        assert!(sides.len() == 1 || AIMS.iter().any(|aim| key.ends_with(aim)), "{key}: {sides:?}");
    }
}

/// What is said only of a caution, or only where all is well.
const ONE_SIDED: [(&str, Severity); 3] =
    [("pallet-care", Severity::Look), ("dust", Severity::Look), ("pallet-layers", Severity::Good)];

/// What is ill has a cure.
#[test]
fn every_finding_that_is_ill_has_a_cure() {
    for inputs in samples(600, some_there()) {
        for finding in check_with(&inputs.sack(), &inputs.against()).findings {
            assert_eq!(finding.cure.is_none(), finding.severity == Severity::Good, "{finding:?}\n{inputs:?}");
        }
    }
}

/// These sheets reach both sides of every limit.
#[test]
fn every_rule_is_seen_to_hold_and_not_to_hold() {
    let mut said: BTreeSet<(&str, bool)> = BTreeSet::new();
    for inputs in samples(1500, all_there()) {
        let findings = inputs.heard().into_iter().filter_map(|(_, said)| said.ok()).flatten();
        said.extend(findings.map(|finding| (finding.rule, finding.severity == Severity::Good)));
    }
    for rule in RULES {
        let sides = ONE_SIDED.iter().find(|(name, _)| *name == rule.name);
        for is_good in [true, false] {
            let expected = sides.is_none_or(|(_, severity)| (*severity == Severity::Good) == is_good);
            assert_eq!(said.contains(&(rule.name, is_good)), expected, "{} {is_good}", rule.name);
        }
    }
}

fn find<'a>(all: &'a [Finding], of: &Finding) -> Option<&'a Finding> {
    all.iter().find(|now| (now.rule, now.place) == (of.rule, of.place))
}

/// The promise of every cure: apply it, and the same rule at the same place is good, nothing else weighs more than before
/// but what the cure tells, and the sheet stays readable. What the filled shape says of the changed sack only computing it
/// anew can tell.
#[test]
fn every_cure_cures() {
    for inputs in samples(1000, some_there()) {
        let bare = Inputs { filled: None, stack: None, ..inputs.clone() };
        let (before, _) = testing::judged(&bare.file, &bare.against());
        for ill in check_with(&inputs.sack(), &inputs.against()).findings {
            let Some(cure) = ill.cure.as_ref().filter(|cure| !cure.set.is_empty()) else {
                assert!(ill.cure.is_none_or(|cure| cure.worsens.is_empty()));
                continue;
            };
            let changed = Sheet::new(apply(&inputs.file, &cure.set).unwrap()).unwrap();
            let changed = sheet::read(&changed.to_json()).unwrap();
            let (after, _) = testing::judged(changed.file(), &bare.against());
            if find(&before, &ill).is_some() {
                assert_eq!(find(&after, &ill).map(|now| now.severity), Some(Severity::Good), "{ill:?}");
            }
            for now in &after {
                let then = find(&before, now).map_or(Severity::Good, |then| then.severity);
                let told = Worse { rule: now.rule, place: now.place, severity: now.severity };
                assert_eq!(now.severity < then, cure.worsens.contains(&told), "{ill:?} {now:?}");
            }
        }
    }
}

/// A cure away from the sheet cures as well, where it gives a figure: a line with such a spout is one that a card can
/// describe, and the rule holds.
#[test]
fn another_spout_cures() {
    let mut tried = BTreeSet::new();
    for inputs in samples(1000, some_there()) {
        let Some(line) = &inputs.line else { continue };
        for ill in check_with(&inputs.sack(), &inputs.against()).findings {
            let Some(cure) = ill.cure.as_ref().filter(|cure| cure.set.is_empty()) else { continue };
            let Some((_, advice)) = cure.message.key.split_once(".spout_") else { continue };
            let Some(Arg::Quantity(Quantity { value, .. })) = cure.message.args.get("value") else { panic!("{ill:?}") };
            let mut card = line.file().clone();
            let spout = &mut card.spout;
            match (advice.rsplit_once('_').unwrap().0, spout.shape) {
                ("diameter", _) | ("height", SpoutShape::Round) => spout.outside_diameter_mm = Some(*value),
                ("height", SpoutShape::Oval) => spout.height_mm = Some(*value),
                ("reach", _) => spout.reach_mm = *value,
                ("girth", _) => {
                    // The same shape in another size.
                    let size = value / line.spout_girth_mm();
                    for side in [&mut spout.outside_diameter_mm, &mut spout.width_mm, &mut spout.height_mm] {
                        *side = side.map(|side| size * side);
                    }
                }
                _ => panic!("{advice}"),
            }
            let other = read_line(&serde_json::to_string(&card).unwrap()).unwrap();
            let after = testing::judged(&inputs.file, &Against { line: Some(&other), ..inputs.against() }).0;
            assert_eq!(find(&after, &ill).map(|now| now.severity), Some(Severity::Good), "{ill:?} {line:?}");
            tried.insert(advice.to_owned());
        }
    }
    assert_eq!(tried.len(), 7, "{tried:?}");
}

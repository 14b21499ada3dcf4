//! Every caption that the core can send has its words, and the words ask for nothing that it does not send.

#![allow(clippy::unwrap_used, clippy::panic)]

use std::path::Path;

use sackwright::fold::{Stage, caption_figures, captions};
use sackwright::sack::Sack;
use serde_json::Value;

fn words() -> Value {
    serde_json::from_str(include_str!("../../../web/words/en.json")).unwrap()
}

fn text<'a>(words: &'a Value, key: &str) -> Option<&'a str> {
    key.split('.').try_fold(words, |at, step| at.get(step))?.as_str()
}

/// Every example, and each with one ply, with a flush cut, with each sleeve and without patches.
fn sacks() -> Vec<Sack> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/sacks");
    let mut sacks = Vec::new();
    for entry in std::fs::read_dir(folder).unwrap() {
        let sheet: Value = serde_json::from_slice(&std::fs::read(entry.unwrap().path()).unwrap()).unwrap();
        let mut variants = vec![sheet.clone()];
        for sleeve in ["internal", "external", "reinforcement"] {
            let mut variant = sheet.clone();
            variant["valve_end"]["valve"]["sleeve"] = sleeve.into();
            variants.push(variant);
        }
        let mut flush = sheet.clone();
        flush["cut"] = serde_json::json!({ "kind": "flush" });
        flush["plies"] = vec![sheet["plies"][0].clone(); 2].into();
        for end in ["valve_end", "plain_end"] {
            flush[end].as_object_mut().unwrap().remove("patch");
        }
        let mut single = flush.clone();
        single["plies"] = vec![sheet["plies"][0].clone()].into();
        variants.extend([flush, single]);
        sacks.extend(variants.iter().map(|variant| Sack::read(&variant.to_string()).unwrap()));
    }
    sacks
}

#[test]
fn captions_have_their_words() {
    let words = words();
    for sack in sacks() {
        let figures = caption_figures(&sack);
        for stage in Stage::ALL {
            let told = captions(&sack, stage);
            for key in [told.what, told.why, told.watch] {
                let text = text(&words, &key).unwrap_or_else(|| panic!("no words for {key}"));
                for part in text.split('{').skip(1) {
                    let name = part.split('}').next().unwrap_or_default();
                    assert!(figures.get(name).is_some(), "{key}: nothing fills {{{name}}}");
                }
            }
        }
    }
}

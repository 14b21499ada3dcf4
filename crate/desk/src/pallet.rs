//! Sacks on a pallet.

use js_sys::Error;
use sackwright::cards::{PalletFile, read_pallet};
use sackwright::fill::Filled;
use sackwright::pallet::{Loaded, Stack, stacks};
use sackwright::sack::Sack;
use sackwright_boundary::{refused, to_js};
use serde::Serialize;
use wasm_bindgen::JsValue;

/// What the page is told of the ways to stack.
#[derive(Serialize)]
struct Answer<'a> {
    pallet: &'a PalletFile,
    stacks: Vec<Stack>,
    why: Option<&'static str>,
}

/// Stacks a sack that has been studied on a pallet; `text` is its card.
pub fn answer(text: &str, sack: &Sack, filled: &Filled) -> Result<JsValue, Error> {
    let pallet = read_pallet(text).map_err(|problems| refused("the pallet's card", &problems))?;
    let loaded = Loaded::of(sack, filled);
    let why = match &loaded {
        None if sack.file().contents.is_none() => Some("no_contents"),
        None => Some("not_pressed"),
        Some(_) => None,
    };
    to_js(&Answer { pallet: pallet.file(), stacks: loaded.map(|sack| stacks(&pallet, &sack)).unwrap_or_default(), why })
}

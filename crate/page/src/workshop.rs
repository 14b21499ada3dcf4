//! The class `Workshop`: the sheet and the cards that the page works on, and what the core says of them.

use js_sys::Error;
use sackwright::cards::{self, Line, Pallet, Works};
use sackwright::check::{Against, HABITS_KIND, Habits, check_with, read_habits};
use sackwright::figures::{PasteHabits, figures};
use sackwright::fill::Filled;
use sackwright::finding::Problem;
use sackwright::fold::{Captions, Stage, caption_figures, captions};
use sackwright::pallet::Stack;
use sackwright::sack::Sack;
use sackwright::sheet;
use sackwright_boundary::{Fault, Part, Parts, Told, filled, parsed, stack, to_js, whole};
use serde::Serialize;
use wasm_bindgen::prelude::*;

/// A stage in words.
#[derive(Serialize)]
struct StageTold {
    name: &'static str,
    captions: Captions,
}

/// The last good sheet and cards, and what was wrong with the sheet and the habits that came after.
#[wasm_bindgen]
#[derive(Default)]
pub struct Workshop {
    sack: Option<Sack>,
    problems: Vec<Problem>,
    line: Option<Line>,
    works: Option<Works>,
    pallet: Option<Pallet>,
    habits: Habits,
    habits_problems: Vec<Problem>,
    filled: Option<Filled>,
    stack: Option<Stack>,
    told: Told,
}

#[wasm_bindgen]
impl Workshop {
    /// An empty workshop.
    #[wasm_bindgen(constructor)]
    pub fn new() -> Self {
        Self::default()
    }

    /// Reads a sheet; one with problems, which are returned, leaves the last good sack as it was.
    #[wasm_bindgen(js_name = setSheet, unchecked_return_type = "Problem[]")]
    pub fn set_sheet(&mut self, text: &str) -> Result<JsValue, Error> {
        match Sack::read(text) {
            Ok(sack) => {
                self.sack = Some(sack);
                self.problems.clear();
                // They were of the sack before.
                self.filled = None;
                self.stack = None;
            }
            Err(problems) => self.problems = problems,
        }
        to_js(&self.problems)
    }

    /// Reads a filling-line card, undefined for none; one with problems, which are returned, leaves the last good card as it was.
    #[wasm_bindgen(js_name = setLine, unchecked_return_type = "Problem[]")]
    pub fn set_line(&mut self, text: Option<String>) -> Result<JsValue, Error> {
        to_js(&hold(&mut self.line, text, cards::read_line))
    }

    /// The same for the card of a sack works.
    #[wasm_bindgen(js_name = setWorks, unchecked_return_type = "Problem[]")]
    pub fn set_works(&mut self, text: Option<String>) -> Result<JsValue, Error> {
        to_js(&hold(&mut self.works, text, cards::read_works))
    }

    /// The same for a pallet's card; the stack on the pallet before goes.
    #[wasm_bindgen(js_name = setPallet, unchecked_return_type = "Problem[]")]
    pub fn set_pallet(&mut self, text: Option<String>) -> Result<JsValue, Error> {
        let problems = hold(&mut self.pallet, text, cards::read_pallet);
        if problems.is_empty() {
            self.stack = None;
        }
        to_js(&problems)
    }

    /// Reads a habits card, undefined for the trade's own; one with problems, which are returned, leaves the last good habits as they were.
    #[wasm_bindgen(js_name = setHabits, unchecked_return_type = "Problem[]")]
    pub fn set_habits(&mut self, text: Option<String>) -> Result<JsValue, Error> {
        match text.map(|text| read_habits(&text)).transpose() {
            Ok(habits) => {
                self.habits = habits.unwrap_or_default();
                self.habits_problems.clear();
            }
            Err(problems) => self.habits_problems = problems,
        }
        to_js(&self.habits_problems)
    }

    /// Takes the stack of the last good sack on the pallet, undefined for none, as the desk's wasm has computed it; it goes
    /// with the next sheet or pallet.
    #[wasm_bindgen(js_name = setStack)]
    pub fn set_stack(
        &mut self,
        #[wasm_bindgen(js_name = stack, unchecked_param_type = "object | undefined")] value: JsValue,
    ) -> Result<(), Error> {
        self.stack = if value.is_undefined() { None } else { Some(stack(value)?) };
        Ok(())
    }

    /// Takes the filled shape of the last good sack, as the solver's wasm has computed it; it goes with the next sheet.
    #[wasm_bindgen(js_name = setFilled)]
    pub fn set_filled(
        &mut self,
        #[wasm_bindgen(js_name = filled, unchecked_param_type = "object")] value: JsValue,
    ) -> Result<(), Error> {
        self.filled = Some(filled(value)?);
        Ok(())
    }

    /// What the core says of the last good sheet and cards. Every rule is held against the sack for it: to be asked once
    /// after all that changed together was set.
    #[wasm_bindgen(unchecked_return_type = "Report")]
    pub fn report(&self) -> Result<JsValue, Error> {
        parsed(&whole(&self.parts()?))
    }

    /// What is new in the report since this was asked last.
    #[wasm_bindgen(unchecked_return_type = "News")]
    pub fn news(&mut self) -> Result<JsValue, Error> {
        let report = self.parts()?;
        parsed(&self.told.news(report))
    }

    /// The last good sheet as JSON.
    #[wasm_bindgen(js_name = sheetText)]
    pub fn sheet_text(&self) -> Result<String, Error> {
        Ok(self.sack()?.sheet().to_json())
    }
}

impl Workshop {
    /// The last good sack.
    pub fn sack(&self) -> Result<&Sack, Error> {
        let none = || Fault::NoSack.with("the workshop has no good sheet yet");
        self.sack.as_ref().ok_or_else(none)
    }

    /// What the page is told after every change.
    fn parts(&self) -> Result<Parts, Error> {
        let (sack, line) = (self.sack.as_ref(), self.line.as_ref());
        let against = Against {
            line,
            habits: Some(&self.habits),
            works: self.works.as_ref(),
            pallet: self.pallet.as_ref(),
            stack: self.stack.as_ref(),
            filled: self.filled.as_ref(),
        };
        let checked = sack.map(|sack| check_with(sack, &against)).unwrap_or_default();
        let told = |sack| Stage::ALL.map(|stage| StageTold { name: stage.name(), captions: captions(sack, stage) });
        Ok(vec![
            ("problems", Part::whole(&self.problems)?),
            ("habits_problems", Part::whole(&self.habits_problems)?),
            ("sheet", Part::whole(&sack.map(Sack::file))?),
            ("line", Part::whole(&line.map(Line::file))?),
            ("habits", Part::whole(&self.habits)?),
            ("figures", Part::whole(&sack.map(|sack| figures(sack, line, &PasteHabits::default())))?),
            ("findings", Part::list(&checked.findings)?),
            ("silent", Part::list(&checked.silent)?),
            ("stages", Part::whole(&sack.map_or_else(Vec::new, |sack| told(sack).into()))?),
            // What fills the stages' captions, by placeholder.
            ("caption_figures", Part::whole(&sack.map(caption_figures).unwrap_or_default())?),
        ])
    }
}

/// Reads a card into the place of the last good one; the problems of one that can't be taken.
fn hold<Card>(
    card: &mut Option<Card>,
    text: Option<String>,
    read: fn(&str) -> Result<Card, Vec<Problem>>,
) -> Vec<Problem> {
    match text.map(|text| read(&text)).transpose() {
        Ok(good) => {
            *card = good;
            Vec::new()
        }
        Err(problems) => problems,
    }
}

/// The JSON Schema (2020-12) of the sheet's or a card's file.
#[wasm_bindgen(unchecked_return_type = "object")]
pub fn schema(
    #[wasm_bindgen(unchecked_param_type = "\"sheet\" | \"line\" | \"works\" | \"pallet\" | \"habits\"")] kind: &str,
) -> Result<JsValue, Error> {
    let text = match kind {
        "sheet" => sheet::KIND.schema_text(),
        "line" => cards::LINE_KIND.schema_text(),
        "works" => cards::WORKS_KIND.schema_text(),
        "pallet" => cards::PALLET_KIND.schema_text(),
        "habits" => HABITS_KIND.schema_text(),
        _ => return Err(Fault::UnknownName.with(&format!("no schema is named \"{kind}\""))),
    };
    // Parsed by the browser, properties keep their order.
    parsed(text)
}

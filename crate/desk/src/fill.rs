//! The class `Filler`: the filled sack on one mesh.

use std::ops::ControlFlow;

use js_sys::{Error, Function};
use sackwright::fill::{
    Amount, Bottoms, Capacity, Detail, FillError, Filled, Film, FilmSettings, Lying, Pressed, Progress, Question,
    Recall, Settings, Solver, StudySettings, Watch, study_on,
};
use sackwright::sack::Sack;
use sackwright_boundary::{Fault, refused, to_js};
use serde::Serialize;
use wasm_bindgen::prelude::*;

use crate::film::{self, Projector};
use crate::pallet;

/// What the page is told of a filled sack.
#[derive(Serialize)]
struct Answer {
    detail: &'static str,
    filled: Filled,
    full: Capacity,
    rests: Vec<Rest>,
}

/// An amount in the sack, and the sack at rest with it.
#[derive(Serialize)]
struct Rest {
    name: &'static str,
    amount: Amount,
    lying: Option<Lying>,
    pressed: Option<Pressed>,
}

/// A sack with its solver, and what is known of it.
struct Study {
    sack: Sack,
    solver: Solver,
    recall: Recall,
    /// Of this sack, once it has been studied to the end.
    filled: Option<Filled>,
}

/// Studies one sack after the other; the nearer they are, the sooner the answer.
#[wasm_bindgen]
pub struct Filler {
    detail: Detail,
    study: Option<Study>,
}

#[wasm_bindgen]
impl Filler {
    /// For one mesh.
    #[wasm_bindgen(constructor)]
    pub fn new(#[wasm_bindgen(unchecked_param_type = "Detail")] detail: &str) -> Result<Self, Error> {
        let named = Detail::ALL.into_iter().find(|known| known.name() == detail);
        let detail = named.ok_or_else(|| Fault::UnknownName.with(&format!("no detail is named \"{detail}\"")))?;
        Ok(Self { detail, study: None })
    }

    /// Goes over to a sheet, which must be a good one.
    #[wasm_bindgen(js_name = setSheet)]
    pub fn set_sheet(&mut self, text: &str) -> Result<(), Error> {
        let sack = read(text)?;
        match &mut self.study {
            Some(study) => (study.sack, study.filled) = (sack, None),
            None => {
                let solver = Solver::new(&sack, Settings { detail: self.detail, ..Settings::default() });
                self.study = Some(Study { sack, solver, recall: Recall::default(), filled: None });
            }
        }
        Ok(())
    }

    /// Studies the sack as long as `goOn`, told which question is being solved (the number of a `Question`), says true;
    /// undefined when it said false: the next call goes on from there.
    #[wasm_bindgen(unchecked_return_type = "FillAnswer | undefined")]
    pub fn study(
        &mut self,
        #[wasm_bindgen(js_name = goOn, unchecked_param_type = "(question: number) => boolean")] go_on: &Function,
    ) -> Result<JsValue, Error> {
        let study = self.study.as_mut().ok_or_else(no_sack)?;
        let mut watch =
            |progress: Progress| match go_on.call1(&JsValue::UNDEFINED, &JsValue::from(progress.question as u32)) {
                Ok(answer) if answer.is_truthy() => ControlFlow::Continue(()),
                _ => ControlFlow::Break(()),
            };
        match study.answer(self.detail, &mut watch) {
            Ok(answer) => to_js(&answer),
            Err(FillError::Cancelled) => Ok(JsValue::UNDEFINED),
            Err(error) => Err(Fault::BadNumber.with(&format!("no filled shape: {error:?}"))),
        }
    }

    /// The sack that has been studied, on a pallet; `card` is the pallet's file.
    #[wasm_bindgen(unchecked_return_type = "StackAnswer")]
    pub fn stack(&self, card: &str) -> Result<JsValue, Error> {
        let (study, filled) = self.studied()?;
        pallet::answer(card, &study.sack, filled)
    }

    /// The shape of a sack in a stack, settled and pressed; undefined when it is not computed.
    #[wasm_bindgen(js_name = pressedMesh, unchecked_return_type = "FilledMesh | undefined")]
    pub fn pressed_mesh(&mut self) -> Result<JsValue, Error> {
        let (_, filled) = self.studied()?;
        let bottoms = filled.bottoms;
        let settled = filled.content.as_ref().and_then(|content| content.settled);
        let (Some(settled), Some(study)) = (settled.filter(|amount| amount.pressed.is_some()), &mut self.study) else {
            return Ok(JsValue::UNDEFINED);
        };
        // The last that was pressed may have been another filling.
        let pressed = study.solver.pressed(bottoms, settled.volume_l, &mut |_| ControlFlow::Continue(()));
        let shape = pressed.ok().and_then(|_| study.solver.mesh(Question::Pressed, bottoms));
        Ok(shape.map_or(JsValue::UNDEFINED, |shape| film::mesh(&shape)))
    }

    /// The filling of the sack that has been studied as a film; undefined when it can't be filled so.
    pub fn film(&self) -> Result<Option<Projector>, Error> {
        let (study, filled) = self.studied()?;
        let filling = filled.content.as_ref().map(|content| content.filling).filter(|amount| amount.lying.is_some());
        let Some(filling) = filling else { return Ok(None) };
        Ok(Film::new(&study.sack, filled.bottoms, filling.volume_l, FilmSettings::default()).ok().map(Projector::new))
    }

    /// Questions answered so far: a study broken off goes on behind the last one.
    pub fn steps(&self) -> usize {
        self.study.as_ref().map_or(0, |study| study.recall.steps())
    }
}

impl Filler {
    fn studied(&self) -> Result<(&Study, &Filled), Error> {
        let study = self.study.as_ref().ok_or_else(no_sack)?;
        Ok((study, study.filled.as_ref().ok_or_else(no_sack)?))
    }
}

impl Study {
    fn answer(&mut self, detail: Detail, watch: &mut Watch<'_>) -> Result<Answer, FillError> {
        let settings = StudySettings::default();
        let filled = study_on(&mut self.solver, &mut self.recall, &self.sack, &settings, watch)?;
        let full = self.recall.capacity(&mut self.solver, filled.bottoms, watch)?;
        let mut rests = Vec::new();
        if let Some(content) = &filled.content {
            rests.push(self.rest("filling", content.filling, filled.bottoms, watch)?);
            if let Some(settled) = content.settled.filter(|settled| *settled != content.filling) {
                rests.push(self.rest("settled", settled, filled.bottoms, watch)?);
            }
        }
        self.filled = Some(filled.clone());
        Ok(Answer { detail: detail.name(), filled, full, rests })
    }

    fn rest(
        &mut self,
        name: &'static str,
        amount: Amount,
        bottoms: Bottoms,
        watch: &mut Watch<'_>,
    ) -> Result<Rest, FillError> {
        let filling = (bottoms, amount.volume_l);
        let (mut lying, mut pressed) = (None, None);
        if amount.lying.is_some() {
            lying = Some(self.recall.lying(&mut self.solver, filling, watch)?);
        }
        if amount.pressed.is_some() {
            pressed = Some(self.recall.pressed(&mut self.solver, filling, watch)?);
        }
        Ok(Rest { name, amount, lying, pressed })
    }
}

/// Reads a sheet that the page has read before.
pub fn read(text: &str) -> Result<Sack, Error> {
    Sack::read(text).map_err(|problems| refused("the sheet", &problems))
}

fn no_sack() -> Error {
    Fault::NoSack.with("no sheet has been studied yet")
}

//! The class `Sizer`: sizes for an order.

use std::ops::ControlFlow;

use js_sys::{Error, Function, JSON};
use sackwright::fill::{Detail, FillError};
use sackwright::finding::Problem;
use sackwright::sizing::{CONFIRMED, LeftOut, ORDER_KIND, Order, Progress, Row, Sizing, estimate, read_order};
use sackwright_boundary::{Fault, to_js};
use serde::Serialize;
use wasm_bindgen::prelude::*;

/// What the page is told of the candidates.
#[derive(Serialize)]
struct Answer<'a> {
    progress: Progress,
    left_out: LeftOut,
    confirmed: usize,
    to_confirm: usize,
    capacity_error: f64,
    pressed_error: f64,
    limp_error: f64,
    rows: Vec<&'a Row>,
}

/// Goes through the sizes of one order. The solver confirms the best on the same mesh on which the page then fills the
/// sack that is taken over.
#[wasm_bindgen]
#[derive(Default)]
pub struct Sizer {
    sizing: Option<Sizing>,
}

#[wasm_bindgen]
impl Sizer {
    /// Without an order yet.
    #[wasm_bindgen(constructor)]
    pub fn new() -> Self {
        Self::default()
    }

    /// Takes an order with everything in it; one with problems, which are returned, leaves none.
    #[wasm_bindgen(js_name = setOrder, unchecked_return_type = "Problem[]")]
    pub fn set_order(&mut self, text: &str) -> Result<JsValue, Error> {
        let problems = match read_order(text).and_then(Order::new) {
            Ok(order) => {
                self.sizing = Some(Sizing::new(order, CONFIRMED, Detail::Fine));
                Vec::<Problem>::new()
            }
            Err(problems) => problems,
        };
        to_js(&problems)
    }

    /// Screens the next `chunk` candidates; the share of all that are screened then.
    pub fn screen(&mut self, chunk: usize) -> Result<f64, Error> {
        let Progress { screened, total, .. } = self.sizing()?.screen(chunk);
        Ok(screened as f64 / total as f64)
    }

    /// Confirms the best candidate that is only estimated as long as `goOn` says true: false when the best are confirmed,
    /// undefined when it was broken off, and the next call goes on from there.
    pub fn confirm(
        &mut self,
        #[wasm_bindgen(js_name = goOn, unchecked_param_type = "() => boolean")] go_on: &Function,
    ) -> Result<Option<bool>, Error> {
        let mut watch = |_| match go_on.call0(&JsValue::UNDEFINED) {
            Ok(answer) if answer.is_truthy() => ControlFlow::Continue(()),
            _ => ControlFlow::Break(()),
        };
        match self.sizing()?.confirm_next(&mut watch) {
            Ok(is_more) => Ok(Some(is_more)),
            Err(FillError::Cancelled) => Ok(None),
            Err(error) => Err(Fault::BadNumber.with(&format!("no filled shape: {error:?}"))),
        }
    }

    /// Questions that the solver has answered so far: what is broken off goes on behind the last one.
    pub fn steps(&self) -> usize {
        self.sizing.as_ref().map_or(0, Sizing::steps)
    }

    /// The best `most` candidates, and whatever else is on the front or confirmed.
    #[wasm_bindgen(unchecked_return_type = "SizingTable")]
    pub fn table(&mut self, most: usize) -> Result<JsValue, Error> {
        let sizing = self.sizing()?;
        let (progress, left_out) = (sizing.progress(), sizing.left_out());
        let ranked = sizing.ranked();
        let told = |row: &&Row| row.rank <= most || row.on_front || row.confirmed;
        to_js(&Answer {
            progress,
            left_out,
            confirmed: ranked.iter().take(CONFIRMED).filter(|row| row.confirmed).count(),
            to_confirm: CONFIRMED.min(ranked.len()),
            capacity_error: estimate::CAPACITY_ERROR,
            pressed_error: estimate::PRESSED_ERROR,
            limp_error: estimate::LIMP_ERROR,
            rows: ranked.iter().filter(told).collect(),
        })
    }

    /// Three numbers for each candidate: paper in a sack in g, sacks on the pallet, findings to stop at.
    pub fn spread(&mut self) -> Result<Vec<f32>, Error> {
        let of = |row: &Row| {
            let sacks = row.on_pallet.map_or(0, |on_pallet| on_pallet.sacks);
            [row.paper_g as f32, sacks as f32, row.findings.stop as f32]
        };
        Ok(self.sizing()?.ranked().iter().flat_map(of).collect())
    }
}

impl Sizer {
    fn sizing(&mut self) -> Result<&mut Sizing, Error> {
        self.sizing.as_mut().ok_or_else(|| Fault::BadShape.with("no order has been taken yet"))
    }
}

/// The JSON Schema (2020-12) of an order's file.
#[wasm_bindgen(js_name = orderSchema, unchecked_return_type = "Record<string, any>")]
pub fn order_schema() -> Result<JsValue, Error> {
    // Parsed by the browser, properties keep their order.
    JSON::parse(ORDER_KIND.schema_text()).map_err(JsCast::unchecked_into)
}

//! Values across the boundary, and their TypeScript types.

use js_sys::Error;
use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_wasm_bindgen::Serializer;
use wasm_bindgen::prelude::*;

use crate::fault::Fault;

#[wasm_bindgen(typescript_custom_section)]
const TYPES: &str = include_str!("types.d.ts");

/// A value as JSON would give it: maps as objects, none as null.
pub fn to_js<T: Serialize + ?Sized>(value: &T) -> Result<JsValue, Error> {
    value.serialize(&Serializer::json_compatible()).map_err(|error| Fault::BadShape.with(&error.to_string()))
}

/// A value from the page; `what` names it in the error.
pub fn from_js<T: DeserializeOwned>(value: JsValue, what: &str) -> Result<T, Error> {
    serde_wasm_bindgen::from_value(value).map_err(|error| Fault::BadShape.with(&format!("{what}: {error}")))
}

/// A number that can be worked with.
pub fn finite(value: f64, what: &str) -> Result<f64, Error> {
    if value.is_finite() {
        Ok(value)
    } else {
        Err(Fault::BadNumber.with(&format!("{what} is {value}; a finite number would do")))
    }
}

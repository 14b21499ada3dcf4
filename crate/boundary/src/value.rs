//! Values across the boundary.

use js_sys::{Error, Float32Array, JSON, Object, Reflect};
use sackwright::fill::Filled;
use sackwright::pallet::Stack;
use serde::Serialize;
use serde::de::DeserializeOwned;
use wasm_bindgen::{JsCast, JsValue};

use crate::fault::Fault;
use crate::news::Part;

/// A value as JSON would give it: maps as objects, none as null.
///
/// # Errors
/// [`Fault::BadShape`] for a value that JS has no like of.
pub fn to_js<T: Serialize + ?Sized>(value: &T) -> Result<JsValue, Error> {
    // Through one text: value by value across the boundary took a quarter longer for a report.
    parsed(&to_text(value)?)
}

/// A value as JSON.
///
/// # Errors
/// [`Fault::BadShape`] for a value that JSON has no like of.
pub fn to_text<T: Serialize + ?Sized>(value: &T) -> Result<String, Error> {
    serde_json::to_string(value).map_err(|error| Fault::BadShape.with(&error.to_string()))
}

impl Part {
    /// A value that is told as a whole.
    ///
    /// # Errors
    /// As for [`to_text`].
    pub fn whole<T: Serialize + ?Sized>(value: &T) -> Result<Self, Error> {
        to_text(value).map(Self::Whole)
    }

    /// A list of objects that are told one by one.
    ///
    /// # Errors
    /// As for [`to_text`].
    pub fn list<T: Serialize>(items: &[T]) -> Result<Self, Error> {
        items.iter().map(to_text).collect::<Result<_, _>>().map(Self::List)
    }
}

/// The value of a JSON text.
///
/// # Errors
/// What the browser says of a text that is no JSON.
pub fn parsed(text: &str) -> Result<JsValue, Error> {
    JSON::parse(text).map_err(JsCast::unchecked_into)
}

/// A value from the page; `what` names it in the error.
///
/// # Errors
/// [`Fault::BadShape`] when it has not the shape of `T`.
pub fn from_js<T: DeserializeOwned>(value: JsValue, what: &str) -> Result<T, Error> {
    serde_wasm_bindgen::from_value(value).map_err(|error| Fault::BadShape.with(&format!("{what}: {error}")))
}

/// A filled sack from the page.
///
/// # Errors
/// As [`from_js`]. Here rather than where it is called, like [`stack`]: this crate is built for size, and what is generic is
/// built where its types are named.
pub fn filled(value: JsValue) -> Result<Filled, Error> {
    from_js(value, "filled")
}

/// A stack from the page.
///
/// # Errors
/// As [`from_js`].
pub fn stack(value: JsValue) -> Result<Stack, Error> {
    from_js(value, "stack")
}

/// An object of these fields.
#[must_use]
pub fn object<const N: usize>(fields: [(&str, JsValue); N]) -> JsValue {
    let object = Object::new();
    for (key, value) in fields {
        // Setting a key of a fresh object can't fail.
        Reflect::set(&object, &key.into(), &value).unwrap_or_default();
    }
    object.into()
}

/// Numbers as the array that WebGL takes, one after the other.
#[must_use]
pub fn floats<const N: usize>(values: &[[f64; N]]) -> Float32Array {
    let narrow: Vec<f32> = values.as_flattened().iter().map(|&value| value as f32).collect();
    Float32Array::from(&narrow[..])
}

/// A number that can be worked with.
///
/// # Errors
/// [`Fault::BadNumber`] when it is infinite or none.
pub fn finite(value: f64, what: &str) -> Result<f64, Error> {
    if value.is_finite() {
        Ok(value)
    } else {
        Err(Fault::BadNumber.with(&format!("{what} is {value}; a finite number would do")))
    }
}

//! Values and errors across the boundary between the core's wasm modules and the page: the same rules for all.
//!
//! A value crosses as JSON would give it; an error is a JS error whose name says which kind it is.

#[cfg(target_arch = "wasm32")]
mod fault;
mod news;
#[cfg(target_arch = "wasm32")]
mod value;

#[cfg(target_arch = "wasm32")]
pub use fault::{Fault, refused};
pub use news::{Part, Parts, Told, whole};
#[cfg(target_arch = "wasm32")]
pub use value::{filled, finite, floats, from_js, object, parsed, stack, to_js, to_text};

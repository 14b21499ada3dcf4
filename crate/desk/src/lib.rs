//! The desk's wasm: the filled shape, and whatever else takes long or is not needed for the first picture.
//!
//! A module of its own, so that the page's first one stays small. It runs in the page's worker, where `web/worker/` slices
//! what takes long, and on the page's own thread for what must follow a drag. Conversions only: the core computes.
#![cfg(target_arch = "wasm32")]

mod boundary;
mod draft;
mod fill;
mod film;
mod pallet;

//! The drafter's wasm: drawings, the valve in its bottom, and files of a sack.
//!
//! A module of its own, on the page's own thread: what is drawn must follow a drag, which the desk's worker would be too
//! busy for. It is loaded with the first thing that is asked of it. Conversions only: the core computes.
#![cfg(target_arch = "wasm32")]

mod boundary;
mod draft;

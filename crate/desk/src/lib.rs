//! The desk's wasm: the filled shape, its film, filled sacks on a pallet, and sizes for an order: what takes long.
//!
//! A module of its own, so that the page's first one stays small. It runs in the page's worker, where `web/worker/` slices
//! what takes long. Conversions only: the core computes.
#![cfg(target_arch = "wasm32")]

mod boundary;
mod fill;
mod film;
mod pallet;
mod sizing;

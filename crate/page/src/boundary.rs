//! The TypeScript types of what crosses the boundary.

use wasm_bindgen::prelude::*;

#[wasm_bindgen(typescript_custom_section)]
const TYPES: &str = include_str!("types.d.ts");

/// Those that other modules have too.
#[wasm_bindgen(typescript_custom_section)]
const SHARED: &str = include_str!("../../boundary/src/types.d.ts");

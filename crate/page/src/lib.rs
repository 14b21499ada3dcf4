//! The page's first wasm: sheet, figures, findings and the viewer, conversions at the boundary only. What takes long is in
//! the desk's.
//!
//! The scene is plain data first: camera, picking, places, tones, contour lines and buffers are pure functions on the
//! core's mesh and are tested natively. Only the modules below them know the browser: the drawing by three-d, and the
//! two classes that the page sees, `Workshop` and `Viewer`.

pub mod camera;
pub mod filled;
pub mod grain;
pub mod ink;
pub mod light;
pub mod pick;
pub mod place;
pub mod scene;
pub mod sight;
pub mod spout;
pub mod tone;

#[cfg(target_arch = "wasm32")]
mod boundary;
#[cfg(target_arch = "wasm32")]
mod gpu;
#[cfg(target_arch = "wasm32")]
mod viewer;
#[cfg(target_arch = "wasm32")]
mod workshop;

#[cfg(test)]
mod testing;

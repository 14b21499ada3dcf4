//! Dumb writers: what was computed elsewhere, byte for byte in an open format.
//!
//! | file | what it writes |
//! | --- | --- |
//! | `stl` | a mesh as binary STL |
//! | `glb` | a mesh, a film or a loaded pallet as binary glTF |
//! | `stack` | a loaded pallet as one mesh |
//! | `fold` | a crease pattern and its folded states as FOLD |
//! | `csv` | figures as comma-separated values |
//! | `svg` | a drawing as SVG |
//! | `dxf` | a drawing as DXF |

mod csv;
mod dxf;
mod fold;
mod glb;
mod number;
mod stack;
mod stl;
mod svg;

pub use csv::csv;
pub use dxf::dxf;
pub use fold::{FoldedState, fold};
pub use glb::{filled_glb, film_glb, glb, stack_glb};
pub use stack::{StackedSacks, Stand};
pub use stl::stl;
pub use svg::svg;

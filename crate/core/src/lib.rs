//! The geometry core of Sackwright: from a sack sheet to tube, bottoms, fold, checks and models.
//!
//! Pure functions in `f64` and millimetres: no web, no rendering, no clock, no I/O. Each module uses only those
//! above it in this list; a test holds that.
//!
//! | module | what lives there |
//! | --- | --- |
//! | [`units`] | quantities with their dimension |
//! | [`tolerance`] | every tolerance, named, with unit and reason |
//! | [`geom`] | frames and polygons |
//! | [`finding`] | messages, problems, findings, cures: keys with typed quantities, never sentences |
//! | [`file`](mod@file) | reading a versioned JSON file against its schema, all problems at once |
//! | [`sheet`], [`cards`] | the sack sheet and the cards a sack is held against |
//! | [`tube`] | webs, plies, seams, step cut: the contour of every ply |
//! | [`bottom`] | creases, pockets, flaps, laps, patch, sleeve |
//! | [`sack`] | a validated sheet with everything derived from it |
//! | [`figures`] | the derived figures, as written to files and shown |
//! | [`fold`] | stages and poses: where every panel is at a stage and fraction |
//! | [`pattern`] | the crease pattern of a ply's web, flat and folded |
//! | [`fill`] | the filled shape: capacity, lying, pressed, hanging, standing; mesh, solver, result with residuals |
//! | [`pallet`] | the best layer of sacks, and a stack of layers that bind |
//! | [`check`] | one rule, one small file |
//! | [`placing`] | where the valve sleeve lies, what stands beside it, and where it may lie |
//! | [`sizing`] | candidates for an order, screened by a quick estimate, confirmed by the solver |
//! | [`drawing`] | drawings as data: lines by type, dimensions, hatches, texts |
//! | [`model`] | meshes with thickness, bends and plies from poses |
//! | [`rig`] | the fold as a film: a mesh with joints and their keys |
//! | [`export`] | dumb writers |

pub mod bottom;
pub mod cards;
pub mod check;
pub mod drawing;
pub mod export;
pub mod figures;
pub mod file;
pub mod fill;
pub mod finding;
pub mod fold;
pub mod geom;
pub mod model;
pub mod pallet;
pub mod pattern;
pub mod placing;
pub mod rig;
pub mod sack;
pub mod sheet;
pub mod sizing;
pub mod tolerance;
pub mod tube;
pub mod units;

// The support of the integration tests names the crate as they do, and is shared with the unit tests.
#[cfg(test)]
extern crate self as sackwright;

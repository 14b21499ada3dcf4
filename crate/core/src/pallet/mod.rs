//! Sacks on a pallet: the best layer, and a stack of layers that bind.
//!
//! From the footprint of a sack pressed flat ([`crate::fill`]) and a pallet card to patterns, layers, mass, height and
//! overhang, as data for checks and drawings. A sack is taken for a rectangle that does not give; real ones are
//! pushed a few millimetres into each other, or stand a few apart.
//!
//! | file | what is in it |
//! | --- | --- |
//! | `bound` | how many sacks a layer could hold at most |
//! | `pattern` | the best layers of sacks of one size in a rectangle |
//! | `stack` | layers on a pallet |
//! | `loaded` | from a sack sheet to a filled sack in a stack, by way of the filled shape |

mod bound;
mod loaded;
mod pattern;
mod stack;

pub use loaded::loaded;
pub use pattern::{IMAGES, Layers, Pattern, Spot, layer_count, layers};
pub(crate) use stack::layer_limit;
pub use stack::{EndedBy, Layer, Leeway, Loaded, Overhang, Placed, Stack, stack, stacks};

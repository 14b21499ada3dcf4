//! Sizes for an order: the quick estimate by which candidates are screened.

pub mod estimate;
mod table;

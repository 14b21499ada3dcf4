//! Dumb writers: what was computed elsewhere, byte for byte in an open format.
//!
//! | file | what it writes |
//! | --- | --- |
//! | `stl` | a mesh as binary STL |

mod stl;

pub use stl::stl;

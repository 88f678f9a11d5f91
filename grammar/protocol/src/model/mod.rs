//! What the lines mean: names resolved, kinds of quantity judged, ranges
//! filled. Nothing is computed here yet.

pub mod drug;
mod elsewhere;
pub mod ingredient;
pub mod library;
pub mod limit;
pub(crate) mod lower;
mod lower_adjust;
mod lower_order;
mod lower_phase;
mod named;
pub mod order;
pub mod problem;
pub mod reference;
pub(crate) mod resolve;
pub mod run;
pub mod set;
pub mod size;

pub use library::Library;
pub use lower_order::order;

//! Exact numbers, units and kinds of quantity.

mod exact;
mod unit;

pub use exact::{Exact, Rounding};
pub use unit::{Atom, Dimension, Quantity, Unit};

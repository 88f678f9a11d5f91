//! Exact numbers, units and kinds of quantity.

mod atom;
mod dimension;
mod exact;
mod quantity;
mod unit;

pub use atom::Atom;
pub use dimension::Dimension;
pub use exact::{Exact, Rounding};
pub use quantity::Quantity;
pub use unit::{Unit, units};

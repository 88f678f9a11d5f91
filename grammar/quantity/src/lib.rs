//! Exact numbers, units and kinds of quantity.

mod atom;
mod dimension;
mod exact;
pub mod machine;
pub mod print;
mod quantity;
mod unit;
pub mod work;

pub use atom::Atom;
pub use dimension::Dimension;
pub use exact::{Exact, Rounding};
pub use print::{DigitGroups, Micro, Printed, Style};
pub use quantity::Quantity;
pub use unit::{Unit, units};

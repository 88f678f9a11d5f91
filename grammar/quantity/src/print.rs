//! Numbers, times and quantities as a person reads them.
//!
//! Whoever prints one holds the [`Style`] of the house that the text is for:
//! neither a number nor a unit nor a quantity can be printed without. No
//! function here prints a trailing zero unless it says so, none a bare point,
//! and none prints a value that is not zero as 0, unless its decimals were
//! asked for.
//!
//! Other programs are no persons: [`crate::machine`] writes for them.

mod digits;
mod everyday;
mod printed;
mod style;
mod time;

#[cfg(test)]
mod tests;

pub(crate) use digits::write;
pub use digits::{MOST_DECIMALS, significant};
pub use printed::{Printed, between};
pub use style::{DigitGroups, Micro, Style};

//! The crate from outside: exact numbers against a big rational, printed
//! numbers read back, units against the notation's table.

mod common;
mod laws;
mod printing;
mod units;

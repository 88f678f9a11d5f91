//! What is known of common substances in solution: how heavy a mole of them
//! is, and which ions a salt brings.

mod table;

pub use table::{Composition, Salt, Substance, made, substance};

//! What is known of common substances in solution: how heavy a mole of them
//! is, which ions a salt brings, how many osmoles there are at the least.

mod osmoles;
mod table;

pub(crate) use osmoles::per_unit;
pub use osmoles::{Osmoles, of_contents, of_drug, of_solution, own_osmoles};
pub use table::{Made, Salt, Substance, made, substance};

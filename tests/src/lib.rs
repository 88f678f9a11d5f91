//! What the tests and the benches share: the invented hospital's orders, other
//! right ones beside them, slips in both, and a large mixed corpus of them all.

mod choices;
pub mod corpus;
pub mod generated;
pub mod hospital;
pub mod right;
pub mod seed;
pub mod slips;

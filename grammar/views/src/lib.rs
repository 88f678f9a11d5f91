//! What people are shown of orders beside the findings: an order at a glance,
//! a sheet for the bedside, what changed between two states.
//!
//! Values first, then words and pages: whoever shows them writes, prints or
//! sends what it is given. Nothing here reads a file, a clock or a terminal.

pub mod compare;
pub mod compared;
pub mod html;
pub mod overview;
pub mod sheet;
pub mod site;
pub mod table;

//! Which limits hold for an order, and what they say of it.

mod ceilings;
mod holds;
mod judge;
mod readings;

pub use ceilings::{Ceiling, CeilingOf, areas_in_force, ceilings, fluid_bounds};
pub use holds::{Asked, Holds, Stretch, gives_way, holds, includes};
pub use judge::{
    Breach, Forbidden, ForbiddenWhat, Judgement, Unanswered, Unchecked, beyond, judge,
};
pub use readings::{Reader, Reading, Reads, Unknown};

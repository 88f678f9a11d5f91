//! Which limits hold for an order, and what they say of it.

mod as_loads;
mod asked;
mod bag_readings;
mod ceilings;
mod endless;
mod flows;
mod gives_way;
mod holds;
mod intervals;
mod judge;
mod load_readings;
mod prohibitions;
mod rate_readings;
mod readings;
mod renewed;
mod run_readings;
mod substance;
mod substance_readings;

pub use as_loads::Unjudged;
pub use ceilings::{Ceiling, CeilingOf, areas_in_force, ceilings, fluid_bounds};
pub use flows::flow_of_limit;
pub use gives_way::{asks_alike, gives_way, includes};
pub use holds::{Asked, Holds, Stretch, holds};
pub use judge::{
    Beyond, Breach, Judgement, Unanswered, Unchecked, beyond, judge, keeps, passes, states_loads,
};
pub use prohibitions::{Forbidden, ForbiddenWhat};
pub use readings::{Reader, Reading, Reads, Unknown};
pub use substance::{Limiting, OfSubstance, judges_substance, limiting, of_substances};
pub use substance_readings::flow_of_ingredient;

//! Which limits hold for an order, and what they say of it.

mod as_loads;
mod asked;
mod bag_readings;
mod ceilings;
mod compare;
mod endless;
mod flows;
mod gives_way;
mod holds;
mod intervals;
mod judge;
mod judgement;
mod limiting;
mod load_readings;
mod prohibitions;
mod rate_readings;
mod readings;
mod renewed;
mod run_readings;
mod substance;
mod substance_readings;

pub use ceilings::{Ceiling, CeilingOf, areas_in_force, ceilings, fluid_bounds};
pub use compare::{Beyond, beyond};
pub(crate) use flows::flow_of_limit;
pub use gives_way::{asks_alike, gives_way, includes};
pub use holds::{Holds, OpenCondition, Stretch, holds};
pub use judge::{judge, keeps, passes, states_loads};
pub use judgement::{Breach, Forbidden, ForbiddenWhat, Judgement, Unanswered, Unchecked, Unjudged};
pub use limiting::{Limiting, limiting};
pub use readings::{NotComparable, Reader, Reading, Reads};
pub use substance::{OfSubstance, of_substances};
pub(crate) use substance_readings::flow_of_ingredient;

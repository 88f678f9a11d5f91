//! Names resolved across files, and all that is derived from an order.
//!
//! Nothing here does I/O: a workspace is made from texts, and cannot fail.

pub mod analysis;
pub mod chemistry;
mod counting;
pub mod curve;
pub mod delivery;
pub mod derive;
pub mod equivalents;
pub mod house;
pub mod limits;
pub mod measures;
pub mod model;
pub mod names;
pub mod plot;
pub mod pump;
pub mod sets;
mod severity;
pub mod source;
pub mod trace;
pub mod working;
pub mod workspace;

pub use analysis::Analysis;
pub use house::House;
pub use names::{Reference, Space, Use, UseFault, nearest};
pub use severity::Severity;
pub use source::{Content, FileFault, FileId, Place, SourceFile, StanzaId};
pub use workspace::{Change, Resolved, Workspace};

/// Goes with every derived value, wherever one is shown.
pub const CAUTION: &str = "A checking aid, not a medical device. Local policy, the \
     manufacturer's information and licensed practice decide. Have everything checked independently by a second person.";

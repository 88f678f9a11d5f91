//! Which names each file declares, mentions and sees.

mod file;
mod index;
mod nearest;
mod references;
mod slips;
mod uses;

pub use nearest::nearest;
pub use references::{Reference, Space};
pub use uses::{Use, UseFault, join_path, relative_path};

pub(crate) use file::{StanzaNames, own_names};
pub(crate) use index::Names;

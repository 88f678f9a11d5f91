//! What is watched.

use std::collections::BTreeMap;
use std::path::PathBuf;

/// What is watched of a folder.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Reach {
    /// Whether it becomes a repository's root, or says what is passed over.
    Marks,
    /// The files in it.
    Files,
    /// All that is below it.
    Deep,
}

/// What is watched for here, and what the client was asked to.
#[derive(Debug, Default)]
pub(super) struct Watching {
    /// Whether the client is ready.
    pub(super) begun: bool,
    /// The state's shape when this was last looked at.
    pub(super) shape: Option<u64>,
    pub(super) here: BTreeMap<(PathBuf, Reach), notify::RecommendedWatcher>,
    /// By the name under which the client was asked.
    pub(super) asked: BTreeMap<(PathBuf, Reach), String>,
    pub(super) next: u32,
}

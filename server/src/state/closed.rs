//! The lines of files that are not open, counted once for many questions.

use std::sync::{Mutex, PoisonError};

use gutta_protocol::SourceFile;
use ropey::Rope;
use rustc_hash::FxHashMap;
use smol_str::SmolStr;

use super::RootId;

/// So many are kept at a time.
const MOST: usize = 64;

/// By repository and path.
type Ropes = FxHashMap<(RootId, SmolStr), Rope>;

/// Lines counted since the state last took another shape: until then, what is
/// not open stays as it is.
#[derive(Debug, Default)]
pub(super) struct ClosedLines {
    held: Mutex<(u64, Ropes)>,
}

impl ClosedLines {
    /// The file's text, as lines. A copy of a rope shares what it holds.
    pub(super) fn rope(&self, shape: u64, root: RootId, file: &SourceFile) -> Rope {
        let mut held = self.held.lock().unwrap_or_else(PoisonError::into_inner);
        let (of, ropes) = &mut *held;
        if *of != shape || ropes.len() > MOST {
            *of = shape;
            ropes.clear();
        }
        let key = (root, file.path.clone());
        let counted = ropes.entry(key);
        counted
            .or_insert_with(|| Rope::from_str(&file.text))
            .clone()
    }
}

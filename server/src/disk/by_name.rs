//! What a path says of a file, wherever its text is.

use std::path::Path;

use super::EXTENSION;
use super::ignored::{Exclusions, Ignored};
use super::nearly::nearly;
use super::skipped::SkipReason;

/// Why a file of a workspace is passed over as far as its path says, wherever
/// its text is: on the disk, or in a revision. `ignored` says who ignores a file
/// or folder itself.
#[must_use]
pub fn by_name(
    folder: &Path,
    path: &Path,
    excluded: &Exclusions,
    mut ignored: impl FnMut(&Path, bool) -> Option<Ignored>,
) -> Option<SkipReason> {
    let inner = path.strip_prefix(folder).ok()?;
    let mut at = folder.to_owned();
    let parts: Vec<_> = inner.components().collect();
    for (place, part) in parts.iter().enumerate() {
        at.push(part);
        let is_folder = place + 1 < parts.len();
        if let Some(why) = passes_name(excluded, &at, is_folder) {
            return Some(why);
        }
        if let Some(ignored) = ignored(&at, is_folder) {
            return Some(SkipReason::Ignored(ignored));
        }
    }
    if let Some(near) = path.file_name().and_then(nearly) {
        return Some(SkipReason::Nearly(near));
    }
    let is_order = path.extension().is_some_and(|end| end == EXTENSION);
    (!is_order).then_some(SkipReason::OtherEnding)
}

/// The same by the name of a file or folder alone.
pub(super) fn passes_name(
    excluded: &Exclusions,
    path: &Path,
    is_folder: bool,
) -> Option<SkipReason> {
    let name = path.file_name().unwrap_or_default();
    if name.as_encoded_bytes().starts_with(b".") {
        return Some(SkipReason::Hidden);
    }
    excluded
        .name(path, is_folder)
        .then_some(SkipReason::Excluded)
}

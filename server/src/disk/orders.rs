//! Orders that stand where nothing is read.

use std::path::{Path, PathBuf};

use super::EXTENSION;

/// In a folder that is ignored, so many names are looked at for orders.
const LOOKED_AT: usize = 100_000;

/// What was found of orders where nothing is read.
pub(super) enum Looked {
    Orders(Vec<PathBuf>),
    /// There is more than is looked at.
    TooMuch,
}

/// The order files anywhere below a folder that is ignored.
pub(super) fn orders_in(folder: &Path) -> Looked {
    let mut orders = Vec::new();
    let mut due = vec![folder.to_owned()];
    let mut left = LOOKED_AT;
    while let Some(folder) = due.pop() {
        for entry in std::fs::read_dir(folder).into_iter().flatten().flatten() {
            let Some(less) = left.checked_sub(1) else {
                return Looked::TooMuch;
            };
            left = less;
            let path = entry.path();
            let is_folder = entry.file_type().is_ok_and(|kind| kind.is_dir());
            if is_folder && entry.file_name() != ".git" {
                due.push(path);
            } else if path.extension().is_some_and(|end| end == EXTENSION) {
                orders.push(path);
            }
        }
    }
    Looked::Orders(orders)
}

/// Whether no order is below the folder, for certain.
pub(super) fn is_bare(folder: &Path) -> bool {
    matches!(orders_in(folder), Looked::Orders(orders) if orders.is_empty())
}

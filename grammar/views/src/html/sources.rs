//! The files that a sheet comes from, each with its SHA-256 (FIPS 180-4), so
//! that a print can be matched with its revision: `sha256sum FILE` says it too.

use std::fmt::Write;

use gutta_protocol::{FileId, Workspace};
use rustc_hash::FxHashMap;
use sha2::{Digest, Sha256};

use crate::sheet::Sheet;

/// A file and its digest.
#[derive(Clone, Debug)]
pub struct Source {
    /// From the root.
    pub path: String,
    /// 64 hexadecimal digits.
    pub digest: String,
}

/// The digests of a workspace's files, made when first asked for.
pub struct Sources {
    house: Option<Source>,
    known: FxHashMap<FileId, Source>,
}

impl Sources {
    /// For the sheets of a workspace; `house` is its settings' file, if it has
    /// one: its path from the root, and its text.
    #[must_use]
    pub fn new(house: Option<(&str, &str)>) -> Self {
        let house = house.map(|(path, text)| Source {
            path: path.to_owned(),
            digest: digest(text.as_bytes()),
        });
        Self {
            house,
            known: FxHashMap::default(),
        }
    }

    /// The files of one sheet, by path; the house's settings among them.
    pub(crate) fn of_sheet(&mut self, workspace: &Workspace, sheet: &Sheet) -> Vec<Source> {
        let mut all: Vec<_> = self.house.iter().cloned().collect();
        for id in &sheet.sources {
            let source = self.known.entry(*id).or_insert_with(|| {
                let file = workspace.file(*id);
                Source {
                    path: file.path.to_string(),
                    digest: digest(file.text.as_bytes()),
                }
            });
            all.push(source.clone());
        }
        all.sort_by(|one, other| one.path.cmp(&other.path));
        all
    }
}

/// One digest for all of them: of the lines that `sha256sum` writes of them.
pub(super) fn together<'s>(sources: impl IntoIterator<Item = &'s Source>) -> String {
    let mut lines = String::new();
    for Source { path, digest } in sources {
        let _ = writeln!(lines, "{digest}  {path}");
    }
    digest(lines.as_bytes())
}

fn digest(bytes: &[u8]) -> String {
    let mut digits = String::with_capacity(64);
    for byte in Sha256::digest(bytes) {
        let _ = write!(digits, "{byte:02x}");
    }
    digits
}

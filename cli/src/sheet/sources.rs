//! The files that a sheet comes from, each with its SHA-256 (FIPS 180-4), so
//! that a print can be matched with its revision: `sha256sum FILE` says it too.

use std::fmt::Write;

use gutta_checks::sheet::Sheet;
use gutta_protocol::{FileId, Workspace};
use gutta_server::disk::{HOUSE_FILE, house_text};
use rustc_hash::FxHashMap;
use sha2::{Digest, Sha256};

use crate::failure::Failure;
use crate::files::Loaded;

/// A file and its digest.
#[derive(Clone, Debug)]
pub(crate) struct Source {
    /// From the root.
    pub(crate) path: String,
    /// 64 hexadecimal digits.
    pub(crate) digest: String,
}

/// The digests of a workspace's files, made when first asked for.
pub(crate) struct Sources {
    house: Option<Source>,
    known: FxHashMap<FileId, Source>,
}

impl Sources {
    /// For the sheets of a workspace.
    pub(crate) fn of(loaded: &Loaded) -> Result<Self, Failure> {
        let house = match house_text(loaded.root.folder()) {
            Ok(text) => Some(Source {
                path: HOUSE_FILE.to_owned(),
                digest: digest(text.as_bytes()),
            }),
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => None,
            Err(error) => {
                return Err(Failure::system(format!("cannot read {HOUSE_FILE}"), &error));
            }
        };
        Ok(Self {
            house,
            known: FxHashMap::default(),
        })
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

//! Where the workspace begins.

use std::path::{Component, Path, PathBuf};

use gutta_protocol::House;
use gutta_protocol::house::HouseFault;
use gutta_server::disk::HOUSE_FILE;
use smol_str::SmolStr;

use super::Asked;
use crate::failure::Failure;

/// The folder that holds `gutta.toml`; without one, the folder asked about, or
/// the current one.
#[derive(Clone, Debug)]
pub(crate) struct Root {
    /// Absolute.
    folder: PathBuf,
    /// Whether a `gutta.toml` stands there.
    marked: bool,
    /// The current folder.
    here: PathBuf,
}

impl Root {
    /// The root for what was asked.
    pub(super) fn of(asked: &Asked) -> Result<Self, Failure> {
        let here = std::env::current_dir()
            .map_err(|error| Failure::system("cannot find the current folder", &error))?;
        let first = match (asked.stdin(), asked.paths.first()) {
            (true, _) => asked.stdin_path(),
            (false, Some(path)) => path,
            (false, None) => Path::new("."),
        };
        let first = plain(&here.join(first));
        let folder = if first.is_dir() {
            first.as_path()
        } else {
            first.parent().unwrap_or(&first)
        };
        let marked = folder
            .ancestors()
            .find(|folder| folder.join(HOUSE_FILE).is_file());
        let root = match marked {
            Some(folder) => folder,
            None if folder.starts_with(&here) && !first.is_dir() => &here,
            None => folder,
        };
        Ok(Self {
            folder: root.to_owned(),
            marked: marked.is_some(),
            here,
        })
    }

    /// The folder.
    pub(crate) fn folder(&self) -> &Path {
        &self.folder
    }

    /// The path made absolute, without `.` and `..`.
    pub(super) fn absolute(&self, path: &Path) -> PathBuf {
        plain(&self.here.join(path))
    }

    /// The path from the root, with forward slashes.
    pub(super) fn relative(&self, path: &Path) -> Result<SmolStr, Failure> {
        let absolute = self.absolute(path);
        let Ok(inner) = absolute.strip_prefix(&self.folder) else {
            return Err(Failure::new(format!(
                "{} lies outside the workspace {}",
                path.display(),
                self.folder.display()
            )));
        };
        let parts: Vec<_> = inner
            .components()
            .map(|part| part.as_os_str().to_string_lossy())
            .collect();
        Ok(parts.join("/").into())
    }

    /// The file at a path from the root, if it is there, and not a link out of
    /// the workspace.
    pub(super) fn inside(&self, path: &str) -> Option<PathBuf> {
        let real = self.folder.join(path).canonicalize().ok()?;
        real.starts_with(self.folder.canonicalize().ok()?)
            .then_some(real)
    }

    /// The path as it would be typed in the current folder.
    pub(crate) fn shown(&self, path: &str) -> String {
        let full = self.folder.join(path);
        let mut ups = String::new();
        // Above the root nothing is shared: there the whole path says more.
        let bases = self.here.ancestors();
        for base in bases.take_while(|base| base.starts_with(&self.folder) || *base == self.here) {
            if let Ok(inner) = full.strip_prefix(base) {
                return ups + &inner.to_string_lossy().replace('\\', "/");
            }
            ups.push_str("../");
        }
        full.to_string_lossy().into_owned()
    }

    /// Whether a `gutta.toml` marks it.
    pub(super) const fn is_marked(&self) -> bool {
        self.marked
    }

    /// What `gutta.toml` says; without one, the notation's defaults.
    pub(super) fn house(&self) -> Result<House, Failure> {
        if !self.marked {
            return Ok(House::default());
        }
        let text = std::fs::read_to_string(self.folder.join(HOUSE_FILE))
            .map_err(|error| Failure::system(format!("cannot read {HOUSE_FILE}"), &error))?;
        House::from_toml(&text).map_err(|faults| self.faults(&faults))
    }

    /// A run that cannot be as `gutta.toml` asks for it.
    pub(crate) fn faults(&self, faults: &[HouseFault]) -> Failure {
        let file = self.shown(HOUSE_FILE);
        let told = faults.iter().map(|fault| {
            let (line, column) = (fault.line, fault.column);
            format!("{file}:{line}:{column}: {}", fault.message)
        });
        Failure::several(told.collect())
    }
}

/// The path without `.` and `..`, by its words alone: a link is not followed.
fn plain(path: &Path) -> PathBuf {
    let mut plain = PathBuf::new();
    for part in path.components() {
        match part {
            Component::CurDir => {}
            Component::ParentDir => {
                plain.pop();
            }
            part => plain.push(part),
        }
    }
    plain
}

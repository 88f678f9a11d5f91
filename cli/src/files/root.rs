//! Where the workspace begins.

use std::path::{Component, Path, PathBuf};

use gutta_notation::visible_line;
use gutta_protocol::House;
use gutta_protocol::house::HouseFault;
use gutta_server::disk::{self, HOUSE_FILE, marked_root};
use smol_str::SmolStr;

use crate::failure::Failure;

/// What the system calls standard input, where it gives it a path.
const STREAMS: [&str; 3] = ["/dev/stdin", "/dev/fd/0", "/proc/self/fd/0"];

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
    /// The root for one path; `several`: it is not the only one.
    pub(super) fn of(here: &Path, path: &Path, several: bool) -> Self {
        let first = plain(&here.join(path));
        let is_folder = first.is_dir();
        let folder = if is_folder {
            first.as_path()
        } else {
            first.parent().unwrap_or(&first)
        };
        let marked = marked_root(folder);
        let is_marked = marked.is_some();
        let folder = match marked {
            Some(folder) => folder,
            None if folder.starts_with(here) && (several || !is_folder) => here.to_owned(),
            None => folder.to_owned(),
        };
        Self {
            folder,
            marked: is_marked,
            here: here.to_owned(),
        }
    }

    /// The workspace that begins at the folder, inside of this one.
    pub(super) fn inner(&self, folder: &Path) -> Self {
        Self {
            folder: folder.to_owned(),
            marked: true,
            here: self.here.clone(),
        }
    }

    /// The folder around several workspaces, from which all their files are
    /// named.
    pub(crate) fn around<'a>(roots: impl IntoIterator<Item = &'a Self>) -> Option<Self> {
        let mut roots = roots.into_iter();
        let mut all = roots.next()?.clone();
        for root in roots {
            all.marked &= root.folder == all.folder;
            while !root.folder.starts_with(&all.folder) && all.folder.pop() {}
        }
        Some(all)
    }

    /// The folder.
    pub(crate) fn folder(&self) -> &Path {
        &self.folder
    }

    /// What stands before the paths of an inner workspace's files, seen from
    /// here.
    pub(crate) fn before(&self, inner: &Self) -> String {
        let inner = inner.folder.strip_prefix(&self.folder);
        let path = inner.map_or_else(
            |_| String::new(),
            |path| path.to_string_lossy().replace('\\', "/"),
        );
        if path.is_empty() { path } else { path + "/" }
    }

    /// The path made absolute, without `.` and `..`.
    pub(super) fn absolute(&self, path: &Path) -> PathBuf {
        plain(&self.here.join(path))
    }

    /// The path from the root, with forward slashes.
    pub(super) fn relative(&self, path: &Path) -> Result<SmolStr, Failure> {
        let absolute = self.absolute(path);
        let shown = path.display();
        if STREAMS.iter().any(|stream| absolute == Path::new(stream)) {
            return Err(Failure::new(format!(
                "cannot read {shown}: for standard input write `-`, and give the file's name with --stdin-name"
            )));
        }
        if absolute.starts_with(&self.folder) {
            // Two names with other bytes in them would be shown as one.
            let no_name = || Failure::new(format!("cannot read {shown}: its name is not UTF-8"));
            return disk::relative(&self.folder, &absolute).ok_or_else(no_name);
        }
        let root = self.folder.display();
        Err(Failure::new(format!(
            "{shown} is outside the workspace {root}"
        )))
    }

    /// The same of any path, for a person: whatever is in its name.
    pub(crate) fn shown_path(&self, path: &Path) -> String {
        let inner = path.strip_prefix(&self.folder).unwrap_or(path);
        self.shown(&inner.to_string_lossy())
    }

    /// The path as it is shown, from the current folder: on one line, with
    /// nothing hidden.
    pub(crate) fn shown(&self, path: &str) -> String {
        visible_line(&self.typed(path)).into_owned()
    }

    /// The path as it would be typed in the current folder.
    pub(crate) fn typed(&self, path: &str) -> String {
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
        match disk::house(&self.folder) {
            (house, faults) if faults.is_empty() => Ok(house),
            (_, faults) => Err(self.faults(&faults)),
        }
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

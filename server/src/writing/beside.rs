//! The hidden files of one run in one folder.
//!
//! `.gutta-RUN.lock` is locked as long as the run lives; `.gutta-RUN-….part` is
//! being written, and of use to nobody else; `.gutta-RUN-….OLD.NEW.swap` is
//! whole, and changes places with a file: it holds what is to come there, or what
//! was there, and says in its name what both should be.

use std::collections::BTreeMap;
use std::ffi::OsStr;
use std::fs::{File, TryLockError};
use std::io;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicUsize, Ordering};

use tempfile::{Builder, NamedTempFile};

use super::Digest;

const PREFIX: &str = ".gutta-";
const LOCK: &str = ".lock";
const PART: &str = ".part";
const SWAP: &str = ".swap";

/// Another run that takes this one for dead, before it has its lock, has done
/// so within a moment.
const TRIES: usize = 8;

/// This run's hidden files in a folder.
#[derive(Debug)]
pub(super) struct Beside {
    folder: PathBuf,
    /// `.gutta-RUN`
    stem: String,
    count: AtomicUsize,
    /// Is removed with this.
    _lock: NamedTempFile,
}

impl Beside {
    /// Clears away what killed runs left, and begins; with what is not to be
    /// cleared away.
    pub(super) fn open(folder: &Path) -> io::Result<(Self, Vec<PathBuf>)> {
        let left = sweep(folder);
        let mut tries = 0;
        let lock = loop {
            let mut builder = Builder::new();
            let lock = builder
                .prefix(PREFIX)
                .rand_bytes(10)
                .suffix(LOCK)
                .tempfile_in(folder)?;
            // Where files cannot be locked, nothing is ever swept.
            let taken = matches!(lock.as_file().try_lock(), Err(TryLockError::WouldBlock));
            if !taken && lock.path().exists() {
                break lock;
            }
            tries += 1;
            if tries == TRIES {
                return Err(io::ErrorKind::ResourceBusy.into());
            }
        };
        let name = lock.path().file_name().and_then(OsStr::to_str);
        let stem = name.and_then(|name| name.strip_suffix(LOCK));
        let stem = stem.ok_or(io::ErrorKind::InvalidFilename)?.to_owned();
        let beside = Self {
            folder: folder.to_owned(),
            stem,
            count: AtomicUsize::new(0),
            _lock: lock,
        };
        Ok((beside, left))
    }

    /// A new file, with this mode as far as the system's mask allows.
    pub(super) fn part(&self, mode: u32) -> io::Result<NamedTempFile> {
        let prefix = format!("{}-", self.stem);
        let mut builder = Builder::new();
        builder.prefix(&prefix).suffix(PART);
        #[cfg(unix)]
        builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(mode));
        #[cfg(not(unix))]
        let _ = mode;
        builder.tempfile_in(&self.folder)
    }

    /// A path for what is to change places: what is to be there before, and
    /// after.
    pub(super) fn swap(&self, old: Digest, new: Digest) -> PathBuf {
        let count = self.count.fetch_add(1, Ordering::Relaxed);
        let (old, new) = (old.short(), new.short());
        let name = format!("{}-{count}.{old}.{new}{SWAP}", self.stem);
        self.folder.join(name)
    }
}

/// A hidden file, by its name.
#[derive(Debug, PartialEq, Eq)]
enum TempKind {
    Lock,
    Part,
    /// Holds one of these, as far as we know.
    Swap([String; 2]),
}

/// The run, and what the file is; `None` for what is none of ours.
fn read_name(name: &str) -> Option<(&str, TempKind)> {
    let plain =
        |text: &str| !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_alphanumeric());
    let rest = name.strip_prefix(PREFIX)?;
    if let Some(run) = rest.strip_suffix(LOCK) {
        return plain(run).then_some((run, TempKind::Lock));
    }
    let (run, rest) = rest.split_once('-')?;
    if !plain(run) {
        return None;
    }
    if let Some(part) = rest.strip_suffix(PART) {
        return plain(part).then_some((run, TempKind::Part));
    }
    let rest = rest.strip_suffix(SWAP)?;
    let parts: Vec<_> = rest.split('.').collect();
    let [count, old, new] = parts.as_slice() else {
        return None;
    };
    let whole = plain(count)
        && [old, new]
            .iter()
            .all(|digest| plain(digest) && digest.len() == 32);
    whole.then(|| (run, TempKind::Swap([(*old).to_owned(), (*new).to_owned()])))
}

/// Removes what killed runs left in the folder; answers with what has to be
/// looked at by somebody.
pub(super) fn sweep(folder: &Path) -> Vec<PathBuf> {
    let mut left = Vec::new();
    let Ok(entries) = std::fs::read_dir(folder) else {
        return left;
    };
    let mut runs: BTreeMap<String, Vec<(PathBuf, TempKind)>> = BTreeMap::new();
    for entry in entries.flatten() {
        let name = entry.file_name();
        if let Some((run, kind)) = name.to_str().and_then(read_name)
            && entry.file_type().is_ok_and(|kind| kind.is_file())
        {
            runs.entry(run.to_owned())
                .or_default()
                .push((entry.path(), kind));
        }
    }
    for (run, files) in runs {
        let path = folder.join(format!("{PREFIX}{run}{LOCK}"));
        // Held until all of it is gone.
        let _lock = match File::open(&path) {
            Ok(lock) if lock.try_lock().is_ok() => Some(lock),
            Err(error) if error.kind() == io::ErrorKind::NotFound => None,
            _ => continue,
        };
        for (file, kind) in files {
            let known = match kind {
                TempKind::Lock => continue,
                TempKind::Part => true,
                TempKind::Swap(known) => match Digest::of_file(&file) {
                    Ok(Some(digest)) => known.contains(&digest.short()),
                    Ok(None) => false,
                    // It has gone meanwhile, or cannot be judged.
                    Err(error) if error.kind() == io::ErrorKind::NotFound => continue,
                    Err(_) => false,
                },
            };
            if known {
                let _ = std::fs::remove_file(&file);
            } else {
                left.push(file);
            }
        }
        let _ = std::fs::remove_file(&path);
    }
    left
}

#[cfg(test)]
mod tests {
    use super::{TempKind, read_name};

    #[test]
    fn only_names_of_ours_are_known() {
        let digest = "0123456789abcdef0123456789abcdef";
        let swap = format!(".gutta-aB3-7.{digest}.{digest}.swap");
        let both = [digest.to_owned(), digest.to_owned()];
        assert_eq!(read_name(".gutta-aB3.lock"), Some(("aB3", TempKind::Lock)));
        assert_eq!(
            read_name(".gutta-aB3-x1.part"),
            Some(("aB3", TempKind::Part))
        );
        assert_eq!(read_name(&swap), Some(("aB3", TempKind::Swap(both))));
        for other in [
            ".gutta-site",
            ".gutta-.lock",
            ".gutta-a b.lock",
            ".gutta-a.part",
            ".gutta-a-.part",
            ".gutta-a-b.gtt",
            ".gutta-a-1.00.00.swap",
            "gutta-a.lock",
            ".guttar",
        ] {
            assert_eq!(read_name(other), None, "{other}");
        }
    }
}

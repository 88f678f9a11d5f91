//! A file takes its place, and what was there is looked at.

use std::io;
use std::path::{Path, PathBuf};

use tempfile::TempPath;

use super::beside::Beside;
use super::{Before, Digest, Unwritten};

/// What was in a file's place, or is taken away, under a hidden name.
#[derive(Debug)]
pub(super) struct Replaced {
    hidden: PathBuf,
    real: PathBuf,
    old: Digest,
    /// What has come into its place, if anything.
    new: Option<Digest>,
}

/// Puts what is written beside into its place.
pub(super) fn put(
    beside: &Beside,
    part: TempPath,
    real: &Path,
    new: Digest,
    before: Before,
) -> Result<Option<Replaced>, Unwritten> {
    let old = match before {
        Before::Anything => {
            part.persist(real).map_err(|error| error.error)?;
            return Ok(None);
        }
        Before::Nothing => {
            return match part.persist_noclobber(real) {
                Ok(()) => Ok(None),
                Err(error) if error.error.kind() == io::ErrorKind::AlreadyExists => {
                    Err(Unwritten::There)
                }
                Err(error) => Err(error.error.into()),
            };
        }
        Before::Exactly(old) => old,
    };
    // From here on it may be somebody's text that lies beside: nothing removes it
    // unseen.
    let hidden = beside.swap(old, new);
    part.persist_noclobber(&hidden)
        .map_err(|error| error.error)?;
    let real = real.to_owned();
    match exchange(&hidden, &real) {
        Ok(true) => Replaced {
            hidden,
            real,
            old,
            new: Some(new),
        }
        .checked()
        .map(Some),
        Ok(false) => {
            let done = over(&hidden, &real, old);
            if done.is_err() {
                let _ = std::fs::remove_file(&hidden);
            }
            done.map(|()| None)
        }
        Err(error) => {
            let _ = std::fs::remove_file(&hidden);
            Err(gone(error))
        }
    }
}

/// Takes away a file that holds just this.
pub(super) fn take_away(
    beside: &Beside,
    real: PathBuf,
    old: Digest,
) -> Result<Replaced, Unwritten> {
    let hidden = beside.swap(old, old);
    std::fs::rename(&real, &hidden).map_err(gone)?;
    Replaced {
        hidden,
        real,
        old,
        new: None,
    }
    .checked()
}

/// Where two files cannot change places: a last look, then over it.
fn over(hidden: &Path, real: &Path, old: Digest) -> Result<(), Unwritten> {
    if Digest::of_file(real).map_err(gone)? != Some(old) {
        return Err(Unwritten::Changed);
    }
    Ok(std::fs::rename(hidden, real)?)
}

fn gone(error: io::Error) -> Unwritten {
    match error.kind() {
        io::ErrorKind::NotFound => Unwritten::Gone,
        _ => Unwritten::System(error),
    }
}

impl Replaced {
    /// Unless it is what was read, it goes back.
    fn checked(self) -> Result<Self, Unwritten> {
        match Digest::of_file(&self.hidden) {
            Ok(Some(there)) if there == self.old => Ok(self),
            _ => Err(self.put_back()),
        }
    }

    /// Looks at it once more, and removes it.
    pub(super) fn remove(self) -> Result<(), Unwritten> {
        let this = self.checked()?;
        Ok(std::fs::remove_file(this.hidden)?)
    }

    /// What was there is there again, or is kept beside.
    fn put_back(self) -> Unwritten {
        let Self { hidden, real, .. } = &self;
        let Some(new) = self.new else {
            // As long as nobody has put another there.
            return match std::fs::hard_link(hidden, real) {
                Ok(()) => {
                    let _ = std::fs::remove_file(hidden);
                    Unwritten::Changed
                }
                Err(_) => Unwritten::Kept(self.hidden),
            };
        };
        if !matches!(exchange(hidden, real), Ok(true)) {
            return Unwritten::Kept(self.hidden);
        }
        if matches!(Digest::of_file(hidden), Ok(Some(ours)) if ours == new) {
            let _ = std::fs::remove_file(hidden);
            return Unwritten::Changed;
        }
        // Meanwhile somebody has put yet another there: that is the latest.
        let _ = exchange(hidden, real);
        Unwritten::Kept(self.hidden)
    }
}

/// Has two files change places at once; `false` where the system cannot.
#[cfg(any(target_os = "linux", target_os = "android", target_vendor = "apple"))]
fn exchange(one: &Path, other: &Path) -> io::Result<bool> {
    use rustix::fs::{CWD, RenameFlags, renameat_with};
    use rustix::io::Errno;
    match renameat_with(CWD, one, CWD, other, RenameFlags::EXCHANGE) {
        Ok(()) => Ok(true),
        Err(error)
            if [Errno::INVAL, Errno::NOSYS, Errno::NOTSUP, Errno::OPNOTSUPP].contains(&error) =>
        {
            Ok(false)
        }
        Err(error) => Err(error.into()),
    }
}

#[cfg(not(any(target_os = "linux", target_os = "android", target_vendor = "apple")))]
fn exchange(_one: &Path, _other: &Path) -> io::Result<bool> {
    Ok(false)
}

/// Has the folder's names reach the disk, where folders can be flushed.
#[cfg(unix)]
pub(super) fn flush_folder(folder: &Path) -> io::Result<()> {
    use io::ErrorKind::{InvalidInput, PermissionDenied, Unsupported};
    match std::fs::File::open(folder).and_then(|folder| folder.sync_all()) {
        Err(error) if matches!(error.kind(), InvalidInput | PermissionDenied | Unsupported) => {
            Ok(())
        }
        done => done,
    }
}

#[cfg(not(unix))]
pub(super) fn flush_folder(_folder: &Path) -> io::Result<()> {
    Ok(())
}

//! Writing files: the one way in which this program changes anything on disk.
//!
//! A file is written beside the place that it is to take, flushed, and takes
//! that place at once. Whoever has read the file before says what it held: where
//! somebody else has written there since, theirs stays, even if they did so
//! between the last look and the swap, for the two change places and what comes
//! out is looked at. What belongs to a file (its mode, its owner where that is
//! allowed, its access list, the link that leads to it) is kept; one with several
//! names is left alone, since a swap would part them and writing into it could
//! break off half-way.
//!
//! What lies beside bears a hidden name and the lock of its run: that of a run
//! which was killed is removed by the next one in that folder, except a text that
//! nobody has compared yet ([`Batch::left`]).

mod belongings;
mod beside;
mod digest;
mod swap;
mod turn;

#[cfg(test)]
mod tests;

use std::collections::{BTreeMap, BTreeSet};
use std::fs::File;
use std::io::Write;
use std::path::{Path, PathBuf};

use rayon::prelude::*;
use tempfile::TempPath;

use beside::Beside;
pub use digest::Digest;
use swap::Replaced;
use turn::Turn;
pub use turn::end;

/// What may make way for a file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Before {
    /// Nothing: there may be no file yet.
    Nothing,
    /// A file that holds this, as it was read.
    Exactly(Digest),
    /// Nothing, or any plain file.
    Anything,
}

/// Why a file was not written. What was there is there.
#[derive(Debug)]
pub enum Unwritten {
    /// Somebody else has written there since it was read.
    Changed,
    /// It has gone since it was read.
    Gone,
    /// There is something where nothing should be.
    There,
    /// It is one file with so many names.
    Linked(u64),
    /// Somebody wrote there while it was put back: what was there lies in this
    /// hidden file beside it.
    Kept(PathBuf),
    /// The run is being ended.
    Ended,
    /// What the system says.
    System(std::io::Error),
}

impl From<std::io::Error> for Unwritten {
    fn from(error: std::io::Error) -> Self {
        Self::System(error)
    }
}

/// Files that are written together: all lie beside their places before the first
/// takes it. Dropped before that, it leaves nothing behind.
#[derive(Debug)]
pub struct Batch {
    // In the order in which they are to go.
    steps: Vec<Step>,
    folders: BTreeMap<PathBuf, Beside>,
    made: MadeFolders,
    places: BTreeMap<PathBuf, Digest>,
    left: Vec<PathBuf>,
    turn: Turn,
}

/// A file to be put into its place, or taken away from it.
#[derive(Debug)]
struct Step {
    /// As it was named.
    path: PathBuf,
    /// Where it is, behind any link.
    real: PathBuf,
    what: PlannedWrite,
}

#[derive(Debug)]
enum PlannedWrite {
    Put {
        part: TempPath,
        new: Digest,
        before: Before,
    },
    TakeAway(Digest),
}

/// Folders that were made for what is to be written; those that nothing came to
/// lie in go again.
#[derive(Debug, Default)]
struct MadeFolders(Vec<PathBuf>);

impl Drop for MadeFolders {
    fn drop(&mut self) {
        for folder in self.0.iter().rev() {
            let _ = std::fs::remove_dir(folder);
        }
    }
}

impl Batch {
    /// Nothing yet.
    ///
    /// # Errors
    /// [`Unwritten::Ended`] where the run is being ended.
    pub fn begin() -> Result<Self, Unwritten> {
        Ok(Self {
            turn: Turn::begin().ok_or(Unwritten::Ended)?,
            steps: Vec::new(),
            folders: BTreeMap::new(),
            made: MadeFolders::default(),
            places: BTreeMap::new(),
            left: Vec::new(),
        })
    }

    /// Makes a folder, and those around it, where there is none.
    ///
    /// # Errors
    /// What the system says.
    pub fn folder(&mut self, folder: &Path) -> Result<(), Unwritten> {
        let missing = folder
            .ancestors()
            .take_while(|folder| !folder.as_os_str().is_empty() && !folder.exists());
        let missing: Vec<_> = missing.collect();
        for folder in missing.into_iter().rev() {
            match std::fs::create_dir(folder) {
                Ok(()) => self.made.0.push(folder.to_owned()),
                Err(_) if folder.is_dir() => {}
                Err(error) => return Err(error.into()),
            }
        }
        Ok(())
    }

    /// Writes `bytes` beside the place that they are to take.
    ///
    /// # Errors
    /// Why that cannot be, as far as it shows now; the rest of the batch stands.
    pub fn stage(&mut self, path: &Path, bytes: &[u8], before: Before) -> Result<(), Unwritten> {
        if self.turn.is_over() {
            return Err(Unwritten::Ended);
        }
        let new = Digest::of(bytes);
        let there = belongings::find(path)?;
        match (&there, before) {
            (Some(_), Before::Nothing) => return Err(Unwritten::There),
            (None, Before::Exactly(_)) => return Err(Unwritten::Gone),
            _ => {}
        }
        let real = match &there {
            Some(there) => there.real.clone(),
            None => in_folder(path)?,
        };
        // Two names may lead to one file, by a link.
        match self.places.get(&real) {
            Some(other) if *other == new => return Ok(()),
            Some(_) => return Err(Unwritten::Changed),
            None => {}
        }
        if let Some(there) = &there {
            there.may_be_written()?;
            if let Before::Exactly(read) = before
                && Digest::of_file(&real)? != Some(read)
            {
                return Err(Unwritten::Changed);
            }
        }
        let mode = if there.is_some() { 0o600 } else { 0o666 };
        let mut part = self.beside(&real)?.part(mode)?;
        part.write_all(bytes)?;
        if let Some(there) = &there {
            there.give_to(part.as_file())?;
        }
        let part = part.into_temp_path();
        self.places.insert(real.clone(), new);
        self.steps.push(Step {
            path: path.to_owned(),
            real,
            what: PlannedWrite::Put { part, new, before },
        });
        Ok(())
    }

    /// Will take away a file that holds just this.
    ///
    /// # Errors
    /// Why that cannot be; the rest of the batch stands.
    pub fn take_away(&mut self, path: &Path, held: Digest) -> Result<(), Unwritten> {
        let real = in_folder(path)?;
        self.beside(&real)?;
        self.steps.push(Step {
            path: path.to_owned(),
            real,
            what: PlannedWrite::TakeAway(held),
        });
        Ok(())
    }

    /// Hidden files that killed runs left in the folders of this batch, and that
    /// are not removed: what each holds stood in a file's place, and is neither
    /// what was read there nor what was to be written.
    #[must_use]
    pub fn left(&self) -> &[PathBuf] {
        &self.left
    }

    /// Has every file take its place, and answers with those that could not, as
    /// they were named. This is not broken off by the run's being ended.
    #[must_use = "what was not written has to be told"]
    pub fn swap(mut self) -> Vec<(PathBuf, Unwritten)> {
        let steps = std::mem::take(&mut self.steps);
        let flushed: Vec<_> = steps
            .into_par_iter()
            .map(|step| (step.flush(), step))
            .collect();
        let mut failed = Vec::new();
        let mut replaced = Vec::new();
        for (flushed, step) in flushed {
            let Step { path, real, what } = step;
            let Some(beside) = folder_of(&real).and_then(|folder| self.folders.get(folder)) else {
                continue;
            };
            let done = flushed.map_err(Unwritten::from).and_then(|()| match what {
                PlannedWrite::Put { part, new, before } => {
                    swap::put(beside, part, &real, new, before)
                }
                PlannedWrite::TakeAway(held) => swap::take_away(beside, real, held).map(Some),
            });
            match done {
                Ok(Some(old)) => replaced.push((path, old)),
                Ok(None) => {}
                Err(why) => failed.push((path, why)),
            }
        }
        let mut folders: BTreeSet<&Path> = self.folders.keys().map(PathBuf::as_path).collect();
        folders.extend(self.made.0.iter().filter_map(|made| folder_of(made)));
        for folder in folders {
            if let Err(error) = swap::flush_folder(folder) {
                failed.push((folder.to_owned(), error.into()));
            }
        }
        // Meanwhile whoever had the old file open may have written into it.
        for (path, old) in replaced {
            if let Err(why) = Replaced::remove(old) {
                failed.push((path, why));
            }
        }
        failed
    }

    fn beside(&mut self, real: &Path) -> Result<&Beside, Unwritten> {
        use std::collections::btree_map::Entry;
        let folder = folder_of(real).unwrap_or(Path::new("."));
        match self.folders.entry(folder.to_owned()) {
            Entry::Occupied(there) => Ok(there.into_mut()),
            Entry::Vacant(place) => {
                let (beside, left) = Beside::open(folder)?;
                self.left.extend(left);
                Ok(place.insert(beside))
            }
        }
    }
}

impl Step {
    fn flush(&self) -> std::io::Result<()> {
        let PlannedWrite::Put { part, .. } = &self.what else {
            return Ok(());
        };
        let file = File::options().write(true).open(part);
        file.or_else(|_| File::open(part))?.sync_all()
    }
}

/// Writes one file.
///
/// # Errors
/// Why it was not written.
pub fn write(path: &Path, bytes: &[u8], before: Before) -> Result<(), Unwritten> {
    let mut batch = Batch::begin()?;
    batch.stage(path, bytes, before)?;
    match batch.swap().pop() {
        None => Ok(()),
        Some((_, why)) => Err(why),
    }
}

/// Removes what killed runs left in a folder, and answers with what is kept, as
/// [`Batch::left`] does.
#[must_use]
pub fn sweep(folder: &Path) -> Vec<PathBuf> {
    beside::sweep(folder)
}

/// The path with its folder resolved, so that one file has one.
fn in_folder(path: &Path) -> Result<PathBuf, Unwritten> {
    let name = path
        .file_name()
        .ok_or(Unwritten::System(std::io::ErrorKind::IsADirectory.into()))?;
    let folder = folder_of(path).unwrap_or(Path::new("."));
    Ok(folder.canonicalize()?.join(name))
}

fn folder_of(path: &Path) -> Option<&Path> {
    let folder = path.parent()?;
    Some(if folder.as_os_str().is_empty() {
        Path::new(".")
    } else {
        folder
    })
}

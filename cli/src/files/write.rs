//! Writing files, and saying what was not written and why. How it is done is
//! `gutta_server::writing`'s; nothing else here writes.

use std::path::{Path, PathBuf};
use std::sync::Once;
use std::time::Duration;

use gutta_server::disk::{EXTENSION, HOUSE_FILE};
use gutta_server::writing::{self, Batch, Before, Digest, Unwritten};
use smol_str::SmolStr;

use super::Root;
use crate::failure::Failure;
use crate::terminal;

/// What a run that is ended may take to have the files whole that it began.
const PATIENCE: Duration = Duration::from_secs(10);
/// Lists of what is ignored.
const IGNORED: [&str; 2] = [".gitignore", ".ignore"];
/// As a shell has it of a program that Ctrl-C ended.
const ENDED: i32 = 130;

/// Has Ctrl-C, or a request to end, wait until the files that were begun are
/// whole; nothing is then left beside them. Where a signal is ignored, or heeded
/// otherwise, that stays.
pub(crate) fn heed_signals() {
    static ONCE: Once = Once::new();
    ONCE.call_once(|| {
        let _ = ctrlc::try_set_handler(|| {
            writing::end(PATIENCE);
            std::process::exit(ENDED);
        });
    });
}

/// Has a file that may not grow any further be an error of writing, which is
/// told, and not the end of the program in the midst of it.
pub(crate) fn heed_limits() {
    #[cfg(unix)]
    {
        let noted = std::sync::Arc::default();
        // Where the signal cannot be heeded, all is as it was.
        let _ = signal_hook::flag::register(signal_hook::consts::SIGXFSZ, noted);
    }
}

/// Begins to write files together.
pub(crate) fn begin() -> Result<Batch, Failure> {
    heed_signals();
    Batch::begin().map_err(|why| not_written("all", why))
}

/// Puts `bytes` at a path, over any plain file that holds none of the hospital's
/// own texts: whole, or not at all.
pub(crate) fn write_at(path: &Path, bytes: &[u8]) -> Result<(), Failure> {
    no_source(path)?;
    write(path, bytes, Before::Anything)
}

/// That neither the path nor what it leads to is an order file, the settings, or
/// a list of what is ignored: an output in its place would be somebody's loss.
pub(crate) fn no_source(path: &Path) -> Result<(), Failure> {
    let real = path.canonicalize().ok();
    let is_source = |path: &Path| {
        let name = path.file_name().and_then(|name| name.to_str());
        path.extension()
            .is_some_and(|end| end.eq_ignore_ascii_case(EXTENSION))
            || name.is_some_and(|name| name == HOUSE_FILE || IGNORED.contains(&name))
    };
    match [Some(path), real.as_deref()]
        .into_iter()
        .flatten()
        .find(|path| is_source(path))
    {
        None => Ok(()),
        Some(source) => Err(Failure::new(format!(
            "{} is a file that gutta reads, so it does not write there; nothing was written",
            source.display()
        ))),
    }
}

/// Puts `bytes` in the place of a file that held `read`, or where there was none:
/// if that is still so.
pub(crate) fn write_after(path: &Path, bytes: &[u8], read: Option<&[u8]>) -> Result<(), Failure> {
    let before = read.map_or(Before::Nothing, |read| Before::Exactly(Digest::of(read)));
    write(path, bytes, before)
}

fn write(path: &Path, bytes: &[u8], before: Before) -> Result<(), Failure> {
    let shown = path.display().to_string();
    let mut batch = begin()?;
    let staged = batch.stage(path, bytes, before);
    tell_left(&batch);
    staged.map_err(|why| not_written(&shown, why))?;
    match batch.swap().pop() {
        None => Ok(()),
        Some((_, why)) => Err(not_written(&shown, why)),
    }
}

/// A file to be written again.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Rewrite<'t> {
    /// From the root.
    pub(crate) path: &'t SmolStr,
    /// As it was read.
    pub(crate) before: &'t str,
    /// As it is to be.
    pub(crate) after: &'t str,
}

/// What became of files that were to be written again.
#[derive(Debug, Default)]
pub(crate) struct Rewritten {
    /// Those that somebody else had changed or removed since they were read, by
    /// their paths from the root. They are told, and as they were.
    pub(crate) left: Vec<SmolStr>,
    /// Why others could not be written.
    pub(crate) failure: Option<Failure>,
}

/// Writes each file again that still is as it was read.
pub(crate) fn rewrite(root: &Root, files: &[Rewrite<'_>]) -> Result<Rewritten, Failure> {
    let mut done = Rewritten::default();
    // A folder at a time: each holds a lock.
    let folder = |file: &Rewrite<'_>| Path::new(file.path.as_str()).parent().map(Path::to_owned);
    for files in files.chunk_by(|one, other| folder(one) == folder(other)) {
        let mut batch = begin()?;
        let mut failed: Vec<(PathBuf, Unwritten)> = Vec::new();
        for file in files {
            let path = root.folder().join(file.path.as_str());
            let before = Before::Exactly(Digest::of(file.before.as_bytes()));
            match batch.stage(&path, file.after.as_bytes(), before) {
                Ok(()) => {}
                Err(why @ Unwritten::Ended) => return Err(not_written("all", why)),
                Err(why) => failed.push((path, why)),
            }
        }
        tell_left(&batch);
        failed.extend(batch.swap());
        for (path, why) in failed {
            let named = |file: &&Rewrite<'_>| root.folder().join(file.path.as_str()) == path;
            let file = files.iter().find(named);
            let shown =
                file.map_or_else(|| path.display().to_string(), |file| root.shown(file.path));
            match (&why, file) {
                (Unwritten::Changed | Unwritten::Gone, Some(file)) => {
                    terminal::tell(&format!("gutta: {}", said(&shown, &why)));
                    done.left.push(file.path.clone());
                }
                _ => {
                    let failure = not_written(&shown, why);
                    done.failure = Some(match done.failure.take() {
                        Some(before) => before.and(failure),
                        None => failure,
                    });
                }
            }
        }
    }
    Ok(done)
}

/// Tells of texts that a killed run left, and that only a person can judge.
pub(crate) fn tell_left(batch: &Batch) {
    for path in batch.left() {
        tell_kept(path);
    }
}

/// Tells of one such text.
pub(crate) fn tell_kept(path: &Path) {
    let path = path.display();
    terminal::tell(&format!(
        "gutta: {path} was left by a run that was killed, and holds what another program wrote \
         in that moment: look at it, then move or remove it"
    ));
}

/// That, and why, a file was not written.
pub(crate) fn not_written(shown: &str, why: Unwritten) -> Failure {
    match why {
        Unwritten::System(error) => Failure::system(format!("cannot write {shown}"), &error),
        why => Failure::new(said(shown, &why)),
    }
}

/// The same in words, without a full stop.
pub(crate) fn said(shown: &str, why: &Unwritten) -> String {
    match why {
        Unwritten::Changed => format!(
            "{shown} was changed by another program after it was read, and is left as it is: \
             run this again"
        ),
        Unwritten::Gone => {
            format!("{shown} was removed by another program after it was read; it is not written")
        }
        Unwritten::There => format!("{shown} is there already; it is left as it is"),
        Unwritten::Linked(names) => format!(
            "cannot write {shown}: it is one file with {names} names (hard links), and writing \
             would separate them: put a copy in its place first"
        ),
        Unwritten::Kept(hidden) => format!(
            "cannot write {shown}: other programs wrote there at the same time; what one of them \
             wrote is in {}",
            hidden.display()
        ),
        Unwritten::Ended => format!("ended before {shown} was written"),
        Unwritten::System(error) => format!("cannot write {shown}: {error}"),
    }
}

//! Writing a site into its folder: all pages lie beside their places before the
//! first takes it, and nothing that is not ours is touched.

mod list;

use std::io::ErrorKind;
use std::path::Path;

use gutta_server::disk::{MAX_OWN_BYTES, text};
use gutta_server::writing::{self, Batch, Before, Digest, Unwritten};
use gutta_views::site::{FOLDERS, Site};
use list::{List, NAME};

use crate::failure::Failure;
use crate::files::{begin, not_written, said, tell_kept};
use crate::out::Out;

/// What became of the pages.
#[derive(Debug, Default)]
pub(crate) struct Written {
    /// Of what was left as it is, and why: a line each.
    pub(crate) left: Vec<String>,
    /// How many pages are now as they should be.
    pub(crate) pages: usize,
}

/// A site's folder, with what its list says and what the new one will.
struct Folder<'f> {
    path: &'f Path,
    old: List,
    /// Its text, if there is one.
    read: Option<String>,
    new: List,
    written: Written,
}

/// Writes all pages into a folder that holds nothing, or an earlier site.
pub(crate) fn write(site: &Site, path: &Path) -> Result<Written, Failure> {
    let mut folder = Folder::open(path)?;
    let mut batch = begin()?;
    for (page, html) in site.pages() {
        folder.stage(&mut batch, page, Out::html(html).bytes())?;
    }
    folder.take_away(&mut batch)?;
    // A run that is killed from here on leaves a list of the old and the new.
    let mut either = List::default();
    for list in [&folder.old, &folder.new] {
        list.paths().for_each(|page| either.add_from(list, page));
    }
    let between = either.text();
    folder.write_list(&between)?;
    for (page, why) in batch.swap() {
        folder.not_done(&page, why)?;
    }
    let list = folder.new.text();
    folder.read = Some(between);
    folder.write_list(&list)?;
    Ok(folder.written)
}

/// Removes what killed runs left, in the page's folders too, whether anything is
/// to be written there or not.
fn clear_up(site: &Path) {
    let folders = FOLDERS.map(|inner| site.join(inner));
    for folder in folders.iter().map(AsRef::as_ref).chain([site]) {
        // What a link leads to is none of ours.
        if folder.symlink_metadata().is_ok_and(|meta| meta.is_dir()) {
            writing::sweep(folder)
                .iter()
                .for_each(|left| tell_kept(left));
        }
    }
}

/// Whether a folder holds nothing but such folders, and these nothing: as a first
/// run leaves it that was killed.
fn is_vacant(folder: &Path, inner: &[&str]) -> std::io::Result<bool> {
    for entry in std::fs::read_dir(folder)? {
        let entry = entry?;
        let known = inner.iter().any(|name| entry.file_name() == *name);
        if !known || !entry.file_type()?.is_dir() || !is_vacant(&entry.path(), &[])? {
            return Ok(false);
        }
    }
    Ok(true)
}

impl<'f> Folder<'f> {
    fn open(path: &'f Path) -> Result<Self, Failure> {
        let mut folder = Self {
            path,
            old: List::default(),
            read: None,
            new: List::default(),
            written: Written::default(),
        };
        let meta = match path.symlink_metadata() {
            Err(error) if error.kind() == ErrorKind::NotFound => return Ok(folder),
            other => other.map_err(|error| folder.cannot(&error))?,
        };
        let refused = |inner: &Path, why: &str| {
            let place = inner.display();
            Err(Failure::new(format!("{place} {why}; nothing was written")))
        };
        if meta.is_symlink() {
            return refused(path, "is a link: name the folder that it leads to");
        }
        clear_up(path);
        if is_vacant(path, &FOLDERS).map_err(|error| folder.cannot(&error))? {
            return Ok(folder);
        }
        let list = path.join(NAME);
        if !list.symlink_metadata().is_ok_and(|meta| meta.is_file()) {
            return refused(path, "holds something else");
        }
        let held = text(&list, MAX_OWN_BYTES).map_err(|error| folder.cannot(&error))?;
        match List::read(&held) {
            None => return refused(&list, "is not a list of pages that can be read"),
            Some(old) => folder.old = old,
        }
        folder.read = Some(held);
        for inner in FOLDERS {
            let inner = path.join(inner);
            let there = inner.symlink_metadata();
            if there.is_ok_and(|meta| !meta.is_dir()) {
                return refused(&inner, "is a link or a file, not a folder");
            }
        }
        Ok(folder)
    }

    /// Writes a page beside its place, unless it is there already.
    fn stage(&mut self, batch: &mut Batch, page: &str, text: &[u8]) -> Result<(), Failure> {
        let path = self.path.join(page);
        let new = Digest::of(text);
        let before = match Digest::of_file(&path) {
            Err(error) if error.kind() == ErrorKind::NotFound => Before::Nothing,
            Ok(Some(held)) if held == new => {
                self.written.pages += 1;
                self.new.add(page, new);
                return Ok(());
            }
            Ok(Some(held)) if self.old.says(page, held) => Before::Exactly(held),
            Ok(_) => {
                self.leave(page);
                return Ok(());
            }
            Err(error) => return Err(self.cannot(&error)),
        };
        let around = path.parent().unwrap_or(self.path);
        let staged = batch
            .folder(around)
            .and_then(|()| batch.stage(&path, text, before));
        match staged {
            Ok(()) => {
                self.written.pages += 1;
                self.new.add(page, new);
                Ok(())
            }
            Err(why) => Err(not_written(&path.display().to_string(), why)),
        }
    }

    /// Will take away the pages that are no longer of the site.
    fn take_away(&mut self, batch: &mut Batch) -> Result<(), Failure> {
        let gone: Vec<_> = self
            .old
            .paths()
            .filter(|page| !self.new.holds(page))
            .map(str::to_owned)
            .collect();
        for page in gone {
            let path = self.path.join(&page);
            match Digest::of_file(&path) {
                Err(error) if error.kind() == ErrorKind::NotFound => {}
                Ok(Some(held)) if self.old.says(&page, held) => batch
                    .take_away(&path, held)
                    .map_err(|why| not_written(&path.display().to_string(), why))?,
                Ok(_) => self.leave(&page),
                Err(error) => return Err(self.cannot(&error)),
            }
        }
        Ok(())
    }

    /// Leaves a page as it is: somebody has changed it, or made it. What the list
    /// says of it stays, so that it is told again.
    fn leave(&mut self, page: &str) {
        if self.new.holds(page) {
            return;
        }
        self.new.add_from(&self.old, page);
        let place = self.path.join(page);
        let why = if self.old.holds(page) {
            "was changed by somebody since it was made"
        } else {
            "was not made by gutta, and a page is to be written there"
        };
        self.written.left.push(format!(
            "{} {why}; it is left as it is, and may be out of date: move it away and run this \
             again",
            place.display()
        ));
    }

    /// A page did not take its place, or was not taken from it.
    fn not_done(&mut self, path: &Path, why: Unwritten) -> Result<(), Failure> {
        let shown = path.display().to_string();
        if let Some(page) = path.strip_prefix(self.path).ok().and_then(Path::to_str) {
            self.new.add_from(&self.old, page);
        }
        if let Unwritten::System(_) = why {
            let failure = not_written(&shown, why);
            return Err(failure.and(Failure::new(format!(
                "{} is written in part: run this again",
                self.path.display()
            ))));
        }
        self.written.pages = self.written.pages.saturating_sub(1);
        self.written.left.push(said(&shown, &why));
        Ok(())
    }

    fn write_list(&self, text: &str) -> Result<(), Failure> {
        if self.read.as_deref() == Some(text) {
            return Ok(());
        }
        crate::files::write_after(
            &self.path.join(NAME),
            text.as_bytes(),
            self.read.as_deref().map(str::as_bytes),
        )
    }

    fn cannot(&self, error: &std::io::Error) -> Failure {
        Failure::system(format!("cannot write {}", self.path.display()), error)
    }
}

//! What is open, and every repository with its findings.

mod closed;
mod document;
mod homes;
mod moving;
mod notices;
mod outside;
mod ownership;
mod refused;
mod root;
mod settings;
mod site;

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use gutta_checks::Options;
use gutta_notation::ast::Date;
use gutta_protocol::FileId;
use rustc_hash::FxHashMap;
use smol_str::SmolStr;
use tower_lsp::lsp_types::{TextDocumentContentChangeEvent, Url};

use crate::disk;
use crate::text::{Encoding, Lines};
use closed::ClosedLines;
pub(crate) use document::Document;
pub(crate) use moving::{Move, at_or_below};
pub(crate) use notices::Notice;
pub(crate) use refused::{AnswerPart, Refused};
pub(crate) use root::Root;
pub(crate) use settings::{SECTION, Settings, parse_weight};
pub(crate) use site::Site;

/// More replacements than these in one change are taken as one.
const MANY: usize = 64;

/// A repository, by the order in which they came.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(crate) struct RootId(u32);

/// A file of a repository.
pub(crate) type FileRef = (RootId, FileId);

/// All that the server knows.
#[derive(Debug, Default)]
pub(crate) struct State {
    pub(crate) encoding: Encoding,
    pub(crate) settings: Settings,
    roots: BTreeMap<RootId, Root>,
    next: u32,
    documents: FxHashMap<Url, Document>,
    /// What the client has open and is not held as it shows it; where it stands.
    lost: FxHashMap<Url, Option<PathBuf>>,
    /// The folders that the editor has open.
    folders: Vec<PathBuf>,
    /// Grows whenever files may have come or gone.
    pub(crate) shape: u64,
    /// Whether other faults of a `gutta.toml` are to be told than before.
    pub(crate) house_changed: bool,
    closed: ClosedLines,
}

impl State {
    /// Opens a folder: the repository around it, or those below it, and
    /// whatever else lies there.
    pub(crate) fn open_folder(&mut self, folder: &Path) {
        self.shape += 1;
        if !self.folders.iter().any(|held| held == folder) {
            self.folders.push(folder.to_owned());
        }
        let root = disk::marked_root(folder);
        self.add_roots(root.unwrap_or_else(|| folder.to_owned()));
        // One around it may use what is no longer its own.
        self.follow_texts();
    }

    /// Closes a folder, and what no other open folder or document needs.
    pub(crate) fn close_folder(&mut self, folder: &Path) {
        self.folders.retain(|held| held != folder);
        self.reload();
    }

    /// Reads everything anew: what is open stays open.
    pub(crate) fn reload(&mut self) {
        self.shape += 1;
        self.roots.clear();
        for folder in self.folders.clone() {
            self.open_folder(&folder);
        }
        self.settle_documents();
    }

    /// Finds every open document its repository anew.
    pub(crate) fn settle_documents(&mut self) {
        let urls: Vec<_> = self.documents.keys().cloned().collect();
        for url in urls {
            self.settle_in(&url);
        }
        self.let_go();
        self.follow_texts();
    }

    /// Lets go of every repository. Of what is open nothing is said until it is
    /// opened again, or something is read anew.
    pub(crate) fn close_all(&mut self) {
        self.roots.clear();
        self.shape += 1;
    }

    /// Opens a document.
    pub(crate) fn open(&mut self, url: Url, version: i32, text: &str) {
        self.shape += 1;
        let before = self.next;
        let document = Document::new(&url, version, text);
        self.lost.remove(&url);
        self.documents.insert(url.clone(), document);
        self.settle_in(&url);
        if self.next == before {
            self.follow_texts();
        } else {
            // A repository that came may be another document's too.
            self.settle_documents();
        }
    }

    /// Changes an open document, in every repository that holds it; `false` if
    /// it is none.
    pub(crate) fn change(
        &mut self,
        url: &Url,
        version: i32,
        changes: Vec<TextDocumentContentChangeEvent>,
    ) -> bool {
        let Some(document) = self.documents.get_mut(url) else {
            return false;
        };
        document.version = version;
        let many = changes.len() > MANY;
        for change in changes {
            let replaced = document.change(change, self.encoding);
            if many {
                continue;
            }
            for (id, root) in &mut self.roots {
                if let Some(name) = document.name_in(*id, root) {
                    let whole = || document.rope.to_string();
                    root.edit(&name, replaced.span, &replaced.with, whole);
                }
            }
        }
        if many {
            // Each by itself would move all behind it.
            for (id, root) in &mut self.roots {
                if let Some(name) = document.name_in(*id, root) {
                    root.put(&name, document.rope.to_string());
                }
            }
        }
        self.follow_texts();
        true
    }

    /// Closes a document: what is on the disk holds again.
    pub(crate) fn close(&mut self, url: &Url) {
        self.shape += 1;
        self.lost.remove(url);
        let Some(document) = self.documents.remove(url) else {
            return;
        };
        match (document.path, document.home) {
            (Some(path), _) => self.refresh(&[path]),
            (None, Some((id, name))) => {
                if let Some(root) = self.roots.get_mut(&id) {
                    root.take_out(&name);
                }
            }
            (None, None) => {}
        }
        self.let_go();
        self.follow_texts();
    }

    /// The day or the settings changed.
    pub(crate) fn set_options(&mut self) {
        let options = self.options();
        for root in self.roots.values_mut() {
            if root.checked.options() != &options {
                root.checked.set_options(options.clone());
                root.refused.forget();
            }
        }
    }

    /// What took too long may be less now: for one weight alone, say.
    pub(crate) fn forget_refused(&mut self) {
        self.roots
            .values_mut()
            .for_each(|root| root.refused.forget());
    }

    /// What checks are asked today.
    pub(crate) fn options(&self) -> Options {
        let set = self.settings.today.as_deref().and_then(parsed);
        Options {
            today: set.or_else(|| date(jiff::Zoned::now().date())),
        }
    }

    pub(crate) fn folders(&self) -> &[PathBuf] {
        &self.folders
    }

    pub(crate) fn roots(&self) -> impl Iterator<Item = (RootId, &Root)> + Clone {
        self.roots.iter().map(|(id, root)| (*id, root))
    }

    pub(crate) fn roots_mut(&mut self) -> impl Iterator<Item = (RootId, &mut Root)> {
        self.roots.iter_mut().map(|(id, root)| (*id, root))
    }

    pub(crate) fn root(&self, id: RootId) -> Option<&Root> {
        self.roots.get(&id)
    }

    pub(crate) fn root_mut(&mut self, id: RootId) -> Option<&mut Root> {
        self.roots.get_mut(&id)
    }

    pub(crate) fn document(&self, url: &Url) -> Option<&Document> {
        self.documents.get(url)
    }

    /// The file that the URL names, open or not: in the repository that it
    /// belongs to, else in one that uses it.
    pub(crate) fn file(&self, url: &Url) -> Option<FileRef> {
        if self.lost.contains_key(url) {
            return None;
        }
        let document = self.documents.get(url);
        let path = document.map_or_else(|| disk::path(url), |document| document.path.clone());
        let home = match (document, &path) {
            (Some(document), _) => document.home.clone(),
            (None, Some(path)) => self.owner(path),
            (None, None) => None,
        };
        let at_home = home.and_then(|(id, name)| {
            let file = self.roots.get(&id)?.workspace.file_at(&name)?;
            Some((id, file))
        });
        at_home.or_else(|| {
            let path = path?;
            let holding = self.roots.iter().filter_map(|(id, root)| {
                let folder = root.folder.as_deref()?;
                let file = root.workspace.file_at(&disk::relative(folder, &path)?)?;
                Some((folder.components().count(), (*id, file)))
            });
            holding
                .max_by_key(|(depth, _)| *depth)
                .map(|(_, file)| file)
        })
    }

    /// Whether findings of the file are told: not where it is only held since
    /// another uses it, nor where the client shows another text.
    pub(crate) fn judges(&self, (id, file): FileRef) -> bool {
        let root = self.roots.get(&id);
        root.is_some_and(|root| !root.is_borrowed(&root.workspace.file(file).path))
            && !self.is_lost((id, file))
    }

    /// Whether this is where the file is spoken of: of several repositories
    /// that hold it, only one does.
    pub(crate) fn speaks_of(&self, file: FileRef) -> bool {
        self.judges(file) || self.url(file).and_then(|url| self.file(&url)) == Some(file)
    }

    /// The URL of a file, as the client spells it where it has it open.
    pub(crate) fn url(&self, (id, file): FileRef) -> Option<Url> {
        let root = self.roots.get(&id)?;
        let path = &root.workspace.file(file).path;
        self.open_as(id, path)
            .or_else(|| Url::from_file_path(root.path_of(file)?).ok())
    }

    /// The version of the file's text, where it is open.
    pub(crate) fn version(&self, (id, file): FileRef) -> Option<i32> {
        let path = &self.roots.get(&id)?.workspace.file(file).path;
        let url = self.open_as(id, path)?;
        Some(self.documents.get(&url)?.version)
    }

    /// Does something with the file's lines.
    pub(crate) fn with_lines<T>(
        &self,
        (id, file): FileRef,
        work: impl FnOnce(Lines<'_>) -> T,
    ) -> Option<T> {
        let source = self.roots.get(&id)?.workspace.file(file);
        let open = self.open_as(id, &source.path);
        let encoding = self.encoding;
        if let Some(document) = open.and_then(|url| self.documents.get(&url)) {
            let rope = &document.rope;
            return Some(work(Lines { rope, encoding }));
        }
        let rope = self.closed.rope(self.shape, id, source);
        Some(work(Lines {
            rope: &rope,
            encoding,
        }))
    }

    /// What a feature looks at.
    pub(crate) fn site(&self, (id, file): FileRef) -> Option<Site<'_>> {
        let root = self.roots.get(&id)?;
        Some(Site {
            workspace: &root.workspace,
            checked: &root.checked,
            refused: &root.refused,
            settings: &self.settings,
            file,
        })
    }

    fn open_as(&self, id: RootId, path: &SmolStr) -> Option<Url> {
        let root = self.roots.get(&id)?;
        let Some(folder) = root.folder.as_deref() else {
            let mut open = self.documents.keys();
            return open.find(|url| url.as_str() == path.as_str()).cloned();
        };
        let at = folder.join(&**path);
        let usual = Url::from_file_path(&at).ok();
        if let Some(url) = usual.filter(|url| self.documents.contains_key(url)) {
            return Some(url);
        }
        let mut open = self.documents.iter();
        open.find(|(_, document)| document.path.as_ref() == Some(&at))
            .map(|(url, _)| url.clone())
    }

    /// Finds the document its repository, and puts its text wherever the file
    /// is held.
    fn settle_in(&mut self, url: &Url) {
        let home = self.home(url);
        let Some(document) = self.documents.get_mut(url) else {
            return;
        };
        document.home = home.clone();
        if let Some(path) = document.path.clone() {
            return self.refresh(&[path]);
        }
        let text = document.rope.to_string();
        if let Some((id, name)) = home
            && let Some(root) = self.roots.get_mut(&id)
        {
            root.put(&name, text);
        }
    }
}

fn date(date: jiff::civil::Date) -> Option<Date> {
    Some(Date {
        year: u16::try_from(date.year()).ok()?,
        month: u8::try_from(date.month()).ok()?,
        day: u8::try_from(date.day()).ok()?,
    })
}

fn parsed(text: &str) -> Option<Date> {
    date(text.parse().ok()?)
}

//! What is open, and every repository with its findings.

mod closed;
mod document;
mod outside;
mod root;
mod settings;
mod site;

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use gutta_checks::Options;
use gutta_notation::ast::Date;
use gutta_protocol::FileId;
use ropey::Rope;
use rustc_hash::FxHashMap;
use smol_str::SmolStr;
use tower_lsp::lsp_types::{TextDocumentContentChangeEvent, Url};

use crate::disk;
use crate::text::{Encoding, Lines};
use closed::ClosedLines;
pub(crate) use document::Document;
pub(crate) use root::Root;
pub(crate) use settings::{SECTION, Settings};
pub(crate) use site::Site;

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
    /// The folders that the editor has open.
    folders: Vec<PathBuf>,
    /// Grows whenever files may have come or gone.
    pub(crate) shape: u64,
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
        if let Some(root) = disk::marked_root(folder) {
            self.add_root(Some(root), true, &[]);
            return;
        }
        let inner = disk::repositories(folder);
        for root in &inner {
            self.add_root(Some(root.clone()), true, &[]);
        }
        self.add_root(Some(folder.to_owned()), true, &inner);
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
        let document = Document {
            rope: Rope::from_str(text),
            version,
            home: None,
            tokens: None,
        };
        self.documents.insert(url.clone(), document);
        self.settle_in(&url);
    }

    /// Changes an open document; `false` if it is none.
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
        for change in changes {
            let replaced = document.change(change, self.encoding);
            let Some((root, path)) = &document.home else {
                continue;
            };
            if let Some(root) = self.roots.get_mut(root) {
                let whole = || document.rope.to_string();
                root.edit(path, replaced.span, &replaced.with, whole);
            }
        }
        true
    }

    /// Closes a document: what is on the disk holds again.
    pub(crate) fn close(&mut self, url: &Url) {
        self.shape += 1;
        let Some(document) = self.documents.remove(url) else {
            return;
        };
        let Some((id, path)) = document.home else {
            return;
        };
        let Some(root) = self.roots.get_mut(&id) else {
            return;
        };
        let on_disk = root
            .folder
            .as_deref()
            .and_then(|folder| disk::inside(folder, &path));
        match on_disk.and_then(|path| disk::read(&path).ok()) {
            Some(content) if root.whole => root.put(&path, content),
            _ => root.take_out(&path),
        }
        let mut homes = self
            .documents
            .values()
            .filter_map(|held| held.home.as_ref());
        if !root.whole && !homes.any(|(root, _)| *root == id) {
            self.roots.remove(&id);
        }
    }

    /// The day or the settings changed.
    pub(crate) fn set_options(&mut self) {
        let options = self.options();
        for root in self.roots.values_mut() {
            if root.checked.options() != &options {
                root.checked.set_options(options.clone());
            }
        }
    }

    /// What checks are asked today.
    pub(crate) fn options(&self) -> Options {
        let set = self.settings.today.as_deref().and_then(parsed);
        Options {
            today: set.or_else(|| date(jiff::Zoned::now().date())),
        }
    }

    pub(crate) fn roots(&self) -> impl Iterator<Item = (RootId, &Root)> {
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

    pub(crate) fn document_mut(&mut self, url: &Url) -> Option<&mut Document> {
        self.documents.get_mut(url)
    }

    /// The file that the URL names, open or not.
    pub(crate) fn file(&self, url: &Url) -> Option<FileRef> {
        if let Some(document) = self.documents.get(url) {
            let (id, path) = document.home.as_ref()?;
            return Some((*id, self.roots.get(id)?.workspace.file_at(path)?));
        }
        let path = url.to_file_path().ok()?;
        self.roots.iter().find_map(|(id, root)| {
            let name = disk::relative(root.folder.as_deref()?, &path)?;
            Some((*id, root.workspace.file_at(&name)?))
        })
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
            settings: &self.settings,
            file,
        })
    }

    fn open_as(&self, id: RootId, path: &SmolStr) -> Option<Url> {
        let root = self.roots.get(&id)?;
        let usual = root
            .folder
            .as_deref()
            .and_then(|folder| Url::from_file_path(folder.join(&**path)).ok());
        if let Some(url) = usual.filter(|url| self.documents.contains_key(url)) {
            return Some(url);
        }
        let home = Some((id, path.clone()));
        let mut open = self.documents.iter();
        open.find(|(_, document)| document.home == home)
            .map(|(url, _)| url.clone())
    }

    /// Finds the document its repository, and puts its text there.
    fn settle_in(&mut self, url: &Url) {
        let home = self.home(url);
        let Some(document) = self.documents.get_mut(url) else {
            return;
        };
        document.home = home;
        let Some((id, path)) = &document.home else {
            return;
        };
        let Some(root) = self.roots.get_mut(id) else {
            return;
        };
        let held = root.workspace.file_at(path);
        let same = held.is_some_and(|file| {
            let file = root.workspace.file(file);
            file.faults.is_empty() && document.rope == file.text.as_str()
        });
        if !same {
            root.put(path, document.rope.to_string());
        }
    }

    fn home(&mut self, url: &Url) -> Option<(RootId, SmolStr)> {
        let Ok(path) = url.to_file_path() else {
            let id = self.add_root(None, false, &[]);
            return Some((id, url.as_str().into()));
        };
        let known = self.root_around(&path).or_else(|| {
            let folder = disk::marked_root(&path);
            let whole = folder.is_some();
            let folder = folder.or_else(|| path.parent().map(Path::to_owned))?;
            self.add_root(Some(folder), whole, &[]);
            self.root_around(&path)
        });
        let (id, name) = known?;
        let root = self.roots.get(&id)?;
        (!root.excludes(&path)).then_some((id, name))
    }

    /// The innermost repository that holds the path.
    fn root_around(&self, path: &Path) -> Option<(RootId, SmolStr)> {
        let around = self.roots.iter().filter_map(|(id, root)| {
            let folder = root.folder.as_deref()?;
            let depth = folder.components().count();
            Some((depth, *id, disk::relative(folder, path)?))
        });
        let (_, id, name) = around.max_by_key(|(depth, ..)| *depth)?;
        Some((id, name))
    }

    fn add_root(&mut self, folder: Option<PathBuf>, whole: bool, without: &[PathBuf]) -> RootId {
        let held = self.roots.iter().find(|(_, root)| root.folder == folder);
        if let Some((id, root)) = held
            && (root.whole || !whole)
        {
            return *id;
        }
        let id = held.map_or(RootId(self.next), |(id, _)| *id);
        self.next = self.next.max(id.0 + 1);
        let root = Root::load(folder, whole, without, self.options());
        self.roots.insert(id, root);
        id
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

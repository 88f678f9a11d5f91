//! The files that a run looks at: where the workspace begins, which files are
//! asked about, and which others they need.

mod root;
pub(crate) mod state;
mod walk;
mod write;

use std::path::{Path, PathBuf};

use gutta_checks::house_faults;
use gutta_protocol::{Content, FileId, House, UseFault, Workspace};
use gutta_server::disk::{read, read_bounded};
use rustc_hash::FxHashSet;
use smol_str::SmolStr;

use crate::failure::Failure;
pub(crate) use root::Root;
pub(crate) use write::{
    Rewrite, Rewritten, begin, not_written, rewrite, said, tell_kept, tell_left, write_after,
    write_at,
};

/// The path that stands for standard input.
pub(crate) const STDIN: &str = "-";

/// What a run was asked about.
#[derive(Debug, Default)]
pub(crate) struct Asked {
    /// Files and folders; none: the whole workspace.
    pub(crate) paths: Vec<PathBuf>,
    /// The file that standard input stands for.
    pub(crate) stdin_name: Option<PathBuf>,
}

/// The files asked about, as bytes, in the order of their paths.
#[derive(Debug)]
pub(crate) struct Found {
    /// Where the workspace begins.
    pub(crate) root: Root,
    /// What its `gutta.toml` says.
    pub(crate) house: House,
    /// Path from the root, and content.
    pub(crate) files: Vec<(SmolStr, Content)>,
    /// Whether these are all of the workspace.
    whole: bool,
}

/// The files asked about, read, with those that they use.
#[derive(Debug)]
pub(crate) struct Loaded {
    /// Where the workspace begins.
    pub(crate) root: Root,
    /// All files.
    pub(crate) workspace: Workspace,
    /// Those that were asked about.
    pub(crate) asked: Vec<FileId>,
}

impl Asked {
    /// Whether standard input is asked about.
    pub(crate) fn stdin(&self) -> bool {
        self.paths.iter().any(|path| path.as_os_str() == STDIN)
    }

    /// Where the workspace begins.
    pub(crate) fn root(&self) -> Result<Root, Failure> {
        Root::of(self)
    }

    /// Finds and reads the files.
    pub(crate) fn find(&self) -> Result<Found, Failure> {
        if self.stdin() && self.paths.len() > 1 {
            return Err(Failure::new("`-` stands alone, without other paths"));
        }
        let root = self.root()?;
        let house = root.house()?;
        let files = if self.stdin() {
            vec![(root.relative(self.stdin_path())?, read_stdin()?)]
        } else {
            walk::files(&root, &house, &self.paths)?
        };
        Ok(Found {
            root,
            house,
            files,
            whole: self.paths.is_empty(),
        })
    }

    fn stdin_path(&self) -> &Path {
        self.stdin_name.as_deref().unwrap_or(Path::new("stdin.gtt"))
    }
}

impl Found {
    /// Reads the texts, and those that they may refer to: all of a workspace
    /// that a `gutta.toml` marks, else the files that they use.
    pub(crate) fn load(self) -> Result<Loaded, Failure> {
        let Self {
            root,
            house,
            mut files,
            whole,
        } = self;
        let names: Vec<_> = files.iter().map(|(path, _)| path.clone()).collect();
        if root.is_marked() && !whole {
            let mut all = walk::surroundings(&root, &house);
            // Of two contents for one path the later one holds.
            all.append(&mut files);
            files = all;
        }
        let mut workspace = Workspace::new(files, house);
        add_used(&mut workspace, &root);
        if root.is_marked() {
            let faults = house_faults(&workspace);
            if !faults.is_empty() {
                return Err(root.faults(&faults));
            }
        }
        let asked = names
            .iter()
            .filter_map(|name| workspace.file_at(name))
            .collect();
        Ok(Loaded {
            root,
            workspace,
            asked,
        })
    }
}

/// Adds the files that are used and were not asked about. One that cannot be
/// read is left out: the `use` that names it is then a finding.
fn add_used(workspace: &mut Workspace, root: &Root) {
    let mut tried = FxHashSet::default();
    loop {
        let missing: FxHashSet<SmolStr> = workspace
            .file_ids()
            .flat_map(|file| workspace.uses(file))
            .filter_map(|used| match &used.target {
                Err(UseFault::Missing { path }) if !tried.contains(path) => Some(path.clone()),
                _ => None,
            })
            .collect();
        if missing.is_empty() {
            return;
        }
        for path in missing {
            if let Some(content) = root.inside(&path).and_then(|path| read(&path).ok()) {
                workspace.replace_file(&path, content);
            }
            tried.insert(path);
        }
    }
}

fn read_stdin() -> Result<Content, Failure> {
    read_bounded(std::io::stdin().lock())
        .map_err(|error| Failure::system("cannot read standard input", &error))
}

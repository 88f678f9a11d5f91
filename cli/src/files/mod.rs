//! The files that a run looks at: where the workspace begins, which files are
//! asked about, and which others they need.

mod beside;
mod listed;
mod passed;
mod root;
pub(crate) mod state;
mod walk;
mod write;

use std::path::{Path, PathBuf};

use gutta_checks::house_faults;
use gutta_notation::Style;
use gutta_protocol::{Content, FileId, House, Workspace};
use gutta_server::disk::{Skipped, read_bounded};
use smol_str::SmolStr;

use crate::failure::Failure;
pub(crate) use beside::side_by_side;
pub(crate) use listed::{Listing, no_such_list};
pub(crate) use passed::{SkipCounts, tell_unread};
pub(crate) use root::Root;
pub(crate) use write::{
    Rewrite, Rewritten, begin, heed_limits, no_source, not_written, rewrite, said, tell_kept,
    tell_left, write_after, write_at,
};

/// The path that stands for standard input.
pub(crate) const STDIN: &str = "-";

/// What a run was asked about.
#[derive(Debug, Default)]
pub(crate) struct FileSelection {
    /// Files and folders; none: the whole workspace.
    pub(crate) paths: Vec<PathBuf>,
    /// The file that standard input stands for.
    pub(crate) stdin_name: Option<PathBuf>,
}

/// The files asked about in one workspace, as bytes, in the order of their
/// paths.
#[derive(Debug)]
pub(crate) struct FoundFiles {
    /// Where the workspace begins.
    pub(crate) root: Root,
    /// What its `gutta.toml` says.
    pub(crate) house: House,
    /// Path from the root, and content.
    pub(crate) files: Vec<(SmolStr, Content)>,
    /// What was passed over, and why.
    pub(crate) passed: Vec<Skipped>,
    /// Whether these are all of the workspace.
    whole: bool,
    /// How many of the paths asked about are excluded themselves.
    left_out: usize,
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
    /// What was passed over, and why.
    pub(crate) passed: Vec<Skipped>,
}

/// How the house around the current folder writes. What is told of no file (a
/// rule's page) is told in the notation's own way where there is no house, or
/// its settings cannot be read.
pub(crate) fn style_here() -> Style {
    let root = FileSelection::default().root();
    let house = root.and_then(|root| root.house()).unwrap_or_default();
    house.style
}

impl FileSelection {
    /// Whether standard input is asked about.
    pub(crate) fn stdin(&self) -> bool {
        self.paths.iter().any(|path| path.as_os_str() == STDIN)
    }

    /// Where the one workspace begins that all paths lie in.
    pub(crate) fn root(&self) -> Result<Root, Failure> {
        let mut roots = self.starts()?.into_iter();
        let root = roots.next().map(|(root, _)| root);
        let root = root.ok_or_else(|| Failure::new("there is nothing to read"))?;
        match roots
            .next()
            .and_then(|(_, starts)| starts.into_iter().next())
        {
            None => Ok(root),
            Some(other) => Err(Failure::new(format!(
                "{} is in another workspace than {}: use one at a time",
                other.display(),
                root.folder().display()
            ))),
        }
    }

    /// Finds and reads the files of one workspace; what lies in it and is a
    /// workspace of its own is passed over.
    pub(crate) fn find(&self) -> Result<FoundFiles, Failure> {
        let root = self.root()?;
        let starts = self.starts()?.into_iter().flat_map(|(_, starts)| starts);
        let found = self.find_in(root, &starts.collect::<Vec<_>>())?;
        self.is_something(std::slice::from_ref(&found))?;
        Ok(found)
    }

    /// Finds and reads the files, each in the innermost workspace around it.
    pub(crate) fn find_all(&self) -> Result<Vec<FoundFiles>, Failure> {
        let mut due = self.starts()?;
        due.reverse();
        let mut all: Vec<FoundFiles> = Vec::new();
        while let Some((root, starts)) = due.pop() {
            let mut found = self.find_in(root, &starts)?;
            let is_inner = |passed: &Skipped| passed.why == gutta_server::disk::SkipReason::Inner;
            for passed in found.passed.iter().filter(|passed| is_inner(passed)) {
                let held = due
                    .iter_mut()
                    .find(|(root, _)| root.folder() == passed.path);
                match held {
                    Some((_, starts)) => starts.push(passed.path.clone()),
                    None if all.iter().any(|held| held.root.folder() == passed.path) => {}
                    None => due.push((found.root.inner(&passed.path), vec![passed.path.clone()])),
                }
            }
            found.passed.retain(|passed| !is_inner(passed));
            all.push(found);
        }
        self.is_something(&all)?;
        Ok(all)
    }

    /// Where to look, by workspace, in the order in which they are named.
    fn starts(&self) -> Result<Vec<(Root, Vec<PathBuf>)>, Failure> {
        if self.stdin() && self.paths.len() > 1 {
            return Err(Failure::new("`-` is used by itself, without other paths"));
        }
        let here = std::env::current_dir()
            .map_err(|error| Failure::system("cannot find the current folder", &error))?;
        if self.stdin() {
            let path = self.stdin_path();
            return Ok(vec![(Root::of(&here, path, false), vec![path.to_owned()])]);
        }
        if self.paths.is_empty() {
            let root = Root::of(&here, Path::new("."), false);
            let folder = root.folder().to_owned();
            return Ok(vec![(root, vec![folder])]);
        }
        let mut all: Vec<(Root, Vec<PathBuf>)> = Vec::new();
        for path in &self.paths {
            let root = Root::of(&here, path, self.paths.len() > 1);
            let held = all
                .iter_mut()
                .find(|(held, _)| held.folder() == root.folder());
            match held {
                Some((_, starts)) => starts.push(path.clone()),
                None => all.push((root, vec![path.clone()])),
            }
        }
        Ok(all)
    }

    fn find_in(&self, root: Root, starts: &[PathBuf]) -> Result<FoundFiles, Failure> {
        let house = root.house()?;
        let walked = if self.stdin() {
            walk::Walked {
                files: vec![(root.relative(self.stdin_path())?, read_stdin()?)],
                ..walk::Walked::default()
            }
        } else {
            walk::files(&root, &house, starts)?
        };
        let whole = !self.stdin()
            && starts
                .iter()
                .any(|start| root.absolute(start) == root.folder());
        Ok(FoundFiles {
            root,
            house,
            files: walked.files,
            passed: walked.passed,
            whole,
            left_out: walked.left_out,
        })
    }

    /// That anything was read, or that only what is excluded was named.
    fn is_something(&self, all: &[FoundFiles]) -> Result<(), Failure> {
        if all
            .iter()
            .any(|found| !found.files.is_empty() || found.left_out > 0)
        {
            return Ok(());
        }
        let names: Vec<_> = match self.paths.as_slice() {
            [] => all
                .iter()
                .take(1)
                .map(|found| found.root.folder().display().to_string())
                .collect(),
            paths => paths
                .iter()
                .map(|path| path.display().to_string())
                .collect(),
        };
        let place = names.join(", ");
        let over = SkipCounts::of(all.iter().flat_map(|found| &found.passed));
        let mut why = vec![match over.chosen() {
            None => format!("there is no .gtt file in {place}"),
            Some(told) => {
                format!("nothing is read in {place}: {told}; `gutta check --show-files` lists it")
            }
        }];
        for found in all {
            why.extend(passed::faults(&found.root, &found.passed));
        }
        Err(Failure::several(why))
    }

    fn stdin_path(&self) -> &Path {
        self.stdin_name.as_deref().unwrap_or(Path::new("stdin.gtt"))
    }
}

impl FoundFiles {
    /// Reads the texts, and those that they may refer to: all of a workspace
    /// that a `gutta.toml` marks, else the files that they use.
    pub(crate) fn load(self) -> Result<Loaded, Failure> {
        let Self {
            root,
            house,
            mut files,
            passed,
            whole,
            ..
        } = self;
        let names: Vec<_> = files.iter().map(|(path, _)| path.clone()).collect();
        if root.is_marked() && !whole {
            let mut all = walk::surroundings(&root, &house);
            // Of two contents for one path the later one holds.
            all.append(&mut files);
            files = all;
        }
        let mut workspace = Workspace::new(files, house);
        walk::add_used(&mut workspace, &root);
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
            passed,
        })
    }
}

fn read_stdin() -> Result<Content, Failure> {
    read_bounded(std::io::stdin().lock())
        .map_err(|error| Failure::system("cannot read standard input", &error))
}

//! A repository in one of its states: a folder as it stands, or a revision.

use std::path::{Path, PathBuf};

use gutta_checks::house_faults;
use gutta_protocol::{Content, House, Workspace};
use gutta_server::disk::{
    self, Exclusions, HOUSE_FILE, IgnoredThen, MAX_HOUSE_BYTES, Used, is_list,
};
use rustc_hash::FxHashSet;
use smol_str::SmolStr;

use super::FileSelection;
use crate::failure::Failure;
use crate::git::{Entry, Git};
use crate::terminal;

/// A workspace in one of its states.
pub(crate) struct State {
    pub(crate) workspace: Workspace,
    /// Whether something was passed over that an order could be in, and said.
    pub(crate) faulty: bool,
}

/// The workspace in a folder. One inside of another workspace is refused,
/// since it would be read as the whole of that.
pub(crate) fn of_folder(folder: &Path) -> Result<State, Failure> {
    let asked = FileSelection {
        paths: vec![folder.to_owned()],
        stdin_name: None,
    };
    let root = asked.root()?;
    if root.folder() != root.absolute(folder) {
        return Err(Failure::new(format!(
            "{} is inside the workspace {}: compare that",
            folder.display(),
            root.folder().display()
        )));
    }
    of(&asked)
}

/// The workspace around the current folder.
pub(crate) fn here() -> Result<State, Failure> {
    of(&FileSelection::default())
}

/// What was read and may be an order is told with what changed.
fn of(asked: &FileSelection) -> Result<State, Failure> {
    let loaded = asked.find()?.load()?;
    loaded.tell_inner();
    let faulty = loaded.tell_passed();
    Ok(State {
        workspace: loaded.workspace,
        faulty,
    })
}

/// Where the workspace around the current folder begins.
pub(crate) fn root_here() -> Result<PathBuf, Failure> {
    Ok(FileSelection::default().root()?.folder().to_owned())
}

/// The workspace at a revision, in the folder `folder` of a repository, or
/// where `REVISION:FOLDER` says.
pub(crate) fn at_revision(folder: &Path, revision: &str) -> Result<State, Failure> {
    let git = Git::of(folder)?;
    let tree = git.tree(revision)?;
    let entries = git.entries(&tree)?;
    let prefix = if revision.contains(':') {
        String::new()
    } else {
        git.prefix()?
    };
    let top = top_of(&prefix, &entries);
    let (house, files, faulty) = inside(&git, &entries, &top, revision)?;
    if files.is_empty() {
        let place = if top.is_empty() {
            ""
        } else {
            &format!(" in {top}")
        };
        return Err(Failure::new(format!(
            "there is no .gtt file at {revision}{place}"
        )));
    }
    let mut workspace = Workspace::new(files, house);
    add_used(&mut workspace, &git, &entries, &top)?;
    let faults = house_faults(&workspace);
    if faults.is_empty() {
        Ok(State { workspace, faulty })
    } else {
        Err(of_house(revision, &faults))
    }
}

/// Adds the files that are used, and that are excluded or end otherwise.
fn add_used(
    workspace: &mut Workspace,
    git: &Git<'_>,
    entries: &[Entry],
    top: &str,
) -> Result<(), Failure> {
    let entry = |path: &SmolStr| {
        let full = format!("{top}{path}");
        let mut plain = entries
            .iter()
            .filter(|entry| entry.is_utf8 && !entry.is_link);
        plain.find(|entry| entry.path == full)
    };
    let find = |paths: &[SmolStr]| -> Result<_, Failure> {
        let objects = paths.iter().filter_map(entry);
        let mut contents = git
            .read(objects.map(|entry| entry.object.clone()))?
            .into_iter();
        let used = paths.iter().map(|path| {
            entry(path)?;
            Some(Used {
                content: contents.next()?,
                unjudged: Some("passed over".to_owned()),
            })
        });
        Ok(used.collect())
    };
    disk::add_used(workspace, &mut FxHashSet::default(), find, |_, _| {})?;
    Ok(())
}

/// The nearest folder, from `prefix` upwards, that a `gutta.toml` marked then.
fn top_of(prefix: &str, entries: &[Entry]) -> String {
    let ancestors = Path::new(prefix).ancestors();
    let tops = ancestors.map(|folder| {
        let text = folder.to_string_lossy();
        if text.is_empty() {
            String::new()
        } else {
            format!("{text}/")
        }
    });
    let marked = |top: &String| {
        let house = format!("{top}{HOUSE_FILE}");
        entries.iter().any(|entry| entry.path == house)
    };
    let mut tops = tops;
    tops.find(marked).unwrap_or_else(|| prefix.to_owned())
}

type Files = Vec<(SmolStr, Content)>;

fn inside(
    git: &Git<'_>,
    entries: &[Entry],
    top: &str,
    revision: &str,
) -> Result<(House, Files, bool), Failure> {
    let house_file = format!("{top}{HOUSE_FILE}");
    let house = match entries.iter().find(|entry| entry.path == house_file) {
        None => House::default(),
        Some(entry) if entry.is_link => {
            return Err(Failure::new(format!(
                "{HOUSE_FILE} is a link at {revision}, and not followed"
            )));
        }
        Some(entry) => {
            let held = git.read([entry.object.clone()])?.pop();
            let text = match held {
                Some(Content::Bytes(bytes)) if bytes.len() as u64 <= MAX_HOUSE_BYTES => {
                    String::from_utf8(bytes).ok()
                }
                _ => None,
            };
            let no_text = || {
                Failure::new(format!(
                    "{HOUSE_FILE} at {revision} is not text, or has more than {MAX_HOUSE_BYTES} bytes"
                ))
            };
            let text = text.ok_or_else(no_text)?;
            House::from_toml(&text).map_err(|faults| of_house(revision, &faults))?
        }
    };
    // The patterns go by names alone: nothing need be there.
    let root = Path::new("/");
    let (excluded, wrong) = Exclusions::of(root, &house);
    if let Some(wrong) = wrong {
        return Err(Failure::new(format!("{HOUSE_FILE} at {revision}: {wrong}")));
    }
    // The folders in which workspaces of their own begin.
    let houses = entries.iter().filter_map(|entry| {
        let folder = entry.path.strip_prefix(top)?.strip_suffix(HOUSE_FILE)?;
        folder.ends_with('/').then_some(folder)
    });
    let inner: Vec<_> = houses.collect();
    let ignored = ignored_then(git, entries, top, root)?;
    let mut wanted = Vec::new();
    let mut faulty = false;
    for entry in entries {
        let Some(path) = entry.path.strip_prefix(top) else {
            continue;
        };
        if inner.iter().any(|folder| path.starts_with(folder)) {
            continue;
        }
        // What is ignored is not read where it stands on the disk either,
        // though somebody made git keep it.
        let ignored = |path: &Path, is_folder| ignored.of_path(path, is_folder);
        let near = match disk::by_name(root, &root.join(path), &excluded, ignored) {
            None => None,
            Some(why) if why.is_fault() => Some(why),
            Some(_) => continue,
        };
        let why = match (near, entry.is_link, entry.is_utf8) {
            (Some(near), ..) => Some(near.told(|_| String::new())),
            (None, true, _) => Some("it is a link, and not followed".to_owned()),
            (None, _, false) => Some("its name is not UTF-8".to_owned()),
            (None, false, true) => None,
        };
        if let Some(why) = why {
            faulty = true;
            terminal::tell(&format!(
                "gutta: {path} is passed over at {revision}: {why}"
            ));
            continue;
        }
        wanted.push((SmolStr::from(path), entry.clone()));
    }
    let objects = wanted.iter().map(|(_, entry)| entry.object.clone());
    let contents = git.read(objects)?;
    let paths = wanted.into_iter().map(|(path, _)| path);
    Ok((house, paths.zip(contents).collect(), faulty))
}

/// What the lists of a revision left out then, as those in a folder do now.
fn ignored_then<'a>(
    git: &Git<'_>,
    entries: &[Entry],
    top: &str,
    root: &'a Path,
) -> Result<IgnoredThen<'a>, Failure> {
    let lists = entries.iter().filter_map(|entry| {
        let path = entry.path.strip_prefix(top)?;
        let name = Path::new(path).file_name()?.to_str()?;
        (is_list(name) && !entry.is_link).then_some((path, entry))
    });
    let (paths, lists): (Vec<_>, Vec<_>) = lists.unzip();
    let texts = git.read(lists.iter().map(|entry| entry.object.clone()))?;
    let read = paths.iter().zip(texts).filter_map(|(path, content)| {
        let Content::Bytes(bytes) = content else {
            return None;
        };
        Some((root.join(path), String::from_utf8(bytes).ok()?))
    });
    Ok(IgnoredThen::of(root, read.collect()))
}

fn of_house(revision: &str, faults: &[gutta_protocol::house::HouseFault]) -> Failure {
    let told = faults.iter().map(|fault| {
        let (line, column) = (fault.line, fault.column);
        format!(
            "{HOUSE_FILE}:{line}:{column} at {revision}: {}",
            fault.message
        )
    });
    Failure::several(told.collect())
}

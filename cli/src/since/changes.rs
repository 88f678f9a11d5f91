//! What git knows of a folder: which files have changed since a commit, and
//! what they held then.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use gutta_protocol::Content;
use gutta_server::disk::HOUSE_FILE;

use crate::failure::Failure;
use crate::git::{Git, line, parts, unlike};

/// Files that say what belongs to the workspace at all.
const SETTING: [&str; 3] = [HOUSE_FILE, ".gitignore", ".ignore"];

/// What has changed in a folder, by path from it, with forward slashes.
#[derive(Debug, Default)]
pub(super) struct Changes {
    /// What each file held; none for what came.
    pub(super) files: BTreeMap<String, Option<Content>>,
    /// All files that git keeps, and of which it says whether they changed.
    pub(super) kept: BTreeSet<String>,
    /// What, if anything, has changed so that all is to be looked at.
    pub(super) all: Option<String>,
}

/// A path of `git diff --raw`, and the object that it was.
struct Line {
    path: String,
    object: Option<String>,
}

impl Changes {
    /// What has changed since the commit at which `revision` and the present
    /// parted, with what is not committed yet; of these, the paths that are
    /// `wanted`.
    pub(super) fn since(
        folder: &Path,
        revision: &str,
        wanted: impl Fn(&str) -> bool,
    ) -> Result<Self, Failure> {
        let git = Git::of(folder)?;
        let base = git.base(revision)?;
        let mut changes = Self {
            all: git.setting_since(&base)?,
            ..Self::default()
        };
        if changes.all.is_some() {
            return Ok(changes);
        }
        let mut lines = Vec::new();
        let raw = git.out(&[
            "diff",
            "--raw",
            "-z",
            "--no-abbrev",
            "--no-renames",
            "--no-ext-diff",
            "--no-textconv",
            "--ignore-submodules=dirty",
            "--relative",
            &base,
            "--",
        ])?;
        let mut fields = parts(&raw);
        while let (Some(head), Some(path)) = (fields.next(), fields.next()) {
            if !wanted(&path) {
                continue;
            }
            let fields: Vec<_> = head.trim_start_matches(':').split(' ').collect();
            let [was, is, object, ..] = fields.as_slice() else {
                return Err(unlike(&head));
            };
            // What a link or another repository held is not among the objects.
            if [was, is]
                .iter()
                .any(|mode| !mode.starts_with("10") && **mode != "000000")
            {
                changes.all = Some(path);
                return Ok(changes);
            }
            let object = (*was != "000000").then(|| (*object).to_owned());
            lines.push(Line { path, object });
        }
        let objects = lines.iter().filter_map(|line| line.object.clone());
        let mut held = git.read(objects)?.into_iter();
        let files = lines.into_iter().map(|line| {
            let content = line.object.and_then(|_| held.next());
            (line.path, content)
        });
        changes.files = files.collect();
        // `H`: kept, and looked at; git passes over what is marked otherwise.
        let kept = git.out(&["ls-files", "-v", "-z"])?;
        let kept = parts(&kept).filter_map(|path| path.strip_prefix("H ").map(str::to_owned));
        changes.kept = kept.collect();
        Ok(changes)
    }
}

impl Git<'_> {
    /// The commit at which the revision and the present one parted.
    fn base(&self, revision: &str) -> Result<String, Failure> {
        let commit = format!("{revision}^{{commit}}");
        let known = self.run(&["rev-parse", "--verify", "--quiet", &commit])?;
        if revision.starts_with('-') || !known.status.success() {
            return Err(Failure::new(format!(
                "`{revision}` is not a commit of this repository (a shallow clone has few: fetch it)"
            )));
        }
        let commit = line(&known.stdout);
        let base = self.run(&["merge-base", &commit, "HEAD"])?;
        if base.status.success() {
            return Ok(line(&base.stdout));
        }
        Err(Failure::new(format!(
            "`{revision}` and the present commit have no commit in common (in a clone without its whole history: fetch it)"
        )))
    }

    /// A file that has changed and says what belongs to the workspace at all,
    /// anywhere in the repository, or is new. What lies in a folder that git
    /// ignores says nothing: the folder is passed over.
    fn setting_since(&self, base: &str) -> Result<Option<String>, Failure> {
        let patterns = SETTING.map(|name| format!(":(top,glob)**/{name}"));
        let patterns = patterns.each_ref().map(String::as_str);
        let diff = [
            "diff",
            "--name-only",
            "-z",
            "--no-renames",
            "--no-ext-diff",
            "--no-textconv",
            "--ignore-submodules=dirty",
            base,
            "--",
        ];
        let others = ["ls-files", "--others", "--exclude-standard", "-z", "--"];
        for words in [&diff[..], &others[..]] {
            let found = self.out(&[words, &patterns[..]].concat())?;
            if let Some(path) = parts(&found).next() {
                return Ok(Some(path));
            }
        }
        Ok(None)
    }
}

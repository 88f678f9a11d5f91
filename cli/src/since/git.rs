//! What git knows of a folder: which files have changed since a commit, and
//! what they held then.

use std::collections::{BTreeMap, BTreeSet};
use std::io::{BufRead, BufReader, Read, Write};
use std::path::Path;
use std::process::{Command, Output, Stdio};

use gutta_protocol::Content;
use gutta_protocol::workspace::MAX_FILE_BYTES;
use gutta_server::disk::HOUSE_FILE;

use crate::failure::Failure;

/// Files that say what belongs to the workspace at all.
const SETTING: [&str; 3] = [HOUSE_FILE, ".gitignore", ".ignore"];

/// What has changed in a folder, by path from it, with forward slashes.
#[derive(Debug, Default)]
pub(super) struct Changes {
    /// What each file held; none for what came.
    pub(super) files: BTreeMap<String, Option<Content>>,
    /// All files that git keeps.
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
        let git = Git(folder);
        git.in_repository()?;
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
            "--relative",
            &base,
            "--",
        ])?;
        let mut parts = parts(&raw);
        while let (Some(head), Some(path)) = (parts.next(), parts.next()) {
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
        changes.files = git.read(lines)?;
        changes.kept = self::parts(&git.out(&["ls-files", "-z"])?).collect();
        Ok(changes)
    }
}

/// The program, in a folder.
struct Git<'a>(&'a Path);

impl Git<'_> {
    fn command(&self, words: &[&str]) -> Command {
        let mut command = Command::new("git");
        command.arg("-C").arg(self.0).args(words);
        // Looking changes nothing, and what git says is read.
        command.env("GIT_OPTIONAL_LOCKS", "0").env("LC_ALL", "C");
        command.stdin(Stdio::null());
        command
    }

    fn run(&self, words: &[&str]) -> Result<Output, Failure> {
        self.command(words)
            .output()
            .map_err(|error| not_run(&error))
    }

    fn out(&self, words: &[&str]) -> Result<Vec<u8>, Failure> {
        let output = self.run(words)?;
        if output.status.success() {
            return Ok(output.stdout);
        }
        Err(refused(&output))
    }

    fn in_repository(&self) -> Result<(), Failure> {
        let output = self.run(&["rev-parse", "--is-inside-work-tree"])?;
        let said = String::from_utf8_lossy(&output.stderr);
        if output.status.success() && output.stdout.starts_with(b"true") {
            return Ok(());
        }
        if !output.status.success() && !said.contains("not a git repository") {
            return Err(refused(&output));
        }
        Err(Failure::new(format!(
            "{} is in no git repository, so that nothing is known of what has changed",
            self.0.display()
        )))
    }

    /// The commit at which the revision and the present one parted.
    fn base(&self, revision: &str) -> Result<String, Failure> {
        let commit = format!("{revision}^{{commit}}");
        let known = self.run(&["rev-parse", "--verify", "--quiet", &commit])?;
        if revision.starts_with('-') || !known.status.success() {
            return Err(Failure::new(format!(
                "`{revision}` is no commit of this repository (a clone without its history has few: fetch it)"
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
    /// anywhere in the repository, or that git does not keep.
    fn setting_since(&self, base: &str) -> Result<Option<String>, Failure> {
        let patterns = SETTING.map(|name| format!(":(top,glob)**/{name}"));
        let patterns = patterns.each_ref().map(String::as_str);
        let diff = [
            "diff",
            "--name-only",
            "-z",
            "--no-renames",
            "--no-ext-diff",
            base,
            "--",
        ];
        let others = ["ls-files", "--others", "-z", "--"];
        for words in [&diff[..], &others[..]] {
            let found = self.out(&[words, &patterns[..]].concat())?;
            if let Some(path) = parts(&found).next() {
                return Ok(Some(path));
            }
        }
        Ok(None)
    }

    /// Reads objects, in one run of git.
    fn read(&self, lines: Vec<Line>) -> Result<BTreeMap<String, Option<Content>>, Failure> {
        let mut held = BTreeMap::new();
        let mut asked = String::new();
        for object in lines.iter().filter_map(|line| line.object.as_deref()) {
            asked.push_str(object);
            asked.push('\n');
        }
        let mut command = self.command(&["cat-file", "--batch"]);
        command.stdin(Stdio::piped()).stdout(Stdio::piped());
        let mut child = command.spawn().map_err(|error| not_run(&error))?;
        let stdin = child.stdin.take();
        let asking = std::thread::spawn(move || {
            stdin.map_or(Ok(()), |mut stdin| stdin.write_all(asked.as_bytes()))
        });
        let broken = |error: std::io::Error| Failure::system("cannot read from git", &error);
        if let Some(stdout) = child.stdout.take() {
            let mut from = BufReader::new(stdout);
            for line in lines {
                let content = match line.object {
                    Some(_) => Some(object(&mut from)?),
                    None => None,
                };
                held.insert(line.path, content);
            }
        }
        child.wait().map_err(broken)?;
        // A git that ended early has been told of above.
        let _ = asking.join();
        Ok(held)
    }
}

/// The next object of `git cat-file --batch`: a line with its kind and size,
/// its bytes, a line end.
fn object(from: &mut impl BufRead) -> Result<Content, Failure> {
    let broken = |error: std::io::Error| Failure::system("cannot read from git", &error);
    let mut head = String::new();
    from.read_line(&mut head).map_err(broken)?;
    let fields: Vec<_> = head.split_whitespace().collect();
    let [_, "blob", size] = fields.as_slice() else {
        return Err(unlike(&head));
    };
    let size: u64 = size.parse().map_err(|_| unlike(&head))?;
    let content = if size > MAX_FILE_BYTES {
        std::io::copy(&mut from.take(size), &mut std::io::sink()).map_err(broken)?;
        Content::TooLarge(size)
    } else {
        let mut bytes = Vec::new();
        from.take(size).read_to_end(&mut bytes).map_err(broken)?;
        Content::Bytes(bytes)
    };
    from.read_line(&mut String::new()).map_err(broken)?;
    Ok(content)
}

/// What stands between NUL bytes.
fn parts(bytes: &[u8]) -> impl Iterator<Item = String> + '_ {
    let parts = bytes
        .split(|byte| *byte == 0)
        .filter(|part| !part.is_empty());
    parts.map(|part| String::from_utf8_lossy(part).into_owned())
}

fn line(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).trim().to_owned()
}

fn not_run(error: &std::io::Error) -> Failure {
    match error.kind() {
        std::io::ErrorKind::NotFound => {
            Failure::new("--changed-since needs the program git, which is not installed")
        }
        _ => Failure::system("cannot run git", error),
    }
}

fn refused(output: &Output) -> Failure {
    Failure::new(format!("git says: {}", line(&output.stderr)))
}

fn unlike(said: &str) -> Failure {
    Failure::new(format!("git says what is not understood: {}", said.trim()))
}

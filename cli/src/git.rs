//! The `git` program: what a repository holds, and held.

use std::io::{BufRead, BufReader, Read, Write};
use std::path::Path;
use std::process::{Command, Output, Stdio};

use gutta_protocol::Content;
use gutta_protocol::source::MAX_FILE_BYTES;

use crate::failure::Failure;

/// The program, in a folder of a repository.
pub(crate) struct Git<'a> {
    folder: &'a Path,
    /// What the repository sets and is not to: keys and values.
    settings: Vec<(String, &'static str)>,
}

/// Settings with which a repository would have programs of its own run, or
/// others fetched from, while one only looks at it.
const OFF: [(&str, &str); 7] = [
    ("core.fsmonitor", "false"),
    ("core.untrackedCache", "false"),
    ("core.hooksPath", "/dev/null"),
    ("core.pager", "cat"),
    ("core.sshCommand", "false"),
    ("diff.external", ""),
    ("protocol.allow", "never"),
];

/// The files of a revision.
#[derive(Debug)]
pub(crate) struct Tree(String);

/// A file of a tree.
#[derive(Clone, Debug)]
pub(crate) struct Entry {
    /// From the tree's top, with forward slashes.
    pub(crate) path: String,
    /// Whether that is its name: a replaced byte stands for others.
    pub(crate) is_utf8: bool,
    /// Whether it is a link to another.
    pub(crate) is_link: bool,
    /// What it holds, as git names it.
    pub(crate) object: String,
}

impl<'a> Git<'a> {
    /// The repository that this folder lies in.
    pub(crate) fn of(folder: &'a Path) -> Result<Self, Failure> {
        let settings = OFF.map(|(key, value)| (key.to_owned(), value));
        let mut git = Self {
            folder,
            settings: settings.into(),
        };
        let output = git.run(&["rev-parse", "--is-inside-work-tree"])?;
        let said = String::from_utf8_lossy(&output.stderr);
        if output.status.success() && output.stdout.starts_with(b"true") {
            git.turn_filters_off()?;
            return Ok(git);
        }
        if !output.status.success() && !said.contains("not a git repository") {
            return Err(refused(&output));
        }
        Err(Failure::new(format!(
            "{} is not in a git repository, so it is not known what has changed",
            folder.display()
        )))
    }

    /// A filter is a program through which git passes what it compares. Without
    /// it a file may count as changed that is not: it is then checked.
    fn turn_filters_off(&mut self) -> Result<(), Failure> {
        let set = self.run(&["config", "--name-only", "-z", "--get-regexp", "^filter\\."])?;
        for key in parts(&set.stdout) {
            let Some((filter, kind)) = key.rsplit_once('.') else {
                continue;
            };
            let value = if kind == "required" { "false" } else { "" };
            if matches!(kind, "clean" | "smudge" | "process" | "required") {
                self.settings.push((format!("{filter}.{kind}"), value));
            }
        }
        Ok(())
    }

    /// Where the folder lies in its repository: empty, or with a slash at its
    /// end.
    pub(crate) fn prefix(&self) -> Result<String, Failure> {
        Ok(line(&self.out(&["rev-parse", "--show-prefix"])?))
    }

    /// The files at a revision: a commit, a branch, a tag, `REV:FOLDER`.
    pub(crate) fn tree(&self, revision: &str) -> Result<Tree, Failure> {
        // `^{tree}` would be read as a part of the folder's name.
        let spelt = if revision.contains(':') {
            revision.to_owned()
        } else {
            format!("{revision}^{{tree}}")
        };
        let known = self.run(&["rev-parse", "--verify", "--quiet", &spelt])?;
        if revision.starts_with('-') || !known.status.success() {
            return Err(Failure::new(format!(
                "`{revision}` is neither a folder nor a revision of this repository (a clone without its history has few: fetch it)"
            )));
        }
        let object = line(&known.stdout);
        if line(&self.out(&["cat-file", "-t", &object])?) != "tree" {
            return Err(Failure::new(format!(
                "`{revision}` is a file, not a folder"
            )));
        }
        Ok(Tree(object))
    }

    /// Every file of a tree.
    pub(crate) fn entries(&self, tree: &Tree) -> Result<Vec<Entry>, Failure> {
        let listed = self.out(&["ls-tree", "-r", "-z", "--full-tree", &tree.0])?;
        let mut entries = Vec::new();
        for bytes in fields(&listed) {
            let record = String::from_utf8_lossy(bytes);
            let is_utf8 = matches!(record, std::borrow::Cow::Borrowed(_));
            let Some((about, path)) = record.split_once('\t') else {
                return Err(unlike(&record));
            };
            let about: Vec<_> = about.split(' ').collect();
            match about.as_slice() {
                [mode, "blob", object] => entries.push(Entry {
                    path: path.to_owned(),
                    is_utf8,
                    is_link: *mode == "120000",
                    object: (*object).to_owned(),
                }),
                // A repository inside: its files are its own.
                [_, "commit", _] => {}
                _ => return Err(unlike(&record)),
            }
        }
        Ok(entries)
    }

    /// What objects hold, in their order, in one run of git.
    pub(crate) fn read(
        &self,
        objects: impl IntoIterator<Item = String>,
    ) -> Result<Vec<Content>, Failure> {
        let (mut asked, mut count) = (String::new(), 0);
        for object in objects {
            asked.push_str(&object);
            asked.push('\n');
            count += 1;
        }
        let mut command = self.command(&["cat-file", "--batch"]);
        command.stdin(Stdio::piped()).stdout(Stdio::piped());
        let mut child = command.spawn().map_err(|error| not_run(&error))?;
        let stdin = child.stdin.take();
        // Both pipes fill up where one waits for the other.
        let asking = std::thread::spawn(move || {
            stdin.map_or(Ok(()), |mut stdin| stdin.write_all(asked.as_bytes()))
        });
        let broken = |error: std::io::Error| Failure::system("cannot read from git", &error);
        let mut held = Vec::with_capacity(count);
        if let Some(stdout) = child.stdout.take() {
            let mut from = BufReader::new(stdout);
            for _ in 0..count {
                held.push(object(&mut from)?);
            }
        }
        child.wait().map_err(broken)?;
        // A git that ended early has been told of above.
        let _ = asking.join();
        Ok(held)
    }

    /// What git answers.
    pub(crate) fn out(&self, words: &[&str]) -> Result<Vec<u8>, Failure> {
        let output = self.run(words)?;
        if output.status.success() {
            return Ok(output.stdout);
        }
        Err(refused(&output))
    }

    /// What git answers, or how it fails.
    pub(crate) fn run(&self, words: &[&str]) -> Result<Output, Failure> {
        self.command(words)
            .output()
            .map_err(|error| not_run(&error))
    }

    fn command(&self, words: &[&str]) -> Command {
        let mut command = Command::new("git");
        command
            .arg("--no-pager")
            .arg("-C")
            .arg(self.folder)
            .args(words);
        // Looking changes nothing, fetches nothing, and what git says is read.
        command.env("GIT_OPTIONAL_LOCKS", "0").env("LC_ALL", "C");
        command
            .env("GIT_NO_LAZY_FETCH", "1")
            .env("GIT_ALLOW_PROTOCOL", "");
        command.env("GIT_TERMINAL_PROMPT", "0");
        command.env_remove("GIT_EXTERNAL_DIFF");
        // Behind those that the caller set in the same way, so that these hold.
        let count = std::env::var("GIT_CONFIG_COUNT").ok();
        let count: usize = count.and_then(|count| count.parse().ok()).unwrap_or(0);
        for (number, (key, value)) in (count..).zip(&self.settings) {
            command.env(format!("GIT_CONFIG_KEY_{number}"), key);
            command.env(format!("GIT_CONFIG_VALUE_{number}"), value);
        }
        let count = count + self.settings.len();
        command.env("GIT_CONFIG_COUNT", count.to_string());
        command.stdin(Stdio::null());
        command
    }
}

/// The next object of `git cat-file --batch`: a line with its kind and size,
/// its bytes, a line end.
fn object(from: &mut impl BufRead) -> Result<Content, Failure> {
    let broken = |error: std::io::Error| Failure::system("cannot read from git", &error);
    let mut head = String::new();
    from.read_line(&mut head).map_err(broken)?;
    let fields: Vec<_> = head.split_whitespace().collect();
    if let [object, "missing"] = fields.as_slice() {
        return Err(Failure::new(format!(
            "git does not hold the object {object} here (a clone in part): fetch it"
        )));
    }
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
fn fields(bytes: &[u8]) -> impl Iterator<Item = &[u8]> {
    let parts = bytes.split(|byte| *byte == 0);
    parts.filter(|part| !part.is_empty())
}

/// The same as text.
pub(crate) fn parts(bytes: &[u8]) -> impl Iterator<Item = String> + '_ {
    fields(bytes).map(|part| String::from_utf8_lossy(part).into_owned())
}

/// The one line that git answered.
pub(crate) fn line(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).trim().to_owned()
}

fn not_run(error: &std::io::Error) -> Failure {
    match error.kind() {
        std::io::ErrorKind::NotFound => {
            Failure::new("the program git is needed, and is not installed")
        }
        _ => Failure::system("cannot run git", error),
    }
}

fn refused(output: &Output) -> Failure {
    Failure::new(format!("git says: {}", line(&output.stderr)))
}

/// Something that git says, and that is not understood.
pub(crate) fn unlike(said: &str) -> Failure {
    Failure::new(format!(
        "git answered something unexpected: {}",
        said.trim()
    ))
}

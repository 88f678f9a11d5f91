//! The `git` program: what stood in a repository at a revision.

use std::io::{BufRead, BufReader, Read, Write};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use crate::failure::Failure;

/// A repository, asked from one of its folders.
pub(crate) struct Git {
    folder: PathBuf,
}

/// The files of a revision.
#[derive(Debug)]
pub(crate) struct Tree(String);

/// A file of a tree.
#[derive(Clone, Debug)]
pub(crate) struct Entry {
    /// From the tree's top, with forward slashes.
    pub(crate) path: String,
    /// Bytes.
    pub(crate) size: u64,
    /// Whether it is a link to another.
    pub(crate) is_link: bool,
    object: String,
}

impl Git {
    /// The repository that this folder lies in.
    pub(crate) fn of(folder: &Path) -> Result<Self, Failure> {
        let git = Self {
            folder: folder.to_owned(),
        };
        match git.run(&["rev-parse", "--is-inside-work-tree"])? {
            Ok(_) => Ok(git),
            Err(said) => {
                let folder = folder.display();
                Err(Failure::new(format!(
                    "{folder} lies in no git repository: {said}"
                )))
            }
        }
    }

    /// Where the folder lies in its repository: empty, or with a slash at its
    /// end.
    pub(crate) fn prefix(&self) -> Result<String, Failure> {
        self.text(&["rev-parse", "--show-prefix"])
    }

    /// The files at a revision: a commit, a branch, a tag, `REV:FOLDER`.
    pub(crate) fn tree(&self, revision: &str) -> Result<Tree, Failure> {
        // `^{tree}` would be read as a part of the folder's name.
        let spelt = if revision.contains(':') {
            revision.to_owned()
        } else {
            format!("{revision}^{{tree}}")
        };
        let unknown = || Failure::new(format!("git knows no revision `{revision}`"));
        if revision.starts_with('-') {
            return Err(unknown());
        }
        let asked = self.run(&["rev-parse", "--verify", "--quiet", &spelt])?;
        let object = asked.map_err(|_| unknown())?;
        let object = String::from_utf8_lossy(&object).trim().to_owned();
        if self.text(&["cat-file", "-t", &object])? != "tree" {
            return Err(Failure::new(format!(
                "`{revision}` is a file, not a folder"
            )));
        }
        Ok(Tree(object))
    }

    /// Every file of a tree.
    pub(crate) fn entries(&self, tree: &Tree) -> Result<Vec<Entry>, Failure> {
        let words = ["ls-tree", "-r", "-z", "-l", "--full-tree", &tree.0];
        let listed = self
            .run(&words)?
            .map_err(|said| self.failed(&words, &said))?;
        let mut entries = Vec::new();
        for record in listed
            .split(|byte| *byte == 0)
            .filter(|record| !record.is_empty())
        {
            let record = String::from_utf8_lossy(record);
            let Some((about, path)) = record.split_once('\t') else {
                continue;
            };
            let about: Vec<_> = about.split_whitespace().collect();
            let [mode, "blob", object, size] = about.as_slice() else {
                // A repository inside: its files are its own.
                continue;
            };
            entries.push(Entry {
                path: path.to_owned(),
                size: size.parse().unwrap_or(u64::MAX),
                is_link: *mode == "120000",
                object: (*object).to_owned(),
            });
        }
        Ok(entries)
    }

    /// The bytes of each file, in their order.
    pub(crate) fn contents(&self, entries: &[Entry]) -> Result<Vec<Vec<u8>>, Failure> {
        let wrong = |error: &std::io::Error| Failure::system("cannot read from git", error);
        let mut child = self
            .command(&["cat-file", "--batch"])
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .map_err(|error| no_git(&error))?;
        let (Some(mut stdin), Some(stdout)) = (child.stdin.take(), child.stdout.take()) else {
            return Err(Failure::new("cannot read from git"));
        };
        let asked: String = entries
            .iter()
            .map(|entry| entry.object.clone() + "\n")
            .collect();
        // Both pipes fill up where one waits for the other.
        let writer = std::thread::spawn(move || stdin.write_all(asked.as_bytes()));
        let mut reader = BufReader::new(stdout);
        let mut all = Vec::with_capacity(entries.len());
        let broken = || Failure::new("git does not hold a file that it lists");
        for _ in entries {
            let mut head = String::new();
            reader.read_line(&mut head).map_err(|error| wrong(&error))?;
            let size = head.trim_end().rsplit(' ').next().map(str::parse::<usize>);
            let Some(Ok(size)) = size.filter(|_| head.contains(" blob ")) else {
                let _ = child.kill();
                return Err(broken());
            };
            let mut bytes = vec![0; size + 1];
            reader
                .read_exact(&mut bytes)
                .map_err(|error| wrong(&error))?;
            bytes.truncate(size);
            all.push(bytes);
        }
        drop(reader);
        let written = writer.join().map_err(|_| broken())?;
        written.map_err(|error| wrong(&error))?;
        child.wait().map_err(|error| wrong(&error))?;
        Ok(all)
    }

    fn text(&self, words: &[&str]) -> Result<String, Failure> {
        let bytes = self.run(words)?.map_err(|said| self.failed(words, &said))?;
        Ok(String::from_utf8_lossy(&bytes).trim_end().to_owned())
    }

    fn failed(&self, words: &[&str], said: &str) -> Failure {
        let asked = words.first().copied().unwrap_or_default();
        let folder = self.folder.display();
        Failure::new(format!("git {asked} failed in {folder}: {said}"))
    }

    fn command(&self, words: &[&str]) -> Command {
        let mut command = Command::new("git");
        // What it says is told on as it is: in the notation's own language.
        command.env("LC_ALL", "C").env("GIT_OPTIONAL_LOCKS", "0");
        command
            .arg("--no-pager")
            .arg("-C")
            .arg(&self.folder)
            .args(words);
        command.stdin(Stdio::null());
        command
    }

    /// What git answers, or what it says is wrong.
    fn run(&self, words: &[&str]) -> Result<Result<Vec<u8>, String>, Failure> {
        let output = self
            .command(words)
            .output()
            .map_err(|error| no_git(&error))?;
        if output.status.success() {
            return Ok(Ok(output.stdout));
        }
        let said = String::from_utf8_lossy(&output.stderr);
        let said = said.lines().next().unwrap_or_default().trim();
        Ok(Err(said.trim_start_matches("fatal: ").to_owned()))
    }
}

fn no_git(error: &std::io::Error) -> Failure {
    if error.kind() == std::io::ErrorKind::NotFound {
        Failure::new("the program `git` is needed for a revision, and not installed")
    } else {
        Failure::system("cannot run git", error)
    }
}

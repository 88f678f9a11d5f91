//! What is read and what is not, listed.

use gutta_notation::visible_line;
use gutta_protocol::{FileFault, SourceFile};
use serde::Serialize;

use super::{FileSelection, FoundFiles, Loaded};
use crate::failure::{Failure, Outcome};
use crate::out::Out;
use crate::terminal;

/// For every command that looks for files.
#[derive(Clone, Copy, Debug, Default, clap::Args)]
pub(crate) struct Listing {
    /// Only list which files are read, and which are not, with the reason
    ///
    /// The exit code is 1 if something could not be read, or if a file that
    /// could hold an order is not read and nobody chose to leave it out.
    #[arg(long)]
    show_files: bool,
}

impl Listing {
    pub(crate) const fn is_asked(self) -> bool {
        self.show_files
    }

    /// That nothing else is asked for.
    pub(crate) fn alone(self, others: &[(bool, &str)]) -> Result<Self, Failure> {
        match others.iter().find(|(given, _)| *given) {
            None => Ok(self),
            Some((_, other)) => {
                let why = format!("--show-files only lists files, and cannot be used with {other}");
                Err(Failure::new(why))
            }
        }
    }

    /// Lists what a run over all workspaces asked about reads.
    pub(crate) fn show(self, asked: &FileSelection, json: bool) -> Result<Outcome, Failure> {
        Listed::of(asked.find_all()?)?.show(json)
    }

    /// Lists what a run over one workspace reads.
    pub(crate) fn show_one(self, asked: &FileSelection) -> Result<Outcome, Failure> {
        Listed::of(vec![asked.find()?])?.show(false)
    }
}

/// Files are listed for people, or as one document.
pub(crate) fn no_such_list() -> Failure {
    Failure::new("--show-files works with --format text or json")
}

/// Every file of the workspaces asked about.
#[derive(Debug)]
struct Listed(Vec<Loaded>);

/// The same for programs.
#[derive(Serialize)]
struct Document {
    /// As typed in the current folder.
    read: Vec<String>,
    not_readable: Vec<NotRead>,
    leaned_on: Vec<NotRead>,
    passed_over: Vec<NotRead>,
}

#[derive(Serialize)]
struct NotRead {
    path: String,
    why: String,
    /// Whether an order could be in it that nobody chose to leave out.
    fault: bool,
}

/// Why nothing of a file could be read, where that is so.
fn why_no_text(file: &SourceFile) -> Option<String> {
    let mut faults = file.faults.iter();
    faults.find_map(|fault| match fault {
        FileFault::Unreadable { why } => Some(why.to_string()),
        FileFault::Binary => Some("it is not text".to_owned()),
        FileFault::TooLarge { bytes } => Some(format!("it has {bytes} bytes, too many for text")),
        FileFault::NotUtf8(_) => None,
    })
}

impl Listed {
    fn of(found: Vec<FoundFiles>) -> Result<Self, Failure> {
        let loaded = found.into_iter().map(FoundFiles::load);
        Ok(Self(loaded.collect::<Result<_, _>>()?))
    }

    fn show(&self, json: bool) -> Result<Outcome, Failure> {
        terminal::print(if json {
            Out::json(&self.document())?
        } else {
            Out::text(self.text(), false)
        })?;
        Ok(Outcome::found(self.is_faulty()))
    }

    /// Whether something is passed over that an order could be in.
    fn is_faulty(&self) -> bool {
        let mut passed = self.0.iter().flat_map(|loaded| &loaded.passed);
        passed.any(|passed| passed.why.is_fault())
            || self.0.iter().any(|loaded| {
                let mut asked = loaded.asked.iter();
                asked.any(|file| why_no_text(loaded.workspace.file(*file)).is_some())
            })
    }

    fn document(&self) -> Document {
        let mut document = Document {
            read: Vec::new(),
            not_readable: Vec::new(),
            leaned_on: Vec::new(),
            passed_over: Vec::new(),
        };
        for loaded in &self.0 {
            let (root, workspace) = (&loaded.root, &loaded.workspace);
            for file in &loaded.asked {
                let file = workspace.file(*file);
                let path = root.shown(&file.path);
                match why_no_text(file) {
                    None => document.read.push(path),
                    Some(why) => document.not_readable.push(NotRead {
                        path,
                        why,
                        fault: true,
                    }),
                }
            }
            for file in &workspace.files {
                document
                    .leaned_on
                    .extend(file.unjudged.as_ref().map(|why| NotRead {
                        path: root.shown(&file.path),
                        why: why.to_string(),
                        fault: false,
                    }));
            }
            for passed in &loaded.passed {
                let end = if passed.is_folder { "/" } else { "" };
                document.passed_over.push(NotRead {
                    path: root.shown_path(&passed.path) + end,
                    why: passed.why.told(|path| root.shown_path(path)),
                    fault: passed.why.is_fault(),
                });
            }
        }
        document
    }

    /// A line each.
    fn text(&self) -> String {
        let document = self.document();
        let mut text = String::new();
        let mut list = |head: &str, lines: Vec<String>| {
            if lines.is_empty() {
                return;
            }
            text.push_str(head);
            text.push('\n');
            for line in lines {
                text.push_str("  ");
                text.push_str(&visible_line(&line));
                text.push('\n');
            }
        };
        let not_read = |all: &[NotRead]| -> Vec<String> {
            let told = all.iter().map(|one| format!("{}: {}", one.path, one.why));
            told.collect()
        };
        list("Read:", document.read.clone());
        list("Could not be read:", not_read(&document.not_readable));
        list("Used, but not checked:", not_read(&document.leaned_on));
        list("Not read:", not_read(&document.passed_over));
        text
    }
}

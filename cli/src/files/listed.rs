//! What is read and what is not, listed.

use gutta_notation::visible_line;
use serde::Serialize;

use super::{Asked, Found, Loaded};
use crate::failure::Failure;

/// Every file of the workspaces asked about.
#[derive(Debug)]
pub(crate) struct Listed(Vec<Loaded>);

/// The same for programs.
#[derive(Serialize)]
pub(crate) struct Document {
    /// As typed in the current folder.
    read: Vec<String>,
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

impl Listed {
    /// Looks.
    pub(crate) fn of(asked: &Asked) -> Result<Self, Failure> {
        let found = asked.find_all()?.into_iter().map(Found::load);
        Ok(Self(found.collect::<Result<_, _>>()?))
    }

    /// Whether something is passed over that an order could be in.
    pub(crate) fn is_faulty(&self) -> bool {
        let mut passed = self.0.iter().flat_map(|loaded| &loaded.passed);
        passed.any(|passed| passed.why.is_fault())
    }

    pub(crate) fn document(&self) -> Document {
        let mut document = Document {
            read: Vec::new(),
            leaned_on: Vec::new(),
            passed_over: Vec::new(),
        };
        for loaded in &self.0 {
            let (root, workspace) = (&loaded.root, &loaded.workspace);
            for file in &loaded.asked {
                document.read.push(root.shown(&workspace.file(*file).path));
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
    pub(crate) fn text(&self) -> String {
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
        list("Used, and not checked:", not_read(&document.leaned_on));
        list("Passed over:", not_read(&document.passed_over));
        text
    }
}

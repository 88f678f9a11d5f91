//! Small repositories for the features' tests: texts in the notation, a `|`
//! where the cursor stands.

use gutta_checks::{Checked, Options};
use gutta_notation::Span;
use gutta_notation::ast::Date;
use gutta_protocol::{Content, FileId, House, Place, Workspace};
use gutta_quantity::work::Interrupt;

use smol_str::SmolStr;

use crate::state::{Refused, Settings, Site};

/// A repository, and the cursor in it.
pub(crate) struct Fixture {
    pub(crate) workspace: Workspace,
    pub(crate) checked: Checked,
    pub(crate) settings: Settings,
    pub(crate) refused: Refused,
    /// The file that holds the cursor; without one, the first.
    pub(crate) file: FileId,
    /// The bytes at which a `|` stood, in the order of the text.
    pub(crate) cursors: Vec<u32>,
}

impl Fixture {
    /// From files by path; the last one in which a `|` stands is looked at.
    pub(crate) fn new<'a>(files: impl IntoIterator<Item = (&'a str, &'a str)>) -> Self {
        let mut cursors = Vec::new();
        let mut own = None;
        let mut texts: Vec<(SmolStr, Content)> = Vec::new();
        for (path, marked) in files {
            if marked.contains('|') {
                own = Some(path.to_owned());
                let parts: Vec<_> = marked.split('|').collect();
                let mut at = 0;
                cursors = parts[..parts.len() - 1]
                    .iter()
                    .map(|part| {
                        at += part.len();
                        at as u32
                    })
                    .collect();
            }
            texts.push((path.into(), marked.replace('|', "").into()));
        }
        let workspace = Workspace::new(texts, House::default());
        let checked = Checked::new(&workspace, Options::default());
        let file = own.and_then(|path| workspace.file_at(&path));
        Self {
            file: file.unwrap_or(FileId(0)),
            workspace,
            checked,
            settings: Settings::default(),
            refused: Refused::default(),
            cursors,
        }
    }

    /// The same of one file.
    pub(crate) fn of(marked: &str) -> Self {
        Self::new([("ward.gtt", marked)])
    }

    /// With everything checked, on 25 November 2026.
    pub(crate) fn checked(mut self) -> Self {
        let today = Some(Date {
            year: 2026,
            month: 11,
            day: 25,
        });
        self.checked.set_options(Options { today });
        self.checked
            .work(&self.workspace, &Interrupt::default(), || true);
        self
    }

    pub(crate) fn site(&self) -> Site<'_> {
        Site {
            workspace: &self.workspace,
            checked: &self.checked,
            settings: &self.settings,
            refused: &self.refused,
            file: self.file,
        }
    }

    /// The first `|`.
    pub(crate) fn cursor(&self) -> u32 {
        self.cursors[0]
    }

    /// From the first `|` to the last; at the text's start without one.
    pub(crate) fn stretch(&self) -> Span {
        let first = self.cursors.first().copied().unwrap_or(0);
        Span::new(first, self.cursors.last().copied().unwrap_or(first))
    }

    /// The text of the file.
    pub(crate) fn text(&self) -> &str {
        &self.workspace.file(self.file).text
    }

    /// The file, the line from 1, and the text at the place.
    pub(crate) fn told(&self, place: Place) -> String {
        let file = self.workspace.file(place.file);
        let line = file.text[..place.span.start as usize].matches('\n').count() + 1;
        format!("{}:{line} {}", file.path, place.span.text(&file.text))
    }
}

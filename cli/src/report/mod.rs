//! Findings as people and programs read them: one file a form.

mod concise;
mod json;
mod lines;
mod paint;
mod snippet;
mod summary;
mod text;

use gutta_checks::Finding;
use gutta_protocol::{FileId, Place, Workspace};

use crate::baseline::Held;
use crate::files::Root;
pub(crate) use lines::{Lines, Position};
pub(crate) use summary::{Summary, counted};
pub(crate) use text::is_loud;

/// What there is to report.
pub(crate) struct Report<'a> {
    /// All files.
    pub(crate) workspace: &'a Workspace,
    /// Where they stand.
    pub(crate) root: &'a Root,
    /// In the order in which they are shown.
    pub(crate) findings: &'a [Finding],
    /// The counts.
    pub(crate) summary: Summary,
    /// What a baseline held back.
    pub(crate) baseline: Option<&'a Held>,
    lines: Lines<'a>,
}

impl<'a> Report<'a> {
    /// The findings in the files asked about.
    pub(crate) fn new(
        workspace: &'a Workspace,
        root: &'a Root,
        asked: &[FileId],
        findings: &'a [Finding],
    ) -> Self {
        Self {
            workspace,
            root,
            findings,
            summary: Summary::of(workspace, asked, findings),
            baseline: None,
            lines: Lines::of(workspace),
        }
    }

    /// With what a baseline made of them.
    pub(crate) const fn baseline(mut self, held: Option<&'a Held>) -> Self {
        self.baseline = held;
        self
    }

    /// The file's path, as it would be typed in the current folder.
    fn shown(&self, file: FileId) -> String {
        self.root.shown(&self.workspace.file(file).path)
    }

    /// Where a place begins and ends, in lines and columns.
    fn positions(&self, place: Place) -> (Position, Position) {
        let span = place.span;
        (
            self.lines.position(place.file, span.start),
            self.lines.position(place.file, span.end),
        )
    }
}

//! Findings as people and programs read them: one file a form.

mod concise;
mod fingerprint;
mod github;
mod gitlab;
mod json;
mod junit;
mod lines;
mod paint;
mod sarif;
mod snippet;
mod summary;
mod text;

use gutta_checks::{Finding, causes, explains};
use gutta_notation::visible_line;
use gutta_protocol::{FileId, Place, Workspace};

use crate::baseline::Held;
use crate::files::{Loaded, Root, SkipCounts};
use crate::prose::curt;
pub(crate) use lines::{Lines, Position};
pub(crate) use summary::Summary;
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
    /// The files asked about.
    asked: &'a [FileId],
    lines: Lines<'a>,
}

impl<'a> Report<'a> {
    /// The findings in the files asked about.
    pub(crate) fn new(loaded: &'a Loaded, findings: &'a [Finding]) -> Self {
        let Loaded {
            workspace,
            root,
            asked,
            passed,
        } = loaded;
        let passed_over = SkipCounts::of(passed);
        Self {
            workspace,
            root,
            findings,
            summary: Summary::of(workspace, asked, findings, passed_over),
            baseline: None,
            asked,
            lines: Lines::of(workspace),
        }
    }

    /// With what a baseline made of them.
    pub(crate) const fn baseline(mut self, held: Option<&'a Held>) -> Self {
        self.baseline = held;
        self
    }

    /// The file's path from the current folder, as it is shown.
    fn shown(&self, file: FileId) -> String {
        self.root.shown(&self.workspace.file(file).path)
    }

    /// The same to the letter, for programs that look the file up.
    fn typed(&self, file: FileId) -> String {
        self.root.typed(&self.workspace.file(file).path)
    }

    /// ` (follows from limit.never in line 9)`, for a form that has no field of its
    /// own for the cause; nothing where there is none.
    fn follows_from(&self, finding: &Finding, cause: Option<&Finding>) -> String {
        let Some(cause) = cause else {
            return String::new();
        };
        let (start, _) = self.positions(cause.place);
        let how = if explains(finding) {
            "explains"
        } else {
            "follows from"
        };
        format!(" ({how} {} in line {})", cause.rule.name, start.line)
    }

    /// The findings chosen, each with what follows from which of them.
    fn with_causes(
        &self,
        chosen: impl Fn(&Finding) -> bool,
    ) -> impl Iterator<Item = (&Finding, Option<&Finding>)> {
        let told: Vec<_> = self.findings.iter().filter(|found| chosen(found)).collect();
        let causes = causes(&told);
        let cause = move |(index, cause): (usize, Option<usize>)| {
            (told[index], cause.map(|cause| told[cause]))
        };
        causes.into_iter().enumerate().map(cause)
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

/// The message and what to do, each on one line.
fn said(finding: &Finding, between: &str) -> String {
    let sentences = std::iter::once(&finding.message).chain(&finding.notes);
    let lines = sentences.map(|sentence| {
        let words: Vec<_> = sentence.split_whitespace().collect();
        curt(&visible_line(&words.join(" ")))
    });
    lines.collect::<Vec<_>>().join(between)
}

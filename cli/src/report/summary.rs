//! The counts at the end.

use gutta_checks::words::counted;
use gutta_checks::{Finding, Severity};
use gutta_notation::StanzaKind;
use gutta_protocol::{FileId, Workspace};
use serde::Serialize;

use crate::files::SkipCounts;

/// How much was looked at, and how many findings of each severity there are.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
pub(crate) struct Summary {
    /// Files.
    pub(crate) files: usize,
    /// Stanzas, without comments and what belongs to nothing.
    pub(crate) stanzas: usize,
    /// Findings of severity error.
    pub(crate) errors: usize,
    /// Findings of severity warning.
    pub(crate) warnings: usize,
    /// Findings of severity information.
    pub(crate) information: usize,
    /// Findings of severity hint.
    pub(crate) hints: usize,
    /// What was not read.
    pub(crate) passed_over: SkipCounts,
}

impl Summary {
    /// Counts.
    pub(crate) fn of(
        workspace: &Workspace,
        asked: &[FileId],
        findings: &[Finding],
        passed_over: SkipCounts,
    ) -> Self {
        let count = |severity| {
            let those = findings.iter().filter(|found| found.severity == severity);
            those.count()
        };
        let stanzas = asked
            .iter()
            .flat_map(|file| &workspace.file(*file).ast.stanzas)
            .filter(|placed| {
                !matches!(
                    placed.stanza.kind,
                    StanzaKind::Preamble | StanzaKind::Unknown
                )
            });
        Self {
            files: asked.len(),
            stanzas: stanzas.count(),
            errors: count(Severity::Error),
            warnings: count(Severity::Warning),
            information: count(Severity::Information),
            hints: count(Severity::Hint),
            passed_over,
        }
    }

    /// `3 errors, 1 warning in 12 files (57 stanzas)`, or that there are
    /// none; with what a baseline held back, and what was not read.
    pub(crate) fn line(&self, held: usize) -> String {
        let place = format!(
            "in {} ({})",
            counted(self.files, "file"),
            counted(self.stanzas, "stanza")
        );
        let said: Vec<_> = [(self.errors, "error"), (self.warnings, "warning")]
            .into_iter()
            .filter(|(count, _)| *count > 0)
            .map(|(count, word)| counted(count, word))
            .collect();
        let said = match (said.as_slice(), held) {
            ([], _) if self.files == 0 => "Nothing was checked".to_owned(),
            ([], 0) => "No errors or warnings".to_owned(),
            ([], _) => "Nothing new".to_owned(),
            (said, _) => said.join(", "),
        };
        let held = (held > 0).then(|| format!("{} held back", counted(held, "finding")));
        let parts = [
            Some(format!("{said} {place}")),
            held,
            self.passed_over.line(),
        ];
        parts.into_iter().flatten().collect::<Vec<_>>().join("; ")
    }

    /// What the line does not count: `2 notes of information and 1 hint`.
    pub(crate) fn quiet(&self) -> Option<String> {
        let information = (self.information > 0)
            .then(|| format!("{} for information", counted(self.information, "note")));
        let hints = (self.hints > 0).then(|| counted(self.hints, "hint"));
        match (information, hints) {
            (Some(information), Some(hints)) => Some(format!("{information} and {hints}")),
            (one, other) => one.or(other),
        }
    }
}

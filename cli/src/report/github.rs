//! Annotations of GitHub Actions: one workflow command a finding, as in
//! <https://docs.github.com/en/actions/reference/workflows-and-actions/workflow-commands>.
//! Columns count characters from 1, and the end is the place after the last
//! one; GitHub's page gives no unit.

use std::fmt::Write;

use gutta_checks::{Finding, Severity};

use super::{Report, said};

impl Report<'_> {
    /// The findings chosen, one command each.
    pub(crate) fn github(&self, chosen: impl Fn(&Finding) -> bool) -> String {
        let mut out = String::new();
        for finding in self.findings.iter().filter(|found| chosen(found)) {
            let (start, end) = self.positions(finding.place);
            let _ = write!(
                out,
                "::{} title={},file={},line={},endLine={}",
                command(finding.severity),
                property(finding.rule.name),
                property(&self.shown(finding.place.file)),
                start.line,
                end.line,
            );
            // GitHub takes columns only where both are on one line.
            if start.line == end.line {
                let _ = write!(out, ",col={},endColumn={}", start.column, end.column);
            }
            let _ = writeln!(out, "::{}", data(&said(finding, "\n")));
        }
        out
    }
}

const fn command(severity: Severity) -> &'static str {
    match severity {
        Severity::Error => "error",
        Severity::Warning => "warning",
        Severity::Information | Severity::Hint => "notice",
    }
}

/// A message, escaped: a line end would end the command.
fn data(text: &str) -> String {
    text.replace('%', "%25")
        .replace('\r', "%0D")
        .replace('\n', "%0A")
}

/// A property's value, escaped.
fn property(text: &str) -> String {
    data(text).replace(':', "%3A").replace(',', "%2C")
}

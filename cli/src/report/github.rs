//! Annotations of GitHub Actions: one workflow command a finding, as in
//! <https://docs.github.com/en/actions/reference/workflows-and-actions/workflow-commands>.
//! Columns count characters from 1, and the end is the place after the last
//! one; GitHub's page gives no unit.

use gutta_checks::{Finding, Severity};

use super::{Report, said};
use crate::out::github::Command;

impl Report<'_> {
    /// The findings chosen, one command each.
    pub(crate) fn github(&self, chosen: impl Fn(&Finding) -> bool) -> Vec<Command> {
        let chosen = self.findings.iter().filter(|found| chosen(found));
        chosen.map(|finding| self.command(finding)).collect()
    }

    fn command(&self, finding: &Finding) -> Command {
        let (start, end) = self.positions(finding.place);
        let mut properties = vec![
            ("title", finding.rule.name.to_owned()),
            ("file", self.typed(finding.place.file)),
            ("line", start.line.to_string()),
            ("endLine", end.line.to_string()),
        ];
        // GitHub takes columns only where both are on one line.
        if start.line == end.line {
            properties.push(("col", start.column.to_string()));
            properties.push(("endColumn", end.column.to_string()));
        }
        Command::new(command(finding.severity), &properties, &said(finding, "\n"))
    }
}

const fn command(severity: Severity) -> &'static str {
    match severity {
        Severity::Error => "error",
        Severity::Warning => "warning",
        Severity::Information | Severity::Hint => "notice",
    }
}

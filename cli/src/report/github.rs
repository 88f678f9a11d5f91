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
        self.with_causes(chosen)
            .map(|(finding, cause)| self.command(finding, cause))
            .collect()
    }

    fn command(&self, finding: &Finding, cause: Option<&Finding>) -> Command {
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
        let mut said = said(finding, "\n");
        said.push_str(&self.follows_from(finding, cause));
        Command::new(command(finding.severity), &properties, &said)
    }
}

const fn command(severity: Severity) -> &'static str {
    match severity {
        Severity::Error => "error",
        Severity::Warning => "warning",
        Severity::Information | Severity::Hint => "notice",
    }
}

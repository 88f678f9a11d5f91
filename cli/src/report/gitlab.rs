//! GitLab's code quality report, as in
//! <https://docs.gitlab.com/ci/testing/code_quality/#code-quality-report-format>.
//! It has lines alone, and no columns.

use gutta_checks::{Finding, Severity};
use serde::Serialize;

use super::{Report, said};

/// A finding.
#[derive(Serialize)]
pub(crate) struct Violation {
    description: String,
    check_name: &'static str,
    fingerprint: String,
    severity: &'static str,
    location: Location,
}

#[derive(Serialize)]
struct Location {
    path: String,
    lines: Lines,
}

#[derive(Serialize)]
struct Lines {
    begin: usize,
    end: usize,
}

impl Report<'_> {
    /// The findings chosen.
    pub(crate) fn gitlab(&self, chosen: impl Fn(&Finding) -> bool) -> Vec<Violation> {
        let marked = self.findings.iter().zip(self.fingerprints());
        let one = |(finding, fingerprint): (&Finding, String)| {
            let (start, end) = self.positions(finding.place);
            Violation {
                description: said(finding, " "),
                check_name: finding.rule.name,
                fingerprint,
                severity: severity(finding.severity),
                location: Location {
                    path: self.typed(finding.place.file),
                    lines: Lines {
                        begin: start.line,
                        end: end.line,
                    },
                },
            }
        };
        marked
            .filter(|(finding, _)| chosen(finding))
            .map(one)
            .collect()
    }
}

const fn severity(severity: Severity) -> &'static str {
    match severity {
        Severity::Error => "critical",
        Severity::Warning => "major",
        Severity::Information => "minor",
        Severity::Hint => "info",
    }
}

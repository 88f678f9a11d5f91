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
        let fingerprints = self.fingerprints();
        let marked = self.findings.iter().zip(fingerprints);
        let marked = marked.filter(|(finding, _)| chosen(finding));
        let marked: Vec<_> = marked.map(|(_, fingerprint)| fingerprint).collect();
        let one = |((finding, cause), fingerprint): ((&Finding, Option<&Finding>), String)| {
            let mut description = said(finding, " ");
            description.push_str(&self.follows_from(finding, cause));
            let (start, end) = self.positions(finding.place);
            Violation {
                description,
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
        self.with_causes(&chosen).zip(marked).map(one).collect()
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

//! What the other resources of the bundle do not hold, as one of its own.

use super::Exporter;
use super::choice::Refused;
use super::fhir::{CodeableConcept, Entry, Issue, OperationOutcome, Resource};
use super::left_out::Omission;
use super::narrative::narrative;

impl Exporter<'_> {
    /// Everything that is not in the other resources.
    pub(super) fn outcome(&self, refused: &[Refused]) -> Entry {
        let mut issue = vec![Issue {
            severity: "information",
            code: "informational",
            details: CodeableConcept::text(
                "Comments and the layout of the files are not exported.",
            ),
            diagnostics: gutta_protocol::CAUTION.to_owned(),
        }];
        issue.extend(refused.iter().map(|refused| Issue {
            severity: "error",
            code: "business-rule",
            details: CodeableConcept::text(format!("{} is not exported.", refused.holder)),
            diagnostics: format!("{}: {}", refused.place, refused.why.join("; ")),
        }));
        for left in &self.left {
            issue.extend(left.omissions.iter().map(|omission| {
                let Omission {
                    line,
                    text,
                    why,
                    in_words,
                    ..
                } = omission;
                let kept = if *in_words {
                    "in words only"
                } else {
                    "left out"
                };
                Issue {
                    severity: "warning",
                    code: "not-supported",
                    details: CodeableConcept::text(format!("{kept}: {text}")),
                    diagnostics: format!("{}:{line}, {}: {why}", left.file, left.holder),
                }
            }));
        }
        let title = format!(
            "Not in the other resources, or in part: {} issues.",
            issue.len()
        );
        let text = narrative(&title, std::iter::empty(), &[]);
        let name = self
            .names
            .of("OperationOutcome", &["what is not in the other resources"]);
        Entry {
            full_url: name.url,
            resource: Resource::OperationOutcome(Box::new(OperationOutcome {
                id: name.id,
                text,
                issue,
            })),
        }
    }
}

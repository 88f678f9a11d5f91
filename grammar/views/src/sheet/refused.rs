//! Why an order has no sheet.

use gutta_checks::leans_on;
use gutta_checks::{Finding, Options, Severity, check_stanza};
use gutta_notation::visible_line;
use gutta_protocol::model::Library;
use gutta_protocol::{Analysis, StanzaId, Workspace};

/// What keeps an order from having a sheet: every error in it, or in a stanza
/// that it leans on. Empty only where all its values are there.
pub(super) fn refused(
    workspace: &Workspace,
    library: &Library,
    analysis: &Analysis,
    options: &Options,
) -> Vec<String> {
    let order = &analysis.order;
    let mut stanzas = vec![order.id];
    stanzas.extend(leans_on(order));
    stanzas.dedup();
    let mut reasons: Vec<String> = Vec::new();
    for id in stanzas {
        for reason in errors(workspace, library, id, options) {
            if !reasons.contains(&reason) {
                reasons.push(reason);
            }
        }
    }
    if let (true, Err(incomplete)) = (reasons.is_empty(), &analysis.values) {
        reasons.extend(incomplete.told(|span| workspace.line_number(order.id, span)));
    }
    reasons
}

/// The errors of one stanza, a sentence each with its place.
#[must_use]
pub fn errors(
    workspace: &Workspace,
    library: &Library,
    id: StanzaId,
    options: &Options,
) -> Vec<String> {
    let findings = check_stanza(workspace, library, id, options);
    let errors = findings
        .iter()
        .filter(|finding| finding.severity == Severity::Error);
    errors.map(|error| told(workspace, error)).collect()
}

fn told(workspace: &Workspace, finding: &Finding) -> String {
    let file = workspace.file(finding.place.file);
    let line = workspace.line_of(finding.place);
    format!(
        "{}:{line}: error[{}]: {}",
        visible_line(&file.path),
        finding.rule.name,
        finding.message
    )
}

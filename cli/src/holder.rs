//! What a finding or a line belongs to, in words.

use gutta_checks::{Finding, words};
use gutta_protocol::{StanzaId, Workspace};

/// The stanza that a finding belongs to, as `order noradrenaline-central`; empty
/// for what stands in no stanza.
pub(crate) fn holder(workspace: &Workspace, finding: &Finding) -> String {
    let stanza = finding.stanza.map(|id| holder_of(workspace, id));
    stanza.unwrap_or_default()
}

/// The stanza, as `order noradrenaline-central`.
pub(crate) fn holder_of(workspace: &Workspace, id: StanzaId) -> String {
    let stanza = workspace.stanza(id);
    let name = stanza.name.as_ref().map_or("", |name| name.value.as_str());
    format!("{} {name}", words::kind(stanza.kind))
        .trim_end()
        .to_owned()
}

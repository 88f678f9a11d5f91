//! From a wrong order to a specimen: an example of what must be caught.

use gutta_checks::{Finding, Fix, Severity};
use gutta_notation::{Span, StanzaKind};
use gutta_protocol::{Resolved, Workspace};

use super::{Action, ActionKind, ActionPlace, findings, last_line, line};

/// Makes the order a specimen that expects what is found in it. Where others
/// name the order, it stays, and the specimen is a copy below it.
pub(super) fn specimen(at: &ActionPlace<'_>) -> Option<Action> {
    if at.kind() != StanzaKind::Order {
        return None;
    }
    let workspace = at.site.workspace;
    let stanza = workspace.stanza(at.id);
    let name = stanza.name.as_ref()?;
    let keyword = Span::new(stanza.header.start, stanza.header.start + 5);
    if at.text(keyword) != "order" {
        return None;
    }
    let rules = caught(&findings(at.site, at.id))?;
    let told: Vec<_> = rules.iter().map(|rule| format!("`{rule}`")).collect();
    let told = told.join(", ");
    let lines: Vec<_> = rules
        .iter()
        .map(|rule| line("expect", &format!("finding {rule}")))
        .collect();
    let end = last_line(at);
    if workspace.referrers(at.id).is_empty() {
        let mut edits = vec![at.replace(keyword, "specimen")];
        let below = lines
            .iter()
            .map(|line| Fix::insert_below(workspace, at.id, end, line));
        let mut below = below.flat_map(|fix| fix.edits);
        // Several are written at one place, so as one edit.
        let mut first = below.next()?;
        first.text.extend(below.map(|edit| edit.text));
        edits.push(first);
        let title = format!("Make it a specimen, which expects {told}");
        return Some(Action::new(ActionKind::Rewrite, title, edits));
    }
    let new = free_name(workspace, at, &name.value)?;
    let head = at.text(Span::new(keyword.end, name.span.start));
    let tail = at.text(Span::new(name.span.end, end.end.max(stanza.header.end)));
    let copy = format!("specimen{head}{new}{tail}");
    // The copy goes where a line below the last one would.
    let mut edit = Fix::insert_below(workspace, at.id, end, "").edits.pop()?;
    let ending = if edit.text.starts_with('\r') {
        "\r\n"
    } else {
        "\n"
    };
    edit.text = format!("{ending}{ending}{copy}");
    for line in lines {
        edit.text.push_str(&format!("{ending}  {line}"));
    }
    let title = format!("Keep a copy as the specimen `{new}`, which expects {told}");
    Some(Action::new(ActionKind::Insert, title, vec![edit]))
}

/// The rules whose findings make the order wrong, each once.
fn caught(findings: &[Finding]) -> Option<Vec<&'static str>> {
    let mut rules: Vec<_> = findings
        .iter()
        .filter(|finding| finding.severity == Severity::Error)
        .map(|finding| finding.rule.name)
        .collect();
    rules.sort_unstable();
    rules.dedup();
    (!rules.is_empty()).then_some(rules)
}

/// `NAME-wrong`, or with the first number behind it that nothing bears.
fn free_name(workspace: &Workspace, at: &ActionPlace<'_>, name: &str) -> Option<String> {
    let numbered = (2..100).map(|number| format!("{name}-wrong-{number}"));
    let mut names = std::iter::once(format!("{name}-wrong")).chain(numbered);
    names.find(|name| {
        let bears = |kind| workspace.resolve(at.id.file, kind, name) != Resolved::None;
        !bears(StanzaKind::Order) && !bears(StanzaKind::Specimen)
    })
}

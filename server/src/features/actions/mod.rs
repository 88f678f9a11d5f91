//! What can be done to the text at a place: each a change, with its title.

mod effect;
mod everything;
mod examples;
mod made_up;
mod specimen;
#[cfg(test)]
mod tests;
mod waivers;

use gutta_checks::{Finding, Fix, TextEdit};
use gutta_notation::{Line, Span, StanzaKind};
use gutta_protocol::StanzaId;

use crate::state::Site;
use effect::Effects;

pub(crate) use everything::fix_all;

/// What an action is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum ActionKind {
    /// It mends a finding.
    Mend,
    /// It says the same, or something else, in another way.
    Rewrite,
    /// It adds a line.
    Insert,
    /// It mends all spelling of the file.
    FixAll,
}

/// A change on offer.
#[derive(Clone, Debug)]
pub(crate) struct Action {
    pub(crate) kind: ActionKind,
    pub(crate) title: String,
    /// What it replaces, in any file; all or none.
    pub(crate) edits: Vec<TextEdit>,
    /// The finding that it mends.
    pub(crate) mends: Option<Finding>,
    /// Whether it is the one that suits most.
    pub(crate) preferred: bool,
}

impl Action {
    fn new(kind: ActionKind, title: impl Into<String>, edits: Vec<TextEdit>) -> Self {
        Self {
            kind,
            title: title.into(),
            edits,
            mends: None,
            preferred: false,
        }
    }
}

/// Everything that can be done at a stretch of the file, of the kinds wanted;
/// what mends all of the file is asked of [`fix_all`].
pub(crate) fn actions(
    site: &Site<'_>,
    span: Span,
    wanted: impl Fn(ActionKind) -> bool,
) -> Vec<Action> {
    let mut all = Vec::new();
    for id in site.stanzas_in(span) {
        let effects = Effects::of(site, id);
        if wanted(ActionKind::Mend) {
            let findings = findings(site, id);
            let touched = findings.iter().filter(|finding| touches(finding, span));
            for finding in touched.clone() {
                all.extend(
                    finding
                        .fixes
                        .iter()
                        .map(|fix| mend(site, &effects, finding, fix)),
                );
            }
            all.extend(touched.flat_map(|finding| waivers::waiver(site, id, finding, &findings)));
        }
    }
    let at = ActionPlace::new(site, span.start);
    if let Some(at) = at.filter(|_| wanted(ActionKind::Rewrite) || wanted(ActionKind::Insert)) {
        let effects = Effects::of(site, at.id);
        let mut others = Vec::new();
        others.extend(made_up::made_up(&at, &effects));
        others.extend(specimen::specimen(&at));
        others.extend(examples::examples(&at));
        all.extend(others.into_iter().filter(|action| wanted(action.kind)));
    }
    once(all)
}

/// Where the cursor stands.
#[derive(Clone, Copy, Debug)]
struct ActionPlace<'a> {
    site: &'a Site<'a>,
    id: StanzaId,
    /// None: in the header, or between the lines.
    line: Option<&'a Line>,
}

impl<'a> ActionPlace<'a> {
    fn new(site: &'a Site<'a>, offset: u32) -> Option<Self> {
        let id = site.stanza_at(offset)?;
        let line = site.line_at(offset).map(|(_, _, line)| line);
        Some(Self { site, id, line })
    }

    fn kind(&self) -> StanzaKind {
        self.site.workspace.stanza(self.id).kind
    }

    /// The text at a span of the stanza.
    fn text(&self, span: Span) -> &'a str {
        let workspace = self.site.workspace;
        workspace.text_at(workspace.place(self.id, span))
    }

    /// A replacement of a span of the stanza.
    fn replace(&self, span: Span, text: impl Into<String>) -> TextEdit {
        let place = self.site.workspace.place(self.id, span);
        let text = text.into();
        TextEdit { place, text }
    }
}

/// The findings of a stanza that are shown.
fn findings(site: &Site<'_>, id: StanzaId) -> Vec<Finding> {
    let mut findings = site.checked.findings_of(site.workspace, id);
    findings.retain(|finding| site.settings.shows(finding.severity));
    findings
}

fn touches(finding: &Finding, span: Span) -> bool {
    let own = finding.place.span;
    own.start <= span.end && span.start <= own.end
}

/// A finding's own fix.
fn mend(site: &Site<'_>, effects: &Effects<'_>, finding: &Finding, fix: &Fix) -> Action {
    let mut title = told(site, fix);
    if !fix.spelling {
        effects.tell(&mut title, &fix.edits);
    }
    Action {
        mends: Some(finding.clone()),
        preferred: fix.spelling || finding.fixes.len() == 1,
        ..Action::new(ActionKind::Mend, title, fix.edits.clone())
    }
}

/// What a fix does: for what it makes of a few words, those before and after.
fn told(site: &Site<'_>, fix: &Fix) -> String {
    let usual = ["write `", "remove it", "put a space"];
    let whole = fix.title.contains(" instead of ")
        || !usual.iter().any(|usual| fix.title.starts_with(usual));
    let words = match fix.edits.as_slice() {
        [edit] if !whole => words(site, edit),
        _ => None,
    };
    match words {
        Some((old, new)) if new.trim().is_empty() => format!("Remove `{}`", old.trim()),
        Some((old, new)) => format!("Write `{new}` instead of `{old}`"),
        None => sentence(&fix.title),
    }
}

/// The whole words that an edit touches, and what it makes of them. Longer
/// ones are seen better where they stand.
fn words(site: &Site<'_>, edit: &TextEdit) -> Option<(String, String)> {
    const LONGEST: usize = 40;
    let text = &site.workspace.file(edit.place.file).text;
    let span = edit.place.span;
    let before = text.get(..span.start as usize)?;
    let after = text.get(span.end as usize..)?;
    let head = before.rfind(char::is_whitespace).map_or(0, |at| {
        at + before
            .get(at..)
            .map_or(0, |rest| rest.chars().next().map_or(0, char::len_utf8))
    });
    let tail = after.find(char::is_whitespace).unwrap_or(after.len());
    let (head, tail) = (before.get(head..)?, after.get(..tail)?);
    let (old, new) = (span.text(text), &edit.text);
    let told = |word: &str| format!("{head}{word}{tail}");
    let (old, new) = (told(old), told(new));
    let short = old.len().max(new.len()) <= LONGEST && !old.contains('\n') && !new.contains('\n');
    (short && !old.trim().is_empty()).then_some((old, new))
}

/// The first letter as a capital.
fn sentence(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    })
}

/// A line as the notation's examples lay it out.
fn line(keyword: &str, rest: &str) -> String {
    format!("{keyword:<10} {rest}")
}

/// Where a stanza's last line stands; its header, where it has none.
fn last_line(at: &ActionPlace<'_>) -> Span {
    let stanza = at.site.workspace.stanza(at.id);
    stanza.lines.last().map_or(stanza.header, |line| line.span)
}

/// Of actions that do the same, the first.
fn once(all: Vec<Action>) -> Vec<Action> {
    let mut kept: Vec<Action> = Vec::with_capacity(all.len());
    for action in all {
        if !kept.iter().any(|held| held.edits == action.edits) {
            kept.push(action);
        }
    }
    kept
}

//! What a line that cannot be read may have been meant as.

use gutta_notation::first_words::{self, Meant};
use gutta_notation::{Edit, Fact, Line, StanzaKind};
use gutta_protocol::names::Space;

use crate::words::{any_of, quoted};
use crate::{Finding, MarkContext};

/// So many lines are proposed at most.
const SHOWN: usize = 3;

/// The finding with the lines that may have been meant, and without corrections
/// after which the line cannot be read either.
pub(super) fn proposed(context: &MarkContext<'_>, mut finding: Finding) -> Finding {
    let unread = |line: &&Line| line.fact == Fact::Unreadable;
    let Some(line) = context.line().filter(unread) else {
        return finding;
    };
    let all = meant(context, line);
    let mut fixes = context.mark.fixes.iter();
    // Each correction is that of the mark at the same place.
    finding.fixes.retain(|_| {
        fixes
            .next()
            .is_none_or(|edit| all.is_empty() && reads(context, line, edit))
    });
    let lines: Vec<_> = all.iter().map(|meant| &meant.line).take(SHOWN).collect();
    if let [only] = all.as_slice()
        && only.spelling
    {
        let mut fix = context.replace(line.span, only.line.clone());
        fix.spelling = true;
        finding.fixes.push(fix);
    }
    match lines.as_slice() {
        [] => finding,
        [only] => finding.note(format!(
            "Perhaps: `{only}`. Check that this is what was meant."
        )),
        _ => finding.note(format!(
            "Perhaps: {}. Only the author can say which.",
            any_of(&quoted(&lines))
        )),
    }
}

fn meant(context: &MarkContext<'_>, line: &Line) -> Vec<Meant> {
    let named = |kind: StanzaKind, phrase: &str| {
        let space = Space::Stanza(kind);
        let name = context
            .workspace
            .called(context.stanza.file, space, phrase)?;
        Some(name.to_string())
    };
    let text = context.text(line.span);
    first_words::meant(context.stanza().kind, text, &named, context.style())
}

/// Whether the line can be read once the edit is made; one beside it may do as it
/// likes.
fn reads(context: &MarkContext<'_>, line: &Line, edit: &Edit) -> bool {
    if edit.span.start < line.span.start || edit.span.end > line.span.end {
        return true;
    }
    let text = context.text(line.span);
    let (from, to) = (
        edit.span.start - line.span.start,
        edit.span.end - line.span.start,
    );
    let (Some(before), Some(after)) = (text.get(..from as usize), text.get(to as usize..)) else {
        return true;
    };
    let edited = format!("{before}{}{after}", edit.text);
    first_words::is_read(context.stanza().kind, &edited, context.style())
}

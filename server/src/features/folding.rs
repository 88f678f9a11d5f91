//! What can be folded away: stanzas, phases, runs of `use`, long comments.

use gutta_notation::{Span, StanzaKind};

use super::outline;
use crate::state::Site;

/// What is folded.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum FoldKind {
    Comment,
    Uses,
    Stanza,
}

/// The stretches that may be folded, by their starts; such as stand on one
/// line are among them.
pub(crate) fn folds(site: Site<'_>) -> Vec<(FoldKind, Span)> {
    let mut folds = comments(&site.source().text);
    let mut uses: Option<Span> = None;
    for id in site.workspace.stanzas_in(site.file) {
        let stanza = site.workspace.stanza(id);
        let start = site.start_of(id);
        let whole = outline::whole(stanza).shifted(start);
        match stanza.kind {
            StanzaKind::Preamble => {}
            StanzaKind::Use => uses = Some(uses.map_or(whole, |uses| uses.to(whole))),
            _ => {
                folds.extend(uses.take().map(|span| (FoldKind::Uses, span)));
                folds.push((FoldKind::Stanza, whole));
                let phases = outline::phases(stanza).into_iter();
                folds.extend(phases.map(|phase| (FoldKind::Stanza, phase.shifted(start))));
            }
        }
    }
    folds.extend(uses.map(|span| (FoldKind::Uses, span)));
    folds.sort_by_key(|(_, span)| (span.start, std::cmp::Reverse(span.end)));
    folds
}

/// Comments that stand alone on lines next to each other.
fn comments(text: &str) -> Vec<(FoldKind, Span)> {
    let mut found: Vec<(FoldKind, Span)> = Vec::new();
    let mut at = 0;
    let mut open = false;
    for whole in text.split_inclusive(['\n', '\r']) {
        let line = whole.trim_matches([' ', '\t', '\n', '\r']);
        let start = at;
        at += whole.len();
        // Between a CR and its LF there is no line.
        if whole == "\n" && start > 0 && text.as_bytes().get(start - 1) == Some(&b'\r') {
            continue;
        }
        if !line.starts_with('#') {
            open = false;
            continue;
        }
        let first = start + whole.find('#').unwrap_or(0);
        let span = Span::new(count(first), count(first + line.len()));
        match found.last_mut().filter(|_| open) {
            Some((_, above)) => *above = above.to(span),
            None => found.push((FoldKind::Comment, span)),
        }
        open = true;
    }
    found
}

fn count(size: usize) -> u32 {
    u32::try_from(size).unwrap_or(u32::MAX)
}

#[cfg(test)]
mod tests {
    use super::folds;
    use crate::features::harness::Fixture;

    #[test]
    fn stanzas_phases_uses_and_comments_fold() {
        let text = "# One\r\n#  two é\r\n\r\nuse \"a.gtt\"\r\nuse \"b.gtt\"\r\n\r\n# alone\r\n\
                    order a \"A\"\r\n  phase b\r\n    run all at 5 mL/h\r\n  then stop\r\n\r\n# end\r\n";
        let fixture = Fixture::of(text);
        let told: Vec<_> = folds(fixture.site())
            .into_iter()
            .map(|(kind, span)| format!("{kind:?} {:?}", span.text(text)))
            .collect();
        assert_eq!(
            told,
            [
                "Comment \"# One\\r\\n#  two é\"",
                "Uses \"use \\\"a.gtt\\\"\\r\\nuse \\\"b.gtt\\\"\"",
                "Comment \"# alone\"",
                "Stanza \"order a \\\"A\\\"\\r\\n  phase b\\r\\n    run all at 5 mL/h\\r\\n  then stop\"",
                "Stanza \"phase b\\r\\n    run all at 5 mL/h\"",
                "Comment \"# end\"",
            ]
        );
    }
}

//! All of a file's spelling put right at once.

use std::collections::BTreeSet;

use gutta_checks::{TextEdit, fixes};
use gutta_notation::Span;
use gutta_protocol::{FileId, Place, Workspace};

use super::{Action, ActionKind};
use crate::state::Site;

const TITLE: &str = "Correct all spelling";

/// Whether some spelling of the file can be put right.
fn has_spelling(site: &Site<'_>) -> bool {
    let findings = site.checked.findings(site.workspace, site.file);
    let mut fixes = findings.iter().flat_map(|finding| &finding.fixes);
    fixes.any(|fix| fix.spelling)
}

/// Everything that changes spelling alone, as often as that brings up more;
/// what would bring a new error is left. The change itself is left out where
/// it is only to be offered.
pub(crate) fn fix_all(site: &Site<'_>, with_edits: bool) -> Option<Action> {
    if !with_edits {
        return has_spelling(site).then(|| Action::new(ActionKind::FixAll, TITLE, Vec::new()));
    }
    let mut workspace = in_sight(site);
    let path = &site.source().path;
    let file = workspace.file_at(path)?;
    let after = fixes::spell(&mut workspace, file, site.checked.options())?;
    let edits = differences(site.file, &site.source().text, &after);
    Some(Action::new(ActionKind::FixAll, TITLE, edits))
}

/// The file with what its findings depend on: what it sees, and what that
/// sees.
fn in_sight(site: &Site<'_>) -> Workspace {
    let workspace = site.workspace;
    let near = workspace.sees(site.file).iter();
    let seen: BTreeSet<FileId> = near
        .flat_map(|file| workspace.sees(*file))
        .copied()
        .collect();
    let files = seen.into_iter().map(|file| {
        let file = workspace.file(file);
        (file.path.clone(), file.text.clone())
    });
    Workspace::new(files.collect::<Vec<_>>(), workspace.house.clone())
}

/// The lines that differ; where lines came or went, all from the first to the
/// last that differs.
fn differences(file: FileId, before: &str, after: &str) -> Vec<TextEdit> {
    let (old, new): (Vec<_>, Vec<_>) = (lines(before), lines(after));
    if old.len() != new.len() {
        return vec![edit(file, 0, before, after)];
    }
    let mut at = 0;
    let mut edits = Vec::new();
    for (old, new) in old.into_iter().zip(new) {
        if old != new {
            edits.push(edit(file, at, old, new));
        }
        at += old.len();
    }
    edits
}

fn lines(text: &str) -> Vec<&str> {
    text.split_inclusive('\n').collect()
}

/// A replacement of what differs between two texts, the first of which stands
/// at `at`.
fn edit(file: FileId, at: usize, old: &str, new: &str) -> TextEdit {
    let same = |(a, b): &(char, char)| a == b;
    let shared = old.chars().zip(new.chars()).take_while(same);
    let head: usize = shared.map(|(found, _)| found.len_utf8()).sum();
    let (old_rest, new_rest) = (old.get(head..).unwrap_or(""), new.get(head..).unwrap_or(""));
    let shared = old_rest.chars().rev().zip(new_rest.chars().rev());
    let tail: usize = shared
        .take_while(same)
        .map(|(found, _)| found.len_utf8())
        .sum();
    let offset = |at: usize| u32::try_from(at).unwrap_or(u32::MAX);
    let span = Span::new(offset(at + head), offset(at + old.len() - tail));
    TextEdit {
        place: Place { file, span },
        text: new_rest
            .get(..new_rest.len() - tail)
            .unwrap_or("")
            .to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::differences;
    use gutta_protocol::FileId;

    #[test]
    fn what_differs_is_replaced() {
        let cases = [
            ("", ""),
            ("a\nb\n", "a\nb\n"),
            ("a\nbé\n", "a\nbè\n"),
            ("é5mg\r\nx", "é5 mg\r\nx"),
            ("a\nb", "a\nb\nc"),
            ("aa", "a"),
            ("a 10000 units\nb\nc 5.0\n", "a 10,000 units\nb\nc 5\n"),
        ];
        for (before, after) in cases {
            let mut held = before.to_owned();
            for edit in differences(FileId(0), before, after).into_iter().rev() {
                let span = edit.place.span;
                held.replace_range(span.start as usize..span.end as usize, &edit.text);
            }
            assert_eq!(held, after);
        }
    }
}

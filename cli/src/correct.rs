//! Correcting spelling in files, and what that changes.

use gutta_checks::{Finding, Options, TextEdit, check};
use gutta_protocol::FileId;
use rustc_hash::FxHashSet;
use similar::TextDiff;
use smol_str::SmolStr;

use crate::failure::Failure;
use crate::files::{Loaded, write_whole};

/// Corrections can uncover others (a blank put in lets a unit be read); more
/// rounds than this are corrections that undo each other.
const ROUNDS: usize = 8;

/// A file and its text before and after.
pub(crate) struct Changed {
    /// From the root.
    pub(crate) path: SmolStr,
    before: String,
    after: String,
}

impl Changed {
    /// What has changed, if anything has.
    pub(crate) fn of(path: SmolStr, before: String, after: String) -> Option<Self> {
        (before != after).then_some(Self {
            path,
            before,
            after,
        })
    }

    /// Writes the new text.
    pub(crate) fn write(&self, loaded_root: &crate::files::Root) -> Result<(), Failure> {
        write_whole(
            &loaded_root.folder().join(self.path.as_str()),
            self.after.as_bytes(),
        )
    }

    /// The change as a unified diff.
    pub(crate) fn diff(&self) -> String {
        let diff = TextDiff::from_lines(&self.before, &self.after);
        let mut unified = diff.unified_diff();
        let (old, new) = (format!("a/{}", self.path), format!("b/{}", self.path));
        unified.context_radius(2).header(&old, &new).to_string()
    }
}

/// Corrects the spelling in the files asked about, in the workspace alone:
/// nothing is written. Returns what changed and what is found afterwards.
pub(crate) fn correct(loaded: &mut Loaded, options: &Options) -> (Vec<Changed>, Vec<Finding>) {
    let before: Vec<_> = loaded
        .asked
        .iter()
        .map(|id| loaded.workspace.file(*id))
        .map(|file| (file.path.clone(), file.text.to_string()))
        .collect();
    let mut findings = check(&loaded.workspace, Some(&loaded.asked), options);
    for _ in 0..ROUNDS {
        let edits = chosen(loaded, &findings);
        if edits.is_empty() {
            break;
        }
        apply(loaded, edits);
        findings = check(&loaded.workspace, Some(&loaded.asked), options);
    }
    let changed = before.into_iter().filter_map(|(path, before)| {
        let id = loaded.workspace.file_at(&path)?;
        let after = loaded.workspace.file(id).text.to_string();
        Changed::of(path, before, after)
    });
    (changed.collect(), findings)
}

/// The edits of one spelling correction for each finding that has exactly one,
/// none of which meets another; in the order of files and places.
fn chosen(loaded: &Loaded, findings: &[Finding]) -> Vec<TextEdit> {
    let asked: FxHashSet<FileId> = loaded.asked.iter().copied().collect();
    let may_change = |edit: &TextEdit| {
        let file = loaded.workspace.file(edit.place.file);
        let span = edit.place.span;
        asked.contains(&edit.place.file)
            && file.faults.is_empty()
            && file
                .text
                .get(span.start as usize..span.end as usize)
                .is_some()
    };
    let mut taken: Vec<TextEdit> = Vec::new();
    for finding in findings {
        let mut spelling = finding.fixes.iter().filter(|fix| fix.spelling);
        let (Some(fix), None) = (spelling.next(), spelling.next()) else {
            continue;
        };
        // Findings come in the order of places, so that a clash can only be
        // with one of the last few; the same edit twice is one edit.
        let clashes = |edit: &TextEdit| taken.iter().rev().take(64).any(|other| meet(edit, other));
        if fix
            .edits
            .iter()
            .all(|edit| may_change(edit) && !clashes(edit))
        {
            taken.extend(fix.edits.iter().cloned());
        }
    }
    taken.sort_by_key(|edit| edit.place);
    // Whatever the order was: of two that meet, the first holds.
    taken.dedup_by(|later, kept| meet(later, kept));
    taken
}

/// Whether two edits touch the same text, or put something in at one place.
/// One that ends where the other begins does not meet it.
fn meet(one: &TextEdit, other: &TextEdit) -> bool {
    let (a, b) = (one.place.span, other.place.span);
    one.place.file == other.place.file
        && ((a.start < b.end && b.start < a.end) || (a.start == b.start))
}

fn apply(loaded: &mut Loaded, edits: Vec<TextEdit>) {
    let mut edits = edits.into_iter().peekable();
    let mut texts = Vec::new();
    while let Some(first) = edits.peek() {
        let id = first.place.file;
        let file = loaded.workspace.file(id);
        let end = line_end(&file.text);
        let mut text = String::with_capacity(file.text.len());
        let mut done = 0;
        while let Some(edit) = edits.next_if(|edit| edit.place.file == id) {
            let start = edit.place.span.start as usize;
            text.push_str(file.text.get(done..start).unwrap_or_default());
            text.push_str(&edit.text.replace('\n', end));
            done = edit.place.span.end as usize;
        }
        text.push_str(file.text.get(done..).unwrap_or_default());
        texts.push((file.path.clone(), text));
    }
    for (path, text) in texts {
        loaded.workspace.replace_file(&path, text);
    }
}

/// How the text ends its lines.
fn line_end(text: &str) -> &'static str {
    match memchr::memchr2(b'\n', b'\r', text.as_bytes()) {
        Some(at) if text.as_bytes()[at] == b'\n' => "\n",
        Some(at) if text.as_bytes().get(at + 1) == Some(&b'\n') => "\r\n",
        Some(_) => "\r",
        None => "\n",
    }
}

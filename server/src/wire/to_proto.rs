//! Plain data, as the protocol writes it.

use std::collections::BTreeMap;
use std::path::Path;

use gutta_checks::{Finding, Severity, Story, explains, stories};
use gutta_notation::{Span, visible};
use gutta_protocol::house::HouseFault;
use gutta_protocol::{Content, FileId, Place};
use tower_lsp::lsp_types::{
    CodeDescription, Diagnostic, DiagnosticRelatedInformation, DiagnosticSeverity, DiagnosticTag,
    DocumentChanges, Location, MarkupContent, MarkupKind, NumberOrString, OneOf,
    OptionalVersionedTextDocumentIdentifier, Position, Range, TextDocumentEdit, TextEdit, Url,
    WorkspaceEdit,
};

use super::abilities::{Abilities, Markup};
use super::pages;
use crate::disk;
use crate::features::plain::plain;
use crate::state::{FileRef, Notice, Root, RootId, State};
use crate::text::Encoding;

/// Who found it.
pub(super) const SOURCE: &str = "gutta";

/// Rules of what is there and is not needed.
const UNUSED: [&str; 2] = ["name.unused", "waive.unused"];

/// The findings of a file that are severe enough to be shown.
pub(super) fn diagnostics(state: &State, file: FileRef, abilities: &Abilities) -> Vec<Diagnostic> {
    let Some(root) = state.root(file.0).filter(|_| state.judges(file)) else {
        return Vec::new();
    };
    let findings = root.checked.findings(&root.workspace, file.1);
    let notice = state.url(file).and_then(|url| state.notice(&url));
    let notice = notice.filter(|notice| state.settings.shows(notice.severity));
    let shown = findings
        .iter()
        .filter(|finding| state.settings.shows(finding.severity));
    let stories = stories(shown);
    let told = stories
        .iter()
        .flat_map(|story| of_one_cause(state, file.0, story, abilities));
    notice.map(noticed).into_iter().chain(told).collect()
}

fn noticed(notice: Notice) -> Diagnostic {
    Diagnostic {
        severity: Some(severity(notice.severity)),
        source: Some(SOURCE.to_owned()),
        message: seen(&notice.message),
        ..Diagnostic::default()
    }
}

/// Findings of one cause as one, where the client shows what is related; what is
/// graver than its cause stays by itself, so that nothing looks milder.
fn of_one_cause(
    state: &State,
    root: RootId,
    story: &Story<'_>,
    abilities: &Abilities,
) -> Vec<Diagnostic> {
    let one = |finding| diagnostic(state, root, finding, abilities);
    let Some(mut cause) = one(story.cause) else {
        return story.follows.iter().copied().filter_map(one).collect();
    };
    let mut apart = Vec::new();
    // What it likely is comes before what follows from it.
    let (slips, follows): (Vec<&Finding>, Vec<_>) =
        story.follows.iter().partition(|other| explains(other));
    for other in slips.into_iter().chain(follows) {
        if !is_told_along(other, story.cause, abilities) {
            apart.extend(one(other));
            continue;
        }
        let said = along_with(other);
        cause.message.push('\n');
        cause.message.push_str(&said);
        let at = location(state, root, other.place);
        let related = cause.related_information.get_or_insert_default();
        related.extend(at.map(|location| DiagnosticRelatedInformation {
            location,
            message: said,
        }));
    }
    std::iter::once(cause).chain(apart).collect()
}

/// Whether a finding is told with its cause, and not by itself.
pub(super) fn is_told_along(finding: &Finding, cause: &Finding, abilities: &Abilities) -> bool {
    abilities.related
        && finding.severity <= cause.severity
        && finding.place.file == cause.place.file
}

/// `So error flow.above-ceiling: …`; what only explains the cause in its own
/// words.
fn along_with(finding: &Finding) -> String {
    if explains(finding) {
        return seen(&finding.message);
    }
    let (word, rule) = (finding.severity.word(), finding.rule.name);
    seen(&format!("So {word} {rule}: {}", finding.message))
}

/// One finding.
pub(super) fn diagnostic(
    state: &State,
    root: RootId,
    finding: &Finding,
    abilities: &Abilities,
) -> Option<Diagnostic> {
    let range = state.with_lines((root, finding.place.file), |lines| {
        lines.range(finding.place.span)
    })?;
    let rule = finding.rule.name;
    let mut message = seen(&finding.message);
    for note in &finding.notes {
        message.push('\n');
        message.push_str(&seen(note));
    }
    let related: Vec<_> = finding
        .related
        .iter()
        .filter_map(|related| {
            Some(DiagnosticRelatedInformation {
                location: location(state, root, related.place)?,
                message: seen(&related.message),
            })
        })
        .collect();
    let page = state
        .site((root, finding.place.file))
        .and_then(|site| pages::url(rule, site.workspace.house.style))
        .filter(|_| abilities.described);
    Some(Diagnostic {
        range,
        severity: Some(severity(finding.severity)),
        code: Some(NumberOrString::String(rule.to_owned())),
        code_description: page.map(|href| CodeDescription { href }),
        source: Some(SOURCE.to_owned()),
        message,
        related_information: (abilities.related && !related.is_empty()).then_some(related),
        tags: (abilities.tags && UNUSED.contains(&rule)).then(|| vec![DiagnosticTag::UNNECESSARY]),
        data: None,
    })
}

/// What is wrong with each repository's `gutta.toml`, what is passed over
/// though an order could be in it, and what is open and not judged.
pub(super) fn other_diagnostics(state: &State) -> Vec<(Url, Vec<Diagnostic>)> {
    let of = |root: &Root| {
        let folder = root.folder.as_deref()?;
        let path = folder.join(disk::HOUSE_FILE);
        let url = Url::from_file_path(&path).ok()?;
        let text = (!root.house.is_empty())
            .then(|| house_text(&path))
            .flatten();
        let found = root.house.iter().map(|fault| {
            let at = house_position(text.as_deref(), fault, state.encoding);
            Diagnostic {
                range: Range::new(at, at),
                severity: Some(DiagnosticSeverity::ERROR),
                source: Some(SOURCE.to_owned()),
                message: seen(&fault.message),
                ..Diagnostic::default()
            }
        });
        Some((url, found.collect()))
    };
    let passed = |root: &Root| -> Vec<(Url, Vec<Diagnostic>)> {
        let told = root.passed.iter().filter_map(|passed| {
            let url = Url::from_file_path(&passed.path).ok()?;
            // Of what is open it is said there.
            if state.is_open(&url) {
                return None;
            }
            let why = passed.why.told(|path| path.display().to_string());
            let message = format!("This is not checked, and an order could be in it: {why}.");
            let diagnostic = Diagnostic {
                severity: Some(DiagnosticSeverity::ERROR),
                source: Some(SOURCE.to_owned()),
                message: seen(&message),
                ..Diagnostic::default()
            };
            Some((url, vec![diagnostic]))
        });
        told.collect()
    };
    let unjudged = state.unjudged().filter_map(|url| {
        let notice = state.notice(url)?;
        Some((url.clone(), vec![noticed(notice)]))
    });
    let roots = state.roots().map(|(_, root)| root);
    let houses = roots.clone().filter_map(of);
    let passed = roots.flat_map(passed);
    houses.chain(passed).chain(unjudged).collect()
}

fn house_text(path: &Path) -> Option<String> {
    match disk::found(path)? {
        Content::Bytes(bytes) => String::from_utf8(bytes).ok(),
        _ => None,
    }
}

/// A fault's place, which counts characters, as the client counts.
fn house_position(text: Option<&str>, fault: &HouseFault, encoding: Encoding) -> Position {
    let line = fault.line.saturating_sub(1);
    let before = fault.column.saturating_sub(1) as usize;
    let stands = text.and_then(|text| text.split('\n').nth(line as usize));
    let column = stands.map(|stands| {
        let end = stands.char_indices().nth(before).map(|(at, _)| at);
        encoding.width(&stands[..end.unwrap_or(stands.len())])
    });
    Position::new(line, column.unwrap_or(fault.column.saturating_sub(1)))
}

pub(super) const fn severity(severity: Severity) -> DiagnosticSeverity {
    match severity {
        Severity::Error => DiagnosticSeverity::ERROR,
        Severity::Warning => DiagnosticSeverity::WARNING,
        Severity::Information => DiagnosticSeverity::INFORMATION,
        Severity::Hint => DiagnosticSeverity::HINT,
    }
}

/// A place, with the file's URL.
pub(super) fn location(state: &State, root: RootId, place: Place) -> Option<Location> {
    let file = (root, place.file);
    let range = state.with_lines(file, |lines| lines.range(place.span))?;
    Some(Location::new(state.url(file)?, range))
}

/// Replacements in files of a repository; each file's in the order of its
/// text.
///
/// # Errors
/// As [`file_edits`].
pub(super) fn workspace_edit(
    state: &State,
    root: RootId,
    changes: impl IntoIterator<Item = (Place, String)>,
    abilities: &Abilities,
) -> Result<WorkspaceEdit, String> {
    Ok(edit_of(file_edits(state, root, changes)?, abilities))
}

/// A file's URL, its version where it is open, and what is replaced in it.
type FileEdits = (Url, Option<i32>, Vec<TextEdit>);

/// The same, by file.
///
/// # Errors
/// Where a file's text is another than the client shows, in words.
pub(super) fn file_edits(
    state: &State,
    root: RootId,
    changes: impl IntoIterator<Item = (Place, String)>,
) -> Result<Vec<FileEdits>, String> {
    let mut by_file: BTreeMap<FileId, Vec<(Span, String)>> = BTreeMap::new();
    for (place, text) in changes {
        by_file
            .entry(place.file)
            .or_default()
            .push((place.span, text));
    }
    if let Some(lost) = by_file.keys().find(|file| state.is_lost((root, **file))) {
        let root = state.root(root);
        let path = root.map(|root| root.workspace.file(*lost).path.as_str());
        return Err(format!(
            "The text of `{}` did not arrive completely, and it would have to be changed too: close it and open it again first.",
            path.unwrap_or_default()
        ));
    }
    let files = by_file.into_iter().filter_map(|(file, mut edits)| {
        edits.sort_by_key(|(span, _)| *span);
        let file = (root, file);
        let edits = state.with_lines(file, |lines| {
            let edit = |(span, text)| TextEdit::new(lines.range(span), text);
            edits.into_iter().map(edit).collect()
        })?;
        Some((state.url(file)?, state.version(file), edits))
    });
    Ok(files.collect())
}

/// One edit of all files.
pub(super) fn edit_of(
    files: impl IntoIterator<Item = FileEdits>,
    abilities: &Abilities,
) -> WorkspaceEdit {
    if !abilities.changes_documents {
        let changes = files.into_iter().map(|(url, _, edits)| (url, edits));
        return WorkspaceEdit::new(changes.collect());
    }
    let edits = files
        .into_iter()
        .map(|(uri, version, edits)| TextDocumentEdit {
            text_document: OptionalVersionedTextDocumentIdentifier { uri, version },
            edits: edits.into_iter().map(OneOf::Left).collect(),
        });
    WorkspaceEdit {
        document_changes: Some(DocumentChanges::Edits(edits.collect())),
        ..WorkspaceEdit::default()
    }
}

/// Adds a replacement in a file that the server does not hold.
pub(super) fn add_edit(edit: &mut WorkspaceEdit, url: Url, change: TextEdit) {
    match &mut edit.document_changes {
        Some(DocumentChanges::Edits(edits)) => edits.push(TextDocumentEdit {
            text_document: OptionalVersionedTextDocumentIdentifier {
                uri: url,
                version: None,
            },
            edits: vec![OneOf::Left(change)],
        }),
        _ => {
            let changes = edit.changes.get_or_insert_default();
            changes.entry(url).or_default().push(change);
        }
    }
}

/// What is said to a person, with whatever others hid in it made visible. All
/// words that the client shows go through here or through [`markup`]; what it
/// puts into a document does not.
pub(super) fn seen(text: &str) -> String {
    visible(text).into_owned()
}

/// A text written in Markdown, as the client can show it.
pub(super) fn markup(text: String, markup: Markup) -> MarkupContent {
    let text = seen(&text);
    let (kind, value) = match markup {
        Markup::Markdown => (MarkupKind::Markdown, text),
        Markup::Plain => (MarkupKind::PlainText, plain(&text)),
    };
    MarkupContent { kind, value }
}

//! What the rules' tests share: a text with carets under what is to be found.

use gutta_notation::ast::Date;
use gutta_notation::{Style, in_style};
use gutta_protocol::{FileId, House, Workspace};

use crate::{Finding, Options, Severity, check};

/// The day on which all examples are judged.
pub(crate) const TODAY: Date = Date {
    year: 2026,
    month: 11,
    day: 25,
};

/// The reference that examples `use`.
const TARNWICK: &str = include_str!("tarnwick.gtt");

/// A file that examples may use, and that no check reads.
const UNCHECKED: &str = "solution unchecked-water \"Water\"\n  osmolarity 277 mOsm/L\n";

/// The file that holds the text under test.
pub(crate) const PAGE: &str = "page.gtt";

/// All findings of the text, with Tarnwick's reference beside it.
pub(crate) fn findings(text: &str) -> Vec<Finding> {
    findings_as(text, Style::USUAL)
}

/// The same in a house that writes so, and in whose style the text is.
pub(crate) fn findings_as(text: &str, style: Style) -> Vec<Finding> {
    findings_in(&[], text, style).1
}

fn findings_in(others: &[(&str, &str)], text: &str, style: Style) -> (Workspace, Vec<Finding>) {
    let reference = in_style(TARNWICK, style);
    let mut files = vec![(PAGE, text), ("tarnwick.gtt", &*reference)];
    files.extend(others);
    let house = House {
        style,
        ..House::default()
    };
    let mut workspace = Workspace::new(files, house);
    workspace.lean_on("unchecked.gtt", UNCHECKED, Some("excluded by gutta.toml"));
    let page = workspace.file_at(PAGE).unwrap();
    let options = Options { today: Some(TODAY) };
    let findings = check(&workspace, Some(&[page]), &options);
    (workspace, findings)
}

/// Checks a text in which `^^^ RULE: WORDS` below a line says that exactly
/// there the rule finds something, in a message or note with these words
/// (which may be left out). Nothing else of warning or error may be found;
/// hints and information need no mark.
#[track_caller]
pub(crate) fn assert_findings(marked: &str) {
    assert_findings_in(&[], marked);
}

/// The same, with more files beside the text.
#[track_caller]
pub(crate) fn assert_findings_in(others: &[(&str, &str)], marked: &str) {
    let (text, mut wanted) = unmark(marked);
    let (workspace, found) = findings_in(others, &text, Style::USUAL);
    let page = workspace.file_at(PAGE).unwrap();
    let mut unexpected = Vec::new();
    for finding in &found {
        let words = words(finding);
        let hit = wanted.iter().position(|mark| {
            (mark.start, mark.end) == (finding.place.span.start, finding.place.span.end)
                && mark.rule == finding.rule.name
                && words.contains(&mark.words)
        });
        assert_eq!(finding.place.file, page, "{words}");
        match hit {
            Some(index) => {
                wanted.remove(index);
            }
            None if finding.severity >= Severity::Warning => unexpected.push(finding),
            None => {}
        }
    }
    if unexpected.is_empty() && wanted.is_empty() {
        return;
    }
    let found: String = found.iter().map(|finding| show(&text, finding)).collect();
    panic!("{text}\nnot found: {wanted:#?}\nfound:\n{found}");
}

#[derive(Debug)]
struct Wanted {
    start: u32,
    end: u32,
    rule: String,
    words: String,
}

/// Takes the mark lines out of a text.
fn unmark(marked: &str) -> (String, Vec<Wanted>) {
    let mut text = String::new();
    let mut wanted = Vec::new();
    let mut line_start = 0;
    for line in marked.trim_start_matches('\n').split_inclusive('\n') {
        if !line.trim_start().starts_with('^') {
            line_start = text.len();
            text.push_str(line);
            continue;
        }
        let above = &text[line_start..];
        let column = line.chars().take_while(|c| *c == ' ').count();
        let width = line.chars().filter(|c| *c == '^').count();
        let byte = |column: usize| {
            let at = above
                .char_indices()
                .nth(column)
                .map_or(above.len(), |(at, _)| at);
            u32::try_from(line_start + at).unwrap()
        };
        let said = line.trim().trim_start_matches('^').trim();
        let (rule, words) = said.split_once(": ").unwrap_or((said, ""));
        wanted.push(Wanted {
            start: byte(column),
            end: byte(column + width),
            rule: rule.to_owned(),
            words: words.to_owned(),
        });
    }
    (text, wanted)
}

fn words(finding: &Finding) -> String {
    format!("{}\n{}", finding.message, finding.notes.join("\n"))
}

/// A finding in one line, for a failing test.
pub(crate) fn show(text: &str, finding: &Finding) -> String {
    format!(
        "  {} {} at `{}`: {}\n",
        finding.severity.word(),
        finding.rule.name,
        finding.place.span.text(text),
        words(finding).replace('\n', " / ")
    )
}

/// The text with the fix made.
pub(crate) fn fixed(text: &str, fix: &crate::Fix) -> String {
    let page = FileId(0);
    assert!(fix.edits.iter().all(|edit| edit.place.file == page));
    crate::fixes::apply(text, &[fix])
}

mod tests {
    use super::unmark;

    #[test]
    fn marks_count_characters() {
        let (text, wanted) = unmark("\nté 5mg\n   ^^^ text.no-space: a: b\nx\n");
        assert_eq!(text, "té 5mg\nx\n");
        assert_eq!(wanted.len(), 1);
        assert_eq!((wanted[0].start, wanted[0].end), (4, 7));
        assert_eq!(
            (wanted[0].rule.as_str(), wanted[0].words.as_str()),
            ("text.no-space", "a: b")
        );
    }
}

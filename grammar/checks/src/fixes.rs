//! Applying corrections to a text.

use gutta_protocol::{FileId, Workspace};
use rustc_hash::FxHashMap;

use crate::{Finding, Fix, Options, Severity, check};

/// The text with the fixes made, all of which are of this one file. Of fixes
/// that overlap the one that stands first is made; a fix whose edits do not
/// fit the text is left out. All edits of a fix are made, or none.
#[must_use]
pub fn apply(text: &str, fixes: &[&Fix]) -> String {
    let mut order: Vec<_> = fixes.iter().filter(|fix| fits(text, fix)).collect();
    order.sort_by_key(|fix| fix.edits.iter().map(|edit| edit.place.span).min());
    let mut edits: Vec<(usize, usize, &str)> = Vec::new();
    for fix in order {
        let own: Vec<_> = fix
            .edits
            .iter()
            .map(|edit| {
                let span = edit.place.span;
                (span.start as usize, span.end as usize, edit.text.as_str())
            })
            .collect();
        let clashes = own
            .iter()
            .any(|edit| edits.iter().any(|made| overlap(*edit, *made)));
        // The same correction offered by two findings is made once.
        if !clashes {
            edits.extend(own);
        }
    }
    edits.sort_unstable();
    let mut fixed = String::with_capacity(text.len());
    let mut at = 0;
    for (start, end, new) in edits {
        fixed.push_str(text.get(at..start).unwrap_or(""));
        fixed.push_str(new);
        at = end;
    }
    fixed.push_str(text.get(at..).unwrap_or(""));
    fixed
}

/// Whether the fix says anything, within the text, and not against itself.
fn fits(text: &str, fix: &Fix) -> bool {
    let inside = fix.edits.iter().all(|edit| {
        let span = edit.place.span;
        text.get(span.start as usize..span.end as usize).is_some()
    });
    let mut spans: Vec<_> = fix.edits.iter().map(|edit| edit.place.span).collect();
    spans.sort_unstable();
    let apart = spans.windows(2).all(|pair| pair[0].end <= pair[1].start);
    !spans.is_empty() && inside && apart
}

/// Two edits share a character, or write at one and the same place.
fn overlap(a: (usize, usize, &str), b: (usize, usize, &str)) -> bool {
    (a.0 < b.1 && b.0 < a.1) || a.0 == b.0
}

/// As many rounds as a chain of spelling fixes could need; a fix that undoes
/// another one must not run for ever.
const ROUNDS: usize = 10;

/// Makes the spelling fixes of a file, again and again until none is left, and
/// leaves the workspace with the new text. `None` where nothing was changed. A
/// fix that would bring a new error is not made.
pub fn spell(workspace: &mut Workspace, file: FileId, options: &Options) -> Option<String> {
    let path = workspace.file(file).path.clone();
    let before = workspace.file(file).text.clone();
    // Bytes that were not UTF-8 are gone from the text: writing it back would
    // lose them.
    if !workspace.file(file).faults.is_empty() {
        return None;
    }
    for _ in 0..ROUNDS {
        let findings = check(workspace, Some(&[file]), options);
        let fixes: Vec<_> = spelling(&findings).collect();
        if fixes.is_empty() {
            break;
        }
        let errors = errors(&findings);
        let text = workspace.file(file).text.clone();
        let mut try_text = |candidate: String| {
            if candidate == *text {
                return false;
            }
            let held = workspace.file(file).text.clone();
            workspace.replace_file(&path, candidate);
            let new = check(workspace, Some(&[file]), options);
            let worse = worse(&errors, &self::errors(&new));
            if worse {
                workspace.replace_file(&path, held);
            }
            !worse
        };
        let all = try_text(apply(&text, &fixes));
        // One at a time, each on its own: the next round does the rest.
        if !all && !fixes.iter().any(|fix| try_text(apply(&text, &[fix]))) {
            break;
        }
    }
    let after = &workspace.file(file).text;
    (*after != before).then(|| after.to_string())
}

fn spelling(findings: &[Finding]) -> impl Iterator<Item = &Fix> {
    findings
        .iter()
        .filter_map(|finding| finding.fixes.iter().find(|fix| fix.spelling))
}

/// How many errors of each rule there are.
fn errors(findings: &[Finding]) -> FxHashMap<&'static str, usize> {
    let mut count = FxHashMap::default();
    for finding in findings {
        if finding.severity == Severity::Error {
            *count.entry(finding.rule.name).or_default() += 1;
        }
    }
    count
}

fn worse(before: &FxHashMap<&str, usize>, after: &FxHashMap<&str, usize>) -> bool {
    after
        .iter()
        .any(|(rule, count)| before.get(rule).is_none_or(|held| held < count))
}

#[cfg(test)]
mod tests {
    use gutta_notation::Span;
    use gutta_protocol::{FileId, House, Place, Workspace};
    use proptest::prelude::*;

    use super::{apply, spell};
    use crate::{Fix, Options};

    fn fix(start: u32, end: u32, text: &str) -> Fix {
        let place = Place {
            file: FileId(0),
            span: Span::new(start, end),
        };
        Fix::replace(place, text)
    }

    #[test]
    fn fixes_are_made_in_place() {
        let (a, b) = (fix(0, 3, "run"), fix(8, 8, " "));
        assert_eq!(apply("Run all 5mg", &[&b, &a]), "run all  5mg");
    }

    #[test]
    fn the_first_of_two_that_overlap_is_made() {
        let (a, b) = (fix(2, 5, "X"), fix(4, 6, "Y"));
        assert_eq!(apply("abcdefg", &[&b, &a]), "abXfg");
    }

    #[test]
    fn all_edits_or_none() {
        let mut pair = fix(0, 1, "A");
        pair.edits.extend(fix(40, 41, "B").edits);
        assert_eq!(apply("abc", &[&pair]), "abc");
    }

    proptest! {
        #[test]
        fn any_fixes_on_any_text(text in "\\PC{0,12}", spans in prop::collection::vec((0u32..16, 0u32..4, "[a-z]{0,2}"), 0..5)) {
            let fixes: Vec<_> = spans
                .iter()
                .map(|(start, len, new)| fix(*start, start + len, new))
                .collect();
            let fixed = apply(&text, &fixes.iter().collect::<Vec<_>>());
            let inserted: usize = spans.iter().map(|(.., new)| new.len()).sum();
            prop_assert!(fixed.len() <= text.len() + inserted);
        }
    }

    const BEFORE: &str = "\
order heparin-steady \"Heparin\"\r
  note       \"5mg stays\"  # and 5.0 mg here\r
  Route      peripheral vein\r
  mix        20000 U made up to 50.0mL with saline\r
  run        all at .5 mL/h\r
";

    const AFTER: &str = "\
order heparin-steady \"Heparin\"\r
  note       \"5mg stays\"  # and 5.0 mg here\r
  route      peripheral vein\r
  mix        20,000 units made up to 50 mL with saline\r
  run        all at 0.5 mL/h\r
";

    #[test]
    fn spelling_is_put_right_and_nothing_else() {
        let mut workspace = Workspace::new(vec![("a.gtt", BEFORE)], House::default());
        let fixed = spell(&mut workspace, FileId(0), &Options::default());
        assert_eq!(fixed.as_deref(), Some(AFTER));
        assert_eq!(spell(&mut workspace, FileId(0), &Options::default()), None);
    }
}

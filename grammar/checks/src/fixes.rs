//! Applying corrections to a text.

use gutta_protocol::{FileId, Workspace};
use rustc_hash::FxHashMap;

use crate::{Finding, Fix, Options, Severity, check};

mod numbers;

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
        let text = workspace.file(file).text.clone();
        // Whatever a rule offers, no number is changed unasked.
        let fixes: Vec<_> = spelling(&findings)
            .filter(|fix| numbers::kept(&text, fix))
            .collect();
        if fixes.is_empty() {
            break;
        }
        let errors = errors(&findings);
        let made = most(&fixes, |some| {
            sound(workspace, file, apply(&text, some), &errors, options)
        });
        let fixed = apply(&text, &made);
        let changed = fixed != *text;
        workspace.replace_file(&path, fixed);
        if !changed {
            break;
        }
    }
    let after = &workspace.file(file).text;
    (*after != before).then(|| after.to_string())
}

/// As many of the fixes as can be made together: those with which nothing is
/// sound are found by halves, and all others are made.
fn most<'a>(fixes: &[&'a Fix], mut sound: impl FnMut(&[&'a Fix]) -> bool) -> Vec<&'a Fix> {
    let mut made = Vec::new();
    let mut left = vec![fixes];
    while let Some(some) = left.pop() {
        let all: Vec<_> = made.iter().chain(some).copied().collect();
        if sound(&all) {
            made = all;
        } else if some.len() > 1 {
            let (first, second) = some.split_at(some.len() / 2);
            left.extend([second, first]);
        }
    }
    made
}

/// Whether the file, with another text, has no error more than `errors`; it
/// is left with that text.
fn sound(
    workspace: &mut Workspace,
    file: FileId,
    text: String,
    errors: &FxHashMap<&'static str, usize>,
    options: &Options,
) -> bool {
    let path = workspace.file(file).path.clone();
    workspace.replace_file(&path, text);
    let new = check(workspace, Some(&[file]), options);
    !worse(errors, &self::errors(&new))
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
    use gutta_notation::lines::LINES;
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

    /// Lines of pieces, with blanks between them or without.
    fn lines() -> impl Strategy<Value = String> {
        let begun = [
            "patient weight",
            "usual dose",
            "run all at",
            "never dose above",
            "contains sodium",
        ];
        let words = LINES.iter().filter(|line| line.kind.is_read());
        let keywords: Vec<_> = begun
            .into_iter()
            .chain(words.map(|line| line.words))
            .collect();
        let keyword = prop::sample::select(keywords);
        let piece = prop::sample::select(vec![
            "40",
            "0.5",
            ".5",
            "5.0",
            "10000",
            "1,000",
            "3-",
            "to",
            "per",
            "at",
            "over",
            "of",
            "mg",
            "kg",
            "mL",
            "mcg/kg/min",
            "U",
            "mg/m\u{b2}",
            "mL/h",
            "every",
            "saline",
            "at most",
            "made up to",
            "with",
            ",",
            "-",
            "h",
            "30 min",
        ]);
        let line = (keyword, prop::collection::vec((piece, any::<bool>()), 1..8));
        prop::collection::vec(line, 1..6).prop_map(|lines| {
            let mut text = "drug x \"X\"\n".to_owned();
            for (place, (keyword, pieces)) in lines.into_iter().enumerate() {
                if place == 2 {
                    text += "order y \"Y\"\n  drug x\n";
                }
                text += &format!("  {keyword} ");
                for (piece, blank) in pieces {
                    text += piece;
                    text += if blank { " " } else { "" };
                }
                text += "\n";
            }
            text
        })
    }

    proptest! {
        #[test]
        fn no_number_is_changed(text in lines()) {
            let workspace = Workspace::new(vec![("a.gtt", text.as_str())], House::default());
            let findings = crate::check(&workspace, None, &Options::default());
            for fix in super::spelling(&findings) {
                prop_assert!(super::numbers::kept(&text, fix), "{text}{fix:?}");
            }
        }
    }

    #[test]
    fn a_word_run_together_with_a_number_gets_no_digit() {
        let before = "area a \"A\"\n  patient    weight 40to150 kg\n\ngiving-set macro \"M\"\n  drops      20per mL\n\ndrug x \"X\"\n  usual dose 0.01to0.5 mcg/kg/min\n  never dose above 3- mg/kg/min\n";
        let mut workspace = Workspace::new(vec![("a.gtt", before)], House::default());
        assert_eq!(spell(&mut workspace, FileId(0), &Options::default()), None);
    }

    #[test]
    fn one_that_brings_an_error_holds_up_no_other() {
        let fixes: Vec<_> = (0..100).map(|at| fix(at, at + 1, "x")).collect();
        let all: Vec<_> = fixes.iter().collect();
        let bad = |fix: &Fix| [7, 8, 63].contains(&fix.edits[0].place.span.start);
        let mut asked = 0;
        let made = super::most(&all, |some| {
            asked += 1;
            !some.iter().any(|fix| bad(fix))
        });
        let good: Vec<_> = all.iter().copied().filter(|fix| !bad(fix)).collect();
        assert_eq!(made, good);
        assert!(asked < 50, "{asked}");
    }

    #[test]
    fn all_of_a_file_is_put_right_at_once() {
        use std::fmt::Write as _;
        let mut before = String::new();
        for place in 0..40 {
            write!(
                before,
                "solution s{place} \"S\"\n  osmolarity {}.0 mOsm/L\n\n",
                200 + place
            )
            .unwrap();
        }
        let mut workspace = Workspace::new(vec![("a.gtt", before.as_str())], House::default());
        let fixed = spell(&mut workspace, FileId(0), &Options::default());
        assert_eq!(fixed, Some(before.replace(".0 mOsm", " mOsm")));
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

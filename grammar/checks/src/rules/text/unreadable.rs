#![doc = include_str!("unreadable.md")]

mod meant;

use gutta_notation::{MarkKind, Span, StanzaKind, Unreadable, Why};
use gutta_protocol::{FileFault, FileId, Place, Workspace};

use crate::words::{any_of, kind, quoted};
use crate::{Check, Finding, MarkContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "text.unreadable",
    severity: Severity::Error,
    locked: true,
    page: include_str!("unreadable.md"),
    check: Check::MarkAndFile(check, file_faults),
};

fn check(context: &MarkContext<'_>) -> Option<Finding> {
    let MarkKind::Unreadable(unreadable) = &context.mark.kind else {
        return None;
    };
    let found = first_words(context.marked());
    let mut finding = context.report(&RULE, message(context, unreadable, &found));
    finding = meant::proposed(context, finding);
    if offers_keyword(unreadable) {
        let near = finding
            .fixes
            .iter()
            .filter(|fix| !fix.spelling)
            .flat_map(|fix| &fix.edits);
        let near: Vec<_> = near.map(|edit| edit.text.clone()).collect();
        if !near.is_empty() {
            finding = finding.note(format!("Was {} meant?", any_of(&quoted(&near))));
        }
    }
    Some(finding.note(consequence(context)))
}

fn message(context: &MarkContext<'_>, unreadable: &Unreadable, found: &str) -> String {
    let stanza = kind(context.stanza().kind);
    match &unreadable.why {
        None if found.is_empty() => match expected(unreadable) {
            Some(expected) => format!("The line ends here, but {expected} should follow."),
            None => "The line ends too early.".to_owned(),
        },
        None => match expected(unreadable) {
            Some(expected) => format!("`{found}` cannot be read here; expected: {expected}."),
            None => format!("`{found}` cannot be read here."),
        },
        Some(Why::UnknownKeyword { found }) => match context.stanza().kind {
            StanzaKind::Unknown => format!("`{found}` does not start any kind of stanza."),
            _ => format!("`{found}` is not a keyword."),
        },
        Some(Why::WrongHome { keyword, home }) => {
            format!("`{keyword}` does not belong in this {stanza}: it belongs in {home}.")
        }
        Some(Why::BeforeFirstStanza) => "This line is before the first stanza and belongs to nothing.".to_owned(),
        Some(Why::IndentedStanza) => {
            format!("`{found}` starts a stanza, and must be in the first column.")
        }
        Some(Why::IndentThis) => {
            format!("`{found}` is in the first column, where only a stanza may start. Indent it.")
        }
        Some(Why::Dash) => {
            let range = context.mark.fixes.first().map_or_else(
                || "both ends with `to` between them".to_owned(),
                |fix| format!("`{}`", fix.text),
            );
            let dash = if found.starts_with('-') {
                "There is a dash".to_owned()
            } else {
                format!("`{found}` has a dash")
            };
            format!(
                "{dash} between two numbers, which can be read as a minus or overlooked. Write {range}."
            )
        }
        Some(Why::MadeUpOrAdded) => format!(
            "`{found}` does not say whether the volume is the whole bag (`made up to 50 mL with …`) or the volume to which the drug is added (`added to 50 mL of …`)."
        ),
        Some(Why::How) => {
            "This line states how much, but not how: at a flow or dose (`at 125 mL/h`), or over a time (`over 8 h`).".to_owned()
        }
        Some(Why::UnclosedText) => format!("The text `{found}` has no closing quote."),
        Some(Why::RangeWanted) => {
            format!("`{found}` is a single value, but a range is needed: `up to {found}`, or `… to …`.")
        }
        Some(Why::BlankAfterKeyword) => format!("A space must follow the keyword in `{found}`."),
        Some(Why::TooLong) => "This stanza has more lines than can be read as one. Split it.".to_owned(),
        Some(Why::NotText) => "This is not readable text.".to_owned(),
        Some(Why::Other(words)) => words.clone(),
    }
}

/// What could stand at the mark: three at most would be read by nobody, eight
/// still are.
fn expected(unreadable: &Unreadable) -> Option<String> {
    const SHOWN: usize = 8;
    let shown = &unreadable.expected[..unreadable.expected.len().min(SHOWN)];
    (!shown.is_empty()).then(|| any_of(shown))
}

fn offers_keyword(unreadable: &Unreadable) -> bool {
    matches!(unreadable.why, Some(Why::UnknownKeyword { .. }))
}

/// What it costs that the line is not read.
fn consequence(context: &MarkContext<'_>) -> String {
    let stanza = context.stanza();
    match (stanza.kind, &stanza.name) {
        (StanzaKind::Preamble | StanzaKind::Unknown, _) => {
            "Until it can be read, these lines have no effect.".to_owned()
        }
        (kind @ (StanzaKind::Order | StanzaKind::Specimen), Some(name)) => format!(
            "Until it can be read, the {} `{}` is incomplete: no value of it is shown.",
            self::kind(kind),
            name.value
        ),
        (kind, Some(name)) => format!(
            "Until it can be read, whatever depends on the {} `{}` is not fully checked.",
            self::kind(kind),
            name.value
        ),
        (_, None) => "Until it can be read, nothing can use it.".to_owned(),
    }
}

/// The start of what was marked: enough to find it, one line at most.
fn first_words(text: &str) -> String {
    const SHOWN: usize = 40;
    let line = text.split(['\n', '\r']).next().unwrap_or("").trim();
    match line.char_indices().nth(SHOWN) {
        Some((end, _)) => format!("{} …", line[..end].trim_end()),
        None => line.to_owned(),
    }
}

/// What keeps a file from being read as it stands: one finding a file.
pub(crate) fn file_faults(workspace: &Workspace, file: FileId) -> Vec<Finding> {
    let faults = &workspace.file(file).faults;
    let broken: Vec<_> = faults
        .iter()
        .filter_map(|fault| match fault {
            FileFault::NotUtf8(span) => Some(*span),
            FileFault::Binary | FileFault::TooLarge { .. } | FileFault::Unreadable { .. } => None,
        })
        .collect();
    let whole_file = |message: String| {
        let span = Span::new(0, 0);
        Finding::of_file(&RULE, Place { file, span }, message)
            .note("None of its orders is checked, and nothing can use it.")
    };
    let mut findings = Vec::new();
    for fault in faults {
        match fault {
            FileFault::Binary => findings.push(whole_file(
                "This file contains NUL characters: it is not a text file.".to_owned(),
            )),
            FileFault::TooLarge { bytes } => findings.push(whole_file(format!(
                "This file has {bytes} bytes, too many to be read."
            ))),
            FileFault::Unreadable { why } => {
                findings.push(whole_file(format!("This file cannot be read: {why}.")))
            }
            FileFault::NotUtf8(_) => {}
        }
    }
    if let [first, rest @ ..] = broken.as_slice() {
        let more = match rest.len() {
            0 => String::new(),
            1 => " and in one more place".to_owned(),
            more => format!(" and in {more} more places"),
        };
        let place = Place { file, span: *first };
        findings.push(
            Finding::of_file(&RULE, place, format!("Here{more} the file is not UTF-8."))
                .note("The characters there cannot be read. Save the file as UTF-8."),
        );
    }
    findings
}

#[cfg(test)]
mod tests {
    use gutta_protocol::{Content, House, Workspace};

    use crate::harness::assert_findings;
    use crate::{Options, check};

    #[test]
    fn a_misspelt_keyword() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order saline-litre "Saline"
  route      peripheral vein
  hang       1 L of saline
  ceilng     150 mL/h
  ^^^^^^ text.unreadable: `ceiling`
  run        all over 8 h
  then       stop
"#,
        );
    }

    #[test]
    fn a_range_with_a_dash() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order saline-litre "Saline"
  patient    weight 50-90 kg
                    ^^^^^ text.unreadable: `50-90` has a dash between two numbers, which can be read as a minus or overlooked. Write `50 to 90`.
  patient    surface 1 m2 - 2 m2
                          ^ text.unreadable: There is a dash between two numbers, which can be read as a minus or overlooked. Write `1 m2 to 2 m2`.
  route      peripheral vein
  hang       1 L of saline
  run        500 mL - 1 L over 8 h
                    ^ text.unreadable: Write both ends with `to` between them.
  then       stop
"#,
        );
    }

    #[test]
    fn a_number_run_together_with_a_word() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order saline-litre "Saline"
  patient    weight 40to150 kg
                    ^^^^^^^ text.unreadable: In `40to150` a number runs into the word `to`. Write `40 to 150`.
  route      peripheral vein
  hang       1 L of saline
  run        all at 3- mL/h
                    ^^ text.unreadable: There is a dash after `3`, which can be read as a minus or overlooked. Remove it, or write both ends of a range with `to` between them.
  then       stop
"#,
        );
    }

    fn messages(content: impl Into<Content>) -> Vec<String> {
        let workspace = Workspace::new(vec![("ward.gtt", content)], House::default());
        check(&workspace, None, &Options::default())
            .into_iter()
            .map(|finding| format!("{}: {}", finding.rule.name, finding.message))
            .collect()
    }

    #[test]
    fn a_file_that_cannot_be_read() {
        assert_eq!(
            messages(Content::Unreadable("permission denied".to_owned())),
            ["text.unreadable: This file cannot be read: permission denied."]
        );
    }

    #[test]
    fn a_file_that_is_no_text() {
        assert_eq!(
            messages(b"order\0".to_vec()),
            ["text.unreadable: This file contains NUL characters: it is not a text file."]
        );
    }

    #[test]
    fn broken_utf8_is_said_even_in_a_comment() {
        assert_eq!(
            messages(b"# caf\xe9, th\xe9\n".to_vec()),
            ["text.unreadable: Here and in one more place the file is not UTF-8."]
        );
    }
}

#![doc = include_str!("odd_character.md")]

use gutta_notation::{Hidden, MarkKind};

use crate::{Check, Finding, MarkContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "text.odd-character",
    severity: Severity::Warning,
    locked: false,
    page: include_str!("odd_character.md"),
    check: Check::Mark(check),
};

fn check(context: &MarkContext<'_>) -> Option<Finding> {
    let (found, finding) = match context.mark.kind {
        MarkKind::OddCharacter { found } => {
            let message = format!("There is {} here.", called(found));
            let finding = context.report_spelling(&RULE, message);
            (found, finding.note("It looks like a plain character but is another, so searching and comparing miss it. Write the plain one."))
        }
        MarkKind::HiddenCharacter { found, more } => {
            let more = match more {
                0 => String::new(),
                1 => ", and one more invisible character on this line".to_owned(),
                more => format!(", and {more} more invisible characters on this line"),
            };
            let message = format!("There is {} here{more}.", called(found));
            let mut finding = context.report(&RULE, message);
            for fix in &mut finding.fixes {
                *fix = fix
                    .clone()
                    .titled("remove the invisible characters on this line");
            }
            (found, finding.note(why(found)))
        }
        _ => return None,
    };
    if Hidden::of(found).is_some_and(Hidden::misleads) {
        return Some(finding.severity(Severity::Error).locked());
    }
    Some(finding)
}

/// What is wrong with a character that cannot be seen.
fn why(found: char) -> &'static str {
    match Hidden::of(found) {
        Some(Hidden::Direction) => {
            "The text after it may be displayed in another order than it is written, so a person reads something different from the computer. Remove it, and read the line again."
        }
        Some(Hidden::Control) => {
            "It controls a screen or a printer, or ends a line for some programs only: what is displayed is not what is written. Remove it."
        }
        Some(Hidden::Tag) => "Such characters spell text that nobody can see. Remove them.",
        Some(Hidden::Meaningless) => {
            "It has no standard meaning: another computer displays something else, or nothing. Write what is meant."
        }
        Some(Hidden::Invisible) | None => {
            "It cannot be seen, so searching and comparing miss what is written here. Remove it."
        }
    }
}

/// What a character is called, for those that cannot be seen.
fn called(found: char) -> String {
    let code = u32::from(found);
    let name = match found {
        '\u{a0}' => "a no-break space",
        '\u{2007}' => "a figure space",
        '\u{2009}' => "a thin space",
        '\u{202f}' => "a narrow no-break space",
        '\u{200b}' => "a zero-width space",
        '\u{200c}' | '\u{200d}' | '\u{2060}' => "a zero-width joiner",
        '\u{ad}' => "a soft hyphen",
        '\u{feff}' => "a byte-order mark inside the file",
        '\u{fe00}'..='\u{fe0f}' | '\u{e0100}'..='\u{e01ef}' => "a variation selector",
        '\u{b}' => "a vertical tab",
        '\u{c}' => "a form feed",
        '\u{8}' => "a backspace",
        '\u{1b}' => "an escape",
        '\u{85}' | '\u{2028}' | '\u{2029}' => "a line ending that few programs recognise",
        '\u{2018}' | '\u{2019}' | '\u{201c}' | '\u{201d}' => "a curly quote",
        '\u{2010}' | '\u{2011}' => "a typographic hyphen",
        '\u{2012}'..='\u{2015}' => "a typographic dash",
        '\u{2212}' => "a typographic minus",
        '\u{ff10}'..='\u{ff19}' => "a full-width digit",
        _ if found.is_whitespace() => "an unusual space",
        _ => match Hidden::of(found) {
            Some(Hidden::Direction) => "a character that changes the direction of writing",
            Some(Hidden::Control) => "a control character",
            Some(Hidden::Tag) => "a tag character",
            Some(Hidden::Meaningless) => "a character without a standard meaning",
            Some(Hidden::Invisible) => "an invisible character",
            None => return format!("the character `{found}` (U+{code:04X})"),
        },
    };
    format!("{name} (U+{code:04X})")
}

#[cfg(test)]
mod tests {
    use gutta_protocol::{House, Workspace};

    use super::RULE;
    use crate::{Finding, Options, Severity, check};

    /// Only hidden characters are told of here, each as `line:byte severity`,
    /// since a caret below them would point at nothing.
    fn found(text: &str) -> Vec<String> {
        let workspace = Workspace::new(vec![("a.gtt", text)], House::default());
        let findings = check(&workspace, None, &Options::default());
        let own = findings
            .iter()
            .filter(|finding| finding.rule.name == RULE.name);
        let told = |finding: &Finding| {
            let line = workspace.line_of(finding.place);
            let start = finding.place.span.start as usize;
            let column = start - text[..start].rfind('\n').map_or(0, |at| at + 1);
            assert_eq!(finding.locked, finding.severity == Severity::Error);
            assert!(finding.fixes.iter().all(|fix| !fix.spelling), "{finding:?}");
            format!(
                "{line}:{column} {} {}",
                finding.severity.word(),
                finding.message
            )
        };
        own.map(told).collect()
    }

    #[test]
    fn what_turns_the_direction_is_an_error_wherever_it_stands() {
        let text = "# one \u{202e} two\nuse \"a\u{2066}.gtt\"\narea ward \"W\u{200f}\"\n  # \u{61c}\norder a \"A\"\n  monitor    \"\u{202a}x\u{202c}\u{202c}\"\n";
        assert_eq!(
            found(text),
            [
                "1:6 error There is a character that changes the direction of writing (U+202E) here.",
                "2:6 error There is a character that changes the direction of writing (U+2066) here.",
                "3:12 error There is a character that changes the direction of writing (U+200F) here.",
                "4:4 error There is a character that changes the direction of writing (U+061C) here.",
                "6:14 error There is a character that changes the direction of writing (U+202A) here, and 2 more invisible characters on this line.",
            ]
        );
    }

    #[test]
    fn controls_and_tags_are_errors_and_the_rest_warnings() {
        let error = [
            "\u{1b}",
            "\u{8}",
            "\u{b}",
            "\u{7f}",
            "\u{9b}",
            "\u{85}",
            "\u{2028}",
            "\u{e0041}",
        ];
        let warning = [
            "\u{200b}", "\u{200d}", "\u{ad}", "\u{feff}", "\u{fe0f}", "\u{2060}", "\u{3164}",
            "\u{ffff}", "\u{fdd0}", "\u{e000}",
        ];
        let all = error.map(|c| (c, "error")).into_iter();
        for (c, severity) in all.chain(warning.map(|c| (c, "warning"))) {
            for text in [
                format!("area ward \"W{c}W\"\n"),
                format!("area ward \"W\" # W{c}W\n"),
            ] {
                let found = found(&text);
                assert_eq!(found.len(), 1, "{text:?}");
                assert!(found[0].contains(severity), "{text:?}: {found:?}");
            }
        }
    }

    #[test]
    fn letters_of_every_script_stay_in_peace() {
        let text = "\u{feff}# \u{645}\u{6cc}\u{200c}\u{62e}\u{648}\u{627}\u{647}\u{645} \u{26a0}\u{fe0f}\narea ward \"\u{5e9}\u{5dc}\u{5d5}\u{5dd} \u{6f22}\u{5b57} e\u{301} \u{a0}\"\n";
        assert_eq!(found(text), [""; 0]);
    }

    #[test]
    fn a_byte_order_mark_begins_a_file_and_no_stanza() {
        let text = "\u{feff}area ward \"W\"\n\u{feff}area other \"O\"\n";
        let told = "2:0 warning There is a byte-order mark inside the file (U+FEFF) here.";
        assert_eq!(found(text), [told]);
        let mut workspace = Workspace::new(vec![("a.gtt", &text[3..])], House::default());
        workspace.edit_file(
            gutta_protocol::FileId(0),
            gutta_notation::Span::new(0, 0),
            "\u{feff}",
        );
        let marks = |id| workspace.stanza(id).marks.len();
        let ids: Vec<_> = workspace.stanzas_in(gutta_protocol::FileId(0)).collect();
        assert_eq!(ids.into_iter().map(marks).collect::<Vec<_>>(), [0, 1]);
    }

    #[test]
    fn the_correction_leaves_out_all_that_is_hidden_on_the_line() {
        let text = "area ward \"W\u{202e}a\u{200b}\u{200b}r\u{ad}d\"\n";
        let workspace = Workspace::new(vec![("a.gtt", text)], House::default());
        let findings = check(&workspace, None, &Options::default());
        let fix = findings.iter().find_map(|finding| finding.fixes.first());
        let fixed = crate::fixes::apply(text, &[fix.expect("a correction")]);
        assert_eq!(fixed, "area ward \"Ward\"\n");
    }

    #[test]
    fn what_is_said_shows_what_was_hidden() {
        let text = "order a \"A\"\n  rn\u{202e}x 5 mL\n";
        let workspace = Workspace::new(vec![("a.gtt", text)], House::default());
        let findings = check(&workspace, None, &Options::default());
        assert!(
            findings
                .iter()
                .any(|found| found.message.contains("rn<U+202E>x"))
        );
    }
}

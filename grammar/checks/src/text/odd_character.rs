#![doc = include_str!("odd_character.md")]

use gutta_notation::MarkKind;

use crate::{Check, Finding, MarkContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "text.odd-character",
    severity: Severity::Warning,
    locked: false,
    page: include_str!("odd_character.md"),
    check: Check::Mark(check),
};

fn check(context: &MarkContext<'_>) -> Option<Finding> {
    let MarkKind::OddCharacter { found } = context.mark.kind else {
        return None;
    };
    Some(
        context
            .report_spelling(
                &RULE,
                format!("Here stands {}.", called(found)),
            )
            .note("It looks like a plain character and is another, so that searching and comparing miss it. Write the plain one."),
    )
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
        '\u{c}' => "a form feed",
        '\u{2018}' | '\u{2019}' | '\u{201c}' | '\u{201d}' => "a curly quote",
        '\u{2010}' | '\u{2011}' => "a typographic hyphen",
        '\u{2012}'..='\u{2015}' => "a typographic dash",
        '\u{2212}' => "a typographic minus",
        '\u{ff10}'..='\u{ff19}' => "a full-width digit",
        _ if found.is_whitespace() || found.is_control() => "an unusual space",
        _ => return format!("the character `{found}` (U+{code:04X})"),
    };
    format!("{name} (U+{code:04X})")
}

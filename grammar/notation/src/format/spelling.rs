//! The house's spelling, where it changes neither value nor unit.

use gutta_quantity::Atom;

use crate::{Edit, Mark, MarkKind, Micro, Phrase, Style};

/// The one correction of a mark that the formatter may make: the grouping of
/// digits, and a unit's word.
pub(super) fn correction(mark: &Mark) -> Option<&Edit> {
    let spelling = matches!(
        mark.kind,
        MarkKind::Thousands | MarkKind::Phrase(Phrase::Spelling)
    );
    match mark.fixes.as_slice() {
        [edit] if spelling => Some(edit),
        _ => None,
    }
}

/// The line with the units that may be spelt in two ways as the house spells
/// them: behind a number, and what a drug is `dosed in`.
pub(super) fn units(line: &str, style: Style) -> String {
    let mut out = String::with_capacity(line.len());
    let mut before = "";
    let mut two_before = "";
    for (index, part) in parts(line).enumerate() {
        if index > 0 {
            out.push(' ');
        }
        let after_number = is_number(before);
        let dosed = before == "in" && two_before == "dosed";
        if after_number || dosed {
            unit(part, before == "1", style, &mut out);
        } else {
            out.push_str(part);
        }
        if !part.is_empty() {
            (two_before, before) = (before, part);
        }
    }
    out
}

/// The line parted at the blanks outside its quoted texts.
fn parts(line: &str) -> impl Iterator<Item = &str> {
    let mut quoted = false;
    line.split(move |c| {
        quoted ^= c == '"';
        c == ' ' && !quoted
    })
}

fn is_number(word: &str) -> bool {
    word.starts_with(|c: char| c.is_ascii_digit())
        && word
            .bytes()
            .all(|byte| byte.is_ascii_digit() || matches!(byte, b'.' | b','))
        && !word.ends_with(',')
}

/// `one`: whether it stands after 1.
fn unit(word: &str, one: bool, style: Style, out: &mut String) {
    let bare = word.trim_end_matches([',', ':', ';']);
    for (place, part) in bare.split('/').enumerate() {
        if place > 0 {
            out.push('/');
        }
        // Both numbers are right after 1, and stay as they are.
        let other = match (part, style.micro) {
            ("microgram" | "micrograms", Micro::Mcg) | ("mcg", Micro::Micrograms) => Atom::Mcg,
            ("nanogram" | "nanograms", Micro::Mcg) | ("ng", Micro::Micrograms) => Atom::Ng,
            ("litre" | "litres", _) => Atom::L,
            ("hour" | "hours", _) => Atom::H,
            ("minute" | "minutes", _) => Atom::Min,
            (part, _) => {
                out.push_str(part);
                continue;
            }
        };
        out.push_str(if one || place > 0 {
            style.atom_after_one(other)
        } else {
            style.atom(other)
        });
    }
    out.push_str(&word[bare.len()..]);
}

//! Whether a correction of spelling leaves the numbers of the text what they
//! were: a zero that a number is padded with may come or go, and nothing else.

use crate::Fix;

/// `q.d.` is the one word that says a number.
const DAILY: &str = "every 24 h";

/// Whether the lines that the fix touches hold the same numbers without it
/// and with it, in whatever order.
pub(super) fn kept(text: &str, fix: &Fix) -> bool {
    let mut edits: Vec<_> = fix.edits.iter().collect();
    edits.sort_by_key(|edit| edit.place.span);
    let (Some(first), Some(last)) = (edits.first(), edits.last()) else {
        return true;
    };
    let (start, end) = (
        first.place.span.start as usize,
        last.place.span.end as usize,
    );
    let (Some(above), Some(below)) = (text.get(..start), text.get(end..)) else {
        return false;
    };
    let from = above.rfind(['\n', '\r']).map_or(0, |at| at + 1);
    let to = below.find(['\n', '\r']).map_or(text.len(), |at| end + at);
    let mut fixed = String::new();
    let mut at = from;
    for edit in &edits {
        let span = edit.place.span;
        fixed.push_str(text.get(at..span.start as usize).unwrap_or(""));
        fixed.push_str(if edit.text == DAILY {
            "every day"
        } else {
            &edit.text
        });
        at = span.end as usize;
    }
    fixed.push_str(text.get(at..to).unwrap_or(""));
    numbers(text.get(from..to).unwrap_or("")) == numbers(&fixed)
}

/// The numbers of a text without what they are padded and grouped with,
/// sorted.
pub(super) fn numbers(text: &str) -> Vec<(String, String)> {
    let plain: Vec<char> = text.chars().filter_map(plain).collect();
    let digit = |at: usize| plain.get(at).is_some_and(char::is_ascii_digit);
    let mut found = Vec::new();
    let mut at = 0;
    while at < plain.len() {
        let begins = digit(at) || (plain[at] == '.' && digit(at + 1));
        if !begins {
            at += 1;
            continue;
        }
        // `m2`, `cm3`, `glucose5`: no number.
        let counts = at == 0 || !plain[at - 1].is_alphabetic();
        let (mut whole, mut fraction) = (String::new(), String::new());
        loop {
            while digit(at) {
                whole.push(plain[at]);
                at += 1;
            }
            let group = (1..4).all(|next| digit(at + next)) && !digit(at + 4);
            let parted = matches!(plain.get(at), Some(',' | ' '));
            if !(parted && group && !whole.is_empty()) {
                break;
            }
            at += 1;
        }
        if plain.get(at) == Some(&'.') && digit(at + 1) {
            at += 1;
            while digit(at) {
                fraction.push(plain[at]);
                at += 1;
            }
        }
        if counts {
            let whole = whole.trim_start_matches('0').to_owned();
            let fraction = fraction.trim_end_matches('0').to_owned();
            found.push((whole, fraction));
        }
    }
    found.sort_unstable();
    found
}

/// A character as it is read; none for one that nobody sees.
fn plain(found: char) -> Option<char> {
    match found {
        '\u{ad}' | '\u{200b}'..='\u{200f}' | '\u{2060}' | '\u{feff}' => None,
        '\u{ff01}'..='\u{ff5e}' => char::from_u32(u32::from(found) - 0xfee0),
        _ if !matches!(found, '\n' | '\r') && found.is_whitespace() => Some(' '),
        _ => Some(found),
    }
}

#[cfg(test)]
mod tests {
    use gutta_notation::Span;
    use gutta_protocol::{FileId, Place};

    use super::kept;
    use crate::Fix;

    /// Whether the numbers of a line are kept where `old` becomes `new`.
    fn keeps(line: &str, old: &str, new: &str) -> bool {
        let start = u32::try_from(line.find(old).unwrap()).unwrap();
        let span = Span::new(start, start + u32::try_from(old.len()).unwrap());
        let place = Place {
            file: FileId(0),
            span,
        };
        kept(line, &Fix::replace(place, new))
    }

    #[test]
    fn padding_and_grouping_may_change() {
        for (line, old, new) in [
            ("run 1 mL at .5 mL/h", ".5", "0.5"),
            ("mix 5.0 mg", ".0", ""),
            ("mix 5.50 mg", "50", "5"),
            ("mix 10000 units", "10000", "10,000"),
            ("mix 10,000 units", "10,000", "10 000"),
            ("mix 5mg", "5mg", "5 mg"),
            ("dose 5 mg/m\u{b2}", "m\u{b2}", "m2"),
            ("run all q.d.", "q.d.", "every 24 h"),
            ("mix \u{ff15} mg", "\u{ff15}", "5"),
            (
                "run at 5 mg/h every 4 h, at most 6 mg/h",
                "at 5 mg/h every 4 h, at most 6 mg/h",
                "at 5 mg/h, at most 6 mg/h every 4 h",
            ),
        ] {
            assert!(keeps(line, old, new), "{line}: {old} to {new}");
        }
    }

    #[test]
    fn a_digit_may_not() {
        for (line, old, new) in [
            ("usual dose 0.01 to0.5 mcg", " mcg", " 0 mcg"),
            ("drops 20 per mL", "mL", "0mL"),
            ("mix 50 mg", "50", "5"),
            ("mix 5 mg", "5", "50"),
            ("mix 5 mg", "5", "6"),
            ("mix 1.05 mg", "1.05", "1.5"),
            ("run 0.5 mL", "0.5", "5"),
        ] {
            assert!(!keeps(line, old, new), "{line}: {old} to {new}");
        }
    }
}

//! Characters that cannot be seen, or that make others look otherwise than
//! they stand: what is found in a stanza, and how a text is shown that may
//! hold them. Both ask the same function, so that nothing is shown as it is
//! that is not found, and nothing found that is then shown as it is.

use std::borrow::Cow;

use icu_properties::props::{
    BidiControl, DefaultIgnorableCodePoint, ExtendedPictographic, GeneralCategory,
    NoncharacterCodePoint,
};
use icu_properties::{CodePointMapData, CodePointSetData};
use unicode_script::{Script, UnicodeScript};

use crate::scan::next_line;
use crate::{Edit, Mark, MarkKind, Span};

/// What a hidden character is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Hidden {
    /// Has no meaning of its own: for private use, or no character at all.
    Meaningless,
    /// Takes no room, or looks like a blank.
    Invisible,
    /// Spells text that nobody sees.
    Tag,
    /// Steers a terminal or a printer, or ends a line for some readers alone.
    Control,
    /// Turns the direction of writing: what is read is not what is seen.
    Direction,
}

impl Hidden {
    /// Whether it can make a reader see something else than what stands there.
    #[must_use]
    pub const fn misleads(self) -> bool {
        matches!(self, Self::Tag | Self::Control | Self::Direction)
    }

    /// What the character is, wherever it stands; `None` for one that is seen.
    /// Tab, line feed and carriage return are not hidden.
    #[must_use]
    pub fn of(c: char) -> Option<Self> {
        if matches!(c, ' '..='~' | '\t' | '\n' | '\r') {
            return None;
        }
        if CodePointSetData::new::<BidiControl>().contains(c) {
            return Some(Self::Direction);
        }
        if matches!(c, '\u{e0000}'..='\u{e007f}') {
            return Some(Self::Tag);
        }
        if CodePointSetData::new::<NoncharacterCodePoint>().contains(c) {
            return Some(Self::Meaningless);
        }
        // The last two: annotations between lines, and Braille's blank.
        let ignorable = CodePointSetData::new::<DefaultIgnorableCodePoint>().contains(c)
            || matches!(c, '\u{fff9}'..='\u{fffb}' | '\u{2800}');
        if ignorable {
            return Some(Self::Invisible);
        }
        match CodePointMapData::<GeneralCategory>::new().get(c) {
            GeneralCategory::Control
            | GeneralCategory::LineSeparator
            | GeneralCategory::ParagraphSeparator => Some(Self::Control),
            GeneralCategory::PrivateUse => Some(Self::Meaningless),
            _ => None,
        }
    }
}

/// The hidden characters of a text, with the byte at which each begins. One
/// that spelling needs where it stands is none: a joiner between letters of a
/// script that joins, what chooses the look of an emoji or an ideograph.
pub fn hidden(text: &str) -> impl Iterator<Item = (usize, char, Hidden)> + '_ {
    let mut before = None;
    let mut chars = text.char_indices().peekable();
    std::iter::from_fn(move || {
        loop {
            let (at, c) = chars.next()?;
            let last = before.replace(c);
            if let Some(kind) = Hidden::of(c)
                && !is_needed(last, c, chars.peek().map(|(_, after)| *after))
            {
                return Some((at, c, kind));
            }
        }
    })
}

/// Whether spelling needs an invisible character between its neighbours.
fn is_needed(before: Option<char>, c: char, after: Option<char>) -> bool {
    let Some(before) = before else { return false };
    let script = before.script();
    let pictograph = |c: char| CodePointSetData::new::<ExtendedPictographic>().contains(c);
    match c {
        '\u{200c}' | '\u{200d}' if joins(script) => {
            after.is_some_and(|after| joins(after.script()))
        }
        '\u{200d}' => {
            let drawn =
                pictograph(before) || matches!(before, '\u{fe0f}' | '\u{1f3fb}'..='\u{1f3ff}');
            drawn && after.is_some_and(pictograph)
        }
        '\u{fe0e}' | '\u{fe0f}' => pictograph(before),
        '\u{fe00}'..='\u{fe0d}' | '\u{e0100}'..='\u{e01ef}' => script == Script::Han,
        '\u{180b}'..='\u{180f}' => script == Script::Mongolian,
        '\u{115f}' | '\u{1160}' => script == Script::Hangul,
        _ => false,
    }
}

/// Whether letters of the script are joined, or kept from it, by a joiner.
const fn joins(script: Script) -> bool {
    matches!(
        script,
        Script::Arabic
            | Script::Syriac
            | Script::Nko
            | Script::Mongolian
            | Script::Devanagari
            | Script::Bengali
            | Script::Gurmukhi
            | Script::Gujarati
            | Script::Oriya
            | Script::Tamil
            | Script::Telugu
            | Script::Kannada
            | Script::Malayalam
            | Script::Sinhala
            | Script::Khmer
            | Script::Myanmar
    )
}

/// How a hidden character is shown: `<U+202E>`.
#[must_use]
pub fn code(c: char) -> String {
    format!("<U+{:04X}>", u32::from(c))
}

/// The text with every hidden character shown by its [`code`]. Tabs and line
/// ends stay; a carriage return that ends no line is shown too.
#[must_use]
pub fn visible(text: &str) -> Cow<'_, str> {
    let stray = |at: usize| !matches!(text.as_bytes().get(at + 1), Some(b'\n'));
    shown(text, |at, c| c == '\r' && stray(at))
}

/// The same on one line: whatever would end it is shown, and a tab is a blank.
#[must_use]
pub fn visible_line(text: &str) -> Cow<'_, str> {
    match shown(text, |_, c| matches!(c, '\n' | '\r')) {
        shown if shown.contains('\t') => shown.replace('\t', " ").into(),
        shown => shown,
    }
}

/// How many bytes the first `length` of a line take when it is [`visible`].
#[must_use]
pub fn shown_length(text: &str, length: usize) -> usize {
    let before = hidden(text).take_while(|(at, ..)| *at < length);
    let more = before.map(|(_, c, _)| code(c).len() - c.len_utf8());
    length + more.sum::<usize>()
}

fn shown(text: &str, also: impl Fn(usize, char) -> bool) -> Cow<'_, str> {
    if text.bytes().all(|byte| matches!(byte, b' '..=b'~')) {
        return text.into();
    }
    let ends = text.char_indices().filter(|(at, c)| also(*at, *c));
    let mut found: Vec<_> = hidden(text).map(|(at, c, _)| (at, c)).chain(ends).collect();
    if found.is_empty() {
        return text.into();
    }
    found.sort_unstable();
    let mut out = String::with_capacity(text.len() + 8 * found.len());
    let mut from = 0;
    for (at, c) in found {
        out.push_str(text.get(from..at).unwrap_or(""));
        out.push_str(&code(c));
        from = at + c.len_utf8();
    }
    out.push_str(text.get(from..).unwrap_or(""));
    out.into()
}

/// Marks what is hidden in a stanza, comments and texts too: once a line, at
/// the worst of what stands there. What reading has marked stays as it is.
pub(crate) fn mark_hidden(text: &str, marks: &mut Vec<Mark>) {
    let plain = |byte: u8| matches!(byte, b' '..=b'~' | b'\n' | b'\r' | b'\t');
    if text.bytes().all(plain) {
        return;
    }
    let odd = |mark: &&Mark| matches!(mark.kind, MarkKind::OddCharacter { .. });
    let mut known: Vec<_> = marks
        .iter()
        .filter(odd)
        .map(|mark| mark.span.start)
        .collect();
    known.sort_unstable();
    let mut at = 0;
    while at < text.len() {
        let start = at;
        at = next_line(text.as_bytes(), start);
        let line = text.get(start..at).unwrap_or("");
        // A byte-order mark begins a file.
        let own = hidden(line)
            .map(|(offset, c, kind)| (start + offset, c, kind))
            .filter(|(place, c, _)| *place > 0 || *c != '\u{feff}')
            .filter(|(place, ..)| known.binary_search(&len32(*place)).is_err());
        let own: Vec<_> = own.collect();
        marks.extend(mark(text, &own));
    }
}

/// Marks a byte-order mark with which a stanza's text begins, where that is not
/// the file's.
pub(crate) fn mark_inner_order(text: &str, marks: &mut Vec<Mark>) {
    if text.starts_with('\u{feff}') {
        let own = [(0, '\u{feff}', Hidden::Invisible)];
        if let Some(mark) = mark(text, &own) {
            marks.insert(0, mark);
        }
    }
}

/// The mark of a line's hidden characters; its correction leaves them out.
fn mark(text: &str, own: &[(usize, char, Hidden)]) -> Option<Mark> {
    let (first, last) = (own.first()?, own.last()?);
    let worst = own.iter().rev().max_by_key(|(.., kind)| *kind)?;
    let end = last.0 + last.1.len_utf8();
    let kept = text.get(first.0..end)?.char_indices();
    let kept = kept.filter(|(offset, _)| {
        let place = first.0 + offset;
        own.binary_search_by_key(&place, |(at, ..)| *at).is_err()
    });
    let without = Edit {
        span: Span::new(len32(first.0), len32(end)),
        text: kept.map(|(_, c)| c).collect(),
    };
    Some(Mark {
        kind: MarkKind::HiddenCharacter {
            found: worst.1,
            more: own.len() - 1,
        },
        span: Span::new(len32(worst.0), len32(worst.0 + worst.1.len_utf8())),
        fixes: vec![without],
    })
}

fn len32(length: usize) -> u32 {
    u32::try_from(length).unwrap_or(u32::MAX)
}

#[cfg(test)]
mod tests {
    use super::{Hidden, hidden, shown_length, visible, visible_line};

    #[test]
    fn what_cannot_be_seen_is_shown() {
        assert_eq!(visible("a\u{202e}b\u{1b}[31m"), "a<U+202E>b<U+001B>[31m");
        assert_eq!(
            visible("\u{e0041}\u{200b}\u{feff}"),
            "<U+E0041><U+200B><U+FEFF>"
        );
        assert_eq!(
            visible("\u{85}\u{2028}\u{ffff}\u{f8ff}"),
            "<U+0085><U+2028><U+FFFF><U+F8FF>"
        );
        assert_eq!(visible("a\tb\r\nc\rd\n"), "a\tb\r\nc<U+000D>d\n");
        assert_eq!(visible_line("a\tb\r\nc"), "a b<U+000D><U+000A>c");
        let lengths = [0, 1, 4, 5].map(|length| shown_length("a\u{202e}b", length));
        assert_eq!(lengths, [0, 1, 9, 10]);
    }

    #[test]
    fn what_is_shown_once_stays() {
        for c in (0..=0x0010_ffff).filter_map(char::from_u32) {
            let text = format!("a{c}b");
            let once = visible(&text);
            assert_eq!(hidden(&once).next(), None, "{text:?}");
            assert_eq!(
                Hidden::of(c).is_some() || c == '\r',
                once != text || c == '\r',
                "{text:?}"
            );
        }
    }

    #[test]
    fn letters_of_every_script_stay_in_peace() {
        let texts = [
            "na\u{ef}ve \u{e9}e\u{301} \u{6f22}\u{5b57} \u{5e9}\u{5dc}\u{5d5}\u{5dd}",
            "\u{645}\u{6cc}\u{200c}\u{62e}\u{648}\u{627}\u{647}\u{645}",
            "\u{915}\u{94d}\u{200d}\u{937} \u{26a0}\u{fe0f} \u{1f469}\u{200d}\u{2695}\u{fe0f}",
            "\u{845b}\u{e0100} 5\u{a0}mL \u{2013} \u{b5}g",
        ];
        for text in texts {
            assert_eq!(hidden(text).next(), None, "{text}");
        }
        // The same characters where no spelling needs them.
        for text in [
            "a\u{200d}b",
            "5\u{fe0f}",
            "a\u{e0100}\u{e0101}",
            "\u{26a0}\u{fe0f}\u{fe0f}",
        ] {
            assert!(hidden(text).next().is_some(), "{text:?}");
        }
    }
}

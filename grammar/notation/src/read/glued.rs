//! A number run together with what is no unit: a word of the notation
//! (`40to150 kg`), or a dash (`3- mg`).

use super::Reader;
use crate::{Edit, Span, Why, Written, WrittenUnit};

/// The words of the notation that may follow a number.
const WORDS: &[&str] = &[
    "to", "of", "over", "at", "every", "with", "made", "added", "in", "by", "for", "per", "or",
    "aged", "as", "after", "except", "because", "until", "counted", "each", "then",
];

/// What a number was run together with.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Glued<'a> {
    /// A word of the notation: number, word, and what follows it at once.
    Word(&'a str, &'a str, &'a str),
    /// A dash with nothing behind it to be a range with.
    Dash(&'a str),
}

/// What stands behind `number` without a blank, if it is no unit.
pub(super) fn judge<'a>(number: &'a str, behind: &'a str) -> Option<Glued<'a>> {
    if behind.starts_with('-') {
        return Some(Glued::Dash(number));
    }
    let length = behind
        .find(|c: char| !c.is_ascii_lowercase())
        .unwrap_or(behind.len());
    let (word, rest) = behind.split_at(length);
    let ends = rest.is_empty() || rest.starts_with(|c: char| c.is_ascii_digit() || c == '.');
    (ends && WORDS.contains(&word)).then_some(Glued::Word(number, word, rest))
}

impl Reader<'_> {
    /// Says so; no value is read.
    pub(super) fn glued(&mut self, glued: Glued<'_>, span: Span) -> Written {
        let (why, fixes) = match glued {
            Glued::Word(number, word, rest) => {
                let text = format!("{number} {word} {rest}").trim_end().to_owned();
                let why = format!(
                    "In `{number}{word}{rest}` a number runs into the word `{word}`. Write `{text}`."
                );
                (why, vec![Edit { span, text }])
            }
            Glued::Dash(number) => {
                let why = format!(
                    "There is a dash after `{number}`, which can be read as a minus or overlooked. Remove it, or write both ends of a range with `to` between them."
                );
                (why, Vec::new())
            }
        };
        self.unreadable(span, Vec::new(), Some(Why::Other(why)), fixes);
        Written {
            value: None,
            decimals: 0,
            unit: WrittenUnit::Unknown,
            span,
            unit_span: Span::new(span.end, span.end),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{Glued, judge};

    #[test]
    fn words_and_dashes_but_no_units() {
        assert_eq!(judge("40", "to150"), Some(Glued::Word("40", "to", "150")));
        assert_eq!(judge("20", "per"), Some(Glued::Word("20", "per", "")));
        assert_eq!(judge("3", "-"), Some(Glued::Dash("3")));
        for unit in ["mg", "min", "mcg/kg/min", "h", "total", "ton", "mL2"] {
            assert_eq!(judge("5", unit), None, "{unit}");
        }
    }
}

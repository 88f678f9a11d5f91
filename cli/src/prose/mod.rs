//! Running text for the terminal: wrapped to its width, in its colours, and
//! never with a number parted from its unit.

mod page;

use textwrap::{Options, WordSeparator, WordSplitter};

/// Stands for a blank at which no line may end; of the private-use area, so
/// that it stands for nothing else.
const BOUND: char = '\u{f8ff}';

/// The colours, of the palette of 256 that every terminal fixes. Each is apart
/// from white and from black alike, by 4 to 1 or more (relative luminance as
/// in WCAG 2.1): the first sixteen are the terminal's own, and yellow or cyan
/// among them cannot be read on a white ground.
pub(crate) mod ink {
    /// Errors.
    pub(crate) const RED: u8 = 196;
    /// Warnings.
    pub(crate) const AMBER: u8 = 130;
    /// Information, and what stands beside.
    pub(crate) const TEAL: u8 = 30;
    /// Hints.
    pub(crate) const GREEN: u8 = 28;
    /// Lines, numbers and asides.
    pub(crate) const GREY: u8 = 243;
}

/// How running text is set.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Prose {
    colour: bool,
    width: usize,
}

impl Prose {
    /// Text in `width` columns.
    pub(crate) const fn new(colour: bool, width: usize) -> Self {
        Self { colour, width }
    }

    /// Whether it is coloured.
    pub(crate) const fn coloured(&self) -> bool {
        self.colour
    }

    /// The text made bold.
    pub(crate) fn strong(&self, text: &str) -> String {
        self.styled("1", text)
    }

    /// The text made faint.
    pub(crate) fn faint(&self, text: &str) -> String {
        self.inked(ink::GREY, text)
    }

    /// What is not to be passed over.
    pub(crate) fn marked(&self, text: &str) -> String {
        self.inked(ink::RED, text)
    }

    /// Code inside running text.
    pub(crate) fn code(&self, text: &str) -> String {
        self.inked(ink::TEAL, text)
    }

    /// The word of a severity, in its colour.
    pub(crate) fn severity(&self, word: &str) -> String {
        let colour = match word {
            "error" => ink::RED,
            "warning" => ink::AMBER,
            "information" => ink::TEAL,
            _ => ink::GREEN,
        };
        self.inked(colour, word)
    }

    fn inked(&self, colour: u8, text: &str) -> String {
        self.styled(&format!("38;5;{colour}"), text)
    }

    fn styled(&self, style: &str, text: &str) -> String {
        if self.colour {
            format!("\x1b[{style}m{text}\x1b[0m")
        } else {
            text.to_owned()
        }
    }

    /// A paragraph, each line indented, with its line end.
    pub(crate) fn paragraph(&self, text: &str, indent: &str) -> String {
        self.hanging(text, indent, indent)
    }

    /// A paragraph whose first line is indented otherwise than the rest.
    pub(crate) fn hanging(&self, text: &str, first: &str, rest: &str) -> String {
        let mut set = wrap(text, self.width, first, rest);
        set.push('\n');
        set
    }
}

/// The text in lines of at most `width` columns, parted by line feeds.
pub(crate) fn wrap(text: &str, width: usize, first: &str, rest: &str) -> String {
    let options = Options::new(width)
        .initial_indent(first)
        .subsequent_indent(rest)
        .word_separator(WordSeparator::AsciiSpace)
        .word_splitter(WordSplitter::NoHyphenation)
        .break_words(true);
    let bound = bind(text);
    textwrap::fill(&bound, options).replace(BOUND, " ")
}

/// The text with no word longer than fits a message: what an author wrote may
/// be of any length.
pub(crate) fn curt(text: &str) -> String {
    const LONGEST: usize = 40;
    let mut out = String::with_capacity(text.len());
    let mut length = 0;
    for c in text.chars() {
        length = if c.is_whitespace() { 0 } else { length + 1 };
        if length <= LONGEST {
            out.push(c);
        } else if length == LONGEST + 1 {
            out.push('\u{2026}');
        }
    }
    out
}

/// The text with every blank between a number and its unit bound.
fn bind(text: &str) -> String {
    let words: Vec<&str> = text.split(' ').collect();
    let mut bound = String::with_capacity(text.len() + 16);
    for (index, word) in words.iter().enumerate() {
        if let Some(before) = index.checked_sub(1).and_then(|before| words.get(before)) {
            let number = before.ends_with(|c: char| c.is_ascii_digit());
            bound.push(if number && is_unit(word) { BOUND } else { ' ' });
        }
        bound.push_str(word);
    }
    bound
}

fn is_unit(word: &str) -> bool {
    const UNITS: [&str; 28] = [
        "kg",
        "g",
        "mg",
        "mcg",
        "ng",
        "mol",
        "mmol",
        "micromol",
        "mEq",
        "units",
        "unit",
        "milliunits",
        "L",
        "mL",
        "drops",
        "drop",
        "min",
        "h",
        "s",
        "days",
        "day",
        "m2",
        "mOsm",
        "kcal",
        "%",
        "micrograms",
        "weeks",
        "months",
    ];
    let atom = word
        .split('/')
        .next()
        .unwrap_or(word)
        .trim_end_matches(|c: char| c.is_ascii_punctuation() && c != '%');
    UNITS.contains(&atom)
}

#[cfg(test)]
mod tests {
    use super::{curt, wrap};

    #[test]
    fn no_word_is_endless() {
        let long = format!("`{}` has more than 12 digits", "7".repeat(400));
        let said = curt(&long);
        assert_eq!(
            said,
            format!("`{}\u{2026} has more than 12 digits", "7".repeat(39))
        );
        assert_eq!(curt("a usual sentence"), "a usual sentence");
    }

    #[test]
    fn a_number_keeps_its_unit() {
        let text = "the dose is 2.4 mcg/kg/min, above 2 mcg/kg/min";
        for width in 12..60 {
            for line in wrap(text, width, "", "").lines() {
                assert!(!line.ends_with("2.4"), "{width}: {line}");
                assert!(!line.starts_with("mcg"), "{width}: {line}");
            }
        }
    }
}

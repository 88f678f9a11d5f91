//! What stands in a quoted text: quantities, and forms that safe-writing lists
//! warn of. A text is printed at the bedside as it is, so the same eyes look at
//! it that look at a line: `number` and `unit` judge both.

use gutta_quantity::{Quantity, Unit};

use super::name::RISKY_NAMES;
use super::number::{self, Fault};
use super::source::len32;
use super::unit::{self, Remark};
use crate::{Edit, Mark, MarkKind, Span, Style};

/// What was found in a text.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct InText {
    /// Quantities, each with its place in the text.
    pub quantities: Vec<(Span, Quantity)>,
    /// Forms that have been misread, each with its place in the text and the
    /// safe form as its fix.
    pub marks: Vec<Mark>,
}

/// Words that are warned of, and what is written instead (ISMP, List of
/// Error-Prone Abbreviations, Symbols, and Dose Designations, 2021).
const RISKY_WORDS: &[(&str, &str)] = &[
    ("qd", "every 24 h"),
    ("q.d", "every 24 h"),
    ("QD", "every 24 h"),
    ("Q.D", "every 24 h"),
    ("qod", "every 48 h"),
    ("q.o.d", "every 48 h"),
    ("QOD", "every 48 h"),
    ("Q.O.D", "every 48 h"),
    ("SC", "subcutaneous"),
    ("SQ", "subcutaneous"),
];

/// Looks through a text.
#[must_use]
pub fn read_text(text: &str, style: Style) -> InText {
    let mut found = InText::default();
    let mut looking = Looking {
        text,
        style,
        pending: Vec::new(),
        found: &mut found,
    };
    let mut at = 0;
    while at < text.len() {
        at = looking.step(at);
    }
    found
}

struct Looking<'a> {
    text: &'a str,
    style: Style,
    /// Numbers that may share the unit of the next: `4 to 8 mg`.
    pending: Vec<(usize, usize)>,
    found: &'a mut InText,
}

impl Looking<'_> {
    /// Looks at what begins at `at`; where to go on.
    fn step(&mut self, at: usize) -> usize {
        let rest = self.text.get(at..).unwrap_or("");
        let Some(first) = rest.chars().next() else {
            return self.text.len();
        };
        let digit = |c: char| c.is_ascii_digit();
        let point = first == '.' && rest[1..].starts_with(digit);
        if digit(first) || point {
            return self.number(at);
        }
        if first.is_alphabetic() {
            let end = at + word_end(rest);
            self.word(at, end);
            return end;
        }
        if !matches!(first, ' ' | ',' | '-' | '\u{2013}') {
            self.pending.clear();
        }
        at + first.len_utf8()
    }

    fn word(&mut self, at: usize, end: usize) {
        let word = self.text.get(at..end).unwrap_or("");
        if !matches!(word, "to" | "and" | "or") {
            self.pending.clear();
        }
        let span = place(at, end);
        let bare = word.trim_end_matches('.');
        if let Some((_, safe)) = RISKY_WORDS.iter().find(|(risky, _)| *risky == bare) {
            self.risky(span, (*safe).to_owned());
            return;
        }
        // In small letters these are words or units.
        let short = bare.chars().any(char::is_uppercase);
        let name = bare.to_lowercase();
        let known = RISKY_NAMES.iter().find(|(risky, _)| *risky == name);
        if let Some((_, full)) = known.filter(|_| short) {
            let text = full.replace('-', " ");
            let edit = Edit {
                span: place(at, at + bare.len()),
                text,
            };
            self.mark(MarkKind::RiskyName { full }, edit.span, vec![edit]);
            return;
        }
        if bare.starts_with(['µ', 'μ'])
            && let Some(safe) = risky_unit(bare, self.style)
        {
            self.risky(place(at, at + bare.len()), safe);
        }
    }

    fn number(&mut self, at: usize) -> usize {
        let rest = self.text.get(at..).unwrap_or("");
        let mut length = number::end(rest);
        if let Some(dash) = rest.get(..length).and_then(|number| number.find('-')) {
            length = dash;
        }
        let blank = rest.get(length..).unwrap_or("").starts_with(' ');
        let trimmed = rest
            .get(..length)
            .unwrap_or("")
            .trim_end_matches(['.', ',']);
        if !blank && trimmed.len() < length {
            self.pending.clear();
            return at + length.max(1);
        }
        let (number, end) = (trimmed, at + trimmed.len());
        let from = at + length + usize::from(blank);
        let after = self.text.get(from..).unwrap_or("");
        let word = after.get(..unit_end(after)).unwrap_or("");
        let word = word.trim_end_matches('.');
        let verdict = unit::judge(word, self.style);
        let alone = word.is_empty() || trimmed.len() < length;
        let Some(unit) = verdict.unit.filter(|_| !alone) else {
            self.without_unit(at, end, number);
            return end.max(at + 1);
        };
        self.quantity((at, end), number, (from, from + word.len()), unit);
        if verdict.remark == Remark::Risky
            && let Some(safe) = verdict.safe
        {
            let gap = if blank { "" } else { " " };
            let edit = Edit {
                span: place(from, from + word.len()),
                text: format!("{gap}{safe}"),
            };
            self.mark(
                MarkKind::RiskyUnit { safe },
                place(at, from + word.len()),
                vec![edit],
            );
        } else if !blank && unit.top != Some(gutta_quantity::Atom::Percent) && !is_time(unit) {
            let edit = Edit {
                span: place(end, end),
                text: " ".to_owned(),
            };
            self.mark(MarkKind::NoSpace, place(at, from + word.len()), vec![edit]);
        }
        from + word.len()
    }

    /// A number that no unit follows: part of a range, a ratio, or no quantity
    /// at all (a section, a year).
    fn without_unit(&mut self, at: usize, end: usize, number: &str) {
        let verdict = number::judge(number, self.style.digit_groups);
        match verdict.fault {
            Some(Fault::Ratio(many)) if many >= 1_000 => {
                self.mark(MarkKind::RatioStrength, place(at, end), Vec::new());
            }
            _ => self.pending.push((at, end)),
        }
    }

    fn quantity(
        &mut self,
        (at, end): (usize, usize),
        number: &str,
        (_, unit_end): (usize, usize),
        unit: Unit,
    ) {
        self.judged(number, (at, end), unit_end, unit);
        for (at, end) in std::mem::take(&mut self.pending) {
            let number = self.text.get(at..end).unwrap_or("");
            self.judged(number, (at, end), end, unit);
        }
    }

    fn judged(&mut self, number: &str, (at, end): (usize, usize), to: usize, unit: Unit) {
        let verdict = number::judge(number, self.style.digit_groups);
        let span = place(at, end);
        if let Some(Fault::Comma) = verdict.fault {
            self.mark(MarkKind::DecimalComma, span, Vec::new());
        }
        let Some(value) = verdict.value else { return };
        self.found
            .quantities
            .push((place(at, to), Quantity::new(value, unit)));
        // Zeros of a laboratory's value say how exactly it was measured.
        let of_blood = unit.per[0] == Some(gutta_quantity::Atom::L);
        if let Some(from) = verdict.trailing_from.filter(|_| !of_blood) {
            let edit = Edit {
                span: place(at + from, end),
                text: String::new(),
            };
            self.mark(MarkKind::TrailingZero, span, vec![edit]);
        }
        if verdict.bare_point {
            let edit = Edit {
                span: place(at, at),
                text: "0".to_owned(),
            };
            self.mark(MarkKind::BarePoint, span, vec![edit]);
        }
        if let Some(text) = verdict.regrouped {
            self.mark(MarkKind::Thousands, span, vec![Edit { span, text }]);
        }
    }

    fn risky(&mut self, span: Span, safe: String) {
        let edit = Edit {
            span,
            text: safe.clone(),
        };
        self.mark(MarkKind::RiskyUnit { safe }, span, vec![edit]);
    }

    fn mark(&mut self, kind: MarkKind, span: Span, fixes: Vec<Edit>) {
        self.found.marks.push(Mark { kind, span, fixes });
    }
}

fn place(start: usize, end: usize) -> Span {
    Span::new(len32(start), len32(end))
}

fn is_time(unit: Unit) -> bool {
    unit.dimension() == gutta_quantity::Dimension::TIME
}

fn risky_unit(word: &str, style: Style) -> Option<String> {
    let verdict = unit::judge(word, style);
    verdict.safe.filter(|_| verdict.remark == Remark::Risky)
}

/// Where a word ends: at a blank, or at a sign that belongs to no word.
fn word_end(text: &str) -> usize {
    let part = |c: char| c.is_alphanumeric() || matches!(c, '.' | '/' | '%' | '²' | '³');
    text.find(|c: char| !part(c)).unwrap_or(text.len())
}

/// Where a unit ends: as a word does, or before `/50 mL`.
fn unit_end(text: &str) -> usize {
    let end = word_end(text);
    let word = text.get(..end).unwrap_or("");
    let number = word
        .match_indices('/')
        .find(|(at, _)| word[at + 1..].starts_with(|c: char| c.is_ascii_digit()));
    number.map_or(end, |(at, _)| at)
}

#[cfg(test)]
mod tests {
    use super::read_text;
    use crate::Style;

    fn marks(text: &str) -> String {
        let found = read_text(text, Style::USUAL).marks;
        let told = found.iter().map(|mark| {
            let fix = mark.fixes.first().map(|fix| fix.text.clone());
            let name = mark.kind.rule().trim_start_matches("text.");
            format!(
                "{name} `{}` {:?}",
                mark.span.text(text),
                fix.unwrap_or_default()
            )
        });
        told.collect::<Vec<_>>().join("; ")
    }

    fn quantities(text: &str) -> String {
        let found = read_text(text, Style::USUAL).quantities;
        let told = found
            .iter()
            .map(|(_, quantity)| Style::USUAL.quantity(quantity).to_string());
        told.collect::<Vec<_>>().join("; ")
    }

    #[test]
    fn every_warned_of_form() {
        assert_eq!(
            marks("Rescue 5.0 mg or .5 mg; 10U; 20 µg; 1,5 mL; 10000 units; MgSO4 qd"),
            "trailing-zero `5.0` \"\"; bare-point `.5` \"0\"; risky-unit `10U` \" units\"; \
             risky-unit `20 µg` \"mcg\"; decimal-comma `1,5` \"\"; \
             thousands `10000` \"10,000\"; risky-name `MgSO4` \"magnesium sulfate\"; \
             risky-unit `qd` \"every 24 h\""
        );
        assert_eq!(
            marks("5 µg/kg/min"),
            "risky-unit `5 µg/kg/min` \"mcg/kg/min\""
        );
        assert_eq!(marks("in µg/min"), "risky-unit `µg/min` \"mcg/min\"");
        assert_eq!(
            marks("4.0 to 8.0 mg"),
            "trailing-zero `8.0` \"\"; trailing-zero `4.0` \"\""
        );
        assert_eq!(marks("adrenaline 1:1000"), "ratio-strength `1:1000` \"\"");
        assert_eq!(marks("give SC."), "risky-unit `SC.` \"subcutaneous\"");
    }

    #[test]
    fn plain_words_and_numbers_are_left_alone() {
        for text in [
            "mean arterial pressure 65 mmHg or more",
            "Tarnwick formulary 2026, 2.10",
            "potassium 4.0 to 5.0 mmol/L",
            "1:1 nursing; every 4 h; 24h; at 12:30",
            "Glucose 5% in saline 0.9 %, 1,000 mL",
            "K2HPO4, vitamin B12, 3.0",
            "10 to 20 mg at 0.05 mcg/kg/min.",
            "the ms and the units",
        ] {
            assert_eq!(marks(text), "", "{text}");
        }
    }

    #[test]
    fn quantities_of_a_title() {
        assert_eq!(
            quantities("Noradrenaline 4 mg in 50 mL, start 0.5 mcg/kg/min"),
            "4 mg; 50 mL; 0.5 mcg/kg/min"
        );
        assert_eq!(
            quantities("Heparin 20,000 units/50 mL"),
            "20,000 units; 50 mL"
        );
        assert_eq!(
            quantities("0.02 to 0.5 mcg/kg/min"),
            "0.5 mcg/kg/min; 0.02 mcg/kg/min"
        );
        assert_eq!(quantities("10-20 mg"), "20 mg; 10 mg");
        assert_eq!(quantities("since 2026, 4 bags"), "");
    }
}

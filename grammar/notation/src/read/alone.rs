//! A quantity that stands in no line: of a command line, or of a setting.

use super::read;
use crate::ast::{Expect, Fact, Written};
use crate::style::Style;

/// The quantity that the text is, written as an order would write it; nothing
/// where it is anything else, or not written as the notation has it.
#[must_use]
pub fn read_quantity(text: &str) -> Option<Written> {
    if text.contains(|c: char| c.is_control() || c == '#' || c == '"') {
        return None;
    }
    let order = format!("order a\n  expect flow 1 mL/h at {text}\n");
    let file = read(&order, Style::default());
    let stanza = &file.stanzas.first()?.stanza;
    let [line] = stanza.lines.as_slice() else {
        return None;
    };
    let Fact::Expect(expect) = &line.fact else {
        return None;
    };
    match expect.as_ref() {
        Expect {
            at,
            per_day: false,
            phase: None,
            ..
        } if line.whole && stanza.marks.is_empty() => match at.as_slice() {
            [one] => Some(one.clone()),
            _ => None,
        },
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::read_quantity;

    #[test]
    fn one_quantity_and_nothing_else() {
        for text in ["70 kg", "1.8 m2", "0.1 mcg/kg/min"] {
            let read = read_quantity(text).and_then(|written| written.quantity());
            assert_eq!(
                read.map(|quantity| quantity.to_string()).as_deref(),
                Some(text)
            );
        }
        for text in [
            "",
            "70",
            "kg",
            "70 kg at 2 m2",
            "70 kg in first",
            "0,5 kg",
            "70 kg\n",
            "70 kg # so",
            "seventy kg",
            "07 kg",
        ] {
            assert_eq!(read_quantity(text), None, "{text:?}");
        }
    }
}

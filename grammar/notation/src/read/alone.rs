//! A quantity that stands in no line: of a command line, or of a setting.

use super::read;
use crate::Style;
use crate::ast::{Expect, Fact, Written};

/// The quantity that the text is, written as an order of the house would write
/// it; nothing
/// where it is anything else, or not written as the notation has it.
#[must_use]
pub fn read_quantity(text: &str, style: Style) -> Option<Written> {
    if text.contains(|c: char| c.is_control() || c == '#' || c == '"') {
        return None;
    }
    let order = format!("order a\n  expect flow 1 mL/h at {text}\n");
    let file = read(&order, style);
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
    use crate::{DigitGroups, Style};

    const HOUSE: Style = Style::USUAL;

    #[test]
    fn one_quantity_and_nothing_else() {
        for text in ["70 kg", "1.8 m2", "0.1 mcg/kg/min"] {
            let read = read_quantity(text, HOUSE).and_then(|written| written.quantity());
            assert_eq!(
                read.map(|quantity| HOUSE.quantity(&quantity).to_string())
                    .as_deref(),
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
            assert_eq!(read_quantity(text, HOUSE), None, "{text:?}");
        }
    }

    /// A comma may be a decimal one where thousands are parted by a blank.
    #[test]
    fn as_the_house_writes() {
        let spaced = Style {
            digit_groups: DigitGroups::Space,
            ..HOUSE
        };
        for (text, comma, space) in [
            ("12,345 units/h", true, false),
            ("12 345 units/h", false, true),
            ("2 micrograms/kg/min", true, true),
        ] {
            assert_eq!(read_quantity(text, HOUSE).is_some(), comma, "{text}");
            assert_eq!(read_quantity(text, spaced).is_some(), space, "{text}");
        }
    }
}

//! The project's own words, as a house would have written them.

use std::borrow::Cow;

use gutta_quantity::{Exact, Unit};

use crate::{DigitGroups, Micro, Style};

/// A text of the project's own (a rule's page, the reference, an example),
/// which is in the notation's usual style, as the house writes it: its groups
/// of digits, its micrograms and nanograms. Nothing that an author wrote is
/// brought into another style.
#[must_use]
pub fn in_style(text: &str, style: Style) -> Cow<'_, str> {
    if style == Style::USUAL {
        return Cow::Borrowed(text);
    }
    let mut out = String::with_capacity(text.len() + text.len() / 8);
    let mut rest = text;
    let mut after_one = false;
    while !rest.is_empty() {
        let begin = rest.find(is_of_word).unwrap_or(rest.len());
        let (between, from) = rest.split_at(begin);
        out.push_str(between);
        after_one &= between == " ";
        let end = from.find(|c| !is_of_word(c)).unwrap_or(from.len());
        let (word, behind) = from.split_at(end);
        let bare = word.trim_end_matches(['.', ',']);
        out.push_str(&self::word(bare, after_one, style));
        out.push_str(&word[bare.len()..]);
        after_one = word == "1";
        rest = behind;
    }
    Cow::Owned(out)
}

const fn is_of_word(c: char) -> bool {
    c.is_ascii_alphanumeric() || matches!(c, '.' | ',' | '/')
}

/// A number, a unit, or a number with its unit right behind it.
fn word(word: &str, after_one: bool, style: Style) -> Cow<'_, str> {
    let is_of_number = |c: char| c.is_ascii_digit() || matches!(c, '.' | ',');
    let end = word.find(|c| !is_of_number(c)).unwrap_or(word.len());
    let (number, unit) = word.split_at(end);
    let groups = is_grouped(number) && style.digit_groups != DigitGroups::Comma;
    let number = match groups {
        true => Cow::Owned(number.replace(',', &style.digit_groups.separator().to_string())),
        false => Cow::Borrowed(number),
    };
    match spelt(unit, after_one || number == "1", style) {
        Some(unit) => Cow::Owned(format!("{number}{unit}")),
        None if groups => Cow::Owned(format!("{number}{unit}")),
        None => Cow::Borrowed(word),
    }
}

/// Whether it is a number whose thousands are parted by commas.
fn is_grouped(number: &str) -> bool {
    let whole = number.split('.').next().unwrap_or("");
    let mut groups = whole.split(',');
    let first = groups.next().unwrap_or("");
    let begins = (1..=3).contains(&first.len()) && !first.starts_with('0');
    whole.contains(',') && begins && groups.all(|group| group.len() == 3)
}

/// The unit as the house spells it; none where the notation's own spelling is
/// the house's, or it is no unit.
fn spelt(text: &str, one: bool, style: Style) -> Option<String> {
    if style.micro == Micro::Mcg || !text.contains("mcg") && !text.contains("ng") {
        return None;
    }
    let unit = Unit::parse(text)?;
    let number = if one { Exact::ONE } else { Exact::ZERO };
    Some(style.unit_after(unit, &number))
}

#[cfg(test)]
mod tests {
    use super::in_style;
    use crate::{DigitGroups, Micro, Style};

    #[test]
    fn groups_and_spellings() {
        let spaced = Style {
            digit_groups: DigitGroups::Space,
            ..Style::USUAL
        };
        let spelt = Style {
            micro: Micro::Micrograms,
            ..Style::USUAL
        };
        for (text, in_spaces, in_words) in [
            (
                "`25,000 units`, 1,234,567.25 mg.",
                "`25 000 units`, 1 234 567.25 mg.",
                "`25,000 units`, 1,234,567.25 mg.",
            ),
            (
                "1:10,000, 0,5, 0,500",
                "1:10 000, 0,5, 0,500",
                "1:10,000, 0,5, 0,500",
            ),
            (
                "usual dose 0.01 to 1 mcg/kg/min",
                "usual dose 0.01 to 1 mcg/kg/min",
                "usual dose 0.01 to 1 microgram/kg/min",
            ),
            (
                "mg for mcg; (2 ng/mL), 5mcg, mL/mcg. things/ng/of",
                "mg for mcg; (2 ng/mL), 5mcg, mL/mcg. things/ng/of",
                "mg for micrograms; (2 nanograms/mL), 5micrograms, mL/microgram. things/ng/of",
            ),
            (
                "a ding, a thing\n",
                "a ding, a thing\n",
                "a ding, a thing\n",
            ),
        ] {
            assert_eq!(in_style(text, Style::USUAL), text);
            assert_eq!(in_style(text, spaced), in_spaces);
            assert_eq!(in_style(text, spelt), in_words);
        }
    }
}

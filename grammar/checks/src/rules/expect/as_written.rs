//! A value in the form in which a worked example has written its own.

use gutta_notation::read_quantity;
use gutta_quantity::{Exact, Quantity, Rounding, Style, Unit};

/// How far rounding may move what is offered: a twentieth (our own choice).
const MOST_ROUNDED: (i64, i64) = (1, 20);
/// No more decimals are tried.
const MOST_DECIMALS: u8 = 12;

/// The value (in base units) in the unit and with the decimals of `written`;
/// with more decimals where these would make something else of it, as 0 of
/// 0.08. A time in several units (`17 h 42 min`) keeps to them.
pub(super) fn as_written(
    value: &Exact,
    unit: Unit,
    decimals: u8,
    written: &str,
    style: Style,
) -> String {
    let value = Quantity::from_base(value.clone(), unit).value;
    let decimals = (decimals..MOST_DECIMALS)
        .find(|decimals| is_near(&rounded(&value, *decimals), &value))
        .unwrap_or(MOST_DECIMALS);
    let value = Quantity::new(value, unit);
    clock(&value, decimals, written, style).unwrap_or_else(|| {
        let told = style.quantity_fixed(&value, u32::from(decimals), Rounding::HalfUp);
        told.to_string()
    })
}

fn rounded(value: &Exact, decimals: u8) -> Exact {
    value.round_to(&Exact::ten_to(-i32::from(decimals)), Rounding::HalfUp)
}

fn is_near(rounded: &Exact, value: &Exact) -> bool {
    let most = Exact::ratio(MOST_ROUNDED.0, MOST_ROUNDED.1).unwrap_or_default();
    (rounded - value).abs() <= &value.abs() * &most
}

/// In the units of a time that is written in several; one of which there is
/// nothing is left out, for 0 is no quantity of the notation.
fn clock(value: &Quantity, decimals: u8, written: &str, style: Style) -> Option<String> {
    let words: Vec<_> = written.split_whitespace().skip(1).step_by(2).collect();
    let (last, greater) = words.split_last()?;
    if greater.is_empty() {
        return None;
    }
    let mut left = Quantity::new(rounded(&value.value, decimals), value.unit).base();
    let mut told = Vec::new();
    for word in greater {
        let one = read_quantity(&format!("1 {word}"), style)?
            .quantity()?
            .base();
        let whole = left.checked_div(&one)?.floor();
        left = &left - &(&whole * &one);
        if !whole.is_zero() {
            told.push(format!("{} {word}", style.decimal_exact(&whole)?));
        }
    }
    let left = Quantity::from_base(left, value.unit).value;
    if !left.is_zero() {
        let rest = style.decimal_fixed(&left, u32::from(decimals), Rounding::HalfUp);
        told.push(format!("{rest} {last}"));
    }
    (!told.is_empty()).then(|| told.join(" "))
}

#[cfg(test)]
mod tests {
    use gutta_notation::{DigitGroups, Style, read_quantity};

    use super::as_written;

    const HOUSE: Style = Style::USUAL;

    /// The value, in the unit and form of what is written.
    fn offered(value: &str, written: &str) -> String {
        in_house(value, written, HOUSE)
    }

    fn in_house(value: &str, written: &str, style: Style) -> String {
        let own = read_quantity(written, style).unwrap();
        let value = read_quantity(value, style).unwrap().quantity().unwrap();
        let unit = own.quantity().unwrap().unit;
        as_written(&value.base(), unit, own.decimals, written, style)
    }

    #[test]
    fn as_the_house_parts_its_thousands() {
        let spaced = Style {
            digit_groups: DigitGroups::Space,
            ..HOUSE
        };
        assert_eq!(
            in_house("25 000 units/h", "12 345 units/h", spaced),
            "25 000 units/h"
        );
        assert_eq!(in_house("12 days", "10 000 min", spaced), "17 280 min");
    }

    #[test]
    fn the_digits_written_are_kept_where_they_say_enough() {
        assert_eq!(offered("2.4 mL/h", "3.0 mL/h"), "2.4 mL/h");
        assert_eq!(offered("17.714 h", "1 h"), "18 h");
        assert_eq!(offered("6 mcg/kg/h", "0.1 mcg/kg/h"), "6.0 mcg/kg/h");
    }

    /// Never 0 for what is not nothing (the trade's rule against a value that
    /// rounds away: common practice, no source).
    #[test]
    fn more_digits_are_written_where_they_do_not() {
        assert_eq!(offered("0.08 mg/mL", "80 mg/mL"), "0.08 mg/mL");
        assert_eq!(offered("0.8064 g", "10 g"), "0.8 g");
        assert_eq!(offered("1.26 mL", "5 mL"), "1.3 mL");
    }

    #[test]
    fn a_time_keeps_its_units() {
        assert_eq!(offered("1062.857 min", "17 h 42 min"), "17 h 43 min");
        assert_eq!(offered("120 min", "1 h 59 min"), "2 h");
        assert_eq!(offered("12 min", "1 h 59 min"), "12 min");
        assert_eq!(offered("125 s", "1 min 30 s"), "2 min 5 s");
    }
}

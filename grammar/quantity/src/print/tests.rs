//! What is printed, as tables.

use super::*;
use crate::{Atom, Exact, Quantity, Rounding, Unit, machine, units};

const HOUSE: Style = Style::USUAL;

/// A number of the test's own: `21/8`, `-0.5`.
fn number(text: &str) -> Exact {
    let (sign, text) = match text.strip_prefix('-') {
        Some(rest) => (Exact::int(-1), rest),
        None => (Exact::ONE, text),
    };
    let (num, den) = text.split_once('/').unwrap_or((text, "1"));
    let part = |text| Exact::parse_decimal(text).expect("a number in a test");
    let fraction = part(num).checked_div(&part(den)).expect("not over zero");
    &sign * &fraction
}

fn unit(text: &str) -> Unit {
    Unit::parse(text).expect("a unit in a test")
}

#[test]
fn decimals() {
    use Rounding::{Down, HalfUp, Up};
    for (value, decimals, rounding, text, fixed) in [
        ("0", 2, HalfUp, "0", "0.00"),
        ("3", 1, HalfUp, "3", "3.0"),
        ("21/8", 1, HalfUp, "2.6", "2.6"),
        ("21/8", 2, HalfUp, "2.63", "2.63"),
        ("21/8", 2, Down, "2.62", "2.62"),
        ("-21/8", 2, HalfUp, "-2.62", "-2.62"),
        ("-21/8", 2, Down, "-2.63", "-2.63"),
        ("-0.04", 1, HalfUp, "0", "0.0"),
        ("0.05", 1, HalfUp, "0.1", "0.1"),
        ("0.95", 1, HalfUp, "1", "1.0"),
        ("1/3", 3, Up, "0.334", "0.334"),
        ("9999", 0, HalfUp, "9999", "9999"),
        ("9999.5", 0, HalfUp, "10,000", "10,000"),
        ("-25000", 0, HalfUp, "-25,000", "-25,000"),
        ("1234567.891", 2, HalfUp, "1,234,567.89", "1,234,567.89"),
        ("100", 0, HalfUp, "100", "100"),
    ] {
        let value = number(value);
        assert_eq!(HOUSE.decimal(&value, decimals, rounding), text);
        assert_eq!(HOUSE.decimal_fixed(&value, decimals, rounding), fixed);
    }
}

/// Every way in which a house may write.
fn styles() -> impl Iterator<Item = Style> {
    [DigitGroups::Comma, DigitGroups::Space]
        .into_iter()
        .flat_map(|digit_groups| {
            [Micro::Mcg, Micro::Micrograms].map(|micro| Style {
                digit_groups,
                micro,
            })
        })
}

#[test]
fn forms_of_thousands() {
    let value = number("1234567.25");
    for style in styles() {
        let text = match style.digit_groups {
            DigitGroups::Comma => "1,234,567.25",
            DigitGroups::Space => "1 234 567.25",
        };
        assert_eq!(style.decimal(&value, 2, Rounding::HalfUp), text);
        let told = style.quantity(&Quantity::new(value.clone(), units::UNITS));
        assert_eq!(told.to_string(), format!("{text} units"));
        assert_eq!((told.number.as_str(), told.unit.as_str()), (text, "units"));
        let long = style.duration(&Exact::int(1_440 * 20_000), Rounding::HalfUp);
        assert_eq!(long.number.len(), "20,000 days".len());
        assert!(long.number.contains(style.digit_groups.separator()));
    }
    assert_eq!(machine::decimal(&value, 2), "1234567.25");
    assert_eq!(machine::decimal(&value, 1), "1234567.3");
    assert_eq!(machine::fraction(&value), "4938269/4");
    assert_eq!(machine::fraction(&number("-25000")), "-25000");
}

#[test]
fn spellings_of_micrograms_and_nanograms() {
    let long = Style {
        micro: Micro::Micrograms,
        ..HOUSE
    };
    for (of, short, spelt, one) in [
        ("mcg", "mcg", "micrograms", "microgram"),
        (
            "mcg/kg/min",
            "mcg/kg/min",
            "micrograms/kg/min",
            "microgram/kg/min",
        ),
        ("ng/mL", "ng/mL", "nanograms/mL", "nanogram/mL"),
        ("mL/mcg", "mL/mcg", "mL/microgram", "mL/microgram"),
        ("mg/h", "mg/h", "mg/h", "mg/h"),
    ] {
        let of = unit(of);
        assert_eq!(HOUSE.unit(of), short);
        assert_eq!(long.unit(of), spelt);
        assert_eq!(long.unit_after(of, &Exact::ONE), one);
        assert_eq!(machine::unit(of), short);
        let told = long.quantity(&Quantity::new(number("1"), of));
        assert_eq!(told.to_string(), format!("1 {one}"));
        let told = long.quantity_shown(&Quantity::new(number("2.5"), of));
        assert_eq!(told.to_string(), format!("2.5 {spelt}"));
    }
}

#[test]
fn what_is_rounded_says_so() {
    let of = |value: &str, of: &str| Quantity::new(number(value), unit(of));
    let rounded = |told: Printed| told.rounded;
    assert!(!rounded(HOUSE.quantity(&of("12345", "units"))));
    assert!(rounded(HOUSE.quantity(&of("1/3", "mg"))));
    assert!(!rounded(HOUSE.quantity_shown(&of("2.6", "mL/h"))));
    assert!(rounded(HOUSE.quantity_shown(&of("2.625", "mL/h"))));
    assert!(!rounded(HOUSE.quantity_shown(&of("0.0004", "drops/min"))));
    assert!(rounded(HOUSE.quantity_shown(&of("0.00042", "drops/min"))));
    assert!(!rounded(HOUSE.quantity_shown(&of("357", "min"))));
    assert!(rounded(HOUSE.quantity_shown(&of("357.5", "min"))));
    assert!(rounded(HOUSE.quantity_shown(&of("-357.5", "min"))));
    assert!(rounded(HOUSE.threshold(
        &number("0.75031"),
        units::KG,
        Rounding::Up
    )));
    assert!(!rounded(HOUSE.threshold(
        &number("0.75"),
        units::KG,
        Rounding::Up
    )));
    assert!(!rounded(HOUSE.quantity_fixed(
        &of("3", "mL/h"),
        1,
        Rounding::HalfUp
    )));
    assert!(rounded(HOUSE.quantity_fixed(
        &of("3.01", "mL/h"),
        1,
        Rounding::HalfUp
    )));
    assert!(HOUSE.quantity_exact(&of("1/3", "mL/h")).is_none());
}

#[test]
fn ranges_are_written_with_to() {
    let told =
        |value: &str, of: &str| HOUSE.quantity_shown(&Quantity::new(number(value), unit(of)));
    for (from, to, text) in [
        (told("1.8", "mL/h"), told("6.75", "mL/h"), "1.8 to 6.8 mL/h"),
        (told("40", "kg"), told("40", "kg"), "40 kg"),
        (told("800", "g"), told("3", "kg"), "800 g to 3 kg"),
        (told("357", "min"), told("9", "h"), "5 h 57 min to 9 h"),
        (told("1", "units"), told("5", "units"), "1 unit to 5 units"),
    ] {
        assert_eq!(between(&from, &to).to_string(), text);
    }
    assert!(between(&told("1/3", "kg"), &told("40", "kg")).rounded);
}

#[test]
fn exact_decimals() {
    for (value, text) in [
        ("2.625", Some("2.625")),
        ("-0.000000000001", Some("-0.000000000001")),
        ("0.0000000000001", None),
        ("1/3", None),
        ("12", Some("12")),
    ] {
        assert_eq!(HOUSE.decimal_exact(&number(value)).as_deref(), text);
    }
}

#[test]
fn significant_figures() {
    for (value, figures, text) in [
        ("0", 3, "0"),
        ("1234.6", 3, "1230"),
        ("98765", 2, "99,000"),
        ("999.6", 3, "1000"),
        ("0.00012345", 3, "0.000123"),
        ("2/3", 4, "0.6667"),
        ("-2/3", 0, "-0.7"),
        ("5", 3, "5"),
    ] {
        assert_eq!(
            HOUSE.decimal_significant(&number(value), figures, Rounding::HalfUp),
            text
        );
    }
}

#[test]
fn quantities_in_full() {
    for (value, of, text) in [
        ("1", "units", "1 unit"),
        ("1", "units/h", "1 unit/h"),
        ("2", "units/kg/h", "2 units/kg/h"),
        ("0.99996", "days", "1 day"),
        ("0.0625", "mg", "0.0625 mg"),
        ("21/8", "mL/h", "2.625 mL/h"),
        ("2/3", "mg/mL", "0.6667 mg/mL"),
        ("123456.78901", "mg", "123,457 mg"),
        ("0.000012", "g", "0.000012 g"),
        ("1", "%", "1 %"),
    ] {
        let told = HOUSE.quantity(&Quantity::new(number(value), unit(of)));
        assert_eq!(told.to_string(), text);
    }
    let plain = HOUSE.quantity(&Quantity::new(Exact::ONE, Unit::NONE));
    assert_eq!(plain.to_string(), "1");
}

#[test]
fn everyday_precision() {
    for (value, of, text) in [
        ("2.625", "mL/h", "2.6 mL/h"),
        ("3", "mL/h", "3 mL/h"),
        ("0.96", "mL/h", "0.96 mL/h"),
        ("0.996", "mL/h", "1 mL/h"),
        ("0.0625", "mL/h", "0.063 mL/h"),
        ("0.0004", "mL/h", "0.0004 mL/h"),
        ("12345.67", "mL/day", "12,345.7 mL/day"),
        // A litre is too much to round to a tenth of.
        ("0.1254", "L/h", "0.125 L/h"),
        ("1.254", "mL/kg/h", "1.25 mL/kg/h"),
        ("41.7", "drops/min", "42 drops/min"),
        ("1.2", "drops/min", "1 drop/min"),
        ("0.34", "drops/min", "0.3 drops/min"),
        ("784.31", "mcg/mL", "784 mcg/mL"),
        ("1234.4", "mg", "1234 mg"),
        ("12345", "units", "12,345 units"),
        ("2/3", "mg/kg", "0.667 mg/kg"),
        ("357", "min", "5 h 57 min"),
        ("6", "h", "6 h"),
        ("8", "weeks", "8 weeks"),
    ] {
        let told = HOUSE.quantity_shown(&Quantity::new(number(value), unit(of)));
        assert_eq!(told.to_string(), text);
    }
    assert_eq!(HOUSE.shown(&number("2.625"), units::ML_PER_H), "2.6");
}

#[test]
fn durations() {
    for (minutes, text) in [
        ("0", "0 s"),
        ("0.5", "30 s"),
        ("1/180", "0.3 s"),
        ("1.5", "1 min 30 s"),
        ("45", "45 min"),
        ("9.999", "10 min"),
        ("599/60", "9 min 59 s"),
        ("10.5", "11 min"),
        ("357", "5 h 57 min"),
        ("59.6", "1 h"),
        ("1440", "24 h"),
        ("2879", "47 h 59 min"),
        ("2879.5", "2 days"),
        ("3120", "2 days 4 h"),
        ("3125", "2 days 4 h 5 min"),
        ("-45", "-45 min"),
        ("14400000", "10,000 days"),
    ] {
        let told = HOUSE.duration(&number(minutes), Rounding::HalfUp);
        assert_eq!(told.to_string(), text);
    }
}

#[test]
fn thresholds_on_the_safe_side() {
    use Rounding::{Down, Up};
    for (value, of, down, up) in [
        ("106.6667", "kg", "106.6 kg", "106.7 kg"),
        ("10", "kg", "10 kg", "10 kg"),
        ("9.996", "kg", "9.99 kg", "10 kg"),
        ("2.005", "kg", "2 kg", "2.01 kg"),
        ("0.75031", "kg", "750 g", "751 g"),
        ("0.9999", "kg", "999 g", "1 kg"),
        ("1.23456", "m2", "1.234 m2", "1.235 m2"),
        (
            "0.0123456",
            "mcg/kg/min",
            "0.01234 mcg/kg/min",
            "0.01235 mcg/kg/min",
        ),
        ("12345.6", "mg", "12,345 mg", "12,346 mg"),
    ] {
        let told = |side| HOUSE.threshold(&number(value), unit(of), side).to_string();
        assert_eq!(told(Down), down);
        assert_eq!(told(Up), up);
    }
}

#[test]
fn readable_masses() {
    for (value, of, readable) in [
        ("0.05", "mg", "mcg"),
        ("0.0000005", "mg/mL", "ng/mL"),
        ("0.01", "ng", "ng"),
        ("9999.5", "mcg", "mcg"),
        ("10000", "mcg", "mg"),
        ("0.5", "kg", "g"),
        ("70", "kg", "kg"),
        ("0.5", "units", "units"),
        ("0", "mg", "mg"),
    ] {
        assert_eq!(unit(of).readable(&number(value)), unit(readable));
    }
    assert_eq!(
        Unit::new(Atom::Percent).readable(&number("0.9")),
        units::PERCENT
    );
}

#[test]
fn huge_and_tiny() {
    let huge = &Exact::ten_to(300) + &number("1/3");
    assert_eq!(HOUSE.decimal(&huge, 0, Rounding::HalfUp).len(), 301 + 100);
    assert!(
        HOUSE
            .decimal(&huge, u32::MAX, Rounding::Down)
            .ends_with("333")
    );
    let tiny = Exact::ten_to(-700);
    assert_eq!(HOUSE.decimal(&tiny, u32::MAX, Rounding::HalfUp).len(), 702);
    assert_eq!(
        HOUSE.decimal_significant(&tiny, 3, Rounding::HalfUp).len(),
        702
    );
    assert_eq!(
        HOUSE.shown(&Exact::ten_to(-400), units::ML_PER_H).len(),
        402
    );
    assert!(
        HOUSE
            .duration(&huge, Rounding::HalfUp)
            .number
            .contains("days")
    );
}

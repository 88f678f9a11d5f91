//! Printed numbers read back.

use gutta_quantity::{DigitGroups, Exact, Quantity, Rounding, Style, Unit, machine, units};
use proptest::prelude::*;

use crate::common::{decimal, number};

const HOUSE: Style = Style::USUAL;

/// What a printed number says.
fn read(text: &str) -> Exact {
    let (sign, digits) = match text.strip_prefix('-') {
        Some(digits) => (Exact::int(-1), digits),
        None => (Exact::ONE, text),
    };
    let plain = digits.replace([',', ' '], "");
    sign * Exact::parse_decimal(&plain).unwrap_or_else(|| panic!("not a number: {text}"))
}

const ROUNDINGS: [Rounding; 3] = [Rounding::Down, Rounding::HalfUp, Rounding::Up];

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1_000))]

    #[test]
    fn exact_decimals_read_back(value in decimal()) {
        let text = HOUSE.decimal_exact(&value);
        prop_assert_eq!(text.as_deref().map(read), Some(value.clone()));
        prop_assert_eq!(read(&HOUSE.decimal(&value, u32::MAX, Rounding::Down)), value);
    }

    #[test]
    fn rounded_decimals_are_the_rounded_value(value in number(), decimals in 0_u32..20) {
        for rounding in ROUNDINGS {
            let step = Exact::ten_to(-i32::try_from(decimals).unwrap_or_default());
            let rounded = value.round_to(&step, rounding);
            let text = HOUSE.decimal(&value, decimals, rounding);
            prop_assert_eq!(read(&text), rounded.clone());
            prop_assert!(!text.ends_with('.') && !text.starts_with('.'));
            prop_assert!(!(text.contains('.') && text.ends_with('0')), "{}", text);
            prop_assert!(text != "-0");
            let fixed = HOUSE.decimal_fixed(&value, decimals, rounding);
            prop_assert_eq!(read(&fixed), rounded);
            let places = fixed.split_once('.').map_or(0, |(_, places)| places.len());
            prop_assert_eq!(places, usize::try_from(decimals).unwrap_or_default());
        }
    }

    #[test]
    fn significant_figures_are_near(value in number(), figures in 1_u32..8) {
        prop_assume!(!value.is_zero());
        let rounded = read(&HOUSE.decimal_significant(&value, figures, Rounding::HalfUp));
        let power = value.magnitude().unwrap_or_default();
        let unit = Exact::ten_to(power + 1 - i32::try_from(figures).unwrap_or_default());
        prop_assert!(rounded.checked_div(&unit).is_some_and(|count| count.is_whole()));
        prop_assert!(&(&rounded - &value).abs() * &Exact::int(2) <= unit);
    }

    #[test]
    fn groups_are_of_three(value in 10_000_i64..i64::MAX) {
        let value = Exact::int(value);
        let text = HOUSE.decimal(&value, 0, Rounding::HalfUp);
        let spaced = Style { digit_groups: DigitGroups::Space, ..HOUSE };
        let groups: Vec<&str> = text.split(',').collect();
        prop_assert!((1..=3).contains(&groups[0].len()));
        prop_assert!(groups[1..].iter().all(|group| group.len() == 3));
        prop_assert_eq!(text.replace(',', " "), spaced.decimal(&value, 0, Rounding::HalfUp));
        prop_assert_eq!(text.replace(',', ""), machine::decimal(&value, 0));
    }

    /// A threshold never lies on the unsafe side, nor far from the value.
    #[test]
    fn thresholds_keep_their_side(value in number(), of in unit()) {
        for rounding in [Rounding::Down, Rounding::Up] {
            let text = HOUSE.threshold(&value, of, rounding).to_string();
            let printed = quantity(&text);
            let there = Quantity::new(value.clone(), of);
            let side = printed.compare(&there);
            prop_assert!(side.is_some());
            prop_assert!(side != Some(match rounding {
                Rounding::Up => std::cmp::Ordering::Less,
                _ => std::cmp::Ordering::Greater,
            }), "{} for {:?}", text, there);
            let off = (&printed.base() - &there.base()).abs();
            let near = &there.base().abs() * &Exact::ten_to(-2);
            prop_assert!(off <= near || of == units::KG, "{} for {:?}", text, there);
        }
    }

    /// No value that is something is shown as nothing.
    #[test]
    fn nothing_shrinks_to_zero(value in number(), of in unit()) {
        let there = Quantity::new(value.clone(), of);
        prop_assert_eq!(read(&HOUSE.shown(&value, of)).is_zero(), value.is_zero());
        prop_assert_eq!(quantity(&HOUSE.quantity(&there).to_string()).value.is_zero(), value.is_zero());
        let time = HOUSE.duration(&value, Rounding::HalfUp).to_string();
        prop_assert_eq!(minutes(&time).is_zero(), value.is_zero(), "{}", time);
    }

    #[test]
    fn durations_read_back(value in number()) {
        let text = HOUSE.duration(&value, Rounding::HalfUp).to_string();
        let read = minutes(&text);
        let size = value.abs();
        // In whole minutes from ten up, in whole seconds below.
        let step = if size >= Exact::int(10) {
            Exact::ONE
        } else {
            Exact::ratio(1, 60).unwrap_or_default()
        };
        prop_assert!(&(&read - &value).abs() * &Exact::int(2) <= step, "{}", text);
    }
}

/// A few units of every kind.
fn unit() -> impl Strategy<Value = Unit> {
    prop::sample::select(
        [
            "kg",
            "g",
            "mcg/kg/min",
            "mL/h",
            "mL",
            "L/h",
            "units/h",
            "drops/min",
            "mg/mL",
            "min",
            "m2",
            "mOsm/L",
            "mL/kg/h",
            "%",
            "days",
            "kcal/kg/day",
        ]
        .map(|text| Unit::parse(text).expect("a unit"))
        .to_vec(),
    )
}

/// A printed number and unit.
fn quantity(text: &str) -> Quantity {
    let (number, unit) = text.rsplit_once(' ').expect("a number and a unit");
    Quantity::new(read(number), Unit::parse(unit).expect("a unit"))
}

/// A printed time, in minutes.
fn minutes(text: &str) -> Exact {
    let (sign, text) = match text.strip_prefix('-') {
        Some(text) => (Exact::int(-1), text),
        None => (Exact::ONE, text),
    };
    let words: Vec<&str> = text.split(' ').collect();
    let sum: Exact = words
        .chunks(2)
        .map(|pair| quantity(&pair.join(" ")).base())
        .sum();
    sign * sum
}

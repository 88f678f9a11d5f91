//! Numbers and quantities. A decimal is written digit by digit from the exact
//! value: none passes through floating point, and none is rounded.

use gutta_quantity::{Exact, Style, Unit, machine};
use serde::Serialize;
use serde_json::value::RawValue;
use serde_with::skip_serializing_none;

/// FHIR R4 and R5, Data Types, decimal: no more than 18 digits (from memory; R6's
/// drafts have a pattern with as many before the point).
const MOST_DIGITS: usize = 18;

const UCUM: &str = "http://unitsofmeasure.org";

/// A decimal of the standard, as its digits.
#[derive(Clone, Debug, Serialize)]
#[serde(transparent)]
pub(crate) struct Decimal(Box<RawValue>);

impl Decimal {
    /// The value; `None` where its decimal form does not end, or has more
    /// digits than the standard allows.
    pub(crate) fn of(value: &Exact) -> Option<Self> {
        let decimals = value.decimals()?;
        let text = machine::decimal(value, decimals);
        let digits = text.bytes().filter(u8::is_ascii_digit).count();
        (digits <= MOST_DIGITS).then(|| Self::written(text))?
    }

    fn written(text: String) -> Option<Self> {
        RawValue::from_string(text).ok().map(Self)
    }
}

/// An amount with its UCUM code.
#[skip_serializing_none]
#[derive(Clone, Debug, Serialize)]
pub(crate) struct Quantity {
    value: Decimal,
    unit: Option<String>,
    system: &'static str,
    code: String,
}

impl Quantity {
    /// A quantity; `None` where its number has no decimal, or its unit no UCUM
    /// code. The standard's `unit` is for people: as the house spells it.
    pub(crate) fn of(quantity: &gutta_quantity::Quantity, style: Style) -> Option<Self> {
        Some(Self {
            value: Decimal::of(&quantity.value)?,
            unit: Some(style.unit(quantity.unit)).filter(|unit| !unit.is_empty()),
            system: UCUM,
            code: quantity.unit.ucum()?,
        })
    }

    /// A value in base units, counted in `unit`.
    pub(crate) fn from_base(base: Exact, unit: Unit, style: Style) -> Option<Self> {
        Self::of(&gutta_quantity::Quantity::from_base(base, unit), style)
    }
}

/// One quantity over another.
#[derive(Clone, Debug, Serialize)]
pub(crate) struct Ratio {
    numerator: Quantity,
    denominator: Quantity,
}

impl Ratio {
    /// Two quantities as they are.
    pub(crate) const fn new(numerator: Quantity, denominator: Quantity) -> Self {
        Self {
            numerator,
            denominator,
        }
    }

    /// So much of one thing.
    pub(crate) fn of_one(numerator: Quantity) -> Option<Self> {
        let one = Quantity {
            value: Decimal::of(&Exact::ONE)?,
            unit: None,
            system: UCUM,
            code: Unit::NONE.ucum()?,
        };
        Some(Self::new(numerator, one))
    }

    /// One value over another, in base units, counted in `top` and `below`:
    /// as they are where both have a decimal, else the same share in whole
    /// numbers. `None` where these are too long too.
    pub(crate) fn of(
        (top, top_unit): (Exact, Unit),
        (below, unit): (Exact, Unit),
        style: Style,
    ) -> Option<Self> {
        let written = Quantity::from_base(top.clone(), top_unit, style).zip(Quantity::from_base(
            below.clone(),
            unit,
            style,
        ));
        if let Some((numerator, denominator)) = written {
            return Some(Self::new(numerator, denominator));
        }
        let in_units = |base, unit| gutta_quantity::Quantity::from_base(base, unit).value;
        let share = in_units(top, top_unit).checked_div(&in_units(below, unit))?;
        let whole = |value, unit| Quantity::of(&gutta_quantity::Quantity::new(value, unit), style);
        Some(Self::new(
            whole(share.numerator(), top_unit)?,
            whole(share.denominator(), unit)?,
        ))
    }
}

/// How fast: a quantity where it has a decimal, else a ratio of whole numbers.
#[derive(Clone, Debug)]
pub(crate) enum Rate {
    /// `1.8 mL/h`.
    Quantity(Quantity),
    /// `50 mL` over `7 h`.
    Ratio(Ratio),
}

#[cfg(test)]
mod tests {
    use gutta_quantity::{Exact, Style, units};

    use super::{Decimal, Quantity, Ratio};

    const HOUSE: Style = Style::USUAL;

    fn json(value: &impl serde::Serialize) -> String {
        serde_json::to_string(value).unwrap()
    }

    #[test]
    fn twenty_digits_are_written_as_they_are() {
        let text = "1234567890.0987654321";
        assert_eq!(json(&Decimal::written(text.to_owned()).unwrap()), text);
        // Floating point keeps 17.
        assert_ne!(json(&text.parse::<f64>().unwrap()), text);
    }

    #[test]
    fn a_decimal_has_no_more_digits_than_the_standard_allows() {
        let of = |text: &str| Decimal::of(&Exact::parse_decimal(text).unwrap());
        let most = "12345678.9012345678";
        assert_eq!(json(&of(most).unwrap()), most);
        assert!(of("12345678.90123456789").is_none());
        assert!(of("1234567890.0987654321").is_none());
        assert!(Decimal::of(&Exact::ratio(1, 3).unwrap()).is_none());
    }

    #[test]
    fn a_unit_without_a_code_makes_no_quantity() {
        assert!(Quantity::from_base(Exact::int(40), units::DROPS_PER_MIN, HOUSE).is_none());
        let quantity = Quantity::from_base(Exact::ratio(1, 20).unwrap(), units::MG, HOUSE).unwrap();
        let wanted =
            r#"{"value":0.05,"unit":"mg","system":"http://unitsofmeasure.org","code":"mg"}"#;
        assert_eq!(json(&quantity), wanted);
    }

    #[test]
    fn what_does_not_end_is_a_ratio_of_whole_numbers() {
        let third = Exact::ratio(50, 3).unwrap();
        let ratio = Ratio::of((third, units::MG), (Exact::int(2), units::ML), HOUSE).unwrap();
        let text = json(&ratio);
        assert!(text.contains(r#""numerator":{"value":25,"#), "{text}");
        assert!(text.contains(r#""denominator":{"value":3,"#), "{text}");
    }
}

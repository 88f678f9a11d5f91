//! Units and kinds, against the notation's table.

use gutta_quantity::{Atom, Dimension, Exact, Quantity, Style, Unit, machine};
use proptest::prelude::*;

use crate::common::{big, number};

/// The notation's table, then pound and ounce: symbol, after 1, kind, UCUM code. The codes are
/// UCUM's case-sensitive ones (The Unified Code for Units of Measure).
const TABLE: &[(&str, &str, Dimension, Option<&str>)] = &[
    ("kg", "kg", Dimension::MASS, Some("kg")),
    ("g", "g", Dimension::MASS, Some("g")),
    ("mg", "mg", Dimension::MASS, Some("mg")),
    ("mcg", "mcg", Dimension::MASS, Some("ug")),
    ("ng", "ng", Dimension::MASS, Some("ng")),
    ("mol", "mol", Dimension::AMOUNT, Some("mol")),
    ("mmol", "mmol", Dimension::AMOUNT, Some("mmol")),
    ("micromol", "micromol", Dimension::AMOUNT, Some("umol")),
    ("mEq", "mEq", Dimension::EQUIVALENTS, Some("meq")),
    ("units", "unit", Dimension::ACTIVITY, Some("[iU]")),
    (
        "milliunits",
        "milliunit",
        Dimension::ACTIVITY,
        Some("m[iU]"),
    ),
    ("L", "L", Dimension::VOLUME, Some("L")),
    ("mL", "mL", Dimension::VOLUME, Some("mL")),
    ("drops", "drop", Dimension::DROPS, None),
    ("s", "s", Dimension::TIME, Some("s")),
    ("min", "min", Dimension::TIME, Some("min")),
    ("h", "h", Dimension::TIME, Some("h")),
    ("days", "day", Dimension::TIME, Some("d")),
    ("weeks", "week", Dimension::TIME, Some("wk")),
    ("months", "month", Dimension::TIME, Some("mo")),
    ("years", "year", Dimension::TIME, Some("a")),
    ("m2", "m2", Dimension::SURFACE, Some("m2")),
    ("mOsm", "mOsm", Dimension::OSMOLES, Some("mosm")),
    ("kcal", "kcal", Dimension::ENERGY, Some("kcal")),
    (
        "%",
        "%",
        Dimension::MASS.minus(Dimension::VOLUME),
        Some("%"),
    ),
    ("lb", "lb", Dimension::MASS, Some("[lb_av]")),
    ("oz", "oz", Dimension::MASS, Some("[oz_av]")),
];

#[test]
fn atoms_are_the_table() {
    assert_eq!(Atom::ALL.len(), TABLE.len());
    for (atom, (symbol, singular, kind, ucum)) in Atom::ALL.iter().zip(TABLE) {
        assert_eq!(machine::spellings(*atom), [*symbol, *singular]);
        assert_eq!(Atom::from_symbol(symbol), Some(*atom));
        assert_eq!(Atom::from_symbol(singular), Some(*atom));
        assert_eq!(atom.dimension(), *kind);
        assert_eq!(atom.ucum(), *ucum);
        assert!(atom.factor().is_positive() && atom.factor_below().is_positive());
        assert_eq!(Unit::parse(symbol), Some(Unit::new(*atom)));
    }
    for wrong in ["", "MG", "ml", "cc", "µg", "mcgs", "IU", " mg", "hour"] {
        assert_eq!(Atom::from_symbol(wrong), None, "{wrong}");
    }
}

#[test]
fn words_also_read() {
    for (words, symbol) in [
        ("microgram micrograms", "mcg"),
        ("nanogram nanograms", "ng"),
        ("milligram milligrams", "mg"),
        ("gram grams", "g"),
        ("kilogram kilograms", "kg"),
        ("litre litres liter liters", "L"),
        ("millilitre millilitres milliliter milliliters", "mL"),
        ("hour hours", "h"),
        ("minute minutes mins", "min"),
        ("second seconds", "s"),
    ] {
        for word in words.split(' ') {
            assert_eq!(Atom::from_word(word), Atom::from_symbol(symbol), "{word}");
            assert_eq!(Atom::from_symbol(word), None, "{word}");
        }
    }
    assert_eq!(Atom::from_word("mg"), None);
}

#[test]
fn how_much_one_is() {
    for (one, of, is) in [
        ("kg", "g", "1000"),
        ("g", "mg", "1000"),
        ("mg", "mcg", "1000"),
        ("mcg", "ng", "1000"),
        ("mol", "mmol", "1000"),
        ("mmol", "micromol", "1000"),
        ("units", "milliunits", "1000"),
        ("L", "mL", "1000"),
        ("min", "s", "60"),
        ("h", "min", "60"),
        ("days", "h", "24"),
        ("weeks", "days", "7"),
        ("months", "days", "30.4375"),
        ("years", "days", "365.25"),
        ("years", "months", "12"),
        ("%", "mg/mL", "10"),
        ("mg/mL", "mcg/mL", "1000"),
        ("g/L", "mg/mL", "1"),
        ("mg/g", "mg/kg", "1000"),
        ("mL/h", "mL/day", "24"),
        ("mcg/kg/min", "mg/kg/h", "0.06"),
        ("units/h", "milliunits/min", "16.666"),
    ] {
        let one = Quantity::new(Exact::ONE, Unit::parse(one).expect("a unit"));
        let value = one.to(Unit::parse(of).expect("a unit"));
        let is = if is == "16.666" {
            Exact::ratio(50, 3)
        } else {
            Exact::parse_decimal(is)
        };
        assert_eq!(value, is, "{one:?}");
    }
}

#[test]
fn units_are_read_and_written() {
    for (text, ucum) in [
        ("mcg/kg/min", Some("ug/kg/min")),
        ("units/h", Some("[iU]/h")),
        ("milliunits/kg/min", Some("m[iU]/kg/min")),
        ("mL/h", Some("mL/h")),
        ("mg/m2/day", Some("mg/m2/d")),
        ("mOsm/L", Some("mosm/L")),
        ("mEq/L", Some("meq/L")),
        ("drops/min", None),
        ("drops/mL", None),
    ] {
        let unit = Unit::parse(text).expect("a unit");
        assert_eq!(Style::USUAL.unit(unit), text);
        assert_eq!(unit.ucum().as_deref(), ucum);
    }
    assert_eq!(Unit::parse("unit/h"), Unit::parse("units/h"));
    assert_eq!(Unit::NONE.ucum().as_deref(), Some("1"));
    for wrong in [
        "",
        "/",
        "mg/",
        "/h",
        "mg//h",
        "mg/kg/min/h",
        "mg / h",
        "mg/kg/",
        "mL/days",
        "mL/hr",
    ] {
        assert_eq!(Unit::parse(wrong), None, "{wrong}");
    }
    let parse = |text| Unit::parse(text).expect("a unit");
    assert!(parse("mcg/kg/min").is_canonical_order());
    assert!(parse("mg/m2/day").is_canonical_order());
    assert!(parse("mL/h").is_canonical_order());
    assert!(!parse("mcg/min/kg").is_canonical_order());
    assert!(!parse("mg/day/m2").is_canonical_order());
    assert!(parse("mcg/min/kg").commensurable(parse("mg/kg/h")));
}

#[test]
fn kinds_and_their_names() {
    // What each is, of: amount, dose, volume, flow, drip, strength.
    for (text, name, is) in [
        ("mg", "a mass", "amount"),
        ("mg/kg", "a mass by weight", "amount"),
        ("mmol", "an amount of substance", "amount"),
        (
            "mEq/m2",
            "an amount in equivalents by body surface area",
            "amount",
        ),
        (
            "units/kg",
            "an amount in units of activity by weight",
            "amount",
        ),
        ("mcg/kg/min", "a dose by weight", "dose"),
        ("mcg/min/kg", "a dose by weight", "dose"),
        ("mg/m2/day", "a dose by body surface area", "dose"),
        ("units/h", "a dose", "dose"),
        ("mL", "a volume", "volume"),
        ("mL/kg", "a volume by weight", "volume"),
        ("mL/h", "a flow", "flow"),
        ("mL/kg/h", "a flow by weight", "flow"),
        ("drops/min", "a drip rate", "drip"),
        ("mg/mL", "a strength", "strength"),
        ("%", "a strength", "strength"),
        ("units/mL", "a strength", "strength"),
        ("min", "a time", ""),
        ("years", "a time", ""),
        ("m2", "a body surface area", ""),
        ("drops", "a number of drops", ""),
        ("drops/mL", "drops per volume", ""),
        ("mOsm", "an amount of osmoles", ""),
        ("mOsm/L", "an osmolarity", ""),
        ("kcal", "an energy", ""),
        ("kcal/kg/day", "an energy per time by weight", ""),
        ("mL/mL", "a plain number", ""),
        ("mg/kg/kg", "a quantity of another kind", ""),
        ("min/mg", "a quantity of another kind", ""),
    ] {
        let kind = Unit::parse(text).expect("a unit").dimension();
        assert_eq!(kind.name(), name, "{text}");
        for (what, is_it) in [
            ("amount", kind.is_amount()),
            ("dose", kind.is_dose()),
            ("volume", kind.is_volume()),
            ("flow", kind.is_flow()),
            ("drip", kind.is_drip()),
            ("strength", kind.is_strength()),
        ] {
            assert_eq!(is_it, what == is, "{text} as {what}");
        }
    }
    assert_eq!(Dimension::WEIGHT.name(), "a body weight");
    assert!(Dimension::MASS.is_drug() && !Dimension::VOLUME.is_drug());
    assert!(!Dimension::MASS.plus(Dimension::ACTIVITY).is_drug());
}

#[test]
fn kinds_saturate() {
    let far = (0..300).fold(Dimension::NONE, |kind, _| kind.plus(Dimension::TIME));
    assert_eq!(far.time, i8::MAX);
    assert_eq!(far.name(), "a quantity of another kind");
    let back = (0..300).fold(Dimension::NONE, |kind, _| kind.minus(Dimension::TIME));
    assert_eq!(back.time, i8::MIN);
}

#[test]
fn a_mass_as_body_weight() {
    for (value, unit, kg) in [
        ("3.2", "kg", Some("3.2")),
        ("750", "g", Some("0.75")),
        ("5", "mg", None),
        ("5", "kg/day", None),
    ] {
        let mass = Quantity::new(
            Exact::parse_decimal(value).expect("a number"),
            Unit::parse(unit).expect("a unit"),
        );
        assert_eq!(mass.as_weight(), kg.and_then(Exact::parse_decimal));
    }
}

/// Any unit that can be written.
fn any_unit() -> impl Strategy<Value = Unit> {
    let atom = || prop::sample::select(Atom::ALL);
    (
        atom(),
        proptest::option::of(atom()),
        proptest::option::of(atom()),
    )
        .prop_map(|(top, first, second)| {
            [first, second]
                .into_iter()
                .flatten()
                .fold(Unit::new(top), |unit, below| {
                    unit.per(below).unwrap_or(unit)
                })
        })
}

proptest! {
    #[test]
    fn written_units_read_back(unit in any_unit()) {
        prop_assert_eq!(Unit::parse(&Style::USUAL.unit(unit)), Some(unit));
        prop_assert_eq!(Unit::parse(&Style::USUAL.unit_after(unit, &Exact::ONE)), Some(unit));
    }

    #[test]
    fn parsing_never_panics(text in "\\PC*") {
        if let Some(unit) = Unit::parse(&text) {
            prop_assert!(text == Style::USUAL.unit(unit) || text == Style::USUAL.unit_after(unit, &Exact::ONE));
        }
    }

    #[test]
    fn there_and_back_is_exact(value in number(), from in any_unit(), to in any_unit()) {
        let quantity = Quantity::new(value, from);
        prop_assert_eq!(
            Quantity::from_base(quantity.base(), from),
            quantity.clone()
        );
        let there = quantity.convert(to);
        prop_assert_eq!(there.is_some(), from.dimension() == to.dimension());
        if let Some(there) = there {
            prop_assert_eq!(there.base(), quantity.base());
            prop_assert_eq!(there.convert(from), Some(quantity));
        }
    }

    #[test]
    fn compares_by_value(a in number(), b in number(), from in any_unit(), to in any_unit()) {
        let (left, right) = (Quantity::new(a, from), Quantity::new(b, to));
        let order = from
            .commensurable(to)
            .then(|| big(&left.base()).cmp(&big(&right.base())));
        prop_assert_eq!(left.compare(&right), order);
    }

    #[test]
    fn readable_keeps_the_value(value in number(), unit in any_unit()) {
        let quantity = Quantity::new(value.clone(), unit);
        let readable = unit.readable(&value);
        let there = quantity.convert(readable);
        prop_assert_eq!(there.as_ref().map(Quantity::base), Some(quantity.base()));
        // Once readable, it stays.
        if let Some(there) = there {
            prop_assert_eq!(readable.readable(&there.value), readable);
        }
    }
}

#[test]
fn constants_say_what_they_are() {
    for (unit, text) in [
        (gutta_quantity::units::ML_PER_H, "mL/h"),
        (gutta_quantity::units::MG_PER_ML, "mg/mL"),
        (gutta_quantity::units::ML_PER_KG_PER_DAY, "mL/kg/day"),
        (gutta_quantity::units::DROPS_PER_MIN, "drops/min"),
        (gutta_quantity::units::KG, "kg"),
    ] {
        assert_eq!(Style::USUAL.unit(unit), text);
    }
}

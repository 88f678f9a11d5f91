//! What the property tests share.

use gutta_quantity::Exact;
use num_bigint::BigInt;
use num_rational::BigRational;
use num_traits::Zero;
use proptest::prelude::*;

/// The same number as a big rational, through its digits.
pub(crate) fn big(value: &Exact) -> BigRational {
    let (num, den) = value.to_parts();
    let part = |digits: String| digits.parse::<BigInt>().expect("digits");
    BigRational::new(part(num), part(den))
}

/// The same number as an `Exact`, through its digits.
pub(crate) fn exact(value: &BigRational) -> Exact {
    let part = |digits: String| match digits.strip_prefix('-') {
        Some(digits) => -Exact::parse_decimal(digits).expect("digits"),
        None => Exact::parse_decimal(&digits).expect("digits"),
    };
    part(value.numer().to_string())
        .checked_div(&part(value.denom().to_string()))
        .expect("no denominator of zero")
}

/// Whole numbers from a few digits to forty, crowded at the borders of 32, 63
/// and 64 bits.
fn whole() -> impl Strategy<Value = BigInt> {
    let border = |bits: u32| {
        (-3_i64..=3, any::<bool>()).prop_map(move |(off, minus)| {
            let power = BigInt::from(1) << bits;
            (if minus { -power } else { power }) + off
        })
    };
    prop_oneof![
        4 => (-1_000_i64..1_000).prop_map(BigInt::from),
        2 => (-1_000_000_000_000_i64..1_000_000_000_000).prop_map(BigInt::from),
        2 => any::<i64>().prop_map(BigInt::from),
        1 => any::<i128>().prop_map(BigInt::from),
        1 => "-?[1-9][0-9]{39}".prop_map(|digits| digits.parse().expect("digits")),
        1 => border(32),
        2 => border(63),
        1 => border(64),
    ]
}

/// Fractions of such numbers.
pub(crate) fn fraction() -> impl Strategy<Value = BigRational> {
    (whole(), whole()).prop_map(|(num, den)| {
        let den = if den.is_zero() { BigInt::from(1) } else { den };
        BigRational::new(num, den)
    })
}

/// Such numbers, and the everyday decimals.
pub(crate) fn number() -> impl Strategy<Value = Exact> {
    prop_oneof![fraction().prop_map(|value| exact(&value)), decimal()]
}

/// Numbers as authors write them: at most twelve digits, also below zero.
pub(crate) fn decimal() -> impl Strategy<Value = Exact> {
    (0_i64..1_000_000_000_000, 0_i32..12, any::<bool>()).prop_map(|(digits, places, minus)| {
        let value = Exact::int(digits) * Exact::ten_to(-places);
        if minus { -value } else { value }
    })
}

//! `Exact` against `BigRational`, from small numbers over the border where it
//! grows to forty digits.

use std::hash::{BuildHasher, RandomState};

use gutta_quantity::{Exact, Rounding, machine};
use num_rational::BigRational;
use num_traits::{One, Pow, Signed, ToPrimitive, Zero};
use proptest::prelude::*;

use crate::common::{big, decimal, exact, fraction, number};

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2_000))]

    #[test]
    fn calculates_as_a_big_rational(a in fraction(), b in fraction()) {
        let (x, y) = (exact(&a), exact(&b));
        prop_assert_eq!(big(&(&x + &y)), &a + &b);
        prop_assert_eq!(big(&(&x - &y)), &a - &b);
        prop_assert_eq!(big(&(&x * &y)), &a * &b);
        prop_assert_eq!(big(&-&x), -&a);
        prop_assert_eq!(big(&x.abs()), a.abs());
        prop_assert_eq!(
            x.checked_div(&y).map(|quotient| big(&quotient)),
            (!b.is_zero()).then(|| &a / &b)
        );
        prop_assert_eq!(x.cmp(&y), a.cmp(&b));
        prop_assert_eq!(x == y, a == b);
        prop_assert_eq!(big(&x.clone().min(y.clone())), a.clone().min(b.clone()));
        prop_assert_eq!(big(&x.max(y)), a.max(b));
    }

    #[test]
    fn shared_parts_cancel(a in fraction(), b in fraction()) {
        // The results that need reducing: sums back to where they came from.
        let (x, y) = (exact(&a), exact(&b));
        prop_assert_eq!(&(&x + &y) - &y, x.clone());
        prop_assert_eq!(&x - &x, Exact::ZERO);
        if !y.is_zero() {
            prop_assert_eq!((&x * &y).checked_div(&y), Some(x.clone()));
        }
        prop_assert_eq!(x.recip().and_then(|inverse| inverse.recip()), (!x.is_zero()).then_some(x));
    }

    #[test]
    fn laws_of_a_field(x in number(), y in number(), z in number()) {
        prop_assert_eq!(&x + &y, &y + &x);
        prop_assert_eq!(&x * &y, &y * &x);
        prop_assert_eq!(&(&x + &y) + &z, &x + &(&y + &z));
        prop_assert_eq!(&(&x * &y) * &z, &x * &(&y * &z));
        prop_assert_eq!(&x * &(&y + &z), &(&x * &y) + &(&x * &z));
        prop_assert_eq!(&x + &Exact::ZERO, x.clone());
        prop_assert_eq!(&x * &Exact::ONE, x.clone());
        prop_assert_eq!(&x + &-&x, Exact::ZERO);
        if let Some(inverse) = x.recip() {
            prop_assert_eq!(&x * &inverse, Exact::ONE);
        }
    }

    #[test]
    fn one_number_has_one_form(x in number(), y in number()) {
        // By another way round, past the border and back.
        let far = Exact::ten_to(30);
        let back = (&(&x * &far) + &(&y * &far)).checked_div(&far);
        let sum = &x + &y;
        prop_assert_eq!(back.as_ref(), Some(&sum));
        let state = RandomState::new();
        prop_assert_eq!(back.map(|back| state.hash_one(back)), Some(state.hash_one(sum)));
    }

    #[test]
    fn parts_of_a_number(a in fraction()) {
        let x = exact(&a);
        prop_assert_eq!(x.to_parts(), (a.numer().to_string(), a.denom().to_string()));
        prop_assert_eq!(big(&x.numerator()), BigRational::from(a.numer().clone()));
        prop_assert_eq!(big(&x.denominator()), BigRational::from(a.denom().clone()));
        prop_assert_eq!(machine::fraction(&x), a.to_string());
        prop_assert_eq!(x.is_zero(), a.is_zero());
        prop_assert_eq!(x.is_whole(), a.is_integer());
        prop_assert_eq!(x.is_negative(), a.is_negative());
        prop_assert_eq!(x.is_positive(), a.is_positive());
        prop_assert_eq!(i32::from(x.signum()), a.signum().to_integer().to_i32().unwrap_or(9));
        prop_assert_eq!(x.to_i64(), if a.is_integer() { a.numer().to_i64() } else { None });
    }

    #[test]
    fn powers_and_roots(a in fraction(), exponent in 0_u32..6) {
        let x = exact(&a);
        prop_assert_eq!(big(&x.pow(exponent)), a.clone().pow(exponent));
        prop_assert_eq!((&x * &x).sqrt(), Some(x.abs()));
    }

    #[test]
    fn fractions_of_any_two(num in any::<i64>(), den in any::<i64>()) {
        let a = (den != 0).then(|| BigRational::new(num.into(), den.into()));
        prop_assert_eq!(Exact::ratio(num, den).map(|x| big(&x)), a);
    }

    /// Rounding by its definition: a whole number, near enough, on its side.
    #[test]
    fn rounds_as_defined(x in number()) {
        let half = Exact::ratio(1, 2).unwrap_or_default();
        let (down, up) = (Rounding::Down.apply(&x), Rounding::Up.apply(&x));
        prop_assert!(down.is_whole() && down <= x && x < &down + &Exact::ONE);
        prop_assert!(up.is_whole() && up >= x && x > &up - &Exact::ONE);
        let near = Rounding::HalfUp.apply(&x);
        prop_assert!(near.is_whole());
        prop_assert!(&near - &half <= x && x < &near + &half);
    }

    #[test]
    fn rounds_to_a_step(x in number(), step in decimal()) {
        prop_assume!(!step.is_zero());
        let step = step.abs();
        for rounding in [Rounding::Down, Rounding::HalfUp, Rounding::Up] {
            let rounded = x.round_to(&step, rounding);
            prop_assert!(rounded.checked_div(&step).is_some_and(|count| count.is_whole()));
            prop_assert!((&rounded - &x).abs() < step);
        }
        prop_assert!(x.round_to(&step, Rounding::Down) <= x);
        prop_assert!(x.round_to(&step, Rounding::Up) >= x);
        prop_assert_eq!(x.round_to(&Exact::ZERO, Rounding::Up), x);
    }

    #[test]
    fn decimals_and_magnitude(x in number()) {
        match x.decimals() {
            // The least power of ten that makes it whole.
            Some(decimals) => {
                let shift = i32::try_from(decimals).unwrap_or_default();
                prop_assert!((&x * &Exact::ten_to(shift)).is_whole());
                prop_assert!(decimals == 0 || !(&x * &Exact::ten_to(shift - 1)).is_whole());
            }
            None => {
                let (_, den) = x.to_parts();
                let mut den: BigRational = den.parse().expect("digits");
                for prime in [2, 5] {
                    let prime = BigRational::from_integer(prime.into());
                    while (&den / &prime).is_integer() {
                        den /= &prime;
                    }
                }
                prop_assert!(!den.is_one());
            }
        }
        match x.magnitude() {
            Some(power) => {
                prop_assert!(Exact::ten_to(power) <= x.abs());
                prop_assert!(x.abs() < Exact::ten_to(power + 1));
            }
            None => prop_assert!(x.is_zero()),
        }
    }

    #[test]
    fn parsing_never_panics(text in "\\PC*") {
        if let Some(value) = Exact::parse_decimal(&text) {
            prop_assert!(text.bytes().all(|byte| byte.is_ascii_digit() || byte == b'.'));
            prop_assert!(!value.is_negative());
        }
    }
}

#[test]
fn the_least_inline_number() {
    let least = Exact::int(i64::MIN);
    assert_eq!(machine::fraction(&least), "-9223372036854775808");
    assert_eq!(machine::fraction(&-&least), "9223372036854775808");
    assert_eq!(-&-&least, least);
    assert_eq!(Exact::ratio(i64::MIN, i64::MIN), Some(Exact::ONE));
    assert_eq!(
        Exact::ratio(1, i64::MIN)
            .map(|tiny| machine::fraction(&tiny))
            .as_deref(),
        Some("-1/9223372036854775808")
    );
    assert_eq!(least.recip(), Exact::ratio(1, i64::MIN));
    assert_eq!(&Exact::ZERO - &least, -&least);
    assert_eq!(&least * &Exact::int(-1), -&least);
    assert_eq!(least.checked_div(&Exact::int(-1)), Some(-&least));
}

#[test]
fn what_is_no_number() {
    for text in [
        "", ".", ".5", "5.", "-5", "+5", "1e3", "1,000", "1.2.3", " 1", "½", "٣",
    ] {
        assert_eq!(Exact::parse_decimal(text), None, "{text}");
    }
}

#[test]
fn very_long_numbers() {
    let long = format!("{}.{}", "9".repeat(400), "3".repeat(400));
    let value = Exact::parse_decimal(&long).expect("plain digits");
    assert_eq!(value.magnitude(), Some(399));
    assert_eq!(value.decimals(), Some(400));
    assert_eq!(Exact::ten_to(-70_000).decimals(), Some(70_000));
    assert_eq!(Exact::ten_to(-70_000).magnitude(), Some(-70_000));
    assert_eq!(Exact::ten_to(300), Exact::int(10).pow(300));
}

//! Calculating and comparing.
//!
//! Sums and products of reduced fractions are reduced by the divisors that
//! their parts share before multiplying (Knuth, The Art of Computer
//! Programming, volume 2, section 4.5.1; section from memory), so that the
//! numbers stay within 64 bits wherever the result does.

use std::borrow::Cow;
use std::cmp::Ordering;
use std::iter::Sum;
use std::ops::{Add, Mul, Neg, Sub};

use num_rational::BigRational;

use super::{Exact, Repr, gcd};
use crate::work;

/// Units of work to the square of as many 64-bit words: to reduce a fraction goes
/// over them bit by bit, and takes as long as several steps with curves.
const UNITS_A_SQUARE: u64 = 1;

impl Exact {
    /// `self / other`; `None` if `other` is zero.
    #[must_use]
    pub fn checked_div(&self, other: &Self) -> Option<Self> {
        if let (Repr::Small { num: a, den: b }, Repr::Small { num: c, den: d }) =
            (&self.0, &other.0)
            && *c > 0
        {
            return Some(product(*a, b.get(), d.get(), *c));
        }
        Some(self * &other.recip()?)
    }

    fn to_big(&self) -> Cow<'_, BigRational> {
        match &self.0 {
            Repr::Small { num, den } => {
                Cow::Owned(BigRational::new_raw((*num).into(), den.get().into()))
            }
            Repr::Big(value) => Cow::Borrowed(value),
        }
    }
}

/// Calculates with big numbers. Reducing the result takes the square of their
/// length.
#[cold]
fn grown(
    one: &Exact,
    other: &Exact,
    operation: impl Fn(&BigRational, &BigRational) -> BigRational,
) -> Exact {
    let (one, other) = (one.to_big(), other.to_big());
    let words = |number: &BigRational| (number.numer().bits() + number.denom().bits()) / 64;
    let long = 1 + words(&one) + words(&other);
    work::charge(UNITS_A_SQUARE * long * long + 1);
    Exact::from_big(operation(&one, &other))
}

/// `a/b + c/d`, both reduced, `b` and `d` above zero.
#[inline]
fn sum(a: i64, b: i64, c: i64, d: i64) -> Exact {
    if b == d {
        return match a.checked_add(c) {
            Some(num) if b == 1 => Exact::small(num, 1),
            Some(num) => lowest(num, b, b),
            None => wide_sum(a, b, c, d),
        };
    }
    let common = shared(b, d);
    let (left, right) = match common {
        1 => (b, d),
        _ => (b / common, d / common),
    };
    let num = a
        .checked_mul(right)
        .zip(c.checked_mul(left))
        .and_then(|(a, c)| a.checked_add(c));
    match (num, left.checked_mul(d)) {
        // What is left of the denominators shares nothing with the sum.
        (Some(num), Some(den)) if common == 1 => Exact::small(num, den),
        (Some(num), Some(den)) => lowest(num, den, common),
        _ => wide_sum(a, b, c, d),
    }
}

/// `num/den`, which share no divisor that `hint` does not have.
fn lowest(num: i64, den: i64, hint: i64) -> Exact {
    // A divisor of `hint`, which is above zero and fits.
    match shared(num, hint) {
        1 => Exact::small(num, den),
        common => Exact::small(num / common, den / common),
    }
}

/// The greatest common divisor with a `b` above zero.
fn shared(a: i64, b: i64) -> i64 {
    // At most `b`.
    i64::try_from(gcd::of_i64(a, b)).unwrap_or(1)
}

/// [`sum`] through 128 bits: both products are below 2^126.
#[cold]
fn wide_sum(a: i64, b: i64, c: i64, d: i64) -> Exact {
    let common = i128::from(shared(b, d));
    let (left, right) = (i128::from(b) / common, i128::from(d) / common);
    let num = i128::from(a) * right + i128::from(c) * left;
    // The remainder is below `common`, and fits.
    let rest = i64::try_from(num % common).unwrap_or_default();
    let again = if common == 1 {
        1
    } else {
        i128::from(gcd::of_i64(rest, i64::try_from(common).unwrap_or(1)))
    };
    Exact::wide(num / again, left * (i128::from(d) / again))
}

/// `a/b × c/d`, both reduced, `b` and `d` above zero.
#[inline]
fn product(a: i64, b: i64, c: i64, d: i64) -> Exact {
    let (a, d) = across(a, d);
    let (c, b) = across(c, b);
    match (a.checked_mul(c), b.checked_mul(d)) {
        (Some(num), Some(den)) => Exact::small(num, den),
        _ => Exact::wide(i128::from(a) * i128::from(c), i128::from(b) * i128::from(d)),
    }
}

/// The parts without their common divisor; `den` is above zero.
#[inline]
fn across(num: i64, den: i64) -> (i64, i64) {
    match shared(num, den) {
        1 => (num, den),
        common => (num / common, den / common),
    }
}

impl Add for &Exact {
    type Output = Exact;
    fn add(self, other: &Exact) -> Exact {
        match (&self.0, &other.0) {
            (Repr::Small { num: a, den: b }, Repr::Small { num: c, den: d }) => {
                sum(*a, b.get(), *c, d.get())
            }
            _ => grown(self, other, |a, b| a + b),
        }
    }
}

impl Sub for &Exact {
    type Output = Exact;
    fn sub(self, other: &Exact) -> Exact {
        match (&self.0, &other.0) {
            (Repr::Small { num: a, den: b }, Repr::Small { num: c, den: d }) if *c != i64::MIN => {
                sum(*a, b.get(), -*c, d.get())
            }
            _ => grown(self, other, |a, b| a - b),
        }
    }
}

impl Mul for &Exact {
    type Output = Exact;
    fn mul(self, other: &Exact) -> Exact {
        match (&self.0, &other.0) {
            (Repr::Small { num: a, den: b }, Repr::Small { num: c, den: d }) => {
                product(*a, b.get(), *c, d.get())
            }
            _ => grown(self, other, |a, b| a * b),
        }
    }
}

impl Neg for &Exact {
    type Output = Exact;
    fn neg(self) -> Exact {
        match &self.0 {
            Repr::Small { num, den } => match num.checked_neg() {
                Some(num) => Exact(Repr::Small { num, den: *den }),
                None => Exact::wide(-i128::from(*num), i128::from(den.get())),
            },
            Repr::Big(value) => Exact::from_big(-(**value).clone()),
        }
    }
}

impl Neg for Exact {
    type Output = Exact;
    fn neg(self) -> Exact {
        -&self
    }
}

macro_rules! owned_operators {
    ($($trait:ident $method:ident),*) => {$(
        impl $trait for Exact {
            type Output = Exact;
            fn $method(self, other: Exact) -> Exact {
                $trait::$method(&self, &other)
            }
        }
    )*};
}
owned_operators!(Add add, Sub sub, Mul mul);

impl Sum for Exact {
    fn sum<I: Iterator<Item = Self>>(numbers: I) -> Self {
        numbers.fold(Self::ZERO, |sum, number| sum + number)
    }
}

impl Ord for Exact {
    fn cmp(&self, other: &Self) -> Ordering {
        match (&self.0, &other.0) {
            (Repr::Small { num: a, den: b }, Repr::Small { num: c, den: d }) => {
                if b == d {
                    return a.cmp(c);
                }
                (i128::from(*a) * i128::from(d.get())).cmp(&(i128::from(*c) * i128::from(b.get())))
            }
            _ => {
                // By a division of whole numbers, or several.
                work::charge(2);
                self.to_big().cmp(&other.to_big())
            }
        }
    }
}

impl PartialOrd for Exact {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

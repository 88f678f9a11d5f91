//! Exact rational numbers that grow instead of overflowing.

use std::fmt;
use std::num::NonZeroI64;

use num_bigint::{BigInt, Sign};
use num_rational::BigRational;
use num_traits::{One, ToPrimitive};

mod decimal;
mod gcd;
mod operators;
mod root;
mod rounding;

pub use rounding::Rounding;

/// An exact rational number.
///
/// Values whose reduced numerator and denominator fit in 64 bits are held
/// inline; larger ones grow into a heap-allocated big rational. The form is
/// canonical: two equal numbers are always held the same way, so equality and
/// hashing are structural.
///
/// There is no form in between: of the sums of four times, each a volume over
/// a flow of four digits, some 1 % outgrow 64 bits (counted over 60,000).
#[derive(Clone, PartialEq, Eq, Hash)]
pub struct Exact(Repr);

#[derive(Clone, PartialEq, Eq, Hash)]
enum Repr {
    /// Reduced, with a denominator above zero. That it is never zero leaves
    /// room to tell the forms apart: a number is 16 bytes.
    Small { num: i64, den: NonZeroI64 },
    /// Reduced, and too large for `Small`.
    Big(Box<BigRational>),
}

const _: () = assert!(size_of::<Exact>() == 16);

impl Exact {
    /// Zero.
    pub const ZERO: Self = Self::small(0, 1);
    /// One.
    pub const ONE: Self = Self::small(1, 1);

    /// A whole number.
    #[must_use]
    pub const fn int(value: i64) -> Self {
        Self::small(value, 1)
    }

    /// The fraction `num/den`; `None` if `den` is zero.
    #[must_use]
    pub fn ratio(num: i64, den: i64) -> Option<Self> {
        if den == 0 {
            return None;
        }
        let common = gcd::of_i64(num, den);
        let (num, den) = if common > 1 {
            // A common divisor of 2^63 is no i64: both are `i64::MIN`.
            let Ok(common) = i64::try_from(common) else {
                return Some(Self::ONE);
            };
            (num / common, den / common)
        } else {
            (num, den)
        };
        if den > 0 {
            return Some(Self::small(num, den));
        }
        match (num.checked_neg(), den.checked_neg()) {
            (Some(num), Some(den)) => Some(Self::small(num, den)),
            _ => Some(Self::wide(-i128::from(num), -i128::from(den))),
        }
    }

    /// Both parts reduced, `den` above zero.
    const fn small(num: i64, den: i64) -> Self {
        let den = match NonZeroI64::new(den) {
            Some(den) => den,
            // No caller has it.
            None => NonZeroI64::MIN,
        };
        Self(Repr::Small { num, den })
    }

    /// Both parts reduced, `den` above zero; grows where they do not fit.
    fn wide(num: i128, den: i128) -> Self {
        match (i64::try_from(num), i64::try_from(den)) {
            (Ok(num), Ok(den)) => Self::small(num, den),
            _ => Self::grown(num, den),
        }
    }

    #[cold]
    fn grown(num: i128, den: i128) -> Self {
        Self(Repr::Big(Box::new(BigRational::new_raw(
            num.into(),
            den.into(),
        ))))
    }

    /// From a reduced big rational.
    fn from_big(value: BigRational) -> Self {
        match (value.numer().to_i64(), value.denom().to_i64()) {
            (Some(num), Some(den)) => Self::small(num, den),
            _ => Self(Repr::Big(Box::new(value))),
        }
    }

    /// `10^exponent`, for a negative exponent its reciprocal. It takes as
    /// many digits as the exponent says.
    #[must_use]
    pub fn ten_to(exponent: i32) -> Self {
        let power = exponent.unsigned_abs();
        if power <= 18 {
            let ten = 10_i64.pow(power);
            return if exponent < 0 {
                Self::small(1, ten)
            } else {
                Self::small(ten, 1)
            };
        }
        let ten = BigInt::from(10).pow(power);
        Self::from_big(if exponent < 0 {
            BigRational::new_raw(BigInt::one(), ten)
        } else {
            BigRational::from(ten)
        })
    }

    /// Whether the number is zero.
    #[must_use]
    pub fn is_zero(&self) -> bool {
        matches!(self.0, Repr::Small { num: 0, .. })
    }

    /// -1, 0 or 1.
    #[must_use]
    pub fn signum(&self) -> i8 {
        match &self.0 {
            Repr::Small { num, .. } => i8::from(*num > 0) - i8::from(*num < 0),
            Repr::Big(value) => match value.numer().sign() {
                Sign::Minus => -1,
                Sign::NoSign => 0,
                Sign::Plus => 1,
            },
        }
    }

    /// Whether the number is above zero.
    #[must_use]
    pub fn is_positive(&self) -> bool {
        self.signum() > 0
    }

    /// Whether the number is below zero.
    #[must_use]
    pub fn is_negative(&self) -> bool {
        self.signum() < 0
    }

    /// Whether the number is whole.
    #[must_use]
    pub fn is_whole(&self) -> bool {
        match &self.0 {
            Repr::Small { den, .. } => den.get() == 1,
            Repr::Big(value) => value.is_integer(),
        }
    }

    /// The distance from zero.
    #[must_use]
    pub fn abs(&self) -> Self {
        if self.is_negative() {
            -self
        } else {
            self.clone()
        }
    }

    /// `1 / self`; `None` for zero.
    #[must_use]
    pub fn recip(&self) -> Option<Self> {
        match &self.0 {
            Repr::Small { num: 0, .. } => None,
            Repr::Small { num, den } if *num > 0 => Some(Self::small(den.get(), *num)),
            Repr::Small { num, den } => Some(match num.checked_neg() {
                Some(num) => Self::small(-den.get(), num),
                None => Self::wide(-i128::from(den.get()), -i128::from(*num)),
            }),
            Repr::Big(value) => Some(Self::from_big(value.recip())),
        }
    }

    /// The smaller of two.
    #[must_use]
    pub fn min(self, other: Self) -> Self {
        if other < self { other } else { self }
    }

    /// The larger of two.
    #[must_use]
    pub fn max(self, other: Self) -> Self {
        if other > self { other } else { self }
    }

    /// `self^exponent`.
    #[must_use]
    pub fn pow(&self, exponent: u32) -> Self {
        let mut power = Self::ONE;
        for bit in (0..u32::BITS - exponent.leading_zeros()).rev() {
            power = &power * &power;
            if exponent & (1 << bit) != 0 {
                power = &power * self;
            }
        }
        power
    }

    /// The whole value as a 64-bit number, if it is whole and fits.
    #[must_use]
    pub fn to_i64(&self) -> Option<i64> {
        match &self.0 {
            Repr::Small { num, den } if den.get() == 1 => Some(*num),
            _ => None,
        }
    }

    /// Numerator and denominator in decimal digits, the sign on the numerator.
    #[must_use]
    pub fn to_parts(&self) -> (String, String) {
        match &self.0 {
            Repr::Small { num, den } => (num.to_string(), den.to_string()),
            Repr::Big(value) => (value.numer().to_string(), value.denom().to_string()),
        }
    }

    /// The fraction: `21/8`, or `3` if whole.
    pub(crate) fn fraction(&self) -> String {
        let (num, den) = self.to_parts();
        if den == "1" {
            return num;
        }
        format!("{num}/{den}")
    }
}

impl Default for Exact {
    fn default() -> Self {
        Self::ZERO
    }
}

impl From<i64> for Exact {
    fn from(value: i64) -> Self {
        Self::int(value)
    }
}

/// The fraction: `21/8`, or `3` if whole. There is no `Display`: a person reads
/// a number in the style of a house ([`crate::print`]), a program reads
/// [`crate::machine`]'s.
impl fmt::Debug for Exact {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.fraction())
    }
}

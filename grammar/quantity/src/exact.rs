//! Exact rational numbers that grow instead of overflowing.

use std::cmp::Ordering;
use std::fmt;
use std::hash::{Hash, Hasher};
use std::ops::{Add, Mul, Neg, Sub};

use num_bigint::{BigInt, Sign};
use num_integer::Integer;
use num_rational::BigRational;
use num_traits::{One, ToPrimitive, Zero};

mod root;

/// An exact rational number.
///
/// Values whose reduced numerator and denominator fit in 64 bits are held
/// inline; larger ones grow into a heap-allocated big rational. The form is
/// canonical: two equal numbers are always held the same way, so equality and
/// hashing are structural.
#[derive(Clone)]
pub struct Exact(Repr);

#[derive(Clone)]
enum Repr {
    /// Reduced, with a positive denominator.
    Small { num: i64, den: i64 },
    /// Reduced, and too large for `Small`.
    Big(Box<BigRational>),
}

impl Exact {
    /// Zero.
    pub const ZERO: Self = Self(Repr::Small { num: 0, den: 1 });
    /// One.
    pub const ONE: Self = Self(Repr::Small { num: 1, den: 1 });

    /// A whole number.
    #[must_use]
    pub const fn int(value: i64) -> Self {
        if value == i64::MIN {
            // Kept out of the inline form so that negation cannot overflow;
            // no unit or constant of the tool comes near it.
            return Self(Repr::Small {
                num: i64::MIN + 1,
                den: 1,
            });
        }
        Self(Repr::Small { num: value, den: 1 })
    }

    /// The fraction `num/den`; `None` if `den` is zero.
    #[must_use]
    pub fn ratio(num: i64, den: i64) -> Option<Self> {
        if den == 0 {
            None
        } else {
            Some(Self::from_i128(i128::from(num), i128::from(den)))
        }
    }

    /// `num / den` for wide intermediates. `den` must not be zero.
    fn from_i128(num: i128, den: i128) -> Self {
        debug_assert!(den != 0, "a denominator of zero");
        // Most fit into 64 bits even before they are reduced: several times
        // faster than wide divisions.
        if let (Ok(small_num), Ok(small_den)) = (i64::try_from(num), i64::try_from(den))
            && small_num != i64::MIN
            && small_den > 0
        {
            let gcd = small_num.gcd(&small_den);
            return Self(Repr::Small {
                num: small_num / gcd,
                den: small_den / gcd,
            });
        }
        let (mut num, mut den) = if den == 1 {
            (num, den)
        } else {
            let gcd = gcd(num.unsigned_abs(), den.unsigned_abs());
            match i128::try_from(gcd) {
                Ok(gcd) if gcd > 1 => (num / gcd, den / gcd),
                _ => (num, den),
            }
        };
        if den < 0 {
            match (num.checked_neg(), den.checked_neg()) {
                (Some(n), Some(d)) => (num, den) = (n, d),
                _ => return Self::from_big(BigRational::new(num.into(), den.into())),
            }
        }
        match (i64::try_from(num), i64::try_from(den)) {
            (Ok(num), Ok(den)) if num != i64::MIN => Self(Repr::Small { num, den }),
            _ => Self(Repr::Big(Box::new(BigRational::new_raw(
                num.into(),
                den.into(),
            )))),
        }
    }

    /// From a reduced big rational.
    fn from_big(value: BigRational) -> Self {
        match (value.numer().to_i64(), value.denom().to_i64()) {
            (Some(num), Some(den)) if num != i64::MIN => Self(Repr::Small { num, den }),
            _ => Self(Repr::Big(Box::new(value))),
        }
    }

    fn to_big(&self) -> BigRational {
        match &self.0 {
            Repr::Small { num, den } => BigRational::new_raw((*num).into(), (*den).into()),
            Repr::Big(value) => (**value).clone(),
        }
    }

    /// `10^exponent`, for a negative exponent its reciprocal.
    #[must_use]
    pub fn ten_to(exponent: i32) -> Self {
        let power = exponent.unsigned_abs();
        if power <= 18 {
            let ten = 10_i64.pow(power);
            let (num, den) = if exponent < 0 { (1, ten) } else { (ten, 1) };
            return Self(Repr::Small { num, den });
        }
        let ten = BigInt::from(10).pow(power);
        Self::from_big(if exponent < 0 {
            BigRational::new(BigInt::one(), ten)
        } else {
            BigRational::from(ten)
        })
    }

    /// The number of plain decimal digits with an optional point (`12`,
    /// `0.05`); `None` for anything else. The length is not bounded here.
    #[must_use]
    pub fn parse_decimal(text: &str) -> Option<Self> {
        let (whole, fraction) = text.split_once('.').unwrap_or((text, ""));
        let digits_only = |part: &str| part.bytes().all(|byte| byte.is_ascii_digit());
        if whole.is_empty() || !digits_only(whole) || !digits_only(fraction) {
            return None;
        }
        if text.ends_with('.') {
            return None;
        }
        if whole.len() + fraction.len() <= 18 {
            let mut num = 0_i64;
            for byte in whole.bytes().chain(fraction.bytes()) {
                num = num * 10 + i64::from(byte - b'0');
            }
            let den = 10_i64.pow(u32::try_from(fraction.len()).ok()?);
            return Self::ratio(num, den);
        }
        let digits = [whole, fraction].concat();
        let num = BigInt::parse_bytes(digits.as_bytes(), 10)?;
        let den = BigInt::from(10).pow(u32::try_from(fraction.len()).ok()?);
        Some(Self::from_big(BigRational::new(num, den)))
    }

    /// Whether the number is zero.
    #[must_use]
    pub fn is_zero(&self) -> bool {
        matches!(self.0, Repr::Small { num: 0, .. })
    }

    /// -1, 0 or 1.
    #[must_use]
    pub fn signum(&self) -> i8 {
        let sign = match &self.0 {
            Repr::Small { num, .. } => num.signum(),
            Repr::Big(value) => match value.numer().sign() {
                Sign::Minus => -1,
                Sign::NoSign => 0,
                Sign::Plus => 1,
            },
        };
        if sign < 0 { -1 } else { i8::from(sign > 0) }
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
            Repr::Small { den, .. } => *den == 1,
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
            Repr::Small { num, den } if *num > 0 => Some(Self(Repr::Small {
                num: *den,
                den: *num,
            })),
            Repr::Small { num, den } => Some(Self(Repr::Small {
                num: -den,
                den: -num,
            })),
            Repr::Big(value) => Some(Self::from_big(value.recip())),
        }
    }

    /// `self / other`; `None` if `other` is zero.
    #[must_use]
    pub fn checked_div(&self, other: &Self) -> Option<Self> {
        Some(self * &other.recip()?)
    }

    /// The greatest whole number not above this one.
    #[must_use]
    pub fn floor(&self) -> Self {
        match &self.0 {
            Repr::Small { num, den } => Self(Repr::Small {
                num: Integer::div_floor(num, den),
                den: 1,
            }),
            Repr::Big(value) => Self::from_big(value.floor()),
        }
    }

    /// The least whole number not below this one.
    #[must_use]
    pub fn ceil(&self) -> Self {
        -&(-self).floor()
    }

    /// The nearest whole number, halves away from zero for numbers above zero
    /// (half up).
    #[must_use]
    pub fn round_half_up(&self) -> Self {
        (self + &Self(Repr::Small { num: 1, den: 2 })).floor()
    }

    /// This number rounded to a whole multiple of `step` (above zero).
    #[must_use]
    pub fn round_to(&self, step: &Self, rounding: Rounding) -> Self {
        let Some(count) = self.checked_div(step) else {
            return self.clone();
        };
        &rounding.apply(&count) * step
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
        (0..exponent).fold(Self::ONE, |power, _| &power * self)
    }

    /// The whole value as a 64-bit number, if it is whole and fits.
    #[must_use]
    pub fn to_i64(&self) -> Option<i64> {
        match &self.0 {
            Repr::Small { num, den: 1 } => Some(*num),
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

    /// The power of ten of the first digit: 0 for 5, 3 for 1,234, -2 for
    /// 0.05; `None` for zero.
    #[must_use]
    pub fn magnitude(&self) -> Option<i32> {
        if self.is_zero() {
            return None;
        }
        let digits = |text: &str| i32::try_from(text.trim_start_matches('-').len()).ok();
        let (num, den) = self.to_parts();
        let power = digits(&num)? - digits(&den)?;
        // n digits over d digits begin at 10^(n - d) or one below it.
        if self.abs() >= Self::ten_to(power) {
            Some(power)
        } else {
            Some(power - 1)
        }
    }

    /// The number of decimals after which the decimal form ends, or `None` if
    /// it never does (a third).
    #[must_use]
    pub fn decimals(&self) -> Option<u32> {
        let mut rest = match &self.0 {
            Repr::Small { den, .. } => BigInt::from(*den),
            Repr::Big(value) => value.denom().clone(),
        };
        let mut count = |prime: u32| {
            let mut times = 0_u32;
            while (&rest % prime).is_zero() {
                rest /= prime;
                times += 1;
            }
            times
        };
        let decimals = count(2).max(count(5));
        rest.is_one().then_some(decimals)
    }
}

/// The greatest common divisor: 64-bit steps where both fit, for speed.
fn gcd(a: u128, b: u128) -> u128 {
    match (u64::try_from(a), u64::try_from(b)) {
        (Ok(a), Ok(b)) => u128::from(a.gcd(&b)),
        _ => a.gcd(&b),
    }
}

/// Which way a number is rounded.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Rounding {
    /// To the nearest, halves up.
    HalfUp,
    /// Towards the smaller number.
    Down,
    /// Towards the larger number.
    Up,
}

impl Rounding {
    /// The whole number that the value is rounded to.
    #[must_use]
    pub fn apply(self, value: &Exact) -> Exact {
        match self {
            Self::HalfUp => value.round_half_up(),
            Self::Down => value.floor(),
            Self::Up => value.ceil(),
        }
    }
}

impl Add for &Exact {
    type Output = Exact;
    fn add(self, other: &Exact) -> Exact {
        match (&self.0, &other.0) {
            (Repr::Small { num: a, den: b }, Repr::Small { num: c, den: d }) => {
                let (a, b, c, d) = (
                    i128::from(*a),
                    i128::from(*b),
                    i128::from(*c),
                    i128::from(*d),
                );
                // |a·d + c·b| < 2^127: both products are below 2^126.
                if b == d {
                    Exact::from_i128(a + c, b)
                } else {
                    Exact::from_i128(a * d + c * b, b * d)
                }
            }
            _ => Exact::from_big(self.to_big() + other.to_big()),
        }
    }
}

impl Neg for &Exact {
    type Output = Exact;
    fn neg(self) -> Exact {
        match &self.0 {
            // `i64::MIN` is never held inline.
            Repr::Small { num, den } => Exact(Repr::Small {
                num: -num,
                den: *den,
            }),
            Repr::Big(value) => Exact::from_big(-(**value).clone()),
        }
    }
}

impl Sub for &Exact {
    type Output = Exact;
    fn sub(self, other: &Exact) -> Exact {
        self + &-other
    }
}

impl Mul for &Exact {
    type Output = Exact;
    fn mul(self, other: &Exact) -> Exact {
        match (&self.0, &other.0) {
            (Repr::Small { num: a, den: b }, Repr::Small { num: c, den: d }) => {
                if *b == 1 && *d == 1 {
                    return Exact::from_i128(i128::from(*a) * i128::from(*c), 1);
                }
                Exact::from_i128(
                    i128::from(*a) * i128::from(*c),
                    i128::from(*b) * i128::from(*d),
                )
            }
            _ => Exact::from_big(self.to_big() * other.to_big()),
        }
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

impl PartialEq for Exact {
    fn eq(&self, other: &Self) -> bool {
        match (&self.0, &other.0) {
            (Repr::Small { num: a, den: b }, Repr::Small { num: c, den: d }) => a == c && b == d,
            (Repr::Big(a), Repr::Big(b)) => a == b,
            _ => false,
        }
    }
}

impl Eq for Exact {}

impl Hash for Exact {
    fn hash<H: Hasher>(&self, state: &mut H) {
        match &self.0 {
            Repr::Small { num, den } => (num, den).hash(state),
            Repr::Big(value) => value.hash(state),
        }
    }
}

impl Ord for Exact {
    fn cmp(&self, other: &Self) -> Ordering {
        match (&self.0, &other.0) {
            (Repr::Small { num: a, den: b }, Repr::Small { num: c, den: d }) => {
                (i128::from(*a) * i128::from(*d)).cmp(&(i128::from(*c) * i128::from(*b)))
            }
            _ => self.to_big().cmp(&other.to_big()),
        }
    }
}

impl PartialOrd for Exact {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Default for Exact {
    fn default() -> Self {
        Self::ZERO
    }
}

impl From<i64> for Exact {
    fn from(value: i64) -> Self {
        Self::from_i128(i128::from(value), 1)
    }
}

/// The fraction: `21/8`, or `3` if whole.
impl fmt::Display for Exact {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &self.0 {
            Repr::Small { num, den: 1 } => write!(f, "{num}"),
            Repr::Small { num, den } => write!(f, "{num}/{den}"),
            Repr::Big(value) => write!(f, "{value}"),
        }
    }
}

impl fmt::Debug for Exact {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

//! Decimal digits in, and how many there are out.

use num_bigint::BigInt;
use num_integer::Integer;
use num_rational::BigRational;
use num_traits::{One, Zero};

use super::{Exact, Repr};

impl Exact {
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

    /// The power of ten of the first digit: 0 for 5, 3 for 1,234, -2 for
    /// 0.05; `None` for zero.
    #[must_use]
    pub fn magnitude(&self) -> Option<i32> {
        if self.is_zero() {
            return None;
        }
        let power = match &self.0 {
            Repr::Small { num, den } => {
                let digits = |part: u64| i32::try_from(part.ilog10()).ok();
                digits(num.unsigned_abs())? - digits(den.get().unsigned_abs())?
            }
            Repr::Big(value) => {
                let digits = |part: &BigInt| i32::try_from(part.magnitude().to_string().len()).ok();
                digits(value.numer())? - digits(value.denom())?
            }
        };
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
        match &self.0 {
            Repr::Small { den, .. } => {
                let twos = den.trailing_zeros();
                let mut rest = den.get() >> twos;
                let mut fives = 0;
                while rest % 5 == 0 {
                    rest /= 5;
                    fives += 1;
                }
                (rest == 1).then_some(twos.max(fives))
            }
            Repr::Big(value) => {
                let den = value.denom();
                let twos = u32::try_from(den.trailing_zeros().unwrap_or(0)).ok()?;
                let (fives, rest) = fives(den >> twos);
                rest.is_one().then_some(twos.max(fives))
            }
        }
    }
}

/// How many times 5 divides a number above zero, and what is left. By the
/// powers 5, 25, 625 … up and down again: a few divisions for many fives.
fn fives(mut rest: BigInt) -> (u32, BigInt) {
    let mut powers = vec![BigInt::from(5)];
    let mut count = 0;
    while let Some(power) = powers.last() {
        let (quotient, remainder) = rest.div_rem(power);
        if !remainder.is_zero() {
            break;
        }
        count += 1 << (powers.len() - 1);
        rest = quotient;
        let square = power * power;
        powers.push(square);
    }
    for (place, power) in powers.iter().enumerate().rev() {
        let (quotient, remainder) = rest.div_rem(power);
        if remainder.is_zero() {
            count += 1 << place;
            rest = quotient;
        }
    }
    (count, rest)
}

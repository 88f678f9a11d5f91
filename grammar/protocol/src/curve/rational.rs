//! Quotients of polynomials, in lowest terms.

use gutta_quantity::Exact;

use super::polynomial::Polynomial;

/// Beyond this degree there is no result: no order comes near it, and the
/// work stays bounded.
const HIGHEST_DEGREE: usize = 64;

/// `coefficient · x^power · num / den`, held in one way only, so that equality
/// is structural: `num` and `den` have highest coefficient 1, a constant term
/// that is not zero, and no common factor. Zero has power 0 and no factor.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Rational {
    pub(super) coefficient: Exact,
    pub(super) power: i32,
    /// `None` for a plain power of x, as nearly all are.
    pub(super) factor: Option<Box<Factor>>,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Factor {
    pub(super) num: Polynomial,
    pub(super) den: Polynomial,
}

impl Rational {
    pub(super) fn constant(value: Exact) -> Self {
        Self {
            coefficient: value,
            power: 0,
            factor: None,
        }
    }

    /// `coefficient · x^power`.
    pub(super) fn monomial(coefficient: Exact, power: i32) -> Self {
        let power = if coefficient.is_zero() { 0 } else { power };
        Self {
            coefficient,
            power,
            factor: None,
        }
    }

    pub(super) fn is_zero(&self) -> bool {
        self.coefficient.is_zero()
    }

    /// The value, where it is the same everywhere.
    pub(super) fn as_constant(&self) -> Option<&Exact> {
        (self.power == 0 && self.factor.is_none()).then_some(&self.coefficient)
    }

    /// The monic numerator, without its factors `x`.
    pub(super) fn num(&self) -> Polynomial {
        self.factor
            .as_ref()
            .map_or_else(Polynomial::one, |factor| factor.num.clone())
    }

    /// The monic denominator, without its factors `x`.
    pub(super) fn den(&self) -> Polynomial {
        self.factor
            .as_ref()
            .map_or_else(Polynomial::one, |factor| factor.den.clone())
    }

    /// In lowest terms; `den` is monic with a constant term that is not zero.
    fn reduced(power: i32, num: Polynomial, den: Polynomial) -> Option<Self> {
        let (zeros, num) = num.strip();
        let (coefficient, num) = num.monic();
        if coefficient.is_zero() {
            return Some(Self::constant(Exact::ZERO));
        }
        let (num, den) = cancel(num, den);
        Self::held(
            coefficient,
            power.checked_add(i32::try_from(zeros).ok()?)?,
            num,
            den,
        )
    }

    /// From parts already in lowest terms.
    fn held(coefficient: Exact, power: i32, num: Polynomial, den: Polynomial) -> Option<Self> {
        if !is_within_bounds(num.degree().max(den.degree()), power) {
            return None;
        }
        let plain = num.is_constant() && den.is_constant();
        Some(Self {
            coefficient,
            power,
            factor: (!plain).then(|| Box::new(Factor { num, den })),
        })
    }

    pub(super) fn add(&self, other: &Self) -> Option<Self> {
        if self.is_zero() {
            return Some(other.clone());
        }
        if other.is_zero() {
            return Some(self.clone());
        }
        if self.power == other.power && self.factor == other.factor {
            let coefficient = &self.coefficient + &other.coefficient;
            return Some(if coefficient.is_zero() {
                Self::constant(Exact::ZERO)
            } else {
                Self {
                    coefficient,
                    power: self.power,
                    factor: self.factor.clone(),
                }
            });
        }
        let power = self.power.min(other.power);
        if self.factor.is_none() && other.factor.is_none() && self.power.abs_diff(other.power) == 1
        {
            // Already in lowest terms: the usual way to a linear function.
            let (high, low) = if self.power > other.power {
                (self, other)
            } else {
                (other, self)
            };
            let start = low.coefficient.checked_div(&high.coefficient)?;
            return Some(Self {
                coefficient: high.coefficient.clone(),
                power,
                factor: Some(Box::new(Factor {
                    num: Polynomial::linear(start, Exact::ONE),
                    den: Polynomial::one(),
                })),
            });
        }
        let top = |each: &Self| -> Option<Polynomial> {
            let extra = usize::try_from(each.power.checked_sub(power)?).ok()?;
            if extra > HIGHEST_DEGREE {
                return None;
            }
            Some(match &each.factor {
                None => Polynomial::monomial(each.coefficient.clone(), extra),
                Some(factor) => factor.num.scale(&each.coefficient).raise(extra),
            })
        };
        let (a, b) = (top(self)?, top(other)?);
        let (num, den) = match (&self.factor, &other.factor) {
            (None, None) => (a.add(&b), Polynomial::one()),
            (Some(first), Some(second)) if first.den == second.den => {
                (a.add(&b), first.den.clone())
            }
            _ => {
                let (first, second) = (self.den(), other.den());
                (a.mul(&second).add(&b.mul(&first)), first.mul(&second))
            }
        };
        Self::reduced(power, num, den)
    }

    pub(super) fn sub(&self, other: &Self) -> Option<Self> {
        self.add(&other.scale(&Exact::int(-1)))
    }

    pub(super) fn scale(&self, by: &Exact) -> Self {
        if by.is_zero() {
            return Self::constant(Exact::ZERO);
        }
        Self {
            coefficient: &self.coefficient * by,
            power: self.power,
            factor: self.factor.clone(),
        }
    }

    pub(super) fn mul(&self, other: &Self) -> Option<Self> {
        let coefficient = &self.coefficient * &other.coefficient;
        if coefficient.is_zero() {
            return Some(Self::constant(Exact::ZERO));
        }
        let power = self.power.checked_add(other.power)?;
        let (num, den) = match (&self.factor, &other.factor) {
            (None, None) => {
                return is_within_bounds(0, power).then_some(Self {
                    coefficient,
                    power,
                    factor: None,
                });
            }
            (Some(factor), None) | (None, Some(factor)) => (factor.num.clone(), factor.den.clone()),
            (Some(first), Some(second)) => {
                let (a, d) = cancel(first.num.clone(), second.den.clone());
                let (b, c) = cancel(second.num.clone(), first.den.clone());
                (a.mul(&b), c.mul(&d))
            }
        };
        Self::held(coefficient, power, num, den)
    }

    /// `1 / self`; `None` for zero.
    pub(super) fn recip(&self) -> Option<Self> {
        Some(Self {
            coefficient: self.coefficient.recip()?,
            power: -self.power,
            factor: self.factor.as_ref().map(|factor| {
                Box::new(Factor {
                    num: factor.den.clone(),
                    den: factor.num.clone(),
                })
            }),
        })
    }

    /// The value at `x`; `None` where it has none.
    pub(super) fn at(&self, x: &Exact) -> Option<Exact> {
        let mut value = match self.power {
            0 => self.coefficient.clone(),
            1 => &self.coefficient * x,
            power => {
                let power_of = x.pow(power.unsigned_abs());
                if power > 0 {
                    &self.coefficient * &power_of
                } else {
                    self.coefficient.checked_div(&power_of)?
                }
            }
        };
        if let Some(factor) = &self.factor {
            if !factor.num.is_constant() {
                value = &value * &factor.num.at(x);
            }
            if !factor.den.is_constant() {
                value = value.checked_div(&factor.den.at(x))?;
            }
        }
        Some(value)
    }
}

fn is_within_bounds(degree: usize, power: i32) -> bool {
    let size = usize::try_from(power.unsigned_abs());
    degree <= HIGHEST_DEGREE && size.is_ok_and(|size| size <= HIGHEST_DEGREE)
}

/// Both without their common factors. Both are monic.
fn cancel(num: Polynomial, den: Polynomial) -> (Polynomial, Polynomial) {
    if num.is_constant() || den.is_constant() {
        return (num, den);
    }
    if num == den {
        return (Polynomial::one(), Polynomial::one());
    }
    if num.degree() == 1 && den.degree() == 1 {
        return (num, den);
    }
    let common = num.gcd(&den);
    if common.is_constant() {
        return (num, den);
    }
    (num.div_rem(&common).0, den.div_rem(&common).0)
}

//! The parts of a fraction, and roots where they are exact.

use num_bigint::BigInt;
use num_rational::BigRational;

use super::{Exact, Repr};

impl Exact {
    /// The numerator of the reduced fraction, with the sign.
    #[must_use]
    pub fn numerator(&self) -> Self {
        match &self.0 {
            Repr::Small { num, .. } => Self::int(*num),
            Repr::Big(value) => Self::from_big(BigRational::from(value.numer().clone())),
        }
    }

    /// The denominator of the reduced fraction, above zero.
    #[must_use]
    pub fn denominator(&self) -> Self {
        match &self.0 {
            Repr::Small { den, .. } => Self::int(den.get()),
            Repr::Big(value) => Self::from_big(BigRational::from(value.denom().clone())),
        }
    }

    /// The square root from zero up; `None` where it is not rational, or the
    /// number is below zero.
    #[must_use]
    pub fn sqrt(&self) -> Option<Self> {
        if self.is_negative() {
            return None;
        }
        match &self.0 {
            Repr::Small { num, den } => {
                let root = |square: i64| {
                    let root = square.isqrt();
                    (root * root == square).then_some(root)
                };
                Self::ratio(root(*num)?, root(den.get())?)
            }
            Repr::Big(value) => {
                let root = |square: &BigInt| {
                    let root = square.sqrt();
                    (&root * &root == *square).then_some(root)
                };
                let (num, den) = (root(value.numer())?, root(value.denom())?);
                Some(Self::from_big(BigRational::new(num, den)))
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn parts_and_roots() {
        let number = |num, den| Exact::ratio(num, den).unwrap_or_default();
        assert_eq!(number(-6, 8).numerator(), Exact::int(-3));
        assert_eq!(number(-6, 8).denominator(), Exact::int(4));
        assert_eq!(number(9, 4).sqrt(), Some(number(3, 2)));
        assert_eq!(Exact::ZERO.sqrt(), Some(Exact::ZERO));
        assert_eq!(Exact::int(2).sqrt(), None);
        assert_eq!(Exact::int(-4).sqrt(), None);
        let large = Exact::ten_to(41);
        let square = &large * &large;
        assert_eq!(square.sqrt(), Some(large));
        assert_eq!((&square + &Exact::ONE).sqrt(), None);
        assert_eq!(
            square.recip().and_then(|tiny| tiny.sqrt()),
            Some(Exact::ten_to(-41))
        );
    }
}

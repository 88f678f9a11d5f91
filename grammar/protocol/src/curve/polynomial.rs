//! Polynomials in one variable with exact coefficients.

use gutta_quantity::{Exact, work};
use smallvec::{SmallVec, smallvec};

/// A polynomial, its coefficients from the constant term up. The last one is
/// never zero, so that zero itself has none.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub(super) struct Polynomial(SmallVec<[Exact; 2]>);

impl Polynomial {
    pub(super) fn zero() -> Self {
        Self(SmallVec::new())
    }

    pub(super) fn one() -> Self {
        Self(smallvec![Exact::ONE])
    }

    /// From coefficients, the constant term first.
    pub(super) fn new(coefficients: SmallVec<[Exact; 2]>) -> Self {
        let mut polynomial = Self(coefficients);
        while polynomial.0.last().is_some_and(Exact::is_zero) {
            polynomial.0.pop();
        }
        polynomial
    }

    /// `coefficient · x^power`.
    pub(super) fn monomial(coefficient: Exact, power: usize) -> Self {
        let mut coefficients: SmallVec<[Exact; 2]> = smallvec![Exact::ZERO; power];
        coefficients.push(coefficient);
        Self::new(coefficients)
    }

    /// `slope · x + start`.
    pub(super) fn linear(start: Exact, slope: Exact) -> Self {
        Self::new(smallvec![start, slope])
    }

    pub(super) fn is_zero(&self) -> bool {
        self.0.is_empty()
    }

    /// Whether it is a number (zero counts).
    pub(super) fn is_constant(&self) -> bool {
        self.0.len() <= 1
    }

    /// The degree; 0 for zero too.
    pub(super) fn degree(&self) -> usize {
        self.0.len().saturating_sub(1)
    }

    /// The coefficients, the constant term first.
    pub(super) fn coefficients(&self) -> &[Exact] {
        &self.0
    }

    /// The coefficient of the highest power; zero for zero.
    pub(super) fn lead(&self) -> Exact {
        self.0.last().cloned().unwrap_or_default()
    }

    /// The value at `x`.
    pub(super) fn at(&self, x: &Exact) -> Exact {
        let mut coefficients = self.0.iter().rev();
        let mut value = coefficients.next().cloned().unwrap_or_default();
        for coefficient in coefficients {
            value = &(&value * x) + coefficient;
        }
        value
    }

    /// -1, 0 or 1: the sign of the value at `x`.
    pub(super) fn sign_at(&self, x: &Exact) -> i8 {
        match self.0.as_slice() {
            [] => 0,
            [only] => only.signum(),
            _ => self.at(x).signum(),
        }
    }

    /// Bounds of all its values on `[lo, hi]`; they close in on the value as
    /// the interval narrows.
    pub(super) fn enclose(&self, lo: &Exact, hi: &Exact) -> (Exact, Exact) {
        let mut bounds = (Exact::ZERO, Exact::ZERO);
        for coefficient in self.0.iter().rev() {
            let (low, high) = multiply_bounds(&bounds, &(lo.clone(), hi.clone()));
            bounds = (&low + coefficient, &high + coefficient);
        }
        bounds
    }

    pub(super) fn add(&self, other: &Self) -> Self {
        let (long, short) = if self.0.len() >= other.0.len() {
            (self, other)
        } else {
            (other, self)
        };
        let mut sum = long.0.clone();
        for (coefficient, more) in sum.iter_mut().zip(&short.0) {
            *coefficient = &*coefficient + more;
        }
        Self::new(sum)
    }

    pub(super) fn sub(&self, other: &Self) -> Self {
        self.add(&other.scale(&Exact::int(-1)))
    }

    pub(super) fn mul(&self, other: &Self) -> Self {
        if self.is_zero() || other.is_zero() {
            return Self::zero();
        }
        if let [only] = self.0.as_slice() {
            return other.scale(only);
        }
        if let [only] = other.0.as_slice() {
            return self.scale(only);
        }
        work::charge_each(self.0.len() * other.0.len());
        let mut product: SmallVec<[Exact; 2]> =
            smallvec![Exact::ZERO; self.0.len() + other.0.len() - 1];
        for (i, a) in self.0.iter().enumerate() {
            for (slot, b) in product.iter_mut().skip(i).zip(&other.0) {
                *slot = &*slot + &(a * b);
            }
        }
        Self::new(product)
    }

    pub(super) fn scale(&self, factor: &Exact) -> Self {
        if *factor == Exact::ONE {
            return self.clone();
        }
        Self::new(self.0.iter().map(|each| each * factor).collect())
    }

    /// Times `x^power`.
    pub(super) fn raise(&self, power: usize) -> Self {
        if power == 0 || self.is_zero() {
            return self.clone();
        }
        let mut coefficients: SmallVec<[Exact; 2]> = smallvec![Exact::ZERO; power];
        coefficients.extend(self.0.iter().cloned());
        Self(coefficients)
    }

    /// Itself without the factors `x`, and how many there were.
    pub(super) fn strip(self) -> (usize, Self) {
        let zeros = self.0.iter().take_while(|each| each.is_zero()).count();
        if zeros == 0 {
            return (0, self);
        }
        (zeros, Self(self.0.into_iter().skip(zeros).collect()))
    }

    /// Its highest coefficient, and itself divided by that. Zero stays zero.
    pub(super) fn monic(self) -> (Exact, Self) {
        let lead = self.lead();
        if lead == Exact::ONE {
            return (lead, self);
        }
        match lead.recip() {
            Some(factor) => {
                let polynomial = self.scale(&factor);
                (lead, polynomial)
            }
            None => (lead, self),
        }
    }

    pub(super) fn derivative(&self) -> Self {
        let terms = (1_i64..).zip(self.0.iter().skip(1));
        Self::new(
            terms
                .map(|(power, each)| &Exact::int(power) * each)
                .collect(),
        )
    }

    /// Quotient and remainder. By zero: nothing, and itself as remainder.
    pub(super) fn div_rem(&self, divisor: &Self) -> (Self, Self) {
        let Some(factor) = divisor.lead().recip() else {
            return (Self::zero(), self.clone());
        };
        let Some(steps) = self.0.len().checked_sub(divisor.0.len()) else {
            return (Self::zero(), self.clone());
        };
        work::charge_each(1 + steps * divisor.0.len());
        let mut rest = self.0.clone();
        let mut quotient: SmallVec<[Exact; 2]> = smallvec![Exact::ZERO; steps + 1];
        for (place, slot) in quotient.iter_mut().enumerate().rev() {
            let Some(lead) = rest.pop() else { break };
            *slot = &lead * &factor;
            if !slot.is_zero() {
                for (target, each) in rest.iter_mut().skip(place).zip(&divisor.0) {
                    *target = &*target - &(&*slot * each);
                }
            }
        }
        (Self::new(quotient), Self::new(rest))
    }

    /// The greatest common divisor, with highest coefficient 1 (zero only if
    /// both are zero).
    pub(super) fn gcd(&self, other: &Self) -> Self {
        let (mut a, mut b) = (self.clone(), other.clone());
        while !b.is_zero() {
            if b.is_constant() {
                return Self::one();
            }
            let (_, rest) = a.div_rem(&b);
            a = b;
            b = rest.monic().1;
        }
        a.monic().1
    }

    /// The polynomial with the same roots, each of them simple.
    pub(super) fn square_free(&self) -> Self {
        let repeated = self.gcd(&self.derivative());
        if repeated.is_constant() {
            return self.clone();
        }
        self.div_rem(&repeated).0
    }

    /// Itself with whole coefficients (times the least that clears them of
    /// denominators).
    pub(super) fn cleared(&self) -> Self {
        let mut factor = Exact::ONE;
        for each in &self.0 {
            factor = &factor * &(&factor * each).denominator();
        }
        self.scale(&factor)
    }
}

/// Bounds of the product of two numbers known to lie within bounds.
pub(super) fn multiply_bounds(a: &(Exact, Exact), b: &(Exact, Exact)) -> (Exact, Exact) {
    let products = [&a.0 * &b.0, &a.0 * &b.1, &a.1 * &b.0, &a.1 * &b.1];
    let [first, rest @ ..] = products;
    let mut bounds = (first.clone(), first);
    for product in rest {
        bounds = (bounds.0.min(product.clone()), bounds.1.max(product));
    }
    bounds
}

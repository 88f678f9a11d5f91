//! Signs, zeros, trends and bounds of a quotient of polynomials.

use gutta_quantity::Exact;
use smallvec::{SmallVec, smallvec};

use super::point::{Point, between};
use super::polynomial::{Polynomial, multiply_bounds};
use super::rational::{Factor, Rational};
use super::roots::{Roots, roots_between};

/// Where a function keeps its sign: from `start` (or a zero there) to the next
/// stretch's start.
#[derive(Clone, Debug)]
pub(super) struct Stretch {
    pub(super) start: Point,
    pub(super) sign: i8,
}

impl Rational {
    /// The sign at a point not below zero at which it has a value.
    pub(super) fn sign_at(&self, point: &Point) -> i8 {
        if self.power > 0 && point.is_zero() {
            return 0;
        }
        let sign = self.coefficient.signum();
        match &self.factor {
            None => sign,
            Some(factor) => sign * point.sign_of(&factor.num) * point.sign_of(&factor.den),
        }
    }

    /// The zeros in the closed interval; none where it is zero everywhere.
    pub(super) fn zeros(&self, a: &Point, b: &Point) -> Roots {
        let mut zeros = match &self.factor {
            Some(factor) => roots_between(&factor.num, a, b),
            None => Roots::new(),
        };
        if self.power > 0 && a.is_zero() {
            zeros.insert(0, a.clone());
        }
        zeros
    }

    /// Whether it is zero anywhere in the closed interval.
    pub(super) fn has_zero(&self, a: &Point, b: &Point) -> bool {
        self.is_zero() || !self.zeros(a, b).is_empty()
    }

    /// The stretches of one sign between `a` and `b`, at least one, the first
    /// from `a`. Inner starts are zeros.
    pub(super) fn stretches(&self, a: &Point, b: &Point) -> SmallVec<[Stretch; 2]> {
        let whole = |sign| {
            smallvec![Stretch {
                start: a.clone(),
                sign
            }]
        };
        let Some(factor) = &self.factor else {
            // x^power is above zero inside; a single point may be zero itself.
            let sign = if a == b {
                self.sign_at(a)
            } else {
                self.coefficient.signum()
            };
            return whole(sign);
        };
        if a == b {
            return whole(self.sign_at(a));
        }
        if let ([start, slope], true) = (factor.num.coefficients(), factor.den.is_constant()) {
            // x + start: the one zero, if inside, and rising past it.
            let sign = self.coefficient.signum() * slope.signum();
            let zero = -start;
            if a.cmp_exact(&zero).is_ge() {
                return whole(sign);
            }
            let mut stretches = whole(-sign);
            if b.cmp_exact(&zero).is_gt() {
                let start = Point::At(zero);
                stretches.push(Stretch { start, sign });
            }
            return stretches;
        }
        let mut starts: Roots = smallvec![a.clone()];
        starts.extend(
            roots_between(&factor.num, a, b)
                .into_iter()
                .filter(|zero| zero > a && zero < b),
        );
        let mut stretches = SmallVec::new();
        for (place, start) in starts.iter().enumerate() {
            let end = starts.get(place + 1).unwrap_or(b);
            let sign = self.sign_at(&Point::At(between(start, end)));
            stretches.push(Stretch {
                start: start.clone(),
                sign,
            });
        }
        stretches
    }

    /// The polynomial that has the derivative's sign for x above zero, up to
    /// the sign of the coefficient: the derivative is
    /// `coefficient · x^(power-1) · P / den²`.
    fn slope(&self) -> Polynomial {
        let power = Exact::int(i64::from(self.power));
        let Some(Factor { num, den }) = self.factor.as_deref() else {
            return Polynomial::monomial(power, 0);
        };
        let change = num
            .derivative()
            .mul(den)
            .sub(&num.mul(&den.derivative()))
            .raise(1);
        num.mul(den).scale(&power).add(&change)
    }

    /// The stretches on which it rises (1), falls (-1) or stays (0).
    pub(super) fn trends(&self, a: &Point, b: &Point) -> SmallVec<[Stretch; 2]> {
        // Its zeros at the axis' start turn nothing inside.
        let (_, slope) = self.slope().strip();
        let sign = self.coefficient.signum();
        if slope.is_constant() || a == b {
            let sign = if a == b {
                0
            } else {
                sign * slope.lead().signum()
            };
            return smallvec![Stretch {
                start: a.clone(),
                sign
            }];
        }
        let (lead, slope) = slope.monic();
        let derivative = Self {
            coefficient: &lead * &self.coefficient,
            power: 0,
            factor: Some(Box::new(Factor {
                num: slope,
                den: Polynomial::one(),
            })),
        };
        derivative.stretches(a, b)
    }

    /// Bounds of the value at a point: the value twice where the point is
    /// rational, else close bounds around it. `None` where it has no value.
    pub(super) fn bounds_at(&self, point: &Point) -> Option<(Exact, Exact)> {
        let mut root = match point {
            Point::At(x) => {
                let value = self.at(x)?;
                return Some((value.clone(), value));
            }
            Point::Root(_) if point.sign_of(&self.den()) == 0 => return None,
            Point::Root(root) => Point::Root(root.clone()),
        };
        let fine = Exact::ten_to(-9);
        loop {
            let (lo, hi) = (root.low().clone(), root.high().clone());
            if &hi - &lo <= fine
                && let Some(bounds) = self.enclose(&lo, &hi)
            {
                return Some(bounds);
            }
            if let Point::Root(root) = &mut root {
                root.halve();
            }
        }
    }

    /// Bounds of all values on `[lo, hi]`; `None` where they cannot be told
    /// from a division by zero.
    fn enclose(&self, lo: &Exact, hi: &Exact) -> Option<(Exact, Exact)> {
        let coefficient = (self.coefficient.clone(), self.coefficient.clone());
        let size = self.power.unsigned_abs();
        let mut bounds = (lo.pow(size), hi.pow(size));
        if self.power < 0 {
            bounds = recip_bounds(&bounds)?;
        }
        bounds = multiply_bounds(&coefficient, &bounds);
        if let Some(factor) = &self.factor {
            bounds = multiply_bounds(&bounds, &factor.num.enclose(lo, hi));
            bounds = multiply_bounds(&bounds, &recip_bounds(&factor.den.enclose(lo, hi))?);
        }
        Some(bounds)
    }
}

fn recip_bounds((low, high): &(Exact, Exact)) -> Option<(Exact, Exact)> {
    let one_side = low.signum() == high.signum();
    one_side.then_some((high.recip()?, low.recip()?))
}

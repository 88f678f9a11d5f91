//! Places on the axis: rational numbers, and roots that are not rational.

use std::cmp::Ordering;

use gutta_quantity::Exact;

use super::polynomial::Polynomial;

/// How finely a place that is not rational is reported: 1/1000 of the unit
/// (0.001 kg, 0.001 m2).
const FINENESS: Exact = Exact::int(1000);

/// A place on the axis.
#[derive(Clone, Debug)]
pub(super) enum Point {
    /// A rational number.
    At(Exact),
    /// An irrational root of a polynomial.
    Root(Box<Root>),
}

/// An irrational number: the only root of a polynomial between two rational
/// ones.
#[derive(Clone, Debug)]
pub(super) struct Root {
    /// Has simple roots only.
    polynomial: Polynomial,
    /// Below the root, with no other root between.
    lo: Exact,
    /// Above the root, with no other root between.
    hi: Exact,
    /// The polynomial's sign at `lo`; at `hi` it is the other.
    sign: i8,
}

impl Root {
    /// The root of `polynomial` in the open interval. The caller vouches that
    /// it is the only one there, simple and irrational.
    pub(super) fn new(polynomial: Polynomial, lo: Exact, hi: Exact) -> Self {
        let sign = polynomial.sign_at(&lo);
        Self {
            polynomial,
            lo,
            hi,
            sign,
        }
    }

    fn cmp_exact(&self, x: &Exact) -> Ordering {
        if *x <= self.lo {
            Ordering::Greater
        } else if *x >= self.hi {
            Ordering::Less
        } else if self.polynomial.sign_at(x) == self.sign {
            Ordering::Greater
        } else {
            Ordering::Less
        }
    }

    /// Narrows the bracket to the side of `x` on which the root lies.
    fn cut(&mut self, x: Exact) {
        if self.cmp_exact(&x) == Ordering::Greater {
            self.lo = x;
        } else {
            self.hi = x;
        }
    }

    pub(super) fn halve(&mut self) {
        self.cut(middle(&self.lo, &self.hi));
    }

    fn same_as(&self, other: &Self) -> bool {
        let (lo, hi) = (
            self.lo.clone().max(other.lo.clone()),
            self.hi.clone().min(other.hi.clone()),
        );
        if lo >= hi {
            return false;
        }
        // A common root of both in both brackets is the root of each.
        let common = self.polynomial.gcd(&other.polynomial);
        common.sign_at(&lo) != common.sign_at(&hi)
    }

    fn cmp(&self, other: &Self) -> Ordering {
        if self.hi <= other.lo {
            return Ordering::Less;
        }
        if self.lo >= other.hi {
            return Ordering::Greater;
        }
        if self.same_as(other) {
            return Ordering::Equal;
        }
        let (mut a, mut b) = (self.clone(), other.clone());
        loop {
            if a.hi <= b.lo {
                return Ordering::Less;
            }
            if a.lo >= b.hi {
                return Ordering::Greater;
            }
            a.halve();
            b.halve();
        }
    }

    /// The sign of `polynomial` at the root.
    fn sign_of(&self, polynomial: &Polynomial) -> i8 {
        let common = self.polynomial.gcd(polynomial);
        if common.is_zero() || common.sign_at(&self.lo) != common.sign_at(&self.hi) {
            return 0;
        }
        let mut narrowed = self.clone();
        loop {
            let (low, high) = polynomial.enclose(&narrowed.lo, &narrowed.hi);
            if low.is_positive() {
                return 1;
            }
            if high.is_negative() {
                return -1;
            }
            narrowed.halve();
        }
    }

    /// A bracket on the grid of 1/1000.
    fn bracket(&self) -> (Exact, Exact) {
        let mut narrowed = self.clone();
        loop {
            let low = (&narrowed.lo * &FINENESS).floor();
            let high = (&narrowed.hi * &FINENESS).ceil();
            if &high - &low <= Exact::ONE {
                let unit = Exact::ten_to(-3);
                return (&low * &unit, &high * &unit);
            }
            let width = &narrowed.hi - &narrowed.lo;
            if &width * &FINENESS > Exact::ONE {
                narrowed.halve();
            } else {
                // At most two grid points are left inside.
                narrowed.cut(&(&low + &Exact::ONE) * &Exact::ten_to(-3));
            }
        }
    }
}

impl Point {
    /// The number, where it is rational.
    pub(super) fn exact(&self) -> Option<&Exact> {
        match self {
            Self::At(x) => Some(x),
            Self::Root(_) => None,
        }
    }

    pub(super) fn cmp_exact(&self, x: &Exact) -> Ordering {
        match self {
            Self::At(own) => own.cmp(x),
            Self::Root(root) => root.cmp_exact(x),
        }
    }

    /// A number not above it: itself where rational.
    pub(super) fn low(&self) -> &Exact {
        match self {
            Self::At(x) => x,
            Self::Root(root) => &root.lo,
        }
    }

    /// A number not below it: itself where rational.
    pub(super) fn high(&self) -> &Exact {
        match self {
            Self::At(x) => x,
            Self::Root(root) => &root.hi,
        }
    }

    /// Numbers not above and not below it: itself twice where rational, else
    /// neighbours on the grid of 1/1000.
    pub(super) fn bracket(&self) -> (Exact, Exact) {
        match self {
            Self::At(x) => (x.clone(), x.clone()),
            Self::Root(root) => root.bracket(),
        }
    }

    /// The sign of a polynomial there.
    pub(super) fn sign_of(&self, polynomial: &Polynomial) -> i8 {
        match self {
            Self::At(x) => polynomial.sign_at(x),
            Self::Root(root) => root.sign_of(polynomial),
        }
    }

    /// Whether it is zero.
    pub(super) fn is_zero(&self) -> bool {
        self.exact().is_some_and(Exact::is_zero)
    }
}

impl PartialEq for Point {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Point {}

impl Ord for Point {
    fn cmp(&self, other: &Self) -> Ordering {
        match (self, other) {
            (Self::At(a), Self::At(b)) => a.cmp(b),
            (Self::Root(a), Self::At(b)) => a.cmp_exact(b),
            (Self::At(a), Self::Root(b)) => b.cmp_exact(a).reverse(),
            (Self::Root(a), Self::Root(b)) => a.cmp(b),
        }
    }
}

impl PartialOrd for Point {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

/// Half-way between two numbers.
pub(super) fn middle(a: &Exact, b: &Exact) -> Exact {
    &(a + b) * &Exact::ratio(1, 2).unwrap_or_default()
}

/// A number between two points, the first below the second.
pub(super) fn between(a: &Point, b: &Point) -> Exact {
    let (mut a, mut b) = (a.clone(), b.clone());
    loop {
        if a.high() < b.low() {
            return middle(a.high(), b.low());
        }
        if let (Point::Root(left), Point::Root(right)) = (&a, &b)
            && left.hi == right.lo
        {
            return left.hi.clone();
        }
        match (&mut a, &mut b) {
            // Not in order: there is nothing between.
            (Point::At(x), Point::At(_)) => return x.clone(),
            (Point::Root(left), Point::Root(right)) => {
                left.halve();
                right.halve();
            }
            (Point::Root(root), _) | (_, Point::Root(root)) => root.halve(),
        }
    }
}

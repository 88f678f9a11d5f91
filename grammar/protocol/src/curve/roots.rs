//! The real roots of a polynomial in an interval, exact where rational.

use gutta_quantity::{Exact, Rounding};
use smallvec::{SmallVec, smallvec};

use super::point::{Point, Root, middle};
use super::polynomial::Polynomial;

/// Roots in rising order.
pub(super) type Roots = SmallVec<[Point; 2]>;

/// The distinct roots of `polynomial` in the closed interval from `a` to `b`,
/// in rising order. A polynomial that is zero everywhere has none.
pub(super) fn roots_between(polynomial: &Polynomial, a: &Point, b: &Point) -> Roots {
    let mut roots = roots_in(polynomial, a.low(), b.high());
    if a.exact().is_none() || b.exact().is_none() {
        roots.retain(|root| *root >= *a && *root <= *b);
    }
    roots
}

/// The distinct roots in `[lo, hi]`, in rising order.
fn roots_in(polynomial: &Polynomial, lo: &Exact, hi: &Exact) -> Roots {
    let inside = |x: &Exact| x >= lo && x <= hi;
    match polynomial.coefficients() {
        [] | [_] => Roots::new(),
        [start, slope] => (-start)
            .checked_div(slope)
            .filter(inside)
            .map(Point::At)
            .into_iter()
            .collect(),
        [c, b, a] => quadratic(polynomial, [c, b, a], lo, hi),
        _ => higher(polynomial.square_free(), lo, hi),
    }
}

fn quadratic(polynomial: &Polynomial, [c, b, a]: [&Exact; 3], lo: &Exact, hi: &Exact) -> Roots {
    let discriminant = &(b * b) - &(&Exact::int(4) * &(a * c));
    let Some(half) = (&Exact::int(2) * a).recip() else {
        return Roots::new();
    };
    let vertex = &-b * &half;
    if discriminant.is_negative() {
        return Roots::new();
    }
    if let Some(root) = discriminant.sqrt() {
        let reach = (&root * &half).abs();
        let (first, second) = (&vertex - &reach, &vertex + &reach);
        let mut roots: Roots = smallvec![Point::At(first)];
        if !reach.is_zero() {
            roots.push(Point::At(second));
        }
        roots.retain(|root| root.low() >= lo && root.low() <= hi);
        return roots;
    }
    // The vertex lies between the two roots, neither of which is rational.
    let mut roots = Roots::new();
    for (from, to) in [
        (lo.clone(), vertex.clone().min(hi.clone())),
        (vertex.max(lo.clone()), hi.clone()),
    ] {
        if from < to && polynomial.sign_at(&from) != polynomial.sign_at(&to) {
            roots.push(Point::Root(Box::new(Root::new(
                polynomial.clone(),
                from,
                to,
            ))));
        }
    }
    roots
}

/// Roots of a polynomial of any degree whose roots are simple: rational ones
/// found on the way are divided out, the others isolated by Sturm's theorem.
fn higher(mut polynomial: Polynomial, lo: &Exact, hi: &Exact) -> Roots {
    let mut roots = Roots::new();
    loop {
        if polynomial.degree() <= 2 {
            roots.extend(roots_in(&polynomial, lo, hi));
            break;
        }
        match isolate(&polynomial, lo, hi) {
            RootSearch::Rational(root) => {
                let divisor = Polynomial::linear(-&root, Exact::ONE);
                polynomial = polynomial.div_rem(&divisor).0;
                roots.push(Point::At(root));
            }
            RootSearch::Irrational(rest) => {
                roots.extend(rest);
                break;
            }
        }
    }
    roots.sort();
    roots
}

enum RootSearch {
    /// One rational root; there may be more.
    Rational(Exact),
    /// All roots: none is rational.
    Irrational(Roots),
}

/// Either a rational root of the polynomial in `[lo, hi]`, or all its roots
/// there, which are then irrational.
fn isolate(polynomial: &Polynomial, lo: &Exact, hi: &Exact) -> RootSearch {
    for end in [lo, hi] {
        if polynomial.sign_at(end) == 0 {
            return RootSearch::Rational(end.clone());
        }
    }
    let chain = sturm_chain(polynomial);
    let irrational = has_no_rational_root(polynomial);
    let mut found = Roots::new();
    let mut open = vec![(
        lo.clone(),
        hi.clone(),
        variations(&chain, lo),
        variations(&chain, hi),
    )];
    while let Some((from, to, left, right)) = open.pop() {
        let count = left.saturating_sub(right);
        if count == 0 {
            continue;
        }
        if count == 1 {
            if !irrational && let Some(root) = rational_root(polynomial, &from, &to) {
                return RootSearch::Rational(root);
            }
            let root = Root::new(polynomial.clone(), from, to);
            found.push(Point::Root(Box::new(root)));
            continue;
        }
        let mid = middle(&from, &to);
        if polynomial.sign_at(&mid) == 0 {
            return RootSearch::Rational(mid);
        }
        let inner = variations(&chain, &mid);
        open.push((from, mid.clone(), left, inner));
        open.push((mid, to, inner, right));
    }
    RootSearch::Irrational(found)
}

/// The polynomial, its derivative, and the negated remainders.
fn sturm_chain(polynomial: &Polynomial) -> Vec<Polynomial> {
    let mut chain = vec![polynomial.clone()];
    let mut next = polynomial.derivative();
    while let Some(last) = chain.last()
        && !next.is_zero()
    {
        let (_, rest) = last.div_rem(&next);
        chain.push(next);
        // Only signs count: a factor above zero keeps the numbers small.
        let size = rest.lead().abs().recip().unwrap_or(Exact::ONE);
        next = rest.scale(&-&size);
    }
    chain
}

/// How often the chain changes its sign at `x`.
fn variations(chain: &[Polynomial], x: &Exact) -> usize {
    let mut last = 0;
    let mut count = 0;
    for each in chain {
        let sign = each.sign_at(x);
        if sign != 0 {
            if last != 0 && sign != last {
                count += 1;
            }
            last = sign;
        }
    }
    count
}

/// Whether it is plain that no root anywhere is rational: modulo a prime that
/// does not divide the highest of its whole coefficients, a rational root would
/// leave a root. If not plain, roots are looked at one by one.
fn has_no_rational_root(polynomial: &Polynomial) -> bool {
    const PRIMES: [i64; 12] = [5, 7, 11, 13, 17, 19, 23, 29, 31, 37, 41, 43];
    let cleared = polynomial.cleared();
    PRIMES.iter().any(|&prime| {
        let modulus = Exact::int(prime);
        let residues: Option<SmallVec<[i64; 8]>> = cleared
            .coefficients()
            .iter()
            .rev()
            .map(|each| each.round_to(&modulus, Rounding::Down))
            .zip(cleared.coefficients().iter().rev())
            .map(|(multiple, each)| (each - &multiple).to_i64())
            .collect();
        let Some(residues) = residues else {
            return false;
        };
        let value = |x: i64| {
            residues
                .iter()
                .fold(0, |sum, each| (sum * x + each) % prime)
        };
        residues.first().is_some_and(|lead| *lead != 0) && (0..prime).all(|x| value(x) != 0)
    })
}

/// The root in the open interval, which holds exactly one, if it is rational.
///
/// A rational root of a polynomial with whole coefficients has a denominator
/// that divides the highest of them, so in an interval narrower than one such
/// part there is one number to try.
fn rational_root(polynomial: &Polynomial, lo: &Exact, hi: &Exact) -> Option<Exact> {
    let parts = polynomial.cleared().lead().abs();
    let part = parts.recip()?;
    let (mut lo, mut hi) = (lo.clone(), hi.clone());
    let sign = polynomial.sign_at(&lo);
    loop {
        let simple = simplest_between(&lo, &hi);
        let narrow = &hi - &lo <= part;
        let candidate = if narrow {
            &(&(&lo * &parts).floor() + &Exact::ONE) * &part
        } else {
            simple
        };
        if candidate > lo && candidate < hi {
            let here = polynomial.sign_at(&candidate);
            if here == 0 {
                return Some(candidate);
            }
            if !narrow {
                if here == sign {
                    lo = candidate;
                } else {
                    hi = candidate;
                }
            }
        }
        if narrow {
            return None;
        }
        let mid = middle(&lo, &hi);
        match polynomial.sign_at(&mid) {
            0 => return Some(mid),
            here if here == sign => lo = mid,
            _ => hi = mid,
        }
    }
}

/// The number with the least denominator strictly between two.
fn simplest_between(lo: &Exact, hi: &Exact) -> Exact {
    // Continued fractions: take the common whole part, turn the rest over.
    let mut wholes = Vec::new();
    let (mut lo, mut hi) = (lo.clone(), Some(hi.clone()));
    let mut value = loop {
        let whole = lo.floor();
        let next = &whole + &Exact::ONE;
        if hi.as_ref().is_none_or(|hi| next < *hi) {
            break next;
        }
        let Some(top) = hi else { break next };
        let (from, to) = (&top - &whole, &lo - &whole);
        let Some(turned) = from.recip() else {
            break next;
        };
        wholes.push(whole);
        lo = turned;
        hi = to.recip();
    };
    for whole in wholes.iter().rev() {
        value = value
            .recip()
            .map_or_else(|| whole.clone(), |rest| whole + &rest);
    }
    value
}

//! Expressions that can be read both as a curve and number by number.

use gutta_quantity::Exact;
use proptest::prelude::*;

use crate::curve::{Curve, Interval};

/// What a curve is made from.
#[derive(Clone, Debug)]
pub(super) enum Expression {
    Variable,
    Number(Exact),
    Sum(Box<Self>, Box<Self>),
    Difference(Box<Self>, Box<Self>),
    Product(Box<Self>, Box<Self>),
    Quotient(Box<Self>, Box<Self>),
    Lower(Box<Self>, Box<Self>),
    Higher(Box<Self>, Box<Self>),
    /// The first below a number, the second from it on.
    Bands(Box<Self>, Exact, Box<Self>),
}

impl Expression {
    /// As a curve; `None` where a divisor is zero somewhere.
    pub(super) fn curve(&self, on: &Interval) -> Option<Curve> {
        match self {
            Self::Variable => Some(Curve::identity(on.clone())),
            Self::Number(value) => Some(Curve::constant(on.clone(), value.clone())),
            Self::Sum(a, b) => a.curve(on)?.add(&b.curve(on)?),
            Self::Difference(a, b) => a.curve(on)?.sub(&b.curve(on)?),
            Self::Product(a, b) => a.curve(on)?.mul(&b.curve(on)?),
            Self::Quotient(a, b) => a.curve(on)?.div(&b.curve(on)?),
            Self::Lower(a, b) => a.curve(on)?.min(&b.curve(on)?),
            Self::Higher(a, b) => a.curve(on)?.max(&b.curve(on)?),
            Self::Bands(a, x, b) => {
                if x <= on.lo() {
                    return b.curve(on);
                }
                if x >= on.hi() {
                    return a.curve(on);
                }
                let below = Interval::new(on.lo().clone(), x.clone())?;
                let above = Interval::new(x.clone(), on.hi().clone())?;
                a.curve(&below)?.concat(&b.curve(&above)?)
            }
        }
    }

    /// The value at one number of the interval, with no curve at work.
    pub(super) fn at(&self, on: &Interval, x: &Exact) -> Option<Exact> {
        let both = |a: &Self, b: &Self| Some((a.at(on, x)?, b.at(on, x)?));
        Some(match self {
            Self::Variable => x.clone(),
            Self::Number(value) => value.clone(),
            Self::Sum(a, b) => both(a, b).map(|(a, b)| &a + &b)?,
            Self::Difference(a, b) => both(a, b).map(|(a, b)| &a - &b)?,
            Self::Product(a, b) => both(a, b).map(|(a, b)| &a * &b)?,
            Self::Quotient(a, b) => both(a, b).and_then(|(a, b)| a.checked_div(&b))?,
            Self::Lower(a, b) => both(a, b).map(|(a, b)| a.min(b))?,
            Self::Higher(a, b) => both(a, b).map(|(a, b)| a.max(b))?,
            Self::Bands(a, turn, b) => {
                // At the span's upper end there is no upper band.
                let second = x >= turn && (turn < on.hi() || turn <= on.lo());
                let band = if second { b } else { a };
                band.at(on, x)?
            }
        })
    }
}

/// Numbers small enough to read, now and then one of 40 digits.
pub(super) fn number() -> impl Strategy<Value = Exact> {
    let small =
        (-30_i64..=30, 1_i64..=8).prop_map(|(num, den)| Exact::ratio(num, den).unwrap_or_default());
    let huge = "[1-9][0-9]{19}\\.[0-9]{20}"
        .prop_map(|text| Exact::parse_decimal(&text).unwrap_or_default());
    prop_oneof![12 => small, 1 => huge]
}

/// Intervals not below zero, some of them a single number.
pub(super) fn interval() -> impl Strategy<Value = Interval> {
    let lo = prop_oneof![
        Just(Exact::ZERO),
        (0_i64..=40, 1_i64..=6).prop_map(|(num, den)| Exact::ratio(num, den).unwrap_or_default()),
    ];
    let width = prop_oneof![
        1 => Just(Exact::ZERO),
        9 => (1_i64..=60, 1_i64..=6)
            .prop_map(|(num, den)| Exact::ratio(num, den).unwrap_or_default()),
    ];
    (lo, width).prop_filter_map("not below zero", |(lo, width)| {
        let hi = &lo + &width;
        Interval::new(lo, hi)
    })
}

pub(super) fn expression(depth: u32) -> impl Strategy<Value = Expression> {
    use Expression as E;
    let leaf = prop_oneof![
        3 => Just(E::Variable),
        2 => number().prop_map(E::Number),
        2 => number().prop_map(|by| {
            E::Product(Box::new(E::Number(by)), Box::new(E::Variable))
        }),
    ];
    leaf.prop_recursive(depth, 8, 2, |inner| {
        let pair = (inner.clone().prop_map(Box::new), inner.prop_map(Box::new));
        prop_oneof![
            pair.clone().prop_map(|(a, b)| E::Sum(a, b)),
            pair.clone().prop_map(|(a, b)| E::Difference(a, b)),
            pair.clone().prop_map(|(a, b)| E::Product(a, b)),
            pair.clone().prop_map(|(a, b)| E::Quotient(a, b)),
            pair.clone().prop_map(|(a, b)| E::Lower(a, b)),
            pair.clone().prop_map(|(a, b)| E::Higher(a, b)),
            (pair, 0_i64..40).prop_map(|((a, b), x)| E::Bands(a, Exact::int(x), b)),
        ]
    })
}

/// The interval's ends, the curve's breaks, numbers just beside all of these,
/// and an even spread, all within the interval.
pub(super) fn samples(on: &Interval, more: impl IntoIterator<Item = Exact>) -> Vec<Exact> {
    let near = Exact::ten_to(-12);
    let width = on.hi() - on.lo();
    let spread =
        (0..=24).map(|part| on.lo() + &(&width * &Exact::ratio(part, 24).unwrap_or_default()));
    let mut all: Vec<Exact> = spread.collect();
    for x in more {
        all.push(&x - &near);
        all.push(&x + &near);
        all.push(x);
    }
    all.retain(|x| on.contains(x));
    all.sort();
    all.dedup();
    all
}

//! Corners that are hard to find: not rational, close together, repeated, or
//! with numbers of many digits.

use gutta_quantity::Exact;

use super::{n, span};
use crate::curve::{Curve, Edge, Interval, Trend};

/// The curve with these coefficients, the constant term first.
pub(super) fn polynomial(on: &Interval, coefficients: &[Exact]) -> Curve {
    let x = Curve::identity(on.clone());
    let zero = Curve::constant(on.clone(), Exact::ZERO);
    coefficients.iter().rev().fold(zero, |sum, each| {
        let constant = Curve::constant(on.clone(), each.clone());
        sum.mul(&x)
            .and_then(|sum| sum.add(&constant))
            .expect("a polynomial")
    })
}

fn whole(on: &Interval, coefficients: &[i64]) -> Curve {
    let coefficients: Vec<Exact> = coefficients.iter().map(|each| Exact::int(*each)).collect();
    polynomial(on, &coefficients)
}

pub(super) fn zero(on: &Interval) -> Curve {
    Curve::constant(on.clone(), Exact::ZERO)
}

/// The ends of the regions above zero: place, included, exact.
pub(super) fn above_zero(curve: &Curve) -> Vec<(String, bool, bool)> {
    let regions = curve.where_above(&zero(curve.span())).expect("regions");
    let said = |edge: Edge| (format!("{:?}", edge.x), edge.included, edge.exact);
    regions
        .into_iter()
        .flat_map(|region| [said(region.from), said(region.to)])
        .collect()
}

pub(super) fn said(x: &str, included: bool, exact: bool) -> (String, bool, bool) {
    (format!("{:?}", n(x)), included, exact)
}

#[test]
fn cubes() {
    let on = span("0", "10");
    // x³ − 27: the one real root is rational.
    assert_eq!(
        above_zero(&whole(&on, &[-27, 0, 0, 1])),
        [said("3", false, true), said("10", true, true)]
    );
    // x³ − 2: cube root 1.25992…
    assert_eq!(
        above_zero(&whole(&on, &[-2, 0, 0, 1])),
        [said("1.259", false, false), said("10", true, true)]
    );
    // (x − 1)(x² − 2): one root of each sort.
    assert_eq!(
        above_zero(&whole(&on, &[2, -2, -1, 1])),
        [
            said("0", true, true),
            said("1", false, true),
            said("1.414", false, false),
            said("10", true, true)
        ]
    );
    // −(x² − 2)(x² − 3): above zero between the roots, outwards at both.
    assert_eq!(
        above_zero(&whole(&on, &[-6, 0, 5, 0, -1])),
        [said("1.414", false, false), said("1.733", false, false)]
    );
}

#[test]
fn repeated_roots_touch_without_crossing() {
    let on = span("0", "10");
    // (x − 2)²(x − 5): zero at 2, above from 5.
    let curve = whole(&on, &[-20, 24, -9, 1]);
    assert_eq!(
        above_zero(&curve),
        [said("5", false, true), said("10", true, true)]
    );
    // (x² − 2)²: above everywhere but at a root that is not rational.
    let touched = whole(&on, &[4, 0, -4, 0, 1]);
    assert_eq!(
        above_zero(&touched),
        [
            said("0", true, true),
            said("1.415", false, false),
            said("1.414", false, false),
            said("10", true, true)
        ]
    );
    assert_eq!(touched.recip(), None);
    // Above at a single number only.
    let single = whole(&on, &[-24, 10, -1]).add(&zero(&on)).expect("a sum");
    let top = Curve::constant(on.clone(), n("1"));
    assert_eq!(single.where_above(&top), Some(Vec::new()));
    assert_eq!(
        single.max_value().map(|top| (top.x, top.value)),
        Some((n("5"), n("1")))
    );
}

#[test]
fn roots_closer_than_a_thousandth() {
    let on = span("1", "2");
    // (x² − 2)(x² − 2.0001): 1.414214 and 1.414249.
    let coefficients = [n("4.0002"), n("0"), n("-4.0001"), n("0"), n("1")];
    let curve = polynomial(&on, &coefficients);
    assert_eq!(
        curve.where_below(&zero(&on)).map(|regions| regions.len()),
        Some(1)
    );
    assert_eq!(
        curve.at(&n("1.41423")).map(|value| value.signum()),
        Some(-1)
    );
    let clipped = curve.max(&zero(&on)).expect("a maximum");
    assert_eq!(clipped.at(&n("1.41423")), Some(Exact::ZERO));
    assert_eq!(clipped.breaks(), [n("1"), n("1.414"), n("1.415"), n("2")]);
    // One root each from two curves, told apart when both are added.
    let square = whole(&on, &[0, 0, 1]);
    let capped = |cap: &str| square.min(&Curve::constant(on.clone(), n(cap)));
    let sum = capped("2")
        .zip(capped("2.0001"))
        .and_then(|(a, b)| a.add(&b));
    let at = |x: &str| sum.as_ref().and_then(|sum| sum.at(&n(x)));
    assert_eq!(at("1.41423"), Some(n("4.0000464929")));
    assert_eq!(at("1.4143"), Some(n("4.0001")));
}

#[test]
fn one_corner_reached_by_two_ways() {
    let on = span("0", "10");
    let square = whole(&on, &[0, 0, 1]);
    let two = Curve::constant(on.clone(), n("2"));
    let low = square.min(&two).expect("a minimum");
    let high = square.max(&two).expect("a maximum");
    // Both break at the root of 2: the sum has no corner left.
    assert_eq!(low.add(&high), square.add(&two));
    // The same root from another polynomial: (x² − 2)(x + 7).
    let other = whole(&on, &[-14, -2, 7, 1])
        .max(&zero(&on))
        .expect("a maximum");
    assert_eq!(low.add(&other).map(|sum| sum.breaks().len()), Some(4));
    // Cut within the bracket of the root, on either side.
    let cut = |lo: &str, hi: &str| low.restrict(&span(lo, hi)).map(|cut| format!("{cut:?}"));
    assert_eq!(cut("0", "1.4142").as_deref(), Some("x² on [0, 7071/5000]"));
    assert_eq!(
        cut("1.4143", "10").as_deref(),
        Some("2 on [14143/10000, 10]")
    );
    assert_eq!(
        cut("1.4142", "1.4143").as_deref(),
        Some("x² on [7071/5000, 14143/10000]; 2 on [7071/5000, 14143/10000]")
    );
}

#[test]
fn extremes_that_are_not_rational() {
    let on = span("0", "10");
    // 6x − x³ is greatest at √2: 4√2 = 5.656854249…
    let top = whole(&on, &[0, 6, 0, -1])
        .max_value()
        .expect("a greatest value");
    assert_eq!((top.x, top.attained, top.exact), (n("1.414"), false, false));
    assert!(top.value >= n("5.656854249") && top.value < n("5.6568543"));
    // x/(x² + 2) is greatest there too: √2/4 = 0.35355339…
    let bent = Curve::identity(on.clone())
        .div(&whole(&on, &[2, 0, 1]))
        .expect("a quotient");
    let top = bent.max_value().expect("a greatest value");
    assert!(top.value >= n("0.3535533905") && top.value < n("0.3535534"));
    let trends: Vec<_> = bent.monotone_pieces();
    assert_eq!(
        trends.iter().map(|p| p.trend).collect::<Vec<_>>(),
        [Trend::Rising, Trend::Falling]
    );
    assert_eq!((&trends[0].hi, &trends[1].lo), (&n("1.415"), &n("1.414")));
    // A corner: the least of x² and 3 − x meets at (√13 − 1)/2 = 1.302775…
    let corner = whole(&on, &[0, 0, 1])
        .min(&whole(&on, &[3, -1]))
        .expect("a minimum");
    let top = corner.max_value().expect("a greatest value");
    assert_eq!((top.x, top.exact), (n("1.302"), false));
    assert!(top.value >= n("1.697224362") && top.value < n("1.6972244"));
}

#[test]
fn a_jump_is_a_supremum_not_attained() {
    let below = Curve::proportional(span("0", "10"), n("2"));
    let above = Curve::constant(span("10", "40"), n("5"));
    let curve = below.concat(&above).expect("two bands");
    let top = curve.max_value().expect("a greatest value");
    assert_eq!(
        (top.x, top.value, top.attained, top.exact),
        (n("10"), n("20"), false, true)
    );
    assert_eq!(curve.at(&n("10")), Some(n("5")));
    assert_eq!(curve.left_limit(&n("10")), Some(n("20")));
    assert_eq!(curve.jumps(), [n("10")]);
    // Above 5 up to the jump, which is left out.
    let regions = curve.where_above(&Curve::constant(span("0", "40"), n("5")));
    let ends: Vec<_> = regions
        .into_iter()
        .flatten()
        .map(|region| (region.from.x, region.to.x, region.to.included))
        .collect();
    assert_eq!(ends, [(n("5/2"), n("10"), false)]);
    // A divisor that is nowhere zero but tends to it is refused.
    let falling = whole(&span("0", "10"), &[10, -1])
        .concat(&above)
        .expect("two bands");
    assert_eq!(falling.recip(), None);
}

#[test]
fn the_edges_of_steps() {
    let on = span("3", "4");
    let flow = Curve::proportional(on.clone(), n("0.3"));
    let found = flow.step_edges(&n("0.1"), &Exact::ZERO, 10);
    let places: Vec<_> = found
        .edges
        .iter()
        .map(|edge| (&edge.lo, &edge.value))
        .collect();
    assert_eq!(
        places,
        [
            (&n("19/6"), &n("0.95")),
            (&n("3.5"), &n("1.05")),
            (&n("23/6"), &n("1.15"))
        ]
    );
    assert!(!found.truncated);
    let two = flow.step_edges(&n("0.1"), &Exact::ZERO, 2);
    assert_eq!((two.edges.len(), two.truncated), (2, true));
    // Falling, and not rational: 100/x² passes 10.5 at 3.086… and 9.5 at 3.244…
    let area = whole(&on, &[0, 0, 1]);
    let falling = Curve::constant(on.clone(), n("100"))
        .div(&area)
        .expect("a quotient");
    let found = falling.step_edges(&Exact::ONE, &Exact::ZERO, 2);
    let places: Vec<_> = found
        .edges
        .iter()
        .map(|e| (&e.lo, &e.hi, &e.value))
        .collect();
    assert_eq!(
        places,
        [
            (&n("3.086"), &n("3.087"), &n("10.5")),
            (&n("3.244"), &n("3.245"), &n("9.5"))
        ]
    );
    assert!(found.truncated);
    // A step of nothing, and steps too many to list.
    assert_eq!(flow.step_edges(&Exact::ZERO, &Exact::ZERO, 9).edges, []);
    let fine = flow.step_edges(&Exact::ten_to(-30), &Exact::ZERO, 9);
    assert_eq!((fine.edges.len(), fine.truncated), (9, true));
}

#[test]
fn degrees_are_bounded() {
    let on = span("1", "2");
    let bent = whole(&on, &[1, 0, 1]);
    let squared = |curve: Option<Curve>, _| curve.and_then(|curve| curve.mul(&curve));
    let within = (0..5).fold(Some(bent.clone()), squared);
    assert!(within.is_some());
    assert_eq!((0..40).fold(Some(bent), squared), None);
    assert_eq!((0..40).fold(Some(Curve::identity(on)), squared), None);
}

#[test]
fn in_writing() {
    let on = span("1", "80");
    let x = Curve::identity(on.clone());
    let c = |value: &str| Curve::constant(on.clone(), n(value));
    let said = |curve: Option<Curve>| curve.and_then(|c| c.formula("weight")).unwrap_or_default();
    assert_eq!(said(Some(c("0.05"))), "0.05");
    assert_eq!(said(Some(x.clone())), "weight");
    assert_eq!(said(Some(x.scale(&n("3/8")))), "3/8 × weight");
    assert_eq!(said(Some(x.scale(&n("-0.9")))), "-0.9 × weight");
    assert_eq!(said(c("60").div(&x)), "60 / weight");
    assert_eq!(said(c("5/3").div(&x)), "5 / (3 × weight)");
    assert_eq!(said(x.mul(&x)), "weight²");
    assert_eq!(said(x.scale(&n("2")).sub(&c("7.5"))), "2 × weight − 7.5");
    let sum = x.scale(&n("1/2")).add(&c("50")).expect("a sum");
    assert_eq!(
        said(x.scale(&n("1.5")).div(&sum)),
        "(3 × weight) / (weight + 100)"
    );
    assert_eq!(said(c("8").div(&sum)), "16 / (weight + 100)");
    let capped = x.min(&c("50")).expect("a minimum");
    assert_eq!(capped.formula("weight"), None);
    assert_eq!(
        capped.formulas("weight"),
        [
            (n("1"), n("50"), "weight".to_owned()),
            (n("50"), n("80"), "50".to_owned())
        ]
    );
}

/// Beside a place that is not rational, a function may be so steep that its
/// value there is known by bounds that lie far apart: the edges of rounding
/// between them are not tried one by one.
#[test]
fn steep_at_a_corner_that_is_not_rational() {
    let on = span("1.414213562373", "1.4142135624");
    let square = whole(&on, &[0, 0, 1]);
    let two = Curve::constant(on.clone(), Exact::int(2));
    // Up to the square root of 2 it is x²; behind it (x² − 2)/(x − p) is added,
    // with p just below that root.
    let beyond = square.sub(&two).and_then(|over| over.max(&zero(&on)));
    let pole = polynomial(&on, &[-n("1.4142135623729"), Exact::ONE]);
    let ratio = beyond.and_then(|beyond| beyond.div(&pole));
    let curve = square
        .min(&two)
        .and_then(|low| low.add(&ratio?))
        .expect("a curve");
    let found = curve.step_edges(&Exact::ten_to(-12), &Exact::ZERO, 400);
    assert!(found.truncated, "{found:?}");
}

//! Numbers of many digits, and stretches of a single number.

use gutta_quantity::Exact;

use super::corners::{above_zero, polynomial, said, zero};
use super::{n, span};
use crate::curve::{Curve, Interval};

#[test]
fn numbers_of_forty_digits() {
    let on = span("0", "10");
    let large = n("1234567890123456789012345678901234567890");
    // large · x³ − 5 · large has the cube root of 5, 1.70997…
    let curve = polynomial(
        &on,
        &[&large * &n("-5"), Exact::ZERO, Exact::ZERO, large.clone()],
    );
    assert_eq!(
        above_zero(&curve),
        [said("1.709", false, false), said("10", true, true)]
    );
    // A rational root with forty digits, beside one that is not rational:
    // (large · x − 3 · large − 1)(x² − 2).
    let shift = &(&large * &n("-3")) - &Exact::ONE;
    let curve = polynomial(
        &on,
        &[
            &shift * &n("-2"),
            &large * &n("-2"),
            shift.clone(),
            large.clone(),
        ],
    );
    let root = (-&shift).checked_div(&large).expect("not over zero");
    assert_eq!(
        above_zero(&curve),
        [
            said("0", true, true),
            said("1.415", false, false),
            (format!("{root:?}"), false, true),
            said("10", true, true)
        ]
    );
    let inverse = curve
        .add(&Curve::constant(on, &large * &large))
        .and_then(|sum| sum.recip());
    assert!(inverse.is_some());
}

#[test]
fn a_single_number_and_nothing() {
    let on = span("70", "70");
    let x = Curve::identity(on.clone());
    let forty = Curve::constant(on.clone(), n("40"));
    let above = x.where_above(&forty).expect("regions");
    assert_eq!(above.len(), 1);
    assert!(above[0].contains(&n("70")) && above[0].from == above[0].to);
    assert_eq!(x.where_below(&forty), Some(Vec::new()));
    assert_eq!(
        x.min(&forty).and_then(|low| low.at(&n("70"))),
        Some(n("40"))
    );
    assert_eq!(
        x.max_value().map(|top| (top.value, top.attained)),
        Some((n("70"), true))
    );
    assert_eq!(x.breaks(), [n("70")]);
    let nothing = span("0", "0");
    assert_eq!(Curve::identity(nothing.clone()).recip(), None);
    assert_eq!(
        zero(&nothing).where_above(&zero(&nothing)),
        Some(Vec::new())
    );
    assert_eq!(Interval::new(n("2"), n("1")), None);
    assert_eq!(Interval::new(n("-1"), n("1")), None);
    // Spans that share nothing have no sum.
    assert_eq!(x.add(&zero(&nothing)), None);
}

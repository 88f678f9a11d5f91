//! Points to draw a curve through.

use super::{n, span};
use crate::curve::Curve;

/// `x=value` for each point; strokes parted by bars.
fn drawn(curve: &Curve, between: usize) -> String {
    let stroke = |dots: &Vec<_>| {
        let dots = dots.iter().map(|(x, value)| format!("{x:?}={value:?}"));
        dots.collect::<Vec<_>>().join(" ")
    };
    let strokes = curve.strokes(between);
    strokes.iter().map(stroke).collect::<Vec<_>>().join(" | ")
}

#[test]
fn a_straight_piece_has_its_ends() {
    let flow = Curve::proportional(span("40", "150"), n("3/8"));
    assert_eq!(drawn(&flow, 9), "40=15 150=225/4");
    let level = Curve::constant(span("40", "150"), n("2"));
    assert_eq!(drawn(&level, 9), "40=2 150=2");
    let one = Curve::constant(span("40", "40"), n("2"));
    assert_eq!(drawn(&one, 9), "40=2");
}

#[test]
fn a_bent_piece_has_points_between() {
    let on = span("1", "3");
    let time = Curve::constant(on.clone(), n("60")).div(&Curve::identity(on));
    assert_eq!(
        drawn(&time.expect("a quotient"), 3),
        "1=60 3/2=40 2=30 5/2=24 3=20"
    );
}

#[test]
fn a_lid_is_a_corner_of_one_stroke() {
    let on = span("3", "80");
    let dose = Curve::proportional(on.clone(), n("20"));
    let capped = dose.min(&Curve::constant(on, n("1000")));
    assert_eq!(
        drawn(&capped.expect("a minimum"), 5),
        "3=60 50=1000 80=1000"
    );
}

#[test]
fn a_jump_parts_two_strokes() {
    let bands = Curve::piecewise([
        Curve::constant(span("10", "20"), n("5")),
        Curve::constant(span("20", "40"), n("8")),
    ]);
    assert_eq!(drawn(&bands.expect("a curve"), 5), "10=5 20=5 | 20=8 40=8");
}

#[test]
fn a_corner_that_is_not_rational_stands_as_its_neighbours() {
    // x² and 2 meet at √2 = 1.4142…
    let on = span("1", "2");
    let x = Curve::identity(on.clone());
    let square = x.mul(&x).expect("a square");
    let capped = square.min(&Curve::constant(on, n("2")));
    assert_eq!(
        drawn(&capped.expect("a minimum"), 0),
        "1=1 707/500=499849/250000 283/200=2 2=2"
    );
}

//! The curves of orders, by hand.

use super::{n, span};
use crate::curve::{Curve, Edge, Interval, Region, Trend};

fn constant(on: &Interval, value: &str) -> Curve {
    Curve::constant(on.clone(), n(value))
}

fn edge(x: &str, included: bool) -> Edge {
    Edge {
        x: n(x),
        included,
        exact: true,
    }
}

#[test]
fn a_flow_passes_its_ceiling() {
    let adults = span("40", "150");
    let flow = Curve::proportional(adults.clone(), n("3/8"));
    let above = flow.where_above(&constant(&adults, "40"));
    let expected = Region {
        from: edge("320/3", false),
        to: edge("150", true),
    };
    assert_eq!(above, Some(vec![expected]));
    let below = flow.where_below(&constant(&adults, "40"));
    let expected = Region {
        from: edge("40", true),
        to: edge("320/3", false),
    };
    assert_eq!(below, Some(vec![expected]));
}

#[test]
fn flow_times_time_is_the_volume() {
    let on = span("3", "80");
    let x = Curve::identity(on.clone());
    let volume = constant(&on, "50");
    let strength = volume.add(&x.scale(&n("2"))).and_then(|v| x.div(&v));
    let flow = strength
        .and_then(|strength| x.div(&strength))
        .expect("a flow");
    let time = volume.div(&flow).expect("a time");
    assert_eq!(flow.mul(&time), Some(volume));
    assert_eq!(flow.formula("weight").as_deref(), Some("2 × weight + 50"));
}

#[test]
fn a_lid_makes_a_corner() {
    let on = span("3", "80");
    let dose = Curve::proportional(on.clone(), n("20"));
    let capped = dose.min(&constant(&on, "1000")).expect("a minimum");
    assert_eq!(capped.breaks(), [n("3"), n("50"), n("80")]);
    assert_eq!(capped.at(&n("49")), Some(n("980")));
    assert_eq!(capped.at(&n("51")), Some(n("1000")));
    let trends: Vec<_> = capped.monotone_pieces().iter().map(|p| p.trend).collect();
    assert_eq!(trends, [Trend::Rising, Trend::Level]);
    assert_eq!(format!("{capped:?}"), "20 × x on [3, 50]; 1000 on [50, 80]");
}

#[test]
fn a_corner_that_is_not_rational() {
    let on = span("0", "10");
    let x = Curve::identity(on.clone());
    let square = x.mul(&x).expect("a square");
    let two = constant(&on, "2");
    let above = square.where_above(&two).expect("regions");
    assert_eq!(
        above,
        [Region {
            from: Edge {
                x: n("1.414"),
                included: false,
                exact: false
            },
            to: edge("10", true),
        }]
    );
    let lower = square.min(&two).expect("a minimum");
    assert_eq!(lower.breaks(), [n("0"), n("1.414"), n("1.415"), n("10")]);
    // The true minimum, on both sides of the root within the bracket.
    assert_eq!(lower.at(&n("1.4142")), Some(n("1.99996164")));
    assert_eq!(lower.at(&n("1.4143")), Some(n("2")));
}

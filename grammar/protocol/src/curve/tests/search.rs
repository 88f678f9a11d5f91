//! What is found along the axis (regions, extremes, edges of steps) against a
//! look at many single numbers.

use gutta_quantity::Exact;
use proptest::prelude::*;

use super::expression::{expression, interval, samples};
use super::laws::pair;
use crate::curve::{Curve, Edge, Region, Trend};

fn curve() -> impl Strategy<Value = Curve> {
    (interval(), expression(3)).prop_filter_map("divides by zero", |(on, text)| text.curve(&on))
}

/// Whether `x` is within reach of an edge that is not exact.
fn blurred(region: &Region, x: &Exact) -> bool {
    let near = |edge: &Edge| !edge.exact && (&edge.x - x).abs() <= Exact::ten_to(-3);
    near(&region.from) || near(&region.to)
}

fn check_regions(f: &Curve, g: &Curve, regions: &[Region]) -> Result<(), TestCaseError> {
    let above = |x: &Exact| f.at(x) > g.at(x);
    let edges = regions
        .iter()
        .flat_map(|region| [&region.from.x, &region.to.x]);
    let places = edges.cloned().chain(f.breaks()).chain(g.breaks());
    for x in samples(f.span(), places) {
        let holder = regions.iter().find(|region| region.contains(&x));
        match (above(&x), holder) {
            (true, None) => prop_assert!(false, "missed {:?} of {:?} over {:?}", x, f, g),
            (false, Some(region)) => {
                prop_assert!(
                    blurred(region, &x),
                    "{:?} in {:?}: {:?} over {:?}",
                    x,
                    region,
                    f,
                    g
                );
            }
            _ => {}
        }
    }
    for region in regions {
        for edge in [&region.from, &region.to] {
            if edge.exact {
                prop_assert_eq!(edge.included, above(&edge.x), "{:?}", edge);
            } else {
                prop_assert!(!edge.included);
            }
        }
        let lo = &region.from;
        prop_assert!(lo.x < region.to.x || (lo.included && region.to.included));
    }
    for pair in regions.windows(2) {
        if let [first, second] = pair {
            let order = first.to.x.cmp(&second.from.x);
            let blurred = !first.to.exact && !second.from.exact;
            prop_assert!(
                order.is_lt()
                    || blurred
                    || (order.is_eq() && !(first.to.included || second.from.included))
            );
        }
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn regions_hold_where_the_values_do((f, g) in pair()) {
        let above = f.where_above(&g);
        prop_assert!(above.is_some());
        check_regions(&f, &g, &above.unwrap_or_default())?;
        prop_assert_eq!(f.where_below(&g), g.where_above(&f));
        prop_assert_eq!(f.where_above(&f), Some(Vec::new()));
    }

    #[test]
    fn no_value_passes_an_extreme(curve in curve()) {
        let (least, greatest) = (curve.min_value(), curve.max_value());
        prop_assert!(least.is_some() && greatest.is_some());
        let Some((least, greatest)) = least.zip(greatest) else { return Ok(()) };
        for x in samples(curve.span(), curve.breaks()) {
            let value = curve.at(&x).unwrap_or_default();
            prop_assert!(value >= least.value && value <= greatest.value, "{:?} at {:?}", curve, x);
        }
        for extreme in [least, greatest] {
            let value = Some(extreme.value);
            if extreme.attained {
                prop_assert_eq!(curve.at(&extreme.x), value);
            } else if extreme.exact {
                prop_assert_eq!(curve.left_limit(&extreme.x), value);
            } else {
                prop_assert_ne!(curve.at(&extreme.x), value);
            }
        }
    }

    #[test]
    fn a_monotone_piece_is_one(curve in curve()) {
        let pieces = curve.monotone_pieces();
        prop_assert_eq!(pieces.first().map(|piece| &piece.lo), Some(curve.span().lo()));
        prop_assert_eq!(pieces.last().map(|piece| &piece.hi), Some(curve.span().hi()));
        for piece in pieces {
            let inside = samples(curve.span(), [piece.lo.clone(), piece.hi.clone()]);
            let margin = if piece.exact { Exact::ZERO } else { Exact::ten_to(-3) };
            let values: Vec<Exact> = inside
                .into_iter()
                .filter(|x| *x > &piece.lo + &margin && *x < &piece.hi - &margin)
                .filter_map(|x| curve.at(&x))
                .collect();
            prop_assert!(values.windows(2).all(|two| match piece.trend {
                Trend::Rising => two[0] < two[1],
                Trend::Falling => two[0] > two[1],
                Trend::Level => two[0] == two[1],
            }), "{:?} of {:?}", piece, curve);
        }
    }

    #[test]
    fn rounding_turns_at_edges_only(
        curve in curve(), step in 1_i64..20, offset in 0_i64..3,
    ) {
        let step = Exact::ratio(step, 4).unwrap_or_default();
        let offset = Exact::int(offset);
        let found = curve.step_edges(&step, &offset, 200);
        let rounded = |value: &Exact| {
            (value - &offset).checked_div(&step).map(|count| count.round_half_up())
        };
        for edge in &found.edges {
            prop_assert!(edge.lo <= edge.hi && &edge.hi - &edge.lo <= Exact::ten_to(-3));
            if edge.lo == edge.hi {
                let here = [curve.left_limit(&edge.lo), curve.right_limit(&edge.lo)];
                prop_assert!(here.contains(&Some(edge.value.clone())));
            }
        }
        // One that is not rational is told by its neighbours.
        prop_assert!(found.edges.windows(2).all(|two| two[0].lo <= two[1].hi));
        // Up to the last edge found, no turn goes unseen.
        let reach = match found.edges.last() {
            Some(last) if found.truncated => last.lo.clone(),
            _ => curve.span().hi().clone(),
        };
        let jumps = curve.jumps();
        let places = samples(curve.span(), curve.breaks());
        for two in places.windows(2) {
            let [a, b] = two else { continue };
            let values = curve.at(a).zip(curve.at(b));
            let Some((from, to)) = values else { continue };
            if *b > reach || rounded(&from) == rounded(&to) {
                continue;
            }
            let jump = jumps.iter().any(|x| a < x && x <= b);
            let edge = found.edges.iter().any(|edge| edge.hi >= *a && edge.lo <= *b);
            prop_assert!(jump || edge, "between {:?} and {:?} of {:?}", a, b, curve);
        }
    }
}

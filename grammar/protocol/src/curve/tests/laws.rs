//! What must hold of any curves: each operation against the same at single
//! numbers, inverses against each other.

use gutta_quantity::Exact;
use proptest::prelude::*;

use super::expression::{Expression, expression, interval, samples};
use crate::curve::{Curve, Interval};

fn curve() -> impl Strategy<Value = (Interval, Expression, Curve)> {
    (interval(), expression(3)).prop_filter_map("divides by zero", |(on, text)| {
        let curve = text.curve(&on)?;
        Some((on, text, curve))
    })
}

/// Two curves over the same interval.
pub(super) fn pair() -> impl Strategy<Value = (Curve, Curve)> {
    (interval(), expression(2), expression(2))
        .prop_filter_map("divides by zero", |(on, first, second)| {
            Some((first.curve(&on)?, second.curve(&on)?))
        })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn a_curve_is_its_definition((on, text, curve) in curve()) {
        for x in samples(&on, curve.breaks()) {
            prop_assert_eq!(curve.at(&x), text.at(&on, &x), "at {:?}: {:?}", x, curve);
        }
        prop_assert_eq!(curve.at(&(on.hi() + &Exact::ONE)), None);
    }

    #[test]
    fn what_is_added_can_be_taken_off((f, g) in pair()) {
        let back = f.add(&g).and_then(|sum| sum.sub(&g));
        prop_assert_eq!(back, Some(f));
    }

    #[test]
    fn what_is_multiplied_can_be_divided((f, g) in pair()) {
        let product = f.mul(&g);
        prop_assert!(product.is_some());
        match product.and_then(|product| product.div(&g)) {
            Some(back) => prop_assert_eq!(back, f),
            // Refused only where the divisor is, or tends to, zero.
            None => {
                let zero = Curve::constant(g.span().clone(), Exact::ZERO);
                let regions = [g.where_above(&zero), g.where_below(&zero)];
                let covers = regions.iter().flatten().flatten().any(|region| {
                    region.from.exact && region.to.exact
                        && region.contains(g.span().lo()) && region.contains(g.span().hi())
                });
                let tends = g.jumps().iter().any(|x| g.left_limit(x) == Some(Exact::ZERO));
                prop_assert!(!covers || tends, "{:?}", g);
            }
        }
    }

    #[test]
    fn the_lower_and_the_higher_make_up_both((f, g) in pair()) {
        let (low, high) = (f.min(&g), f.max(&g));
        let sum = low.zip(high).and_then(|(low, high)| low.add(&high));
        prop_assert!(sum.is_some());
        let Some(sum) = sum else { return Ok(()) };
        for x in samples(f.span(), sum.breaks().into_iter().chain(f.breaks())) {
            let expected = f.at(&x).zip(g.at(&x)).map(|(f, g)| &f + &g);
            prop_assert_eq!(sum.at(&x), expected);
        }
        prop_assert_eq!(f.min(&f), Some(f.clone()));
    }

    #[test]
    fn a_part_has_the_same_values((_, _, curve) in curve(), part in interval()) {
        let Some(cut) = curve.restrict(&part) else {
            prop_assert!(part.lo() > curve.span().hi() || part.hi() < curve.span().lo());
            return Ok(());
        };
        for x in samples(cut.span(), curve.breaks()) {
            let expected = if x == *cut.span().hi() && !cut.span().is_point() {
                curve.left_limit(&x)
            } else {
                curve.at(&x)
            };
            prop_assert_eq!(cut.at(&x), expected, "at {:?}: {:?}", x, cut);
        }
    }

    #[test]
    fn two_parts_make_the_whole((on, _, curve) in curve(), part in 1_i64..8) {
        prop_assume!(!on.is_point());
        let share = Exact::ratio(part, 8).unwrap_or_default();
        let cut = on.lo() + &(&(on.hi() - on.lo()) * &share);
        let below = Interval::new(on.lo().clone(), cut.clone());
        let above = Interval::new(cut, on.hi().clone());
        let parts = [below, above].into_iter().flatten().filter_map(|part| curve.restrict(&part));
        prop_assert_eq!(Curve::piecewise(parts), Some(curve.clone()));
    }

    #[test]
    fn limits_meet_except_at_jumps((_, _, curve) in curve()) {
        let jumps = curve.jumps();
        for x in samples(curve.span(), curve.breaks()) {
            let meet = curve.left_limit(&x) == curve.right_limit(&x);
            prop_assert_eq!(meet, !jumps.contains(&x), "at {:?}: {:?}", x, curve);
        }
    }
}

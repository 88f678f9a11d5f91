//! Which patients a sheet's tables show: the ends of the range and round
//! numbers between, each printed exactly as it is reckoned with.

use gutta_protocol::derive::View;
use gutta_quantity::Exact;

/// The most patients of a table.
const MOST: usize = 12;

/// The most patients of a table that only gives an idea.
const FEW: usize = 4;

/// Preferred numbers, from many to few; times powers of ten.
const SERIES: [&[(i64, i64)]; 4] = [
    &[
        (1, 1),
        (5, 4),
        (3, 2),
        (2, 1),
        (5, 2),
        (3, 1),
        (4, 1),
        (5, 1),
        (6, 1),
        (8, 1),
    ],
    &[
        (1, 1),
        (3, 2),
        (2, 1),
        (3, 1),
        (4, 1),
        (5, 1),
        (6, 1),
        (8, 1),
    ],
    &[(1, 1), (2, 1), (3, 1), (5, 1)],
    &[(1, 1), (2, 1), (5, 1)],
];

/// The patients of a view, rising; one where none is told from another.
pub(super) fn of(view: &View) -> Vec<Exact> {
    let (low, high) = (view.patients.interval.lo(), view.patients.interval.hi());
    let mut all = vec![low.clone()];
    all.extend(between(low, high));
    all.push(high.clone());
    all.dedup();
    all
}

/// A few of them: both ends, and some between.
pub(super) fn few(view: &View) -> Vec<Exact> {
    let all = of(view);
    let last = all.len().saturating_sub(1);
    let every = last.div_ceil(FEW - 1).max(1);
    let kept = all
        .iter()
        .enumerate()
        .filter(|(place, _)| place % every == 0 || *place == last);
    kept.map(|(_, x)| x.clone()).collect()
}

fn between(low: &Exact, high: &Exact) -> Vec<Exact> {
    if low == high {
        return Vec::new();
    }
    // Over a wide range equal steps would leave the light ones far apart.
    let wide = low.is_zero() || *high > low * &Exact::int(5);
    let choices: Vec<Vec<Exact>> = if wide {
        SERIES
            .iter()
            .map(|digits| preferred(low, high, digits))
            .collect()
    } else {
        let steps = (-4..=4)
            .flat_map(|power| [1, 2, 5].map(|digit| &Exact::int(digit) * &Exact::ten_to(power)));
        steps.map(|step| multiples(low, high, &step)).collect()
    };
    let fits = choices.into_iter().find(|all| all.len() + 2 <= MOST);
    fits.unwrap_or_default()
}

fn multiples(low: &Exact, high: &Exact, step: &Exact) -> Vec<Exact> {
    let mut all = Vec::new();
    let Some(first) = low.checked_div(step) else {
        return all;
    };
    let mut at = &(&first.floor() + &Exact::ONE) * step;
    // One more than fits is enough to be passed over.
    while at < *high && all.len() <= MOST {
        all.push(at.clone());
        at = &at + step;
    }
    all
}

fn preferred(low: &Exact, high: &Exact, digits: &[(i64, i64)]) -> Vec<Exact> {
    let powers = -3..=5;
    let all = powers.flat_map(|power| {
        let ten = Exact::ten_to(power);
        digits
            .iter()
            .filter_map(move |(num, den)| Some(&Exact::ratio(*num, *den)? * &ten))
    });
    all.filter(|x| x > low && x < high).collect()
}

#[cfg(test)]
mod tests {
    use super::between;
    use gutta_quantity::{Exact, machine};

    #[test]
    fn patients_are_round_numbers() {
        let told = |low: (i64, i64), high: i64| {
            let low = Exact::ratio(low.0, low.1).unwrap();
            let all = between(&low, &Exact::int(high));
            let all: Vec<_> = all.iter().map(|x| machine::decimal(x, 12)).collect();
            all.join(" ")
        };
        assert_eq!(told((40, 1), 150), "50 60 70 80 90 100 110 120 130 140");
        assert_eq!(told((1, 2), 6), "0.6 0.8 1 1.25 1.5 2 2.5 3 4 5");
        assert_eq!(told((5, 2), 150), "3 5 10 20 30 50 100");
        assert_eq!(told((12, 10), 2), "1.3 1.4 1.5 1.6 1.7 1.8 1.9");
        assert_eq!(told((70, 1), 70), "");
    }
}

//! Which patients a table shows: the ends of the range, where that is asked for
//! the ones at whom a value turns, and round numbers between.

use gutta_protocol::derive::View;
use gutta_protocol::measures::Group;
use gutta_quantity::Exact;

/// The most patients of a table, whatever turns.
const MOST: usize = 12;

/// The most with round numbers between those at whom a value turns.
const MOST_WITH_TURNS: usize = 8;

/// The most patients of a table that only gives an idea.
const FEW: usize = 4;

/// Which patients a table shows beside the ends of the range.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Choice {
    /// As many round numbers as fit a printed page. Each is printed exactly as
    /// it is calculated with.
    Round,
    /// So few round numbers that they give an idea.
    Few,
    /// Those at whom a value turns, and some round numbers.
    Turns,
}

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
pub(super) fn choose(view: &View, groups: &[&Group<'_>], choice: Choice) -> Vec<Exact> {
    let interval = &view.patients.interval;
    let mut all = vec![interval.lo().clone(), interval.hi().clone()];
    if choice == Choice::Turns {
        let values = groups.iter().flat_map(|group| &group.over);
        all.extend(values.flat_map(|(_, value)| value.turns(view)));
        all.retain(|x| interval.contains(x));
    }
    all.sort();
    all.dedup();
    all.truncate(MOST);
    let most = match choice {
        Choice::Round | Choice::Few => MOST,
        Choice::Turns => MOST_WITH_TURNS,
    };
    let room = most.saturating_sub(all.len());
    all.extend(between(interval.lo(), interval.hi(), room));
    all.sort();
    all.dedup();
    if choice == Choice::Few {
        thin(&mut all);
    }
    all
}

/// Keeps both ends, and some between.
fn thin(all: &mut Vec<Exact>) {
    let last = all.len().saturating_sub(1);
    let every = last.div_ceil(FEW - 1).max(1);
    let mut place = 0;
    all.retain(|_| {
        let kept = place % every == 0 || place == last;
        place += 1;
        kept
    });
}

/// The round numbers strictly between two, as many as there is room for.
fn between(low: &Exact, high: &Exact, room: usize) -> Vec<Exact> {
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
    let fits = choices.into_iter().find(|all| all.len() <= room);
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
        let told = |low: (i64, i64), high: i64, room: usize| {
            let low = Exact::ratio(low.0, low.1).unwrap();
            let all = between(&low, &Exact::int(high), room);
            let all: Vec<_> = all.iter().map(|x| machine::decimal(x, 12)).collect();
            all.join(" ")
        };
        assert_eq!(told((40, 1), 150, 10), "50 60 70 80 90 100 110 120 130 140");
        assert_eq!(told((1, 2), 6, 10), "0.6 0.8 1 1.25 1.5 2 2.5 3 4 5");
        assert_eq!(told((5, 2), 150, 10), "3 5 10 20 30 50 100");
        assert_eq!(told((12, 10), 2, 10), "1.3 1.4 1.5 1.6 1.7 1.8 1.9");
        assert_eq!(told((70, 1), 70, 10), "");
        assert_eq!(told((40, 1), 150, 6), "60 80 100 120 140");
        assert_eq!(told((40, 1), 150, 1), "100");
        assert_eq!(told((40, 1), 150, 0), "");
    }
}

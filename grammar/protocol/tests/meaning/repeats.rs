//! The most in any stretch of time, of what is given again and again: against
//! every window that begins or ends with any part of it.

use crate::support::{last_order, workspace};
use gutta_protocol::derive::{Patient, derive};
use gutta_protocol::limits::judge;
use gutta_protocol::model::{self, Library};
use gutta_quantity::Exact;
use proptest::prelude::*;

/// A part of it given at once, and then the rest of the bag; so many times, or
/// without end. Times in minutes.
#[derive(Clone, Debug)]
struct Train {
    /// In mg, and how long.
    boluses: Vec<(i64, i64)>,
    run: (i64, i64),
    every: i64,
    count: Option<i64>,
}

fn train(endless: bool) -> impl Strategy<Value = Train> {
    let part = || (1_i64..60, 1_i64..90);
    let boluses = prop::collection::vec(part(), 0..3);
    let count = match endless {
        true => prop::option::of(2_i64..12).boxed(),
        false => (2_i64..12).prop_map(Some).boxed(),
    };
    (boluses, part(), 0_i64..200, count).prop_map(|(boluses, run, pause, count)| {
        let lasts: i64 = boluses.iter().chain([&run]).map(|(_, time)| time).sum();
        Train {
            boluses,
            run,
            every: lasts + pause,
            count,
        }
    })
}

impl Train {
    fn lines(&self) -> String {
        let all: i64 = self.boluses.iter().chain([&self.run]).map(|of| of.0).sum();
        let mut lines = format!("  mix        {all} mg made up to {all} mL with saline\n");
        for (amount, time) in &self.boluses {
            lines.push_str(&format!(
                "  bolus      {amount} mg over {time} min, each time\n"
            ));
        }
        let count = self
            .count
            .map(|count| format!(" for {count} doses"))
            .unwrap_or_default();
        lines.push_str(&format!(
            "  run        all over {} min every {} min{count}\n",
            self.run.1, self.every
        ));
        lines
    }

    /// Each part that is given from `start` on, as far as `until`: when it
    /// begins, how long it lasts, and how much it is.
    fn parts(&self, start: i64, until: i64) -> Vec<(i64, i64, i64)> {
        let mut parts = Vec::new();
        let mut place = 0;
        while self.count.is_none_or(|count| place < count) && place * self.every <= until {
            let mut begin = start + place * self.every;
            for (amount, time) in self.boluses.iter().chain([&self.run]) {
                parts.push((begin, *time, *amount));
                begin += time;
            }
            place += 1;
        }
        parts
    }

    /// When the last of it ends; without end, nothing can follow.
    fn ends(&self, start: i64) -> i64 {
        let parts = self.parts(start, i64::MAX / 1_000);
        parts.last().map_or(start, |(begin, time, _)| begin + time)
    }
}

/// The most in any window of these parts.
fn most(parts: &[(i64, i64, i64)], window: i64) -> Exact {
    let seen = |from: i64| -> Exact {
        let each = parts.iter().map(|(begin, time, amount)| {
            let shared = (begin + time).min(from + window) - (*begin).max(from);
            &Exact::ratio(*amount, *time).expect("a time") * &Exact::from(shared.max(0))
        });
        each.sum()
    };
    let begins = parts.iter().map(|(begin, ..)| *begin);
    let ends = parts.iter().map(|(begin, time, _)| begin + time - window);
    begins.chain(ends).map(seen).max().expect("a window")
}

/// The most that is found in any window: more than 0.001 mg, which all is.
fn found(lines: &str, window: i64) -> Exact {
    let text = format!(
        "drug judgamine \"A drug with a limit\"\n  supplied   40 mg in 4 mL\n  with       saline\n  never total above 0.001 mg in any {window} min\n\norder a \"A\"\n  drug       judgamine\n  route      central vein\n{lines}"
    );
    let workspace = workspace(&text);
    let library = Library::new(&workspace);
    let order = model::order(&workspace, &library, last_order(&workspace));
    let values = derive(&order, &Patient::default()).expect("a whole order");
    let judgement = judge(&order, &values);
    let breach = judgement.breaches.first().expect("a breach");
    breach.worst.as_ref().expect("a value").0.clone()
}

/// The most is seen from the second of three on, eight times and a half beyond
/// the first of those without end.
#[test]
fn from_a_repetition_that_is_neither_the_first_nor_the_last() {
    let one = Train {
        boluses: Vec::new(),
        run: (46, 24),
        every: 75,
        count: Some(3),
    };
    let two = Train {
        boluses: vec![(30, 29), (14, 27)],
        run: (24, 87),
        every: 170,
        count: None,
    };
    assert_eq!(
        found(&after(&one, &two), 1_523),
        Exact::ratio(19_784, 29).unwrap()
    );
}

/// One in a phase, and the other in the next.
fn after(one: &Train, two: &Train) -> String {
    let (one, two) = (one.lines(), two.lines());
    format!("  phase      one\n{one}  phase      two\n{two}")
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn of_one_train(train in train(true), window in 1_i64..3_000) {
        let until = 2 * (window + train.every);
        let parts = train.parts(0, until);
        prop_assert_eq!(found(&train.lines(), window), most(&parts, window));
    }

    #[test]
    fn of_one_train_after_the_other(one in train(false), two in train(true), window in 1_i64..3_000) {
        let start = one.ends(0);
        let mut parts = one.parts(0, i64::MAX / 1_000);
        parts.extend(two.parts(start, start + 2 * (window + two.every)));
        prop_assert_eq!(found(&after(&one, &two), window), most(&parts, window));
    }
}

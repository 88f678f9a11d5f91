//! `Exact` beside a fraction that never grows (`Ratio<i128>`, which overflows)
//! and one that is always big (`BigRational`).
//!
//! `cargo bench -p gutta-quantity` prints criterion's times, then, from rounds
//! that take the three in turn, how many times as long as `Exact` the others
//! take: shared machines drift, and a ratio from one run does not.

use std::hint::black_box;
use std::time::{Duration, Instant};

use criterion::Criterion;
use gutta_quantity::Exact;
use num_bigint::BigInt;
use num_rational::{BigRational, Ratio};
use num_traits::{CheckedAdd, CheckedDiv, CheckedMul};

/// How many calculations one pass makes.
const PASS: usize = 256;

/// Numbers as orders have them: up to four digits, up to three decimals, over
/// minutes, hours or millilitres.
fn everyday(seed: u64) -> Vec<(i64, i64)> {
    let mut state = seed;
    let mut next = |below: u64| {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (state >> 33) % below
    };
    (0..PASS)
        .map(|_| {
            let num = 1 + i64::try_from(next(9_999)).unwrap_or(1);
            let den = match next(5) {
                0 | 1 => 1,
                2 => 10,
                3 => 1_000,
                _ => [60, 24, 250, 7, 50, 500, 80, 450][usize::try_from(next(8)).unwrap_or(0)],
            };
            (num, den)
        })
        .collect()
}

/// A number type under test; `None` where it overflows.
trait Number: Clone {
    fn new(num: i64, den: i64) -> Self;
    fn add(&self, other: &Self) -> Option<Self>;
    fn mul(&self, other: &Self) -> Option<Self>;
    fn div(&self, other: &Self) -> Option<Self>;
    fn less(&self, other: &Self) -> bool;
}

impl Number for Exact {
    fn new(num: i64, den: i64) -> Self {
        Self::ratio(num, den).unwrap_or_default()
    }
    fn add(&self, other: &Self) -> Option<Self> {
        Some(self + other)
    }
    fn mul(&self, other: &Self) -> Option<Self> {
        Some(self * other)
    }
    fn div(&self, other: &Self) -> Option<Self> {
        self.checked_div(other)
    }
    fn less(&self, other: &Self) -> bool {
        self < other
    }
}

macro_rules! fraction {
    ($type:ty, $part:ty) => {
        impl Number for $type {
            fn new(num: i64, den: i64) -> Self {
                Self::new(<$part>::from(num), <$part>::from(den))
            }
            fn add(&self, other: &Self) -> Option<Self> {
                self.checked_add(other)
            }
            fn mul(&self, other: &Self) -> Option<Self> {
                self.checked_mul(other)
            }
            fn div(&self, other: &Self) -> Option<Self> {
                self.checked_div(other)
            }
            fn less(&self, other: &Self) -> bool {
                self < other
            }
        }
    };
}
fraction!(Ratio<i128>, i128);
fraction!(BigRational, BigInt);

/// The operands of one pass.
struct Operands<N> {
    left: Vec<N>,
    right: Vec<N>,
}

impl<N: Number> Operands<N> {
    fn new() -> Self {
        let numbers = |seed| {
            everyday(seed)
                .into_iter()
                .map(|(num, den)| N::new(num, den))
                .collect()
        };
        Self {
            left: numbers(1),
            right: numbers(2),
        }
    }

    fn pairs(&self, calculate: impl Fn(&N, &N) -> Option<N>) {
        for (left, right) in self.left.iter().zip(&self.right) {
            black_box(calculate(black_box(left), black_box(right)));
        }
    }

    /// Which calculations there are.
    fn run(&self, what: Kind) {
        match what {
            Kind::Add => self.pairs(N::add),
            Kind::Mul => self.pairs(N::mul),
            Kind::Div => self.pairs(N::div),
            Kind::Compare => {
                for (left, right) in self.left.iter().zip(&self.right) {
                    black_box(black_box(left).less(black_box(right)));
                }
            }
            // dose × weight ÷ strength × 60, then a volume ÷ that.
            Kind::Dose => {
                let sixty = N::new(60, 1);
                for at in 0..PASS - 4 {
                    let flow = self.left[at]
                        .mul(&self.left[at + 1])
                        .and_then(|rate| rate.div(&self.left[at + 2]))
                        .and_then(|flow| flow.mul(&sixty));
                    black_box(flow.and_then(|flow| self.right[at].div(&flow)));
                }
            }
            // The times of four phases, each volume ÷ flow, and their sum.
            Kind::Phases => {
                for at in 0..PASS - 4 {
                    let time = |phase: usize| self.left[at + phase].div(&self.right[at + phase]);
                    black_box((1..4).try_fold(time(0), |sum, phase| {
                        let sum = sum?.add(&time(phase)?);
                        Some(sum)
                    }));
                }
            }
        }
    }
}

#[derive(Clone, Copy, Debug)]
enum Kind {
    Add,
    Mul,
    Div,
    Compare,
    Dose,
    Phases,
}

const KINDS: [Kind; 6] = [
    Kind::Add,
    Kind::Mul,
    Kind::Div,
    Kind::Compare,
    Kind::Dose,
    Kind::Phases,
];

/// The fastest of some rounds, for each of three taken in turn.
fn fastest(mut passes: [&mut dyn FnMut(); 3]) -> [Duration; 3] {
    let mut best = [Duration::MAX; 3];
    for _ in 0..200 {
        for (pass, best) in passes.iter_mut().zip(&mut best) {
            let start = Instant::now();
            for _ in 0..4 {
                pass();
            }
            *best = start.elapsed().min(*best);
        }
    }
    best
}

fn main() {
    let exact = Operands::<Exact>::new();
    let ratio = Operands::<Ratio<i128>>::new();
    let big = Operands::<BigRational>::new();

    let mut criterion = Criterion::default().configure_from_args();
    for kind in KINDS {
        let mut group = criterion.benchmark_group(format!("{kind:?} x {PASS}"));
        group.bench_function("Exact", |bencher| bencher.iter(|| exact.run(kind)));
        group.bench_function("Ratio<i128>", |bencher| bencher.iter(|| ratio.run(kind)));
        group.bench_function("BigRational", |bencher| bencher.iter(|| big.run(kind)));
        group.finish();
    }
    criterion.final_summary();

    println!("calculation  Exact, ns   as long as Exact: Ratio<i128>  BigRational");
    for kind in KINDS {
        let [own, plain, grown] = fastest([
            &mut || exact.run(kind),
            &mut || ratio.run(kind),
            &mut || big.run(kind),
        ]);
        let passes = 4 * u128::try_from(PASS).unwrap_or(1);
        let times = |other: Duration| {
            let hundredths = other.as_nanos() * 100 / own.as_nanos().max(1);
            format!("{}.{:02}", hundredths / 100, hundredths % 100)
        };
        let tenths = own.as_nanos() * 10 / passes;
        println!(
            "{:11}  {:>7}.{}   {:>29}  {:>11}",
            format!("{kind:?}"),
            tenths / 10,
            tenths % 10,
            times(plain),
            times(grown),
        );
    }
}

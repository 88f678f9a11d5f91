//! What a check costs as what an author writes grows in number: at n, 2n and
//! 4n of each kind, and how the times go together. `cargo bench -p
//! gutta-checks --bench cost`; `GUTTA_KIND` names one kind, `GUTTA_N` how many.

#[path = "kinds/mod.rs"]
mod kinds;

use std::hint::black_box;
use std::time::{Duration, Instant};

use gutta_checks::{Options, check_stanza};
use gutta_protocol::model::Library;
use gutta_protocol::{House, Workspace};
use gutta_quantity::work;

/// The best of three, the longest of one stanza, and the work.
fn measured(text: &str) -> (Duration, Duration, u64) {
    let once = || {
        let start = Instant::now();
        let workspace = Workspace::new(kinds::files(text.to_owned()), House::default());
        let library = Library::new(&workspace);
        let mut longest = Duration::ZERO;
        let (mut all, options) = (0, Options::default());
        for file in workspace.file_ids() {
            for stanza in workspace.stanzas_in(file) {
                let begun = Instant::now();
                let check = || check_stanza(&workspace, &library, stanza, &options);
                let (found, units) = work::counted(check);
                black_box(found);
                longest = longest.max(begun.elapsed());
                all += units;
            }
        }
        (start.elapsed(), longest, all)
    };
    let runs = [once(), once(), once()];
    let time = runs.iter().map(|run| run.0).min().unwrap_or_default();
    let longest = runs.iter().map(|run| run.1).min().unwrap_or_default();
    (time, longest, runs[0].2)
}

fn main() {
    let n = std::env::var("GUTTA_N").ok().and_then(|n| n.parse().ok());
    let n: usize = n.unwrap_or(64);
    let one = std::env::var("GUTTA_KIND").ok();
    println!(
        "{:32} {:>9} {:>9} {:>9}  2n/n  4n/n   work  longest stanza at 4n",
        "kind", "n", "2n", "4n"
    );
    for (name, text) in kinds::KINDS.into_iter().chain(kinds::STEEP) {
        if one.as_deref().is_some_and(|one| one != name) {
            continue;
        }
        let [small, middle, large] = [n, 2 * n, 4 * n].map(|n| measured(&text(n)));
        // Tenths, in whole numbers.
        let ratio = |one: u128, other: u128| {
            let tenths = one * 10 / other.max(1);
            format!("{}.{}", tenths / 10, tenths % 10)
        };
        let micros = |time: Duration| format!("{} us", time.as_micros());
        println!(
            "{name:32} {:>9} {:>9} {:>9} {:>5} {:>5} {:>6}  {:>9}, {} units",
            micros(small.0),
            micros(middle.0),
            micros(large.0),
            ratio(middle.0.as_nanos(), small.0.as_nanos()),
            ratio(large.0.as_nanos(), small.0.as_nanos()),
            ratio(u128::from(large.2), u128::from(small.2)),
            micros(large.1),
            large.2,
        );
    }
}

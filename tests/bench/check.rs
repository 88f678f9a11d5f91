//! A whole check, stage by stage, beside the bare parse of the same text.
//!
//! The mixed corpus; every stage sees the same workspace in the same run, so that
//! the ratios do not depend on the machine.

use std::hint::black_box;
use std::time::{Duration, Instant};

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use gutta_checks::{Options, check};
use gutta_notation::StanzaKind;
use gutta_protocol::model::Library;
use gutta_protocol::{Analysis, House, Workspace};
use gutta_tests::corpus::Corpus;

const ORDERS: usize = 4_000;

/// Names and texts.
fn files() -> Vec<(String, String)> {
    let corpus = Corpus::new(1, 5);
    let mut files = corpus.reference().to_vec();
    let of_orders = corpus.files(ORDERS, 5);
    files.extend(of_orders.map(|file| (file.path.clone(), file.text())));
    files
}

/// The best of a few runs.
fn best(mut run: impl FnMut()) -> Duration {
    let once = |run: &mut dyn FnMut()| {
        let start = Instant::now();
        run();
        start.elapsed()
    };
    (0..5).map(|_| once(&mut run)).min().unwrap_or_default()
}

fn bench(criterion: &mut Criterion) {
    let files = files();
    let text: String = files.iter().map(|(_, text)| text.as_str()).collect();
    let lines = gutta_notation::bench::lines(&text);
    let workspace = Workspace::new(files.clone(), House::default());
    let library = Library::new(&workspace);
    let orders: Vec<_> = workspace.stanzas_of(StanzaKind::Order).collect();
    let parse = || {
        black_box(gutta_notation::bench::parse(black_box(&lines)));
    };
    let read = || {
        black_box(Workspace::new(files.clone(), House::default()));
    };
    let derive = || {
        for order in &orders {
            black_box(Analysis::of(&workspace, &library, *order));
        }
    };
    let whole = || {
        black_box(check(&workspace, None, &Options::default()));
    };
    let mut group = criterion.benchmark_group("check");
    group.throughput(Throughput::Elements(orders.len() as u64));
    group.sample_size(10);
    group.bench_function("bare parse", |bencher| bencher.iter(parse));
    group.bench_function("workspace", |bencher| bencher.iter(read));
    group.bench_function("derive", |bencher| bencher.iter(derive));
    group.bench_function("check", |bencher| bencher.iter(whole));
    group.finish();
    let bare = best(parse);
    println!(
        "{} orders, {} bytes; bare parse {bare:?}",
        orders.len(),
        text.len()
    );
    for (stage, time) in [
        ("workspace", best(read)),
        ("derive", best(derive)),
        ("check", best(whole)),
    ] {
        // Hundredths, in whole numbers.
        let ratio = time.as_nanos() * 100 / bare.as_nanos().max(1);
        println!(
            "{stage}: {time:?}, {}.{:02} times the bare parse",
            ratio / 100,
            ratio % 100
        );
    }
}

criterion_group!(benches, bench);
criterion_main!(benches);

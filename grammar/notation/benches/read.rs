//! How fast a text is read, and how much of that is the grammar's own time.
//!
//! The text is the repository's examples, repeated. `bare` parses the same
//! lines by the same rules of the grammar and keeps nothing.

use std::fs;
use std::hint::black_box;
use std::path::{Path, PathBuf};
use std::time::Instant;

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use gutta_notation::{Style, read, stanza_starts};

fn files(below: &Path, into: &mut Vec<PathBuf>) {
    let Ok(entries) = fs::read_dir(below) else {
        return;
    };
    for entry in entries.flatten() {
        let path = entry.path();
        if path.is_dir() {
            files(&path, into);
        } else if path.extension().is_some_and(|kind| kind == "gtt") {
            into.push(path);
        }
    }
}

/// The examples, repeated until they are at least `bytes` long.
fn text(bytes: usize) -> String {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples");
    let mut found = Vec::new();
    files(&root, &mut found);
    found.sort();
    let once: String = found
        .iter()
        .filter_map(|path| fs::read_to_string(path).ok())
        .collect();
    assert!(!once.is_empty(), "no example was found");
    once.repeat(bytes / once.len() + 1)
}

fn bench(criterion: &mut Criterion) {
    let text = text(4_000_000);
    let style = Style::USUAL;
    let lines = gutta_notation::bench::lines(&text);
    let mut group = criterion.benchmark_group("notation");
    group.throughput(Throughput::Bytes(text.len() as u64));
    group.sample_size(20);
    group.bench_function("scan", |bencher| bencher.iter(|| stanza_starts(&text)));
    group.bench_function("bare", |bencher| {
        bencher.iter(|| gutta_notation::bench::parse(black_box(&lines)));
    });
    group.bench_function("read", |bencher| {
        bencher.iter_with_large_drop(|| read(&text, style));
    });
    group.finish();
    ratio(&text, &lines);
}

/// Prints what reading takes beside the bare parse, from the best of a few
/// runs of both by turns.
fn ratio(text: &str, lines: &[gutta_notation::bench::BareLine<'_>]) {
    let mut best = [u128::MAX; 2];
    for _ in 0..8 {
        let begun = Instant::now();
        black_box(gutta_notation::bench::parse(lines));
        best[0] = best[0].min(begun.elapsed().as_nanos());
        let begun = Instant::now();
        let kept = black_box(read(text, Style::USUAL));
        best[1] = best[1].min(begun.elapsed().as_nanos());
        drop(kept);
    }
    let [bare, read] = best;
    let mb = |nanos: u128| text.len() as u128 * 1_000 / nanos.max(1);
    println!(
        "bare {} MB/s, read {} MB/s, {} ns a line, read takes {} % of bare",
        mb(bare),
        mb(read),
        read / lines.len().max(1) as u128,
        read * 100 / bare.max(1)
    );
}

criterion_group!(benches, bench);
criterion_main!(benches);

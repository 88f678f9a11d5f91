//! The common chain of an order: dose, flow, cap, ceiling.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use gutta_protocol::curve::{Curve, Interval};
use gutta_quantity::Exact;

fn number(num: i64, den: i64) -> Exact {
    Exact::ratio(num, den).unwrap_or_default()
}

fn curves(criterion: &mut Criterion) {
    let Some(adults) = Interval::new(Exact::int(40), Exact::int(150)) else {
        return;
    };
    let weight = Curve::identity(adults.clone());
    let per_kg = number(1, 160);
    let strength = Curve::constant(adults.clone(), number(8, 5));
    let cap = Curve::constant(adults.clone(), Exact::int(50));
    let ceiling = Curve::constant(adults.clone(), Exact::int(40));
    let sixty = Exact::int(60);
    let flow = |weight: &Curve| {
        let dose = weight.scale(&per_kg);
        dose.div(&strength).map(|flow| flow.scale(&sixty))
    };
    let Some(plain) = flow(&weight) else { return };
    let Some(capped) = plain.min(&cap) else {
        return;
    };
    let Some(made_up) = weight.add(&cap) else {
        return;
    };

    let mut group = criterion.benchmark_group("curve");
    group.bench_function("whole chain (5 operations)", |bencher| {
        bencher.iter(|| {
            let flow = flow(black_box(&weight))?.min(&cap)?;
            flow.where_above(&ceiling)
        });
    });
    group.bench_function("scale", |bencher| {
        bencher.iter(|| black_box(&weight).scale(&per_kg))
    });
    group.bench_function("div", |bencher| {
        bencher.iter(|| black_box(&plain).div(&strength))
    });
    group.bench_function("mul", |bencher| {
        bencher.iter(|| black_box(&plain).mul(&weight))
    });
    group.bench_function("add of one power", |bencher| {
        bencher.iter(|| black_box(&plain).add(&weight));
    });
    group.bench_function("add to linear", |bencher| {
        bencher.iter(|| black_box(&plain).add(&cap));
    });
    group.bench_function("div to linear/linear", |bencher| {
        bencher.iter(|| black_box(&plain).div(&made_up));
    });
    group.bench_function("min with a corner", |bencher| {
        bencher.iter(|| black_box(&plain).min(&cap));
    });
    group.bench_function("min of two pieces without a corner", |bencher| {
        bencher.iter(|| black_box(&capped).min(&weight));
    });
    group.bench_function("where_above", |bencher| {
        bencher.iter(|| black_box(&plain).where_above(&ceiling));
    });
    group.bench_function("at", |bencher| {
        bencher.iter(|| black_box(&plain).at(&sixty))
    });
    group.bench_function("max_value", |bencher| {
        bencher.iter(|| black_box(&plain).max_value())
    });
    group.bench_function("step_edges (281)", |bencher| {
        bencher.iter(|| black_box(&plain).step_edges(&number(1, 10), &Exact::ZERO, 2000));
    });
    group.finish();
}

criterion_group!(benches, curves);
criterion_main!(benches);

//! Bends engineered per second on one core: force, radius, deduction, flange and travel of one
//! bend, over inputs that differ so that nothing can be worked out beforehand.

#![allow(missing_docs)] // the criterion macros make undocumented functions

use bending::force::{ForceForm, air_bend};
use bending::{developed, flange, radius, travel};
use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use std::hint::black_box;
use units::{Degrees, Length, Megapascals};

#[derive(Clone, Copy)]
struct Case {
    rm: Megapascals,
    length: Length,
    t: Length,
    v: Length,
    tip: Length,
    included: Degrees,
}

fn cases() -> Vec<Case> {
    let mut cases = Vec::new();
    for thickness in 1..=8i32 {
        for step in 0..125i32 {
            let t = f64::from(thickness);
            cases.push(Case {
                rm: Megapascals::of(300.0 + f64::from(step)),
                length: Length::from_mm(100.0 + f64::from(step) * 17.0),
                t: Length::from_mm(t),
                v: Length::from_mm(t * (6.0 + f64::from(step % 5))),
                tip: Length::from_mm(0.5 + f64::from(step % 3)),
                included: Degrees::of(60.0 + f64::from(step % 100)),
            });
        }
    }
    cases
}

fn engineer(case: &Case) -> (f64, Length, f64, Length, Length) {
    let force = air_bend(ForceForm::Oehler, case.rm, case.length, case.t, case.v);
    let ri = radius::inside(case.v, radius::MILD_STEEL_SHARE, case.tip);
    let deduction = developed::deduction_din(case.included, ri, case.t);
    let flange = flange::smallest(case.v, case.included);
    let travel = travel::punch_travel(case.v, case.t, ri, case.included);
    (force.value.get(), ri, deduction, flange, travel)
}

fn bench(criterion: &mut Criterion) {
    let cases = cases();
    let mut group = criterion.benchmark_group("bends");
    group.throughput(Throughput::Elements(cases.len() as u64));
    group.bench_function("engineered", |bencher| {
        bencher.iter(|| {
            for case in &cases {
                black_box(engineer(black_box(case)));
            }
        });
    });
    group.finish();
}

criterion_group!(benches, bench);
criterion_main!(benches);

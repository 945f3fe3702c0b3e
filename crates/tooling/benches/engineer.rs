//! Bends engineered per second on one core: every check of a hit at a punch and die on a brake,
//! from the mount to the gauge, over an invented shop's parts, brakes and tools, most of which do
//! not suit one another; and those alone that do.

#![allow(missing_docs)] // the criterion macros make undocumented functions
#![allow(clippy::unwrap_used)] // an invented shop has what it names

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use model::{Die, Profile, Punch, Shop};
use std::hint::black_box;
use testkit::{Recipe, Sections, invent};
use tooling::{Hit, Job, engineer, hits_of};

struct Case<'a> {
    job: Job<'a>,
    hit: Hit,
    punch: &'a Punch,
    die: &'a Die,
}

fn cases(shop: &Shop) -> Vec<Case<'_>> {
    let punches = || {
        shop.profiles.iter().filter_map(|profile| match profile {
            Profile::Punch(punch) => Some(punch),
            Profile::Die(_) => None,
        })
    };
    let dies = || {
        shop.profiles.iter().filter_map(|profile| match profile {
            Profile::Die(die) => Some(die),
            Profile::Punch(_) => None,
        })
    };
    let mut cases = Vec::new();
    for part in &shop.parts {
        let material = shop.material(&part.material).unwrap();
        for brake in &shop.brakes {
            let job = Job {
                shop,
                brake,
                part,
                material,
                strength: material.strength_typical,
                at: shop.as_of.unwrap(),
            };
            for hit in hits_of(part, &shop.rules) {
                for punch in punches() {
                    cases.extend(dies().map(|die| Case {
                        job,
                        hit,
                        punch,
                        die,
                    }));
                }
            }
        }
    }
    cases
}

fn bench(criterion: &mut Criterion) {
    let shop = invent(&Recipe::bed(100, 0.5, Sections::Ample, 1));
    let all = cases(&shop);
    let suits = |case: &&Case<'_>| engineer(&case.job, &case.hit, case.punch, case.die).is_ok();
    let suiting: Vec<&Case<'_>> = all.iter().filter(suits).collect();
    let everything: Vec<&Case<'_>> = all.iter().collect();
    let mut group = criterion.benchmark_group("bends engineered");
    for (name, cases) in [("all pairs", &everything), ("pairs that suit", &suiting)] {
        group.throughput(Throughput::Elements(cases.len() as u64));
        group.bench_function(name, |bencher| {
            bencher.iter(|| {
                for case in cases {
                    let case = black_box(case);
                    let _ = black_box(engineer(&case.job, &case.hit, case.punch, case.die));
                }
            });
        });
    }
    group.finish();
}

criterion_group!(benches, bench);
criterion_main!(benches);

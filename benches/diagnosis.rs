//! How many series of 20 readings are judged in a second, on one core.

use std::hint::black_box;

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use indexmap::IndexMap;
use readback::diagnosis::classify::Scratch;
use readback::diagnosis::{Series, Table, judge_with};
use readback::procedure::{SourceFile, StepKind, VariantId, load_files};
use readback::quantity::{Amount, Base, Decimal, Reading, Unit};

#[path = "../tests/diagnosis/random.rs"]
mod random;

use random::Random;

const PUMP: &str = include_str!("../tests/diagnosis/circulating-pump.yaml");
const READINGS: usize = 20;
const SERIES: usize = 1200;

/// A level, swings, falls, climbs and settling in turn, with noise and now and then a lost digit.
fn series(random: &mut Random, number: usize) -> Series {
    let unit = Unit::from(Base::Count);
    let mut series = Series::new(unit);
    let level = random.between(80.0, 700.0);
    for k in 0..READINGS {
        let share = k as f64 / READINGS as f64;
        let shape = match number % 6 {
            0 => 0.0,
            1 => 1.0,
            2 => 1.0 + 0.3 * (2.1 * k as f64).sin(),
            3 => 1.5 - share,
            4 => 0.5 + share,
            _ => 1.0 + 1.2 * (-8.0 * share).exp(),
        };
        let value = (level * shape * (1.0 + 0.006 * random.normal())).max(0.0) as i64;
        let heard = if random.chance(0.05) {
            value / 10
        } else {
            value
        };
        let amount = Amount::Exact(Decimal::from(heard));
        let at_ms = k as u64 * 1500 + random.below(900) as u64;
        let given = series.give(at_ms, Reading { amount, unit });
        given.expect("the unit of the series");
    }
    series
}

fn judged_per_second(criterion: &mut Criterion) {
    let file = SourceFile {
        name: "circulating-pump.yaml".to_owned(),
        text: PUMP.to_owned(),
    };
    let library = load_files(&[file]).expect("a sound procedure");
    let procedure = library.main();
    let findings = procedure.steps.iter().find_map(|step| match &step.kind {
        StepKind::Diagnose { findings, .. } => Some(findings.as_slice()),
        _ => None,
    });
    let table = Table {
        quantity: &procedure.quantities[0],
        findings: findings.expect("a diagnose step"),
        variant: &VariantId::from("small"),
        others: &IndexMap::new(),
    };
    let mut random = Random::new(1);
    let all: Vec<Series> = (0..SERIES).map(|n| series(&mut random, n)).collect();
    let mut scratch = Scratch::default();
    let mut group = criterion.benchmark_group("diagnosis");
    group.throughput(Throughput::Elements(SERIES as u64));
    group.bench_function("judge 1200 series of 20 readings", |bencher| {
        bencher.iter(|| {
            for series in &all {
                black_box(judge_with(&mut scratch, series, &table));
            }
        });
    });
    group.finish();
}

criterion_group!(benches, judged_per_second);
criterion_main!(benches);

//! The trade table of the small circulating pump (common practice, no source).

use indexmap::IndexMap;
use readback::diagnosis::{Judged, Judgement, Series, Table, judge};
use readback::procedure::{
    FindingRow, Library, QuantityDefinition, QuantityId, SourceFile, StepId, StepKind, VariantId,
    load_files,
};
use readback::quantity::{Amount, Base, Decimal, Reading, Unit};

use super::random::Random;
use super::readout::times;

const TABLE: &str = include_str!("circulating-pump.yaml");

/// The procedure with what a verdict needs of it.
pub struct Pump {
    library: Library,
    pub variant: VariantId,
    pub others: IndexMap<StepId, Judged>,
}

impl Pump {
    pub fn new() -> Pump {
        let file = SourceFile {
            name: "circulating-pump.yaml".to_owned(),
            text: TABLE.to_owned(),
        };
        Pump {
            library: load_files(&[file]).expect("a sound procedure"),
            variant: VariantId::from("small"),
            others: IndexMap::new(),
        }
    }

    pub fn quantity(&self, id: &str) -> &QuantityDefinition {
        &self.library.main().quantities[&QuantityId::from(id)]
    }

    pub fn findings(&self, step: &str) -> Vec<FindingRow> {
        let steps = &self.library.main().steps;
        let step = steps.iter().find(|s| s.id.as_str() == step);
        match step.map(|step| &step.kind) {
            Some(StepKind::Diagnose { findings, .. }) => findings.clone(),
            _ => panic!("no such diagnose step"),
        }
    }

    pub fn judge(&self, series: &Series) -> Judgement {
        judge(series, &self.table(&self.findings("judge")))
    }

    pub fn table<'a>(&'a self, findings: &'a [FindingRow]) -> Table<'a> {
        Table {
            quantity: self.quantity("running-value"),
            findings,
            variant: &self.variant,
            others: &self.others,
        }
    }
}

/// Counts given one after the other, three seconds apart.
pub fn counts(values: &[i64]) -> Series {
    let unit = Unit::from(Base::Count);
    let mut series = Series::new(unit);
    for (at_ms, value) in (1000..).step_by(3000).zip(values) {
        let amount = Amount::Exact(Decimal::from(*value));
        series.give(at_ms, Reading { amount, unit }).unwrap();
    }
    series
}

/// The running value at a time, with one draw of the pump's state.
type State = fn(&mut Random) -> Box<dyn Fn(f64) -> f64>;

const STATES: [(&str, State); 6] = [
    ("healthy", |random| {
        let (level, peak) = (random.between(228.0, 262.0), random.between(560.0, 740.0));
        Box::new(move |t| match t < 2.0 {
            true => peak * (0.6 + 0.2 * t),
            false => level + (peak - level) * (-(t - 2.0) / 2.5).exp(),
        })
    }),
    ("seized", |random| {
        let level = random.between(560.0, 900.0);
        Box::new(move |_| level)
    }),
    ("outlet", |random| {
        let (level, phase) = (random.between(350.0, 420.0), random.between(0.0, 6.0));
        Box::new(move |t| level + 60.0 * (1.9 * t + phase).sin())
    }),
    ("inlet", |random| {
        let (level, phase) = (random.between(70.0, 140.0), random.between(0.0, 6.0));
        Box::new(move |t| level + 40.0 * (2.3 * t + phase).sin())
    }),
    ("leak", |random| {
        let (start, rate) = (random.between(500.0, 700.0), random.between(9.0, 14.0));
        Box::new(move |t| start - rate * t)
    }),
    ("no-supply", |random| {
        let level = random.between(0.0, 6.0);
        Box::new(move |_| level)
    }),
];

#[test]
fn each_finding_comes_of_noisy_readings() {
    let pump = Pump::new();
    let mut random = Random::new(7);
    for (expected, state) in STATES {
        let mut right = 0;
        for _ in 0..200 {
            let value = state(&mut random);
            let count = 8 + random.below(5);
            let mut at = vec![0.5, 1.2, 2.1, 3.0];
            at.extend(times(&mut random, count, 26.0).iter().map(|t| t + 4.0));
            let read: Vec<i64> = at
                .iter()
                .map(|t| (value(*t) + 1.5 * random.normal()).max(0.0) as i64)
                .collect();
            let found = pump.judge(&counts_at(&at, &read));
            match found.finding() {
                Some(finding) if finding.id.as_str() == expected => right += 1,
                Some(finding) => panic!("{expected}: found `{}` in {read:?}", finding.id),
                None => {}
            }
        }
        assert!(right >= 190, "{expected}: {right} of 200");
    }
}

fn counts_at(at: &[f64], values: &[i64]) -> Series {
    let unit = Unit::from(Base::Count);
    let mut series = Series::new(unit);
    for (at, value) in at.iter().zip(values) {
        let amount = Amount::Exact(Decimal::from(*value));
        let at_ms = (at * 1000.0) as u64;
        series.give(at_ms, Reading { amount, unit }).unwrap();
    }
    series
}

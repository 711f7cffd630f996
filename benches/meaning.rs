//! Phrase to meaning, beside a published number-word crate on the same phrases; and the cost of a
//! new grammar.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use readback::language::{Expectation, ExpectedReading, Language, Meaning};
use readback::quantity::{Amount, Decimal};

/// Values as they are said, among other words: the other crate replaces the numbers in them.
const VALUES: [&str; 6] = [
    "two hundred and forty five ohms",
    "five point seven zero volts",
    "one hundred twenty volts",
    "twelve point five milliamps",
    "minus five degrees celsius",
    "seventeen fifty rpm",
];

/// Cardinals alone, which the other crate also takes by a shorter way.
const CARDINALS: [&str; 8] = [
    "two hundred and forty five",
    "one hundred twenty",
    "seventeen",
    "ninety nine",
    "twelve thousand three hundred and forty five",
    "nine hundred ninety nine thousand nine hundred ninety nine",
    "four hundred and seven",
    "one thousand and six",
];

fn meaning(bench: &mut Criterion) {
    let language = Language::bundled("en-US").expect("bundled grammars are good");
    let automaton = language
        .compile(&Expectation::everything())
        .expect("everything compiles");
    let other = text2num::Language::english();
    for phrase in CARDINALS {
        let digits = text2num::text2digits(phrase, &other).expect("both understand the phrase");
        let value: Decimal = digits.parse().expect("digits are a number");
        let Meaning::Readings(readings) = automaton.parse_text(phrase).meaning() else {
            panic!("`{phrase}` is a reading");
        };
        assert_eq!(readings[0].amount, Amount::Exact(value));
    }
    let readback = |phrase| automaton.parse_text(black_box(phrase));
    let replace = |phrase| text2num::replace_numbers_in_text(black_box(phrase), &other, 0.0);
    let digits = |phrase| text2num::text2digits(black_box(phrase), &other);
    let mut group = bench.benchmark_group("values with units, 6 phrases");
    group.bench_function("readback", |b| b.iter(|| VALUES.map(readback)));
    group.bench_function("replace_numbers_in_text", |b| {
        b.iter(|| VALUES.map(replace))
    });
    group.finish();
    let mut group = bench.benchmark_group("bare cardinals, 8 phrases");
    group.bench_function("readback", |b| b.iter(|| CARDINALS.map(readback)));
    group.bench_function("replace_numbers_in_text", |b| {
        b.iter(|| CARDINALS.map(replace))
    });
    group.bench_function("text2digits", |b| b.iter(|| CARDINALS.map(digits)));
    group.finish();
}

fn grammar(bench: &mut Criterion) {
    let language = Language::bundled("en-US").expect("bundled grammars are good");
    let unit = "ohm".parse().expect("a unit");
    let step = Expectation {
        reading: Some(ExpectedReading {
            unit: Some(unit),
            plausible: None,
        }),
        spelling: false,
        ..Expectation::everything()
    };
    let mut group = bench.benchmark_group("grammar");
    group.bench_function("load a language", |b| {
        b.iter(|| Language::bundled(black_box("en-US")));
    });
    group.bench_function("compile a reading step", |b| {
        b.iter(|| language.compile(black_box(&step)));
    });
    let automaton = language.compile(&step).expect("the step compiles");
    group.bench_function("its text for an engine", |b| {
        b.iter(|| automaton.state_grammar(black_box("step"), &[]));
    });
    group.finish();
}

criterion_group!(benches, meaning, grammar);
criterion_main!(benches);

//! Phrases made by a published library parse to the value they were made from.
//!
//! Source: the PyPI library num2words 0.5.14, through `scripts/reference/number_phrases.py`. The
//! committed sample runs always; `READBACK_NUMBER_PHRASES` names a larger file.

use std::fs;

use readback::language::{Automaton, Expectation, Language, Meaning};
use readback::quantity::Amount;

/// The one value of a phrase with its resolution, as text.
fn value(automaton: &Automaton, phrase: &str) -> String {
    match automaton.parse_text(phrase).meaning() {
        Meaning::Readings(readings) => match readings.as_slice() {
            [reading] => match reading.amount {
                Amount::Exact(value) => value.to_string(),
                other => format!("{other:?}"),
            },
            several => format!("{} values", several.len()),
        },
        other => format!("{other:?}"),
    }
}

#[test]
fn every_phrase_parses_to_its_value() {
    let path = std::env::var("READBACK_NUMBER_PHRASES")
        .unwrap_or_else(|_| "tests/reference/number_phrases_sample.csv".to_owned());
    let text = fs::read_to_string(&path).unwrap_or_else(|why| panic!("{path}: {why}"));
    let language = Language::bundled("en-US").expect("the grammar files are good");
    let automaton = language
        .compile(&Expectation::everything())
        .expect("compiles");
    let mut wrong = Vec::new();
    let mut right = 0;
    for line in text.lines() {
        let (expected, phrase) = line.split_once(',').expect("a line is `value,phrase`");
        let found = value(&automaton, phrase);
        match found == expected {
            true => right += 1,
            false => wrong.push(format!("{phrase}: {found}, expected {expected}")),
        }
    }
    let first = &wrong[..wrong.len().min(20)];
    assert!(
        wrong.is_empty(),
        "{} wrong:\n{}",
        wrong.len(),
        first.join("\n")
    );
    assert!(right >= 2000, "{path} holds only {right} phrases");
}

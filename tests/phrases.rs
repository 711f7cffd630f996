//! Every phrase in `tests/phrases/<locale>.txt` means what stands beside it.
//!
//! A line is `phrase => meaning`; the meaning is written as [`shown`] writes it. `... ` in a
//! phrase is a pause.

use std::collections::BTreeSet;

use readback::language::{Command, Expectation, Language, Meaning, Parse, SpokenReading};
use readback::quantity::Amount;

fn reading(reading: &SpokenReading) -> String {
    let amount = match reading.amount {
        Amount::Exact(value) => value.to_string(),
        Amount::About(value) => format!("about {value}"),
        Amount::Between(low, high) => format!("{low} to {high}"),
        Amount::OverRange => "over_range".to_owned(),
        Amount::Short => "short".to_owned(),
        Amount::None => "none".to_owned(),
    };
    let unit = reading.unit.map_or("", |unit| unit.symbol());
    let unit = format!("{}{unit}", reading.prefix.symbol());
    format!("{amount} {unit}").trim_end().to_owned()
}

fn shown(parse: &Parse) -> String {
    let list = |readings: &[SpokenReading]| {
        let shown: Vec<String> = readings.iter().map(reading).collect();
        shown.join(" | ")
    };
    match parse.meaning() {
        Meaning::Command { command, readings } => format!("{} {}", command.name(), list(&readings))
            .trim_end()
            .to_owned(),
        Meaning::Readings(readings) => list(&readings),
        Meaning::Spelling(text) => format!("spelled {text}"),
        Meaning::Choice(id) => format!("choice {id}"),
        Meaning::Nothing { .. } if parse.could_continue => "nothing yet".to_owned(),
        Meaning::Nothing { .. } => "nothing".to_owned(),
    }
}

fn check(locale: &str, cases: &str) {
    let language = Language::bundled(locale).expect("the grammar files are good");
    let automaton = language
        .compile(&Expectation::everything())
        .expect("compiles");
    let wrong: Vec<String> = cases
        .lines()
        .filter(|line| !line.starts_with('#'))
        .filter_map(|line| line.split_once(" => "))
        .filter_map(|(phrase, expected)| {
            let found = shown(&automaton.parse_text(phrase));
            (found != expected).then(|| format!("{phrase} => {found}, expected {expected}"))
        })
        .collect();
    assert!(wrong.is_empty(), "\n{}", wrong.join("\n"));
}

/// In every way a command can be said, but for "stop" said over and over.
fn ways(language: &Language, command: Command) -> BTreeSet<String> {
    let expected = Expectation {
        commands: [command].into(),
        ..Expectation::default()
    };
    let automaton = language.compile(&expected).expect("compiles");
    let is_whole = |phrase: &String| {
        let meaning = automaton.parse_text(phrase).meaning();
        matches!(meaning, Meaning::Command { .. }) && !phrase.contains("stop stop")
    };
    automaton.phrases().into_iter().filter(is_whole).collect()
}

#[test]
fn the_readme_lists_every_spoken_command() {
    let language = Language::bundled("en-US").expect("the grammar files are good");
    let readme = include_str!("../README.md");
    let rows = readme.lines().filter_map(|line| line.strip_prefix("| \""));
    let row = |row: &str| {
        let said = row.split(" | ").next().expect("a first column");
        let said = said
            .split(", ")
            .map(|phrase| phrase.trim_matches('"').to_owned());
        said.collect::<BTreeSet<String>>()
    };
    let listed: BTreeSet<_> = rows.map(row).collect();
    let all = Command::ALL.into_iter();
    let spoken: BTreeSet<_> = all.map(|command| ways(&language, command)).collect();
    assert_eq!(listed, spoken);
}

#[test]
fn english() {
    check("en-US", include_str!("phrases/en-US.txt"));
}

#[test]
fn korean() {
    check("ko-KR", include_str!("phrases/ko-KR.txt"));
}

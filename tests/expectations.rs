//! What a step expects decides what words mean there.

use readback::language::{
    Automaton, Choice, Command, Expectation, ExpectedReading, Hypothesis, Language, Meaning, Word,
    understand,
};
use readback::quantity::{Amount, Base, Decimal, Prefix, Range};

fn compile(expectation: &Expectation) -> Automaton {
    let language = Language::bundled("en-US").expect("the grammar files are good");
    language.compile(expectation).expect("compiles")
}

fn reading_of(unit: &str, low: i64, high: i64) -> Expectation {
    Expectation {
        commands: [Command::Correction, Command::Negative, Command::Next].into(),
        reading: Some(ExpectedReading {
            unit: Some(unit.parse().expect("a unit")),
            plausible: Range::closed(Decimal::from(low), Decimal::from(high)).ok(),
        }),
        ..Expectation::default()
    }
}

/// Words of 300 ms, each behind a gap of the given milliseconds.
fn spoken(words: &[(&str, u64)]) -> Vec<Word> {
    let mut now = 0;
    words
        .iter()
        .map(|(text, gap)| {
            let start_ms = now + gap;
            now = start_ms + 300;
            Word {
                text: (*text).to_owned(),
                start_ms,
                end_ms: now,
                confidence: None,
            }
        })
        .collect()
}

fn values(meaning: &Meaning) -> Vec<String> {
    let readings = match meaning {
        Meaning::Readings(readings) | Meaning::Command { readings, .. } => readings.as_slice(),
        _ => &[],
    };
    let value = |amount: Amount| match amount {
        Amount::Exact(value) => value.to_string(),
        other => format!("{other:?}"),
    };
    readings.iter().map(|r| value(r.amount)).collect()
}

#[test]
fn each_value_has_the_times_of_its_own_words() {
    let automaton = compile(&Expectation::everything());
    let words = [
        ("two", 100),
        ("forty", 50),
        ("two", 800),
        ("thirty", 50),
        ("eight", 50),
        ("ohms", 400),
    ];
    let Meaning::Readings(readings) = automaton.parse(&spoken(&words)).meaning() else {
        panic!("two values were said");
    };
    let times: Vec<(u64, u64)> = readings.iter().map(|r| (r.start_ms, r.end_ms)).collect();
    assert_eq!(times, [(100, 750), (1550, 3250)]);
    assert_eq!(
        readings[1].unit,
        Some(Base::Ohm),
        "a pause does not part a value from its unit"
    );
}

#[test]
fn a_correction_times_its_value_without_the_command() {
    let automaton = compile(&Expectation::everything());
    let words = [("correction", 0), ("two", 500), ("forty", 50)];
    let Meaning::Command { readings, .. } = automaton.parse(&spoken(&words)).meaning() else {
        panic!("a correction was said");
    };
    assert_eq!((readings[0].start_ms, readings[0].end_ms), (800, 1450));
}

#[test]
fn only_units_of_the_expected_kind_are_heard() {
    let automaton = compile(&reading_of("ohm", 0, 1000));
    assert!(automaton.parse_text("five kilohms").complete);
    assert!(!automaton.parse_text("five volts").complete);
    assert!(!automaton.words().contains(&"volts"));
    let temperature = compile(&reading_of("degC", 0, 100));
    assert!(temperature.parse_text("fifty degrees").complete);
    assert!(temperature.parse_text("fifty degrees fahrenheit").complete);
    assert!(
        !temperature.parse_text("fifty k").complete,
        "degrees take no prefix"
    );
    let difference = compile(&reading_of("delta_K", 0, 100));
    assert!(difference.parse_text("five kelvin").complete);
}

#[test]
fn only_pauses_and_units_cut_words_into_values() {
    let automaton = compile(&reading_of("ohm", 200, 300));
    let cut = |words| -> Vec<_> {
        let ranked = automaton.parse_text(words).ranked;
        ranked.iter().map(|r| values(&r.meaning)).collect()
    };
    assert_eq!(
        cut("two four five two three eight"),
        [["245238"]],
        "implausible, and still one row of digits"
    );
    assert_eq!(
        cut("two four five ohms two three eight ohms"),
        [["245", "238"]]
    );
    let parse = automaton.parse_text("two forty five two thirty eight");
    assert_eq!(
        parse.meaning(),
        Meaning::Nothing {
            why:
                "several values run together; leave a pause between them, or say the unit with each"
                    .to_owned(),
            run_together: true,
        }
    );
}

#[test]
fn a_value_outside_the_range_is_heard_and_costs_more() {
    let automaton = compile(&reading_of("ohm", 200, 300));
    let (inside, outside) = (
        automaton.parse_text("two fifty"),
        automaton.parse_text("nine"),
    );
    assert_eq!(values(&outside.meaning()), ["9"]);
    assert!(inside.ranked[0].cost < outside.ranked[0].cost);
    let kilo = automaton.parse_text("point two five k");
    assert_eq!(
        kilo.ranked[0].cost, inside.ranked[0].cost,
        "0.25 k is 250 ohms"
    );
}

#[test]
fn negative_before_a_value_denies_where_the_value_cannot_be_negative() {
    let automaton = compile(&reading_of("ohm", 200, 300));
    let ranked = automaton.parse_text("negative two fifty").ranked;
    let denied = Some(Command::Negative);
    let command = |m: &Meaning| match m {
        Meaning::Command { command, .. } => Some(*command),
        _ => None,
    };
    assert_eq!(command(&ranked[0].meaning), denied);
    assert_eq!(values(&ranked[0].meaning), ["250"]);
    assert_eq!(
        values(&ranked[1].meaning),
        ["-250"],
        "the other way stays in sight"
    );
    let frost = compile(&reading_of("degC", -40, 40));
    assert_eq!(values(&frost.parse_text("negative five").meaning()), ["-5"]);
}

#[test]
fn a_correction_may_bring_a_value_where_none_is_asked() {
    let automaton = compile(&Expectation {
        reading: None,
        correction: reading_of("ohm", 0, 1000).reading,
        ..reading_of("ohm", 0, 1000)
    });
    assert_eq!(
        values(&automaton.parse_text("correction two fifty").meaning()),
        ["250"]
    );
    assert!(!automaton.parse_text("two fifty").complete);
}

#[test]
fn choices_may_be_words_or_grammar() {
    let choice = |id: &str, phrases: &[&str]| Choice {
        id: id.to_owned(),
        phrases: phrases.iter().map(|p| (*p).to_owned()).collect(),
    };
    let automaton = compile(&Expectation {
        choices: vec![
            choice("dry", &["dry", "[it is] all dry"]),
            choice("yes", &["<yes>"]),
        ],
        ..Expectation::default()
    });
    for (words, id) in [
        ("dry", "dry"),
        ("it is all dry", "dry"),
        ("all dry", "dry"),
        ("yes", "yes"),
    ] {
        assert_eq!(
            automaton.parse_text(words).meaning(),
            Meaning::Choice(id.to_owned())
        );
    }
    assert!(automaton.parse_text("it is").could_continue);
    assert!(!automaton.parse_text("next").complete);
    assert!(automaton.phrases().contains(&"it is all dry".to_owned()));
}

#[test]
fn a_bad_choice_phrase_says_what_to_do() {
    let language = Language::bundled("en-US").expect("the grammar files are good");
    let compiled = |phrase: &str| {
        let choices = vec![Choice {
            id: "burner".to_owned(),
            phrases: vec![phrase.to_owned()],
        }];
        let expectation = Expectation {
            choices,
            ..Expectation::default()
        };
        language
            .compile(&expectation)
            .expect_err("a bad phrase")
            .to_string()
    };
    assert_eq!(
        compiled("\"lit\""),
        "choice `burner`:1:1: found `\"`, expected a word, a rule name, a tag or one of \
         `; = | * + ( ) [ ]`; write words bare, without quotes or escapes"
    );
    assert_eq!(
        compiled("<lit>"),
        "choice `burner`:1:1: found `<lit>`, expected a public rule of the language, such as \
         `<choices.yes>`; correct the name or write the words"
    );
    assert_eq!(
        compiled("[lit]"),
        "choices:1:1: found a phrase that accepts silence, expected a phrase of at least one \
         word; make at least one word of it required"
    );
}

#[test]
fn nothing_expected_hears_nothing() {
    let automaton = compile(&Expectation::default());
    assert!(automaton.words().is_empty());
    assert!(automaton.phrases().is_empty());
    assert_eq!(automaton.state_grammar("step", &[]), "");
    assert!(!automaton.parse_text("next").complete);
}

#[test]
fn hypotheses_are_ranked_by_meaning() {
    let automaton = compile(&reading_of("ohm", 0, 1000));
    let hypothesis = |words: &[(&str, u64)]| Hypothesis {
        words: spoken(words),
        ..Hypothesis::default()
    };
    let ranked = understand(
        &automaton,
        &[
            hypothesis(&[("thank", 0), ("you", 0)]),
            hypothesis(&[("fifty", 0)]),
            hypothesis(&[("five", 0), ("zero", 0)]),
            hypothesis(&[("fifteen", 0)]),
        ],
    );
    let found: Vec<Vec<String>> = ranked.iter().map(|r| values(&r.meaning)).collect();
    assert_eq!(found, [["50"], ["15"]]);
    assert!(ranked[0].cost < ranked[1].cost);
}

#[test]
fn a_prefix_stays_with_its_value() {
    let automaton = compile(&Expectation::everything());
    let Meaning::Readings(readings) = automaton.parse_text("four point seven k").meaning() else {
        panic!("a value was said");
    };
    assert_eq!((readings[0].prefix, readings[0].unit), (Prefix::Kilo, None));
}

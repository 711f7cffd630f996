//! What the assistant says is what its own parser understands: `parse(say(q)) = q`.

use proptest::prelude::*;
use readback::language::{Automaton, Expectation, Language, Meaning, Say, SpokenReading};
use readback::quantity::{Amount, Base, Decimal, Prefix, Quantity, Reading, Unit};

fn english() -> Say {
    Say::bundled("en-US").expect("the words of the language")
}

fn quantity(value: &str, unit: &str) -> Quantity {
    Quantity {
        value: value.parse().expect("a decimal"),
        unit: unit.parse().expect("a unit"),
    }
}

#[test]
fn values_are_said_digit_by_digit() {
    let say = english();
    for (value, unit, words) in [
        ("15", "ohm", "one five ohms"),
        ("50", "ohm", "five zero ohms"),
        ("240", "V", "two four zero volts"),
        ("200", "V", "two hundred volts"),
        ("5000", "rpm", "five thousand revolutions per minute"),
        ("5.70", "ohm", "five point seven zero ohms"),
        ("0.42", "Mohm", "zero point four two megohms"),
        ("-12.5", "degC", "minus one two point five degrees celsius"),
        ("1", "V", "one volt"),
        ("1.0", "V", "one point zero volts"),
        ("3", "nV", "three nano volts"),
    ] {
        assert_eq!(say.quantity(&quantity(value, unit)), words);
    }
}

#[test]
fn numbers_and_times_are_counted() {
    let say = english();
    for (number, words) in [
        (0, "zero"),
        (5, "five"),
        (99, "ninety nine"),
        (200, "two hundred"),
        (125, "one two five"),
    ] {
        assert_eq!(say.count(number), words);
    }
    for (seconds, words) in [
        (1, "one second"),
        (10, "ten seconds"),
        (60, "one minute"),
        (90, "ninety seconds"),
        (100, "one minute forty seconds"),
        (121, "two minutes one second"),
        (2400, "forty minutes"),
    ] {
        assert_eq!(say.duration(seconds), words);
    }
    let korean = Say::bundled("ko-KR").expect("the words of the language");
    assert_eq!(korean.duration(90), "구십 초");
    assert_eq!(korean.duration(600), "십 분");
}

#[test]
fn references_are_said_so_that_they_can_be_found() {
    let say = english();
    for (written, spoken) in [
        ("D5", "delta five"),
        ("D15", "delta one five"),
        ("sheet 2, item 19", "sheet two, item nineteen"),
        (
            "item 42",
            "item four two".replace("four two", "forty two").as_str(),
        ),
        ("valve V-101", "valve victor dash one zero one"),
        ("item 007", "item zero zero seven"),
        ("the drain cock", "the drain cock"),
    ] {
        assert_eq!(say.reference(written), spoken);
    }
}

#[test]
fn abbreviations_are_spoken_out() {
    let say = english();
    for (written, spoken) in [
        ("set 5 kPa, then stop", "set 5 kilopascals, then stop"),
        ("set 5kPa", "set 5 kilopascals"),
        ("A load of 230 V.", "A load of 230 volts."),
        ("watch the LED", "watch the L E D"),
    ] {
        assert_eq!(say.spoken_text(written), spoken);
    }
}

#[test]
fn a_broken_table_names_its_lines() {
    let problems = Say::load(
        ("say.txt", "digit 0 zero\n"),
        ("abbreviations.txt", "V = volts\nV = v\n"),
    )
    .expect_err("not a table");
    let lines: Vec<String> = problems.iter().map(ToString::to_string).collect();
    assert_eq!(
        lines[0],
        "say.txt:1:1: found `digit 0 zero`, expected `key = words`; write one key and its words on a line"
    );
    assert_eq!(
        lines[1],
        "abbreviations.txt:2:1: found `V` again, expected each key once; take one of the two lines out"
    );
    assert!(
        lines.contains(
            &"say.txt:1:1: found no `digit 0`, expected a line `digit 0 = ...`; add the words"
                .to_owned()
        )
    );
}

fn automaton(locale: &str) -> Automaton {
    Language::bundled(locale)
        .expect("a language")
        .compile(&Expectation::everything())
        .expect("an automaton")
}

fn units() -> Vec<Unit> {
    let prefixes = |base: Base| {
        Prefix::ALL
            .into_iter()
            .filter(move |prefix| *prefix == Prefix::None || base.takes_prefix())
            .map(move |prefix| Unit { prefix, base })
    };
    Base::ALL.into_iter().flat_map(prefixes).collect()
}

/// The reading a parse gives, in the unit as it was said.
fn parsed(automaton: &Automaton, words: &str) -> Option<Reading> {
    let Meaning::Readings(readings) = automaton.parse_text(words).meaning() else {
        return None;
    };
    let [
        SpokenReading {
            amount,
            prefix,
            unit,
            ..
        },
    ] = readings.as_slice()
    else {
        return None;
    };
    Some(Reading {
        amount: *amount,
        unit: Unit {
            prefix: *prefix,
            base: (*unit)?,
        },
    })
}

/// Failing cases are printed in full; nothing is kept beside the tests.
fn cases(count: u32) -> ProptestConfig {
    ProptestConfig {
        failure_persistence: None,
        ..ProptestConfig::with_cases(count)
    }
}

/// The same digits, not only the same value: `5.70` is not `5.7`.
fn digits(amount: Amount) -> String {
    format!("{amount:?}")
}

fn decimals() -> impl Strategy<Value = Decimal> {
    (-99_999_999_i64..=99_999_999, 0_u32..=6)
        .prop_map(|(mantissa, scale)| Decimal::new(mantissa, scale))
}

fn amounts() -> impl Strategy<Value = Amount> {
    prop_oneof![
        4 => decimals().prop_map(Amount::Exact),
        1 => decimals().prop_map(Amount::About),
        1 => (decimals(), decimals()).prop_map(|(a, b)| Amount::between(a, b)),
    ]
}

#[test]
fn every_unit_is_understood_as_it_is_said() {
    let (say, automaton) = (english(), automaton("en-US"));
    for unit in units() {
        for value in ["1", "0", "15", "200", "5.70"] {
            let reading = Reading {
                amount: Amount::Exact(value.parse().expect("a decimal")),
                unit,
            };
            let words = say.reading(&reading);
            assert_eq!(parsed(&automaton, &words), Some(reading), "{words}");
        }
    }
}

#[test]
fn what_a_meter_says_instead_of_a_number_is_understood() {
    let (say, automaton) = (english(), automaton("en-US"));
    for amount in [Amount::OverRange, Amount::Short, Amount::None] {
        let unit = Unit::from(Base::Ohm);
        let words = say.reading(&Reading { amount, unit });
        let Meaning::Readings(readings) = automaton.parse_text(&words).meaning() else {
            panic!("`{words}` is no reading");
        };
        assert_eq!(readings[0].amount, amount, "{words}");
    }
}

#[test]
fn what_is_said_is_understood() {
    let (say, automaton) = (english(), automaton("en-US"));
    let units = prop::sample::select(units());
    proptest!(cases(400), |(amount in amounts(), unit in units)| {
        let words = say.reading(&Reading { amount, unit });
        let heard = parsed(&automaton, &words);
        let heard = heard.ok_or_else(|| TestCaseError::fail(format!("`{words}` is no reading")))?;
        prop_assert_eq!(digits(heard.amount), digits(amount), "{}", words);
        prop_assert_eq!(heard.unit, unit, "{}", words);
    });
}

#[test]
fn what_is_said_in_korean_is_understood() {
    let say = Say::bundled("ko-KR").expect("the words of the language");
    let automaton = automaton("ko-KR");
    // The language says every temperature difference as one of kelvin.
    let differences = [Base::CelsiusDifference, Base::FahrenheitDifference];
    let units: Vec<Unit> = units()
        .into_iter()
        .filter(|u| !differences.contains(&u.base))
        .collect();
    let units = prop::sample::select(units);
    proptest!(cases(200), |(value in decimals(), unit in units)| {
        let reading = Reading::exact(value, unit);
        let words = say.reading(&reading);
        let heard = parsed(&automaton, &words);
        let heard = heard.ok_or_else(|| TestCaseError::fail(format!("`{words}` is no reading")))?;
        prop_assert_eq!(digits(heard.amount), digits(reading.amount), "{}", words);
        prop_assert_eq!(heard.unit, unit, "{}", words);
    });
}

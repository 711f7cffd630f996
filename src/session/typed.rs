//! Something typed in place of being said: it counts as exactly these words.
//!
//! A key is not misheard, so nothing else is considered for a typed value. Whether it is plausible,
//! and whether it proves a hold point, is asked as ever: a key can be missed.

use super::input::Utterance;
use super::parts::{Ms, Understanding};
use crate::language::{Automaton, Expectation, Meaning, SpokenReading};
use crate::quantity::{Amount, Decimal, Prefix, Quantity};

impl Utterance {
    /// A typed line: the words that may be said now, a number with or without its unit (`24.5`,
    /// `4.7 kohm`), either after a command that may bring a value (`correction 24.5`), or, where
    /// letters and digits are asked for, those. `at_ms` is of the session's clock.
    pub fn typed(
        automaton: &Automaton,
        expected: &Expectation,
        line: &str,
        at_ms: Ms,
    ) -> Utterance {
        let words = line.trim().to_lowercase();
        let understanding = Understanding {
            meaning: meaning(automaton, expected, &words),
            words,
            confidence: None,
        };
        Utterance {
            understandings: vec![understanding],
            typed: true,
            clip: None,
            start_ms: at_ms,
            end_ms: at_ms,
        }
    }
}

fn meaning(automaton: &Automaton, expected: &Expectation, line: &str) -> Meaning {
    let said = automaton.parse_text(line).meaning();
    if !matches!(said, Meaning::Nothing { .. }) {
        return said;
    }
    if expected.spelling && is_spelling(line) {
        return Meaning::Spelling(line.to_uppercase());
    }
    if let Some(value) = value(line) {
        return Meaning::Readings(vec![value]);
    }
    let brought = line.split_once(' ').and_then(|(first, rest)| {
        let command = automaton.parse_text(first).meaning();
        Some((command, value(rest.trim_start())?))
    });
    match brought {
        Some((Meaning::Command { command, .. }, value)) => Meaning::Command {
            command,
            readings: vec![value],
        },
        _ => said,
    }
}

fn is_spelling(line: &str) -> bool {
    !line.is_empty() && line.chars().all(|c| c.is_ascii_alphanumeric())
}

fn value(text: &str) -> Option<SpokenReading> {
    let spoken = |value, prefix, unit| SpokenReading {
        amount: Amount::Exact(value),
        prefix,
        unit,
        start_ms: 0,
        end_ms: 0,
    };
    let with_unit = text.parse::<Quantity>().ok();
    with_unit
        .map(|q| spoken(q.value, q.unit.prefix, Some(q.unit.base)))
        .or_else(|| Some(spoken(number(text)?, Prefix::None, None)))
}

/// A plain decimal: digits, with a sign and a point where it has them.
fn number(text: &str) -> Option<Decimal> {
    let plain = text.chars().all(|c| c.is_ascii_digit() || ".-".contains(c));
    plain.then(|| text.parse().ok()).flatten()
}

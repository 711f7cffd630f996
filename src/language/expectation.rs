//! What a step can accept: the input from which its automaton is compiled.

use std::collections::BTreeSet;

use super::meaning::Command;
use crate::quantity::{Range, Unit};

/// Everything that may be said now.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Expectation {
    pub commands: BTreeSet<Command>,
    /// Set where a value may be given.
    pub reading: Option<ExpectedReading>,
    /// Set where no value is asked for but "correction ..." may bring one. `reading` includes it.
    pub correction: Option<ExpectedReading>,
    /// Phrases that only this step listens for: options, release words.
    pub choices: Vec<Choice>,
    /// Letters and digits by the spelling alphabet: a serial number.
    pub spelling: bool,
    /// A word that everything but "stop" must begin with, in lower case.
    pub attention: Option<String>,
}

/// What is known of a value before it is said. Nothing here forbids a number: it weighs.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct ExpectedReading {
    /// The unit of the quantity asked for; units of its dimension and no unit are accepted too.
    /// `None`: every unit.
    pub unit: Option<Unit>,
    /// In `unit`. A value outside costs more than one inside; it is never refused.
    pub plausible: Option<Range>,
}

impl Expectation {
    /// Every command, every reading in any unit, and spelling: what is heard without a procedure.
    pub fn everything() -> Expectation {
        Expectation {
            commands: Command::ALL.into_iter().collect(),
            reading: Some(ExpectedReading::default()),
            spelling: true,
            ..Expectation::default()
        }
    }
}

/// One answer and the phrases that give it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Choice {
    pub id: String,
    /// Words as they are said; groups, optionals and rules of the language's `choices` grammar may
    /// be written as in JSGF: `[it is] open`, `<yes>`.
    pub phrases: Vec<String>,
}

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
    /// Phrases that only this step listens for: options, release words.
    pub choices: Vec<Choice>,
    /// Letters and digits by the spelling alphabet: a serial number.
    pub spelling: bool,
}

/// What is known of a value before it is said. Nothing here forbids a number: it weighs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ExpectedReading {
    /// The unit of the quantity asked for; units of its dimension and no unit are accepted too.
    /// `None`: every unit.
    pub unit: Option<Unit>,
    pub plausible: Option<Range>,
}

/// One answer and the phrases that give it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Choice {
    pub id: String,
    pub phrases: Vec<String>,
}

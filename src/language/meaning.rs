//! What an utterance means to a session.

use serde::{Deserialize, Serialize};

use crate::quantity::{Amount, Base, Prefix};

/// The commands, by their one canonical name whatever the synonym.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Command {
    Next,
    Repeat,
    Back,
    Stop,
    /// "stand by"
    Pause,
    Continue,
    Help,
    Status,
    Skip,
    Note,
    Affirm,
    Negative,
    Correction,
    Disregard,
    /// Say the readings so far.
    ReadBack,
}

/// One value as it was spoken, before a step gives it a unit it did not say.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct SpokenReading {
    pub amount: Amount,
    /// "k" in "four point seven k"; may stand without a unit.
    pub prefix: Prefix,
    /// `None` when no unit was said.
    pub unit: Option<Base>,
    /// Time of the first and the end of the last word, milliseconds, where words have times.
    pub start_ms: u64,
    pub end_ms: u64,
}

/// What one utterance means.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Meaning {
    /// A command; a correction may bring the value with it.
    Command {
        command: Command,
        readings: Vec<SpokenReading>,
    },
    Readings(Vec<SpokenReading>),
    /// One of the phrases that only this step listens for, by the id it was registered with.
    Choice(String),
    /// Letters and digits: a serial number.
    Spelling(String),
    /// Nothing that may be said here, and why.
    Nothing {
        why: String,
    },
}

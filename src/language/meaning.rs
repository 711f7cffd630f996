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

impl Command {
    /// Every command.
    pub const ALL: [Command; 15] = [
        Command::Next,
        Command::Repeat,
        Command::Back,
        Command::Stop,
        Command::Pause,
        Command::Continue,
        Command::Help,
        Command::Status,
        Command::Skip,
        Command::Note,
        Command::Affirm,
        Command::Negative,
        Command::Correction,
        Command::Disregard,
        Command::ReadBack,
    ];

    /// The canonical name: `next`, `read_back`.
    pub const fn name(self) -> &'static str {
        match self {
            Command::Next => "next",
            Command::Repeat => "repeat",
            Command::Back => "back",
            Command::Stop => "stop",
            Command::Pause => "pause",
            Command::Continue => "continue",
            Command::Help => "help",
            Command::Status => "status",
            Command::Skip => "skip",
            Command::Note => "note",
            Command::Affirm => "affirm",
            Command::Negative => "negative",
            Command::Correction => "correction",
            Command::Disregard => "disregard",
            Command::ReadBack => "read_back",
        }
    }

    /// The command of that canonical name.
    pub fn from_name(name: &str) -> Option<Command> {
        Command::ALL.into_iter().find(|c| c.name() == name)
    }
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
    /// A command; a correction or a denial may bring the value with it.
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
        /// Values they are, but nothing tells where one ends and the next begins.
        #[serde(default, skip_serializing_if = "is_false")]
        run_together: bool,
    },
}

fn is_false(told: &bool) -> bool {
    !told
}

impl Meaning {
    /// Nothing that may be said here, for a reason in words.
    pub fn nothing(why: impl Into<String>) -> Meaning {
        Meaning::Nothing {
            why: why.into(),
            run_together: false,
        }
    }

    /// Whether two meanings are the same but for the times of their words.
    pub fn same_as(&self, other: &Meaning) -> bool {
        let same = |a: &[SpokenReading], b: &[SpokenReading]| {
            let what = |r: &SpokenReading| (r.amount, r.prefix, r.unit);
            a.iter().map(what).eq(b.iter().map(what))
        };
        match (self, other) {
            (Meaning::Readings(a), Meaning::Readings(b)) => same(a, b),
            (
                Meaning::Command {
                    command: a,
                    readings: with_a,
                },
                Meaning::Command {
                    command: b,
                    readings: with_b,
                },
            ) => a == b && same(with_a, with_b),
            _ => self == other,
        }
    }
}

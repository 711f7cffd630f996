//! Why a computation gives no result, and what to do about it.

use crate::quantity::{ConversionError, Quantity, Unit};

/// A result that cannot be given. Each says what was found, what was expected and what to do.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum Refusal {
    #[error("found computation `{found}`, expected one of {expected}")]
    UnknownComputation { found: String, expected: String },
    #[error("`{computation}` has no input `{found}`, expected {expected}")]
    UnknownInput {
        computation: &'static str,
        found: String,
        expected: String,
    },
    #[error("`{computation}` was given `{found}` twice: give it once")]
    Twice {
        computation: &'static str,
        found: String,
    },
    #[error("`{computation}` needs `{input}` ({what}) in {unit}: measure it first")]
    MissingInput {
        computation: &'static str,
        input: &'static str,
        what: &'static str,
        unit: String,
    },
    #[error(
        "`{input}` of `{computation}` is in `{found}`, expected {expected} or a unit that converts to it"
    )]
    WrongUnit {
        computation: &'static str,
        input: &'static str,
        found: Unit,
        expected: String,
    },
    #[error("`{computation}` has no choice `{found}`, expected {expected}")]
    UnknownChoice {
        computation: &'static str,
        found: String,
        expected: String,
    },
    #[error("`{computation}` needs the choice `{choice}`: one of {expected}")]
    MissingChoice {
        computation: &'static str,
        choice: &'static str,
        expected: String,
    },
    #[error("choice `{choice}` of `{computation}` is `{found}`, expected one of {expected}")]
    UnknownOption {
        computation: &'static str,
        choice: &'static str,
        found: String,
        expected: String,
    },
    #[error("`{input}` of `{computation}` is `{found}`, expected {expected}: {action}")]
    OutOfRange {
        computation: &'static str,
        input: &'static str,
        found: Quantity,
        expected: String,
        action: &'static str,
    },
    #[error("`{computation}` means nothing here: {why}; {action}")]
    Meaningless {
        computation: &'static str,
        why: &'static str,
        action: &'static str,
    },
    #[error("`{computation}` gives no number that fits: check the inputs")]
    NoNumber { computation: &'static str },
    #[error(transparent)]
    Conversion(#[from] ConversionError),
}

/// `a`, `b` or `c`, each in backticks.
pub(super) fn list<'a>(names: impl IntoIterator<Item = &'a str>) -> String {
    let names: Vec<String> = names.into_iter().map(|name| format!("`{name}`")).collect();
    match names.split_last() {
        None => "nothing".to_owned(),
        Some((only, [])) => only.clone(),
        Some((last, others)) => format!("{} or {last}", others.join(", ")),
    }
}

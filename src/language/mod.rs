//! Words to meaning and back.
//!
//! Pure: grammar files come in as text. Everything that may be said at a step is compiled once to
//! one word automaton; engines get their own form of it and the final parse runs on it.

mod automaton;
mod expectation;
mod heard;
pub mod meaning;

pub use automaton::Automaton;
pub use expectation::{Choice, Expectation, ExpectedReading};
pub use heard::{Hypothesis, Word};
pub use meaning::{Command, Meaning, SpokenReading};

//! Words to meaning and back.
//!
//! Pure: grammar files come in as text. Everything that may be said at a step is compiled once to
//! one word automaton; engines get their own form of it and the final parse runs on it.
//!
//! The way from a grammar file to a meaning, one file each: `jsgf` reads, `rules` links,
//! `network` lays out, `graph` makes small, `compile` joins what a step accepts,
//! `automaton` holds it, `ways` and `search` find the ways through it, `reckon` adds them up,
//! and `parse` ranks them.

mod automaton;
mod bundled;
mod compile;
mod expectation;
mod forms;
mod graph;
mod heard;
mod jsgf;
mod lexicon;
pub mod meaning;
mod network;
pub mod op;
mod parse;
mod problem;
mod reckon;
mod rules;
mod say;
mod search;
pub mod state_grammar;
mod text;
mod typed;
mod understand;
mod ways;

pub use automaton::{Automaton, WordArc};
pub(crate) use bundled::bundled_file;
pub use bundled::{LanguageError, locales};
pub use compile::Language;
pub use expectation::{Choice, Expectation, ExpectedReading};
pub use heard::{Hypothesis, Word};
pub use meaning::{Command, Meaning, SpokenReading};
pub use parse::{Parse, Ranked, Rankings, Stop};
pub use problem::{GrammarProblem, Place};
pub use say::Say;
pub use text::PAUSE_MS;
pub use understand::understand;

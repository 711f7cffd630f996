//! The one trait behind which every engine stands.

use crate::language::{Automaton, Hypothesis};

/// Samples per second of everything that reaches a recognizer: 16-bit mono.
pub const SAMPLE_RATE: u32 = 16_000;

/// How many of those samples a time has.
pub(crate) fn samples_in(milliseconds: u64) -> usize {
    (milliseconds * u64::from(SAMPLE_RATE) / 1000) as usize
}

/// How long so many of those samples last.
pub(crate) fn milliseconds_of(samples: usize) -> u64 {
    samples as u64 * 1000 / u64::from(SAMPLE_RATE)
}

/// Why an engine cannot listen. Sorted by what to do about it.
#[derive(Debug, thiserror::Error)]
pub enum HearingError {
    /// Something must be installed or named: exit code 3.
    #[error("{what}; {remedy}")]
    Missing { what: String, remedy: String },
    /// The grammar cannot be given to this engine: a defect in a grammar file or procedure.
    #[error("{engine} cannot use the grammar: {why}")]
    Grammar { engine: &'static str, why: String },
    /// The engine failed in the middle of an utterance; the utterance is lost, the session not.
    #[error("{engine} failed: {why}")]
    Engine { engine: &'static str, why: String },
}

/// Which engine and model ran: part of the record.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct EngineName {
    pub engine: String,
    pub model: String,
}

/// An engine that turns one utterance of 16 kHz mono samples into hypotheses, best first.
///
/// One utterance is any number of [`accept`](Recognizer::accept) calls and one
/// [`finish`](Recognizer::finish). The grammar may change between utterances, never within one.
pub trait Recognizer {
    fn name(&self) -> EngineName;

    /// What to listen for from the next utterance on. Gives the words that can be said but this
    /// engine can never hear: whoever listens must be told of them.
    fn set_grammar(&mut self, grammar: &Automaton) -> Result<Vec<String>, HearingError>;

    /// The same, with sentences around what may be said that mean nothing, in their order: a voice that
    /// sounds at the same time. Their words are never in a hypothesis. Those that the engine cannot
    /// pronounce are left out, and an engine that has a word of its own for other talk may leave out all.
    fn set_grammar_among(
        &mut self,
        grammar: &Automaton,
        _decoys: &[String],
    ) -> Result<Vec<String>, HearingError> {
        self.set_grammar(grammar)
    }

    fn accept(&mut self, samples: &[i16]) -> Result<(), HearingError>;

    /// Ends the utterance. Word times count from its first sample. An empty list: nothing heard.
    fn finish(&mut self) -> Result<Vec<Hypothesis>, HearingError>;
}

/// Whichever engine was opened. It may be moved to another thread, never shared.
pub type AnyRecognizer = Box<dyn Recognizer + Send>;

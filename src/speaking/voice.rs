//! The one trait behind which every voice stands.

/// Why nothing can be said aloud. The session goes on in text.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{what}; {remedy}")]
pub struct VoiceError {
    pub what: String,
    pub remedy: String,
}

impl VoiceError {
    pub(crate) fn new(what: impl Into<String>, remedy: impl Into<String>) -> VoiceError {
        VoiceError {
            what: what.into(),
            remedy: remedy.into(),
        }
    }
}

/// How the system's voice is to speak. What is not set is as the system has it.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Delivery {
    /// The voice with this name, or the first one with it as a part of its name.
    pub speaker: Option<String>,
    /// From -100, the slowest, to 100, the fastest; 0 is the voice's own rate.
    pub rate: i8,
    /// The language whose voices are named where there is none of that name, such as `en-US`.
    pub locale: String,
}

/// Something that says one sentence at a time.
///
/// Give it single sentences, from [`split`](super::sentences::split): it can fall silent between
/// them at the latest. No call waits longer than the deadlines of the sentences that are still to
/// be said, whatever the machinery behind the voice does.
pub trait Voice: Send {
    /// What `doctor` calls it.
    fn name(&self) -> String;

    /// Says a sentence after those given before; returns without waiting for its end.
    ///
    /// # Errors
    ///
    /// The voice cannot be used any more, from an earlier sentence on. Later calls give the same
    /// answer.
    fn say(&mut self, sentence: &str) -> Result<(), VoiceError>;

    /// Falls silent as soon as it can and forgets what was still to be said. Does not wait for it.
    fn stop(&mut self);

    /// Whether a sentence is being said or still to be said.
    fn is_speaking(&self) -> bool;

    /// Waits until everything was said, or its deadline has passed.
    ///
    /// # Errors
    ///
    /// As [`Voice::say`].
    fn finish(&mut self) -> Result<(), VoiceError>;
}

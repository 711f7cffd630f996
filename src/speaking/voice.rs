//! The one trait behind which every voice stands.

/// Why nothing can be said aloud. The session goes on in text.
#[derive(Debug, thiserror::Error)]
#[error("{what}; {remedy}")]
pub struct VoiceError {
    pub what: String,
    pub remedy: String,
}

/// Something that says one sentence at a time.
pub trait Voice {
    /// What `doctor` calls it.
    fn name(&self) -> String;

    /// Starts saying a sentence; returns without waiting for its end.
    fn say(&mut self, sentence: &str) -> Result<(), VoiceError>;

    /// Falls silent now.
    fn stop(&mut self);

    /// Waits until everything said has been heard, or its deadline has passed.
    fn finish(&mut self);
}

//! The voice that needs nothing: it writes what it says.

use std::io::Write;

use super::voice::{Voice, VoiceError};

/// Writes each sentence as a line.
pub struct TextVoice<W> {
    to: W,
}

impl<W: Write + Send> TextVoice<W> {
    pub fn new(to: W) -> TextVoice<W> {
        TextVoice { to }
    }
}

impl<W: Write + Send> Voice for TextVoice<W> {
    fn name(&self) -> String {
        "text".to_owned()
    }

    fn say(&mut self, sentence: &str) -> Result<(), VoiceError> {
        writeln!(self.to, "{sentence}")
            .and_then(|()| self.to.flush())
            .map_err(|e| {
                VoiceError::new(
                    format!("cannot write what is said: {e}"),
                    "check where the output goes",
                )
            })
    }

    fn stop(&mut self) {}

    fn is_speaking(&self) -> bool {
        false
    }

    fn finish(&mut self) -> Result<(), VoiceError> {
        Ok(())
    }
}

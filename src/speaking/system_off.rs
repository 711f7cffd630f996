//! The operating system's own voice, in a build without it.

use super::voice::{Delivery, Voice, VoiceError};

/// Cannot be made in this build.
pub enum SystemVoice {}

impl SystemVoice {
    /// # Errors
    ///
    /// Always: this build has no system voice.
    pub fn open(_delivery: &Delivery) -> Result<SystemVoice, VoiceError> {
        Err(VoiceError::new(
            "this build has no system voice",
            "build it with `--features system-voice`",
        ))
    }
}

impl Voice for SystemVoice {
    fn name(&self) -> String {
        match *self {}
    }

    fn say(&mut self, _sentence: &str) -> Result<(), VoiceError> {
        match *self {}
    }

    fn stop(&mut self) {
        match *self {}
    }

    fn is_speaking(&self) -> bool {
        match *self {}
    }

    fn finish(&mut self) -> Result<(), VoiceError> {
        match *self {}
    }
}

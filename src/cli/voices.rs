//! Which voice speaks.

use std::io;
use std::path::PathBuf;
use std::str::FromStr;

use crate::speaking::system::SystemVoice;
use crate::speaking::text::TextVoice;
use crate::speaking::voice::{Voice, VoiceError};
use crate::speaking::wav::WavVoice;

/// What `--voice` was given.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum VoiceChoice {
    /// The dialogue is written.
    Text,
    /// It is written and spoken by the operating system's voice.
    System,
    /// It is written and spoken into a WAV file.
    Wav(PathBuf),
    /// Nothing is said and nothing is written but the end.
    None,
}

impl FromStr for VoiceChoice {
    type Err = String;

    fn from_str(text: &str) -> Result<VoiceChoice, String> {
        match (text, text.strip_prefix("wav:")) {
            ("text", _) => Ok(VoiceChoice::Text),
            ("system", _) => Ok(VoiceChoice::System),
            ("none", _) => Ok(VoiceChoice::None),
            (_, Some(file)) if !file.is_empty() => Ok(VoiceChoice::Wav(file.into())),
            _ => Err("expected `text`, `system`, `wav:FILE` or `none`".to_owned()),
        }
    }
}

impl VoiceChoice {
    pub fn shows_text(&self) -> bool {
        *self != VoiceChoice::None
    }

    /// The voice besides the written dialogue. One that is missing says so once on stderr.
    pub fn open(&self, locale: &str) -> Option<Box<dyn Voice>> {
        let voice: Result<Box<dyn Voice>, VoiceError> = match self {
            VoiceChoice::Text | VoiceChoice::None => return None,
            VoiceChoice::System => SystemVoice::open().map(|voice| Box::new(voice) as _),
            VoiceChoice::Wav(file) => {
                WavVoice::open(file, locale).map(|voice| Box::new(voice) as _)
            }
        };
        voice.inspect_err(complain).ok()
    }
}

/// Tells a missing voice on stderr; the dialogue goes on in text.
pub fn complain(why: &VoiceError) {
    let message = format!("No voice, going on in text: {why}.");
    // Where not even stderr takes it there is nobody left to tell.
    let _ = TextVoice::new(io::stderr()).say(&message);
}

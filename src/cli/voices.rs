//! Which voice speaks.

use std::io;
use std::path::PathBuf;
use std::str::FromStr;

use crate::speaking::system::SystemVoice;
use crate::speaking::text::TextVoice;
use crate::speaking::voice::{Delivery, Voice, VoiceError};
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

/// How the system's voice is to speak.
#[derive(Debug, clap::Args)]
pub struct Manner {
    /// The system's voice with this name, or a part of it [default: the one it is set to]
    #[arg(long, value_name = "NAME")]
    speaker: Option<String>,
    /// How fast the system's voice speaks, from -100 to 100; 0 is its own rate
    #[arg(
        long,
        value_name = "RATE",
        default_value_t = 0,
        allow_negative_numbers = true
    )]
    #[arg(value_parser = clap::value_parser!(i8).range(-100..=100))]
    rate: i8,
}

impl Manner {
    fn delivery(&self, locale: &str) -> Delivery {
        Delivery {
            speaker: self.speaker.clone(),
            rate: self.rate,
            locale: locale.to_owned(),
        }
    }
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
    pub fn open(&self, manner: &Manner, locale: &str) -> Option<Box<dyn Voice>> {
        let voice: Result<Box<dyn Voice>, VoiceError> = match self {
            VoiceChoice::Text | VoiceChoice::None => return None,
            VoiceChoice::System => {
                SystemVoice::open(&manner.delivery(locale)).map(|voice| Box::new(voice) as _)
            }
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

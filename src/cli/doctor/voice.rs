//! Tones and a sentence through the loudspeaker.

use std::thread;
use std::time::Duration;

use super::{Check, missing, works};
use crate::clock::{Clock, SystemClock};
use crate::session::{Phrase, Phrases};
use crate::speaking::earcon::{Earcon, Earcons};
use crate::speaking::system::SystemVoice;
use crate::speaking::voice::{Delivery, Voice, VoiceError};

/// Longer than any tone, with what the sound system holds back.
const TONES: Duration = Duration::from_millis(600);

const VOICE: &str = "system voice";

/// Plays what is played when something was understood.
pub fn tones() -> Check {
    match Earcons::open() {
        Ok(earcons) => {
            earcons.play(Earcon::Heard);
            thread::sleep(TONES);
            works("tones", "two were played, the second higher")
        }
        Err(e) => missing("tones", e.what, e.remedy),
    }
}

/// Whether there is a service; one that answers may still be silent.
pub fn service() -> Check {
    match SystemVoice::open(&Delivery::default()) {
        Ok(_) => works(VOICE, "the speech service answers"),
        Err(e) => missing(VOICE, e.what, e.remedy),
    }
}

/// Has it say a sentence.
pub fn sentence(locale: &str) -> Check {
    let clock = SystemClock::starting_at(0);
    match said(locale) {
        Ok(()) => {
            let seconds = clock.now().ms as f64 / 1000.0;
            works(VOICE, format!("said a sentence in {seconds:.1} s"))
        }
        Err(e) => missing(VOICE, e.what, e.remedy),
    }
}

fn said(locale: &str) -> Result<(), VoiceError> {
    let mut voice = SystemVoice::open(&Delivery::default())?;
    voice.say(&prompt(locale))?;
    voice.finish()
}

/// What asks for "next" in that language.
pub fn prompt(locale: &str) -> String {
    let phrases = Phrases::bundled(locale);
    phrases.map_or_else(
        |_| "Say next.".to_owned(),
        |phrases| phrases.text(Phrase::AskAcknowledgement).to_owned(),
    )
}

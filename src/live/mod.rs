//! The loop at the machine: a microphone, an engine and a voice on threads of their own, and one
//! task that takes what they tell, one thing after the other, on the machine's clock.
//!
//! [`Input`] is everything that can come in. What follows from it is the same as in a replay: the
//! [`Conversation`](crate::conversation::Conversation) decides, its record is written, and only then
//! is anything said.

mod engine;
pub mod gate;
mod keys;
mod run;
mod shown;
mod signals;
pub mod sounding;

pub use engine::Ears;
pub use keys::Keys;
pub use run::{Live, LiveError, Mode};
pub use shown::Shown;

use crate::conversation;
use crate::hearing::ear::Heard;
use crate::hearing::level::Warning;
use crate::hearing::microphone::MicrophoneError;
use crate::hearing::recognizer::HearingError;
use crate::session::Phrase;
use crate::speaking::mouth::Spoke;

/// Everything that can come in.
#[derive(Debug)]
pub enum Input {
    /// An utterance, as the engine took it.
    Heard(Heard),
    /// A window of what was heard while the voice sounded.
    Overheard(Heard),
    /// The engine failed.
    NotHeard(HearingError),
    /// Words that may be said here and that the engine can never hear; each once.
    Unheard(Vec<String>),
    /// A line typed, or a button pressed that stands for its words: taken exactly as it stands.
    Typed(String),
    /// The key of push-to-talk.
    Key,
    /// Nothing more can be typed.
    NoMoreKeys,
    /// What the microphone has to say of itself.
    Microphone(Condition),
    /// What the voice has to say of itself.
    Spoken(Spoke),
    /// The time has come for what was due.
    Tick,
    /// The session is to end in order.
    Shutdown,
}

/// What became of the microphone.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Condition {
    Lost(MicrophoneError),
    Back(String),
    Level(Warning),
    /// So many milliseconds of sound were lost because the engine was busy.
    Overrun(u64),
}

impl Condition {
    /// What is said of it.
    fn phrase(&self) -> Phrase {
        match self {
            Condition::Lost(_) => Phrase::MicrophoneLost,
            Condition::Back(_) => Phrase::MicrophoneBack,
            Condition::Level(Warning::TooQuiet) => Phrase::TooQuiet,
            Condition::Level(Warning::Clipped) => Phrase::Clipped,
            Condition::Level(Warning::Drowned) => Phrase::Drowned,
            Condition::Overrun(_) => Phrase::SoundDropped,
        }
    }
}

/// What an engine heard, for the conversation.
fn as_incoming(heard: Heard) -> conversation::Heard {
    conversation::Heard {
        hypotheses: heard.hypotheses,
        rejected: heard.rejected,
        start_ms: heard.utterance.start_ms,
        end_ms: heard.utterance.end_ms,
        samples: heard.utterance.samples,
    }
}

/// What is told of words that the engine does not know.
fn told_of_unheard(words: &[String]) -> String {
    let words = words.join("`, `");
    format!(
        "the engine does not know `{words}`; what has these words in it cannot be heard, so type it"
    )
}

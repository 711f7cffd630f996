//! What the technician of a replay says, and when.

use crate::hearing::recognizer::milliseconds_of;
use crate::language::Hypothesis;
use crate::session::Ms;

/// One utterance of a replay.
#[derive(Debug, Clone)]
pub struct Cue {
    pub when: When,
    pub said: Said,
}

/// When an utterance begins.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum When {
    /// So long after everything that was to be said before it has been spoken.
    AfterPrompt { pause_ms: Ms },
    /// At this moment of the session, whatever is being said then.
    At(Ms),
    /// So long after the end of the utterance before it.
    Follows { gap_ms: Ms },
}

/// The utterance itself.
#[derive(Debug, Clone)]
pub enum Said {
    /// Words as an engine would give them, with times from the first sample.
    Words(Hypothesis),
    /// 16 kHz mono samples, for an engine.
    Audio(Vec<i16>),
}

/// The pause of somebody who has listened to a prompt and answers it.
pub const PAUSE_MS: Ms = 700;

/// How long samples last.
pub fn duration_ms(samples: &[i16]) -> Ms {
    milliseconds_of(samples.len())
}

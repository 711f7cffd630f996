//! What a recognizer believes was said: the words that come into this room.

use serde::{Deserialize, Serialize};

/// One recognized word with its place in the session's audio.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Word {
    pub text: String,
    /// Milliseconds from the start of the audio source.
    pub start_ms: u64,
    pub end_ms: u64,
    /// 0 to 1, where the engine gives one.
    pub confidence: Option<f32>,
}

/// One way an utterance may have gone. A recognizer returns several, best first.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Hypothesis {
    pub words: Vec<Word>,
    /// The engine's own score; comparable only within one engine and model. Larger is better.
    pub score: Option<f32>,
    /// Mean acoustic score per frame of speech, where the engine has one: it tells other talk from
    /// speech in the grammar. Larger is better.
    pub acoustic: Option<f32>,
    /// By how much more per frame of speech the words fit than common words that mean nothing here,
    /// where the engine compares: in the unit of `acoustic`, larger is better.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub margin: Option<f32>,
}

impl Hypothesis {
    /// Words that are known exactly, because they were typed. They stand at one moment.
    pub fn exact(words: &str, at_ms: u64) -> Hypothesis {
        let words = words.split_whitespace().map(|word| Word {
            text: word.to_lowercase(),
            start_ms: at_ms,
            end_ms: at_ms,
            confidence: Some(1.0),
        });
        Hypothesis {
            words: words.collect(),
            ..Hypothesis::default()
        }
    }

    /// The words joined by single blanks.
    pub fn text(&self) -> String {
        let words: Vec<&str> = self.words.iter().map(|w| w.text.as_str()).collect();
        words.join(" ")
    }
}

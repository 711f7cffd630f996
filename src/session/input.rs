//! What comes into a session from outside.

use super::parts::{Ms, Understanding};
use crate::language::{Hypothesis, Meaning};
use crate::procedure::VariantId;
use crate::quantity::Reading;

/// One thing from outside. [`decide`](super::decide) makes events of it.
#[derive(Debug, Clone, PartialEq)]
pub enum Input {
    /// The first input of a new session.
    Begin(Opening),
    /// The first input after a record was opened again.
    Resume,
    Heard(Utterance),
    /// Time has passed: see [`next_due`](super::next_due).
    Tick,
    /// Everything said because of the events up to this number
    /// ([`State::count`](super::State) after the event) has been heard to its end. A caution can
    /// be acknowledged, and a timer starts, only after this.
    Spoken {
        through: u64,
    },
}

/// What is known before a session begins. What is given here is not asked.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Opening {
    pub technician: Option<String>,
    pub engine: Option<String>,
    pub model: Option<String>,
    pub variant: Option<VariantId>,
    pub serial: Option<String>,
    pub supply_voltage: Option<Reading>,
    pub supply_frequency: Option<Reading>,
    /// Who opened the job has checked it.
    pub qualified: bool,
    pub tools_at_hand: bool,
}

/// Something that was said. Times are of the session's clock, also those of the readings inside.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Utterance {
    /// Best first.
    pub understandings: Vec<Understanding>,
    pub clip: Option<String>,
    pub start_ms: Ms,
    pub end_ms: Ms,
}

impl Utterance {
    /// What a recognizer returned, each hypothesis with its meanings, both best first.
    pub fn new<'a>(
        heard: impl IntoIterator<Item = (&'a Hypothesis, Vec<Meaning>)>,
        clip: Option<String>,
        start_ms: Ms,
        end_ms: Ms,
    ) -> Utterance {
        let understandings = heard.into_iter().flat_map(|(hypothesis, meanings)| {
            let confidence = mean_confidence(hypothesis);
            meanings.into_iter().map(move |meaning| Understanding {
                words: hypothesis.text(),
                confidence,
                meaning,
            })
        });
        Utterance {
            understandings: understandings.collect(),
            clip,
            start_ms,
            end_ms,
        }
    }
}

fn mean_confidence(hypothesis: &Hypothesis) -> Option<f32> {
    let known: Vec<f32> = hypothesis
        .words
        .iter()
        .filter_map(|w| w.confidence)
        .collect();
    match known.len() {
        0 => None,
        n => Some(known.iter().sum::<f32>() / n as f32),
    }
}

//! What comes into a session from outside.

use super::parts::{Ms, Order, Understanding};
use crate::language::{Automaton, Hypothesis, Meaning};
use crate::procedure::VariantId;
use crate::quantity::Reading;

/// What each place down a recognizer's list costs, in the automaton's unit. Common practice, no
/// source: the scores of engines cannot be compared, their order can.
const LOWER_PLACE: u32 = 100;

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
    pub order: Box<Order>,
    /// Ask for every line of the job that is not given.
    pub ask_job: bool,
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
    /// Typed, not spoken: it can be nothing else than it says.
    pub typed: bool,
    pub clip: Option<String>,
    pub start_ms: Ms,
    pub end_ms: Ms,
}

impl Utterance {
    /// What a recognizer returned, parsed by the automaton that listened. Word times must be of
    /// the session's clock.
    pub fn understood(
        automaton: &Automaton,
        hypotheses: &[Hypothesis],
        clip: Option<String>,
        start_ms: Ms,
        end_ms: Ms,
    ) -> Utterance {
        let mut ranked: Vec<(u32, Understanding)> = Vec::new();
        let mut nothing = None;
        for (place, hypothesis) in (0u32..).zip(hypotheses) {
            let parse = automaton.parse(&hypothesis.words);
            if parse.ranked.is_empty() {
                nothing.get_or_insert_with(|| understanding(hypothesis, parse.meaning()));
            }
            for meaning in parse.ranked {
                let known = ranked.iter().any(|(_, u)| u.meaning == meaning.meaning);
                let cost = meaning.cost.saturating_add(LOWER_PLACE * place);
                if !known {
                    ranked.push((cost, understanding(hypothesis, meaning.meaning)));
                }
            }
        }
        ranked.sort_by_key(|(cost, _)| *cost);
        let understood = ranked.into_iter().map(|(_, understanding)| understanding);
        let understandings: Vec<Understanding> = understood.collect();
        Utterance {
            understandings: match understandings.is_empty() {
                true => nothing.into_iter().collect(),
                false => understandings,
            },
            typed: false,
            clip,
            start_ms,
            end_ms,
        }
    }
}

fn understanding(hypothesis: &Hypothesis, meaning: Meaning) -> Understanding {
    Understanding {
        words: hypothesis.text(),
        confidence: mean_confidence(hypothesis),
        meaning,
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

//! An utterance, and who answers to it: stop before everything, then rest, then what was asked,
//! then the step.

use super::answer;
use super::commands;
use super::entry;
use super::turn::Turn;
use crate::language::{Command, Meaning};
use crate::session::event::Event;
use crate::session::input::Utterance;
use crate::session::parts::*;
use crate::session::state::{Phase, Rest};
use crate::session::steps;
use crate::session::steps::timer;

/// An utterance being answered.
pub(in crate::session) struct Spoken {
    pub best: Understanding,
    /// What else it may have been, best first.
    pub others: Vec<Understanding>,
    pub clip: Option<String>,
    pub typed: bool,
    pub start_ms: Ms,
}

impl Spoken {
    fn new(utterance: Utterance) -> (Spoken, Ms) {
        let mut understandings = utterance.understandings.into_iter();
        let nothing = || Understanding {
            words: String::new(),
            confidence: None,
            meaning: Meaning::nothing("nothing was recognized"),
        };
        let spoken = Spoken {
            best: understandings.next().unwrap_or_else(nothing),
            others: understandings.collect(),
            clip: utterance.clip,
            typed: utterance.typed,
            start_ms: utterance.start_ms,
        };
        (spoken, utterance.end_ms)
    }

    pub fn command(&self) -> Option<Command> {
        match &self.best.meaning {
            Meaning::Command { command, .. } => Some(*command),
            _ => None,
        }
    }
}

pub(in crate::session) fn hear(turn: &mut Turn, utterance: Utterance) {
    let (spoken, end_ms) = Spoken::new(utterance);
    let resting_through = turn.state.rest == Rest::StandingBy
        && !matches!(spoken.command(), Some(Command::Stop | Command::Continue));
    // Talk to somebody else is nobody's business: it is not even written down.
    if resting_through {
        return;
    }
    timer::run_due(turn, spoken.start_ms.min(turn.now));
    turn.record(Event::Heard {
        words: spoken.best.words.clone(),
        confidence: spoken.best.confidence,
        meaning: spoken.best.meaning.clone(),
        others: spoken.others.clone(),
        clip: spoken.clip.clone(),
        typed: spoken.typed,
        start_ms: spoken.start_ms,
        end_ms,
    });
    if spoken.command() == Some(Command::Stop) {
        return turn.record(Event::Stopped {
            at: turn.now,
            why: StopReason::Said,
        });
    }
    match turn.state.rest {
        Rest::Listening => answer_to(turn, &spoken),
        Rest::StandingBy | Rest::Stopped => commands::while_resting(turn, &spoken),
    }
}

fn answer_to(turn: &mut Turn, spoken: &Spoken) {
    let phase = turn.state.phase.clone();
    match (turn.state.asking.clone(), phase) {
        (Some(asking), _) => answer::answer(turn, spoken, asking),
        (None, Phase::Entry(question)) => entry::answer(turn, spoken, question),
        (None, Phase::Working) => steps::work(turn, spoken),
        _ => {}
    }
}

/// Words that mean nothing here. Values that ran together were meant for us: it is said what to do.
pub(in crate::session) fn meant_nothing(turn: &mut Turn, why: &str, run_together: bool) {
    if run_together {
        return turn.decline(Decline::OneValueOnly);
    }
    turn.record(Event::NotUnderstood {
        why: why.to_owned(),
        in_a_row: turn.state.not_understood.saturating_add(1),
    });
}

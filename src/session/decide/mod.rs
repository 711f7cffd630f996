//! What happens because of an input.
//!
//! An input is answered in one [`Turn`](turn::Turn): who answers to an utterance stands in
//! [`hear`], the words that are the same at every step in [`commands`], what was asked in
//! [`answer`], the questions before the first step in [`entry`] and [`retake`], the way from step to step in
//! [`flow`], and what each kind of step does of its own in [`steps`](super::steps).

pub(in crate::session) mod answer;
pub(in crate::session) mod back;
pub(in crate::session) mod commands;
pub(in crate::session) mod correct;
pub(in crate::session) mod entry;
pub(in crate::session) mod flow;
pub(in crate::session) mod hear;
pub(in crate::session) mod retake;
pub(in crate::session) mod supply;
pub(in crate::session) mod turn;

use self::turn::Turn;
use crate::session::event::Event;
use crate::session::guide::Guide;
use crate::session::input::Input;
use crate::session::parts::*;
use crate::session::state::{Phase, Rest, State};
use crate::session::steps::timer;

/// The events an input leads to, in the order in which they are to be applied. `now` is of the
/// session's clock and never runs backward. No events: nothing happened.
pub fn decide(guide: &Guide, state: &State, input: Input, now: Ms) -> Vec<Event> {
    let mut turn = Turn::new(guide, state, now);
    match input {
        _ if state.closed() => {}
        Input::Begin(opening) if state.phase == Phase::New => entry::begin(&mut turn, opening),
        _ if state.phase == Phase::New => {}
        Input::Begin(_) => {}
        Input::Resume => turn.record(Event::SessionResumed { at: now }),
        Input::Heard(utterance) => hear::hear(&mut turn, utterance),
        Input::Tick => timer::run_due(&mut turn, now),
        Input::Spoken { through } => spoken(&mut turn, through),
    }
    turn.into_events()
}

/// Records that a prompt was heard to its end, where something waits for that.
fn spoken(turn: &mut Turn, through: u64) {
    let prompt_ended = through >= turn.state.entered && turn.state.heard_through < through;
    if !prompt_ended || turn.state.rest != Rest::Listening {
        return;
    }
    if !(commands::waits_for_prompt(turn) || timer::waits_for_prompt(turn)) {
        return;
    }
    turn.record(Event::PromptEnded {
        at: turn.now,
        through,
    });
    timer::start(turn, turn.now);
}

//! What happens because of an input.

use super::commands;
use super::entry;
use super::event::Event;
use super::guide::Guide;
use super::hear;
use super::input::Input;
use super::parts::*;
use super::state::{Phase, Rest, State};
use super::timer;
use super::turn::Turn;

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

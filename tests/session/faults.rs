//! Sessions with a planted fault, to show that the walk through every state finds it.

use readback::language::{Command, Meaning};
use readback::procedure::StepKind;
use readback::session::{Event, Guide, Input, Ms, Position, Rest, Said, State, decide};

/// "next" at a hold point counts as having done it.
pub fn done_by_next(guide: &Guide, state: &State, input: Input, now: Ms) -> Vec<Event> {
    match said_at_hold(guide, state, &input, Command::Next) {
        Some((step, to)) => vec![Event::StepDone { step }, Event::StepEntered { at: now, to }],
        None => decide(guide, state, input, now),
    }
}

/// A hold point can be skipped like any step.
pub fn skipped(guide: &Guide, state: &State, input: Input, now: Ms) -> Vec<Event> {
    match said_at_hold(guide, state, &input, Command::Skip) {
        Some((step, to)) => vec![
            Event::Skipped {
                step,
                reason: Said::default(),
            },
            Event::StepEntered { at: now, to },
        ],
        None => decide(guide, state, input, now),
    }
}

/// The next step is entered without a word about the hold point.
pub fn jumped_over(guide: &Guide, state: &State, input: Input, now: Ms) -> Vec<Event> {
    match said_at_hold(guide, state, &input, Command::Next) {
        Some((_, to)) => vec![Event::StepEntered { at: now, to }],
        None => decide(guide, state, input, now),
    }
}

/// What is taken back leads nowhere back.
pub fn goes_on_without_proof(guide: &Guide, state: &State, input: Input, now: Ms) -> Vec<Event> {
    let mut events = decide(guide, state, input, now);
    let taken_back = |event: &Event| matches!(event, Event::ReadingWithdrawn { .. });
    if let Some(at) = events.iter().position(taken_back) {
        events.truncate(at + 1);
    }
    events
}

/// The hold point at which a command is said, and the step after it.
fn said_at_hold(
    guide: &Guide,
    state: &State,
    input: &Input,
    command: Command,
) -> Option<(Position, Position)> {
    let Input::Heard(utterance) = input else {
        return None;
    };
    let said = utterance.understandings.first()?;
    let commanded = matches!(&said.meaning, Meaning::Command { command: c, .. } if *c == command);
    let here = state.position.clone()?;
    let hold = matches!(guide.step(&here)?.kind, StepKind::Hold { .. });
    let listening = state.rest == Rest::Listening && state.asking.is_none();
    if !(commanded && hold && listening) {
        return None;
    }
    let steps = &guide.library.get(&here.procedure)?.steps;
    let index = steps.iter().position(|s| s.id == here.step)?;
    let to = Position {
        procedure: here.procedure.clone(),
        step: steps.get(index + 1)?.id.clone(),
    };
    Some((here, to))
}

//! What may be said now, as keys: the commands, the answers to what is asked, and typed words.

use serde::Serialize;

use crate::language::{Choice, Command};
use crate::procedure::StepKind;
use crate::quantity::Unit;
use crate::session::{
    self, Asking, EntryQuestion, Guide, KeptVerdict, Phase, Rest, State, commands_that_go_on,
    words_for,
};

/// A command as a key.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Key {
    /// The command's canonical name.
    pub command: &'static str,
    /// What it says.
    pub words: String,
    /// It means something now.
    pub on: bool,
    /// It is the way on.
    pub main: bool,
}

/// What may be typed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Typing {
    pub wants: Wanted,
    /// The unit that a value is in where none is typed.
    pub unit: String,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Wanted {
    Value,
    Spelling,
    /// A reason or a note, in any words.
    FreeWords,
    Words,
}

pub(super) fn keys(guide: &Guide, state: &State) -> Vec<Key> {
    let offered = commands_that_go_on(guide, state);
    let main = main(guide, state);
    let key = |command| Key {
        command: Command::name(command),
        words: words_for(guide, command),
        on: offered.contains(&command) && !comes_to_nothing(guide, state, command),
        main: main == Some(command),
    };
    Command::ALL.into_iter().map(key).collect()
}

/// The command with which the session goes on, where one command does that.
fn main(guide: &Guide, state: &State) -> Option<Command> {
    match (state.rest, &state.asking, &state.phase) {
        (Rest::StandingBy | Rest::Stopped, ..) => Some(Command::Continue),
        (_, Some(Asking::Confirmation(_)), _) => Some(Command::Affirm),
        (_, Some(_), _) => None,
        (_, None, Phase::Entry(question)) => match question {
            EntryQuestion::StandingCaution => Some(Command::Next),
            EntryQuestion::VariantConfirmation
            | EntryQuestion::SerialConfirmation
            | EntryQuestion::SupplyConfirmation(_)
            | EntryQuestion::LastVisit
            | EntryQuestion::Qualification
            | EntryQuestion::Tools => Some(Command::Affirm),
            EntryQuestion::Own(id) => {
                let own = guide.library.main().entry.iter().find(|q| q.id == *id);
                let affirmed = |own: &crate::procedure::EntryQuestion| {
                    own.answer == crate::procedure::EntryAnswer::Affirm
                };
                own.is_some_and(affirmed).then_some(Command::Affirm)
            }
            EntryQuestion::Variant
            | EntryQuestion::Serial
            | EntryQuestion::Supply(_)
            | EntryQuestion::Job(_) => None,
        },
        _ => Some(Command::Next),
    }
}

/// Commands that would only be declined because of what has or has not happened here so far.
fn comes_to_nothing(guide: &Guide, state: &State, command: Command) -> bool {
    let unheard = state.heard_through < state.entered;
    if command == Command::Affirm && state.asking.is_none() || command == Command::Next {
        let standing_caution = state.phase == Phase::Entry(EntryQuestion::StandingCaution);
        if standing_caution {
            return unheard;
        }
    }
    if state.rest != Rest::Listening || state.asking.is_some() || state.phase != Phase::Working {
        return false;
    }
    let Some(position) = &state.position else {
        return false;
    };
    let kind = guide.step(position).map(|step| &step.kind);
    match (command, kind) {
        (Command::Next | Command::Affirm, Some(StepKind::Caution { .. })) => unheard,
        (Command::Next, Some(StepKind::Read { .. } | StepKind::Watch { .. })) => {
            state.series(position).is_empty()
        }
        (Command::Next | Command::Affirm, Some(StepKind::Diagnose { .. })) => {
            !matches!(state.verdict, Some(KeptVerdict::Finding(_)))
        }
        _ => false,
    }
}

/// The answers to what is asked, each in the words in which it is offered.
pub(super) fn answers(guide: &Guide, state: &State) -> Vec<String> {
    let choices = session::expectation(guide, state).choices;
    choices.iter().filter_map(in_plain_words).collect()
}

/// The first phrase without any marks of a grammar.
fn in_plain_words(choice: &Choice) -> Option<String> {
    let is_plain = |phrase: &&String| !phrase.contains(['[', '(', '<', '|', '*', '+']);
    choice.phrases.iter().find(is_plain).cloned()
}

pub(super) fn typing(guide: &Guide, state: &State) -> Option<Typing> {
    let expected = session::expectation(guide, state);
    if expected.commands.is_empty() {
        return None;
    }
    let free = matches!(
        state.asking,
        Some(Asking::Note | Asking::SkipReason | Asking::OverrideReason(_))
    ) || state.asking.is_none()
        && matches!(state.phase, Phase::Entry(EntryQuestion::Job(_)));
    let wants = match (&expected.reading, expected.spelling) {
        _ if free => Wanted::FreeWords,
        (Some(_), _) => Wanted::Value,
        (None, true) => Wanted::Spelling,
        (None, false) => Wanted::Words,
    };
    let unit = expected.reading.and_then(|reading| reading.unit);
    Some(Typing {
        wants,
        unit: unit.map_or_else(String::new, Unit::sign),
    })
}

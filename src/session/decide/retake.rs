//! Taking back an answer given before the first step: "back", "disregard", "negative", "correction".
//!
//! Answers are taken back one by one, the last one first, and asked for again. What came with the
//! job was not said here and stays. At the first step "back" leads here too: a wrong variant shows
//! in its limits, and nothing has been done yet.

use super::entry;
use super::hear::Spoken;
use super::supply;
use super::turn::Turn;
use crate::language::Command;
use crate::session::event::Event;
use crate::session::parts::*;
use crate::session::steps::read;

/// Whether a command takes back the answer before this question.
pub(in crate::session) fn means_it(command: Command, question: &EntryQuestion) -> bool {
    match command {
        Command::Back | Command::Disregard | Command::Correction => !is_about_itself(question),
        // Elsewhere it is the answer.
        Command::Negative => matches!(
            question,
            EntryQuestion::Variant | EntryQuestion::Serial | EntryQuestion::Supply(_)
        ),
        _ => false,
    }
}

/// Whether a question is about the very answer that would be taken back.
pub(in crate::session) fn is_about_itself(question: &EntryQuestion) -> bool {
    matches!(
        question,
        EntryQuestion::VariantConfirmation
            | EntryQuestion::SerialConfirmation
            | EntryQuestion::SupplyConfirmation(_)
    )
}

/// Whether a command says that what was just asked about is not right.
pub(in crate::session) fn denies(command: Command) -> bool {
    matches!(
        command,
        Command::Negative | Command::Correction | Command::Disregard | Command::Back
    )
}

/// Takes back the last answer; where the right value of a supply was said with it, that stands
/// instead.
pub(in crate::session) fn last_answer(turn: &mut Turn, spoken: &Spoken) {
    let Some(question) = turn.state.job.answered.last().cloned() else {
        return turn.decline(Decline::NothingToWithdraw);
    };
    let value = !read::values_in(&spoken.best.meaning).is_empty();
    match question {
        EntryQuestion::Supply(what) if value => {
            turn.record(Event::EntryWithdrawn { question });
            supply::given(turn, spoken, what);
        }
        _ if value => turn.decline(Decline::NoValueHere),
        _ => again(turn, question),
    }
}

/// Asks a question again whose answer was not right.
pub(in crate::session) fn again(turn: &mut Turn, question: EntryQuestion) {
    turn.record(Event::EntryWithdrawn { question });
    entry::ask_next(turn);
}

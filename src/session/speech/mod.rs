//! What is said because of an event: short, calm, in the words of the trade.

mod answers;
mod declined;
mod finding;
mod prompt;
mod value;

pub use finding::behavior_phrase;

use super::apply::apply;
use super::event::Event;
use super::guide::Guide;
use super::parts::*;
use super::phrases::Phrase;
use super::state::{Phase, Rest, State};
use crate::language::Command;
use crate::procedure::StepKind;
use crate::session::steps::timer;

/// One thing said aloud, in one breath.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sentence {
    pub text: String,
    /// Whether another phrase of the technician may cut it short. Signal words with what follows
    /// them and questions for "affirm" are heard to their end; "stop" cuts everything.
    pub may_be_cut: bool,
}

impl Sentence {
    fn new(text: impl Into<String>) -> Sentence {
        Sentence {
            text: text.into(),
            may_be_cut: true,
        }
    }

    fn uncut(text: impl Into<String>) -> Sentence {
        Sentence {
            text: text.into(),
            may_be_cut: false,
        }
    }
}

/// The sentences to say because of an event, in order; `before` is the state without it.
pub fn speech(guide: &Guide, before: &State, event: &Event) -> Vec<Sentence> {
    let after = apply(before.clone(), event);
    let mut sentences = because_of(guide, before, &after, event);
    sentences.retain(|sentence| !sentence.text.is_empty());
    sentences
}

/// What the assistant asks for where the session stands: what it says to "repeat".
pub fn prompt(guide: &Guide, state: &State) -> Vec<Sentence> {
    prompt::prompt(guide, state)
}

/// The commands that "help" offers where the session stands.
pub fn commands_that_go_on(guide: &Guide, state: &State) -> Vec<Command> {
    answers::commands_that_go_on(guide, state)
}

/// The words by which a command is offered.
pub fn words_for(guide: &Guide, command: Command) -> String {
    let words = guide.phrases.list(answers::command_phrase(command));
    words.into_iter().next().unwrap_or_default()
}

/// Why a session does not begin.
pub fn refused(guide: &Guide, why: &Refusal) -> Sentence {
    answers::refused(guide, why)
}

fn because_of(guide: &Guide, before: &State, after: &State, event: &Event) -> Vec<Sentence> {
    let say = |phrase, slots: &[(&str, &str)]| vec![plain(guide, phrase, slots)];
    match event {
        Event::SessionStarted {
            title, revision, ..
        } => say(Phrase::Begin, &[("title", title), ("revision", revision)]),
        Event::VariantGiven { .. }
        | Event::VariantConfirmed { .. }
        | Event::EntryWithdrawn { .. }
        | Event::SerialConfirmed { .. }
        | Event::LastVisitAnswered { .. }
        | Event::EntryAnswered { .. }
        | Event::SupplyConfirmed { .. }
        | Event::Refused { .. } => answers::of_entry(guide, after, event),
        Event::EntryAsked { .. } | Event::StepEntered { .. } => prompt::prompt(guide, after),
        Event::SessionResumed { .. } | Event::RepeatAsked {} if after.rest == Rest::Stopped => {
            stopped(guide, after, StopReason::Said)
        }
        Event::SessionResumed { .. } => with_prompt(guide, after, Phrase::Resumed),
        // Where the time ran out while standing by, the session goes on at once.
        Event::Continued { .. } if timer::is_over(before) => say(Phrase::Continuing, &[]),
        Event::Continued { .. } => with_prompt(guide, after, Phrase::Continuing),
        Event::SteppedBack { why, .. } => match why {
            BackReason::Asked => with_prompt(guide, after, Phrase::Back),
            BackReason::HoldRearmed => with_prompt(guide, after, Phrase::BackToHold),
            BackReason::Withdrawn => with_prompt(guide, after, Phrase::BackWithdrawn),
            // The call that is entered next says of which procedure.
            BackReason::CalledAgain => say(Phrase::BackToStart, &[]),
            // The right value is there already and is read back next.
            BackReason::Correction => say(Phrase::BackCorrected, &[]),
        },
        Event::RepeatAsked {} => prompt::again(guide, after),
        Event::AskingDropped {} => with_prompt(guide, after, Phrase::Dropped),
        Event::Called { procedure, .. } => match guide.library.get(procedure) {
            Some(called) => say(Phrase::Called, &[("title", &called.title)]),
            None => Vec::new(),
        },
        Event::Returned { to } => match guide.library.get(&to.procedure) {
            Some(caller) => say(Phrase::Returned, &[("title", &caller.title)]),
            None => Vec::new(),
        },
        Event::NotComputed { .. } => answers::not_computed(guide, after).into_iter().collect(),
        Event::ReadBack { .. }
        | Event::Computed { .. }
        | Event::ConfirmationAsked { .. }
        | Event::ReadingConfirmed { .. }
        | Event::ReadingWithdrawn { .. }
        | Event::ValueAsked { .. }
        | Event::HoldProofPoint { .. } => value::of_reading(guide, after, event),
        Event::HoldReleased { .. } => say(Phrase::HoldReleased, &[]),
        Event::TimerStarted { seconds, .. } => {
            say(Phrase::TimerStarted, &[("time", &guide.duration(*seconds))])
        }
        Event::TimerWarned { left } => {
            say(Phrase::TimerWarned, &[("time", &guide.duration(*left))])
        }
        Event::TimerEnded { early: false, .. } => say(Phrase::TimerEnded, &[]),
        Event::WatchSufficed { .. } => say(Phrase::Sufficed, &[]),
        Event::WatchFellShort { missing, .. } => {
            vec![finding::still_missing(guide, after, missing)]
        }
        Event::DeadlineMissed { step } => missed(guide, after, step),
        Event::FindingReached { .. }
        | Event::FindingsEqual { .. }
        | Event::Undetermined { .. }
        | Event::OverrideAsked {}
        | Event::OverrideChosen { .. }
        | Event::Overridden { .. } => finding::of_finding(guide, before, after, event),
        Event::SkipAsked { .. } | Event::NoteAsked {} => prompt::prompt(guide, after),
        Event::Skipped { .. } | Event::JobLineLeftOpen { .. } => say(Phrase::Skipped, &[]),
        Event::NoteTaken { .. } | Event::JobLineSpoken { .. } => say(Phrase::Noted, &[]),
        Event::Stopped { why, .. } => stopped(guide, after, *why),
        Event::Paused { .. } => say(Phrase::StandingBy, &[]),
        Event::StatusAsked {} => answers::status(guide, after),
        Event::HelpAsked {} => answers::help(guide, after),
        Event::ReadingsAsked {} => answers::readings(guide, after),
        Event::NotUnderstood { in_a_row, .. } if in_a_row % 3 == 0 => answers::help(guide, after),
        Event::Declined { why } => say(declined::phrase(why), &[]),
        Event::Finished { .. } => answers::finished(guide, after, event),
        Event::Closed { .. } => say(Phrase::Closed, &[]),
        _ => Vec::new(),
    }
}

fn plain(guide: &Guide, phrase: Phrase, slots: &[(&str, &str)]) -> Sentence {
    Sentence::new(guide.phrases.fill(phrase, slots))
}

fn uncut(guide: &Guide, phrase: Phrase, slots: &[(&str, &str)]) -> Sentence {
    Sentence::uncut(guide.phrases.fill(phrase, slots))
}

fn with_prompt(guide: &Guide, after: &State, phrase: Phrase) -> Vec<Sentence> {
    let mut sentences = vec![plain(guide, phrase, &[])];
    sentences.extend(prompt::again(guide, after));
    sentences
}

fn missed(guide: &Guide, state: &State, step: &Position) -> Vec<Sentence> {
    match guide.step(step).map(|s| &s.kind) {
        Some(StepKind::Wait {
            missed: Some(missed),
            ..
        }) => vec![Sentence::uncut(guide.text(state, missed).spoken.clone())],
        _ => Vec::new(),
    }
}

/// The make-safe text of where the session stands, then what goes on.
fn stopped(guide: &Guide, state: &State, why: StopReason) -> Vec<Sentence> {
    let step = state.position.as_ref().and_then(|p| guide.step(p));
    let own = step.and_then(|s| s.make_safe.as_ref());
    let make_safe = own.unwrap_or(&guide.procedure(state).make_safe);
    let last = match why {
        StopReason::Said => Phrase::Stopped,
        StopReason::Circle => Phrase::StoppedInCircle,
    };
    vec![
        Sentence::uncut(guide.text(state, make_safe).spoken.clone()),
        uncut(guide, last, &[]),
    ]
}

/// Words in a row as they are offered: "a, b or c".
fn offered(guide: &Guide, words: &[String]) -> String {
    match words {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => {
            format!(
                "{} {} {last}",
                first.join(", "),
                guide.phrases.text(Phrase::Or)
            )
        }
    }
}

/// Whether the session is before its first step.
fn in_entry(state: &State) -> bool {
    matches!(state.phase, Phase::Entry(_))
}

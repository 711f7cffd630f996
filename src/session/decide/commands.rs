//! The commands, by step.

use super::back;
use super::correct;
use super::flow;
use super::hear::{self, Spoken};
use super::turn::Turn;
use crate::language::{Command, Meaning, SpokenReading};
use crate::procedure::StepKind;
use crate::session::event::Event;
use crate::session::parts::*;
use crate::session::state::{KeptVerdict, Phase};
use crate::session::steps::compute;
use crate::session::steps::diagnose;
use crate::session::steps::read;
use crate::session::steps::timer;
use crate::session::steps::watch;

/// A command while nothing is asked on top of the step.
pub(in crate::session) fn command(
    turn: &mut Turn,
    spoken: &Spoken,
    command: Command,
    readings: &[SpokenReading],
) {
    match command {
        Command::Next => next(turn),
        Command::Affirm => affirm(turn),
        Command::Negative => negative(turn, spoken, readings),
        Command::Back => back::back(turn),
        Command::Skip => skip(turn),
        Command::Note => turn.record(Event::NoteAsked {}),
        Command::Correction => correct::correction(turn, spoken, readings),
        Command::Disregard => correct::disregard(turn),
        _ => {
            if !general(turn, command) {
                turn.decline(Decline::NotHere);
            }
        }
    }
}

/// The commands that only ask or rest; they are heard nearly everywhere.
pub(in crate::session) fn general(turn: &mut Turn, command: Command) -> bool {
    let event = match command {
        Command::Repeat => Event::RepeatAsked {},
        Command::Status => Event::StatusAsked {},
        Command::Help => Event::HelpAsked {},
        Command::ReadBack => Event::ReadingsAsked {},
        Command::Pause => Event::Paused { at: turn.now },
        _ => return false,
    };
    turn.record(event);
    true
}

/// While stopped, or standing by: only "continue" goes on.
pub(in crate::session) fn while_resting(turn: &mut Turn, spoken: &Spoken) {
    match spoken.command() {
        Some(Command::Continue) => go_on(turn),
        Some(asked @ (Command::Repeat | Command::Status | Command::Help | Command::ReadBack)) => {
            general(turn, asked);
        }
        _ => turn.decline(Decline::Stopped),
    }
}

fn go_on(turn: &mut Turn) {
    turn.record(Event::Continued { at: turn.now });
    timer::go_on_after_time(turn);
}

/// Whether "next" here waits for the end of the prompt.
pub(in crate::session) fn waits_for_prompt(turn: &Turn) -> bool {
    match &turn.state.phase {
        Phase::Entry(question) => *question == EntryQuestion::StandingCaution,
        _ => matches!(turn.here(), Some((_, StepKind::Caution { .. }))),
    }
}

/// Whether the prompt of this step has been heard to its end.
pub(in crate::session) fn prompt_heard(turn: &Turn) -> bool {
    turn.state.heard_through >= turn.state.entered
}

fn next(turn: &mut Turn) {
    if turn.state.finished.is_some() {
        return turn.record(Event::Closed { at: turn.now });
    }
    let Some((position, kind)) = turn.here() else {
        return turn.decline(Decline::NotHere);
    };
    match kind {
        StepKind::Action { .. } => flow::leave(turn),
        StepKind::Caution { .. } => acknowledge(turn, position),
        StepKind::Hold { .. } => turn.decline(Decline::HoldNotReleased),
        StepKind::Wait { .. } => timer::next_at_wait(turn),
        StepKind::Choose { .. } => turn.decline(Decline::ChoiceNeeded),
        StepKind::Read { .. } => read::keep(turn),
        StepKind::Watch { .. } => watch::end(turn),
        StepKind::Diagnose { .. } => diagnose::go_on(turn),
        // Only a session that stopped in a circle can stand at one of these.
        StepKind::GoTo { step } => flow::leave_to(turn, step),
        StepKind::Call { procedure } => flow::leave_into(turn, procedure),
        StepKind::Compute { .. } => compute::work_out(turn),
        StepKind::Finish { .. } => turn.decline(Decline::NotHere),
    }
}

/// "affirm" where no question waits: it answers a caution or a finding, and nothing else.
fn affirm(turn: &mut Turn) {
    match turn.here() {
        Some((position, StepKind::Caution { .. })) => acknowledge(turn, position),
        Some((_, StepKind::Diagnose { .. })) => diagnose::go_on(turn),
        _ => turn.decline(Decline::NotHere),
    }
}

/// "negative" where no question waits: to the finding just told, or to the value just read back.
fn negative(turn: &mut Turn, spoken: &Spoken, readings: &[SpokenReading]) {
    let told = matches!(turn.state.verdict, Some(KeptVerdict::Finding(_)));
    match (told, readings.is_empty()) {
        (true, true) => turn.record(Event::OverrideAsked {}),
        (false, true) => correct::deny_last(turn),
        (_, false) => correct::correction(turn, spoken, readings),
    }
}

fn acknowledge(turn: &mut Turn, step: Position) {
    if !prompt_heard(turn) {
        return turn.decline(Decline::CautionNotHeard);
    }
    turn.record(Event::CautionAcknowledged { step });
    flow::leave(turn);
}

fn skip(turn: &mut Turn) {
    let Some((step, kind)) = turn.here() else {
        return turn.decline(Decline::NotHere);
    };
    match kind {
        StepKind::Hold { .. } => turn.decline(Decline::HoldNeverSkipped),
        StepKind::Caution { .. } => turn.decline(Decline::CautionNeverSkipped),
        StepKind::Finish { .. } => turn.decline(Decline::NotHere),
        kind if kind.decides_the_way() => turn.decline(Decline::DecidingNeverSkipped),
        _ => turn.record(Event::SkipAsked { step }),
    }
}

/// What nobody may say here.
pub(in crate::session) fn not_here(turn: &mut Turn, spoken: &Spoken) {
    match &spoken.best.meaning {
        Meaning::Nothing { why, run_together } => hear::meant_nothing(turn, why, *run_together),
        _ => turn.decline(Decline::AnswerFirst),
    }
}

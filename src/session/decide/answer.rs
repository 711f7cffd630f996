//! Answers to what the assistant asked on top of the step.

use super::back;
use super::commands;
use super::correct;
use super::flow;
use super::hear::Spoken;
use super::turn::Turn;
use crate::language::{Command, Meaning};
use crate::procedure::{FindingId, StepKind};
use crate::session::event::Event;
use crate::session::parts::*;
use crate::session::state::Asking;
use crate::session::steps::compute;
use crate::session::steps::diagnose;
use crate::session::steps::enough;
use crate::session::steps::hold;
use crate::session::steps::read;
use crate::session::steps::timer;

pub(in crate::session) fn answer(turn: &mut Turn, spoken: &Spoken, asking: Asking) {
    match asking {
        Asking::Confirmation(id) => confirmation(turn, spoken, id),
        Asking::SkipReason => free_words(turn, spoken, skipped),
        Asking::Note => free_words(turn, spoken, noted),
        Asking::OverrideFinding => other_finding(turn, spoken),
        Asking::OverrideReason(to) => {
            free_words(turn, spoken, |turn, said| overridden(turn, to, said));
        }
    }
}

/// "affirm", or a correction. The same value said once more does not affirm it: an ear that
/// mishears a word mishears it twice.
fn confirmation(turn: &mut Turn, spoken: &Spoken, id: ReadingId) {
    let readings = read::values_in(&spoken.best.meaning);
    match (spoken.command(), readings.is_empty()) {
        (Some(Command::Affirm), true) => affirmed(turn, id),
        (Some(Command::Negative), true) => correct::deny(turn, id),
        (Some(Command::Disregard), _) | (Some(Command::Correction), true) => {
            correct::take_back(turn, id, Withdrawal::Disregarded);
        }
        (Some(Command::Correction | Command::Negative) | None, false) => {
            correct::replace(turn, spoken, readings, id);
        }
        (Some(Command::Back), _) => back::back(turn),
        (Some(command), _) if commands::general(turn, command) => {}
        _ => commands::not_here(turn, spoken),
    }
}

fn affirmed(turn: &mut Turn, id: ReadingId) {
    turn.record(Event::ReadingConfirmed { id });
    settled(turn, id);
}

fn settled(turn: &mut Turn, id: ReadingId) {
    let Some((here, kind)) = turn.here() else {
        return;
    };
    let of_here = turn.state.reading(id).is_some_and(|r| r.step == here);
    match kind {
        StepKind::Read { .. } if of_here || read::given_now(turn) => read::go_on(turn),
        StepKind::Hold { .. } if of_here => hold::confirmed(turn, id),
        StepKind::Watch { .. } | StepKind::Wait { .. } => {
            enough::tell(turn);
            timer::go_on_after_time(turn);
        }
        StepKind::Diagnose { .. } => diagnose::judge(turn),
        StepKind::Compute { .. } => compute::work_out(turn),
        _ => {}
    }
}

/// A reason or a note. Only what means nothing else is one: a command acts as itself or is declined,
/// and the question stays open.
fn free_words(turn: &mut Turn, spoken: &Spoken, take: impl FnOnce(&mut Turn, Said)) {
    match &spoken.best.meaning {
        Meaning::Command {
            command: Command::Negative | Command::Disregard | Command::Back,
            ..
        } => turn.record(Event::AskingDropped {}),
        Meaning::Command { command, .. } if commands::general(turn, *command) => {}
        Meaning::Command { .. }
        | Meaning::Readings(_)
        | Meaning::Nothing {
            run_together: true, ..
        } => turn.decline(Decline::AnswerFirst),
        Meaning::Choice(_) | Meaning::Spelling(_) | Meaning::Nothing { .. } => {
            let said = said(spoken);
            take(turn, said);
        }
    }
}

pub(in crate::session) fn said(spoken: &Spoken) -> Said {
    let choice = match &spoken.best.meaning {
        Meaning::Choice(id) => Some(id.clone()),
        _ => None,
    };
    Said {
        words: spoken.best.words.clone(),
        choice,
        clip: spoken.clip.clone(),
    }
}

fn skipped(turn: &mut Turn, reason: Said) {
    let Some(step) = turn.state.position.clone() else {
        return;
    };
    turn.record(Event::Skipped { step, reason });
    flow::pass_over(turn);
}

fn noted(turn: &mut Turn, note: Said) {
    turn.record(Event::NoteTaken {
        step: turn.state.position.clone(),
        note,
    });
    timer::go_on_after_time(turn);
}

fn other_finding(turn: &mut Turn, spoken: &Spoken) {
    let Some((_, StepKind::Diagnose { findings, .. })) = turn.here() else {
        return turn.record(Event::AskingDropped {});
    };
    match &spoken.best.meaning {
        Meaning::Choice(id) => {
            let offered = diagnose::offered(turn.guide, &turn.state, findings);
            let chosen = (1..)
                .zip(offered)
                .find(|(number, _)| diagnose::finding_choice(*number) == *id);
            match chosen {
                Some((_, row)) => turn.record(Event::OverrideChosen {
                    finding: row.id.clone(),
                }),
                None => turn.decline(Decline::AnswerFirst),
            }
        }
        Meaning::Command {
            command: Command::Negative,
            ..
        } => turn.record(Event::AskingDropped {}),
        Meaning::Command { command, .. } if commands::general(turn, *command) => {}
        _ => commands::not_here(turn, spoken),
    }
}

fn overridden(turn: &mut Turn, to: FindingId, reason: Said) {
    diagnose::overridden(turn, to, reason);
}

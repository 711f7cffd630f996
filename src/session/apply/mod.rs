//! The state after one more event. Total: any event may follow any other.

mod entry;
mod place;
mod reading;

use super::amend::signed_off;
use super::event::Event;
use super::parts::*;
use super::state::*;
use crate::language::Meaning;

/// The state after `event`. The event's content alone decides, never the procedure, so a record
/// replays to the same state wherever it is read.
pub fn apply(mut state: State, event: &Event) -> State {
    state.count += 1;
    match event {
        Event::SessionStarted { .. }
        | Event::EntryAsked { .. }
        | Event::StandingCautionAcknowledged { .. }
        | Event::VariantGiven { .. }
        | Event::VariantConfirmed { .. }
        | Event::SerialGiven { .. }
        | Event::SerialConfirmed { .. }
        | Event::SerialWithdrawn { .. }
        | Event::LastVisitFound { .. }
        | Event::LastVisitAnswered { .. }
        | Event::JobLineSpoken { .. }
        | Event::JobLineLeftOpen { .. }
        | Event::SupplyGiven { .. }
        | Event::SupplyConfirmed { .. }
        | Event::SupplyWithdrawn { .. }
        | Event::QualificationConfirmed { .. }
        | Event::ToolsConfirmed { .. }
        | Event::EntryAnswered { .. }
        | Event::EntryWithdrawn { .. }
        | Event::Refused { .. } => entry::apply_entry(&mut state, event),
        Event::ReadingGiven { .. }
        | Event::ReadBack { .. }
        | Event::Computed { .. }
        | Event::ConfirmationAsked { .. }
        | Event::ReadingConfirmed { .. }
        | Event::ReadingWithdrawn { .. }
        | Event::ValueAsked { .. } => reading::apply_reading(&mut state, event),
        Event::StepEntered { .. }
        | Event::StepDone { .. }
        | Event::SteppedBack { .. }
        | Event::Called { .. }
        | Event::Returned { .. }
        | Event::Skipped { .. }
        | Event::HoldProofPoint { .. }
        | Event::HoldReleased { .. }
        | Event::Finished { .. } => place::apply_place(&mut state, event),
        Event::TimerStarted { .. }
        | Event::TimerWarned { .. }
        | Event::TimerEnded { .. }
        | Event::WatchSufficed { .. }
        | Event::WatchFellShort { .. } => apply_timer(&mut state, event),
        Event::FindingReached { .. }
        | Event::FindingsEqual { .. }
        | Event::Undetermined { .. }
        | Event::Overridden { .. } => apply_finding(&mut state, event),
        Event::SessionResumed { .. } => {
            // Whoever signed it off has not seen what follows.
            if signed_off(&state) {
                state.amendments.push(Amendment::Reopened);
            }
            resume(&mut state);
        }
        Event::PromptEnded { through, .. } => {
            state.heard_through = state.heard_through.max(*through);
        }
        Event::NotUnderstood { in_a_row, .. } => state.not_understood = *in_a_row,
        Event::OverrideAsked {} => state.asking = Some(Asking::OverrideFinding),
        Event::OverrideChosen { finding } => {
            state.asking = Some(Asking::OverrideReason(finding.clone()));
        }
        Event::SkipAsked { .. } => state.asking = Some(Asking::SkipReason),
        Event::NoteAsked {} => state.asking = Some(Asking::Note),
        Event::NoteTaken { .. } => {
            state.notes += 1;
            state.asking = None;
        }
        Event::AskingDropped {} => state.asking = None,
        Event::Amended { what, .. } => state.amendments.push(what.clone()),
        Event::Stopped { .. } => {
            state.rest = Rest::Stopped;
            state.asking = None;
            state.timer = None;
        }
        Event::Paused { .. } => state.rest = Rest::StandingBy,
        Event::Continued { .. } => continue_work(&mut state),
        Event::Closed { .. } => state.phase = Phase::Closed,
        Event::Heard { meaning, .. } => {
            state.utterances += 1;
            if !matches!(meaning, Meaning::Nothing { .. }) {
                state.not_understood = 0;
            }
        }
        Event::Declined { .. }
        | Event::NotComputed { .. }
        | Event::CautionAcknowledged { .. }
        | Event::DeadlineMissed { .. }
        | Event::Chosen { .. }
        | Event::RepeatAsked {}
        | Event::StatusAsked {}
        | Event::HelpAsked {}
        | Event::ReadingsAsked {} => {}
    }
    state
}

fn apply_timer(state: &mut State, event: &Event) {
    match event {
        Event::TimerStarted {
            at,
            step,
            seconds,
            warn_at,
            deadline,
            every,
        } => {
            state.timer = Some(Timer {
                step: step.clone(),
                started: *at,
                ends: at.saturating_add(Ms::from(*seconds) * 1000),
                warn_at: warn_at.clone(),
                deadline: *deadline,
                every: every.map(|s| Ms::from(s) * 1000),
                last_value: *at,
                ended: false,
                sufficed: false,
                fell_short: None,
            });
        }
        Event::TimerWarned { left } => {
            if let Some(timer) = &mut state.timer {
                timer.warn_at.retain(|warn| warn < left);
            }
        }
        Event::TimerEnded { .. } => {
            if let Some(timer) = &mut state.timer {
                timer.ended = true;
            }
        }
        Event::WatchSufficed { .. } => {
            if let Some(timer) = &mut state.timer {
                timer.sufficed = true;
            }
        }
        Event::WatchFellShort { missing, .. } => {
            if let Some(timer) = &mut state.timer {
                timer.fell_short = Some(missing.clone());
            }
        }
        _ => {}
    }
}

fn apply_finding(state: &mut State, event: &Event) {
    // A conclusion does not outlive the judgement it came from.
    state.finished = None;
    match event {
        Event::FindingReached {
            step, finding, why, ..
        } => {
            state.verdict = Some(KeptVerdict::Finding(finding.clone()));
            state.findings.push(KeptFinding {
                step: step.clone(),
                finding: finding.clone(),
                why: Some(why.clone()),
                overridden: None,
            });
        }
        Event::FindingsEqual { findings, .. } => {
            state.verdict = Some(KeptVerdict::Equal(findings.clone()));
        }
        Event::Undetermined { missing, .. } => {
            state.verdict = Some(KeptVerdict::Undetermined(missing.clone()));
        }
        Event::Overridden {
            step, to, reason, ..
        } => {
            state.asking = None;
            state.verdict = Some(KeptVerdict::Finding(to.clone()));
            state.findings.push(KeptFinding {
                step: step.clone(),
                finding: to.clone(),
                why: None,
                overridden: Some(reason.clone()),
            });
        }
        _ => {}
    }
}

/// The program was away for an unknown time: what was proved or timed then proves nothing now.
fn resume(state: &mut State) {
    begin_again(state);
    if state.rest == Rest::StandingBy {
        state.rest = Rest::Listening;
    }
}

/// After a stop the step begins again; after standing by it simply goes on.
fn continue_work(state: &mut State) {
    if state.rest == Rest::Stopped {
        begin_again(state);
    }
    state.rest = Rest::Listening;
}

fn begin_again(state: &mut State) {
    let asking = state.asking.take().filter(|asking| match asking {
        Asking::Confirmation(id) => state.reading(*id).is_some_and(|r| r.proof.is_none()),
        _ => true,
    });
    let verdict = state.verdict.take();
    match state.position.clone() {
        Some(position) => place::begin_visit(state, &position),
        None => state.entered = state.count,
    }
    state.asking = asking;
    state.verdict = verdict;
}

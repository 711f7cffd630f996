//! Going back along the way that was come.
//!
//! Readings are kept and stay confirmed. What may have changed in the meantime is not trusted: a
//! hold point gone back to is armed again; where the way back leads over a hold point that had
//! been released, the one before it must be proved again; and a procedure that was called and left
//! is worked from its start.

use super::flow;
use super::retake;
use super::turn::Turn;
use crate::procedure::StepKind;
use crate::session::event::Event;
use crate::session::parts::*;
use crate::session::state::TrailEntry;

/// "back": to the last step on the way here where there is something to do.
pub(in crate::session) fn back(turn: &mut Turn) {
    let here = turn.state.trail.len().saturating_sub(1);
    let waits = |entry: &TrailEntry| on_the_way(turn, entry) && waits_for_work(turn, entry);
    match turn.state.trail[..here].iter().rposition(waits) {
        Some(index) => to_entry(turn, index, BackReason::Asked),
        None => match turn.state.job.answered.last().cloned() {
            Some(question) => retake::again(turn, question),
            None => turn.decline(Decline::NothingBefore),
        },
    }
}

/// Goes back to an entry of the trail, or to where work must begin again before it can be
/// trusted.
pub(in crate::session) fn to_entry(turn: &mut Turn, index: usize, why: BackReason) {
    let (target, why) = match barrier(turn, index) {
        Some(barrier) => (barrier, BackReason::HoldRearmed),
        None => (index, why),
    };
    let Some(entry) = turn.state.trail.get(target).cloned() else {
        return;
    };
    turn.record(Event::SteppedBack {
        at: turn.now,
        to: entry.position.clone(),
        calls: entry.calls,
        trail: target,
        why,
    });
    call_again(turn, &entry.position);
}

/// The call through which an entry was reached, where its procedure has been left since.
pub(in crate::session) fn call_of(turn: &Turn, index: usize) -> Option<usize> {
    let trail = &turn.state.trail;
    let entry = trail.get(index)?;
    let open = turn.state.calls.iter().zip(&entry.calls);
    let common = open.take_while(|(a, b)| a == b).count();
    let left = entry.calls.get(common)?;
    trail[..index]
        .iter()
        .rposition(|e| e.position == left.from && e.calls.len() == common)
}

/// Whether an entry lies in a procedure that is still being worked on.
fn on_the_way(turn: &Turn, entry: &TrailEntry) -> bool {
    turn.state.calls.starts_with(&entry.calls)
}

/// The hold point that must be proved again before the entry can be worked: the nearest one before
/// it, when a released one lies between it and here.
fn barrier(turn: &Turn, index: usize) -> Option<usize> {
    let trail = &turn.state.trail;
    let crossed = trail.get(index + 1..)?.iter().any(|e| e.released);
    let hold = |entry: &TrailEntry| {
        let step = turn.guide.step(&entry.position);
        step.is_some_and(|s| matches!(s.kind, StepKind::Hold { .. }))
    };
    match crossed {
        true if !hold(&trail[index]) => trail[..index].iter().rposition(hold),
        _ => None,
    }
}

fn waits_for_work(turn: &Turn, entry: &TrailEntry) -> bool {
    let Some(step) = turn.guide.step(&entry.position) else {
        return false;
    };
    match step.kind {
        StepKind::GoTo { .. } | StepKind::Diagnose { .. } => false,
        // An open call is only the door through which its procedure was entered.
        StepKind::Call { .. } => {
            let open = turn.state.calls.get(entry.calls.len());
            open.is_none_or(|call| call.from != entry.position)
        }
        _ => true,
    }
}

/// A call gone back to begins the called procedure again.
fn call_again(turn: &mut Turn, position: &Position) {
    let step = turn.guide.step(position);
    if let Some(StepKind::Call { procedure }) = step.map(|s| &s.kind) {
        flow::call_again(turn, position.clone(), procedure);
    }
}

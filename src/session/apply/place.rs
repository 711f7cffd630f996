//! What the events of moving from step to step add to the state.

use crate::session::event::Event;
use crate::session::parts::{Call, Position};
use crate::session::state::{Conclusion, Phase, State, TrailEntry};

pub(super) fn apply_place(state: &mut State, event: &Event) {
    match event {
        Event::StepEntered { to, .. } => {
            state.phase = Phase::Working;
            begin_visit(state, to);
            state.skipped.remove(to);
            let entry = TrailEntry {
                position: to.clone(),
                calls: state.calls.clone(),
                released: false,
            };
            state.trail.push(entry);
        }
        Event::SteppedBack {
            to, calls, trail, ..
        } => {
            let left = state.trail.get(*trail);
            let released = left.is_some_and(|e| e.position == *to && e.released);
            state.trail.truncate(*trail);
            state.calls.clone_from(calls);
            begin_visit(state, to);
            state.finished = None;
            state.trail.push(TrailEntry {
                position: to.clone(),
                calls: calls.clone(),
                released,
            });
        }
        Event::StepDone { step } => {
            state.done.insert(step.clone());
        }
        Event::Skipped { step, .. } => {
            state.skipped.insert(step.clone());
            state.asking = None;
        }
        Event::Called { from, .. } => state.calls.push(Call {
            from: from.clone(),
            since: state.visit + 1,
        }),
        Event::Returned { .. } => {
            state.calls.pop();
        }
        Event::HoldProofPoint { id, proves, .. } => match proves {
            true => state.proof.push(*id),
            false => state.proof.clear(),
        },
        Event::HoldReleased { .. } => {
            if let Some(entry) = state.trail.last_mut() {
                entry.released = true;
            }
        }
        // The end of a called procedure ends nothing but the call.
        Event::Finished {
            step,
            conclusion,
            part,
            contact,
        } if state.calls.is_empty() => {
            state.finished = Some(Conclusion {
                step: step.clone(),
                conclusion: conclusion.clone(),
                part: part.clone(),
                contact: contact.clone(),
            });
        }
        _ => {}
    }
}

/// A step begins, or begins again: nothing half done is carried over, kept readings are.
pub(super) fn begin_visit(state: &mut State, to: &Position) {
    state.position = Some(to.clone());
    state.visit += 1;
    state.entered = state.count;
    state.proof.clear();
    state.timer = None;
    state.verdict = None;
    state.asking = None;
}

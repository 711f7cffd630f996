//! From step to step: on to the next one, elsewhere, into another procedure and back.

use super::turn::Turn;
use crate::procedure::{FindingRow, ProcedureId, Step, StepId, StepKind, Text};
use crate::session::event::Event;
use crate::session::parts::*;
use crate::session::steps::compute;
use crate::session::steps::diagnose;

/// Enters a step and, where there is nothing to do in it, the one it leads to, until one waits
/// for the technician.
pub(in crate::session) fn enter(turn: &mut Turn, to: Position) {
    let mut next = Some(to);
    while let Some(position) = next.take() {
        let Some(position) = applicable(turn, position.clone()) else {
            next = after_last(turn);
            continue;
        };
        if goes_in_a_circle(turn, &position) {
            return turn.record(Event::Stopped {
                at: turn.now,
                why: StopReason::Circle,
            });
        }
        next = enter_one(turn, position);
    }
}

/// Leaves the current step with its work done, for the next one in the order of the procedure.
pub(in crate::session) fn leave(turn: &mut Turn) {
    let Some(here) = done(turn) else { return };
    if let Some(to) = after(turn, &here) {
        enter(turn, to);
    }
}

/// Leaves the current step with its work done, for a step of the same procedure.
pub(in crate::session) fn leave_to(turn: &mut Turn, step: &StepId) {
    let Some(here) = done(turn) else { return };
    enter(
        turn,
        Position {
            procedure: here.procedure,
            step: step.clone(),
        },
    );
}

/// Leaves the current step with its work done, into another procedure.
pub(in crate::session) fn leave_into(turn: &mut Turn, procedure: &ProcedureId) {
    let Some(here) = done(turn) else { return };
    if let Some(to) = call(turn, here, procedure) {
        enter(turn, to);
    }
}

/// Ends the procedure at the current step with a finding's conclusion.
pub(in crate::session) fn end_with(turn: &mut Turn, row: &FindingRow, conclusion: &Text) {
    let Some(here) = done(turn) else { return };
    let conclusion = turn.guide.text(&turn.state, conclusion).written.clone();
    turn.record(Event::Finished {
        step: Some(here),
        conclusion: Some(conclusion),
        part: row.part.clone(),
        contact: row.contact.clone(),
    });
    if !turn.state.calls.is_empty()
        && let Some(to) = come_back(turn)
    {
        enter(turn, to);
    }
}

/// Begins the procedure that the current step calls.
pub(in crate::session) fn call_again(turn: &mut Turn, from: Position, procedure: &ProcedureId) {
    if let Some(to) = call(turn, from, procedure) {
        enter(turn, to);
    }
}

/// Leaves the current step undone.
pub(in crate::session) fn pass_over(turn: &mut Turn) {
    let Some(here) = turn.state.position.clone() else {
        return;
    };
    if let Some(to) = after(turn, &here) {
        enter(turn, to);
    }
}

fn done(turn: &mut Turn) -> Option<Position> {
    let here = turn.state.position.clone()?;
    turn.record(Event::StepDone { step: here.clone() });
    Some(here)
}

/// Enters exactly one step. Where it does not wait for the technician: the one after it.
fn enter_one(turn: &mut Turn, position: Position) -> Option<Position> {
    turn.record(Event::StepEntered {
        at: turn.now,
        to: position.clone(),
    });
    let step = turn.guide.step(&position)?;
    let depth = turn.state.calls.len();
    turn.passed.push((position.clone(), depth));
    match &step.kind {
        StepKind::GoTo { step } => {
            done(turn);
            Some(Position {
                procedure: position.procedure,
                step: step.clone(),
            })
        }
        StepKind::Call { procedure } => call(turn, position, procedure),
        StepKind::Diagnose { .. } => {
            diagnose::judge(turn);
            None
        }
        StepKind::Compute { .. } => {
            compute::work_out(turn);
            None
        }
        StepKind::Finish { .. } => finish(turn, position),
        _ => None,
    }
}

fn call(turn: &mut Turn, from: Position, procedure: &ProcedureId) -> Option<Position> {
    let called = turn.guide.library.get(procedure)?;
    let first = called.steps.first()?;
    turn.record(Event::Called {
        from,
        procedure: procedure.clone(),
    });
    Some(Position {
        procedure: procedure.clone(),
        step: first.id.clone(),
    })
}

fn finish(turn: &mut Turn, position: Position) -> Option<Position> {
    let step = turn.guide.step(&position)?;
    let StepKind::Finish {
        conclusion,
        part,
        contact,
        ..
    } = &step.kind
    else {
        return None;
    };
    let conclusion = turn.guide.text(&turn.state, conclusion).written.clone();
    turn.record(Event::Finished {
        step: Some(position.clone()),
        conclusion: Some(conclusion),
        part: part.clone(),
        contact: contact.clone(),
    });
    match turn.state.calls.is_empty() {
        true => None,
        false => {
            done(turn);
            come_back(turn)
        }
    }
}

/// The step after one in the order of the procedure; at its end, after the call that led here.
fn after(turn: &mut Turn, position: &Position) -> Option<Position> {
    let steps = &turn.guide.library.get(&position.procedure)?.steps;
    let index = steps.iter().position(|s| s.id == position.step)?;
    match steps.get(index + 1) {
        Some(step) => Some(Position {
            procedure: position.procedure.clone(),
            step: step.id.clone(),
        }),
        None => after_last(turn),
    }
}

/// Where work goes on when a procedure has no more steps.
fn after_last(turn: &mut Turn) -> Option<Position> {
    if !turn.state.calls.is_empty() {
        return come_back(turn);
    }
    turn.record(Event::Finished {
        step: None,
        conclusion: None,
        part: None,
        contact: None,
    });
    None
}

fn come_back(turn: &mut Turn) -> Option<Position> {
    let call = turn.state.calls.last()?.clone();
    turn.record(Event::Returned {
        to: call.from.clone(),
    });
    turn.record(Event::StepDone {
        step: call.from.clone(),
    });
    after(turn, &call.from)
}

/// The first step from here on that is for this variant; `None` at the end of the procedure.
fn applicable(turn: &Turn, from: Position) -> Option<Position> {
    let steps = &turn.guide.library.get(&from.procedure)?.steps;
    let index = steps.iter().position(|s| s.id == from.step)?;
    let variant = turn.variant();
    let applies = |s: &&Step| s.only.as_ref().is_none_or(|only| only.contains(&variant));
    let step = steps[index..].iter().find(applies)?;
    Some(Position {
        procedure: from.procedure,
        step: step.id.clone(),
    })
}

/// Whether the way leads to where it already passed with nothing to do in between, or calls a
/// procedure that is being worked on.
fn goes_in_a_circle(turn: &Turn, to: &Position) -> bool {
    let depth = turn.state.calls.len();
    let again = turn
        .passed
        .iter()
        .any(|(position, at)| position == to && *at == depth);
    let calls_itself = depth > turn.guide.library.procedures().count();
    again || calls_itself
}

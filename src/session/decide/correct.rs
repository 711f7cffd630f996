//! Taking a value back: "correction", "disregard", "negative".
//!
//! A value is never edited. It is withdrawn, and another may stand in for it. Where the session
//! has gone on since, it goes back to what rests on the value.

use super::back;
use super::hear::Spoken;
use super::turn::Turn;
use crate::language::SpokenReading;
use crate::procedure::{ComputeInput, StepKind};
use crate::quantity::Reading;
use crate::session::confirm;
use crate::session::event::Event;
use crate::session::parts::*;
use crate::session::state::KeptReading;
use crate::session::steps::diagnose;
use crate::session::steps::hold;
use crate::session::steps::read::{self, Fresh};
use crate::session::steps::timer;
use crate::session::steps::watch;

/// "correction", with or without the right value.
pub(in crate::session) fn correction(turn: &mut Turn, spoken: &Spoken, readings: &[SpokenReading]) {
    let Some(id) = turn.state.last_reading().map(|r| r.id) else {
        return turn.decline(Decline::NothingToWithdraw);
    };
    match readings.is_empty() {
        true => take_back(turn, id, Withdrawal::Disregarded),
        false => replace(turn, spoken, readings, id),
    }
}

/// "disregard": the last value is taken back.
pub(in crate::session) fn disregard(turn: &mut Turn) {
    match turn.state.last_reading().map(|r| r.id) {
        Some(id) => take_back(turn, id, Withdrawal::Disregarded),
        None => turn.decline(Decline::NothingToWithdraw),
    }
}

/// "negative" to the value just read back.
pub(in crate::session) fn deny_last(turn: &mut Turn) {
    match turn.state.last_reading().map(|r| r.id) {
        Some(id) => deny(turn, id),
        None => turn.decline(Decline::NothingToWithdraw),
    }
}

/// The value was not right. What it may have been instead is offered; else it is asked for again.
pub(in crate::session) fn deny(turn: &mut Turn, id: ReadingId) {
    let Some(kept) = turn.state.reading(id).cloned() else {
        return;
    };
    let Some(reading) = confirm::runner_up(&kept) else {
        return take_back(turn, id, Withdrawal::Denied);
    };
    turn.record(Event::ReadingWithdrawn {
        id,
        why: Withdrawal::Denied,
    });
    return_to(turn, &kept, BackReason::Correction);
    if !can_be_taken(turn, &kept) {
        return;
    }
    // Only the best one is offered: after that it is asked for again.
    let fresh = instead_of(turn, &kept, reading, Vec::new());
    let id = read::give(turn, fresh);
    let why = Consequence::Offered;
    turn.record(Event::ConfirmationAsked { id, why });
}

/// The value is taken back and none stands in for it.
pub(in crate::session) fn take_back(turn: &mut Turn, id: ReadingId, why: Withdrawal) {
    let Some(kept) = turn.state.reading(id).cloned() else {
        return;
    };
    turn.record(Event::ReadingWithdrawn { id, why });
    let visit = turn.state.visit;
    return_to(turn, &kept, BackReason::Withdrawn);
    let stayed = turn.state.visit == visit;
    match turn.here() {
        Some((here, kind @ StepKind::Diagnose { .. })) if rests_on(kind, &here, &kept) => {
            diagnose::judge(turn);
        }
        Some((_, StepKind::Watch { .. })) => timer::go_on_after_time(turn),
        // Having gone back, the step has just asked for itself.
        Some((here, StepKind::Read { .. } | StepKind::Hold { .. }))
            if here == kept.step && (stayed || turn.state.denied(&here) >= OFTEN) =>
        {
            ask_again(turn, &here);
        }
        _ => {}
    }
}

/// So many values of a step that were not right, and another way of giving them is offered: digit by
/// digit, and if that fails too, by typing.
const OFTEN: u32 = 3;

fn ask_again(turn: &mut Turn, step: &Position) {
    let why = match turn.state.denied(step) {
        0 => AskReason::Withdrawn,
        denied if denied < OFTEN => AskReason::Denied,
        OFTEN => AskReason::DeniedOften,
        _ => AskReason::DeniedByDigits,
    };
    turn.record(Event::ValueAsked { at: turn.now, why });
}

/// Another value stands in for one that was given.
pub(in crate::session) fn replace(
    turn: &mut Turn,
    spoken: &Spoken,
    readings: &[SpokenReading],
    id: ReadingId,
) {
    let Some(kept) = turn.state.reading(id).cloned() else {
        return;
    };
    let value = read::one_value(turn, spoken, readings, &kept.step, &kept.quantity);
    let Some((reading, others, _)) = value else {
        return;
    };
    let changes = changes_the_way(turn, &kept, reading);
    turn.record(Event::ReadingWithdrawn {
        id,
        why: Withdrawal::Corrected,
    });
    if changes {
        return_to(turn, &kept, BackReason::Correction);
    }
    if changes && !can_be_taken(turn, &kept) {
        return;
    }
    let fresh = Fresh {
        typed: spoken.typed,
        ..instead_of(turn, &kept, reading, others)
    };
    match turn.here() {
        Some((here, StepKind::Hold { .. })) if here == kept.step => hold::ask(turn, fresh),
        Some((here, StepKind::Read { .. })) if here == kept.step => read::take(turn, fresh),
        _ => watch::take_late(turn, fresh),
    }
}

/// Whether the session would stand elsewhere had the other value been given in the first place. A
/// hold point's proof and a judged series are always gone through again.
fn changes_the_way(turn: &Turn, kept: &KeptReading, reading: Reading) -> bool {
    let fresh = instead_of(turn, kept, reading, Vec::new());
    let is_read = matches!(
        turn.guide.step(&kept.step).map(|s| &s.kind),
        Some(StepKind::Read { .. })
    );
    !is_read
        || worked_with(turn, kept)
        || confirm::difference_to(turn.guide, &turn.state, &fresh, kept.reading).is_some()
}

/// Whether a value on the way here was worked out from this one.
fn worked_with(turn: &Turn, kept: &KeptReading) -> bool {
    turn.state.trail.iter().any(|entry| {
        let step = turn.guide.step(&entry.position);
        match step.map(|s| &s.kind) {
            Some(StepKind::Compute { inputs, .. }) => {
                entry.position.procedure == kept.step.procedure
                    && inputs
                        .values()
                        .any(|i| *i == ComputeInput::Reading(kept.step.step.clone()))
            }
            _ => false,
        }
    })
}

/// Whether a value in place of this one can be taken where the session stands now.
fn can_be_taken(turn: &Turn, kept: &KeptReading) -> bool {
    let Some((here, kind)) = turn.here() else {
        return false;
    };
    match kind {
        StepKind::Hold { .. } => here == kept.step && kept.proof == Some(turn.state.proof.len()),
        StepKind::Read { .. } | StepKind::Watch { .. } => here == kept.step,
        _ => rests_on(kind, &here, kept),
    }
}

/// The same place in the record's order, with another value. A value of the current step belongs
/// to its current visit; one of a series keeps its time.
fn instead_of(turn: &Turn, kept: &KeptReading, reading: Reading, others: Vec<Reading>) -> Fresh {
    let is_here = turn.state.position.as_ref() == Some(&kept.step);
    let of_series = !matches!(
        turn.guide.step(&kept.step).map(|s| &s.kind),
        Some(StepKind::Read { .. } | StepKind::Hold { .. })
    );
    Fresh {
        step: kept.step.clone(),
        visit: match is_here && !of_series {
            true => turn.state.visit,
            false => kept.visit,
        },
        quantity: kept.quantity.clone(),
        reading,
        at: kept.at,
        others,
        replaces: Some(kept.id),
        proof: kept.proof.map(|_| turn.state.proof.len()),
        typed: false,
    }
}

/// Goes back to the step that rests on a value: the read step or hold point itself, the diagnose
/// step that judged its series, or the call of a procedure that has been left.
fn return_to(turn: &mut Turn, kept: &KeptReading, why: BackReason) {
    let Some((here, kind)) = turn.here() else {
        return;
    };
    if here == kept.step || rests_on(kind, &here, kept) {
        return;
    }
    if let Some(index) = resting_entry(turn, kept) {
        let to = &turn.state.trail[index].position;
        let same_step = *to == kept.step && kept.proof.is_none();
        // Elsewhere, and at a hold point, the value has no place: the step asks from its start.
        let why = match turn.guide.step(to).map(|s| &s.kind) {
            _ if same_step => why,
            Some(StepKind::Call { .. }) => BackReason::CalledAgain,
            _ => BackReason::Withdrawn,
        };
        back::to_entry(turn, index, why);
    }
    // A finding that led into the procedure where the value was given is told anew.
    match turn.here() {
        Some((here, kind @ StepKind::Diagnose { .. })) if !rests_on(kind, &here, kept) => {
            diagnose::judge(turn);
        }
        _ => {}
    }
}

fn rests_on(kind: &StepKind, here: &Position, kept: &KeptReading) -> bool {
    match kind {
        StepKind::Diagnose { of, .. } => {
            here.procedure == kept.step.procedure && *of == kept.step.step
        }
        _ => false,
    }
}

/// The entry of the trail to go back to: none where nothing on the way here rests on the value.
fn resting_entry(turn: &Turn, kept: &KeptReading) -> Option<usize> {
    let trail = &turn.state.trail;
    let given = trail.iter().rposition(|e| e.position == kept.step)?;
    if let Some(left) = back::call_of(turn, given) {
        return Some(left);
    }
    match turn.guide.step(&kept.step).map(|s| &s.kind) {
        Some(StepKind::Watch { .. }) => {
            let judged = trail[given..].iter().position(|entry| {
                let kind = turn.guide.step(&entry.position).map(|s| &s.kind);
                kind.is_some_and(|kind| rests_on(kind, &entry.position, kept))
            });
            judged.map(|after| given + after)
        }
        _ => Some(given),
    }
}

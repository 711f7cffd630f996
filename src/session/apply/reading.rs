//! What the events of readings add to the state.

use crate::session::event::Event;
use crate::session::parts::{ReadingId, Withdrawal};
use crate::session::state::{Asking, KeptReading, Standing, State};

pub(super) fn apply_reading(state: &mut State, event: &Event) {
    match event {
        Event::ReadingGiven {
            id,
            step,
            visit,
            quantity,
            reading,
            at,
            others,
            replaces,
            proof,
            typed,
        } => {
            state.readings.push(KeptReading {
                id: *id,
                step: step.clone(),
                visit: *visit,
                quantity: quantity.clone(),
                reading: *reading,
                at: *at,
                others: others.clone(),
                replaces: *replaces,
                proof: *proof,
                typed: *typed,
                standing: Standing::Given,
                computed: false,
            });
            if let Some(timer) = &mut state.timer {
                timer.last_value = timer.last_value.max(*at);
            }
        }
        Event::ReadBack { id } => {
            set_standing(state, *id, Standing::ReadBack);
            if follows_a_good_one(state, *id) {
                state.denied = None;
            }
        }
        Event::Computed { id, .. } => {
            set_standing(state, *id, Standing::ReadBack);
            if let Some(kept) = state.readings.iter_mut().find(|r| r.id == *id) {
                kept.computed = true;
            }
        }
        Event::ConfirmationAsked { id, .. } => {
            set_standing(state, *id, Standing::Asked);
            state.asking = Some(Asking::Confirmation(*id));
        }
        Event::ReadingConfirmed { id } => {
            set_standing(state, *id, Standing::Confirmed);
            state.asking = None;
            state.denied = None;
        }
        Event::ReadingWithdrawn { id, why } => withdraw(state, *id, *why),
        Event::ValueAsked { at, .. } => {
            if let Some(timer) = &mut state.timer {
                timer.last_value = timer.last_value.max(*at);
            }
        }
        _ => {}
    }
}

fn set_standing(state: &mut State, id: ReadingId, standing: Standing) {
    if let Some(kept) = state.readings.iter_mut().find(|r| r.id == id) {
        kept.standing = standing;
    }
}

fn withdraw(state: &mut State, id: ReadingId, why: Withdrawal) {
    set_standing(state, id, Standing::Withdrawn(why));
    if state.asking == Some(Asking::Confirmation(id)) {
        state.asking = None;
    }
    if let Some(index) = state.proof.iter().position(|p| *p == id) {
        state.proof.truncate(index);
    }
    if why == Withdrawal::Denied
        && let Some(step) = state.reading(id).map(|kept| kept.step.clone())
    {
        let denied = state.denied(&step) + 1;
        state.denied = Some((step, denied));
    }
}

/// Whether the value before this one was not objected to. That this one is not, is yet to be seen.
fn follows_a_good_one(state: &State, id: ReadingId) -> bool {
    let before = id.0.checked_sub(1).map(ReadingId);
    before
        .and_then(|before| state.reading(before))
        .is_some_and(KeptReading::counts)
}

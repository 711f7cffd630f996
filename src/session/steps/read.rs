//! One value with limits, and where it leads.

use crate::diagnosis;
use crate::language::{Meaning, SpokenReading};
use crate::procedure::{Branch, QuantityId, StepId, StepKind};
use crate::quantity::Reading;
use crate::session::confirm;
use crate::session::decide::flow;
use crate::session::decide::hear::Spoken;
use crate::session::decide::turn::Turn;
use crate::session::event::Event;
use crate::session::guide::Guide;
use crate::session::parts::*;
use crate::session::state::State;
use crate::session::values;

/// A value that was just heard, before anything is made of it.
pub(in crate::session) struct Fresh {
    pub step: Position,
    pub visit: u32,
    pub quantity: QuantityId,
    pub reading: Reading,
    pub at: Ms,
    pub others: Vec<Reading>,
    pub replaces: Option<ReadingId>,
    pub proof: Option<usize>,
    pub typed: bool,
}

/// Keeps a value. It counts only after it was read back.
pub(in crate::session) fn give(turn: &mut Turn, fresh: Fresh) -> ReadingId {
    let number = u32::try_from(turn.state.readings.len()).unwrap_or(u32::MAX);
    let id = ReadingId(number.saturating_add(1));
    turn.record(Event::ReadingGiven {
        id,
        step: fresh.step,
        visit: fresh.visit,
        quantity: fresh.quantity,
        reading: fresh.reading,
        at: fresh.at,
        others: fresh.others,
        replaces: fresh.replaces,
        proof: fresh.proof,
        typed: fresh.typed,
    });
    id
}

/// The one value of an utterance as a reading of a step's quantity; says why where it is none.
pub(in crate::session) fn one_value(
    turn: &mut Turn,
    spoken: &Spoken,
    readings: &[SpokenReading],
    step: &Position,
    quantity: &QuantityId,
) -> Option<(Reading, Vec<Reading>, Ms)> {
    let definition = turn.guide.quantity(step, quantity)?;
    let [one] = readings else {
        turn.decline(Decline::OneValueOnly);
        return None;
    };
    match values::reading_of(one, definition) {
        Ok(reading) => {
            let meanings = spoken.others.iter().map(|o| &o.meaning);
            let others = values::others_of(meanings, &reading, definition);
            Some((reading, others, said_at(one, spoken)))
        }
        Err(why) => {
            turn.decline(why);
            None
        }
    }
}

/// When a value was said: by its own words where they have times.
pub(in crate::session) fn said_at(reading: &SpokenReading, spoken: &Spoken) -> Ms {
    reading.start_ms.max(spoken.start_ms)
}

/// A value at a read step.
pub(in crate::session) fn given(turn: &mut Turn, spoken: &Spoken, readings: &[SpokenReading]) {
    let Some((step, StepKind::Read { quantity, .. })) = turn.here() else {
        return;
    };
    let Some((reading, others, at)) = one_value(turn, spoken, readings, &step, quantity) else {
        return;
    };
    let fresh = Fresh {
        visit: turn.state.visit,
        quantity: quantity.clone(),
        replaces: None,
        proof: None,
        typed: spoken.typed,
        step,
        reading,
        at,
        others,
    };
    take(turn, fresh);
}

/// Keeps a value of the current read step, and goes on with it unless it must be confirmed first.
pub(in crate::session) fn take(turn: &mut Turn, fresh: Fresh) {
    let why = confirm::consequence(turn.guide, &turn.state, &fresh);
    let id = give(turn, fresh);
    match why {
        Some(why) => turn.record(Event::ConfirmationAsked { id, why }),
        None => {
            turn.record(Event::ReadBack { id });
            go_on(turn);
        }
    }
}

/// "next" at a read step: on with the value kept from before, if there is one.
pub(in crate::session) fn keep(turn: &mut Turn) {
    let kept = turn
        .here()
        .is_some_and(|(step, _)| !turn.state.series(&step).is_empty());
    match kept {
        true => go_on(turn),
        false => turn.decline(Decline::ValueNeeded),
    }
}

/// Whether the value of the current step was given at this visit, not kept from an earlier one.
pub(in crate::session) fn given_now(turn: &Turn) -> bool {
    turn.here().is_some_and(|(step, _)| {
        let last = turn.state.series(&step).last().map(|kept| kept.visit);
        last == Some(turn.state.visit)
    })
}

/// Leaves the read step by what its value leads to, unless an earlier value must be affirmed first:
/// now that all are known, it would decide.
pub(in crate::session) fn go_on(turn: &mut Turn) {
    let Some((step, StepKind::Read { branches, .. })) = turn.here() else {
        return;
    };
    let reading = turn
        .state
        .series(&step)
        .last()
        .map(|r| (r.reading, r.quantity.clone()));
    let Some((reading, quantity)) = reading else {
        return;
    };
    let (guide, state) = (turn.guide, &turn.state);
    if let Some(to) = target(guide, state, &step, &quantity, branches, &reading) {
        return flow::leave_to(turn, &to);
    }
    match confirm::doubtful_after(guide, state, &step) {
        Some((id, why)) => turn.record(Event::ConfirmationAsked { id, why }),
        None => flow::leave(turn),
    }
}

/// The step a value leads to; `None` for the next one.
pub(in crate::session) fn target(
    guide: &Guide,
    state: &State,
    step: &Position,
    quantity: &QuantityId,
    branches: &[Branch],
    reading: &Reading,
) -> Option<StepId> {
    let definition = guide.quantity(step, quantity)?;
    let judged = values::judged(guide, state, definition, reading)?;
    let taken = branches
        .iter()
        .find(|b| diagnosis::holds(b.when, &judged))?;
    Some(taken.go_to.clone())
}

/// The values of an utterance, whatever command they came with.
pub(in crate::session) fn values_in(meaning: &Meaning) -> &[SpokenReading] {
    match meaning {
        Meaning::Readings(readings) | Meaning::Command { readings, .. } => readings,
        _ => &[],
    }
}

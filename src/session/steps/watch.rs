//! A value called out over time.

use super::diagnose;
use super::enough;
use super::read::{self, Fresh};
use super::timer;
use crate::language::SpokenReading;
use crate::procedure::{QuantityId, StepId, StepKind};
use crate::session::confirm;
use crate::session::decide::hear::Spoken;
use crate::session::decide::turn::Turn;
use crate::session::event::Event;
use crate::session::parts::*;
use crate::session::values;

/// The values of one utterance during a watch, each with its own time. One that is not plausible
/// is asked about, after the others were read back.
pub(in crate::session) fn given(turn: &mut Turn, spoken: &Spoken, readings: &[SpokenReading]) {
    let Some((step, StepKind::Watch { quantity, .. })) = turn.here() else {
        return;
    };
    timer::start(turn, spoken.start_ms);
    let visit = turn.state.visit;
    add(turn, spoken, readings, &step, visit, quantity);
    enough::tell(turn);
    timer::go_on_after_time(turn);
}

/// More values after the watch, because they were too few to tell.
pub(in crate::session) fn more(
    turn: &mut Turn,
    spoken: &Spoken,
    readings: &[SpokenReading],
    of: &StepId,
) {
    let Some((here, _)) = turn.here() else { return };
    let step = Position {
        procedure: here.procedure,
        step: of.clone(),
    };
    let Some(StepKind::Watch { quantity, .. } | StepKind::Read { quantity, .. }) =
        turn.guide.step(&step).map(|s| &s.kind)
    else {
        return;
    };
    let visit = turn
        .state
        .series(&step)
        .first()
        .map_or(turn.state.visit, |r| r.visit);
    add(turn, spoken, readings, &step, visit, quantity);
    if turn.state.asking.is_none() {
        diagnose::judge(turn);
    }
}

fn add(
    turn: &mut Turn,
    spoken: &Spoken,
    readings: &[SpokenReading],
    step: &Position,
    visit: u32,
    quantity: &QuantityId,
) {
    let Some(definition) = turn.guide.quantity(step, quantity) else {
        return;
    };
    let mut doubtful = None;
    for one in readings {
        let reading = match values::reading_of(one, definition) {
            Ok(reading) => reading,
            Err(why) => {
                turn.decline(why);
                continue;
            }
        };
        // Other ways to hear the utterance stand for its value only if it has just this one.
        let others = match readings.len() {
            1 => {
                let meanings = spoken.others.iter().map(|o| &o.meaning);
                values::others_of(meanings, &reading, definition)
            }
            _ => Vec::new(),
        };
        let implausible = !confirm::plausible(definition, &reading);
        let id = read::give(
            turn,
            Fresh {
                step: step.clone(),
                visit,
                quantity: quantity.clone(),
                reading,
                at: read::said_at(one, spoken),
                others,
                replaces: None,
                proof: None,
                typed: spoken.typed,
            },
        );
        match implausible && doubtful.is_none() {
            true => doubtful = Some(id),
            false => turn.record(Event::ReadBack { id }),
        }
    }
    if let Some(id) = doubtful {
        let why = Consequence::Implausible;
        turn.record(Event::ConfirmationAsked { id, why });
    }
}

/// A value in place of one that was taken back, at a step that is no longer worked on.
pub(in crate::session) fn take_late(turn: &mut Turn, fresh: Fresh) {
    let read = matches!(
        turn.guide.step(&fresh.step).map(|s| &s.kind),
        Some(StepKind::Read { .. })
    );
    let definition = turn.guide.quantity(&fresh.step, &fresh.quantity);
    let implausible = definition.is_some_and(|d| !confirm::plausible(d, &fresh.reading));
    let why = match read {
        true => confirm::consequence(turn.guide, &turn.state, &fresh),
        false => implausible.then_some(Consequence::Implausible),
    };
    let id = read::give(turn, fresh);
    if let Some(why) = why {
        return turn.record(Event::ConfirmationAsked { id, why });
    }
    turn.record(Event::ReadBack { id });
    if matches!(turn.here(), Some((_, StepKind::Diagnose { .. }))) {
        diagnose::judge(turn);
    }
}

/// "next" ends a watch early, if there is anything to go on with.
pub(in crate::session) fn end(turn: &mut Turn) {
    let any = turn
        .here()
        .is_some_and(|(step, _)| !turn.state.series(&step).is_empty());
    match any {
        true => timer::end_watch(turn),
        false => turn.decline(Decline::ValueNeeded),
    }
}

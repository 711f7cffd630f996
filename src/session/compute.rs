//! A value worked out from earlier readings: kept and judged as if it had been read.

use super::event::Event;
use super::turn::Turn;
use crate::procedure::StepKind;

/// Works out the value of the current compute step and goes on by it; where it cannot be worked
/// out, says so and waits.
pub(super) fn work_out(turn: &mut Turn) {
    let Some((step, StepKind::Compute { measure, .. })) = turn.here() else {
        return;
    };
    turn.record(Event::NotComputed {
        step,
        why: format!("no computation `{measure}`"),
    });
}

/// "next": once more, in case what was missing has been read since.
pub(super) fn go_on(turn: &mut Turn) {
    work_out(turn);
}

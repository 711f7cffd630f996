//! Waits, deadlines and watches against the session's clock.
//!
//! A timer starts when the prompt of its step has been heard to its end, or with the first value
//! if that comes earlier. It goes on while standing by and is void after a stop.

use super::enough;
use crate::procedure::StepKind;
use crate::session::decide::flow;
use crate::session::decide::turn::Turn;
use crate::session::event::Event;
use crate::session::parts::*;
use crate::session::state::{Asking, Rest, State, Timer};

/// When the clock is to be looked at again; `None` when no time matters.
pub fn next_due(state: &State) -> Option<Ms> {
    let timer = state.timer.as_ref()?;
    if state.rest == Rest::Stopped {
        return None;
    }
    let due = [
        end_due(timer),
        warning_due(timer).map(|(at, _)| at),
        value_due(state, timer),
    ];
    due.into_iter().flatten().min()
}

/// Does everything that was due by `until`, in the order in which it was due.
pub(in crate::session) fn run_due(turn: &mut Turn, until: Ms) {
    while let Some(due) = next_due(&turn.state).filter(|due| *due <= until) {
        let Some(timer) = turn.state.timer.clone() else {
            return;
        };
        if end_due(&timer) == Some(due) {
            end(turn, &timer);
        } else if let Some((_, left)) = warning_due(&timer).filter(|(at, _)| *at == due) {
            turn.record(Event::TimerWarned { left });
        } else {
            // Counted from now, so that a late look at the clock asks once, not once a gap.
            turn.record(Event::ValueAsked {
                at: turn.now.max(due),
                why: AskReason::Silence,
            });
        }
    }
}

fn end_due(timer: &Timer) -> Option<Ms> {
    (!timer.ended).then_some(timer.ends)
}

fn warning_due(timer: &Timer) -> Option<(Ms, u32)> {
    let left = *timer.warn_at.first().filter(|_| !timer.ended)?;
    let at = timer.ends.saturating_sub(Ms::from(left) * 1000);
    Some((at, left))
}

fn value_due(state: &State, timer: &Timer) -> Option<Ms> {
    let quiet = state.rest == Rest::Listening && state.asking.is_none() && !timer.ended;
    let due = timer.last_value.saturating_add(timer.every?);
    (quiet && due < timer.ends).then_some(due)
}

/// Whether the timer of this step has yet to start.
pub(in crate::session) fn waits_for_prompt(turn: &Turn) -> bool {
    let timed = matches!(
        turn.here(),
        Some((_, StepKind::Wait { .. } | StepKind::Watch { .. }))
    );
    timed && turn.state.timer.is_none()
}

/// Starts the timer of this step, if it has one that does not run yet.
pub(in crate::session) fn start(turn: &mut Turn, at: Ms) {
    if !waits_for_prompt(turn) {
        return;
    }
    let event = match turn.here() {
        Some((
            step,
            StepKind::Wait {
                seconds,
                warn_at,
                missed,
                ..
            },
        )) => Event::TimerStarted {
            at,
            step,
            seconds: *seconds,
            warn_at: largest_first(warn_at, *seconds),
            deadline: missed.is_some(),
            every: None,
        },
        Some((step, StepKind::Watch { seconds, every, .. })) => Event::TimerStarted {
            at,
            step,
            seconds: *seconds,
            warn_at: Vec::new(),
            deadline: false,
            every: Some(*every),
        },
        _ => return,
    };
    turn.record(event);
}

fn largest_first(warn_at: &[u32], seconds: u32) -> Vec<u32> {
    let mut warnings: Vec<u32> = warn_at.iter().copied().filter(|w| *w < seconds).collect();
    warnings.sort_unstable_by(|a, b| b.cmp(a));
    warnings.dedup();
    warnings
}

fn end(turn: &mut Turn, timer: &Timer) {
    turn.record(Event::TimerEnded {
        at: timer.ends,
        early: false,
    });
    if timer.deadline {
        turn.record(Event::DeadlineMissed {
            step: timer.step.clone(),
        });
    } else {
        go_on_after_time(turn);
    }
}

/// Whether the time of a wait or a watch is up and the session has yet to go on.
pub(in crate::session) fn is_over(state: &State) -> bool {
    let over = |t: &Timer| t.ended && !t.deadline;
    state.timer.as_ref().is_some_and(over)
}

/// Goes on when the time of a wait or a watch is up and nothing else is waited for; a watch in which
/// nothing was called out, or too little for a finding, waits for more, or for "next".
pub(in crate::session) fn go_on_after_time(turn: &mut Turn) {
    let free = turn.state.rest == Rest::Listening && turn.state.asking.is_none();
    if !free || !is_over(&turn.state) {
        return;
    }
    match enough::missing(turn) {
        None => flow::leave(turn),
        Some(missing) => fall_short(turn, missing),
    }
}

/// Says each kind of lack once, not with every value how many are still missing.
fn fall_short(turn: &mut Turn, missing: Missing) {
    let Some(timer) = &turn.state.timer else {
        return;
    };
    let kind = std::mem::discriminant::<Missing>;
    if timer.fell_short.as_ref().map(kind) != Some(kind(&missing)) {
        let step = timer.step.clone();
        turn.record(Event::WatchFellShort { step, missing });
    }
}

/// "next" at a wait.
pub(in crate::session) fn next_at_wait(turn: &mut Turn) {
    // Done before the prompt was at its end: the time counts from now.
    start(turn, turn.now);
    let running = turn.state.timer.as_ref().filter(|t| !t.ended);
    match running {
        Some(timer) if timer.deadline => {
            turn.record(Event::TimerEnded {
                at: turn.now,
                early: true,
            });
            flow::leave(turn);
        }
        Some(_) => turn.decline(Decline::TimeNotUp),
        None => flow::leave(turn),
    }
}

/// Ends a watch before its time.
pub(in crate::session) fn end_watch(turn: &mut Turn) {
    if turn.state.timer.as_ref().is_some_and(|t| !t.ended) {
        turn.record(Event::TimerEnded {
            at: turn.now,
            early: true,
        });
    }
    if !matches!(turn.state.asking, Some(Asking::Confirmation(_))) {
        flow::leave(turn);
    }
}

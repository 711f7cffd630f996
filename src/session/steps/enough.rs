//! Whether a watch has done its work: said once as soon as the finding would no longer change, and
//! when the time is up without one, what is missing.

use crate::diagnosis::{self, Ask, Progress};
use crate::procedure::{FindingId, StepKind};
use crate::session::confirm;
use crate::session::decide::turn::Turn;
use crate::session::event::Event;
use crate::session::guide::Guide;
use crate::session::parts::*;
use crate::session::state::{State, Timer};
use crate::session::steps::diagnose;

/// Says so once, when no finding that rests on the watch being worked on would still change.
pub(in crate::session) fn tell(turn: &mut Turn) {
    let Some((step, StepKind::Watch { .. })) = turn.here() else {
        return;
    };
    let open = |timer: &Timer| !timer.ended && !timer.sufficed;
    let goes_on = turn.state.timer.as_ref().is_some_and(open);
    if !goes_on || turn.state.asking.is_some() {
        return;
    }
    if let Some(findings) = final_findings(turn.guide, &turn.state, &step, turn.now) {
        turn.record(Event::WatchSufficed {
            at: turn.now,
            step,
            findings,
        });
    }
}

/// The finding of each diagnose step over a watch, where all of them are final and rest on no
/// value that must be affirmed first.
fn final_findings(
    guide: &Guide,
    state: &State,
    watch: &Position,
    now: Ms,
) -> Option<Vec<FindingId>> {
    let began_here = state.series(watch).first()?.visit == state.visit;
    let judges = judges_of(guide, watch);
    let findings: Option<Vec<FindingId>> = judges
        .iter()
        .map(|judge| match progress(guide, state, judge, watch, now)? {
            Progress::Enough(judgement) => judgement.finding().map(|finding| finding.id.clone()),
            _ => None,
        })
        .collect();
    let doubtful = |judge| confirm::doubtful_in_series(guide, state, judge, watch).is_some();
    findings.filter(|_| began_here && !judges.is_empty() && !judges.iter().any(doubtful))
}

/// What a watch whose time is up still needs, where that is not said by the step that follows at
/// once. Values of an earlier visit are not enough: silence confirms nothing.
pub(in crate::session) fn missing(turn: &Turn) -> Option<Missing> {
    let (watch, StepKind::Watch { .. }) = turn.here()? else {
        return None;
    };
    match turn.state.series(&watch).first() {
        None => return Some(Missing::All),
        Some(first) if first.visit != turn.state.visit => return Some(Missing::Kept),
        Some(_) => {}
    }
    let ends = turn.state.timer.as_ref()?.ends;
    let judges = judges_of(turn.guide, &watch);
    if follows(turn.guide, &watch, judges.first()?) {
        return None;
    }
    judges.iter().find_map(
        |judge| match progress(turn.guide, &turn.state, judge, &watch, ends)? {
            Progress::TimeUp { missing } => of_series(&missing),
            _ => None,
        },
    )
}

/// What a series itself lacks; what other steps have yet to read is not its fault.
fn of_series(ask: &Ask) -> Option<Missing> {
    match ask {
        Ask::MoreReadings { .. } | Ask::Numbers { .. } => Some(diagnose::missing(ask)),
        _ => None,
    }
}

fn progress(
    guide: &Guide,
    state: &State,
    judge: &Position,
    watch: &Position,
    now: Ms,
) -> Option<Progress> {
    let timer = state.timer.as_ref()?;
    let series = state.series(watch);
    let began = series.first()?.at;
    let (now, ends) = (now.saturating_sub(began), timer.ends.saturating_sub(began));
    diagnose::with_table(guide, state, judge, &series, |series, table| {
        diagnosis::progress(series, table, now, ends)
    })
}

/// The diagnose steps over a watch.
fn judges_of(guide: &Guide, watch: &Position) -> Vec<Position> {
    let procedure = guide.library.get(&watch.procedure);
    let steps = procedure.map_or(&[][..], |p| p.steps.as_slice());
    let judges = steps
        .iter()
        .filter(|step| matches!(&step.kind, StepKind::Diagnose { of, .. } if *of == watch.step));
    judges
        .map(|step| Position {
            procedure: watch.procedure.clone(),
            step: step.id.clone(),
        })
        .collect()
}

/// Whether a step stands right after another one.
fn follows(guide: &Guide, first: &Position, second: &Position) -> bool {
    let procedure = guide.library.get(&first.procedure);
    let steps = procedure.map_or(&[][..], |p| p.steps.as_slice());
    steps
        .windows(2)
        .any(|two| two[0].id == first.step && two[1].id == second.step)
}

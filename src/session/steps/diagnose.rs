//! The findings of a diagnose step: reached, equal, or not yet to be told; and the technician's
//! word over them.

use indexmap::IndexMap;

use crate::diagnosis::{self, Ask, Judged, Judgement, Series, Table, Verdict};
use crate::procedure::{FindingId, FindingRow, LeadsTo, StepId, StepKind};
use crate::quantity::{Amount, Base, Reading, Unit};
use crate::session::confirm;
use crate::session::decide::flow;
use crate::session::decide::turn::Turn;
use crate::session::event::Event;
use crate::session::guide::Guide;
use crate::session::parts::*;
use crate::session::state::{KeptReading, KeptVerdict, Standing, State};
use crate::session::values;

/// The id under which the wish for another finding is listened for.
pub(in crate::session) const OVERRIDE: &str = "override";

/// What a finding is listened for by, counted from 1 in the order offered.
pub(in crate::session) fn finding_choice(number: usize) -> String {
    format!("finding_{number}")
}

/// Judges the series under the current diagnose step, unless a value in it must be affirmed first.
pub(in crate::session) fn judge(turn: &mut Turn) {
    let Some((here, StepKind::Diagnose { of, findings })) = turn.here() else {
        return;
    };
    let of = Position {
        procedure: here.procedure.clone(),
        step: of.clone(),
    };
    let doubtful = confirm::doubtful_in_series(turn.guide, &turn.state, &here, &of);
    let doubtful = doubtful.or_else(|| confirm::doubtful(turn.guide, &turn.state, &here));
    if let Some((id, why)) = doubtful {
        return turn.record(Event::ConfirmationAsked { id, why });
    }
    let series = turn.state.series(&of);
    let judgement = judgement(turn.guide, &turn.state, &here, &series);
    if let Some((id, why)) = judgement.as_ref().and_then(|j| odd_one(&series, j)) {
        return turn.record(Event::ConfirmationAsked { id, why });
    }
    let event = match judgement {
        Some(judgement) => told(turn, here, findings, &judgement),
        None => Event::Undetermined {
            missing: match turn.guide.step(&of).map(|s| &s.kind) {
                Some(StepKind::Watch { .. }) => Missing::All,
                _ => Missing::Step { step: of.step },
            },
            why: nothing_read(turn, &here),
            step: here,
        },
    };
    turn.record(event);
}

/// The value that stands in the way of a finding and that nobody affirmed yet.
fn odd_one(series: &[&KeptReading], judgement: &Judgement) -> Option<(ReadingId, Consequence)> {
    let Verdict::Undetermined(Ask::Confirm(odd)) = &judgement.verdict else {
        return None;
    };
    let kept = series.get(odd.reading)?;
    let other = Reading {
        amount: Amount::Exact(odd.expected),
        unit: judgement.unit,
    };
    let open = kept.standing != Standing::Confirmed;
    open.then_some((
        kept.id,
        Consequence::Finding {
            other,
            finding: None,
        },
    ))
}

fn nothing_read(turn: &Turn, here: &Position) -> Evidence {
    let unit = series_unit(turn.guide, here).unwrap_or(Base::Count.into());
    Evidence {
        unit,
        behavior: None,
        readings: 0,
        level: None,
        first_peak: None,
        slope_per_min: None,
        between: None,
        set_aside: None,
    }
}

fn series_unit(guide: &Guide, diagnose_step: &Position) -> Option<Unit> {
    let StepKind::Diagnose { of, .. } = &guide.step(diagnose_step)?.kind else {
        return None;
    };
    let of = Position {
        procedure: diagnose_step.procedure.clone(),
        step: of.clone(),
    };
    let (StepKind::Watch { quantity, .. }
    | StepKind::Read { quantity, .. }
    | StepKind::Compute { quantity, .. }) = &guide.step(&of)?.kind
    else {
        return None;
    };
    Some(guide.quantity(&of, quantity)?.unit)
}

/// The findings a series leads to: one, several equal ones, or none.
pub(in crate::session) fn finding_of(
    guide: &Guide,
    state: &State,
    diagnose_step: &Position,
    series: &[&KeptReading],
) -> Option<Vec<FindingId>> {
    let judgement = judgement(guide, state, diagnose_step, series)?;
    Some(match judgement.verdict {
        Verdict::Finding(finding) => vec![finding.id],
        Verdict::Equal(ids) => ids,
        Verdict::Undetermined(_) => Vec::new(),
    })
}

fn judgement(
    guide: &Guide,
    state: &State,
    diagnose_step: &Position,
    readings: &[&KeptReading],
) -> Option<Judgement> {
    with_table(guide, state, diagnose_step, readings, diagnosis::judge)
}

/// Looks at a series in the light of a diagnose step's table; `None` where nothing was read.
pub(in crate::session) fn with_table<T>(
    guide: &Guide,
    state: &State,
    diagnose_step: &Position,
    readings: &[&KeptReading],
    look: impl FnOnce(&Series, &Table) -> T,
) -> Option<T> {
    let StepKind::Diagnose { findings, .. } = &guide.step(diagnose_step)?.kind else {
        return None;
    };
    let first = readings.first()?;
    let quantity = guide.quantity(&first.step, &first.quantity)?;
    let series = series_of(guide, readings, quantity.unit)?;
    let table = Table {
        quantity,
        findings,
        variant: &guide.variant(state),
        others: &conditions(guide, state, diagnose_step, findings),
    };
    Some(look(&series, &table))
}

/// A watch is judged over time, any other step by its one value.
fn series_of(guide: &Guide, readings: &[&KeptReading], unit: Unit) -> Option<Series> {
    let (first, last) = (readings.first()?, readings.last()?);
    let over_time = matches!(
        guide.step(&first.step).map(|s| &s.kind),
        Some(StepKind::Watch { .. })
    );
    if !over_time {
        return Some(Series::once(last.reading.convert(unit).ok()?));
    }
    let mut series = Series::new(unit);
    for kept in readings {
        let reading = kept.reading.convert(unit).ok()?;
        series
            .give(kept.at.saturating_sub(first.at), reading)
            .ok()?;
        if kept.withdrawn() {
            series.withdraw(series.samples().len() - 1);
        }
    }
    Some(series)
}

/// The readings of other steps that the table asks for.
fn conditions(
    guide: &Guide,
    state: &State,
    diagnose_step: &Position,
    findings: &[FindingRow],
) -> IndexMap<StepId, Judged> {
    let asked = findings.iter().flat_map(|row| &row.readings);
    let read = asked.filter_map(|condition| {
        let step = Position {
            procedure: diagnose_step.procedure.clone(),
            step: condition.step.clone(),
        };
        let judged = values::judged_step(guide, state, &step)?;
        Some((condition.step.clone(), judged))
    });
    read.collect()
}

fn told(turn: &Turn, step: Position, findings: &[FindingRow], judgement: &Judgement) -> Event {
    let why = evidence(judgement);
    match &judgement.verdict {
        Verdict::Finding(finding) => Event::FindingReached {
            step,
            finding: finding.id.clone(),
            say: said(turn, findings, &finding.id),
            why,
            margin: finding.runner_up.as_ref().map(|r| r.margin),
            runner_up: finding.runner_up.as_ref().map(|r| r.id.clone()),
        },
        Verdict::Equal(ids) => Event::FindingsEqual {
            step,
            findings: ids.clone(),
            why,
        },
        Verdict::Undetermined(ask) => Event::Undetermined {
            step,
            why,
            missing: missing(ask),
        },
    }
}

fn said(turn: &Turn, findings: &[FindingRow], id: &FindingId) -> String {
    let row = findings.iter().find(|row| row.id == *id);
    row.map(|row| turn.guide.text(&turn.state, &row.say).written.clone())
        .unwrap_or_default()
}

fn evidence(judgement: &Judgement) -> Evidence {
    let behavior = &judgement.behavior;
    Evidence {
        unit: judgement.unit,
        behavior: behavior.kind(),
        readings: behavior.readings,
        level: behavior.level,
        first_peak: behavior.peak.map(|p| p.value),
        slope_per_min: behavior.slope_per_min,
        between: behavior.between,
        set_aside: behavior.set_aside.first().map(|odd| odd.value),
    }
}

pub(in crate::session) fn missing(ask: &Ask) -> Missing {
    match ask {
        Ask::MoreReadings { more } => Missing::Readings { more: *more },
        Ask::Confirm { .. } => Missing::Readings { more: 1 },
        Ask::Reading { step } => Missing::Step { step: step.clone() },
        Ask::Numbers { .. } => Missing::Numbers,
        Ask::FirstPeak { id, .. } => Missing::Finding {
            nearest: Some(id.clone()),
        },
        Ask::NoFinding { nearest } => Missing::Finding {
            nearest: nearest.as_ref().map(|n| n.id.clone()),
        },
    }
}

/// The findings that are offered by number: the equal ones, else all of the variant.
pub(in crate::session) fn offered<'a>(
    guide: &Guide,
    state: &State,
    findings: &'a [FindingRow],
) -> Vec<&'a FindingRow> {
    let variant = guide.variant(state);
    let applies = |row: &&FindingRow| row.only.as_ref().is_none_or(|o| o.contains(&variant));
    let equal = |row: &&FindingRow| match &state.verdict {
        Some(KeptVerdict::Equal(ids)) => ids.contains(&row.id),
        _ => true,
    };
    findings.iter().filter(applies).filter(equal).collect()
}

/// A phrase of the diagnose step: the wish for another finding, or one by its number.
pub(in crate::session) fn choice(turn: &mut Turn, id: &str, findings: &[FindingRow]) {
    if id == OVERRIDE {
        return turn.record(Event::OverrideAsked {});
    }
    let offered = offered(turn.guide, &turn.state, findings);
    let chosen = (1..).zip(offered).find(|(n, _)| finding_choice(*n) == id);
    let Some((_, row)) = chosen else {
        return turn.decline(Decline::NotHere);
    };
    match turn.state.verdict {
        Some(KeptVerdict::Finding(_)) | None => turn.decline(Decline::NotHere),
        _ => turn.record(Event::OverrideChosen {
            finding: row.id.clone(),
        }),
    }
}

/// The reason for another finding was given.
pub(in crate::session) fn overridden(turn: &mut Turn, to: FindingId, reason: Said) {
    let Some((step, _)) = turn.here() else { return };
    let from = match &turn.state.verdict {
        Some(KeptVerdict::Finding(finding)) => Some(finding.clone()),
        _ => None,
    };
    turn.record(Event::Overridden {
        step,
        from,
        to,
        reason,
    });
    go_on(turn);
}

/// On to what the finding leads to.
pub(in crate::session) fn go_on(turn: &mut Turn) {
    let Some((_, StepKind::Diagnose { findings, .. })) = turn.here() else {
        return;
    };
    let Some(KeptVerdict::Finding(id)) = &turn.state.verdict else {
        return turn.decline(Decline::FindingNeeded);
    };
    let Some(row) = findings.iter().find(|row| row.id == *id) else {
        return;
    };
    match &row.leads_to {
        LeadsTo::Next => flow::leave(turn),
        LeadsTo::GoTo(step) => flow::leave_to(turn, step),
        LeadsTo::Call(procedure) => flow::leave_into(turn, procedure),
        LeadsTo::Finish(conclusion) => flow::end_with(turn, row, conclusion),
    }
}

//! Confirmation by consequence: what would a mistake change?
//!
//! Every reading is read back. It is asked about, and waits for "affirm" or a correction, where it
//! proves a hold point, where it lies outside what is plausible, and where one of the values it may
//! have been instead (another hypothesis of the recognizer, or a classic confusion) would lead to
//! another step, to the other side of a limit, or to another finding.
//!
//! Whoever is asked about everything soon affirms everything, so only likely mistakes count. As
//! classic confusions count the ones that keep the number of digits: teens for tens, five for nine,
//! a lost point. A lost digit is rare, and reading back shows it by its length; it is suspected only
//! of a value that is not usual here and would be with one digit more, such as two four where the
//! limits are 210 to 270. Usual is what lies inside the limits, or without limits what leads to no
//! branch. In a watch a lost digit also stands out from the values around it. A hypothesis of the
//! recognizer counts whatever its digits.

pub(in crate::session) mod confusions;

use crate::diagnosis::{self, Judged};
use crate::procedure::{BranchWhen, FindingId, QuantityDefinition, QuantityId, StepKind};
use crate::quantity::{Amount, Reading};
use crate::session::guide::Guide;
use crate::session::parts::*;
use crate::session::state::{KeptReading, Standing, State};
use crate::session::steps::diagnose;
use crate::session::steps::read::{self, Fresh};
use crate::session::values;

/// Why a value of a read step must be asked about; `None` where reading it back is enough.
pub(in crate::session) fn consequence(
    guide: &Guide,
    state: &State,
    fresh: &Fresh,
) -> Option<Consequence> {
    let definition = guide.quantity(&fresh.step, &fresh.quantity)?;
    if !plausible(definition, &fresh.reading) {
        return Some(Consequence::Implausible);
    }
    let value = Value {
        step: &fresh.step,
        quantity: &fresh.quantity,
        definition,
        reading: &fresh.reading,
        others: &fresh.others,
    };
    alternatives(guide, state, &value)
        .into_iter()
        .find_map(|other| difference(guide, state, fresh, definition, other))
}

/// Whether a value lies in the plausible range of its quantity. What has no number is judged by
/// the step, not by the range.
pub(in crate::session) fn plausible(definition: &QuantityDefinition, reading: &Reading) -> bool {
    let Ok(converted) = reading.convert(definition.unit) else {
        return false;
    };
    diagnosis::condition::ends(converted.amount).is_none_or(|(low, high)| {
        definition.plausible.contains(low) && definition.plausible.contains(high)
    })
}

/// A value with where it was asked for.
struct Value<'a> {
    step: &'a Position,
    quantity: &'a QuantityId,
    definition: &'a QuantityDefinition,
    reading: &'a Reading,
    others: &'a [Reading],
}

/// What a value may have been instead: the recognizer's other hypotheses, then the classic
/// confusions that are plausible here. Each once, never the value itself.
fn alternatives(guide: &Guide, state: &State, value: &Value) -> Vec<Reading> {
    let (amount, unit) = (value.reading.amount, value.reading.unit);
    let resolution = value.definition.resolution;
    let reading = |amount| Reading { amount, unit };
    let confused = guide.confusions.of(amount, resolution);
    let confused = confused.into_iter().map(reading);
    let longer = match usual(guide, state, value, value.reading) {
        true => Vec::new(),
        false => guide.confusions.with_lost_digit(amount, resolution),
    };
    let longer = longer.into_iter().map(reading);
    let longer = longer.filter(|other| usual(guide, state, value, other));
    let doubts = confused.chain(longer);
    let doubts = doubts.filter(|other| plausible(value.definition, other));
    let mut alternatives: Vec<Reading> = Vec::new();
    for other in value.others.iter().copied().chain(doubts) {
        if other != *value.reading && !alternatives.contains(&other) {
            alternatives.push(other);
        }
    }
    alternatives
}

/// Whether a reading in place of the value would be nothing out of the ordinary: inside the limits,
/// or without limits, leading to no branch.
fn usual(guide: &Guide, state: &State, value: &Value, reading: &Reading) -> bool {
    let Some(judged) = values::judged(guide, state, value.definition, reading) else {
        return false;
    };
    if judged.limits.is_some() {
        return diagnosis::holds(BranchWhen::Inside, &judged);
    }
    match guide.step(value.step).map(|s| &s.kind) {
        Some(StepKind::Read { branches, .. }) => {
            let (step, quantity) = (value.step, value.quantity);
            read::target(guide, state, step, quantity, branches, reading).is_none()
        }
        _ => true,
    }
}

/// What would be different had the other value been given.
pub(in crate::session) fn difference_to(
    guide: &Guide,
    state: &State,
    fresh: &Fresh,
    other: Reading,
) -> Option<Consequence> {
    let definition = guide.quantity(&fresh.step, &fresh.quantity)?;
    difference(guide, state, fresh, definition, other)
}

fn difference(
    guide: &Guide,
    state: &State,
    fresh: &Fresh,
    definition: &QuantityDefinition,
    other: Reading,
) -> Option<Consequence> {
    let taken = values::judged(guide, state, definition, &fresh.reading)?;
    let instead = values::judged(guide, state, definition, &other)?;
    if let Some(StepKind::Read { branches, .. }) = guide.step(&fresh.step).map(|s| &s.kind) {
        let leads = |reading: &Reading| {
            read::target(
                guide,
                state,
                &fresh.step,
                &fresh.quantity,
                branches,
                reading,
            )
        };
        if leads(&fresh.reading) != leads(&other) {
            return Some(Consequence::Branch { other });
        }
    }
    if verdict(&taken) != verdict(&instead) {
        return Some(Consequence::Limit { other });
    }
    let finding = other_finding(guide, fresh, &taken, &instead)?;
    Some(Consequence::Finding {
        other,
        finding: Some(finding),
    })
}

/// On which side of its limits a value lies.
fn verdict(judged: &Judged) -> [bool; 3] {
    [
        diagnosis::holds(BranchWhen::Inside, judged),
        diagnosis::holds(BranchWhen::BelowLimits, judged),
        diagnosis::holds(BranchWhen::AboveLimits, judged),
    ]
}

/// A finding of a later diagnose step that holds with one of the two values and not the other.
fn other_finding(
    guide: &Guide,
    fresh: &Fresh,
    taken: &Judged,
    instead: &Judged,
) -> Option<FindingId> {
    let procedure = guide.library.get(&fresh.step.procedure)?;
    let rows = procedure.steps.iter().flat_map(|step| match &step.kind {
        StepKind::Diagnose { findings, .. } => findings.as_slice(),
        _ => &[],
    });
    let decides = |condition: &crate::procedure::ReadingCondition| {
        condition.step == fresh.step.step
            && diagnosis::holds(condition.when, taken) != diagnosis::holds(condition.when, instead)
    };
    rows.into_iter()
        .find(|row| row.readings.iter().any(decides))
        .map(|row| row.id.clone())
}

/// A value of the series under a diagnose step that nobody affirmed and whose other meaning would
/// lead to another finding. One that would lead to none is no danger: more readings are asked for.
pub(in crate::session) fn doubtful_in_series(
    guide: &Guide,
    state: &State,
    diagnose_step: &Position,
    of: &Position,
) -> Option<(ReadingId, Consequence)> {
    let series = state.series(of);
    let verdict = diagnose::finding_of(guide, state, diagnose_step, &series)?;
    if verdict.is_empty() {
        return None;
    }
    let open = |kept: &&&KeptReading| kept.standing == Standing::ReadBack && !kept.computed;
    series.iter().filter(open).find_map(|kept| {
        let definition = guide.quantity(of, &kept.quantity)?;
        let value = Value {
            step: of,
            quantity: &kept.quantity,
            definition,
            reading: &kept.reading,
            others: &kept.others,
        };
        alternatives(guide, state, &value)
            .into_iter()
            .find_map(|other| {
                let changed = with_other(&series, kept.id, other);
                let changed: Vec<&KeptReading> = changed.iter().collect();
                let instead = diagnose::finding_of(guide, state, diagnose_step, &changed)?;
                (!instead.is_empty() && instead != verdict).then_some((
                    kept.id,
                    Consequence::Finding {
                        other,
                        finding: instead.first().cloned(),
                    },
                ))
            })
    })
}

fn with_other(series: &[&KeptReading], id: ReadingId, other: Reading) -> Vec<KeptReading> {
    let mut changed: Vec<KeptReading> = series.iter().map(|r| (*r).clone()).collect();
    if let Some(kept) = changed.iter_mut().find(|r| r.id == id) {
        kept.reading = other;
    }
    changed
}

/// The value to offer after "negative": the best other hypothesis, else nothing. Confusions are
/// for doubting, not for guessing.
pub(in crate::session) fn runner_up(kept: &KeptReading) -> Option<(Reading, Vec<Reading>)> {
    let (first, rest) = kept.others.split_first()?;
    let number = !matches!(first.amount, Amount::None);
    number.then(|| (*first, rest.to_vec()))
}

//! Confirmation by consequence: what would a mistake change?
//!
//! Every reading is read back. It is asked about, and waits for "affirm" or a correction, where it
//! proves a hold point, where it lies outside what is plausible, and where one of the values it may
//! have been instead (another hypothesis of the recognizer, or a classic confusion) would lead to
//! another step, to the other side of a limit, or to another finding. A value without a number, such
//! as "over range", has nothing that it is confused with and nothing to compare it by: it is asked
//! about wherever something follows from it.
//!
//! Whoever is asked about everything soon affirms everything, so only likely mistakes count. As
//! classic confusions count the ones that keep the number of digits: teens for tens, five for nine,
//! a lost point. A lost digit is rare, and reading back shows it by its length; it is suspected only
//! of a value that is not usual here and would be with one digit more, such as two four where the
//! limits are 210 to 270. Usual is what lies inside the limits, or without limits what leads to no
//! branch. In a watch a lost digit also stands out from the values around it. A hypothesis of the
//! recognizer counts whatever its digits.

pub(in crate::session) mod confusions;
mod doubtful;
mod series;

pub(in crate::session) use doubtful::{doubtful, doubtful_after};
pub(in crate::session) use series::doubtful_in_series;

use crate::diagnosis::{self, Judged};
use crate::procedure::{
    BranchWhen, FindingId, QuantityDefinition, QuantityId, ReadingCondition, StepId, StepKind,
};
use crate::quantity::{Amount, Reading};
use crate::session::guide::Guide;
use crate::session::parts::*;
use crate::session::state::{KeptReading, State};
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
        typed: fresh.typed,
    };
    alternatives(guide, state, &value)
        .into_iter()
        .find_map(|other| difference(guide, state, fresh, definition, other))
        .or_else(|| decides_without_number(guide, state, fresh, definition))
}

/// Whether a branch or a finding follows from a value that shows no number.
fn decides_without_number(
    guide: &Guide,
    state: &State,
    fresh: &Fresh,
    definition: &QuantityDefinition,
) -> Option<Consequence> {
    if fresh.typed {
        return None;
    }
    let judged = values::judged(guide, state, definition, &fresh.reading)?;
    let numberless = diagnosis::condition::ends(judged.amount).is_none();
    let holds = |condition: &ReadingCondition| diagnosis::holds(condition.when, &judged);
    let decides = leads(guide, state, fresh, &fresh.reading).is_some()
        || row_with(guide, &fresh.step, holds).is_some();
    (numberless && decides).then_some(Consequence::NoNumber)
}

/// The step a value of a read step leads to, where that is not the next one.
fn leads(guide: &Guide, state: &State, fresh: &Fresh, reading: &Reading) -> Option<StepId> {
    match guide.step(&fresh.step).map(|s| &s.kind) {
        Some(StepKind::Read { branches, .. }) => {
            let (step, quantity) = (&fresh.step, &fresh.quantity);
            read::target(guide, state, step, quantity, branches, reading)
        }
        _ => None,
    }
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
    typed: bool,
}

impl<'a> Value<'a> {
    fn of_kept(guide: &'a Guide, kept: &'a KeptReading) -> Option<Value<'a>> {
        Some(Value {
            step: &kept.step,
            quantity: &kept.quantity,
            definition: guide.quantity(&kept.step, &kept.quantity)?,
            reading: &kept.reading,
            others: &kept.others,
            typed: kept.typed,
        })
    }
}

/// What a value may have been instead: the recognizer's other hypotheses, then the classic
/// confusions that are plausible here. Each once, never the value itself. A typed value is no other.
fn alternatives(guide: &Guide, state: &State, value: &Value) -> Vec<Reading> {
    if value.typed {
        return Vec::new();
    }
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
    let leads = |reading| leads(guide, state, fresh, reading);
    if leads(&fresh.reading) != leads(&other) {
        return Some(Consequence::Branch { other });
    }
    if verdict(&taken) != verdict(&instead) {
        return Some(Consequence::Limit { other });
    }
    let finding = other_finding(guide, &fresh.step, &taken, &instead)?;
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
    step: &Position,
    taken: &Judged,
    instead: &Judged,
) -> Option<FindingId> {
    row_with(guide, step, |condition| {
        diagnosis::holds(condition.when, taken) != diagnosis::holds(condition.when, instead)
    })
}

/// The first finding with such a condition on the value of a step.
fn row_with(
    guide: &Guide,
    step: &Position,
    such: impl Fn(&ReadingCondition) -> bool,
) -> Option<FindingId> {
    let procedure = guide.library.get(&step.procedure)?;
    let rows = procedure.steps.iter().flat_map(|step| match &step.kind {
        StepKind::Diagnose { findings, .. } => findings.as_slice(),
        _ => &[],
    });
    let of_step = |condition: &ReadingCondition| condition.step == step.step && such(condition);
    rows.into_iter()
        .find(|row| row.readings.iter().any(of_step))
        .map(|row| row.id.clone())
}

/// The value to offer after "negative": the best other hypothesis, else nothing. Confusions are
/// for doubting, not for guessing.
pub(in crate::session) fn runner_up(kept: &KeptReading) -> Option<Reading> {
    let first = kept.others.first()?;
    (!matches!(first.amount, Amount::None)).then_some(*first)
}

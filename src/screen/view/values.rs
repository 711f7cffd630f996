//! The value that was read last, and the time that runs.

use serde::Serialize;

use super::written;
use crate::diagnosis::{Judged, holds};
use crate::procedure::{BranchWhen, StepKind};
use crate::quantity::Reading;
use crate::session::{
    Asking, EntryQuestion, Guide, KeptReading, KeptSupply, Ms, Phase, Standing, State, Supply,
};

/// A value as it was read back.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Value {
    /// What was read: "load count".
    pub name: String,
    /// Every digit as given, or a meter's own words.
    pub number: String,
    pub unit: String,
    pub standing: Shown,
    /// Outside the limits for the unit.
    pub side: Option<Side>,
    /// The limits, where there are some.
    pub limits: String,
}

/// How sure a value is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Shown {
    /// Taken, and not yet read back.
    Given,
    ReadBack,
    /// Waits for "affirm".
    Asked,
    Confirmed,
    Withdrawn,
    /// Worked out from others.
    Computed,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Side {
    Below,
    Above,
}

/// A timer by the session's clock.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Timer {
    pub started_ms: Ms,
    pub ends_ms: Ms,
    /// Something is to be done before its end; without that the time only has to pass.
    pub deadline: bool,
    pub ended: bool,
}

pub(super) fn timer(state: &State) -> Option<Timer> {
    let timer = state.timer.as_ref()?;
    Some(Timer {
        started_ms: timer.started,
        ends_ms: timer.ends,
        deadline: timer.deadline,
        ended: timer.ended,
    })
}

/// The value the session is about: one that is asked about, or the last of the step worked on.
pub(super) fn value(guide: &Guide, state: &State) -> Option<Value> {
    if let Phase::Entry(question) = &state.phase {
        return of_entry(state, question);
    }
    let asked = match &state.asking {
        Some(Asking::Confirmation(id)) => state.reading(*id),
        _ => None,
    };
    let here = state.position.as_ref();
    let last_here = || {
        let mut newest_first = state.readings.iter().rev();
        newest_first.find(|kept| Some(&kept.step) == here && kept.visit == state.visit)
    };
    let watched = || {
        let here = here?;
        match &guide.step(here)?.kind {
            StepKind::Diagnose { of, .. } => {
                let mut of_step = here.clone();
                of_step.step = of.clone();
                state.series(&of_step).last().copied()
            }
            _ => None,
        }
    };
    let kept = asked.or_else(last_here).or_else(watched)?;
    Some(of_reading(guide, state, kept))
}

fn of_reading(guide: &Guide, state: &State, kept: &KeptReading) -> Value {
    let definition = guide.quantity(&kept.step, &kept.quantity);
    let limits = definition.and_then(|definition| guide.limits(state, definition));
    let in_unit = definition.and_then(|definition| kept.reading.convert(definition.unit).ok());
    let judged = in_unit.map(|reading| Judged {
        amount: reading.amount,
        limits,
    });
    let side = judged.filter(|judged| judged.limits.is_some());
    let (number, unit) = written::reading(&kept.reading);
    let limits = definition.and_then(|d| Some(written::range(&limits?, d.unit)));
    Value {
        name: definition.map_or_else(String::new, |definition| definition.name.clone()),
        number,
        unit,
        standing: standing(kept),
        side: side.and_then(|judged| {
            let below = holds(BranchWhen::BelowLimits, &judged).then_some(Side::Below);
            below.or_else(|| holds(BranchWhen::AboveLimits, &judged).then_some(Side::Above))
        }),
        limits: limits.unwrap_or_default(),
    }
}

fn standing(kept: &KeptReading) -> Shown {
    match kept.standing {
        Standing::Withdrawn(_) => Shown::Withdrawn,
        _ if kept.computed => Shown::Computed,
        Standing::Given => Shown::Given,
        Standing::ReadBack => Shown::ReadBack,
        Standing::Asked => Shown::Asked,
        Standing::Confirmed => Shown::Confirmed,
    }
}

/// Serial number and supply while they are asked about.
fn of_entry(state: &State, question: &EntryQuestion) -> Option<Value> {
    match question {
        EntryQuestion::SerialConfirmation => Some(asked(
            "serial number",
            state.job.serial.clone()?,
            String::new(),
        )),
        EntryQuestion::SupplyConfirmation(Supply::Voltage) => {
            supply("supply voltage", &state.job.voltage)
        }
        EntryQuestion::SupplyConfirmation(Supply::Frequency) => {
            supply("supply frequency", &state.job.frequency)
        }
        _ => None,
    }
}

fn supply(name: &str, kept: &Option<KeptSupply>) -> Option<Value> {
    let reading: Reading = kept.as_ref()?.reading;
    let (number, unit) = written::reading(&reading);
    Some(asked(name, number, unit))
}

fn asked(name: &str, number: String, unit: String) -> Value {
    Value {
        name: name.to_owned(),
        number,
        unit,
        standing: Shown::Asked,
        side: None,
        limits: String::new(),
    }
}

//! A value worked out from earlier readings: kept and judged as if it had been read.

use super::read::{self, Fresh};
use crate::measure;
use crate::procedure::{ComputeInput, StepKind};
use crate::quantity::{Amount, Quantity, Reading};
use crate::session::confirm;
use crate::session::decide::flow;
use crate::session::decide::turn::Turn;
use crate::session::event::Event;
use crate::session::guide::Guide;
use crate::session::parts::*;
use crate::session::state::State;

/// Works out the value of the current compute step and goes on by it, unless a value it rests on
/// must be affirmed first; where it cannot be worked out, says so and waits.
pub(in crate::session) fn work_out(turn: &mut Turn) {
    let Some((
        step,
        StepKind::Compute {
            quantity, branches, ..
        },
    )) = turn.here()
    else {
        return;
    };
    if let Some((id, why)) = confirm::doubtful(turn.guide, &turn.state, &step) {
        return turn.record(Event::ConfirmationAsked { id, why });
    }
    let (reading, outcome) = match worked_out(turn.guide, &turn.state, &step) {
        Ok(worked_out) => worked_out,
        Err(why) => return turn.record(Event::NotComputed { step, why }),
    };
    let id = read::give(
        turn,
        Fresh {
            step: step.clone(),
            visit: turn.state.visit,
            quantity: quantity.clone(),
            reading,
            at: turn.now,
            others: Vec::new(),
            replaces: None,
            proof: None,
            typed: false,
        },
    );
    turn.record(Event::Computed {
        id,
        source: outcome.source.to_owned(),
        remark: outcome.remark.map(str::to_owned),
    });
    let state = &turn.state;
    match read::target(turn.guide, state, &step, quantity, branches, &reading) {
        Some(to) => flow::leave_to(turn, &to),
        None => flow::leave(turn),
    }
}

/// The result in the unit of the step's quantity, or why there is none.
pub(in crate::session) fn worked_out(
    guide: &Guide,
    state: &State,
    step: &Position,
) -> Result<(Reading, measure::Outcome), String> {
    let Some(StepKind::Compute {
        measure,
        inputs,
        quantity,
        ..
    }) = guide.step(step).map(|s| &s.kind)
    else {
        return Err("this step computes nothing".to_owned());
    };
    let variant = guide.variant(state);
    let mut given: Vec<(&str, Quantity)> = Vec::new();
    let mut choices: Vec<(&str, &str)> = Vec::new();
    for (name, input) in inputs {
        match input {
            ComputeInput::Reading(of) => {
                let of = Position {
                    procedure: step.procedure.clone(),
                    step: of.clone(),
                };
                given.push((name, number_of(state, &of)?));
            }
            ComputeInput::Fixed(value) => given.push((name, *value.get(&variant))),
            ComputeInput::Choice(choice) => choices.push((name, choice.get(&variant))),
        }
    }
    let outcome = measure::compute(measure, &given, &choices).map_err(|e| e.to_string())?;
    let definition = guide.quantity(step, quantity);
    let unit = definition.map_or(outcome.value.unit, |d| d.unit);
    let value = outcome.in_unit(unit).map_err(|e| e.to_string())?;
    let reading = Reading {
        amount: Amount::Exact(value.value),
        unit,
    };
    Ok((reading, outcome))
}

/// The number that an earlier step gave.
fn number_of(state: &State, step: &Position) -> Result<Quantity, String> {
    let series = state.series(step);
    let Some(kept) = series.last() else {
        return Err(format!("step `{}` has no reading", step.step));
    };
    match kept.reading.amount {
        Amount::Exact(value) | Amount::About(value) => Ok(Quantity {
            value,
            unit: kept.reading.unit,
        }),
        _ => Err(format!(
            "the reading of step `{}` has no single number",
            step.step
        )),
    }
}

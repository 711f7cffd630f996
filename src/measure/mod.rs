//! The trade's formulas, by names that a procedure's compute step can use.
//!
//! [`compute`] takes earlier readings by the names of the formula's inputs, in any unit of the
//! right dimension, and gives the result in the unit of the [`catalog`], rounded to what the inputs
//! justify, with the source of the formula. What cannot be computed is refused with a reason.
//!
//! Resolution: each measured input is moved by one step of its last place; the result keeps the
//! fewest decimals whose last place is not coarser than the largest change that makes, and never
//! more than the formula is good for. Formulas are worked in binary floats; the result is rounded
//! to a decimal once, at the end.

mod computation;
mod given;
mod refusal;
mod request;
mod resolution;

mod capacitor;
mod current_loop;
mod heater;
mod insulation;
mod motor;
mod ntc;
mod pt100;
mod pump;
mod refrigerant;
mod saturation;
mod supply;
mod thermocouple;
mod thermocouple_curves;
mod unbalance;
mod winding;

pub use computation::{Choice, Computation, Input, Measured, Within};
pub use refusal::Refusal;

use crate::quantity::{ConversionError, Decimal, Quantity, Unit};
use given::Given;
use request::Request;

/// What a computation came to.
#[derive(Debug, Clone, PartialEq)]
pub struct Outcome {
    /// With the resolution that the inputs justify.
    pub value: Quantity,
    /// Where the formula is published.
    pub source: &'static str,
    /// What to know before relying on it.
    pub remark: Option<&'static str>,
}

impl Outcome {
    /// The value in another unit of its dimension.
    ///
    /// # Errors
    /// As [`Quantity::convert`].
    pub fn in_unit(&self, unit: Unit) -> Result<Quantity, ConversionError> {
        self.value.convert(unit)
    }
}

/// Every computation, by subject.
pub fn catalog() -> impl Iterator<Item = &'static Computation> {
    let subjects: [&'static [Computation]; 12] = [
        pt100::COMPUTATIONS,
        thermocouple::COMPUTATIONS,
        ntc::COMPUTATIONS,
        winding::COMPUTATIONS,
        insulation::COMPUTATIONS,
        unbalance::COMPUTATIONS,
        supply::COMPUTATIONS,
        motor::COMPUTATIONS,
        heater::COMPUTATIONS,
        capacitor::COMPUTATIONS,
        pump::COMPUTATIONS,
        refrigerant::COMPUTATIONS,
    ];
    let subjects = subjects.into_iter().flatten();
    subjects.chain(current_loop::COMPUTATIONS)
}

/// The computation of this name.
///
/// # Errors
/// [`Refusal::UnknownComputation`] with every name there is.
pub fn find(name: &str) -> Result<&'static Computation, Refusal> {
    let found = catalog().find(|computation| computation.name == name);
    found.ok_or_else(|| Refusal::UnknownComputation {
        found: name.to_owned(),
        expected: refusal::list(catalog().map(|computation| computation.name)),
    })
}

/// Whether a computation can be asked for with inputs in these units and these choices: for a
/// procedure, before anything is measured. Gives the unit of the result.
///
/// # Errors
/// A [`Refusal`] of an unknown, missing or repeated name, a wrong unit or a wrong choice.
pub fn check(
    name: &str,
    inputs: &[(&str, Unit)],
    choices: &[(&str, &str)],
) -> Result<Unit, Refusal> {
    Ok(Request::check(find(name)?, inputs, choices)?.result)
}

/// Works out a computation from earlier readings.
///
/// # Errors
/// Every [`Refusal`]: those of [`check`], inputs where the formula does not hold, results that do
/// not fit.
pub fn compute(
    name: &str,
    inputs: &[(&str, Quantity)],
    choices: &[(&str, &str)],
) -> Result<Outcome, Refusal> {
    let computation = find(name)?;
    let units: Vec<(&str, Unit)> = inputs.iter().map(|(name, q)| (*name, q.unit)).collect();
    let request = Request::check(computation, &units, choices)?;
    let given = Given::new(&request, inputs)?;
    let number = (computation.formula)(&given)?;
    let decimals = resolution::justified(computation, &given, number);
    let value = resolution::to_decimal(number, decimals).ok_or(Refusal::NoNumber {
        computation: computation.name,
    })?;
    Ok(Outcome {
        value: Quantity::new(value, request.result),
        source: computation.source,
        remark: remark(computation, value),
    })
}

/// Judged on the rounded value, so that what is remarked is what is shown.
fn remark(computation: &Computation, value: Decimal) -> Option<&'static str> {
    (computation.remark)(value.try_into().ok()?)
}

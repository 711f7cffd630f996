//! The values that a formula works with, checked and in its own units.

use super::computation::{Computation, Input};
use super::refusal::Refusal;
use super::request::Request;
use crate::quantity::{Quantity, Unit};

/// What a formula works with.
#[derive(Debug, Clone)]
pub(super) struct Given {
    computation: &'static Computation,
    values: Vec<Value>,
    choices: Vec<(&'static str, &'static str)>,
}

#[derive(Debug, Clone)]
struct Value {
    input: &'static Input,
    number: f64,
    /// What was read, and the unit that the formula takes it in; absent for a default.
    read: Option<(Quantity, Unit)>,
}

impl Given {
    /// The inputs are those that the request was checked with.
    pub(super) fn new(request: &Request, inputs: &[(&str, Quantity)]) -> Result<Given, Refusal> {
        let mut given = Given {
            computation: request.computation,
            values: Vec::new(),
            choices: request.choices.clone(),
        };
        for (input, unit) in &request.units {
            let found = inputs.iter().find(|(name, _)| *name == input.name);
            if let Some((_, quantity)) = found {
                given.take(input, *quantity, *unit)?;
            }
        }
        for input in request.computation.inputs {
            if let (Some(number), false) = (input.default, given.has(input.name)) {
                let read = None;
                given.values.push(Value {
                    input,
                    number,
                    read,
                });
            }
        }
        Ok(given)
    }

    fn take(&mut self, input: &'static Input, found: Quantity, unit: Unit) -> Result<(), Refusal> {
        let number = found.to_f64_in(unit)?;
        self.values.push(Value {
            input,
            number,
            read: Some((found, unit)),
        });
        match input.within.allows(number) {
            true => Ok(()),
            false => Err(self.out_of_range(
                input.name,
                format!("{} in `{unit}`", input.within),
                "measure it again or use another computation",
            )),
        }
    }

    fn value(&self, name: &str) -> Option<&Value> {
        self.values.iter().find(|value| value.input.name == name)
    }

    fn has(&self, name: &str) -> bool {
        self.value(name).is_some()
    }

    /// The value of an input, in its unit.
    pub(super) fn get(&self, name: &'static str) -> f64 {
        // The catalog's test asks every formula for all its names; a stray one gives no result.
        self.value(name).map_or(f64::NAN, |value| value.number)
    }

    /// The option taken of a choice.
    pub(super) fn choice(&self, name: &'static str) -> &'static str {
        let found = self.choices.iter().find(|(choice, _)| *choice == name);
        found.map_or("", |(_, option)| option)
    }

    /// The refusal of one input that lies where the formula does not hold.
    pub(super) fn out_of_range(
        &self,
        name: &'static str,
        expected: String,
        action: &'static str,
    ) -> Refusal {
        match self.value(name).and_then(|value| value.read) {
            Some((found, _)) => Refusal::OutOfRange {
                computation: self.computation.name,
                input: name,
                found,
                expected,
                action,
            },
            None => Refusal::NoNumber {
                computation: self.computation.name,
            },
        }
    }

    pub(super) fn meaningless(&self, why: &'static str, action: &'static str) -> Refusal {
        Refusal::Meaningless {
            computation: self.computation.name,
            why,
            action,
        }
    }

    /// For each measured input, the same inputs with it half a step lower and half a step higher.
    pub(super) fn half_steps(&self) -> Vec<[Given; 2]> {
        let numbered = self.values.iter().enumerate();
        let measured = numbered.filter(|(_, value)| !value.input.nominal);
        let steps = measured.filter_map(|(index, value)| {
            let half = value.step()? / 2.0;
            Some([self.moved(index, -half), self.moved(index, half)])
        });
        steps.collect()
    }

    fn moved(&self, index: usize, by: f64) -> Given {
        let mut moved = self.clone();
        if let Some(value) = moved.values.get_mut(index) {
            value.number += by;
        }
        moved
    }
}

impl Value {
    /// One step of the last place read, in the unit of the formula.
    fn step(&self) -> Option<f64> {
        let (read, unit) = self.read?;
        let next = read.value.checked_add(read.resolution())?;
        let next = Quantity::new(next, read.unit).to_f64_in(unit).ok()?;
        Some((next - self.number).abs())
    }
}

//! The inputs of one computation, checked and in the units of its formula.

use super::computation::{Computation, Input, Measured};
use super::refusal::{Refusal, list};
use crate::quantity::{Quantity, Unit};

/// What a formula works with.
#[derive(Debug, Clone)]
pub(super) struct Given {
    computation: &'static Computation,
    values: Vec<Value>,
    choices: Vec<(&'static str, &'static str)>,
    alike: Option<Unit>,
}

#[derive(Debug, Clone)]
struct Value {
    input: &'static Input,
    number: f64,
    /// Absent for a default.
    measured: Option<Quantity>,
}

impl Given {
    pub(super) fn check(
        computation: &'static Computation,
        inputs: &[(&str, Quantity)],
        choices: &[(&str, &str)],
    ) -> Result<Given, Refusal> {
        refuse_unknown(computation, inputs, choices)?;
        let mut given = Given {
            computation,
            values: Vec::new(),
            choices: Vec::new(),
            alike: None,
        };
        for input in computation.inputs {
            given.take_input(input, inputs)?;
        }
        for choice in computation.choices {
            let found = choices.iter().find(|(name, _)| *name == choice.name);
            let expected = || list(choice.options.iter().copied());
            let (_, found) = found.ok_or_else(|| Refusal::MissingChoice {
                computation: computation.name,
                choice: choice.name,
                expected: expected(),
            })?;
            let option = choice.options.iter().find(|option| *option == found);
            let option = option.ok_or_else(|| Refusal::UnknownOption {
                computation: computation.name,
                choice: choice.name,
                found: found.to_string(),
                expected: expected(),
            })?;
            given.choices.push((choice.name, option));
        }
        Ok(given)
    }

    fn take_input(
        &mut self,
        input: &'static Input,
        inputs: &[(&str, Quantity)],
    ) -> Result<(), Refusal> {
        let found = inputs.iter().find(|(name, _)| *name == input.name);
        let Some((_, quantity)) = found else {
            let number = input.default.ok_or_else(|| Refusal::MissingInput {
                computation: self.computation.name,
                input: input.name,
                what: input.what,
                unit: input.measured.to_string(),
            })?;
            let measured = None;
            self.values.push(Value {
                input,
                number,
                measured,
            });
            return Ok(());
        };
        let unit = self.unit_for(input, quantity.unit)?;
        let number = quantity.to_f64_in(unit)?;
        let measured = Some(*quantity);
        self.values.push(Value {
            input,
            number,
            measured,
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

    fn unit_for(&mut self, input: &'static Input, found: Unit) -> Result<Unit, Refusal> {
        let dimension = found.base.dimension();
        let (fits, unit) = match input.measured {
            Measured::In(unit) => (unit.base.dimension() == dimension, unit),
            Measured::Alike(dimensions) => {
                let unit = self.alike.unwrap_or(found);
                let named = dimensions.is_empty() || dimensions.contains(&dimension);
                (named && unit.base.dimension() == dimension, unit)
            }
        };
        if !fits {
            return Err(Refusal::WrongUnit {
                computation: self.computation.name,
                input: input.name,
                found,
                expected: match self.alike {
                    Some(unit) => format!("`{unit}` like the others"),
                    None => input.measured.to_string(),
                },
            });
        }
        if let Measured::Alike(_) = input.measured {
            self.alike = Some(unit);
        }
        Ok(unit)
    }

    /// The value of an input, in its unit.
    pub(super) fn get(&self, name: &'static str) -> f64 {
        let found = self.values.iter().find(|value| value.input.name == name);
        // The catalog's test asks every formula for all its names; a stray one can give no result.
        found.map_or(f64::NAN, |value| value.number)
    }

    /// The option taken of a choice.
    pub(super) fn choice(&self, name: &'static str) -> &'static str {
        let found = self.choices.iter().find(|(choice, _)| *choice == name);
        found.map_or("", |(_, option)| option)
    }

    /// The unit of the result.
    pub(super) fn result_unit(&self) -> Option<Unit> {
        match self.computation.result {
            Measured::In(unit) => Some(unit),
            Measured::Alike(_) => self.alike,
        }
    }

    /// The refusal of one input that lies where the formula does not hold.
    pub(super) fn out_of_range(
        &self,
        name: &'static str,
        expected: String,
        action: &'static str,
    ) -> Refusal {
        let found = self.values.iter().find(|value| value.input.name == name);
        match found.and_then(|value| value.measured) {
            Some(found) => Refusal::OutOfRange {
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
        let measured = |value: &Value| value.measured.filter(|_| !value.input.nominal);
        let steps = self.values.iter().enumerate();
        let steps = steps.filter_map(|(index, value)| {
            let half = self.step(value, measured(value)?)? / 2.0;
            Some([self.moved(index, -half), self.moved(index, half)])
        });
        steps.collect()
    }

    /// One step of the last place given, in the unit of the formula.
    fn step(&self, value: &Value, measured: Quantity) -> Option<f64> {
        let unit = match value.input.measured {
            Measured::In(unit) => unit,
            Measured::Alike(_) => self.alike?,
        };
        let next = measured.value.checked_add(measured.resolution())?;
        let next = Quantity::new(next, measured.unit).to_f64_in(unit).ok()?;
        Some((next - value.number).abs())
    }

    fn moved(&self, index: usize, by: f64) -> Given {
        let mut moved = self.clone();
        if let Some(value) = moved.values.get_mut(index) {
            value.number += by;
        }
        moved
    }
}

fn refuse_unknown(
    computation: &'static Computation,
    inputs: &[(&str, Quantity)],
    choices: &[(&str, &str)],
) -> Result<(), Refusal> {
    let name = computation.name;
    let known: Vec<&str> = computation.inputs.iter().map(|input| input.name).collect();
    for (index, (found, _)) in inputs.iter().enumerate() {
        if !known.contains(found) {
            return Err(Refusal::UnknownInput {
                computation: name,
                found: found.to_string(),
                expected: list(known),
            });
        }
        if inputs
            .iter()
            .take(index)
            .any(|(earlier, _)| earlier == found)
        {
            return Err(Refusal::Twice {
                computation: name,
                found: found.to_string(),
            });
        }
    }
    let known: Vec<&str> = computation.choices.iter().map(|c| c.name).collect();
    for (index, (found, _)) in choices.iter().enumerate() {
        if !known.contains(found) {
            return Err(Refusal::UnknownChoice {
                computation: name,
                found: found.to_string(),
                expected: list(known),
            });
        }
        if choices
            .iter()
            .take(index)
            .any(|(earlier, _)| earlier == found)
        {
            return Err(Refusal::Twice {
                computation: name,
                found: found.to_string(),
            });
        }
    }
    Ok(())
}

//! Whether a computation can be asked for with these inputs and choices, before any value is known.

use super::computation::{Computation, Input, Measured};
use super::refusal::{Refusal, list};
use crate::quantity::Unit;

/// A computation with everything it asks for.
#[derive(Debug, Clone)]
pub(super) struct Request {
    pub(super) computation: &'static Computation,
    /// The unit that the formula takes each given input in.
    pub(super) units: Vec<(&'static Input, Unit)>,
    pub(super) choices: Vec<(&'static str, &'static str)>,
    /// What the result is in.
    pub(super) result: Unit,
}

impl Request {
    pub(super) fn check(
        computation: &'static Computation,
        inputs: &[(&str, Unit)],
        choices: &[(&str, &str)],
    ) -> Result<Request, Refusal> {
        refuse_stray_inputs(computation, inputs)?;
        refuse_stray_choices(computation, choices)?;
        let mut alike = None;
        let mut units = Vec::new();
        for input in computation.inputs {
            match inputs.iter().find(|(name, _)| *name == input.name) {
                Some((_, found)) => {
                    units.push((input, unit_for(computation, input, *found, &mut alike)?));
                }
                None if input.default.is_some() => (),
                None => return Err(missing(computation, input)),
            }
        }
        let result = match computation.result {
            Measured::In(unit) => Some(unit),
            Measured::Alike(_) => alike,
        };
        Ok(Request {
            computation,
            units,
            choices: chosen(computation, choices)?,
            result: result.ok_or(Refusal::NoNumber {
                computation: computation.name,
            })?,
        })
    }
}

/// The unit that the formula takes this input in; the first of the inputs that must be alike
/// decides for the others.
fn unit_for(
    computation: &Computation,
    input: &Input,
    found: Unit,
    alike: &mut Option<Unit>,
) -> Result<Unit, Refusal> {
    let dimension = found.base.dimension();
    let (fits, unit, expected) = match input.measured {
        Measured::In(unit) => (true, unit, input.measured.to_string()),
        Measured::Alike(dimensions) => {
            let named = dimensions.is_empty() || dimensions.contains(&dimension);
            let expected = match alike {
                Some(first) => format!("`{first}` like the others"),
                None => input.measured.to_string(),
            };
            (named, *alike.get_or_insert(found), expected)
        }
    };
    match fits && unit.base.dimension() == dimension {
        true => Ok(unit),
        false => Err(Refusal::WrongUnit {
            computation: computation.name,
            input: input.name,
            found,
            expected,
        }),
    }
}

fn chosen(
    computation: &Computation,
    choices: &[(&str, &str)],
) -> Result<Vec<(&'static str, &'static str)>, Refusal> {
    let option_of = |choice: &super::Choice| {
        let expected = || list(choice.options.iter().copied());
        let found = choices.iter().find(|(name, _)| *name == choice.name);
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
        Ok((choice.name, *option))
    };
    computation.choices.iter().map(option_of).collect()
}

fn missing(computation: &Computation, input: &Input) -> Refusal {
    Refusal::MissingInput {
        computation: computation.name,
        input: input.name,
        what: input.what,
        unit: input.measured.to_string(),
    }
}

fn refuse_stray_inputs(computation: &Computation, inputs: &[(&str, Unit)]) -> Result<(), Refusal> {
    let given: Vec<&str> = inputs.iter().map(|(name, _)| *name).collect();
    let known: Vec<&str> = computation.inputs.iter().map(|input| input.name).collect();
    match stray(&given, &known) {
        None => refuse_twice(computation, &given),
        Some(found) => Err(Refusal::UnknownInput {
            computation: computation.name,
            found,
            expected: list(known),
        }),
    }
}

fn refuse_stray_choices(
    computation: &Computation,
    choices: &[(&str, &str)],
) -> Result<(), Refusal> {
    let given: Vec<&str> = choices.iter().map(|(name, _)| *name).collect();
    let known: Vec<&str> = computation.choices.iter().map(|c| c.name).collect();
    match stray(&given, &known) {
        None => refuse_twice(computation, &given),
        Some(found) => Err(Refusal::UnknownChoice {
            computation: computation.name,
            found,
            expected: list(known),
        }),
    }
}

fn stray(given: &[&str], known: &[&str]) -> Option<String> {
    let found = given.iter().find(|name| !known.contains(name));
    found.map(|name| name.to_string())
}

fn refuse_twice(computation: &Computation, given: &[&str]) -> Result<(), Refusal> {
    let numbered = given.iter().enumerate();
    let mut repeated =
        numbered.filter(|(index, name)| given.iter().take(*index).any(|n| n == *name));
    match repeated.next() {
        None => Ok(()),
        Some((_, name)) => Err(Refusal::Twice {
            computation: computation.name,
            found: name.to_string(),
        }),
    }
}

//! Whether a compute step asks for a computation that there is, with what it needs.

use indexmap::IndexMap;

use super::model::ComputeInput;
use super::names::VariantId;
use super::place::At;
use super::problem::{listed, nearest};
use super::scope::Scope;
use super::source::ComputeSource;
use super::source_step::Gives;
use crate::measure::{self, Computation};
use crate::quantity::Unit;

impl Scope<'_> {
    /// The computation's name, when its inputs fit it and its result fits the step's quantity.
    pub fn computation(
        &mut self,
        step: &ComputeSource,
        inputs: &IndexMap<String, ComputeInput>,
    ) -> Option<String> {
        let name = &step.measure;
        let Ok(computation) = measure::find(&name.value) else {
            self.unknown_computation(name);
            return None;
        };
        let variants: Vec<_> = self.variants.iter().cloned().map(VariantId).collect();
        let results = variants.iter().map(|v| self.result_unit(name, inputs, v));
        let results: Vec<Unit> = results.collect::<Option<_>>()?;
        let wanted = self.quantities.get(&step.quantity.value).copied()??;
        let unlike = |result: &Unit| wanted.base.dimension() != result.base.dimension();
        let Some(result) = results.into_iter().find(unlike) else {
            return Some(computation.name.to_owned());
        };
        self.findings.error(
            "computation-result",
            step.quantity.place,
            format!("quantity `{}` in `{wanted}`", step.quantity.value),
            format!(
                "a unit that `{result}` of `{}` converts to",
                computation.name
            ),
            "name a quantity of what the computation gives",
        );
        None
    }

    fn unknown_computation(&mut self, name: &At<String>) {
        let known = || measure::catalog().map(|computation| computation.name);
        let remedy = match nearest(&name.value, known()) {
            Some(near) => format!("write `{near}`"),
            None => "write the name of a computation there is".to_owned(),
        };
        self.findings.error(
            "unknown-computation",
            name.place,
            format!("computation `{}`", name.value),
            format!("one of {}", listed(akin(&name.value))),
            remedy,
        );
    }

    /// What the result is in for a variant; `None` where an input has no unit yet because it is wrong
    /// itself.
    fn result_unit(
        &mut self,
        name: &At<String>,
        inputs: &IndexMap<String, ComputeInput>,
        variant: &VariantId,
    ) -> Option<Unit> {
        let mut units = Vec::new();
        let mut choices = Vec::new();
        for (input, given) in inputs {
            match given {
                ComputeInput::Choice(option) => {
                    choices.push((input.as_str(), option.get(variant).as_str()))
                }
                ComputeInput::Fixed(quantity) => {
                    units.push((input.as_str(), quantity.get(variant).unit))
                }
                ComputeInput::Reading(step) => match self.steps.get(step.as_str())? {
                    Gives::Value(quantity) => {
                        units.push((input.as_str(), self.quantities.get(quantity).copied()??));
                    }
                    _ => return None,
                },
            }
        }
        let checked = measure::check(&name.value, &units, &choices);
        let refused = match checked {
            Ok(unit) => return Some(unit),
            Err(refusal) => refusal.to_string(),
        };
        let expected = measure::find(&name.value).map(asked_for).ok()?;
        let found = format!("inputs of `{}` that do not fit", name.value);
        let place = name.place;
        self.findings
            .error("computation-inputs", place, found, expected, refused);
        None
    }
}

fn asked_for(computation: &Computation) -> String {
    let inputs = computation.inputs.iter().map(|input| match input.default {
        None => format!("`{}` in {}", input.name, input.measured),
        Some(_) => format!("perhaps `{}` in {}", input.name, input.measured),
    });
    let choices = computation
        .choices
        .iter()
        .map(|choice| format!("the choice `{}`", choice.name));
    let all: Vec<String> = inputs.chain(choices).collect();
    all.join(", ")
}

/// The computations that share a word with the wrong name; all of them where none does.
fn akin(wrong: &str) -> Vec<&'static str> {
    let words: Vec<&str> = wrong.split(['_', '-', ' ']).collect();
    let all = || measure::catalog().map(|computation| computation.name);
    let shares = |name: &&str| name.split('_').any(|word| words.contains(&word));
    let akin: Vec<&'static str> = all().filter(shares).collect();
    match akin.is_empty() {
        true => all().collect(),
        false => akin,
    }
}

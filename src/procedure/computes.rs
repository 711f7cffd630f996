//! Compute steps as written to checked ones: a computation and where each input comes from.

use indexmap::IndexMap;

use super::model::{ComputeInput, StepKind};
use super::names::StepId;
use super::place::{At, Place};
use super::scope::Scope;
use super::source::{ComputeSource, InputSource};
use super::source_step::Gives;
use crate::quantity::Quantity;

impl Scope<'_> {
    pub fn compute(&mut self, step: &ComputeSource) -> Option<StepKind> {
        let mut names = IndexMap::new();
        let mut inputs = IndexMap::new();
        let mut whole = true;
        for input in &step.inputs {
            whole &= self.unique("input", &input.name, &mut names);
            match self.input(input) {
                Some(value) => drop(inputs.insert(input.name.value.clone(), value)),
                None => whole = false,
            }
        }
        let quantity = self.quantity(&step.quantity);
        let branches = self.branches(&step.then);
        let measure = match whole {
            true => self.computation(step, &inputs),
            false => None,
        };
        whole.then_some(StepKind::Compute {
            measure: measure?,
            inputs,
            quantity: quantity?,
            branches: branches?,
        })
    }

    fn input(&mut self, input: &InputSource) -> Option<ComputeInput> {
        match (&input.step, &input.value, &input.choice) {
            (Some(step), None, None) => self.value_step(step).map(ComputeInput::Reading),
            (None, Some(value), None) => {
                let fixed = self.by_variant(value, Self::fixed);
                fixed.map(ComputeInput::Fixed)
            }
            (None, None, Some(choice)) => {
                let choice = self.by_variant(choice, |scope, place, text| {
                    scope.not_empty(place, text).map(str::to_owned)
                });
                choice.map(ComputeInput::Choice)
            }
            _ => {
                self.findings.error(
                    "input",
                    input.name.place,
                    format!("input `{}` with none or several sources", input.name.value),
                    "exactly one of `step`, `value` and `choice`",
                    "keep the one that is meant",
                );
                None
            }
        }
    }

    /// A step that gives one value.
    pub fn value_step(&mut self, name: &At<String>) -> Option<StepId> {
        let step = self.step(name)?;
        if let Some(Gives::Value(_)) = self.steps.get(step.as_str()) {
            return Some(step);
        }
        self.findings.error(
            "gives-no-value",
            name.place,
            format!("step `{step}`, which gives no single value"),
            "a read or compute step",
            "name the step that reads the value",
        );
        None
    }

    fn fixed(&mut self, place: Place, text: &str) -> Option<Quantity> {
        let parsed = text.parse().ok();
        if parsed.is_none() {
            self.findings.error(
                "value",
                place,
                format!("`{text}`"),
                "a value with its unit, such as `60 Hz`",
                "write the number, a blank and a unit symbol",
            );
        }
        parsed
    }
}

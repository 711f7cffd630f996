//! What all kinds of steps have in common, as written.

use super::place::At;
use super::source::StepSource;

/// What a step gives to later ones.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Gives {
    Nothing,
    /// One value of this quantity.
    Value(String),
    /// A series of values of this quantity.
    Series(String),
}

pub(super) fn gives(step: &StepSource) -> Gives {
    match step {
        StepSource::Read(read) => Gives::Value(read.quantity.value.clone()),
        StepSource::Compute(compute) => Gives::Value(compute.quantity.value.clone()),
        StepSource::Watch(watch) => Gives::Series(watch.quantity.value.clone()),
        _ => Gives::Nothing,
    }
}

impl StepSource {
    /// The quantities the step asks for or works out.
    pub fn quantities(&self) -> Vec<&str> {
        match self {
            StepSource::Read(step) => vec![&step.quantity.value],
            StepSource::Compute(step) => vec![&step.quantity.value],
            StepSource::Watch(step) => vec![&step.quantity.value],
            StepSource::Hold(step) => {
                let points = step.proof.iter().flatten();
                points.map(|point| point.quantity.value.as_str()).collect()
            }
            _ => Vec::new(),
        }
    }

    /// The step's id; a section has none.
    pub fn id(&self) -> Option<&At<String>> {
        Some(match self {
            StepSource::Section(_) => return None,
            StepSource::Action(step) => &step.id,
            StepSource::Caution(step) => &step.id,
            StepSource::Hold(step) => &step.id,
            StepSource::Wait(step) => &step.id,
            StepSource::Choose(step) => &step.id,
            StepSource::Read(step) => &step.id,
            StepSource::Watch(step) => &step.id,
            StepSource::Compute(step) => &step.id,
            StepSource::Diagnose(step) => &step.id,
            StepSource::GoTo(step) => &step.id,
            StepSource::Call(step) => &step.id,
            StepSource::Finish(step) => &step.id,
        })
    }

    /// The variants the step is for.
    pub fn only(&self) -> &Option<Vec<At<String>>> {
        match self {
            StepSource::Section(_) => &None,
            StepSource::Action(step) => &step.only,
            StepSource::Caution(step) => &step.only,
            StepSource::Hold(step) => &step.only,
            StepSource::Wait(step) => &step.only,
            StepSource::Choose(step) => &step.only,
            StepSource::Read(step) => &step.only,
            StepSource::Watch(step) => &step.only,
            StepSource::Compute(step) => &step.only,
            StepSource::Diagnose(step) => &step.only,
            StepSource::GoTo(step) => &step.only,
            StepSource::Call(step) => &step.only,
            StepSource::Finish(step) => &step.only,
        }
    }
}

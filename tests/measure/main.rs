//! The trade's formulas against published values, reference libraries, and bad inputs.

mod both_ways;
mod catalog;
mod page;
mod published;
mod reference;
mod refusals;
mod resolution;

use readback::measure::{Outcome, Refusal, compute};
use readback::quantity::Quantity;

/// `resistance=107.79 ohm, lead=0.2 ohm`; blank for none.
pub fn run(name: &str, inputs: &str, choices: &str) -> Result<Outcome, Refusal> {
    let inputs: Vec<(&str, Quantity)> = pairs(inputs)
        .map(|(name, text)| (name, text.parse().expect(text)))
        .collect();
    let choices: Vec<(&str, &str)> = pairs(choices).collect();
    compute(name, &inputs, &choices)
}

/// The value as written, with its unit.
pub fn value(name: &str, inputs: &str, choices: &str) -> String {
    match run(name, inputs, choices) {
        Ok(outcome) => outcome.value.to_string(),
        Err(refusal) => panic!("{name} {inputs} {choices}: {refusal}"),
    }
}

fn pairs(text: &str) -> impl Iterator<Item = (&str, &str)> {
    let pairs = text
        .split(',')
        .map(str::trim)
        .filter(|pair| !pair.is_empty());
    pairs.map(|pair| pair.split_once('=').expect("a name and a value"))
}

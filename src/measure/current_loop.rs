//! Signals of 4 to 20 mA.
//!
//! NAMUR NE 43 (from memory): 3.8 to 20.5 mA carry a value, 3.6 mA and less or 21 mA and more say
//! that the transmitter has failed.

use super::computation::{Computation, Input, Measured, no_remark, prefixed};
use super::given::Given;
use super::refusal::Refusal;
use crate::quantity::{Base, Prefix};

const SOURCE: &str = "IEC 60381-1; limits NAMUR NE 43 (from memory)";
const MILLIAMPERE: Measured = prefixed(Prefix::Milli, Base::Ampere);
const FAILED_LOW: f64 = 3.6;
const FAILED_HIGH: f64 = 21.0;

const AT_4: Input = Input::new("at_4_ma", "the value at 4 mA", Measured::Alike(&[])).nominal();
const AT_20: Input = Input::new("at_20_ma", "the value at 20 mA", Measured::Alike(&[])).nominal();

pub(super) const COMPUTATIONS: &[Computation] = &[
    Computation {
        name: "loop_value",
        what: "the value that a loop current stands for",
        inputs: &[
            AT_4,
            AT_20,
            Input::new("current", "in the loop", MILLIAMPERE).between(0.0, 30.0),
        ],
        choices: &[],
        result: Measured::Alike(&[]),
        decimals: 4,
        source: SOURCE,
        formula: value,
        remark: no_remark,
    },
    Computation {
        name: "loop_current",
        what: "the loop current that stands for a value",
        inputs: &[
            AT_4,
            AT_20,
            Input::new("value", "the true value", Measured::Alike(&[])),
        ],
        choices: &[],
        result: MILLIAMPERE,
        decimals: 3,
        source: SOURCE,
        formula: current,
        remark: |current| {
            (!(3.8..=20.5).contains(&current)).then_some("outside what a loop current can say")
        },
    },
];

fn value(given: &Given) -> Result<f64, Refusal> {
    let current = given.get("current");
    if current <= FAILED_LOW || current >= FAILED_HIGH {
        return Err(given.out_of_range(
            "current",
            "above 3.6 mA and below 21 mA".to_owned(),
            "the transmitter says that it failed, or the loop is open or shorted: check both",
        ));
    }
    let (low, high) = span(given)?;
    Ok(low + (high - low) * (current - 4.0) / 16.0)
}

fn current(given: &Given) -> Result<f64, Refusal> {
    let (low, high) = span(given)?;
    Ok(4.0 + 16.0 * (given.get("value") - low) / (high - low))
}

fn span(given: &Given) -> Result<(f64, f64), Refusal> {
    let (low, high) = (given.get("at_4_ma"), given.get("at_20_ma"));
    match low == high {
        true => Err(given.meaningless(
            "both ends of the span are the same",
            "give the values at 4 mA and at 20 mA",
        )),
        false => Ok((low, high)),
    }
}

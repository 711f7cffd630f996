//! Unbalance of three phases, and what a motor may still carry.
//!
//! NEMA MG 1: the largest deviation from the mean over the mean, not the largest less the smallest.

use super::computation::{Computation, Input, no_remark, plain};
use super::given::Given;
use super::refusal::Refusal;
use crate::quantity::Base;

/// Unbalance in percent and the part of the rated load that is left: NEMA MG 1 curve; 0.95, 0.90
/// and the end at 5 % are published, the others were read off the curve from memory.
const DERATING: [(f64, f64); 6] = [
    (0.0, 1.00),
    (1.0, 1.00),
    (2.0, 0.95),
    (3.0, 0.90),
    (4.0, 0.83),
    (5.0, 0.76),
];

const fn volts(name: &'static str, what: &'static str) -> Input {
    Input::new(name, what, plain(Base::Volt)).positive()
}

const fn amperes(name: &'static str, what: &'static str) -> Input {
    Input::new(name, what, plain(Base::Ampere)).positive()
}

pub(super) const COMPUTATIONS: &[Computation] = &[
    Computation {
        name: "voltage_unbalance",
        what: "unbalance of three voltages, percent of their mean",
        inputs: &[
            volts("first", "between the first and second line"),
            volts("second", "between the second and third line"),
            volts("third", "between the third and first line"),
        ],
        choices: &[],
        result: plain(Base::Percent),
        decimals: 3,
        source: "NEMA MG 1",
        formula: largest_deviation,
        remark: |unbalance| match unbalance {
            _ if unbalance > 5.0 => Some("above 5 %: do not run the motor"),
            _ if unbalance > 1.0 => Some("above 1 %: derate the motor"),
            _ => None,
        },
    },
    Computation {
        name: "current_unbalance",
        what: "unbalance of three currents, percent of their mean",
        inputs: &[
            amperes("first", "in the first line"),
            amperes("second", "in the second line"),
            amperes("third", "in the third line"),
        ],
        choices: &[],
        result: plain(Base::Percent),
        decimals: 2,
        source: "NEMA MG 1",
        formula: largest_deviation,
        remark: |_| Some("expect 6 to 10 times the unbalance of the voltages"),
    },
    Computation {
        name: "motor_derating",
        what: "part of its rated load that a motor may carry on unbalanced voltages",
        inputs: &[
            Input::new("unbalance", "of the voltages", plain(Base::Percent)).between(0.0, 100.0),
        ],
        choices: &[],
        result: plain(Base::Ratio),
        decimals: 2,
        source: "NEMA MG 1 derating curve (1, 4 and 5 % from memory)",
        formula: derating,
        remark: no_remark,
    },
];

/// Percent of the mean of `first`, `second` and `third`.
pub(super) fn largest_deviation(given: &Given) -> Result<f64, Refusal> {
    let values = ["first", "second", "third"].map(|name| given.get(name));
    let mean = values.iter().sum::<f64>() / 3.0;
    let deviations = values.iter().map(|value| (value - mean).abs());
    Ok(100.0 * deviations.fold(0.0, f64::max) / mean)
}

fn derating(given: &Given) -> Result<f64, Refusal> {
    let unbalance = given.get("unbalance");
    let stretch = DERATING.windows(2).find_map(|pair| match pair {
        [(x0, y0), (x1, y1)] if (*x0..=*x1).contains(&unbalance) => {
            Some(y0 + (y1 - y0) * (unbalance - x0) / (x1 - x0))
        }
        _ => None,
    });
    stretch.ok_or_else(|| {
        given.out_of_range(
            "unbalance",
            "at most 5 %".to_owned(),
            "do not run the motor; find the cause of the unbalance",
        )
    })
}

//! Platinum resistance sensors with 100 ohm at 0 degC.
//!
//! IEC 60751: R(t) = 100 (1 + At + Bt2 + C(t - 100)t3), the last term below 0 degC only,
//! -200 to 850 degC.

use super::computation::{Choice, Computation, Input, no_remark, plain};
use super::given::Given;
use super::refusal::Refusal;
use crate::quantity::Base;

const A: f64 = 3.9083e-3;
const B: f64 = -5.775e-7;
const C: f64 = -4.183e-12;
const LOWEST: f64 = -200.0;
const HIGHEST: f64 = 850.0;
const SOURCE: &str = "IEC 60751:2022";

const TEMPERATURE: Input = Input::new(
    "temperature",
    "the temperature of the sensor",
    plain(Base::DegreeCelsius),
)
.between(LOWEST, HIGHEST);

pub(super) const COMPUTATIONS: &[Computation] = &[
    Computation {
        name: "pt100_temperature",
        what: "temperature of a Pt100 from its resistance",
        inputs: &[
            Input::new("resistance", "across the sensor", plain(Base::Ohm)).positive(),
            Input::new(
                "lead",
                "both leads together, shorted at the sensor",
                plain(Base::Ohm),
            )
            .between(0.0, 100.0)
            .or(0.0),
        ],
        choices: &[],
        result: plain(Base::DegreeCelsius),
        decimals: 3,
        source: SOURCE,
        formula: temperature,
        remark: no_remark,
    },
    Computation {
        name: "pt100_resistance",
        what: "resistance of a Pt100 at a temperature",
        inputs: &[TEMPERATURE],
        choices: &[],
        result: plain(Base::Ohm),
        decimals: 3,
        source: SOURCE,
        formula: |given| Ok(resistance_at(given.get("temperature"))),
        remark: no_remark,
    },
    Computation {
        name: "pt100_tolerance",
        what: "largest error that the class allows at a temperature, up or down",
        inputs: &[TEMPERATURE.nominal()],
        choices: &[Choice {
            name: "class",
            options: &["AA", "A", "B", "C"],
        }],
        result: plain(Base::CelsiusDifference),
        decimals: 2,
        source: SOURCE,
        formula: tolerance,
        remark: no_remark,
    },
    Computation {
        name: "temperature_difference",
        what: "how much warmer the first is than the second",
        inputs: &[
            Input::new("first", "one temperature", plain(Base::Kelvin)).positive(),
            Input::new("second", "the other temperature", plain(Base::Kelvin)).positive(),
        ],
        choices: &[],
        result: plain(Base::CelsiusDifference),
        decimals: 3,
        source: "a difference of two readings",
        formula: |given| Ok(given.get("first") - given.get("second")),
        remark: no_remark,
    },
];

fn resistance_at(t: f64) -> f64 {
    let below_zero = match t < 0.0 {
        true => C * (t - 100.0) * t * t * t,
        false => 0.0,
    };
    100.0 * (1.0 + A * t + B * t * t + below_zero)
}

fn temperature(given: &Given) -> Result<f64, Refusal> {
    let resistance = given.get("resistance") - given.get("lead");
    let (lowest, highest) = (resistance_at(LOWEST), resistance_at(HIGHEST));
    match (lowest..=highest).contains(&resistance) {
        true => Ok(temperature_at(resistance)),
        false => Err(given.out_of_range(
            "resistance",
            format!("{lowest:.3} to {highest:.3} ohm without the leads (-200 to 850 degC)"),
            "check the sensor and its leads for an open or a short",
        )),
    }
}

/// The quadratic above 0 degC; below, the curve has no closed inverse and rises all the way.
fn temperature_at(resistance: f64) -> f64 {
    match resistance >= 100.0 {
        true => {
            let root = libm::sqrt(A * A - 4.0 * B * (1.0 - resistance / 100.0));
            (root - A) / (2.0 * B)
        }
        false => bisect(resistance_at, resistance, LOWEST, 0.0),
    }
}

/// Where a rising curve takes a value, to the last bit of a float.
pub(super) fn bisect(curve: impl Fn(f64) -> f64, value: f64, low: f64, high: f64) -> f64 {
    let (mut low, mut high) = (low, high);
    for _ in 0..100 {
        let middle = low + (high - low) / 2.0;
        match curve(middle) < value {
            true => low = middle,
            false => high = middle,
        }
    }
    low + (high - low) / 2.0
}

fn tolerance(given: &Given) -> Result<f64, Refusal> {
    let (at_zero, per_degree) = match given.choice("class") {
        "AA" => (0.1, 0.0017),
        "A" => (0.15, 0.002),
        "B" => (0.3, 0.005),
        _ => (0.6, 0.01),
    };
    Ok(at_zero + per_degree * given.get("temperature").abs())
}

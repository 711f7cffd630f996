//! Copper and aluminum windings: resistance at another temperature, rise by resistance, balance.
//!
//! R2 = R1 (k + t2) / (k + t1), with k = 234.5 for copper and 225 for aluminum: IEC 60034-1
//! clause 8.6.2 and IEEE 112 (clause numbers from memory).

use super::computation::{Choice, Computation, Input, no_remark, plain};
use super::given::Given;
use super::refusal::Refusal;
use super::unbalance::largest_deviation;
use crate::quantity::Base;

const SOURCE: &str = "IEC 60034-1 clause 8.6.2, IEEE 112";

const METAL: Choice = Choice {
    name: "metal",
    options: &["copper", "aluminum"],
};

const fn winding_temperature(name: &'static str, what: &'static str) -> Input {
    Input::new(name, what, plain(Base::DegreeCelsius)).between(-50.0, 250.0)
}

const fn ohms(name: &'static str, what: &'static str) -> Input {
    Input::new(name, what, plain(Base::Ohm)).positive()
}

const COLD: Input = ohms("cold", "the winding's resistance before running");
const COLD_TEMPERATURE: Input = winding_temperature(
    "cold_temperature",
    "the winding's temperature before running",
);
const HOT: Input = ohms("hot", "the winding's resistance straight after running");

pub(super) const COMPUTATIONS: &[Computation] = &[
    Computation {
        name: "winding_resistance_at",
        what: "resistance that a winding has at a reference temperature",
        inputs: &[
            ohms("resistance", "across the winding"),
            winding_temperature(
                "temperature",
                "the winding's temperature at the measurement",
            ),
            winding_temperature("reference", "the temperature to compare at").nominal(),
        ],
        choices: &[METAL],
        result: plain(Base::Ohm),
        decimals: 4,
        source: SOURCE,
        formula: |given| {
            let k = inferred_zero(given);
            let ratio = (k + given.get("reference")) / (k + given.get("temperature"));
            Ok(given.get("resistance") * ratio)
        },
        remark: no_remark,
    },
    Computation {
        name: "winding_temperature",
        what: "temperature of a hot winding from its resistance",
        inputs: &[COLD, COLD_TEMPERATURE, HOT],
        choices: &[METAL],
        result: plain(Base::DegreeCelsius),
        decimals: 2,
        source: SOURCE,
        formula: hot_temperature,
        remark: no_remark,
    },
    Computation {
        name: "winding_rise",
        what: "how much warmer a winding ran than the air around it",
        inputs: &[
            COLD,
            COLD_TEMPERATURE,
            HOT,
            winding_temperature("ambient", "the cooling air at the end of the run"),
        ],
        choices: &[METAL],
        result: plain(Base::KelvinDifference),
        decimals: 2,
        source: SOURCE,
        formula: |given| Ok(hot_temperature(given)? - given.get("ambient")),
        remark: no_remark,
    },
    Computation {
        name: "winding_rise_limit",
        what: "largest rise by resistance that an insulation class allows",
        inputs: &[],
        choices: &[Choice {
            name: "class",
            options: &["A", "E", "B", "F", "H"],
        }],
        result: plain(Base::KelvinDifference),
        decimals: 0,
        source: "IEC 60034-1 table of rise limits by resistance (class F from memory)",
        formula: |given| {
            Ok(match given.choice("class") {
                "A" => 60.0,
                "E" => 75.0,
                "B" => 80.0,
                "F" => 105.0,
                _ => 125.0,
            })
        },
        remark: |limit| {
            (limit == 105.0).then_some("class F: 105 K; one printed table allows only 100 K")
        },
    },
    Computation {
        name: "winding_balance",
        what: "largest deviation of three windings from their mean, percent of the mean",
        inputs: &[
            ohms("first", "across the first winding"),
            ohms("second", "across the second winding"),
            ohms("third", "across the third winding"),
        ],
        choices: &[],
        result: plain(Base::Percent),
        decimals: 2,
        source: "common practice, no source",
        formula: largest_deviation,
        remark: |spread| {
            (spread > 3.0).then_some("more than 3 % is suspect: check the connections")
        },
    },
];

/// The temperature, below zero, at which the metal's resistance would reach nothing.
fn inferred_zero(given: &Given) -> f64 {
    match given.choice("metal") {
        "copper" => 234.5,
        _ => 225.0,
    }
}

fn hot_temperature(given: &Given) -> Result<f64, Refusal> {
    let k = inferred_zero(given);
    Ok(given.get("hot") / given.get("cold") * (k + given.get("cold_temperature")) - k)
}

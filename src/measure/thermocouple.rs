//! Thermocouples K, J and T with a cold junction.
//!
//! NIST Monograph 175 (ITS-90), IEC 60584-1: the voltages of tip and cold junction subtract, the
//! temperatures do not.

use super::computation::{Choice, Computation, Input, no_remark, plain, prefixed};
use super::given::Given;
use super::pt100::bisect;
use super::refusal::Refusal;
use super::thermocouple_curves::{Curve, J, K, T};
use crate::quantity::{Base, Prefix};

const SOURCE: &str = "NIST Monograph 175 (ITS-90), IEC 60584-1";

const TYPE: Choice = Choice {
    name: "type",
    options: &["K", "J", "T"],
};

const COLD_JUNCTION: Input = Input::new(
    "cold_junction",
    "the temperature where the thermocouple's own wires end",
    plain(Base::DegreeCelsius),
)
.between(-40.0, 100.0);

pub(super) const COMPUTATIONS: &[Computation] = &[
    Computation {
        name: "thermocouple_temperature",
        what: "temperature of a thermocouple's tip from its voltage",
        inputs: &[
            Input::new(
                "voltage",
                "across the open thermocouple",
                prefixed(Prefix::Milli, Base::Volt),
            ),
            COLD_JUNCTION,
        ],
        choices: &[TYPE],
        result: plain(Base::DegreeCelsius),
        decimals: 2,
        source: SOURCE,
        formula: temperature,
        remark: no_remark,
    },
    Computation {
        name: "thermocouple_voltage",
        what: "voltage that a thermocouple should give",
        inputs: &[
            Input::new(
                "temperature",
                "the temperature of the tip",
                plain(Base::DegreeCelsius),
            ),
            COLD_JUNCTION,
        ],
        choices: &[TYPE],
        result: prefixed(Prefix::Milli, Base::Volt),
        decimals: 3,
        source: SOURCE,
        formula: voltage,
        remark: no_remark,
    },
];

fn curve(given: &Given) -> Curve {
    match given.choice("type") {
        "K" => K,
        "J" => J,
        _ => T,
    }
}

fn temperature(given: &Given) -> Result<f64, Refusal> {
    let curve = curve(given);
    let cold = curve.millivolts(given.get("cold_junction"));
    let lowest = curve.millivolts(curve.lowest);
    let highest = curve.millivolts(curve.highest);
    let tip = given.get("voltage") + cold;
    match (lowest..=highest).contains(&tip) {
        true => Ok(bisect(
            |t| curve.millivolts(t),
            tip,
            curve.lowest,
            curve.highest,
        )),
        false => Err(given.out_of_range(
            "voltage",
            format!(
                "{:.3} to {:.3} mV at this cold junction",
                lowest - cold,
                highest - cold
            ),
            "check the type, the polarity and the wires for an open",
        )),
    }
}

fn voltage(given: &Given) -> Result<f64, Refusal> {
    let curve = curve(given);
    let tip = given.get("temperature");
    match (curve.lowest..=curve.highest).contains(&tip) {
        true => Ok(curve.millivolts(tip) - curve.millivolts(given.get("cold_junction"))),
        false => Err(given.out_of_range(
            "temperature",
            format!("{} to {} degC for this type", curve.lowest, curve.highest),
            "check the type",
        )),
    }
}

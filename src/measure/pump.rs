//! Centrifugal pumps: the affinity laws, head and power.
//!
//! Flow goes with the speed, head with its square, power with its cube, for the same impeller near
//! its best point (from memory: the affinity laws of every pump handbook).

use super::computation::{Computation, Input, Measured, no_remark, plain, prefixed};
use super::given::Given;
use super::refusal::Refusal;
use crate::quantity::{Base, Dimension, Prefix};

const STANDARD_GRAVITY: f64 = 9.80665;
/// Kilograms in a cubic meter of water, as the round figure of the trade.
const WATER: f64 = 1000.0;
const FLOW: Measured = Measured::Alike(&[Dimension::Flow]);
const HEAD: Measured = Measured::Alike(&[Dimension::Length, Dimension::Pressure]);
const POWER: Measured = Measured::Alike(&[Dimension::Power]);

const SPEED: Input = Input::new(
    "speed",
    "at the measurement",
    plain(Base::RevolutionPerMinute),
)
.positive();
const NEW_SPEED: Input = Input::new(
    "new_speed",
    "to work out for",
    plain(Base::RevolutionPerMinute),
)
.positive()
.nominal();
const GRAVITY: Input = Input::new(
    "specific_gravity",
    "of the liquid, 1 for water",
    plain(Base::Ratio),
)
.between(0.1, 5.0)
.nominal()
.or(1.0);
const EFFICIENCY: Input = Input::new("efficiency", "of the pump", plain(Base::Ratio))
    .between(0.01, 1.0)
    .nominal();

const fn measured(name: &'static str, what: &'static str, base: Base) -> Input {
    Input::new(name, what, plain(base)).positive()
}

const fn at_measurement(name: &'static str, measured: Measured) -> Input {
    Input::new(name, "at the measurement", measured).positive()
}

const fn affinity(
    name: &'static str,
    what: &'static str,
    inputs: &'static [Input],
    formula: fn(&Given) -> Result<f64, Refusal>,
) -> Computation {
    Computation {
        name,
        what,
        inputs,
        choices: &[],
        result: Measured::Alike(&[]),
        decimals: 3,
        source: "affinity laws: Q with n, H with n2, P with n3 (from memory)",
        formula,
        remark: no_remark,
    }
}

pub(super) const COMPUTATIONS: &[Computation] = &[
    affinity(
        "pump_flow_at_speed",
        "flow at another speed",
        &[at_measurement("flow", FLOW), SPEED, NEW_SPEED],
        |given| at_speed(given, "flow", 1.0),
    ),
    affinity(
        "pump_head_at_speed",
        "head or pressure difference at another speed",
        &[at_measurement("head", HEAD), SPEED, NEW_SPEED],
        |given| at_speed(given, "head", 2.0),
    ),
    affinity(
        "pump_power_at_speed",
        "shaft power at another speed",
        &[at_measurement("power", POWER), SPEED, NEW_SPEED],
        |given| at_speed(given, "power", 3.0),
    ),
    Computation {
        name: "pump_head",
        what: "head between suction and discharge at the same height and pipe size",
        inputs: &[
            Input::new(
                "discharge",
                "pressure behind the pump",
                prefixed(Prefix::Kilo, Base::Pascal),
            ),
            Input::new(
                "suction",
                "pressure before the pump",
                prefixed(Prefix::Kilo, Base::Pascal),
            ),
            GRAVITY,
        ],
        choices: &[],
        result: plain(Base::Metre),
        decimals: 2,
        source: "p / (rho g), hydrostatics; water taken as 1000 kg/m3",
        formula: |given| {
            let difference = 1000.0 * (given.get("discharge") - given.get("suction"));
            Ok(difference / (WATER * given.get("specific_gravity") * STANDARD_GRAVITY))
        },
        remark: |head| (head < 0.0).then_some("the suction side has more pressure: check both"),
    },
    Computation {
        name: "pump_power",
        what: "shaft power of a pump, metric",
        inputs: &[
            measured("flow", "through the pump", Base::CubicMetrePerHour),
            measured("head", "across the pump", Base::Metre),
            EFFICIENCY,
            GRAVITY,
        ],
        choices: &[],
        result: prefixed(Prefix::Kilo, Base::Watt),
        decimals: 3,
        source: "rho g Q H / eta; water taken as 1000 kg/m3",
        formula: |given| {
            let newtons = WATER * given.get("specific_gravity") * STANDARD_GRAVITY;
            let watts = newtons * given.get("flow") / 3600.0 * given.get("head");
            Ok(watts / given.get("efficiency") / 1000.0)
        },
        remark: no_remark,
    },
    Computation {
        name: "pump_horsepower",
        what: "shaft power of a pump, in US units",
        inputs: &[
            measured("flow", "through the pump", Base::GallonPerMinute),
            measured("head", "across the pump", Base::Foot),
            EFFICIENCY,
            GRAVITY,
        ],
        choices: &[],
        result: plain(Base::Horsepower),
        decimals: 3,
        source: "gpm ft SG / (3960 eta) (from memory)",
        formula: |given| {
            let product = given.get("flow") * given.get("head") * given.get("specific_gravity");
            Ok(product / 3960.0 / given.get("efficiency"))
        },
        remark: no_remark,
    },
];

fn at_speed(given: &Given, what: &'static str, power: f64) -> Result<f64, Refusal> {
    let ratio = given.get("new_speed") / given.get("speed");
    Ok(given.get(what) * libm::pow(ratio, power))
}

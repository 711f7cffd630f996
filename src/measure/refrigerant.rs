//! Refrigerant circuits: superheat and subcooling.
//!
//! Superheat is the suction line's temperature less the dew temperature, subcooling the bubble
//! temperature less the liquid line's; for a blend with glide the two ends are never mixed.

use super::computation::{Choice, Computation, Input, no_remark, plain, prefixed};
use super::given::Given;
use super::refusal::Refusal;
use super::saturation::{Line, Side};
use crate::quantity::{Base, Prefix};

const SOURCE: &str = "CoolProp 8.0.0 saturation table, -50 to 64 degC";
/// Kilopascals, the standard atmosphere.
const ATMOSPHERE: f64 = 101.325;

const REFRIGERANT: Choice = Choice {
    name: "refrigerant",
    options: &["R-134a", "R-410A", "R-404A", "R-290", "R-407C"],
};

const PRESSURE_IS: Choice = Choice {
    name: "pressure_is",
    options: &["gauge", "absolute"],
};

const SIDE: Choice = Choice {
    name: "side",
    options: &["dew", "bubble"],
};

const OUTSIDE: Input = Input::new(
    "atmosphere",
    "the air pressure at the gauge, for a gauge pressure",
    prefixed(Prefix::Kilo, Base::Pascal),
)
.between(50.0, 110.0)
.nominal()
.or(ATMOSPHERE);

const fn pressure(what: &'static str) -> Input {
    Input::new("pressure", what, prefixed(Prefix::Kilo, Base::Pascal)).between(-101.325, 10000.0)
}

const fn temperature(name: &'static str, what: &'static str) -> Input {
    Input::new(name, what, plain(Base::DegreeCelsius)).between(-100.0, 200.0)
}

pub(super) const COMPUTATIONS: &[Computation] = &[
    Computation {
        name: "superheat",
        what: "how far the vapor in the suction line is above its dew point",
        inputs: &[
            pressure("in the suction line at the evaporator"),
            temperature("suction_line", "of the suction line at the evaporator"),
            OUTSIDE,
        ],
        choices: &[REFRIGERANT, PRESSURE_IS],
        result: plain(Base::KelvinDifference),
        decimals: 2,
        source: SOURCE,
        formula: |given| Ok(given.get("suction_line") - saturation(given, Side::Dew)?),
        remark: |superheat| {
            (superheat < 0.0).then_some("below 0: liquid in the suction line, or a wrong reading")
        },
    },
    Computation {
        name: "subcooling",
        what: "how far the liquid is below its bubble point",
        inputs: &[
            pressure("in the liquid line at the condenser"),
            temperature("liquid_line", "of the liquid line at the condenser"),
            OUTSIDE,
        ],
        choices: &[REFRIGERANT, PRESSURE_IS],
        result: plain(Base::KelvinDifference),
        decimals: 2,
        source: SOURCE,
        formula: |given| Ok(saturation(given, Side::Bubble)? - given.get("liquid_line")),
        remark: |subcooling| {
            (subcooling < 0.0).then_some("below 0: vapor in the liquid line, or a wrong reading")
        },
    },
    Computation {
        name: "saturation_temperature",
        what: "temperature at which a refrigerant boils or condenses",
        inputs: &[pressure("of the refrigerant"), OUTSIDE],
        choices: &[REFRIGERANT, PRESSURE_IS, SIDE],
        result: plain(Base::DegreeCelsius),
        decimals: 2,
        source: SOURCE,
        formula: |given| saturation(given, side(given)),
        remark: no_remark,
    },
    Computation {
        name: "saturation_pressure",
        what: "pressure at which a refrigerant boils or condenses",
        inputs: &[temperature("temperature", "of the refrigerant"), OUTSIDE],
        choices: &[REFRIGERANT, PRESSURE_IS, SIDE],
        result: prefixed(Prefix::Kilo, Base::Pascal),
        decimals: 2,
        source: SOURCE,
        formula: saturation_pressure,
        remark: no_remark,
    },
];

fn side(given: &Given) -> Side {
    match given.choice("side") {
        "dew" => Side::Dew,
        _ => Side::Bubble,
    }
}

/// What to add to a pressure as shown, in kilopascals.
fn atmosphere(given: &Given) -> f64 {
    match given.choice("pressure_is") {
        "gauge" => given.get("atmosphere"),
        _ => 0.0,
    }
}

fn saturation(given: &Given, side: Side) -> Result<f64, Refusal> {
    let line = Line::of(given.choice("refrigerant"), side);
    let atmosphere = atmosphere(given);
    let found = line.temperature(given.get("pressure") + atmosphere);
    found.ok_or_else(|| {
        let (low, high) = line.pressures().unwrap_or_default();
        given.out_of_range(
            "pressure",
            format!("{:.0} to {:.0} kPa", low - atmosphere, high - atmosphere),
            "check the gauge and the refrigerant; outside this there is no table",
        )
    })
}

fn saturation_pressure(given: &Given) -> Result<f64, Refusal> {
    let line = Line::of(given.choice("refrigerant"), side(given));
    let found = line.pressure(given.get("temperature"));
    let found = found.ok_or_else(|| {
        let (low, high) = line.temperatures().unwrap_or_default();
        given.out_of_range(
            "temperature",
            format!("{low} to {high} degC"),
            "check the reading; outside this there is no table",
        )
    })?;
    Ok(found - atmosphere(given))
}
